//! Oil aloft is known by nobody: the verdict is read at a low, a middle and a high allowance.

use serde::{Deserialize, Serialize};

use crate::verdict::{Verdict, Word};

/// How much of the stated oil aloft is taken to be out of the pan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Allowance {
    /// Less than stated.
    Low,
    /// As stated.
    Mid,
    /// More than stated.
    High,
}

impl Allowance {
    /// All three, low first.
    pub const ALL: [Allowance; 3] = [Allowance::Low, Allowance::Mid, Allowance::High];

    /// Default factor on the stated oil aloft: common practice, no source (trade figures for a
    /// four-cylinder run from 0.7 L to 1.5 L, about a third either way of their middle).
    pub fn usual_factor(self) -> f64 {
        match self {
            Allowance::Low => 0.65,
            Allowance::Mid => 1.0,
            Allowance::High => 1.35,
        }
    }

    /// The word in the report.
    pub fn said(self) -> &'static str {
        match self {
            Allowance::Low => "low",
            Allowance::Mid => "mid",
            Allowance::High => "high",
        }
    }
}

/// The verdicts at several allowances weighed into one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Weighed {
    /// In one word.
    pub word: Word,
    /// What the allowance does to the verdict, in one sentence.
    pub sentence: String,
}

/// Weighs verdicts at different allowances: the middle one decides; where another is worse the answer
/// hangs on a number nobody knows, so a *go* becomes *watch*. Without a middle verdict: *not known*.
pub fn weigh(verdicts: &[(Allowance, &Verdict)]) -> Weighed {
    let word_at = |wanted| verdicts.iter().find(|(a, _)| *a == wanted).map(|(_, v)| v.word);
    let Some(mid) = word_at(Allowance::Mid) else {
        return Weighed {
            word: Word::NotKnown,
            sentence: "Not known: the middle allowance of oil aloft was not computed.".to_string(),
        };
    };
    let missing = Allowance::ALL.iter().filter(|&&a| word_at(a).is_none()).count();
    let worst = verdicts
        .iter()
        .max_by_key(|(_, v)| v.word)
        .expect("the middle one is there");
    let best = verdicts
        .iter()
        .min_by_key(|(_, v)| v.word)
        .expect("the middle one is there");
    let word = if mid == Word::Go && worst.1.word > Word::Go {
        Word::Watch
    } else {
        mid
    };
    let sentence = if worst.1.word == best.1.word {
        let which = if missing == 0 {
            "low, mid and high oil aloft"
        } else {
            "every oil aloft that was computed"
        };
        format!("The word is the same at {which}: {}.", mid.said())
    } else {
        let said: Vec<String> = verdicts
            .iter()
            .map(|(a, v)| format!("{} at {} oil aloft", v.word.said(), a.said()))
            .collect();
        format!(
            "The answer hangs on the oil held up in the engine: {}.",
            said.join(", ")
        )
    };
    Weighed { word, sentence }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limits::Limits;
    use crate::names::PanWords;
    use crate::verdict::{Judging, judge};

    fn verdict(word: Word) -> Verdict {
        let (limits, pan) = (Limits::default(), PanWords::default());
        let with = Judging {
            limits: &limits,
            band: 0.0,
            pan: &pan,
            laps: &[],
            order: Default::default(),
        };
        Verdict {
            word,
            ..judge(&[], &with)
        }
    }

    #[test]
    fn a_go_that_fails_at_the_high_allowance_is_a_watch() {
        let (go, stop) = (verdict(Word::Go), verdict(Word::Stop));
        let weighed = weigh(&[
            (Allowance::Low, &go),
            (Allowance::Mid, &go),
            (Allowance::High, &stop),
        ]);
        assert_eq!(weighed.word, Word::Watch);
        assert!(
            weighed.sentence.contains("stop at high oil aloft"),
            "{}",
            weighed.sentence
        );
    }

    #[test]
    fn the_middle_decides_when_it_is_worse_than_watch() {
        let (go, stop) = (verdict(Word::Go), verdict(Word::Stop));
        let weighed = weigh(&[
            (Allowance::Low, &go),
            (Allowance::Mid, &stop),
            (Allowance::High, &stop),
        ]);
        assert_eq!(weighed.word, Word::Stop);
        let same = weigh(&[
            (Allowance::Low, &go),
            (Allowance::Mid, &go),
            (Allowance::High, &go),
        ]);
        assert_eq!(same.word, Word::Go);
        assert!(same.sentence.contains("same at low, mid and high"));
    }

    #[test]
    fn without_the_middle_nothing_is_known() {
        let go = verdict(Word::Go);
        assert_eq!(weigh(&[(Allowance::Low, &go)]).word, Word::NotKnown);
    }
}
