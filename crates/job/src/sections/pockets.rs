//! `[[pocket]]`: the cavity as a machinist thinks of it.

use measure::Dimension::{Angle, Length};
use pan::{Pocket, Side};

use super::outline_file::{self, Files};
use super::shapes;
use crate::section::{Bounds, Section};
use crate::tree::Value;

/// A pocket and the section that states it, for faults found later.
pub(crate) fn read<'t>(top: &Section<'t>, files: &Files) -> Vec<(Option<Pocket>, Section<'t>)> {
    top.parts("pocket")
        .into_iter()
        .map(|(name, section)| (pocket(name, &section, files), section))
        .collect()
}

fn pocket(name: String, section: &Section, files: &Files) -> Option<Pocket> {
    let side = section.choice(
        "side",
        &[("pan", Side::Pan), ("block", Side::Block)],
        Some(("pan", "a pocket belongs to the pan unless it says otherwise")),
    );
    let outline = shape(section, files);
    let z = section.rising("z", Length);
    let square = "square walls and corners unless stated";
    let draft = section.quantity_or(
        "draft",
        Angle,
        Bounds::within(-FORTY_FIVE, FORTY_FIVE),
        0.0,
        square,
    );
    let corner_radius = section.quantity_or("corner_radius", Length, Bounds::NOT_NEGATIVE, 0.0, square);
    let floor_radius = section.quantity_or("floor_radius", Length, Bounds::NOT_NEGATIVE, 0.0, square);
    let (z_low, z_high) = z?;
    Some(Pocket {
        name,
        side: side?,
        outline: outline?,
        z_low,
        z_high,
        draft: draft?,
        corner_radius: corner_radius?,
        floor_radius: floor_radius?,
    })
}

/// No pocket wall leans more than this.
const FORTY_FIVE: f64 = std::f64::consts::FRAC_PI_4;

/// The one of `rectangle`, `circle`, `outline` that is stated.
fn shape(section: &Section, files: &Files) -> Option<pan::Outline> {
    const WAYS: [&str; 3] = ["rectangle", "circle", "outline"];
    match section.one_of(
        &WAYS,
        "rectangle = { x = [\"-100 mm\", \"100 mm\"], y = [\"-80 mm\", \"80 mm\"] }",
    )? {
        "rectangle" => shapes::rectangle(section, "rectangle"),
        "circle" => shapes::circle(section, "circle"),
        _ => match section.node("outline").map(|node| &node.value) {
            Some(Value::Table(_)) => outline_file::read(section, "outline", files),
            _ => shapes::outline(section, "outline"),
        },
    }
}
