//! Which kind of file it is, and the reader for it.

use crate::fault::OutlineFault;
use crate::figure::{Figure, ReadOptions};
use crate::{dxf, svg, table};
use serde::Serialize;

/// The kinds of file that hold an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A DXF drawing.
    Dxf,
    /// An SVG drawing.
    Svg,
    /// A table typed by hand.
    Table,
    /// A scan or a photo (PNG or JPEG), for [`crate::scan`].
    Picture,
}

impl Kind {
    /// By what the file holds, not by its name.
    pub fn of(bytes: &[u8]) -> Kind {
        if crate::scan::is_picture(bytes) {
            return Kind::Picture;
        }
        let start = bytes
            .strip_prefix(b"\xef\xbb\xbf")
            .unwrap_or(bytes)
            .trim_ascii_start();
        let first = start
            .split(|b| *b == b'\n')
            .next()
            .unwrap_or_default()
            .trim_ascii();
        // A drawing begins with a pair: 0 SECTION, or 999 and a remark.
        let drawing = matches!(first, b"0" | b"999") || bytes.get(18..22) == Some(b"\r\n\x1a\0");
        let markup = start.first() == Some(&b'<');
        match (drawing, markup) {
            (true, _) => Kind::Dxf,
            (_, true) => Kind::Svg,
            _ => Kind::Table,
        }
    }

    /// In a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Dxf => "a DXF drawing",
            Kind::Svg => "an SVG drawing",
            Kind::Table => "a table",
            Kind::Picture => "a picture",
        }
    }
}

/// Beginnings of files that people try, what they are, and what to do instead.
const FOREIGN: [(&[u8], &str, &str); 12] = [
    (
        b"%PDF",
        "a PDF",
        "export the outline as DXF or SVG, or the page as a PNG of known resolution",
    ),
    (
        b"ISO-10303-21",
        "a STEP file",
        "export a flat view of the flange as DXF",
    ),
    (b"solid", "an STL mesh", "export a flat view of the flange as DXF"),
    (
        b"PK\x03\x04",
        "a packed archive",
        "unpack it, or export the outline as DXF or SVG",
    ),
    (b"\x1f\x8b", "a packed file", "save it as plain SVG or DXF"),
    (b"AC10", "a drawing in a closed format", "export it as text DXF"),
    (b"II*\0", "a TIFF picture", "save it as PNG"),
    (b"MM\0*", "a TIFF picture", "save it as PNG"),
    (b"GIF8", "a GIF picture", "save it as PNG"),
    (b"BM", "a BMP picture", "save it as PNG"),
    (b"RIFF", "a WebP picture", "save it as PNG or JPEG"),
    (
        b"\0\0\0",
        "a picture or a film of a phone",
        "save the picture as JPEG",
    ),
];

/// Reads a drawing or a table.
///
/// # Errors
/// Everything that is wrong with it.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<(Kind, Figure), Vec<OutlineFault>> {
    let kind = Kind::of(bytes);
    if kind == Kind::Table
        && let Some((_, what, mend)) = FOREIGN.iter().find(|(start, ..)| bytes.starts_with(start))
    {
        let what = format!("this is {what}, which is not read");
        return Err(vec![OutlineFault::new("foreign", what, *mend)]);
    }
    let figure = match kind {
        Kind::Dxf => dxf::read(bytes, options)?,
        Kind::Svg => svg::read(bytes, options)?,
        Kind::Table => table::read(bytes, options)?,
        Kind::Picture => {
            let what = "this is a picture, which has to be traced before it is an outline";
            let mend = "trace it with sumpwright outline, prove its scale, and write it as DXF";
            return Err(vec![OutlineFault::new("picture", what, mend)]);
        }
    };
    Ok((kind, figure))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_people_try_are_named_with_what_to_do_instead() {
        let told = |bytes: &[u8]| {
            read(bytes, &ReadOptions::default())
                .expect_err("it is not read")
                .remove(0)
        };
        assert!(told(b"%PDF-1.7\n...").what.contains("a PDF"));
        assert!(told(b"ISO-10303-21;\nHEADER;").mend.contains("flat view"));
        assert!(told(b"\0\0\0\x18ftypheic").mend.contains("JPEG"));
        assert_eq!(Kind::of(b"  0\nSECTION\n"), Kind::Dxf);
        assert_eq!(Kind::of(b"\xef\xbb\xbf<svg/>"), Kind::Svg);
        assert_eq!(Kind::of(b"\xef\xbb\xbf  0\r\nSECTION\r\n"), Kind::Dxf);
        assert_eq!(Kind::of(b"unit, mm\n"), Kind::Table);
    }
}
