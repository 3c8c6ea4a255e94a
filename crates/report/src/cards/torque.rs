//! Torque card: bolts with their numbers and their turn, passes, torques in the units that wrenches have.

use super::About;
use super::sheet::Sheet;
use crate::drawing::{Anchor, Drawing};
use crate::findings::SealFacts;
use crate::pictures::seal::flange_with_bolts;
use glam::DVec2;

/// Pound-force in newtons and inch in metres: both exact (NIST SP 811, appendix B).
const FOOT_POUND: f64 = 4.448_221_615_260_5 * 12.0 * 0.0254;

/// The card; `None` when no order and torque could be given.
pub fn torque(facts: &SealFacts, about: &About) -> Option<Vec<Drawing>> {
    let order = facts.order.as_ref()?;
    let lead = format!(
        "{}. Set the wrench, go round once for each pass, in the order of the squares.",
        bolts(facts)
    );
    let mut s = Sheet::new(about, "torque", "Torque card", &lead);
    if let Some(worst) = facts.warnings.first() {
        s.caution(&format!(
            "Not cleared: {}. {} Read what sumpwright seal says before a bolt is turned.",
            worst.said,
            more(facts.warnings.len() - 1)
        ));
    }
    s.gap(3.0);
    let [left, right] = s.edges();
    let height = (s.free() - 78.0).clamp(70.0, 130.0);
    let low = s.room(height);
    flange_with_bolts(
        s.drawing(),
        &facts.view,
        Some(&order.order),
        [low, DVec2::new(right, low.y + height)],
        5.4,
    );
    s.small("Ring: the bolt, numbered as the design lists it. Square: its turn. Seen from above, engine front to the right.");
    s.gap(3.0);
    let mut rows = vec![["pass", "N·m", "lbf·ft", "lbf·in"].map(str::to_owned).to_vec()];
    for (i, t) in order.passes.iter().enumerate() {
        rows.push(vec![
            format!("{}", i + 1),
            format!("{t:.1}"),
            format!("{:.1}", t / FOOT_POUND),
            format!("{:.0}", t / FOOT_POUND * 12.0),
        ]);
    }
    let columns = [
        (0.0, Anchor::Start),
        (0.46, Anchor::End),
        (0.73, Anchor::End),
        (1.0, Anchor::End),
    ];
    s.table(&columns, &rows);
    s.head("In this order");
    let rings: Vec<String> = order.order.iter().map(usize::to_string).collect();
    let [wide, each] = [right - left, 18.0];
    let across = (wide / each).floor().max(1.0) as usize;
    for (r, row) in rings.chunks(across).enumerate() {
        let at = s.room(20.0);
        for (i, bolt) in row.iter().enumerate() {
            let place = DVec2::new(at.x + each * (i as f64 + 0.5), at.y + 11.5);
            crate::pictures::seal::bolt(s.drawing(), place, bolt, 5.4);
            let turn = (r * across + i + 1).to_string();
            crate::pictures::seal::turn(s.drawing(), place - DVec2::new(0.0, 9.0), &turn, 3.6);
        }
    }
    s.words("The last pass confirms: it should move no bolt. Do not back a bolt off to make it match.");
    for caution in &facts.cautions {
        s.small(caution);
    }
    Some(s.done())
}

fn bolts(facts: &SealFacts) -> String {
    match facts.bolts.said.split_once(": ") {
        Some((which, _)) => capital(which),
        None => capital(&facts.bolts.said),
    }
}

fn capital(text: &str) -> String {
    crate::pictures::time::capital(text)
}

fn more(count: usize) -> String {
    match count {
        0 => String::new(),
        1 => "One more warning stands.".to_owned(),
        n => format!("{n} more warnings stand."),
    }
}
