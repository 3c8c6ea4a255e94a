//! Faults and cautions that need more than one section to see.

use ::oil::{Circuit, CircuitFault};
use ::pan::{LevelFault, Pan, PanFault, Part, Severity, Trouble};
use glam::DVec3;
use measure::Dimension::{Length, Volume};
use measure::frames::Installation;

use crate::assembly::Parts;
use crate::design::{Allowance, OilUse};
use crate::fault::Fault;
use crate::section::Section;

/// What a pan or a tank finds wrong with itself, each put at the part that it concerns. True when none is a fault.
pub(crate) fn told(top: &Section, parts: &Parts, all: &[PanFault], cautions: &mut Vec<Fault>) -> bool {
    let mut sound = true;
    for found in all {
        let (section, key) = concerned(top, parts, found);
        let fault = Fault {
            id: id(&found.trouble),
            place: section.place_of(key),
            key: section.key(key),
            what: found.to_string(),
            mend: found.mend().to_owned(),
        };
        match found.severity() {
            Severity::Warning => cautions.push(fault),
            Severity::Fault => {
                sound = false;
                top.desk.fault(fault);
            }
        }
    }
    sound
}

/// The section and key that a fault of the pan concerns.
fn concerned<'a, 't>(
    top: &'a Section<'t>,
    parts: &'a Parts<'t>,
    found: &PanFault,
) -> (&'a Section<'t>, &'static str) {
    let section = match found.part {
        Part::Pocket(i) => parts.pockets.get(i).map(|p| &p.1),
        Part::Plate(i) => parts.plates.get(i).map(|p| &p.1),
        Part::Door(i) => parts.doors.get(i).map(|p| &p.1),
        Part::Return(i) => parts.returns.get(i).map(|p| &p.1),
        Part::Mouth => parts.pickup.as_ref(),
        Part::Crank => parts.crank.as_ref(),
        Part::Mesh | Part::Cavity => parts.mesh.as_ref(),
    };
    let Some(section) = section else {
        return (top, "pocket");
    };
    let key = match (found.part, &found.trouble) {
        (Part::Mesh | Part::Cavity, _) => "file",
        (Part::Mouth, Trouble::NotANumber) => "diameter",
        (Part::Mouth, _) => "mouth",
        (Part::Return(_), _) => "at",
        (_, Trouble::WideStop { .. } | Trouble::DoorStrikes { .. }) => "stop",
        (_, Trouble::DoorOffPlate { .. } | Trouble::DoorsOverlap { .. } | Trouble::DoorOutside) => "high",
        _ => "",
    };
    (section, key)
}

/// Stable names of the faults of a pan.
fn id(trouble: &Trouble) -> &'static str {
    match trouble {
        Trouble::CavityInPieces { .. } => "cavity-in-pieces",
        Trouble::NothingBelowFlange => "nothing-below-flange",
        Trouble::ShutAtFlange => "shut-at-flange",
        Trouble::NoBlockSpace => "no-block-space",
        Trouble::MeshTurned => "mesh-turned",
        Trouble::NotANumber => "not-a-number",
        Trouble::MouthOutside => "mouth-outside",
        Trouble::MouthInWall => "mouth-in-wall",
        Trouble::MouthInPlate { .. } => "mouth-in-plate",
        Trouble::MouthClose { .. } => "mouth-close",
        Trouble::MouthFar { .. } => "mouth-far",
        Trouble::Plate(_) => "plate",
        Trouble::PlateOutside => "plate-outside",
        Trouble::OpeningWithoutSize { .. } => "opening-without-size",
        Trouble::OpeningOffPlate { .. } => "opening-off-plate",
        Trouble::DoorWithoutPlate { .. } => "unknown-plate",
        Trouble::DoorFigures { .. } => "door-figures",
        Trouble::DoorOffPlate { .. } => "door-off-plate",
        Trouble::DoorOutside => "door-outside",
        Trouble::DoorOverOpening { .. } => "door-over-opening",
        Trouble::DoorsOverlap { .. } => "doors-overlap",
        Trouble::WideStop { .. } => "wide-stop",
        Trouble::DoorStrikes { .. } => "door-strikes",
        Trouble::ReturnOutside => "return-outside",
        Trouble::DrainBlocked => "drain-blocked",
        Trouble::Unreachable { .. } => "unreachable",
        Trouble::CrankStrikesPan { .. } => "crank-strikes-pan",
        Trouble::CrankStrikesPlate { .. } => "crank-strikes-plate",
        Trouble::CrankClose { .. } => "crank-close",
        Trouble::Lattice(_) => "lattice",
    }
}

/// Oil at rest with the engine off: does it fit, does it reach the mouth, does it reach the crank?
pub(crate) fn at_rest(
    parts: &Parts,
    pan: &Pan,
    installation: &Installation,
    fill: f64,
    cautions: &mut Vec<Fault>,
) {
    let Some(section) = &parts.fill else { return };
    let up = installation.pan_from_car() * DVec3::Z;
    let level = match pan.cavity.level(up, fill) {
        Ok(level) => level,
        Err(LevelFault::Overfull { volume, capacity }) => {
            let what = format!(
                "the fill of {} is more than the {} that pan and block hold",
                section.show(volume, Volume),
                section.show(capacity, Volume)
            );
            let mend = "put in less oil, or check the pockets".to_owned();
            section.fault("overfull", "volume", what, mend);
            return;
        }
        Err(fault) => {
            section.fault("level", "volume", fault.to_string(), "check the fill".to_owned());
            return;
        }
    };
    mouth_in_oil(parts, pan, up, level);
    if let Some(gap) = pan.crank_gap(up, level)
        && gap < 0.0
    {
        let what = format!(
            "at rest the oil stands {} into the crank sweep",
            section.show(-gap, Length)
        );
        let mend = "put in less oil or lower the pan, unless the running level counts for you".to_owned();
        cautions.push(Fault {
            id: "crank-in-oil",
            place: section.place_of("volume"),
            key: section.key("volume"),
            what,
            mend,
        });
    }
}

fn mouth_in_oil(parts: &Parts, pan: &Pan, up: DVec3, level: f64) {
    let (Some(section), at) = (&parts.pickup, pan.mouth.at) else {
        return;
    };
    let above = up.dot(at) - level;
    if above < 0.0 {
        return;
    }
    let millimetres = |metres: f64| format!("{:.0} mm", metres * 1e3);
    let mend = if up.z > 0.1 {
        let z = (level - up.x * at.x - up.y * at.y) / up.z;
        format!("lower the mouth below z = {}, or add oil", millimetres(z))
    } else {
        "check the inclination, or add oil".to_owned()
    };
    let what = format!(
        "the pickup mouth stands {} above the oil at rest",
        millimetres(above)
    );
    section.fault("mouth-in-air", "mouth", what, mend);
}

/// Is there oil left in the pan at every engine speed and allowance?
pub(crate) fn circuit(
    top: &Section,
    parts: &Parts,
    circuit: &Circuit,
    allowance: &Allowance,
    fill: f64,
    cautions: &mut Vec<Fault>,
) {
    let Some(section) = &parts.fill else { return };
    let empty = |factor: f64| {
        let circuit = circuit.with_aloft_factor(factor);
        circuit
            .aloft
            .iter()
            .rev()
            .find_map(|row| circuit.pan_at(row.0, fill).err())
    };
    let place = top.place_of("circuit");
    if let Some(fault) = empty(1.0) {
        nothing_left(section, "volume", &fault);
    } else if let Some(fault) = empty(allowance.high) {
        let (what, _) = crate::plan::parted(&fault.to_string(), "");
        let mend = "lower circuit.aloft_high, or add oil".to_owned();
        section.fault(
            "nothing-left",
            "volume",
            format!("{what} (at the high allowance)"),
            mend,
        );
    }
    for said in circuit.cautions() {
        let (what, mend) = said
            .trim_end_matches('.')
            .split_once(". ")
            .unwrap_or((&said, "check the delays"));
        let (what, mend) = (what.to_owned(), mend.to_owned());
        cautions.push(Fault {
            id: "circuit",
            place: place.clone(),
            key: "circuit.aloft".to_owned(),
            what,
            mend,
        });
    }
}

fn nothing_left(section: &Section, key: &str, fault: &CircuitFault) {
    let (what, mend) = crate::plan::parted(&fault.to_string(), "add oil");
    section.fault("nothing-left", key, what, mend);
}

/// Oil outside the range that its formulae were made for.
pub(crate) fn oil(top: &Section, oil: &OilUse, cautions: &mut Vec<Fault>) {
    for what in oil.spec.cautions(oil.temperature, oil.aeration) {
        let mend = "check oil.temperature and oil.aeration".to_owned();
        cautions.push(Fault {
            id: "oil",
            place: top.place_of("oil"),
            key: "oil".to_owned(),
            what,
            mend,
        });
    }
}
