//! What can be changed on the page: numbers that the design really has, in the words of a shop.

mod range;

use super::House;
use super::refusals::faults;
use super::shelf::Bench;
use job::{Design, DrivePlan, Values, Written};
use measure::UnitOrder;
use pan::PlateShape;
use range::Range;
use serve::wire::{Control, Group};
use serve::workshop::Answer;

/// A control that may be: its key is looked up in the design.
struct Wanted {
    key: String,
    label: String,
    group: Group,
    range: Range,
    /// What the design takes when it leaves the key out: number and unit; none when it then has no such control.
    usual: Option<(f64, &'static str)>,
}

/// All controls of a bench, in the order of the page.
pub fn controls(house: &House, bench: &Bench) -> Answer<Vec<Control>> {
    let values = (bench.reading.of.values(&bench.changes)).map_err(|f| faults(house.shelf.folder(), f))?;
    let all = wanted(&bench.prepared.design);
    Ok(all.into_iter().filter_map(|one| control(one, &values)).collect())
}

fn control(wanted: Wanted, values: &Values) -> Option<Control> {
    let (now, saved) = match values.of(&wanted.key) {
        Some(found) => found,
        None => {
            let (number, unit) = wanted.usual?;
            (values.usual(&wanted.key, number, unit)?, None)
        }
    };
    let (low, high, step) = wanted.range.of(&now);
    Some(Control {
        help: help(&wanted.key),
        key: wanted.key,
        label: wanted.label,
        group: wanted.group,
        saved: saved.map(|saved: Written| saved.value),
        value: now.value,
        number: now.number,
        unit: now.unit,
        low,
        high,
        step,
    })
}

/// What a key is and how much it matters.
fn help(key: &str) -> String {
    let mut path = String::new();
    let mut inside = None;
    for letter in key.chars() {
        match (inside, letter) {
            (Some(end), letter) if letter == end => inside = None,
            (Some(_), _) | (None, ' ') => {}
            (None, '"') => inside = Some('"'),
            (None, '[') => inside = Some(']'),
            (None, letter) => path.push(letter),
        }
    }
    match job::meaning(&path) {
        Some((meaning, matters)) => format!(
            "{}. It matters: {matters}.",
            report::pictures::time::capital(meaning)
        ),
        None => String::new(),
    }
}

fn wanted(design: &Design) -> Vec<Wanted> {
    let mut all = Vec::new();
    oil(design, &mut all);
    plates(design, &mut all);
    doors(design, &mut all);
    pickup(design, &mut all);
    drive(design, &mut all);
    limits(design, &mut all);
    all
}

fn plain(key: impl Into<String>, label: impl Into<String>, group: Group, range: Range) -> Wanted {
    Wanted {
        key: key.into(),
        label: label.into(),
        group,
        range,
        usual: None,
    }
}

fn oil(design: &Design, all: &mut Vec<Wanted>) {
    let put = |key: &str, label: &str, range: Range| plain(key, label, Group::Oil, range);
    let room = design.pan.cavity.volume();
    all.push(put("fill.volume", "fill", Range::Shares(0.5, 1.5, room)));
    let degrees = match design.units {
        UnitOrder::MetricFirst => (design.oil.temperature - 273.15, "C"),
        UnitOrder::InchFirst => ((design.oil.temperature - 273.15) * 1.8 + 32.0, "F"),
    };
    all.push(Wanted {
        usual: Some(degrees),
        ..put(
            "oil.temperature",
            "oil temperature",
            Range::Between(253.15, 423.15),
        )
    });
    all.push(Wanted {
        usual: Some((100.0 * design.oil.aeration, "%")),
        ..put("oil.aeration", "air carried by the oil", Range::Between(0.0, 0.3))
    });
    for (row, (speed, _)) in design.circuit.aloft.iter().enumerate() {
        let label = format!("oil aloft at {:.0} rpm", 60.0 * speed);
        let most = 0.5 * design.fill;
        all.push(put(
            &format!("circuit.aloft[{row}][1]"),
            &label,
            Range::Between(0.0, most),
        ));
    }
    let factors = [
        ("circuit.aloft_low", "oil aloft, factor for less", (0.0, 1.0)),
        ("circuit.aloft_high", "oil aloft, factor for more", (1.0, 3.0)),
    ];
    for (key, label, (low, high)) in factors {
        all.push(put(key, label, Range::Between(low, high)));
    }
}

fn plates(design: &Design, all: &mut Vec<Wanted>) {
    let (low, high) = design.pan.cavity.bounds();
    let along = |axis: usize| Range::Between(low[axis], high[axis]);
    for plate in &design.pan.plates {
        let mut put = |key: &str, label: &str, axis: usize| {
            let key = format!("plate \"{}\".{key}", plate.name);
            let label = format!("{}, {label}", plate.name);
            all.push(plain(key, label, Group::Plates, along(axis)));
        };
        match &plate.shape {
            PlateShape::Wall { .. } => {
                put("z[1]", "height of its top", 2);
                put("z[0]", "height of its foot", 2);
                // Only a wall straight across or along has one place.
                put("wall[*][0]", "place, to the front", 0);
                put("wall[*][1]", "place, to the left", 1);
            }
            PlateShape::Shelf { .. } => {
                put("z", "height", 2);
                put("shelf.x[0]", "rear edge", 0);
                put("shelf.x[1]", "front edge", 0);
                put("shelf.y[0]", "right edge", 1);
                put("shelf.y[1]", "left edge", 1);
            }
            PlateShape::Sheet { .. } => {}
        }
        let perforation = format!("plate \"{}\".perforation", plate.name);
        let label = format!("{}, open share", plate.name);
        all.push(plain(perforation, label, Group::Plates, Range::Between(0.0, 0.6)));
    }
}

fn doors(design: &Design, all: &mut Vec<Wanted>) {
    let (low, high) = design.pan.cavity.bounds();
    for door in &design.pan.doors {
        let name = &door.name;
        let mut put = |key: &str, label: &str, range: Range| {
            let key = format!("door \"{name}\".{key}");
            all.push(plain(key, format!("{name}, {label}"), Group::Doors, range));
        };
        let plate = design.pan.plates.get(door.plate).map(|plate| &plate.shape);
        match plate {
            Some(PlateShape::Wall { path, z_low, z_high }) => {
                let length: f64 = path.windows(2).map(|ends| ends[0].distance(ends[1])).sum();
                let along = Range::Between(0.0, length);
                put("low[0]", "begins along the wall", along);
                put("high[0]", "ends along the wall", along);
                put("low[1]", "lower edge", Range::Between(*z_low, *z_high));
                put("high[1]", "upper edge", Range::Between(*z_low, *z_high));
            }
            Some(PlateShape::Shelf { .. }) => {
                let (x, y) = (Range::Between(low.x, high.x), Range::Between(low.y, high.y));
                put("low[0]", "rear edge", x);
                put("high[0]", "front edge", x);
                put("low[1]", "right edge", y);
                put("high[1]", "left edge", y);
            }
            Some(PlateShape::Sheet { .. }) | None => {}
        }
        put("gap", "gap when shut", Range::Between(0.0, 3e-3));
        let widest = std::f64::consts::FRAC_PI_2;
        put("stop", "widest angle", Range::Between(0.1, widest));
    }
}

fn pickup(design: &Design, all: &mut Vec<Wanted>) {
    let (low, high) = design.pan.cavity.bounds();
    let mut put = |key: &str, label: &str, range: Range| all.push(plain(key, label, Group::Pickup, range));
    let along = |axis: usize| Range::Between(low[axis], high[axis]);
    put("pickup.mouth[2]", "mouth, height", Range::Between(low.z, 0.0));
    put("pickup.mouth[0]", "mouth, to the front", along(0));
    put("pickup.mouth[1]", "mouth, to the left", along(1));
    let wide = Range::Shares(0.5, 2.0, f64::INFINITY);
    put("pickup.diameter", "mouth, diameter", wide);
    put("pump.displacement", "pump, delivered in a turn", wide);
    put("pump.relief_flow", "pump, the most that the engine takes", wide);
}

fn drive(design: &Design, all: &mut Vec<Wanted>) {
    let g = measure::STANDARD_GRAVITY;
    let mut put = |key: String, label: String, range: Range| all.push(plain(key, label, Group::Drive, range));
    match design.drives.first() {
        Some(DrivePlan::Course { .. }) => {
            for (key, label, most) in [
                ("lateral", "grip in corners", 2.0),
                ("braking", "grip under braking", 2.0),
                ("driving", "grip under power", 1.5),
            ] {
                put(
                    format!("car.{key}"),
                    label.to_owned(),
                    Range::Between(0.1 * g, most * g),
                );
            }
            let wide = Range::Shares(0.5, 1.5, f64::INFINITY);
            put("car.top_speed".to_owned(), "top speed".to_owned(), wide);
        }
        Some(DrivePlan::Manoeuvre { .. }) => {
            for plan in &design.drives {
                let DrivePlan::Manoeuvre { name, .. } = plan else {
                    continue;
                };
                let push = Range::Between(0.1 * g, 2.0 * g);
                let wide = Range::Shares(0.25, 2.0, f64::INFINITY);
                for (key, label, range) in [
                    ("lateral", "cornering", push),
                    ("braking", "braking", push),
                    ("driving", "driving", push),
                    ("hold", "held for", wide),
                    ("speed", "speed", wide),
                    ("angle", "tilt", Range::Between(0.0, std::f64::consts::FRAC_PI_3)),
                ] {
                    put(
                        format!("drive.manoeuvre \"{name}\".{key}"),
                        format!("{name}, {label}"),
                        range,
                    );
                }
            }
        }
        // What was logged was driven with the grip that there was.
        Some(DrivePlan::Log { .. }) | None => {}
    }
}

fn limits(design: &Design, all: &mut Vec<Wanted>) {
    let limits = &design.limits;
    let length = match design.units {
        UnitOrder::MetricFirst => (1e3 * limits.least_cover, "mm"),
        UnitOrder::InchFirst => (limits.least_cover / 0.0254, "in"),
    };
    all.push(Wanted {
        usual: Some(length),
        ..plain(
            "limits.least_cover",
            "thin below",
            Group::Limits,
            Range::Between(0.0, 30e-3),
        )
    });
    all.push(Wanted {
        usual: Some((limits.longest_gulp, "s")),
        ..plain(
            "limits.longest_gulp",
            "longest gulp of air",
            Group::Limits,
            Range::Between(0.0, 1.0),
        )
    });
}
