//! The tables of the suction side, for page and terminal alike: a head and rows of cells.

use crate::findings::{FeedFacts, FeedState};
use crate::numbers::{line, short};
use measure::{Dimension, UnitOrder};

/// A table.
pub struct Rows {
    /// What it shows.
    pub caption: &'static str,
    /// Names of its columns.
    pub head: Vec<String>,
    /// Rows, the first cell names the row.
    pub rows: Vec<Vec<String>>,
}

/// Speed of oil: it is no road speed.
pub fn flow_speed(speed: f64, order: UnitOrder) -> String {
    let (metric, inch) = (format!("{speed:.2} m/s"), format!("{:.1} ft/s", speed / 0.3048));
    match order {
        UnitOrder::MetricFirst => format!("{metric} ({inch})"),
        UnitOrder::InchFirst => format!("{inch} ({metric})"),
    }
}

/// A share of air, with no more digits than it is known to.
pub fn percent(share: f64) -> String {
    match 1e2 * share {
        0.0 => "none".to_owned(),
        p if p < 0.1 => "under 0.1 %".to_owned(),
        p if p < 10.0 => format!("{p:.1} %"),
        p if p < 99.0 => format!("{p:.0} %"),
        _ => "all".to_owned(),
    }
}

fn head(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

/// A pressure that may be impossible.
pub fn inlet(pressure: f64, order: UnitOrder) -> String {
    if pressure > 0.0 {
        line(pressure, Dimension::Pressure, order)
    } else {
        "impossible: foam".to_owned()
    }
}

/// The largest engine speed at each temperature.
pub fn speeds(f: &FeedFacts, order: UnitOrder) -> Rows {
    let row = |s: &crate::findings::FedSpeed| {
        vec![
            line(s.temperature, Dimension::Temperature, order),
            line(s.viscosity, Dimension::KinematicViscosity, order),
            match (s.speed, s.free) {
                (None, _) => "not even idle".to_owned(),
                (Some(_), true) => "any in use".to_owned(),
                (Some(speed), false) => format!("up to {}", line(speed, Dimension::EngineSpeed, order)),
            },
        ]
    };
    Rows {
        caption: "Largest engine speed that is fed",
        head: head(&["oil at", "viscosity", "engine speed"]),
        rows: f.speeds.iter().map(row).collect(),
    }
}

/// The line part by part at each state.
pub fn parts(f: &FeedFacts, order: UnitOrder) -> Rows {
    let mut top = vec!["part".to_owned()];
    top.extend(f.states.iter().map(|s| s.name.clone()));
    let of = |name: &str, cell: &dyn Fn(&FeedState) -> String| {
        let mut row = vec![name.to_owned()];
        row.extend(f.states.iter().map(cell));
        row
    };
    let mut rows = vec![
        of("oil at", &|s| short(s.temperature, Dimension::Temperature, order)),
        of("engine speed", &|s| {
            short(s.engine_speed, Dimension::EngineSpeed, order)
        }),
        of("flow", &|s| short(s.flow, Dimension::Flow, order)),
        of("speed in the narrowest bore", &|s| {
            flow_speed(s.flow_speed, order)
        }),
        of("Reynolds number there", &|s| format!("{:.0}", s.reynolds)),
    ];
    if let Some(first) = f.states.first() {
        for (i, part) in first.losses.iter().enumerate() {
            rows.push(of(&part.part, &|s| {
                short(s.losses[i].loss, Dimension::Pressure, order)
            }));
        }
    }
    rows.push(of("left in the inlet", &|s| {
        if s.pressure > 0.0 {
            short(s.pressure, Dimension::Pressure, order)
        } else {
            "impossible: foam".to_owned()
        }
    }));
    Rows {
        caption: "What each part of the line takes",
        head: top,
        rows,
    }
}

/// A blocked screen and changes to the line.
pub fn changes(f: &FeedFacts, order: UnitOrder) -> Rows {
    let mut rows = Vec::new();
    for b in f.blocked.iter().filter(|b| b.share > 0.0) {
        rows.push(vec![
            format!("{:.0} % of the screen blocked", 1e2 * b.share),
            inlet(b.pressure, order),
            String::new(),
        ]);
    }
    for c in &f.changes {
        let warm = c.warm_enough.map_or("at no temperature".to_owned(), |t| {
            format!("from {}", line(t, Dimension::Temperature, order))
        });
        rows.push(vec![c.what.clone(), inlet(c.pressure, order), warm]);
    }
    Rows {
        caption: "What if",
        head: head(&["change", "inlet, working oil at full speed", "full speed is fed"]),
        rows,
    }
}

/// Bells, as a ranking.
pub fn bells(f: &FeedFacts, order: UnitOrder) -> Rows {
    let row = |b: &crate::findings::BellFact| {
        vec![
            format!(
                "{}{}",
                line(b.diameter, Dimension::Length, order),
                if b.own { ", this one" } else { "" }
            ),
            flow_speed(b.speed, order),
            line(b.asked, Dimension::Length, order),
            format!("{:.1} ×", b.ring),
            format!("{:.2} ×", b.clearance),
        ]
    };
    Rows {
        caption: "Mouths at full flow: a ranking, no pass mark",
        head: head(&[
            "mouth",
            "speed into it",
            "depth that the water rule asks for",
            "ring under it, of the bore's area",
            "clearance, of its diameter",
        ]),
        rows: f.mouth.bells.iter().map(row).collect(),
    }
}

/// Air through the joint.
pub fn air(f: &FeedFacts) -> Rows {
    let mut top = vec!["joint".to_owned()];
    top.extend(f.joint.states.iter().cloned());
    let row = |l: &crate::findings::LeakFact| {
        let mut row = vec![l.what.clone()];
        row.extend(l.air.iter().map(|a| percent(a.leak)));
        row
    };
    Rows {
        caption: "Air in at the joint, of the volume that the pump takes",
        head: top,
        rows: f.joint.leaks.iter().map(row).collect(),
    }
}

/// Air that comes with the oil itself.
pub fn carried(f: &FeedFacts) -> Rows {
    let own = f.joint.leaks.iter().find(|l| l.own);
    let rows = own.map_or(Vec::new(), |own| {
        let pick = |name: &str, of: &dyn Fn(&crate::findings::AirFact) -> f64| {
            let mut row = vec![name.to_owned()];
            row.extend(own.air.iter().map(|a| percent(of(a))));
            row
        };
        vec![
            pick("in at the joint", &|a| a.leak),
            pick("bubbles that the oil carries, grown under suction", &|a| {
                a.bubbles
            }),
            pick("out of solution, at most", &|a| a.released),
        ]
    });
    let mut top = vec!["air".to_owned()];
    top.extend(f.joint.states.iter().cloned());
    Rows {
        caption: "All the air in what the pump takes, joint as described",
        head: top,
        rows,
    }
}
