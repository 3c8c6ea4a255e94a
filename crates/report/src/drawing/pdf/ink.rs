//! The colours of ink on white paper: those of a drawing that stands alone, and a ground that is the paper itself.

use crate::drawing::Ink;

/// Red, green and blue from 0 to 1.
pub(super) fn unit(ink: Ink) -> [f32; 3] {
    rgb(ink).map(|c| f32::from(c) / 255.0)
}

fn rgb(ink: Ink) -> [u8; 3] {
    match ink {
        Ink::Main => [0x1b, 0x1f, 0x23],
        Ink::Quiet => [0x5a, 0x61, 0x69],
        Ink::Faint => [0xc9, 0xcb, 0xc8],
        Ink::Metal => [0x39, 0x42, 0x4c],
        Ink::Oil => [0xe2, 0xa2, 0x1c],
        Ink::OilEdge => [0x8a, 0x5a, 0x00],
        Ink::Way => [0x1d, 0x5a, 0x96],
        Ink::Bare => [0xa3, 0x26, 0x2a],
        // A printer cannot print white: this is where nothing is printed over what lies below.
        Ink::Ground => [0xff, 0xff, 0xff],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Drawing, svg};

    /// The page of an SVG file and a sheet of paper must not tell two stories.
    #[test]
    fn paper_has_the_colours_of_a_drawing_that_stands_alone() {
        let svg = svg::file(&Drawing::new("t", 10.0, 10.0, "t"));
        for (ink, class) in [
            (Ink::Main, "main"),
            (Ink::Quiet, "quiet"),
            (Ink::Faint, "faint"),
            (Ink::Metal, "metal"),
            (Ink::Oil, "oil"),
            (Ink::OilEdge, "oiledge"),
            (Ink::Way, "way"),
            (Ink::Bare, "bare"),
        ] {
            let [r, g, b] = rgb(ink);
            let rule = format!(".f-{class}{{fill:#{r:02x}{g:02x}{b:02x}}}");
            assert!(svg.contains(&rule), "{rule} is not in the style of an SVG file");
        }
    }
}
