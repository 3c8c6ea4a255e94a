//! The cards of the bench: from the design to what stands on each.

mod benched;
mod hung;
mod stick;

use super::{Folder, pages};
use crate::failure::Failure;
use crate::seals;
use crate::terminal;
use glam::DVec2;
use job::{Design, JointKind, Sealing};
use report::cards::{self, About};
use report::findings::{
    CardsFacts, FitFacts, FitJoint, LeakFacts, RulesFacts, SealFacts, Warning, WeldFacts, WeldRun,
};

/// Air in the leak test, and the most that is let in [Pa]: 0.2 bar and 0.35 bar, common practice, no source.
const AIR: [f64; 2] = [0.2e5, 0.35e5];

/// Adds the cards.
pub fn make(design: &Design, folder: &mut Folder) -> Result<CardsFacts, Failure> {
    let seal = seals::look(design)?;
    let facts = facts(design, seal.as_ref(), folder)?;
    print(design, folder, &facts, seal.as_ref())?;
    Ok(facts)
}

/// What stands on them; what a person should know of them goes to the folder.
fn facts(design: &Design, seal: Option<&SealFacts>, folder: &mut Folder) -> Result<CardsFacts, Failure> {
    Ok(CardsFacts {
        dipstick: stick::facts(design, folder)?,
        tilt: benched::facts(design),
        doors: hung::facts(&design.pan),
        weld: design.sealing.as_ref().and_then(|s| weld(design, s)),
        leak: LeakFacts {
            test: AIR[0],
            limit: AIR[1],
            opening: opening(design),
        },
        fit: fit(design, seal),
        rules: RulesFacts {
            fill: design.fill,
            capacity: design.pan.capacity(),
        },
    })
}

/// The same without a folder, and what is wrong with them.
pub fn looked(design: &Design, seal: Option<&SealFacts>) -> Result<(CardsFacts, Vec<Warning>), Failure> {
    let mut aside = Folder::default();
    let facts = facts(design, seal, &mut aside)?;
    Ok((facts, aside.warnings))
}

/// The same for a report page: what is wrong with them is said at once.
pub fn told(design: &Design, seal: Option<&SealFacts>) -> Result<CardsFacts, Failure> {
    let (facts, warnings) = looked(design, seal)?;
    for warning in &warnings {
        terminal::remark(&format!("warning: {}\n  mend: {}", warning.said, warning.mend));
    }
    Ok(facts)
}

fn print(
    design: &Design,
    folder: &mut Folder,
    facts: &CardsFacts,
    seal: Option<&SealFacts>,
) -> Result<(), Failure> {
    let about = About {
        design: design.name.clone(),
        paper: design.shop.paper.size().map(|v| v * 1e3),
        order: design.units,
    };
    let cards = cards::all(facts, seal, &about);
    let torque = cards.iter().any(|card| card.name == "torque");
    match (seal, torque) {
        (None, _) => folder.said.push(
            "No torque card and no weld plan: the design states no joint ([seal], docs/seal.md).".to_owned(),
        ),
        (Some(_), false) => folder
            .said
            .push("No torque card: no torque is safe with these bolts; sumpwright seal says why.".to_owned()),
        _ => {}
    }
    if facts.dipstick.is_none() {
        folder
            .said
            .push("No dipstick card: state [shop.dipstick] with foot and top (docs/shop.md).".to_owned());
    }
    let mut whole = Vec::new();
    for card in cards {
        pages::print(folder, &format!("cards/{}", card.name), card.what, &card.sheets)?;
        whole.extend(card.sheets);
    }
    pages::print(folder, "cards", "all cards in the order of the work", &whole)
}

/// Area on which air under a lid presses [m²].
fn opening(design: &Design) -> Option<f64> {
    let area = design.pan.cavity.level_section(-1e-4).area();
    (area > 0.0).then_some(area)
}

fn weld(design: &Design, s: &Sealing) -> Option<WeldFacts> {
    let plan = design.shop.cards.weld;
    let seam: Vec<DVec2> = s.inner.clone();
    let runs = shop::weld::runs(&seam, plan.run);
    let points = |l: &[DVec2]| l.iter().map(|p| p.to_array()).collect();
    (!runs.is_empty()).then(|| WeldFacts {
        runs: (runs.iter())
            .map(|r| WeldRun {
                turn: r.turn,
                line: points(&r.line),
            })
            .collect(),
        run: plan.run,
        skim: plan.skim,
        thickness: s.thickness,
    })
}

fn fit(design: &Design, seal: Option<&SealFacts>) -> FitFacts {
    let plan = design.shop.cards.fit;
    let joint = design.sealing.as_ref().map(|s| match s.kind {
        JointKind::Sealant { .. } => FitJoint::Sealant { bead: plan.bead },
        JointKind::Sheet { sheet, thickness, .. } => FitJoint::Sheet {
            name: sheet.name.to_owned(),
            thickness,
        },
        JointKind::Bead { height, .. } => FitJoint::Cord { height },
    });
    FitFacts {
        bolts: seal.map(|s| s.bolts.said.split(": ").next().unwrap_or_default().to_owned()),
        engaged: seal.map(|s| s.bolts.engaged),
        spare: seal.and_then(|s| s.bolts.spare),
        joint,
        wait: plan.wait,
        retorque: plan.retorque,
        fill: design.fill,
        doors: design.pan.doors.iter().map(|d| d.name.clone()).collect(),
    }
}
