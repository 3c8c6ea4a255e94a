//! Design, oil, pan and drive as facts.

use super::Computation;
use crate::cases::Cases;
use crate::failure::Failure;
use crate::place;
use crate::preparation::Prepared;
use pan::LevelFault;
use pickup::allowance::Allowance;
use report::findings::{
    DesignFacts, DoorFacts, DriveFacts, DriveTrace, HeightRow, Input, LapFacts, OilFacts, Origin, PanFacts,
    SpaceFacts,
};

/// Rows of the litres-against-height table.
const HEIGHT_ROWS: usize = 40;

/// The design as read.
pub fn design(c: &Computation) -> DesignFacts {
    let design = &c.cases.prepared.design;
    let inputs = design
        .inputs
        .iter()
        .map(|input| Input {
            key: input.key.clone(),
            text: input.text.clone(),
            shown: input.shown.clone(),
            origin: match &input.origin {
                job::Origin::Written(place) => Origin::Stated {
                    file: place.file.display().to_string(),
                    line: place.line,
                },
                job::Origin::Default(reason) => Origin::Default {
                    reason: (*reason).to_string(),
                },
                job::Origin::Derived(reason) => Origin::Derived {
                    reason: (*reason).to_string(),
                },
            },
        })
        .collect();
    DesignFacts {
        name: design.name.clone(),
        file: c.file.clone(),
        bases: design
            .files
            .iter()
            .skip(1)
            .take(design.bases)
            .map(|f| f.path.display().to_string())
            .collect(),
        notes: design.notes.clone(),
        inputs,
    }
}

/// The oil at temperature.
pub fn oil(prepared: &Prepared) -> OilFacts {
    let oil = &prepared.design.oil;
    OilFacts {
        said: format!("{}; {}", oil.spec.name, oil.spec.basis),
        temperature: oil.temperature,
        density: prepared.fluid.density,
        viscosity: prepared.fluid.viscosity,
        aeration: oil.aeration,
    }
}

/// Height over the flange face at the mouth of a level along the installed up-direction [m].
pub fn height_at_mouth(prepared: &Prepared, offset: f64) -> f64 {
    let (up, mouth) = (prepared.up, prepared.design.pan.mouth.at);
    (offset - up.x * mouth.x - up.y * mouth.y) / up.z
}

/// The pan as built and filled.
pub fn pan(c: &Computation) -> Result<PanFacts, Failure> {
    let Cases {
        prepared,
        gridded,
        words,
        ..
    } = c.cases;
    let (design, lattice) = (&prepared.design, &gridded.lattice);
    let (pan, up) = (&design.pan, prepared.up);
    let level_off = pan.height_at_volume(up, design.fill).map_err(no_level)?;
    let speed = c
        .verdict
        .moments
        .first()
        .map(|worst| c.cases.driven.car.at(worst.worst_at).engine_speed);
    let running = speed.and_then(|s| c.cases.circuit(Allowance::Mid).pan_at(s, design.fill).ok());
    let level_running = running
        .map(|v| pan.height_at_volume(up, v))
        .transpose()
        .map_err(no_level)?;
    let heights = pan.height_table(up, HEIGHT_ROWS).map_err(no_level)?;
    let space_name = |space: Option<usize>| space.map_or(String::new(), |s| words.spaces[s].name.clone());
    Ok(PanFacts {
        capacity: pan.capacity(),
        fill: design.fill,
        level_off: height_at_mouth(prepared, level_off),
        level_running: level_running.map(|l| height_at_mouth(prepared, l)),
        floor: pan.cavity.bounds().0.z,
        mouth_to_floor: pan.mouth_over_floor().ok_or_else(|| {
            Failure::input(
                "the mouth lies outside the cavity",
                "pickup.mouth",
                "move it inside",
            )
        })?,
        mouth: pan.mouth.at.to_array(),
        mouth_diameter: pan.mouth.diameter,
        mouth_cover_off: (level_off - up.dot(pan.mouth.at)).max(0.0),
        crank_gap: pan.crank_gap(up, level_off),
        cell: lattice.cell,
        cell_why: gridded.why.clone(),
        cells: lattice.open_volume.iter().filter(|v| **v > 0.0).count(),
        heights: heights
            .iter()
            .map(|row| HeightRow {
                height: height_at_mouth(prepared, row.height),
                volume: row.volume,
            })
            .collect(),
        spaces: lattice
            .spaces
            .iter()
            .map(|s| SpaceFacts {
                name: s.name.clone(),
                volume: s.volume,
                centre: s.centre.to_array(),
                has_mouth: s.has_mouth,
            })
            .collect(),
        plates: pan.plates.iter().map(|p| p.name.clone()).collect(),
        doors: pan
            .doors
            .iter()
            .zip(&words.doors)
            .map(|(door, words)| DoorFacts {
                name: door.name.clone(),
                plate: pan.plates[door.plate].name.clone(),
                from: space_name(words.from),
                into: space_name(words.into),
                area: door.area(),
                stop: door.stop,
            })
            .collect(),
        warnings: prepared.warnings.clone(),
    })
}

/// The drive as read.
pub fn drive(c: &Computation) -> Result<DriveFacts, Failure> {
    let Cases { prepared, driven, .. } = c.cases;
    let (car, pan_drive) = (&driven.car, &driven.pan);
    let keep = DriveTrace::thinned(car.time.len(), DriveTrace::MOST);
    let pick = |series: &[f64]| keep.iter().map(|i| series[*i]).collect::<Vec<f64>>();
    let acceleration = |axis: usize| {
        let rest = if axis == 2 { measure::STANDARD_GRAVITY } else { 0.0 };
        keep.iter()
            .map(|i| -car.gravity[*i][axis] - rest)
            .collect::<Vec<f64>>()
    };
    let circuit = c.cases.circuit(Allowance::Mid);
    let cover_at_rest: Result<Vec<f64>, Failure> = keep
        .iter()
        .map(|i| {
            let volume = circuit
                .pan_at(pan_drive.engine_speed[*i], prepared.design.fill)
                .map_err(|fault| Failure::computing(fault.to_string(), "add oil"))?;
            let up = still::up_from(pan_drive.gravity[*i]).map_err(rest_fault)?;
            still::cover(&prepared.design.pan, up, volume).map_err(rest_fault)
        })
        .collect();
    Ok(DriveFacts {
        name: car.name.clone(),
        file: driven.file.clone(),
        said: car.said.clone(),
        laps: car
            .laps
            .iter()
            .map(|lap| LapFacts {
                name: lap.name.clone(),
                start: lap.start,
                end: lap.end,
            })
            .collect(),
        trace: DriveTrace {
            time: pick(&car.time),
            distance: if place::knows_distance(car) {
                pick(&car.distance)
            } else {
                vec![0.0; keep.len()]
            },
            speed: pick(&car.speed),
            engine_speed: pick(&car.engine_speed),
            ax: acceleration(0),
            ay: acceleration(1),
            az: acceleration(2),
            cover_at_rest: Some(cover_at_rest?),
            place: car
                .place
                .as_ref()
                .map(|place| keep.iter().map(|i| place[*i].to_array()).collect()),
        },
    })
}

/// Oil at rest has no level.
pub fn no_level(fault: LevelFault) -> Failure {
    Failure::computing(
        format!("oil at rest has no level: {fault}"),
        "state a fill that the cavity holds",
    )
}

/// Oil at rest cannot be computed.
pub fn rest_fault(fault: still::StillFault) -> Failure {
    Failure::computing(
        format!("oil at rest cannot be computed: {fault}"),
        "check the fill and the mouth",
    )
}
