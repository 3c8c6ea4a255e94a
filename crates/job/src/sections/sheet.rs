//! `[shop.sheet]`: how plates and doors are made of sheet metal, with `[[shop.sheet.plate]]` and `[[shop.sheet.door]]` for
//! those that are made otherwise.

use glam::DVec3;
use measure::Dimension::Length;
use shop::sheet::door::Hanging;
use shop::sheet::{Edge, Fasten, Metal, Rivet};

use super::shapes;
use crate::section::{Bounds, Section, Shape, listed};
use crate::sheet_work::{DoorWork, PlateWork, SheetShop};
use crate::tree::Value;

/// Sheet of a pan shop.
const METAL: (&str, &str) = (
    "5052-H32",
    "bends, welds and takes hot oil: common practice, no source",
);

/// What holds a tab, before the rivet is known.
#[derive(Clone, Copy)]
enum Held {
    Weld,
    Rivet,
    Nothing,
}

const HELD: [(&str, Held); 3] = [
    ("weld", Held::Weld),
    ("rivet", Held::Rivet),
    ("none", Held::Nothing),
];

impl Held {
    fn fasten(self, rivet: Rivet) -> Fasten {
        match self {
            Held::Weld => Fasten::Weld,
            Held::Rivet => Fasten::Rivet(rivet),
            Held::Nothing => Fasten::Plain,
        }
    }
}

/// What holds for all plates unless theirs says otherwise.
struct Usual {
    metal: Metal,
    radius: Option<f64>,
    held: Held,
    rivet: Rivet,
}

pub(crate) fn read(shop: &Section, plates: &[String], doors: &[String]) -> Option<SheetShop> {
    let section = shop.below_or_empty("sheet");
    let practice = "common practice, no source";
    let size =
        |key, usual, most| section.quantity_or(key, Length, Bounds::above_to(0.0, most), usual, practice);
    let metal = section.choice("material", &Metal::ALL, Some(METAL));
    let radius = section.optional_quantity("radius", Length, Bounds::above_to(0.0, 50e-3));
    let gap = section.quantity_or("gap", Length, Bounds::within(0.0, 5e-3), 0.5e-3, practice);
    let die = section.optional_quantity("die", Length, Bounds::above_to(0.0, 0.2));
    let held = section.choice(
        "fasten",
        &HELD,
        Some(("weld", "a rivet through the pan is a leak: common practice")),
    );
    let diameter = size("rivet", 2.4e-3, 10e-3);
    let flush = section.truth_or("flush", false, "heads stand proud unless stated");
    let overlap = size("overlap", 4e-3, 30e-3);
    let leaf = size("leaf", 11e-3, 60e-3);
    let rivet = diameter
        .zip(flush)
        .map(|(diameter, flush)| Rivet { diameter, flush });
    let usual = metal.zip(held).zip(rivet).map(|((metal, held), rivet)| Usual {
        metal,
        radius,
        held,
        rivet,
    });
    let mut works = usual.as_ref().map(|usual| {
        let plate = PlateWork {
            place: section.place_of(""),
            make: true,
            metal: usual.metal,
            radius: usual.radius,
            tabs: Vec::new(),
            tab: 15e-3,
            toward: None,
            fasten: usual.held.fasten(usual.rivet),
        };
        let door = DoorWork {
            place: section.place_of(""),
            make: true,
            metal: usual.metal,
        };
        (vec![plate; plates.len()], vec![door; doors.len()])
    });
    for (name, own) in section.parts("plate") {
        let number = number_of(&own, &name, plates, "plate");
        let work = usual.as_ref().and_then(|usual| plate(&own, usual));
        own.finish();
        if let (Some(number), Some(work), Some((plates, _))) = (number, work, &mut works) {
            plates[number] = work;
        }
    }
    for (name, own) in section.parts("door") {
        let number = number_of(&own, &name, doors, "door");
        let make = made(&own);
        let metal = own_metal(&own, usual.as_ref().map(|u| u.metal));
        let place = own.place_of("name");
        own.finish();
        if let (Some(number), Some(make), Some(metal), Some((_, doors))) = (number, make, metal, &mut works) {
            doors[number] = DoorWork { place, make, metal };
        }
    }
    let place = section.place_of("");
    section.finish();
    let (plates, doors) = works?;
    Some(SheetShop {
        place,
        gap: gap?,
        die,
        hanging: Hanging {
            overlap: overlap?,
            leaf: leaf?,
            rivet: rivet?,
        },
        plates,
        doors,
    })
}

fn plate(own: &Section, usual: &Usual) -> Option<PlateWork> {
    let make = made(own);
    let metal = own_metal(own, Some(usual.metal));
    let radius = own.optional_quantity("radius", Length, Bounds::above_to(0.0, 50e-3));
    let held = match own.has("fasten") {
        true => own.choice("fasten", &HELD, Some(("weld", "as for all plates"))),
        false => {
            own.shaped("fasten", Shape::Words(HELD.map(|(word, _)| word).to_vec()));
            Some(usual.held)
        }
    };
    let tabs = tabs(own);
    let tab = own.quantity_or(
        "tab",
        Length,
        Bounds::above_to(0.0, 0.1),
        15e-3,
        "common practice, no source",
    );
    let toward: Option<Option<DVec3>> = match own.has("toward") {
        true => shapes::direction(own, "toward").map(Some),
        false => Some(None),
    };
    Some(PlateWork {
        place: own.place_of("name"),
        make: make?,
        metal: metal?,
        radius: radius.or(usual.radius),
        tabs: tabs?,
        tab: tab?,
        toward: toward?,
        fasten: held?.fasten(usual.rivet),
    })
}

fn made(own: &Section) -> Option<bool> {
    own.truth_or("make", true, "all are made unless stated")
}

/// The part's own metal, or the usual one without listing it anew.
fn own_metal(own: &Section, usual: Option<Metal>) -> Option<Metal> {
    if own.has("material") {
        return own.choice("material", &Metal::ALL, Some(METAL));
    }
    own.shaped(
        "material",
        Shape::Words(Metal::ALL.map(|(word, _)| word).to_vec()),
    );
    usual
}

/// The edges named in `tabs`.
fn tabs(own: &Section) -> Option<Vec<Edge>> {
    own.shaped("tabs", Shape::Texts);
    let Some(node) = own.node("tabs") else {
        own.default(
            "tabs",
            "none".to_owned(),
            "plates are welded along their edges unless stated",
        );
        return Some(Vec::new());
    };
    let words = Edge::ALL.map(|(word, _)| word);
    let mut edges = Vec::new();
    for entry in own.list("tabs", node)? {
        let edge = match &entry.value {
            Value::Text(word) => Edge::ALL.iter().find(|(w, _)| w == word).map(|(_, e)| *e),
            _ => None,
        };
        let Some(edge) = edge else {
            let what = format!("{} stands where the name of an edge is due", entry.raw);
            own.fault(
                "unknown-word",
                "tabs",
                what,
                format!("known here: {}", listed(&words)),
            );
            return None;
        };
        if !edges.contains(&edge) {
            edges.push(edge);
        }
    }
    let said: Vec<&str> = edges.iter().map(|e| e.word()).collect();
    own.note("tabs", node, said.join(", "));
    Some(edges)
}

fn number_of(own: &Section, name: &str, names: &[String], kind: &str) -> Option<usize> {
    let found = names.iter().position(|n| n == name);
    if found.is_none() {
        let known: Vec<&str> = names.iter().map(String::as_str).collect();
        let mend = match measure::nearest(name, known.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None if known.is_empty() => format!("the design has no {kind}; take this out"),
            None => format!("the design has {}", listed(&known)),
        };
        own.fault(
            "unknown-part",
            "name",
            format!("there is no {kind} named \"{name}\""),
            mend,
        );
    }
    found
}
