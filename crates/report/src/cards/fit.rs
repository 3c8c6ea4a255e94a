//! Fit card: from clean faces to the first pressure on the gauge.

use super::About;
use super::sheet::Sheet;
use crate::drawing::Drawing;
use crate::findings::{FitFacts, FitJoint};
use measure::{Dimension, show};

/// The card.
pub fn fit(facts: &FitFacts, about: &About) -> Vec<Drawing> {
    let length = |v: f64| show(v, Dimension::Length, about.order);
    let volume = |v: f64| show(v, Dimension::Volume, about.order);
    let mut s = Sheet::new(
        about,
        "fit",
        "Fit card",
        "One step after the other; tick it when it is done.",
    );
    s.head("Clean");
    s.tick("Inside of pan, pickup and doors washed, blown, looked at with a lamp: no swarf, no weld spatter, no rag.");
    s.tick("Both faces free of old seal and oil; wiped with a cleaner that leaves nothing.");
    s.head("Holes and bolts");
    s.tick("Every blind hole blown dry: oil or water under a bolt cracks the casting.");
    s.tick("Each bolt turned in by hand without the pan, to the depth it will have.");
    if let Some(bolts) = &facts.bolts {
        s.number("bolts", bolts);
    }
    if let Some(engaged) = facts.engaged {
        s.number("thread in thread", &length(engaged));
    }
    match facts.spare {
        Some(spare) if spare < 0.0 => s.caution(&format!(
            "These bolts bottom {} before they clamp. Do not fit: shorter bolts or thicker washers.",
            length(-spare)
        )),
        Some(spare) => s.number("left below the bolt", &length(spare)),
        None => {
            s.words("Depth of the threads is not stated: measure it, and leave two pitches below every bolt.")
        }
    }
    s.head("Seal");
    match &facts.joint {
        Some(FitJoint::Sealant { bead }) => {
            s.number("bead, unbroken", &length(*bead));
            s.tick("Bead inside the bolts, once round each hole on its inner side. None in the holes, none that can fall into the pan.");
            s.tick("Corners and joints of the block's covers: a dab more. Pan on before the bead skins, set down once, not slid.");
        }
        Some(FitJoint::Sheet { name, thickness }) => {
            s.number(&format!("gasket of {name}"), &length(*thickness));
            s.tick("Gasket dry unless its maker asks for more; every hole over its hole, none of it in the way of oil.");
        }
        Some(FitJoint::Cord { height }) => {
            s.number("cord", &length(*height));
            s.tick("Cord in its groove all round, not twisted, ends cut square and touching; a film of oil on it.");
        }
        None => s.tick("Seal as the engine maker asks: the design states none."),
    }
    s.tick("Bolts in by hand, all of them, then the torque card.");
    match (facts.wait, &facts.joint) {
        (Some(wait), _) => s.number("wait before oil", &wait_said(wait)),
        (None, Some(FitJoint::Sealant { .. })) => {
            s.tick("Wait as the sealant's maker says before oil or heat: ______")
        }
        _ => {}
    }
    s.head("Oil and first start");
    s.number("oil, with the filter filled", &volume(facts.fill));
    for step in [
        "Filter and pump primed with oil: a dry pump does not draw.",
        "Plugs out, fuel and spark off: crank until the gauge shows pressure. None in 20 seconds: stop and find out why.",
        "Plugs in, start, eyes on the gauge: no pressure in 5 seconds, switch off.",
        "Idle to warm, look underneath with a lamp and a sheet of paper. Off, ten minutes, dipstick.",
    ] {
        s.tick(step);
    }
    s.tick(match facts.retorque {
        Some(true) => "After the first heat, cold again: round once more with the torque card's last pass.",
        Some(false) => "No second torque after the heat: this seal does not bear it.",
        None => "After the first heat, cold again: round once more with the last pass, unless the sealant's maker forbids it.",
    });
    s.caution(
        "Hot oil burns, and oil on a header is a fire: extinguisher at hand, nobody under the car while it runs. An engine \
         without oil pressure may lock. The engine maker's data win over this card.",
    );
    s.done()
}

fn wait_said(seconds: f64) -> String {
    match seconds {
        s if s < 5400.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.0} h", s / 3600.0),
    }
}
