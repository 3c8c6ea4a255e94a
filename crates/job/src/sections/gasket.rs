//! `[shop.gasket]`.

use measure::Dimension::Length;
use shop::gasket::{Hole, HoleKind, MATERIALS, Material};

use crate::gasket::{Drawn, Gasket};
use crate::section::{Bounds, Section};

const PRACTICE: &str = "common practice for the sheet, no source";
/// Most holes besides the bolts'.
const MOST_HOLES: usize = 200;

/// `sheet` is what `[seal.joint]` says: word and thickness.
pub(crate) fn gasket(
    section: &Section,
    sheet: Option<(&str, f64)>,
    drawn: Option<Option<Drawn>>,
) -> Option<Gasket> {
    let words: Vec<(&'static str, Material)> = MATERIALS.iter().map(|m| (m.name, *m)).collect();
    let usual = (sheet.and_then(|(name, _)| Material::named(name)))
        .map_or(("fibre", "the usual sheet for an oil pan"), |m| {
            (m.name, "as [seal.joint] has it")
        });
    let material = section.choice("material", &words, Some(usual));
    let usual = material.unwrap_or(MATERIALS[0]);
    let (thick, reason) = match sheet {
        Some((_, thickness)) => (thickness, "as [seal.joint] has it"),
        None => (usual.thickness, PRACTICE),
    };
    let small = |most| Bounds::within(0.0, most);
    let thickness = section.quantity_or("thickness", Length, Bounds::above_to(0.0, 20e-3), thick, reason);
    let hole = section.quantity_or("hole_allowance", Length, small(10e-3), usual.hole, PRACTICE);
    let from_file = matches!(drawn, Some(Some(_)));
    let (back, reason) = match from_file {
        true => (0.0, "the outline of a file is cut as it is drawn unless stated"),
        false => (usual.set_back, PRACTICE),
    };
    let set_back = section.quantity_or("bore_allowance", Length, small(20e-3), back, reason);
    let least = section.quantity_or("least_bridge", Length, small(50e-3), usual.least, PRACTICE);
    let mat = match section.has("mat") {
        true => section
            .tuple("mat", [Length; 2])
            .and_then(|mat| sized(section, mat))
            .map(Some),
        false => Some(None),
    };
    let holes = holes(section);
    Some(Gasket {
        material: material?,
        thickness: thickness?,
        hole: hole?,
        set_back: set_back?,
        least: least?,
        mat: mat?,
        drawn: drawn?,
        holes: holes?,
        place: section.place.clone(),
    })
}

fn sized(section: &Section, mat: [f64; 2]) -> Option<[f64; 2]> {
    if mat.iter().all(|m| (0.05..=20.0).contains(m)) {
        return Some(mat);
    }
    let what = format!(
        "a mat of {} by {}",
        section.show(mat[0], Length),
        section.show(mat[1], Length)
    );
    let mend = "state width and length of what the cutter takes, such as [\"300 mm\", \"300 mm\"]".to_owned();
    section.fault("out-of-range", "mat", what, mend);
    None
}

fn holes(section: &Section) -> Option<Vec<Hole>> {
    let kinds = [
        ("oil", HoleKind::Oil),
        ("dowel", HoleKind::Dowel),
        ("bolt", HoleKind::Bolt),
    ];
    let mut holes = Vec::new();
    let mut sound = true;
    for (i, one) in section.several("holes").into_iter().enumerate() {
        let name = one.optional_text("name").unwrap_or_else(|| format!("X{}", i + 1));
        let reason = "an oil passage unless stated";
        let kind = one.choice("kind", &kinds, Some(("oil", reason)));
        let at = one.point2("at");
        let diameter = one.quantity("diameter", Length, Bounds::above_to(0.0, 0.5));
        one.finish();
        match (kind, at, diameter) {
            (Some(kind), Some(at), Some(diameter)) => holes.push(Hole {
                name,
                kind,
                at,
                diameter,
            }),
            _ => sound = false,
        }
    }
    if holes.len() > MOST_HOLES {
        let what = format!("{} holes are stated", holes.len());
        section.fault(
            "out-of-range",
            "holes",
            what,
            format!("at most {MOST_HOLES} are read here"),
        );
        sound = false;
    }
    sound.then_some(holes)
}
