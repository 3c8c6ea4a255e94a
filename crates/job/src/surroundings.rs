//! What stands round the pan and turns in it, from its sections, with the places that its notes point to.

use std::path::Path;

use clearance::survey::Which;
use clearance::{Stretch, Surroundings};
use glam::DMat3;
use pan::CrankSweep;

use crate::assembly::finished;
use crate::design::ReadFile;
use crate::fault::Place;
use crate::section::Section;
use crate::sections::keep_outs::{self, Context, KeepOut};
use crate::sections::{outside, removal, rods};
use crate::sources::Sources;

/// Surroundings, and where each of them is stated.
#[derive(Clone, Debug)]
pub struct Clearances {
    /// The bodies.
    pub surroundings: Surroundings,
    around: Vec<Place>,
    within: Vec<Place>,
    rods: Place,
}

impl Clearances {
    /// Where a body is stated, and its key.
    pub fn place_of(&self, which: Which) -> (&Place, String) {
        let s = &self.surroundings;
        let keep_out = |name: &str| format!("keep_out \"{name}\"");
        match which {
            Which::Around(i) => (&self.around[i], keep_out(&s.around[i].body.name)),
            Which::Within(i) => (&self.within[i], keep_out(&s.within[i].body.name)),
            Which::Rods | Which::Counterweights => (&self.rods, "rods".to_owned()),
            Which::Crank => (&self.rods, "crank".to_owned()),
        }
    }
}

/// The sections that ask about clearance.
const SECTIONS: [&str; 5] = ["keep_out", "rods", "outside", "engine_movement", "removal"];

/// `None` outside: no section asks, or something in one is wrong (then a fault stands on the desk); the inner option
/// tells the two apart.
pub(crate) fn read(
    top: &Section,
    root: &Path,
    sources: &Sources,
    files: &mut Vec<ReadFile>,
    pan_from_car: Option<DMat3>,
    crank: Option<&CrankSweep>,
    plates: &[String],
) -> Option<Option<Clearances>> {
    if !SECTIONS.iter().any(|key| top.has(key)) {
        return Some(None);
    }
    let context = Context {
        root,
        sources,
        // A wrong installation is told by itself.
        pan_from_car: pan_from_car.unwrap_or(DMat3::IDENTITY),
    };
    let keep_outs = keep_outs::read(top, &context, files);
    let outside = finished(Some(top.below_or_empty("outside")), outside::outside);
    let from_car = keep_outs
        .iter()
        .flatten()
        .any(|(k, _)| matches!(k, KeepOut::Around(a) if !a.on_engine));
    let movement = if from_car || top.has("engine_movement") {
        finished(Some(top.below_or_empty("engine_movement")), outside::movement)
    } else {
        Some(Stretch::NONE)
    };
    let removal = finished(Some(top.below_or_empty("removal")), |section| {
        removal::read(section, plates)
    });
    let rods_place = top.place_of(if top.has("rods") { "rods" } else { "crank" });
    let (rods, rods_wanted) = match top.below("rods") {
        None => (None, rods::USUAL_GAP),
        Some(section) => {
            let read = rods::read(&section, crank);
            section.finish();
            let (rods, gap) = read?;
            (Some(rods), gap)
        }
    };
    let (mut around, mut within) = (Vec::new(), Vec::new());
    let (mut around_places, mut within_places) = (Vec::new(), Vec::new());
    for (one, place) in keep_outs? {
        match one {
            KeepOut::Around(a) => {
                around.push(a);
                around_places.push(place);
            }
            KeepOut::Within(w) => {
                within.push(w);
                within_places.push(place);
            }
        }
    }
    Some(Some(Clearances {
        surroundings: Surroundings {
            outside: outside?,
            movement: movement?,
            around,
            within,
            rods,
            rods_wanted,
            removal: removal?,
        },
        around: around_places,
        within: within_places,
        rods: rods_place,
    }))
}
