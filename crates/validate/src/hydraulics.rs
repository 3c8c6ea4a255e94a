//! The formulas for holes, weirs and gates that the program uses.

use crate::{Row, Scale};
use measure::STANDARD_GRAVITY as G;
use oil::hydraulics as by;
use proofs::hydraulics as published;
use std::f64::consts::PI;

/// What this subject is about.
pub const ABOUT: &str = "The formulas as coded, against printed answers, an independent library and hand working. \
They prove the code, not that a formula fits thin films of oil: below 20 to 30 mm of head over a wall no formula \
is validated.";

const WORKED: &str = "worked outside this program from the formula";
const READ: &str = "textbook problem (read)";
const LIBRARY: &str = "Python library fluids 1.3.1";

/// Everything here.
pub fn rows() -> Vec<Row> {
    let mut rows = holes();
    rows.extend(times());
    rows.extend(weirs());
    rows.extend(gates());
    rows
}

fn row(
    case: String,
    pair: (f64, f64),
    unit: &'static str,
    allowed: f64,
    source: &'static str,
    note: &str,
) -> Row {
    Row::new(case, pair, unit, (allowed, Scale::Relative), source, note)
}

const DIGITS: &str = "half of the last digit printed";

fn holes() -> Vec<Row> {
    let disc = |bore: f64| PI / 4.0 * bore * bore;
    let mut rows = Vec::new();
    for (cd, bore, head, due) in published::ORIFICES {
        let case = format!(
            "hole of {:.0} mm, Cd {cd}, head {:.0} mm: flow",
            1e3 * bore,
            1e3 * head
        );
        let flow = 60e3 * by::orifice(cd, disc(bore), head, G);
        rows.push(row(case, (flow, due), "L/min", 2e-5, WORKED, DIGITS));
    }
    let (bore, head, ideal) = published::TEXTBOOK_ORIFICE;
    rows.push(row(
        "ideal jet of a 1 inch hole under 9 ft: flow".into(),
        (60e3 * by::orifice(1.0, disc(bore), head, G), 60e3 * ideal),
        "L/min",
        3e-3,
        READ,
        "the page rounds its gallons and its g",
    ));
    let (cd, width, upper, lower, due) = published::TALL_OPENING;
    let flow = 60e3 * by::tall_opening(cd, width, upper, lower, G);
    let case = format!(
        "opening {:.0} mm wide, edges {:.0} and {:.0} mm down: flow",
        1e3 * width,
        1e3 * upper,
        1e3 * lower
    );
    rows.push(row(case, (flow, due), "L/min", 1e-5, WORKED, DIGITS));
    for (reynolds, slenderness, due, read) in published::BORES {
        rows.push(row(
            format!("bore {slenderness} times as long as wide, Re {reynolds}: Cd"),
            (
                by::bore_coefficient(reynolds, slenderness).unwrap_or(f64::NAN),
                due,
            ),
            "",
            2e-5,
            "Lichtarowicz, Duggins & Markland 1965",
            if read { "printed (read)" } else { "worked outside" },
        ));
    }
    for (flow, diameter, due) in published::SUBMERGENCE {
        rows.push(row(
            format!("bell {:.0} mm, {:.4} m³/s: submergence", 1e3 * diameter, flow),
            (by::submergence(flow, diameter, G), due),
            "m",
            4e-4,
            "ANSI/HI 9.8 (formula read, text not)",
            "ranks bells; no pass mark for a pan",
        ));
    }
    rows
}

fn times() -> Vec<Row> {
    let mut rows = Vec::new();
    for (i, (cd, plan, area, from, to, gravity, due)) in published::DRAINING.into_iter().enumerate() {
        rows.push(row(
            format!("tank of {plan} m² drains from {from} to {to} m, Cd {cd}: time"),
            (by::drain_time(cd, plan, area, from, to, gravity), due),
            "s",
            2e-4,
            if i == 0 { READ } else { WORKED },
            if i == 0 {
                "the page rounds on its way"
            } else {
                DIGITS
            },
        ));
    }
    let (cd, one, other, area, from, to, due) = published::LEVELLING;
    rows.push(row(
        "two chambers level from 50 to 10 mm through a drowned hole: time".into(),
        (by::levelling_time(cd, (one, other), area, from, to, G), due),
        "s",
        2e-5,
        "worked outside, agreed by an ODE solver",
        DIGITS,
    ));
    rows
}

fn weirs() -> Vec<Row> {
    let mut rows = Vec::new();
    for (head, crest, width, rehbock, kindsvater) in published::WEIRS {
        let case = format!("weir, head {:.0} mm over {:.0} mm", 1e3 * head, 1e3 * crest);
        for (name, computed, due) in [
            ("Rehbock", by::rehbock(head, crest, width, G), rehbock),
            (
                "Kindsvater–Carter",
                by::kindsvater_carter(head, crest, width, G),
                kindsvater,
            ),
        ] {
            rows.push(row(
                format!("{case}, {name}: flow"),
                (1e3 * computed, 1e3 * due),
                "L/s",
                3e-5,
                LIBRARY,
                DIGITS,
            ));
        }
    }
    for (head, width, cd, due) in published::BROAD_CRESTS {
        let flow = by::broad_crest(cd, head, width, published::TEXTBOOK_GRAVITY);
        rows.push(row(
            format!("broad crest, head {:.0} mm, Cd {cd}: flow", 1e3 * head),
            (1e3 * flow, 1e3 * due),
            "L/s",
            2e-4,
            "form of ISO 3846 (from memory), worked outside",
            DIGITS,
        ));
    }
    for (ratio, due) in published::DROWNED_WEIRS {
        rows.push(row(
            format!("drowned weir, heads {ratio} to 1: share of the free flow"),
            (by::drowned_share(1.0, ratio), due),
            "",
            2e-5,
            "Villemonte (exponent from memory), worked outside",
            DIGITS,
        ));
    }
    rows
}

fn gates() -> Vec<Row> {
    const SWAMEE: &str = "Swamee 1992 (from memory), worked outside";
    const MOMENTUM: &str = "momentum form, contraction 0.611, worked outside";
    let apart = "the two forms differ by 4 to 6 %: the honest uncertainty";
    let mut rows = Vec::new();
    for (depth, swamee, momentum) in published::GATES {
        let case = format!("gate open 10 mm, {:.0} mm deep", 1e3 * depth);
        rows.push(row(
            format!("{case}: Cd"),
            (by::gate_coefficient(0.01, depth), swamee),
            "",
            2e-5,
            SWAMEE,
            apart,
        ));
        rows.push(row(
            format!("{case}: Cd"),
            (by::gate_coefficient_momentum(0.01, depth), momentum),
            "",
            2e-5,
            MOMENTUM,
            apart,
        ));
    }
    let (by_swamee, by_momentum) = published::GATE_FLOWS;
    let depth = published::GATES[0].0;
    for (cd, due, source) in [
        (by::gate_coefficient(0.01, depth), by_swamee, SWAMEE),
        (by::gate_coefficient_momentum(0.01, depth), by_momentum, MOMENTUM),
    ] {
        rows.push(row(
            format!("gate open 10 mm, {:.0} mm deep: flow", 1e3 * depth),
            (1e3 * by::gate(cd, 0.01, depth, 0.2, G), 1e3 * due),
            "L/s",
            3e-4,
            source,
            DIGITS,
        ));
    }
    rows
}
