//! First laps, and what is looked at after them.

use super::About;
use super::sheet::Sheet;
use crate::drawing::Drawing;
use crate::findings::FitFacts;
use measure::{Dimension, show};

/// The card.
pub fn first_laps(facts: &FitFacts, about: &About) -> Vec<Drawing> {
    let lead =
        "The pan is not proved until the car has proved it. Go up in steps, and read the pressure each time.";
    let mut s = Sheet::new(about, "first-laps", "First laps", lead);
    s.head("On the course");
    for (i, step) in [
        "Pressure alarm on and seen to work. Pressure, speed and g logged.",
        "Two easy laps. In, look underneath: any drop, stop here.",
        "Five laps at eight tenths. In, dipstick, look underneath.",
        "Full laps, no more than five. Look at the pressure in the long corners and under braking before more.",
    ]
    .iter()
    .enumerate()
    {
        s.step(i + 1, step);
    }
    s.caution(
        "Pressure that dips in a corner is a bearing being hurt: lift, come in, do not finish the lap.",
    );
    s.head("In the evening");
    for check in [
        "Filter cut open, pleats spread in the sun: bright flakes are bearing, grey mud is wear, silicone is the seal.",
        "Drained oil through a cloth: pieces of weld, pin, sealant.",
        "Plug wired, seam dry, paint unmarked, nothing has touched the road.",
    ] {
        s.tick(check);
    }
    for door in &facts.doors {
        s.tick(&format!(
            "Door \"{door}\" swings free, shuts by itself, pin in its place (through the plug with a mirror)."
        ));
    }
    s.tick(match facts.retorque {
        Some(true) => "Bolts once more with the last pass, cold.",
        Some(false) => "Bolts looked at, not turned: this seal does not bear it.",
        None => "Bolts once more with the last pass, cold, unless the sealant's maker forbids it.",
    });
    s.head("Write down");
    s.fill_in("Oil put in after the day", "L");
    s.fill_in("Least pressure, where on the lap", "bar");
    s.fill_in("Hottest oil", "°C");
    s.small(&format!(
        "Filled with {}. Give the log to sumpwright drive and check: they say whether the laps were as the pan was judged for.",
        show(facts.fill, Dimension::Volume, about.order)
    ));
    s.done()
}
