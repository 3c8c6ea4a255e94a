//! The table of units: every name a design file may use, with its factor to SI.
//!
//! Sources: inch, foot, pound, pound-force, US gallon, litre, bar, minute and their products are exact
//! by definition (NIST SP 811 (2008), appendix B; the US gallon is 231 in³). Degrees Celsius and
//! Fahrenheit: NIST SP 811, B.8. A quart, gallon or fluid ounce is always the US one.

use crate::Dimension;

/// A unit: `si = value × factor + offset`.
pub(crate) struct Unit {
    /// Names in normal form (see `normal`); the first is the one to show in messages.
    pub names: &'static [&'static str],
    pub dimension: Dimension,
    pub factor: f64,
    pub offset: f64,
}

pub(crate) const INCH: f64 = 0.0254;
const FOOT: f64 = 12.0 * INCH;
pub(crate) const POUND: f64 = 0.453_592_37;
const POUND_FORCE: f64 = 4.448_221_615_260_5;
pub(crate) const GALLON: f64 = 231.0 * INCH * INCH * INCH;
pub(crate) const QUART: f64 = GALLON / 4.0;
const MINUTE: f64 = 60.0;
const ZERO_CELSIUS: f64 = 273.15;
/// 0 °F in kelvin: 459.67 × 5/9.
const ZERO_FAHRENHEIT: f64 = 459.67 * 5.0 / 9.0;

const fn unit(dimension: Dimension, names: &'static [&'static str], factor: f64) -> Unit {
    Unit {
        names,
        dimension,
        factor,
        offset: 0.0,
    }
}

use Dimension::*;

pub(crate) const UNITS: &[Unit] = &[
    unit(Length, &["mm"], 1e-3),
    unit(Length, &["cm"], 1e-2),
    unit(Length, &["m"], 1.0),
    unit(Length, &["km"], 1e3),
    unit(Length, &["um"], 1e-6),
    unit(Length, &["in", "\"", "inch", "inches", "″"], INCH),
    unit(Length, &["ft", "'", "foot", "feet", "′"], FOOT),
    unit(Length, &["thou", "mil"], INCH / 1000.0),
    unit(Length, &["mi", "mile", "miles"], 5280.0 * FOOT),
    unit(Area, &["mm2"], 1e-6),
    unit(Area, &["cm2"], 1e-4),
    unit(Area, &["m2"], 1.0),
    unit(Area, &["in2", "sq.in"], INCH * INCH),
    unit(Area, &["ft2", "sq.ft"], FOOT * FOOT),
    unit(
        Volume,
        &["L", "l", "litre", "litres", "liter", "liters", "dm3"],
        1e-3,
    ),
    unit(Volume, &["mL", "ml"], 1e-6),
    unit(Volume, &["cc", "cm3"], 1e-6),
    unit(Volume, &["mm3"], 1e-9),
    unit(Volume, &["m3"], 1.0),
    unit(Volume, &["qt", "US.qt", "quart", "quarts"], QUART),
    unit(Volume, &["pt", "US.pt", "pint", "pints"], GALLON / 8.0),
    unit(Volume, &["gal", "US.gal", "gallon", "gallons"], GALLON),
    unit(Volume, &["fl.oz", "oz.fl", "floz", "US.fl.oz"], GALLON / 128.0),
    unit(Volume, &["in3", "cu.in", "ci"], INCH * INCH * INCH),
    unit(Volume, &["ft3", "cu.ft"], FOOT * FOOT * FOOT),
    unit(Mass, &["kg"], 1.0),
    unit(Mass, &["g"], 1e-3),
    unit(Mass, &["mg"], 1e-6),
    unit(Mass, &["lb", "lbs", "lbm"], POUND),
    unit(Mass, &["oz"], POUND / 16.0),
    unit(Time, &["s", "sec"], 1.0),
    unit(Time, &["ms"], 1e-3),
    unit(Time, &["min"], MINUTE),
    unit(Time, &["h", "hr"], 3600.0),
    unit(
        Angle,
        &["deg", "°", "degree", "degrees"],
        std::f64::consts::PI / 180.0,
    ),
    unit(Angle, &["rad"], 1.0),
    unit(Speed, &["m/s"], 1.0),
    unit(Speed, &["km/h", "kph", "kmh"], 1.0 / 3.6),
    unit(Speed, &["mph", "mi/h"], 5280.0 * FOOT / 3600.0),
    unit(Speed, &["ft/s", "fps"], FOOT),
    unit(Acceleration, &["g", "gn"], crate::STANDARD_GRAVITY),
    unit(Acceleration, &["m/s2", "m/s/s"], 1.0),
    unit(Acceleration, &["ft/s2"], FOOT),
    unit(Pressure, &["bar"], 1e5),
    unit(Pressure, &["mbar"], 1e2),
    unit(Pressure, &["kPa"], 1e3),
    unit(Pressure, &["Pa"], 1.0),
    unit(Pressure, &["MPa"], 1e6),
    unit(Pressure, &["psi", "lbf/in2"], POUND_FORCE / (INCH * INCH)),
    unit(Flow, &["L/min", "lpm"], 1e-3 / MINUTE),
    unit(Flow, &["L/s"], 1e-3),
    unit(Flow, &["L/h"], 1e-3 / 3600.0),
    unit(Flow, &["mL/s", "cc/s", "cm3/s"], 1e-6),
    unit(Flow, &["mL/min", "cc/min", "cm3/min"], 1e-6 / MINUTE),
    unit(Flow, &["m3/s"], 1.0),
    unit(Flow, &["m3/h"], 1.0 / 3600.0),
    unit(Flow, &["gpm", "gal/min", "US.gal/min", "US.gpm"], GALLON / MINUTE),
    unit(Flow, &["qt/min", "US.qt/min"], QUART / MINUTE),
    Unit {
        names: &["C", "°C", "degC", "deg.C", "celsius"],
        dimension: Temperature,
        factor: 1.0,
        offset: ZERO_CELSIUS,
    },
    Unit {
        names: &["F", "°F", "degF", "deg.F", "fahrenheit"],
        dimension: Temperature,
        factor: 5.0 / 9.0,
        offset: ZERO_FAHRENHEIT,
    },
    unit(Temperature, &["K", "kelvin"], 1.0),
    unit(KinematicViscosity, &["mm2/s"], 1e-6),
    unit(KinematicViscosity, &["cSt"], 1e-6),
    unit(KinematicViscosity, &["m2/s"], 1.0),
    unit(KinematicViscosity, &["in2/s"], INCH * INCH),
    unit(Density, &["kg/m3"], 1.0),
    unit(Density, &["kg/L", "g/cm3", "g/cc", "g/mL"], 1e3),
    unit(Density, &["lb/ft3"], POUND / (FOOT * FOOT * FOOT)),
    unit(Density, &["lb/gal", "lb/US.gal"], POUND / GALLON),
    unit(Torque, &["N.m", "Nm"], 1.0),
    unit(
        Torque,
        &["lbf.ft", "ft.lbf", "lb.ft", "ft.lb", "ft.lbs", "lbft", "ftlb"],
        POUND_FORCE * FOOT,
    ),
    unit(
        Torque,
        &["lbf.in", "in.lbf", "lb.in", "in.lb", "in.lbs", "lbin", "inlb"],
        POUND_FORCE * INCH,
    ),
    unit(EngineSpeed, &["rpm", "rev/min", "r/min", "1/min"], 1.0 / MINUTE),
    unit(EngineSpeed, &["rev/s", "rps", "r/s", "1/s"], 1.0),
    unit(Displacement, &["cc/rev", "cm3/rev", "mL/rev"], 1e-6),
    unit(Displacement, &["L/rev"], 1e-3),
    unit(Displacement, &["m3/rev"], 1.0),
    unit(Displacement, &["in3/rev", "ci/rev"], INCH * INCH * INCH),
    unit(Share, &["%", "percent", "per.cent"], 1e-2),
    unit(Frequency, &["Hz", "1/s"], 1.0),
    unit(Frequency, &["kHz"], 1e3),
    unit(Force, &["N"], 1.0),
    unit(Force, &["kN"], 1e3),
    unit(Force, &["lbf"], POUND_FORCE),
    unit(Stress, &["MPa", "N/mm2"], 1e6),
    unit(Stress, &["GPa"], 1e9),
    unit(Stress, &["kPa"], 1e3),
    unit(Stress, &["Pa"], 1.0),
    unit(Stress, &["bar"], 1e5),
    unit(Stress, &["psi", "lbf/in2"], POUND_FORCE / (INCH * INCH)),
    unit(Stress, &["ksi"], 1e3 * POUND_FORCE / (INCH * INCH)),
];

/// Normal form of a unit as written: joints (`-`, `_`, `·`, `*`, blanks) become one dot, raised figures
/// become plain ones, `^` goes. So "in-lb", "in·lb" and "in lb" are one name.
pub(crate) fn normal(text: &str) -> String {
    let mut out = String::new();
    for c in text.trim().chars() {
        match c {
            '^' => {}
            '²' => out.push('2'),
            '³' => out.push('3'),
            'µ' | 'μ' => out.push('u'),
            '-' | '_' | '·' | '⋅' | '*' | '.' | ' ' | '\t' | '\u{a0}' | '\u{202f}' => {
                if !out.ends_with(['.', '/']) {
                    out.push('.');
                }
            }
            '/' => {
                while out.ends_with('.') {
                    out.pop();
                }
                out.push('/');
            }
            c => out.push(c),
        }
    }
    // "sec." and "in." carry a full stop of their own.
    out.trim_end_matches('.').to_owned()
}

/// The unit of `dimension` with that normal name: letter for letter, else without regard to capitals when
/// that leaves one unit only.
pub(crate) fn find(name: &str, dimension: Dimension) -> Option<&'static Unit> {
    let of_dimension = || UNITS.iter().filter(|u| u.dimension == dimension);
    if let Some(unit) = of_dimension().find(|u| u.names.contains(&name)) {
        return Some(unit);
    }
    let lower = name.to_lowercase();
    let mut loose = of_dimension().filter(|u| u.names.iter().any(|n| n.to_lowercase() == lower));
    match (loose.next(), loose.next()) {
        (Some(unit), None) => Some(unit),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_in_normal_form_and_belongs_to_one_unit_of_its_dimension() {
        for unit in UNITS {
            for name in unit.names {
                assert_eq!(&normal(name), name, "not in normal form");
                let same = UNITS
                    .iter()
                    .filter(|u| u.dimension == unit.dimension && u.names.contains(name))
                    .count();
                assert_eq!(same, 1, "{name} stands {same} times");
            }
        }
    }

    #[test]
    fn every_dimension_has_a_unit() {
        for dimension in Dimension::ALL {
            assert!(UNITS.iter().any(|u| u.dimension == dimension), "{dimension}");
        }
    }
}
