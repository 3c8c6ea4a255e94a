//! Path data: all commands, as pieces of lines, curves and elliptical arcs.

use super::numbers::Reader;
use glam::DVec2;

/// A piece of a path, from where the one before ended.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    Move(DVec2),
    Line(DVec2),
    Curve(DVec2, DVec2, DVec2),
    Quadratic(DVec2, DVec2),
    Arc {
        radii: DVec2,
        turn: f64,
        large: bool,
        sweep: bool,
        to: DVec2,
    },
    Close,
}

impl Reader<'_> {
    /// A number and what parts it from the next; `Err` is how many letters were left.
    fn due(&mut self) -> Result<f64, usize> {
        let left = self.rest.len();
        let value = self.number().ok_or(left);
        self.skip_parting();
        value
    }

    fn flag_due(&mut self) -> Result<bool, usize> {
        let left = self.rest.len();
        let flag = self.flag().ok_or(left);
        self.skip_parting();
        flag
    }

    fn pair_due(&mut self, origin: DVec2) -> Result<DVec2, usize> {
        Ok(origin + DVec2::new(self.due()?, self.due()?))
    }
}

/// The pieces of path data; `Err` tells where it is no path: how many letters are left.
pub(super) fn pieces(data: &str, most: usize) -> Result<Vec<Piece>, usize> {
    let mut reader = Reader::new(data);
    let mut out = Vec::new();
    let (mut at, mut start) = (DVec2::ZERO, DVec2::ZERO);
    // Control points that a smooth curve mirrors.
    let (mut cubic, mut quadratic) = (None, None);
    let mut command = ' ';
    reader.skip_blanks();
    while !reader.rest.is_empty() {
        let left = reader.rest.len();
        if out.len() >= most {
            return Err(left);
        }
        match reader.rest.chars().next() {
            Some(c) if c.is_ascii_alphabetic() => {
                command = c;
                reader.rest = &reader.rest[1..];
                reader.skip_blanks();
            }
            _ if command == ' ' || command.eq_ignore_ascii_case(&'z') => return Err(left),
            _ => {}
        }
        // The first piece moves, whatever else it does.
        if out.is_empty() && !command.eq_ignore_ascii_case(&'m') {
            return Err(left);
        }
        let origin = if command.is_ascii_lowercase() {
            at
        } else {
            DVec2::ZERO
        };
        let mut smooth = (None, None);
        let piece = match command.to_ascii_uppercase() {
            'M' => {
                start = reader.pair_due(origin)?;
                Piece::Move(start)
            }
            'L' => Piece::Line(reader.pair_due(origin)?),
            'H' => Piece::Line(DVec2::new(origin.x + reader.due()?, at.y)),
            'V' => Piece::Line(DVec2::new(at.x, origin.y + reader.due()?)),
            'C' | 'S' => {
                let first = match command {
                    'C' | 'c' => reader.pair_due(origin)?,
                    _ => cubic.map_or(at, |c: DVec2| 2.0 * at - c),
                };
                let (second, to) = (reader.pair_due(origin)?, reader.pair_due(origin)?);
                smooth.0 = Some(second);
                Piece::Curve(first, second, to)
            }
            'Q' => {
                let (control, to) = (reader.pair_due(origin)?, reader.pair_due(origin)?);
                smooth.1 = Some(control);
                Piece::Quadratic(control, to)
            }
            'T' => {
                let control = quadratic.map_or(at, |c: DVec2| 2.0 * at - c);
                smooth.1 = Some(control);
                Piece::Quadratic(control, reader.pair_due(origin)?)
            }
            'A' => {
                let (radii, turn) = (
                    DVec2::new(reader.due()?, reader.due()?),
                    reader.due()?.to_radians(),
                );
                let (large, sweep) = (reader.flag_due()?, reader.flag_due()?);
                let to = origin + DVec2::new(reader.due()?, reader.due()?);
                Piece::Arc {
                    radii: radii.abs(),
                    turn,
                    large,
                    sweep,
                    to,
                }
            }
            'Z' => Piece::Close,
            _ => return Err(left),
        };
        (cubic, quadratic) = smooth;
        at = match piece {
            Piece::Move(to) | Piece::Line(to) | Piece::Curve(_, _, to) | Piece::Quadratic(_, to) => to,
            Piece::Arc { to, .. } => to,
            Piece::Close => start,
        };
        // Further points after a move are lines.
        command = match command {
            'M' => 'L',
            'm' => 'l',
            other => other,
        };
        out.push(piece);
        reader.skip_blanks();
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_moves_the_pen_where_it_should() {
        let p = |x: f64, y: f64| DVec2::new(x, y);
        let data = "m1,1 2 0h3v-1H0V5l1 1c0 1 1 2 2 2s2-1 2-2q1 1 2 0t2 0a5 5 0 01 3 3z";
        let got = pieces(data, 100).expect("it is a path");
        let wanted = [
            Piece::Move(p(1.0, 1.0)),
            Piece::Line(p(3.0, 1.0)),
            Piece::Line(p(6.0, 1.0)),
            Piece::Line(p(6.0, 0.0)),
            Piece::Line(p(0.0, 0.0)),
            Piece::Line(p(0.0, 5.0)),
            Piece::Line(p(1.0, 6.0)),
            Piece::Curve(p(1.0, 7.0), p(2.0, 8.0), p(3.0, 8.0)),
            // The first control point is the last one mirrored at (3, 8).
            Piece::Curve(p(4.0, 8.0), p(5.0, 7.0), p(5.0, 6.0)),
            Piece::Quadratic(p(6.0, 7.0), p(7.0, 6.0)),
            Piece::Quadratic(p(8.0, 5.0), p(9.0, 6.0)),
            Piece::Arc {
                radii: p(5.0, 5.0),
                turn: 0.0,
                large: false,
                sweep: true,
                to: p(12.0, 9.0),
            },
            Piece::Close,
        ];
        assert_eq!(got, wanted);
    }

    #[test]
    fn data_that_is_no_path_is_refused_where_it_goes_wrong() {
        assert_eq!(pieces("L 1 1", 10), Err(5));
        assert_eq!(pieces("M 1 1 L 2 x", 10), Err(1));
        assert_eq!(pieces("M0 0 A 1 1 0 2 0 1 1", 10), Err(7));
        assert!(pieces("M0 0 1 1 2 2 3 3", 2).is_err());
        assert_eq!(pieces("", 10), Ok(vec![]));
    }
}
