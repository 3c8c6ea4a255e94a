//! Numbers, lengths and transforms as SVG writes them.

use glam::{DMat2, DVec2};

/// Units of a style sheet in pixels, a pixel being a 96th of an inch (CSS Values and Units, from memory).
const UNITS: [(&str, f64); 7] = [
    ("px", 1.0),
    ("mm", 96.0 / 25.4),
    ("cm", 96.0 / 2.54),
    ("in", 96.0),
    ("pt", 96.0 / 72.0),
    ("pc", 16.0),
    ("q", 96.0 / 101.6),
];

/// A length in pixels, and whether it carries a physical unit; `None` for what is no length (percent included).
pub(super) fn length(text: &str) -> Option<(f64, bool)> {
    let mut reader = Reader::new(text.trim());
    let number = reader.number()?;
    let unit = reader.rest.trim().to_ascii_lowercase();
    if unit.is_empty() {
        return Some((number, false));
    }
    let (name, factor) = UNITS.iter().find(|(name, _)| *name == unit)?;
    Some((number * factor, *name != "px"))
}

/// Cuts numbers out of a text in which blanks, commas, signs and points may all part them.
pub(super) struct Reader<'t> {
    pub rest: &'t str,
}

impl<'t> Reader<'t> {
    pub fn new(text: &'t str) -> Reader<'t> {
        Reader { rest: text }
    }

    pub fn skip_blanks(&mut self) {
        self.rest = self.rest.trim_start_matches([' ', '\t', '\r', '\n', '\x0c']);
    }

    /// Blanks and at most one comma.
    pub fn skip_parting(&mut self) {
        self.skip_blanks();
        if let Some(rest) = self.rest.strip_prefix(',') {
            self.rest = rest;
            self.skip_blanks();
        }
    }

    /// The number that begins here; finite and not beyond 1e9.
    pub fn number(&mut self) -> Option<f64> {
        let bytes = self.rest.as_bytes();
        let figures = |mut i: usize| {
            while bytes.get(i).is_some_and(u8::is_ascii_digit) {
                i += 1;
            }
            i
        };
        let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
        let whole = figures(sign);
        let mut end = whole;
        if bytes.get(end) == Some(&b'.') {
            end = figures(end + 1);
        }
        if end == sign || (end == whole + 1 && whole == sign) {
            return None;
        }
        if matches!(bytes.get(end), Some(b'e' | b'E')) {
            let from = end + 1 + usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
            let to = figures(from);
            // "2em" is a number and a unit.
            if to > from {
                end = to;
            }
        }
        let value: f64 = self.rest[..end].parse().ok()?;
        self.rest = &self.rest[end..];
        (value.is_finite() && value.abs() <= 1e9).then_some(value)
    }

    /// A flag of an arc: one figure, which need not be parted from what follows.
    pub fn flag(&mut self) -> Option<bool> {
        let flag = match self.rest.as_bytes().first()? {
            b'0' => false,
            b'1' => true,
            _ => return None,
        };
        self.rest = &self.rest[1..];
        Some(flag)
    }
}

/// Numbers parted by blanks or commas, to the end of the text.
pub(super) fn list(text: &str) -> Option<Vec<f64>> {
    let mut reader = Reader::new(text);
    let mut numbers = Vec::new();
    reader.skip_blanks();
    while !reader.rest.is_empty() {
        numbers.push(reader.number()?);
        reader.skip_parting();
    }
    Some(numbers)
}

/// A turn with scale and shear, and a move: `p` goes to `turn p + by`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placing {
    pub turn: DMat2,
    pub by: DVec2,
}

impl Placing {
    pub const NONE: Placing = Placing {
        turn: DMat2::IDENTITY,
        by: DVec2::ZERO,
    };

    pub fn moved(by: DVec2) -> Placing {
        Placing { by, ..Placing::NONE }
    }

    pub fn scaled(scale: DVec2) -> Placing {
        Placing {
            turn: DMat2::from_diagonal(scale),
            ..Placing::NONE
        }
    }

    pub fn of(&self, p: DVec2) -> DVec2 {
        self.turn * p + self.by
    }

    /// First `inner`, then this.
    pub fn after(&self, inner: &Placing) -> Placing {
        Placing {
            turn: self.turn * inner.turn,
            by: self.of(inner.by),
        }
    }
}

/// A `transform` attribute: the rightmost is done first.
pub(super) fn transform(text: &str) -> Option<Placing> {
    let mut all = Placing::NONE;
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (name, after) = rest.split_once('(')?;
        let (arguments, after) = after.split_once(')')?;
        let numbers = list(arguments)?;
        let one = match (name.trim(), &numbers[..]) {
            ("matrix", &[a, b, c, d, e, f]) => Placing {
                turn: DMat2::from_cols(DVec2::new(a, b), DVec2::new(c, d)),
                by: DVec2::new(e, f),
            },
            ("translate", &[x]) => Placing::moved(DVec2::new(x, 0.0)),
            ("translate", &[x, y]) => Placing::moved(DVec2::new(x, y)),
            ("scale", &[s]) => Placing::scaled(DVec2::splat(s)),
            ("scale", &[x, y]) => Placing::scaled(DVec2::new(x, y)),
            ("rotate", &[a]) => turned(a),
            ("rotate", &[a, x, y]) => {
                let at = DVec2::new(x, y);
                Placing::moved(at).after(&turned(a)).after(&Placing::moved(-at))
            }
            ("skewX", &[a]) => Placing {
                turn: DMat2::from_cols(DVec2::X, DVec2::new(a.to_radians().tan(), 1.0)),
                by: DVec2::ZERO,
            },
            ("skewY", &[a]) => Placing {
                turn: DMat2::from_cols(DVec2::new(1.0, a.to_radians().tan()), DVec2::Y),
                by: DVec2::ZERO,
            },
            _ => return None,
        };
        all = all.after(&one);
        rest = after.trim_start_matches([',', ' ', '\t', '\r', '\n']);
    }
    (all.turn.is_finite() && all.by.is_finite()).then_some(all)
}

fn turned(degrees: f64) -> Placing {
    Placing {
        turn: DMat2::from_angle(degrees.to_radians()),
        by: DVec2::ZERO,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_that_lean_on_each_other_are_told_apart() {
        assert_eq!(list("1.5.5-3,2e1 -.25"), Some(vec![1.5, 0.5, -3.0, 20.0, -0.25]));
        assert_eq!(list("1 a"), None);
        assert_eq!(length("2.54cm").map(|l| (l.0 * 1e9).round()), Some(96e9));
        assert_eq!(length(" 12 "), Some((12.0, false)));
        assert_eq!(
            (length("50%"), length("nan"), length("1e400")),
            (None, None, None)
        );
    }

    #[test]
    fn transforms_are_done_from_right_to_left() {
        let t = transform("translate(10,20) rotate(90) scale(2)").expect("it is one");
        assert!(t.of(DVec2::new(1.0, 0.0)).distance(DVec2::new(10.0, 22.0)) < 1e-12);
        let about = transform("rotate(180 5 5)").expect("it is one");
        assert!(about.of(DVec2::ZERO).distance(DVec2::new(10.0, 10.0)) < 1e-12);
        assert_eq!(transform("spin(3)"), None);
    }
}
