//! Covered, thin, bare: a history cut into spells.

use crate::drawing::Fill;
use pickup::CoverHistory;

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
    /// The state at a cover [m] with the limit for thin [m], by cover alone.
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

/// Cuts a history into spells from `from` [s] on. Bare is what the verdict counts as bare: nothing over the mouth's
/// middle, or air in what the pump takes. A spell reaches half-way to the rows beside it, as the verdict's stretches do.
pub fn spells(history: &CoverHistory, limit: f64, from: f64) -> Vec<Spell> {
    let time = &history.time;
    let half_way = |a: f64, b: f64| 0.5 * (a + b);
    let mut list: Vec<Spell> = Vec::new();
    for row in history.rows_in(from, f64::INFINITY) {
        let state = match history.bare(row) {
            true => State::Bare,
            false => State::of(history.cover[row], limit),
        };
        let start = match row {
            0 => time[0],
            _ => half_way(time[row - 1], time[row]).max(from),
        };
        let end = time
            .get(row + 1)
            .map_or(time[row], |&next| half_way(time[row], next));
        match list.last_mut() {
            Some(last) if last.state == state => last.to = end,
            _ => list.push(Spell {
                state,
                from: start,
                to: end,
            }),
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows a second apart: thin, without cover, and one with cover whose pump took a fifth of air.
    #[test]
    fn a_history_falls_into_covered_thin_bare_and_back_as_the_verdict_counts_them() {
        let history = CoverHistory {
            time: vec![0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0],
            cover: vec![0.03, 0.004, 0.0, 0.0, 0.03, 0.03, 0.03],
            air: vec![0.0, 0.0, 0.5, 1.0, 1.0, 1.2, 1.2],
            drawn: vec![0.0, 1.0, 1.5, 2.0, 3.0, 3.8, 4.8],
            ..CoverHistory::default()
        };
        let spells = spells(&history, 0.01, 0.0);
        let got: Vec<_> = spells.iter().map(|s| (s.state.word(), s.from, s.to)).collect();
        assert_eq!(
            got,
            [
                ("covered", 0.0, 0.5),
                ("thin", 0.5, 1.5),
                ("bare", 1.5, 3.5),
                ("covered", 3.5, 4.5),
                ("bare", 4.5, 5.5),
                ("covered", 5.5, 6.0)
            ]
        );
        let bare = spells.iter().filter(|s| s.state == State::Bare);
        let gulps = history.gulps(0.0, 6.0);
        assert_eq!(
            bare.map(|s| (s.from, s.to)).collect::<Vec<_>>(),
            gulps.iter().map(|g| (g.start, g.end)).collect::<Vec<_>>()
        );
    }
}
