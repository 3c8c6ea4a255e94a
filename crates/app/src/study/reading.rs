//! What the cases say together.

use super::folder::Outcome;
use super::work::Case;
use ::study::chance::{Chance, wilson};
use ::study::front::ranked;
use ::study::sensitivity::{Effect, effects};
use ::study::{Figure, Figures, Method};
use job::{Asks, Study};
use pickup::verdict::Word;

/// Confidence of the interval of a chance.
pub const SURE: f64 = 0.95;

/// All readings.
pub struct Reading<'a> {
    /// The study.
    pub study: &'a Study,
    /// Known cases.
    pub cases: &'a [Case],
    /// What they came to, as far as they are done.
    pub outcomes: &'a [Option<Outcome>],
    /// Unbeaten cases, best first; none in a study of chance.
    pub ranked: Vec<usize>,
    /// Faults of invalid and failed cases: what, mend, how many, the first such case.
    pub faults: Vec<(String, String, usize, usize)>,
    /// How much of the scatter of what each input makes.
    pub explained: Vec<Explained>,
    /// Why nothing is explained, when nothing is.
    pub unexplained: Option<String>,
    /// Chance that the pump draws air somewhere.
    pub chance: Option<Chance>,
}

/// What makes a figure scatter.
pub struct Explained {
    /// The figure, in words.
    pub what: &'static str,
    /// One effect an input.
    pub effects: Vec<Effect>,
}

impl<'a> Reading<'a> {
    /// Reads the cases.
    pub fn of(study: &'a Study, cases: &'a [Case], outcomes: &'a [Option<Outcome>]) -> Reading<'a> {
        let computed: Vec<(&Case, &Figures)> = (cases.iter().zip(outcomes))
            .filter_map(|(case, outcome)| Some((case, outcome.as_ref()?.figures()?)))
            .collect();
        let pairs: Vec<(usize, &Figures)> = computed.iter().map(|(case, f)| (case.number, *f)).collect();
        let (mut best, mut chance) = (Vec::new(), None);
        match study.asks {
            Asks::Choice => best = ranked(&pairs, &study.aims),
            Asks::Chance => {
                let bare = pairs.iter().filter(|(_, figures)| figures.draws_air()).count();
                chance = wilson(bare, pairs.len(), SURE);
            }
        }
        let (explained, unexplained) = explained(study, &computed);
        Reading {
            study,
            cases,
            outcomes,
            ranked: best,
            faults: faults(cases, outcomes),
            explained,
            unexplained,
            chance,
        }
    }

    /// Cases that are done.
    pub fn done(&self) -> usize {
        self.outcomes.iter().flatten().count()
    }

    /// Cases that were computed.
    pub fn computed(&self) -> usize {
        self.outcomes
            .iter()
            .flatten()
            .filter_map(Outcome::figures)
            .count()
    }

    /// A case with its figures.
    pub fn case(&self, number: usize) -> Option<(&Case, &Figures)> {
        let at = self.cases.iter().position(|case| case.number == number)?;
        Some((&self.cases[at], self.outcomes[at].as_ref()?.figures()?))
    }

    /// How many cases came to each word.
    pub fn words(&self) -> Vec<(Word, usize)> {
        [Word::Go, Word::Watch, Word::NotKnown, Word::Stop]
            .into_iter()
            .map(|word| {
                let figures = self.outcomes.iter().flatten().filter_map(Outcome::figures);
                (word, figures.filter(|figures| figures.word == word).count())
            })
            .filter(|(_, count)| *count > 0)
            .collect()
    }

    /// Place of each unbeaten case in the order, from 1.
    pub fn ranks(&self) -> Vec<(usize, usize)> {
        self.ranked
            .iter()
            .enumerate()
            .map(|(i, case)| (*case, i + 1))
            .collect()
    }
}

fn explained(study: &Study, computed: &[(&Case, &Figures)]) -> (Vec<Explained>, Option<String>) {
    let grid = study.plan.method() == Method::Grid;
    if matches!(study.plan.method(), Method::Search { .. }) {
        let why = "a search crowds where designs are good, so its cases do not tell what an input does; lay the same inputs out with \
                   method = \"sobol\" for that";
        return (Vec::new(), Some(why.to_owned()));
    }
    let x: Vec<Vec<f64>> = (0..study.inputs.len())
        .map(|i| computed.iter().map(|(case, _)| case.levels[i].number).collect())
        .collect();
    let first = match study.asks {
        Asks::Choice => study.aims.first().copied().unwrap_or(Figure::Margin),
        Asks::Chance => Figure::Margin,
    };
    let column = |of: &dyn Fn(&Figures) -> f64| -> Vec<f64> { computed.iter().map(|(_, f)| of(f)).collect() };
    let mut wanted: Vec<(&'static str, Vec<f64>)> =
        vec![(first.word(), column(&|f| first.of(f).unwrap_or(f64::NAN)))];
    wanted.push(("drawing air", column(&|f| f64::from(u8::from(f.draws_air())))));
    let mut all = Vec::new();
    for (what, y) in wanted {
        if let Some(effects) = effects(&x, &y, grid) {
            all.push(Explained { what, effects });
        }
    }
    let why = all.is_empty().then(|| {
        if computed.len() < ::study::sensitivity::LEAST_CASES && !grid {
            format!(
                "{} computed cases are too few to tell what an input does; {} are needed",
                computed.len(),
                ::study::sensitivity::LEAST_CASES
            )
        } else {
            format!(
                "{} is the same in every case, so nothing explains it",
                first.word()
            )
        }
    });
    (all, why)
}

fn faults(cases: &[Case], outcomes: &[Option<Outcome>]) -> Vec<(String, String, usize, usize)> {
    let mut faults: Vec<(String, String, usize, usize, String)> = Vec::new();
    for (case, outcome) in cases.iter().zip(outcomes) {
        let (what, mend) = match outcome {
            Some(Outcome::Invalid { what, mend, .. }) => (what.clone(), mend.clone()),
            Some(Outcome::Failed { what }) => (what.clone(), "tell us".to_owned()),
            _ => continue,
        };
        // The same complaint with other numbers in it is the same.
        let kind: String = what
            .chars()
            .filter(|c| !c.is_ascii_digit() && *c != '.' && *c != '-')
            .collect();
        match faults.iter_mut().find(|fault| fault.4 == kind) {
            Some(fault) => fault.2 += 1,
            None => faults.push((what, mend, 1, case.number, kind)),
        }
    }
    faults.sort_by(|a, b| b.2.cmp(&a.2).then(a.3.cmp(&b.3)));
    faults
        .into_iter()
        .map(|(what, mend, count, first, _)| (what, mend, count, first))
        .collect()
}
