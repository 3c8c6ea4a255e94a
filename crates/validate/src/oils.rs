//! Viscosity, density and air of oils.

use crate::{Row, Scale};
use oil::air::{bubbles, share};
use oil::fluid::bubbly;
use oil::viscosity::TwoPoints;
use proofs::oils as published;

/// What this subject is about.
pub const ABOUT: &str = "Viscosity of race oils against temperature from two points, density against \
temperature, thickening by air bubbles and their swelling under suction. \"Worked outside\" means: by the same \
formula, but not by this program.";

const CELSIUS: f64 = 273.15;

/// Everything here.
pub fn rows() -> Vec<Row> {
    let mut rows = sheet();
    for (at_40, at_100, celsius, due) in published::D341_WORKED {
        let oil = TwoPoints::at_40_and_100(at_40 * 1e-6, at_100 * 1e-6);
        rows.push(Row::new(
            format!("oil {at_40}/{at_100} mm²/s at 40/100 °C: viscosity at {celsius} °C"),
            (1e6 * oil.at(celsius + CELSIUS).unwrap_or(f64::NAN), due),
            "mm²/s",
            (1e-4, Scale::Relative),
            "ASTM D341, worked outside",
            "printed to at least four figures",
        ));
    }
    for (celsius, due) in published::DENSITY_WORKED {
        rows.push(Row::new(
            format!("oil of 870 kg/m³ at 15 °C: density at {celsius} °C"),
            (
                oil::density::at(870.0, celsius + CELSIUS).unwrap_or(f64::NAN),
                due,
            ),
            "kg/m³",
            (0.01, Scale::Absolute),
            published::DENSITY_SOURCE,
            "worked outside to two places",
        ));
    }
    for (share, due) in published::BUBBLES {
        rows.push(Row::new(
            format!("{:.0} % of air: factor on the viscosity", 1e2 * share),
            (bubbly(0.00225, share), due),
            "",
            (1e-5, Scale::Absolute),
            published::BUBBLES_SOURCE,
            "printed to six figures",
        ));
    }
    for (pressure, due) in published::SUCTION {
        rows.push(Row::new(
            format!("10 % of air at 101.325 kPa: share at {:.3} kPa", 1e-3 * pressure),
            (1e2 * share(bubbles(0.10, 101_325.0, pressure)), 1e2 * due),
            "%",
            (1e-3, Scale::Absolute),
            "Boyle's law, worked outside",
            "printed to 0.001 %",
        ));
    }
    rows
}

/// The published sheet, which takes 0 °C for 273 K.
fn sheet() -> Vec<Row> {
    let (cold, hot) = published::D341_SHEET;
    let (due_a, due_b, due_at_80) = published::D341_ANSWER;
    let oil = TwoPoints {
        cold: (313.0, cold * 1e-6),
        hot: (373.0, hot * 1e-6),
    };
    let (a, b) = oil.constants().unwrap_or((f64::NAN, f64::NAN));
    let at_80 = 1e6 * oil.at(353.0).unwrap_or(f64::NAN);
    let note = "the sheet rounds its logarithms";
    let row = |what: &str, pair: (f64, f64), unit, tolerance: f64, note: &str| {
        let case = format!("oil {cold}/{hot} mm²/s, {what}");
        Row::new(
            case,
            pair,
            unit,
            (tolerance, Scale::Absolute),
            published::D341_SOURCE,
            note,
        )
    };
    vec![
        row("A", (a, due_a), "", 1e-3, note),
        row("B", (b, due_b), "", 1e-3, note),
        row(
            "viscosity at 80 °C",
            (at_80, due_at_80),
            "mm²/s",
            0.05,
            "printed to one place",
        ),
    ]
}
