//! What the answer rests on, what is not known, and how it was computed, in sentences.

use super::Computation;
use crate::sketch;
use measure::{Dimension, show};
use pickup::verdict::Word;
use report::findings::{Depth, MethodStep, Remark, Verdict};

fn remark(said: impl Into<String>, effect: impl Into<String>) -> Remark {
    Remark {
        said: said.into(),
        effect: effect.into(),
    }
}

/// Whether the moments were computed on several cell sizes.
fn studied(c: &Computation) -> bool {
    c.studies.iter().any(Option::is_some)
}

/// Assumptions that matter.
pub fn assumptions(c: &Computation) -> Vec<Remark> {
    let design = &c.cases.prepared.design;
    let lattice = &c.cases.gridded.lattice;
    let mut said = vec![
        remark(
            "Oil aloft (in heads, galleries, filter and air) is taken from the table in the design file.",
            "nobody knows this number well; the answer is given for a low, a middle and a high allowance",
        ),
        remark(
            format!(
                "The pan is cut into cells of {}; plates are sheets without thickness, their holes and gaps below a \
                 cell act as resistance.",
                show(lattice.cell, Dimension::Length, design.units)
            ),
            if c.depth == Depth::Bays {
                "their spaces and the openings between them are what is computed"
            } else if studied(c) {
                "how far finer ones would move cover and air was estimated from coarser ones"
            } else {
                "cover is known to about half a cell; a smaller --cell narrows it and takes longer, --refine measures it"
            },
        ),
        remark(
            "The pickup pipe itself, the wind of the crank and oil flung by it are not computed; the crank sweep \
             only counts the oil that reaches it.",
            "a windage tray or scraper is judged for drain-back only",
        ),
        remark(
            "Air bubbles in the oil thin its density and change its viscosity, but do not rise or settle.",
            "",
        ),
    ];
    if c.cases.driven.car.spin.is_none() {
        said.push(remark(
            "The drive has no yaw rate, so the turning of the car itself is left out.",
            "small: at one radian a second it adds under 0.02 g across a pan",
        ));
    }
    said
}

/// What is not known.
pub fn not_known(c: &Computation, verdict: &Verdict) -> Vec<Remark> {
    let mut said = vec![
        remark(
            "How much oil this engine really holds aloft at speed.",
            "log the oil level or weigh what drains in the first ten seconds after shut-down",
        ),
        remark(
            "Whether the doors swing as free in hot, dirty oil as on the bench, and how well they seal.",
            "swing them by hand at every oil change; state the gap that you measure",
        ),
    ];
    if c.feed.is_none() {
        said.push(remark(
            "Whether the pump is fed through its suction tube: the design does not describe it.",
            "add a [feed] (docs/feed.md); sumpwright feed shows how it begins",
        ));
    }
    if c.depth == Depth::Bays {
        said.extend(blind());
    } else if studied(c) {
        said.push(remark(
            "How far the cells move oil aloft low and high and the lowest fill: the band of the middle is taken.",
            "",
        ));
    } else {
        said.push(remark(
            "Cover and air are from one cell size: the band of half a cell is experience, not computed.",
            "run again with --refine; it computes the moments on three cell sizes",
        ));
    }
    if c.depth == Depth::Slosh && (c.moments.len() > 1 || c.moments[0].name != "drive") {
        said.push(remark(
            "Between the computed moments the lap is judged by oil at rest only.",
            "run with --whole to compute all of it",
        ));
    }
    if verdict.word != Word::Stop && verdict.first_air.is_none() {
        said.push(remark(
            "Air that a covered mouth may still draw through a whirl is not computed below the cell size.",
            "watch the pressure trace of the first laps",
        ));
    }
    said
}

/// What bays cannot see.
fn blind() -> [Remark; 3] {
    [
        remark(
            format!(
                "How far the sketch is off: against the 3-D solver least cover lay within {:.0} mm on most of a suite of designs and \
                 manoeuvres.",
                1e3 * sketch::BAND
            ),
            "run `sumpwright bays DESIGN --against slosh` for this pan; docs/validation.md has the suite",
        ),
        remark(
            "Waves within a space but the first, spray, and oil that climbs a wall and falls back.",
            "they bare a mouth sooner and longer than the sketch says; `sumpwright check` computes them",
        ),
        remark(
            "How the oil lies within a space: its surface is taken as flat.",
            "in long low spaces it is not; a plate across them, even a perforated one, makes the sketch truer",
        ),
    ]
}

/// How it was computed.
pub fn method(c: &Computation) -> Vec<MethodStep> {
    let step = |step: &str, said: String, source: &str| MethodStep {
        step: step.to_string(),
        said,
        source: source.to_string(),
    };
    let lattice = &c.cases.gridded.lattice;
    let (motion, size) = if c.depth == Depth::Bays {
        (
            step(
                "oil in motion",
                "a flat surface in each space that swings as its first sloshing mode; oil through every opening patch by patch \
                 by the difference of heads; doors turn by oil pressure and their own weight"
                    .into(),
                "NASA SP-106 (equivalent pendulum); Villemonte 1947 (drowned weirs); docs/bays.md",
            ),
            step(
                "band",
                "what the sketch is held to against the 3-D solver on a suite of designs and manoeuvres".into(),
                "docs/validation.md",
            ),
        )
    } else {
        (
            step(
            "oil in motion",
            "incompressible flow with a free surface on a staggered grid: oil carried by planes in cells, \
             conserved exactly; pressure by conjugate gradients; doors turn by oil pressure and their own weight"
                .into(),
            "Weymouth and Yue 2010 (volume of fluid); Gibou and others 2002 (pressure at the surface); \
             docs/method.md",
        ),
            step(
            "cell size",
            if studied(c) {
                "the moments on several cell sizes, observed order of each number and a safety factor on what is left"
                    .into()
            } else {
                "one cell size; the band of half a cell is from the solver's own trials".into()
            },
            "ASME V&V 20-2009; Celik and others 2008; docs/method.md",
        ),
        )
    };
    vec![
        step(
            "geometry",
            format!(
                "{} × {} × {} cubic cells with open volume and open area fractions; plates as shut faces",
                lattice.n[0], lattice.n[1], lattice.n[2]
            ),
            "",
        ),
        step(
            "oil at rest",
            "level plane by exact clipped volume, for every direction and size of acceleration".into(),
            "hydrostatics in an accelerated frame; any fluid-mechanics textbook",
        ),
        step(
            "choice of moments",
            "least cover of oil at rest under apparent gravity that lags as the pan's first sideways mode; the \
             strongest braking, left and right are always among them when there is room"
                .into(),
            "linear wave theory, ω² = g k tanh(k h)",
        ),
        motion,
        size,
        step(
            "verdict",
            "read from the cover over the mouth and the air drawn, never from the pictures".into(),
            "docs/method.md",
        ),
    ]
}
