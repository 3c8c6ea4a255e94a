//! Numbers for people: the hero and its unit apart, the other unit beside it, no false digits.

use crate::findings::Measured;
use measure::{Dimension, UnitOrder, show, show_within};

/// A quantity taken apart for setting it large.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// The number in the first unit, with "± band" when there is one.
    pub value: String,
    /// The first unit.
    pub unit: String,
    /// The same in the other unit, number and unit; empty when there is none.
    pub other: String,
}

impl Shown {
    /// On one line: "6 ± 2 mm (0.24 ± 0.08 in)".
    pub fn line(&self) -> String {
        if self.other.is_empty() {
            format!("{} {}", self.value, self.unit)
        } else {
            format!("{} {} ({})", self.value, self.unit, self.other)
        }
    }
}

/// A quantity taken apart.
pub fn shown(value: f64, what: Dimension, order: UnitOrder) -> Shown {
    apart(&line(value, what, order))
}

fn apart(text: &str) -> Shown {
    let (first, other) = match text.split_once(" (") {
        Some((first, other)) => (first, other.trim_end_matches(')')),
        None => (text, ""),
    };
    let (number, unit) = first.rsplit_once(' ').unwrap_or((first, ""));
    Shown {
        value: number.to_owned(),
        unit: unit.to_owned(),
        other: other.to_owned(),
    }
}

/// A quantity with its uncertainty, both printed to the place that the band leaves.
pub fn measured(number: Measured, what: Dimension, order: UnitOrder) -> Shown {
    let Some(band) = number.band.filter(|b| *b > 0.0) else {
        return shown(number.value, what, order);
    };
    if number.value == 0.0 {
        return apart(&show_within(0.0, band, what, order));
    }
    let plain = apart(&show_within(number.value, band, what, order));
    let with_band = |text: &str| -> Option<String> {
        let in_unit: f64 = text.parse().ok().filter(|v: &f64| *v != 0.0)?;
        let decimals = text.split_once('.').map_or(0, |(_, d)| d.len());
        Some(format!(
            "{text} ± {:.decimals$}",
            (band * in_unit / number.value).abs()
        ))
    };
    let other = plain.other.rsplit_once(' ');
    let other = other.and_then(|(text, unit)| Some(format!("{} {unit}", with_band(text)?)));
    Shown {
        value: with_band(&plain.value).unwrap_or(plain.value),
        unit: plain.unit,
        other: other.unwrap_or(plain.other),
    }
}

/// A quantity on one line, with a minus sign and not a hyphen.
pub fn line(value: f64, what: Dimension, order: UnitOrder) -> String {
    show(value, what, order).replace('-', "\u{2212}")
}

/// A quantity in the first unit only, without idle digits: for labels in pictures.
pub fn short(value: f64, what: Dimension, order: UnitOrder) -> String {
    let s = shown(value, what, order);
    let number = if s.value.contains('.') {
        s.value.trim_end_matches('0').trim_end_matches('.')
    } else {
        s.value.as_str()
    };
    format!("{number} {}", s.unit)
}

/// The unit of an axis: `shown = value / factor`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisUnit {
    /// SI in one of it.
    pub factor: f64,
    /// Its name.
    pub name: &'static str,
}

const INCH: f64 = 0.0254;
const QUART: f64 = 57.75 * INCH * INCH * INCH;

/// The unit for an axis; an axis carries the first unit only.
pub fn axis_unit(what: Dimension, order: UnitOrder) -> AxisUnit {
    let pick = |metric: (f64, &'static str), inch: (f64, &'static str)| {
        let (factor, name) = match order {
            UnitOrder::MetricFirst => metric,
            UnitOrder::InchFirst => inch,
        };
        AxisUnit { factor, name }
    };
    match what {
        Dimension::Length => pick((1e-3, "mm"), (INCH, "in")),
        Dimension::Volume => pick((1e-3, "L"), (QUART, "qt")),
        Dimension::Speed => pick((1.0 / 3.6, "km/h"), (5280.0 * 12.0 * INCH / 3600.0, "mph")),
        Dimension::Acceleration => AxisUnit {
            factor: measure::STANDARD_GRAVITY,
            name: "g",
        },
        Dimension::EngineSpeed => AxisUnit {
            factor: 1.0 / 60.0,
            name: "rpm",
        },
        Dimension::Angle => AxisUnit {
            factor: std::f64::consts::PI / 180.0,
            name: "°",
        },
        _ => AxisUnit {
            factor: 1.0,
            name: "",
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_taken_apart_into_value_unit_and_other_unit() {
        let s = shown(0.035, Dimension::Length, UnitOrder::MetricFirst);
        assert_eq!(
            (s.value.as_str(), s.unit.as_str(), s.other.as_str()),
            ("35.0", "mm", "1.38 in")
        );
    }

    #[test]
    fn a_label_drops_idle_digits_and_the_second_unit() {
        assert_eq!(short(0.01, Dimension::Length, UnitOrder::MetricFirst), "10 mm");
        assert_eq!(
            short(0.0125, Dimension::Length, UnitOrder::MetricFirst),
            "12.5 mm"
        );
        assert_eq!(short(0.0, Dimension::Length, UnitOrder::MetricFirst), "0 mm");
    }

    #[test]
    fn a_number_is_printed_no_finer_than_its_band() {
        let number = Measured {
            value: 0.00623,
            band: Some(0.0021),
        };
        assert_eq!(
            measured(number, Dimension::Length, UnitOrder::MetricFirst).line(),
            "6 ± 2 mm (0.25 ± 0.08 in)"
        );
    }
}
