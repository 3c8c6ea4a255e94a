//! Units as loggers write them, with their factors to SI.

use measure::STANDARD_GRAVITY;
use std::f64::consts::{PI, TAU};

/// Pound-force a square inch [Pa]: 4.4482216152605 N over (25.4 mm)², both exact by definition.
pub(super) const PSI: f64 = 4.448_221_615_260_5 / (0.0254 * 0.0254);
/// Zero of the Celsius scale [K], exact by definition.
pub const ZERO_CELSIUS: f64 = 273.15;

/// What a unit is a unit of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// To m/s².
    Acceleration,
    /// To rad/s.
    Rate,
    /// To m/s.
    Speed,
    /// To rev/s.
    EngineSpeed,
    /// To m.
    Length,
    /// To s.
    Time,
    /// To rad.
    Angle,
    /// To Pa.
    Pressure,
    /// To K.
    Temperature,
    /// A count, such as a lap number.
    Count,
}

impl Kind {
    /// Units that are taken, for messages.
    pub fn taken(self) -> &'static str {
        match self {
            Kind::Acceleration => "g, m/s2, ft/s2",
            Kind::Rate => "deg/s, rad/s",
            Kind::Speed => "m/s, km/h, mph, kn",
            Kind::EngineSpeed => "rpm, rev/s, rad/s",
            Kind::Length => "m, km, ft, mi",
            Kind::Time => "s, ms, us, min",
            Kind::Angle => "deg, rad",
            Kind::Pressure => "bar, psi, kPa, MPa, Pa",
            Kind::Temperature => "C, F, K",
            Kind::Count => "no unit",
        }
    }

    pub(super) const ALL: [Kind; 9] = [
        Kind::Acceleration,
        Kind::Rate,
        Kind::Speed,
        Kind::EngineSpeed,
        Kind::Length,
        Kind::Time,
        Kind::Angle,
        Kind::Pressure,
        Kind::Temperature,
    ];
}

/// One spelling for the many: lower case, no blanks, `per` and `/` alike.
fn plain(unit: &str) -> String {
    let u = unit
        .trim()
        .to_lowercase()
        .replace('²', "2")
        .replace(['°', 'º'], "deg");
    let u: String = u
        .chars()
        .filter(|c| !matches!(c, ' ' | '^' | '*' | '.' | '·'))
        .collect();
    u.replace("_per_", "/").replace("per", "/").replace('_', "")
}

/// Factor from a unit to SI, or `None` when the unit is not one of that kind.
pub fn factor(unit: &str, kind: Kind) -> Option<f64> {
    let u = plain(unit);
    let u = u.as_str();
    let f = match kind {
        Kind::Acceleration => match u {
            "g" | "g0" | "gn" | "gs" | "gee" => STANDARD_GRAVITY,
            "mg" => 1e-3 * STANDARD_GRAVITY,
            "m/s2" | "ms2" | "ms-2" | "m/s/s" | "mps2" | "m/sec2" => 1.0,
            "ft/s2" | "fps2" | "ft/s/s" | "ft/sec2" => 0.3048,
            _ => return None,
        },
        Kind::Rate => match u {
            "deg/s" | "dps" | "degs" | "deg/sec" | "degree/s" | "degrees/s" | "degs-1" => PI / 180.0,
            "rad/s" | "rads" | "rad/sec" | "rps" | "rads-1" => 1.0,
            _ => return None,
        },
        Kind::Speed => match u {
            "m/s" | "mps" | "ms" | "m/sec" | "ms-1" => 1.0,
            "km/h" | "kph" | "kmh" | "km/hr" | "kmph" | "kmh-1" => 1.0 / 3.6,
            "mph" | "mi/h" | "miles/h" => 0.44704,
            "kn" | "kt" | "kts" | "knots" | "knot" => 1852.0 / 3600.0,
            "ft/s" | "fps" => 0.3048,
            _ => return None,
        },
        Kind::EngineSpeed => match u {
            "rpm" | "1/min" | "rev/min" | "r/min" | "u/min" | "min-1" | "/min" => 1.0 / 60.0,
            "rev/s" | "hz" | "1/s" | "r/s" | "rps" => 1.0,
            "rad/s" => 1.0 / TAU,
            "krpm" | "rpmx1000" | "x1000rpm" => 1000.0 / 60.0,
            _ => return None,
        },
        Kind::Length => match u {
            "m" | "metre" | "metres" | "meter" | "meters" => 1.0,
            "km" => 1000.0,
            "cm" => 0.01,
            "mm" => 0.001,
            "ft" | "feet" => 0.3048,
            "mi" | "mile" | "miles" => 1609.344,
            _ => return None,
        },
        Kind::Time => match u {
            "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
            "ms" | "msec" | "millis" | "milliseconds" => 1e-3,
            "us" | "µs" | "μs" | "usec" | "micros" => 1e-6,
            "min" | "minutes" => 60.0,
            "hh:mm:ss" | "h:m:s" | "mm:ss" => 1.0,
            _ => return None,
        },
        Kind::Angle => match u {
            "deg" | "degree" | "degrees" => PI / 180.0,
            "rad" => 1.0,
            "degx1e7" | "deg1e7" | "1e-7deg" | "dege7" => 1e-7 * PI / 180.0,
            _ => return None,
        },
        Kind::Pressure => match u {
            "bar" | "barg" | "bara" | "bar(g)" | "bar(a)" => 1e5,
            "mbar" | "hpa" => 100.0,
            "psi" | "psig" | "psia" | "lbf/in2" | "lb/in2" => PSI,
            "kpa" | "kpag" | "kpaa" => 1e3,
            "mpa" => 1e6,
            "pa" => 1.0,
            "kg/cm2" | "kgf/cm2" => 98_066.5,
            _ => return None,
        },
        Kind::Temperature => match u {
            "c" | "degc" | "celsius" | "k" | "degk" | "kelvin" => 1.0,
            "f" | "degf" | "fahrenheit" => 5.0 / 9.0,
            _ => return None,
        },
        Kind::Count => match u {
            "" | "#" | "no" | "1" | "count" => 1.0,
            _ => return None,
        },
    };
    Some(f)
}

/// What is added after [`factor`]: the zero of the unit in SI; 0 but for temperatures.
pub fn offset(unit: &str, kind: Kind) -> f64 {
    if kind != Kind::Temperature {
        return 0.0;
    }
    match plain(unit).as_str() {
        "c" | "degc" | "celsius" => ZERO_CELSIUS,
        "f" | "degf" | "fahrenheit" => ZERO_CELSIUS - 32.0 * 5.0 / 9.0,
        _ => 0.0,
    }
}

/// Whether text is a unit, of the drive or of the other things loggers record.
pub fn is_unit(text: &str) -> bool {
    let u = plain(text);
    Kind::ALL.iter().any(|&k| factor(text, k).is_some())
        || matches!(
            u.as_str(),
            "%" | "v"
                | "mv"
                | "volt"
                | "a"
                | "nm"
                | "lambda"
                | "#"
                | "-"
                | "mm"
                | "kg"
                | "l"
                | "l/h"
                | "kw"
                | "hp"
                | "n"
                | "no"
        )
}

/// Whether two spellings mean the same unit.
pub fn alike(a: &str, b: &str) -> bool {
    let of = |text: &str, kind| factor(text, kind).map(|f| (f, offset(text, kind)));
    Kind::ALL
        .iter()
        .any(|&k| of(a, k).is_some() && of(a, k) == of(b, k))
}

/// How a unit is shown, one spelling for each of the usual ones.
pub fn shown(unit: &str) -> String {
    match plain(unit).as_str() {
        "kph" | "kmh" | "kmph" => "km/h".into(),
        "dps" => "deg/s".into(),
        "ms2" | "mps2" | "m/s/s" => "m/s2".into(),
        "c" | "degc" | "celsius" => "C".into(),
        "f" | "degf" | "fahrenheit" => "F".into(),
        "k" | "kelvin" | "degk" => "K".into(),
        "kpa" => "kPa".into(),
        "mpa" => "MPa".into(),
        "pa" => "Pa".into(),
        other => other.into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 100 psi is 689.4757 kPa and 212 F is 100 C (handbook values, from memory).
    #[test]
    fn pressures_and_temperatures_have_their_factors_and_zeros() {
        let read = |value: f64, unit: &str, kind| value * factor(unit, kind).unwrap() + offset(unit, kind);
        assert!((read(100.0, "psi", Kind::Pressure) - 689_475.7).abs() < 0.1);
        assert_eq!(
            read(4.0, "bar", Kind::Pressure),
            read(400.0, "kPa", Kind::Pressure)
        );
        assert!((read(212.0, "°F", Kind::Temperature) - 373.15).abs() < 1e-9);
        assert_eq!(read(100.0, "°C", Kind::Temperature), 373.15);
        assert_eq!(read(300.0, "K", Kind::Temperature), 300.0);
    }
}
