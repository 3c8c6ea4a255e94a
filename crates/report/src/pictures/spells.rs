//! Covered, thin, bare: a history cut into spells.

use crate::drawing::Fill;

/// What stands over the mouth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// At least the limit.
    Covered,
    /// Less than the limit.
    Thin,
    /// Nothing.
    Bare,
}

impl State {
    /// The state at a cover [m] with the limit for thin [m].
    pub fn of(cover: f64, limit: f64) -> State {
        if cover <= 0.0 {
            State::Bare
        } else if cover < limit {
            State::Thin
        } else {
            State::Covered
        }
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            State::Covered => "covered",
            State::Thin => "thin",
            State::Bare => "bare",
        }
    }

    /// Its pattern.
    pub fn fill(self) -> Fill {
        match self {
            State::Covered => Fill::Covered,
            State::Thin => Fill::Thin,
            State::Bare => Fill::Bare,
        }
    }
}

/// A stretch of one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spell {
    /// The state.
    pub state: State,
    /// From [s].
    pub from: f64,
    /// To [s].
    pub to: f64,
}

/// Cuts a history into spells; each sample holds until the next. Samples before `from` are left out.
pub fn spells(time: &[f64], cover: &[f64], limit: f64, from: f64) -> Vec<Spell> {
    let mut list: Vec<Spell> = Vec::new();
    for i in 0..time.len().min(cover.len()) {
        let end = time.get(i + 1).copied().unwrap_or(time[i]);
        if end < from {
            continue;
        }
        let state = State::of(cover[i], limit);
        match list.last_mut() {
            Some(last) if last.state == state => last.to = end,
            _ => list.push(Spell {
                state,
                from: time[i].max(from),
                to: end,
            }),
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_history_falls_into_covered_thin_bare_and_back() {
        let time = [0.0, 1.0, 2.0, 3.0, 4.0];
        let cover = [0.03, 0.004, 0.0, 0.0, 0.03];
        let got: Vec<_> = spells(&time, &cover, 0.01, 0.0)
            .iter()
            .map(|s| (s.state.word(), s.from, s.to))
            .collect();
        assert_eq!(
            got,
            [
                ("covered", 0.0, 1.0),
                ("thin", 1.0, 2.0),
                ("bare", 2.0, 4.0),
                ("covered", 4.0, 4.0)
            ]
        );
    }
}
