//! Leak test: water first, little air, what passes.

use super::About;
use super::sheet::Sheet;
use crate::drawing::Drawing;
use crate::findings::LeakFacts;
use measure::{Dimension, UnitOrder, show};

/// Pascal: pound-force over square inch, NIST SP 811, appendix B.
const PSI: f64 = 6_894.757;

/// The card.
pub fn leak(facts: &LeakFacts, about: &About) -> Vec<Drawing> {
    let pressure = |v: f64| {
        let (bar, psi) = (format!("{:.2} bar", v * 1e-5), format!("{:.1} psi", v / PSI));
        match about.order {
            UnitOrder::MetricFirst => format!("{bar} ({psi})"),
            UnitOrder::InchFirst => format!("{psi} ({bar})"),
        }
    };
    let force = |v: f64| show(v, Dimension::Force, about.order);
    let lead = "Pan, plugs and pickup, on the bench, before paint. Water shows most of it, air the rest.";
    let mut s = Sheet::new(about, "leak", "Leak test", lead);
    s.head("Water");
    for (i, step) in [
        "Plug in, with its washer, tight. Fill with hot water and a drop of washing-up liquid, to the flange.".to_owned(),
        "Stand it on dry newspaper over night.".to_owned(),
    ]
    .iter()
    .enumerate()
    {
        s.step(i + 1, step);
    }
    s.tick("Passed: the paper is dry in the morning.");
    s.head("Air");
    s.number("test at", &pressure(facts.test));
    s.number("never more than", &pressure(facts.limit));
    if let Some(area) = facts.opening {
        s.words(&format!(
            "At {} the air lifts the lid with {}, at {} with {}: all flange bolts in, and nobody over it.",
            pressure(facts.test),
            force(facts.test * area),
            pressure(facts.limit),
            force(facts.limit * area)
        ));
    }
    for (i, step) in [
        "A stiff lid with a gasket on the flange, every bolt in. Regulator and gauge that read low pressure; a relief that opens \
         at the limit."
            .to_owned(),
        "Half-fill with water: less air is squeezed. Raise the pressure slowly.".to_owned(),
        "Soap on every seam, plug and boss, with a lamp. Mark bubbles with a pen.".to_owned(),
        "Let the air out before anything is touched.".to_owned(),
    ]
    .iter()
    .enumerate()
    {
        s.step(i + 1, step);
    }
    s.tick("Passed: no bubble anywhere in ten minutes at the test pressure.");
    s.head("Pickup tube");
    s.step(
        1,
        "Stop the mouth with a rubber bung, the tube under water, the same air at the pump's end.",
    );
    s.tick("Passed: no bubble in five minutes. A pinhole here draws air at every g and looks like slosh.");
    s.caution(
        "Compressed air stores what a burst sets free. Never over the limit, never from the bottle without a regulator, face \
         shield on; a pan that is meant for pressure is tested by licensed people.",
    );
    s.small("Pressures and times: common practice, no source. The engine maker's data and local codes win.");
    s.done()
}
