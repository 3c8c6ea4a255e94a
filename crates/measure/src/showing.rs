//! Prints a quantity in the shop's units, metric and inch side by side.

use serde::{Deserialize, Serialize};

use crate::units::{GALLON, INCH, POUND, QUART};
use crate::{Dimension, STANDARD_GRAVITY};

/// Which of the two units stands first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum UnitOrder {
    /// "35.0 mm (1.38 in)"
    #[default]
    MetricFirst,
    /// "1.38 in (35.0 mm)"
    InchFirst,
}

/// A unit for showing: `shown = (si − offset) / factor`, with at least `decimals` decimals.
struct Face {
    name: &'static str,
    factor: f64,
    offset: f64,
    decimals: usize,
}

const fn face(name: &'static str, factor: f64, decimals: usize) -> Face {
    Face {
        name,
        factor,
        offset: 0.0,
        decimals,
    }
}

/// `value` [SI] with no more digits than its half-width of uncertainty `band` [SI] leaves meaning.
///
/// "6 mm (0.24 in)" for 6.2 mm known to 2.5 mm. A band that is not above zero, or no number, is taken as
/// unknown: as [`show`].
pub fn show_within(value: f64, band: f64, what: Dimension, order: UnitOrder) -> String {
    if !value.is_finite() || !band.is_finite() || band <= 0.0 {
        return show(value, what, order);
    }
    let (metric, inch) = faces(value.abs(), what);
    let rounded = |face: &Face| {
        let decimals = (-(band / face.factor).log10()).ceil().clamp(0.0, 6.0) as usize;
        written_to(value, face, decimals)
    };
    side_by_side(rounded(&metric), inch.as_ref().map(rounded), order)
}

/// `value` [SI] in the shop's units: three significant figures at least, and never fewer decimals than a
/// machinist reads off (0.1 mm, 0.01 in, 10 mL).
///
/// A number that is not finite is shown as "not a number", never as a quantity.
pub fn show(value: f64, what: Dimension, order: UnitOrder) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let (metric, inch) = faces(value.abs(), what);
    side_by_side(
        written(value, &metric),
        inch.map(|inch| written(value, &inch)),
        order,
    )
}

/// A torque [N·m] in the three units that wrenches have: "9.0 N·m (6.6 lbf·ft, 80 lbf·in)".
pub fn show_torque(value: f64, order: UnitOrder) -> String {
    if !value.is_finite() {
        return "not a number".to_owned();
    }
    let foot = 12.0 * INCH * POUND * STANDARD_GRAVITY;
    let [newton, feet, inches] = [
        face("N·m", 1.0, 1),
        face("lbf·ft", foot, 1),
        face("lbf·in", foot / 12.0, 0),
    ]
    .map(|f| written_to(value, &f, f.decimals));
    match order {
        UnitOrder::MetricFirst => format!("{newton} ({feet}, {inches})"),
        UnitOrder::InchFirst => format!("{feet} ({inches}, {newton})"),
    }
}

fn side_by_side(metric: String, inch: Option<String>, order: UnitOrder) -> String {
    match (inch, order) {
        (None, _) => metric,
        (Some(inch), UnitOrder::MetricFirst) => format!("{metric} ({inch})"),
        (Some(inch), UnitOrder::InchFirst) => format!("{inch} ({metric})"),
    }
}

fn written(value: f64, face: &Face) -> String {
    let shown = (value - face.offset) / face.factor;
    // Less than six decimals can show is rounding dust: nought.
    let shown = if shown.abs() < 0.5e-6 { 0.0 } else { shown };
    let figures_before_point = if shown == 0.0 {
        1
    } else {
        // Beyond all measure in the smaller unit.
        (shown.abs().log10().floor() as i32).saturating_add(1)
    };
    let decimals = face.decimals.max((3 - figures_before_point).clamp(0, 6) as usize);
    let decimals = if shown == 0.0 { face.decimals } else { decimals };
    written_to(value, face, decimals)
}

fn written_to(value: f64, face: &Face, decimals: usize) -> String {
    let shown = (value - face.offset) / face.factor;
    let text = format!("{shown:.decimals$}");
    // "-0.0" is nought.
    let text = match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest,
        _ => &text,
    };
    format!("{text} {}", face.name)
}

fn faces(size: f64, what: Dimension) -> (Face, Option<Face>) {
    let foot = 12.0 * INCH;
    let pound_force = POUND * STANDARD_GRAVITY;
    match what {
        Dimension::Length if size >= 10.0 => (face("m", 1.0, 0), Some(face("ft", foot, 0))),
        Dimension::Length => (face("mm", 1e-3, 1), Some(face("in", INCH, 2))),
        Dimension::Area => (face("cm²", 1e-4, 1), Some(face("in²", INCH * INCH, 2))),
        Dimension::Volume if size < 0.1e-3 && size > 0.0 => {
            (face("mL", 1e-6, 0), Some(face("fl oz", GALLON / 128.0, 2)))
        }
        Dimension::Volume => (face("L", 1e-3, 2), Some(face("qt", QUART, 2))),
        Dimension::Mass if size < 1.0 => (face("g", 1e-3, 0), Some(face("oz", POUND / 16.0, 2))),
        Dimension::Mass => (face("kg", 1.0, 2), Some(face("lb", POUND, 1))),
        Dimension::Time => (face("s", 1.0, 1), None),
        Dimension::Angle => (face("deg", std::f64::consts::PI / 180.0, 0), None),
        Dimension::Speed => (
            face("km/h", 1.0 / 3.6, 0),
            Some(face("mph", 5280.0 * foot / 3600.0, 0)),
        ),
        Dimension::Acceleration => (face("g", STANDARD_GRAVITY, 2), Some(face("m/s²", 1.0, 1))),
        Dimension::Pressure if size < 2e5 => (
            face("kPa", 1e3, 1),
            Some(face("psi", pound_force / (INCH * INCH), 1)),
        ),
        Dimension::Pressure => (
            face("bar", 1e5, 2),
            Some(face("psi", pound_force / (INCH * INCH), 1)),
        ),
        Dimension::Flow => (
            face("L/min", 1e-3 / 60.0, 1),
            Some(face("gal/min", GALLON / 60.0, 2)),
        ),
        Dimension::Temperature => (
            Face {
                name: "°C",
                factor: 1.0,
                offset: 273.15,
                decimals: 0,
            },
            Some(Face {
                name: "°F",
                factor: 5.0 / 9.0,
                offset: 459.67 * 5.0 / 9.0,
                decimals: 0,
            }),
        ),
        Dimension::KinematicViscosity => (face("mm²/s", 1e-6, 1), None),
        Dimension::Density => (
            face("kg/m³", 1.0, 0),
            Some(face("lb/ft³", POUND / foot.powi(3), 1)),
        ),
        Dimension::Torque => (face("N·m", 1.0, 1), Some(face("lbf·ft", pound_force * foot, 1))),
        Dimension::EngineSpeed => (face("rpm", 1.0 / 60.0, 0), None),
        Dimension::Displacement => (face("cc/rev", 1e-6, 1), Some(face("in³/rev", INCH.powi(3), 2))),
        Dimension::Share => (face("%", 1e-2, 0), None),
        Dimension::Frequency => (face("Hz", 1.0, 1), None),
        Dimension::Force => (face("kN", 1e3, 2), Some(face("lbf", pound_force, 0))),
        Dimension::Stress => (
            face("MPa", 1e6, 1),
            Some(face("psi", pound_force / (INCH * INCH), 0)),
        ),
    }
}
