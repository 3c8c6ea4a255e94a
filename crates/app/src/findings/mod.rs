//! From computed things to the report's [`Findings`]: plain mapping, no physics.

mod answer;
mod facts;
mod oil_at_rest;
mod replay;
mod words;

pub use facts::height_at_mouth;
pub use oil_at_rest::{RestMaps, rest_maps};
pub use replay::replay;

use crate::cases::Cases;
use crate::failure::Failure;
use crate::runner::Computed;
use pickup::GridStudy;
use pickup::allowance::Allowance;
use pickup::fill::FillSearch;
use pickup::verdict::Verdict;
use report::findings::{Depth, FORMAT, Findings, LedgerFacts, LimitFacts, Program, Timing};
use still::Moment;

/// All that a `check` or a sketch has computed.
pub struct Computation<'a> {
    /// What computed the moments.
    pub depth: Depth,
    /// What the cases share.
    pub cases: &'a Cases<'a>,
    /// The moments, in the order they were picked.
    pub moments: &'a [Moment],
    /// Their runs at the middle allowance.
    pub computed: &'a [Computed],
    /// What other cell sizes say of each; none without a grid study.
    pub studies: &'a [Option<GridStudy>],
    /// The verdict over them.
    pub verdict: &'a Verdict,
    /// Low and high allowance of the worst moment; empty when not asked for.
    pub allowances: &'a [(Allowance, Verdict)],
    /// The search for the lowest fill, or why there was none; absent when not asked for.
    pub lowest_fill: Option<&'a Result<FillSearch, String>>,
    /// Oil at rest.
    pub rest: &'a RestMaps,
    /// Gaps round the pan and inside it, when the design states bodies.
    pub clearance: Option<report::findings::ClearanceFacts>,
    /// Whether the pump is fed, when the design states its suction line.
    pub feed: Option<report::findings::FeedFacts>,
    /// The joint, when the design states it.
    pub seal: Option<report::findings::SealFacts>,
    /// What the cards of the bench say.
    pub cards: report::findings::CardsFacts,
    /// How long the steps took.
    pub timings: Vec<Timing>,
    /// Names for people: the design file as typed.
    pub file: String,
}

/// The findings.
pub fn findings(c: &Computation) -> Result<Findings, Failure> {
    let design = &c.cases.prepared.design;
    let verdict = answer::verdict(c);
    Ok(Findings {
        format: FORMAT.to_string(),
        program: Program {
            name: "Sumpwright".into(),
            version: env!("CARGO_PKG_VERSION").into(),
        },
        depth: c.depth,
        design: facts::design(c),
        oil: facts::oil(c.cases.prepared),
        pan: facts::pan(c)?,
        drive: facts::drive(c)?,
        limits: LimitFacts {
            least_cover: design.limits.least_cover,
            longest_gulp: design.limits.longest_gulp,
        },
        still: oil_at_rest::still(c)?,
        moments: answer::moments(c)?,
        aloft: answer::aloft(c),
        lowest_fill: answer::lowest_fill(c),
        clearance: c.clearance.clone(),
        feed: c.feed.clone(),
        seal: c.seal.clone(),
        cards: Some(c.cards.clone()),
        assumptions: words::assumptions(c),
        not_known: words::not_known(c, &verdict),
        verdict,
        ledger: ledger(c)?,
        method: words::method(c),
        timings: c.timings.clone(),
    })
}

fn ledger(c: &Computation) -> Result<LedgerFacts, Failure> {
    let fill = c.cases.prepared.design.fill;
    let mut worst_error = 0.0_f64;
    for run in c.computed {
        let error = run.history.check_ledger(fill).map_err(|fault| {
            Failure::computing(
                fault.to_string(),
                "this is a fault of the program; keep the design and report it",
            )
        })?;
        worst_error = worst_error.max(error);
    }
    let steps = c.computed.iter().map(|run| run.history.len() as u64).sum();
    Ok(LedgerFacts {
        fill,
        worst_error,
        steps,
    })
}
