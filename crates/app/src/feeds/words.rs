//! What is said of the suction side in sentences.

use ::feed::mouth::{CLEARANCE, USUAL_CLEARANCE};
use ::feed::{Joint, Seal};
use job::{Design, Feed};
use measure::{Dimension, UnitOrder, show};
use report::feed_rows::{flow_speed, percent};
use report::findings::FeedFacts;

/// Speed that suction lines of hydraulic pumps are kept under [m/s]: common practice, no source.
const USUAL_SPEED: f64 = 1.5;

/// The whole in a sentence or two.
pub fn said(f: &FeedFacts, units: UnitOrder) -> String {
    let pressure = |v: f64| show(v, Dimension::Pressure, units);
    let (least, worst) = (pressure(f.least), &f.drive);
    let at = format!(
        "at {} {}",
        show(worst.engine_speed, Dimension::EngineSpeed, units),
        worst.place
    );
    let hot = if worst.pressure <= 0.0 {
        format!("With working oil the line cannot pass what the pump takes ({at}): it draws foam.")
    } else if worst.pressure < f.least {
        format!(
            "With working oil the inlet falls to {} ({at}), under the {least} that counts as fed.",
            pressure(worst.pressure)
        )
    } else {
        format!(
            "With working oil the pump is fed: the inlet keeps {} at the worst of the drive ({at}), {} over the {least} that \
             counts as fed.",
            pressure(worst.pressure),
            pressure(worst.pressure - f.least)
        )
    };
    let top_short = worst.pressure >= f.least && !f.holds;
    let top = if top_short {
        " At the highest speed it would not be."
    } else {
        ""
    };
    let cold = match (f.speeds.first(), f.warm_enough) {
        (Some(first), _) if first.free => format!(
            " Oil of {} limits nothing.",
            show(first.temperature, Dimension::Temperature, units)
        ),
        (Some(first), warm) => {
            let start = match first.speed {
                None => "not even idle is fed".to_owned(),
                Some(speed) => format!("it is fed up to {}", show(speed, Dimension::EngineSpeed, units)),
            };
            let warm = warm.map_or(String::new(), |t| {
                format!(
                    "; full speed waits for {}",
                    show(t, Dimension::Temperature, units)
                )
            });
            format!(
                " At {} {start}{warm}.",
                show(first.temperature, Dimension::Temperature, units)
            )
        }
        (None, _) => String::new(),
    };
    format!("{hot}{top}{cold}{}", leaks(f))
}

/// Air in at the joint from which on the whole says so: a part of the volume (a choice, no source; less is always better).
const TOLD: f64 = 0.005;

fn leaks(f: &FeedFacts) -> String {
    let Some(own) = f.joint.leaks.iter().find(|l| l.own) else {
        return String::new();
    };
    let most = |word: &str| {
        let at = f
            .joint
            .states
            .iter()
            .zip(&own.air)
            .filter(|(name, _)| name.starts_with(word));
        at.map(|(_, air)| air.leak).fold(0.0, f64::max)
    };
    let (working, cold) = (most("working"), most("cold"));
    if working.max(cold) < TOLD {
        return String::new();
    }
    format!(
        " But the joint as described lets in air: {} of what the pump takes with working oil, {} cold; lap it flat or give it an \
         O-ring.",
        percent(working),
        percent(cold)
    )
}

/// What should be known beside the numbers.
pub fn remarks(f: &FeedFacts, feed: &Feed, units: UnitOrder) -> Vec<String> {
    let length = |v: f64| show(v, Dimension::Length, units);
    let pressure = |v: f64| show(v, Dimension::Pressure, units);
    let mut said = vec![format!(
        "Pressures are absolute. The limit of {} is the air limit: common practice, no single source. Hot oil's own vapour \
         pressure is next to nothing; what spoils the oil under suction is air, bubbles that grow and dissolved air that comes \
         out, so less suction is always better and no number parts good from bad.",
        pressure(f.least)
    )];
    if let Some(state) = f.states.iter().rev().find(|s| s.name.starts_with("working")) {
        let fast = if state.flow_speed > USUAL_SPEED {
            "faster than"
        } else {
            "within"
        };
        said.push(format!(
            "Working oil runs at {} in the narrowest bore, {fast} the {} that suction lines of hydraulic pumps are kept under \
             (common practice, no source; engines run faster).",
            flow_speed(state.flow_speed, units),
            flow_speed(USUAL_SPEED, units)
        ));
    }
    said.push(format!(
        "The pump stands {} over the mouth: {} standing level, {} at the worst push of the drive ({:.1} s). Map and tables hold \
         under that worst push; the oil over the mouth, which helps by less than 1 kPa, is left out.",
        length(f.line.rise),
        pressure(f.lift.standing),
        pressure(f.lift.worst),
        f.lift.at
    ));
    match f.most_blocked {
        Some(share) => said.push(format!(
            "With working oil at full speed {:.0} % of the screen may be blocked before the inlet falls to {}.",
            (1e2 * share).floor(),
            pressure(f.least)
        )),
        None if !f.blocked.is_empty() => {
            said.push("Even a clean screen leaves the inlet under the limit at full speed.".to_owned());
        }
        None => said.push("The mouth has no screen: nothing keeps sealant and broken rings out of the pump.".to_owned()),
    }
    said.extend(mouth(f, units));
    said.extend(joint(f, feed, units));
    said.push(
        "The pump is taken to move its whole delivery at every temperature, cold oil too. Screens in cold oil are known to a \
         factor of two, all other losses to 10 or 20 %."
            .to_owned(),
    );
    said.push(
        "Cold oil that cannot follow runs bearings dry: start on the oil the engine maker names, keep the speeds of the table \
         until it is warm, and keep the pressure alarm."
            .to_owned(),
    );
    said
}

fn mouth(f: &FeedFacts, units: UnitOrder) -> Vec<String> {
    let length = |v: f64| show(v, Dimension::Length, units);
    let floor = f.mouth.floor;
    let mut said = Vec::new();
    if let Some(own) = f.mouth.bells.iter().find(|b| b.own) {
        if own.ring < 1.0 {
            said.push(format!(
                "The ring under the mouth, {} high, has {:.0} % of the bore's area: the floor throttles the tube. Raise the \
                 mouth, or take a wider one.",
                length(floor),
                1e2 * own.ring
            ));
        } else {
            said.push(format!(
                "The ring under the mouth, {} high, has {:.1} times the bore's area: the floor does not throttle the tube.",
                length(floor),
                own.ring
            ));
        }
        let (low, high) = CLEARANCE;
        let inside = (low..=high).contains(&own.clearance);
        said.push(format!(
            "That is {:.2} of the mouth's diameter, {} the {low} to {high} of pump bells (read in one entry), where pickups of \
             engines have {} to {} (common practice, no source).",
            own.clearance,
            if inside { "within" } else { "outside" },
            length(USUAL_CLEARANCE.0),
            length(USUAL_CLEARANCE.1)
        ));
    }
    said.push(
        "The depth in the list of mouths is what the rule for water intakes (ANSI/HI 9.8) asks for. It ranks mouths and passes \
         none: made for wells, it asks for more oil than a pan is deep, and thick oil and short corners leave a whirl no time. \
         Whether this mouth draws air is what check computes. A mouth of 1.5 to 2 bores with a rounded edge is the usual \
         compromise."
            .to_owned(),
    );
    said
}

fn joint(f: &FeedFacts, feed: &Feed, units: UnitOrder) -> Vec<String> {
    let length = |v: f64| show(v, Dimension::Length, units);
    let joint = &feed.supply.joint;
    let mut said = Vec::new();
    let worst = |what: &dyn Fn(&str) -> bool| {
        let row = f.joint.leaks.iter().find(|l| what(&l.what));
        row.and_then(|l| l.air.iter().map(|a| a.leak).max_by(f64::total_cmp))
    };
    let flat = out_of_flat(0.05e-3, units);
    if let Some(air) = worst(&|what| what == flat) {
        said.push(format!(
            "Metal on metal, {} out of flat lets in up to {} of air by volume; twice as far out of flat up to eight times that, \
             as long as the gap is narrow.",
            length(0.05e-3),
            percent(air)
        ));
    }
    let own = f.joint.leaks.iter().find(|l| l.own);
    if let Some(own) = own.and_then(|l| l.air.iter().map(|a| a.leak).max_by(f64::total_cmp)) {
        said.push(format!(
            "The joint as described ({}, {} out of flat, follows {}) lets in {}.",
            f.joint.seal,
            length(joint.flatness),
            length(f.joint.follows),
            if own > 0.0 {
                format!("up to {}", percent(own))
            } else {
                "none".to_owned()
            }
        ));
    }
    said.push(
        "An O-ring follows what its squeeze allows beyond a tenth of its cord, and closes gaps that no metal face closes. The \
         flange is taken to touch at two bolts and to stand off between them; where it stands under oil it draws oil and no air."
            .to_owned(),
    );
    said
}

/// "a tube 2.0 mm (0.08 in) wider".
pub fn wider(by: f64, units: UnitOrder) -> String {
    format!("a tube and inlet {} wider", show(by, Dimension::Length, units))
}

/// The joint as described.
pub fn own_joint(joint: &Joint, units: UnitOrder) -> String {
    let hole = if joint.pinhole > 0.0 {
        format!(", a pinhole of {}", show(joint.pinhole, Dimension::Length, units))
    } else {
        String::new()
    };
    format!(
        "as described: {}, {} out of flat{hole}",
        seal(&joint.seal, units),
        show(joint.flatness, Dimension::Length, units)
    )
}

/// Metal on metal.
pub fn out_of_flat(flatness: f64, units: UnitOrder) -> String {
    format!("metal, {} out of flat", show(flatness, Dimension::Length, units))
}

/// With an O-ring in the place of what seals now.
pub fn with_ring(joint: &Joint, units: UnitOrder) -> String {
    let flatness = show(joint.flatness, Dimension::Length, units);
    format!("{}, {flatness} out of flat", seal(&joint.seal, units))
}

/// A flat flange with a pinhole.
pub fn pinhole(bore: f64, units: UnitOrder) -> String {
    format!("flat, a pinhole of {}", show(bore, Dimension::Length, units))
}

/// What seals.
pub fn seal(seal: &Seal, units: UnitOrder) -> String {
    let length = |v: f64| show(v, Dimension::Length, units);
    match *seal {
        Seal::Metal => "metal on metal".to_owned(),
        Seal::Gasket { thickness } => format!("gasket of {}", length(thickness)),
        Seal::Ring { cord, groove } => format!("O-ring of {} cord in {}", length(cord), length(groove)),
    }
}

/// A `[feed]` section to begin with, from what the design says of mouth and pump: its numbers are to be measured.
pub fn starter(design: &Design) -> String {
    let mouth = &design.pan.mouth;
    // A bore that the most oil passes at about 2 m/s, to the next millimetre, no wider than the mouth.
    let flow = design.circuit.demand(design.engine.redline);
    let bore = (4.0 * flow / (std::f64::consts::PI * 2.0)).sqrt();
    let bore = ((bore * 1e3).ceil() * 1e-3).min(mouth.diameter);
    let millimetres = |v: f64| format!("\"{:.0} mm\"", v * 1e3);
    let entry = if bore < 0.98 * mouth.diameter {
        "bell"
    } else {
        "tube"
    };
    let [x, y] = [mouth.at.x, mouth.at.y].map(millimetres);
    format!(
        "[feed]\n\
         bore = {}                    # of the suction tube: measure it\n\
         pump = [{x}, {y}, \"20 mm\"]       # middle of the pump's inlet\n\
         corners = []                        # where the tube turns on its way there, and bend_radius = \"30 mm\"\n\
         entry = \"{entry}\"                      # bell | cone | box | tube\n\
         # screen = {{ wire = \"0.4 mm\", opening = \"1.2 mm\" }}\n\
         # joint = {{ seal = \"metal\", flatness = \"0.05 mm\" }}     # metal | gasket | o-ring",
        millimetres(bore)
    )
}
