//! Numbers for people: the hero and its unit apart, the other unit beside it, no false digits.

use crate::findings::Measured;
use measure::{Dimension, UnitOrder, show, show_within};
use pickup::{Estimate, GridStudy};

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
    let (number, unit) = first.split_once(' ').unwrap_or((first, ""));
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
    let other = plain.other.split_once(' ');
    let other = other.and_then(|(text, unit)| Some(format!("{} {unit}", with_band(text)?)));
    Shown {
        value: with_band(&plain.value).unwrap_or(plain.value),
        unit: plain.unit,
        other: other.unwrap_or(plain.other),
    }
}

/// Air drawn, to the digits that the computation leaves: with its band where a grid study gave one; else no finer than
/// the oil of one cell, which stands over the mouth or does not, and two per cent (two runs that differ in the last
/// digit agree to a few per cent once waves break).
pub fn air(value: f64, band: Option<f64>, cell: f64, order: UnitOrder) -> Shown {
    const RUNS_AGREE: f64 = 0.02;
    let grain = cell.powi(3);
    let volume = Dimension::Volume;
    if value <= 0.0 && band.is_none_or(|b| b <= 0.0) {
        return Shown {
            value: "0".into(),
            unit: "mL".into(),
            other: String::new(),
        };
    }
    if let Some(band) = band.filter(|b| *b > 0.0) {
        let band = Some(band.max(grain));
        return measured(Measured { value, band }, volume, order);
    }
    if value < grain {
        let most = apart(&show_within(grain, grain, volume, order));
        return Shown {
            value: format!("under {}", most.value),
            other: format!("under {}", most.other),
            ..most
        };
    }
    apart(&show_within(value, grain.max(RUNS_AGREE * value), volume, order))
}

/// One number of a grid study, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct GridRow {
    /// What it is.
    pub name: &'static str,
    /// Its value on each grid, finest first.
    pub values: Vec<String>,
    /// Observed order, and the one taken where that differs; "none" where there is none.
    pub order: String,
    /// The finest grid's value with the half-width of its band.
    pub answer: String,
    /// How the values lie.
    pub said: &'static str,
}

/// The numbers of a grid study, row by row.
pub fn grid_rows(study: &GridStudy, order: UnitOrder) -> Vec<GridRow> {
    let row = |name, e: &Estimate, text: &dyn Fn(f64) -> String, answer: String| GridRow {
        name,
        values: e.grids.iter().map(|g| text(g.value)).collect(),
        order: match (e.observed_order, e.order_used) {
            (Some(p), Some(used)) if (p - used).abs() > 0.05 => format!("{p:.1}, taken as {used:.1}"),
            (Some(p), _) => format!("{p:.1}"),
            (None, Some(used)) => format!("assumed {used:.0}"),
            (None, None) => "none".to_string(),
        },
        answer,
        said: e.approach.said(),
    };
    let quantity = |name, e: &Estimate, what| {
        let band = Some(e.band);
        let answer = measured(
            Measured {
                value: e.value(),
                band,
            },
            what,
            order,
        );
        row(name, e, &|v| show(v, what, order), answer.line())
    };
    let seconds = |name, e: &Estimate| {
        let answer = format!("{:.2} ± {:.2} s", e.value(), e.band);
        row(name, e, &|v| format!("{v:.2} s"), answer)
    };
    let percent = |name, e: &Estimate| {
        let answer = format!("{:.1} ± {:.1} %", 100.0 * e.value(), 100.0 * e.band);
        row(name, e, &|v| format!("{:.1} %", 100.0 * v), answer)
    };
    vec![
        quantity("least cover", &study.least_cover, Dimension::Length),
        seconds("longest time bare", &study.longest_bare),
        quantity("air drawn", &study.air, Dimension::Volume),
        percent("air in all that the pump took", &study.air_share),
        percent("air in the worst second", &study.worst_second),
    ]
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
        Dimension::Pressure => pick((1e3, "kPa"), (6_894.757, "psi")),
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
    fn air_is_told_no_finer_than_a_cell_of_oil() {
        let said = |value, band| air(value, band, 0.008, UnitOrder::MetricFirst).line();
        assert_eq!(said(0.0, None), "0 mL");
        assert_eq!(said(7.7e-9, None), "under 0.5 mL (under 0.02 fl oz)");
        assert_eq!(said(2.345e-6, None), "2.3 mL (0.08 fl oz)");
        assert_eq!(said(0.5134e-3, None), "0.51 L (0.54 qt)");
        assert_eq!(said(0.5134e-3, Some(0.04e-3)), "0.51 ± 0.04 L (0.54 ± 0.04 qt)");
        // A band that chance made smaller than a cell is none.
        assert_eq!(said(20e-6, Some(1e-9)), "20.0 ± 0.5 mL (0.68 ± 0.02 fl oz)");
    }

    #[test]
    fn a_grid_study_says_its_orders_and_bands() {
        let on = |values: [f64; 3]| {
            let cells = [4e-3, 5e-3, 6.25e-3];
            let grids: Vec<_> = (cells.into_iter().zip(values))
                .map(|(cell, value)| pickup::convergence::OnGrid { cell, value })
                .collect();
            pickup::convergence::estimate(&grids).expect("sound grids")
        };
        let study = GridStudy {
            least_cover: on([0.010, 0.011, 0.0125]),
            longest_bare: on([0.2, 0.3, 0.1]),
            air: on([0.0; 3]),
            air_share: on([0.0; 3]),
            worst_second: on([0.10, 0.11, 0.2]),
        };
        let rows = grid_rows(&study, UnitOrder::MetricFirst);
        assert_eq!(rows[0].values[0], "10.0 mm (0.394 in)");
        assert_eq!(rows[0].order, "1.8");
        assert_eq!(
            (rows[1].order.as_str(), rows[1].answer.as_str()),
            ("none", "0.20 ± 0.30 s")
        );
        assert!(rows[1].said.contains("swings"), "{}", rows[1].said);
        assert_eq!(rows[2].answer, "0.00 L (0.00 qt)");
        assert!(rows[4].order.ends_with("taken as 2.0"), "{}", rows[4].order);
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
