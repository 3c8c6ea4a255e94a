//! `[oil]`, `[pump]`, `[circuit]` and `[fill]`.

use measure::Dimension::{
    Density, Displacement, EngineSpeed, Flow, KinematicViscosity, Share, Temperature, Volume,
};
use oil::viscosity::TwoPoints;
use oil::{Circuit, OilFault, OilSpec};

use super::suction::Return;
use crate::design::{Allowance, OilUse};
use crate::section::{Bounds, Section};

/// `[oil]`: which oil, how hot, how much air in it.
pub(crate) fn oil(section: &Section) -> Option<OilUse> {
    let spec = match section.one_of(&["grade", "viscosity"], "grade = \"10W-60\"") {
        Some("grade") => by_grade(section),
        Some(_) => by_viscosity(section),
        None => None,
    };
    let temperature = section.quantity_or(
        "temperature",
        Temperature,
        Bounds::within(233.15, 473.15),
        383.15,
        "common practice, no source: hot oil in the pan of a car on a course",
    );
    let aeration = section.quantity_or(
        "aeration",
        Share,
        Bounds::within(0.0, 0.3),
        0.08,
        "common practice, no source: air carried as bubbles at high engine speed",
    );
    let oil = OilUse {
        spec: spec?,
        temperature: temperature?,
        aeration: aeration?,
    };
    if let Err(fault) = oil.spec.at(oil.temperature, oil.aeration) {
        let key = match fault {
            OilFault::DensityOut { .. } => "density",
            OilFault::AerationOut { .. } => "aeration",
            OilFault::Solid { .. } => "temperature",
            _ => "viscosity",
        };
        oil_fault(section, key, &fault);
        return None;
    }
    Some(oil)
}

fn oil_fault(section: &Section, key: &str, fault: &OilFault) {
    // The library's sentence carries the mend behind its last semicolon.
    let said = fault.to_string();
    let (what, mend) = said
        .split_once("; ")
        .unwrap_or((&said, "check the numbers of the oil's sheet"));
    section.fault("oil", key, what.to_owned(), mend.to_owned());
}

fn by_grade(section: &Section) -> Option<OilSpec> {
    let grade = section.text("grade", "10W-60")?;
    let mut spec = match OilSpec::of_grade(&grade) {
        Ok(spec) => spec,
        Err(OilFault::UnknownGrade { nearest, .. }) => {
            let what = format!("the grade \"{grade}\" is not in the table");
            let mend = format!(
                "the nearest is \"{nearest}\"; or give viscosity at two temperatures from the oil's sheet"
            );
            section.fault("unknown-grade", "grade", what, mend);
            return None;
        }
        Err(fault) => {
            oil_fault(section, "grade", &fault);
            return None;
        }
    };
    spec.density_15 = density(section, spec.density_15)?;
    Some(spec)
}

fn by_viscosity(section: &Section) -> Option<OilSpec> {
    let rows = section.rows("viscosity", [Temperature, KinematicViscosity]);
    let density = density(section, 860.0);
    let rows = rows?;
    let [a, b] = rows[..] else {
        let what = format!("viscosity is given at {} temperatures", rows.len());
        let mend =
            "give it at two, for instance [[\"40 C\", \"160 mm2/s\"], [\"100 C\", \"23 mm2/s\"]]".to_owned();
        section.fault("wrong-kind", "viscosity", what, mend);
        return None;
    };
    let (cold, hot) = if a[0] < b[0] { (a, b) } else { (b, a) };
    Some(OilSpec {
        name: section
            .optional_text("name")
            .unwrap_or_else(|| "oil by its viscosities".to_owned()),
        viscosity: TwoPoints {
            cold: cold.into(),
            hot: hot.into(),
        },
        density_15: density?,
        basis: "two viscosities of the design file".to_owned(),
    })
}

fn density(section: &Section, usual: f64) -> Option<f64> {
    let reason = "typical of such oils at 15 C, from memory; its sheet says better";
    section.quantity_or("density", Density, Bounds::POSITIVE, usual, reason)
}

/// `[pump]`: delivery a crank revolution and the flow at relief.
pub(crate) fn pump(section: &Section) -> (Option<f64>, Option<f64>) {
    let displacement = section.quantity("displacement", Displacement, Bounds::POSITIVE);
    (
        displacement,
        section.quantity("relief_flow", Flow, Bounds::POSITIVE),
    )
}

/// `[circuit]`: oil aloft against engine speed, with a low and a high allowance.
pub(crate) fn aloft(section: &Section) -> Option<(Vec<(f64, f64)>, Allowance)> {
    let rows = section.rows("aloft", [EngineSpeed, Volume]);
    let reason = "common practice, no source: nobody knows this number well, so the answer is shown at low, mid and high";
    let low = section.quantity_or("aloft_low", Share, Bounds::within(0.0, 1.0), 0.5, reason);
    let high = section.quantity_or("aloft_high", Share, Bounds::within(1.0, 5.0), 1.5, reason);
    let rows: Vec<(f64, f64)> = rows?.into_iter().map(|[speed, volume]| (speed, volume)).collect();
    Some((
        rows,
        Allowance {
            low: low?,
            high: high?,
        },
    ))
}

/// The circuit of all parts; shares that nobody states are equal.
pub(crate) fn circuit(
    top: &Section,
    pump: (Option<f64>, Option<f64>),
    aloft: Option<Vec<(f64, f64)>>,
    returns: &[&Return],
) -> Option<Circuit> {
    let stated = returns.iter().filter(|r| r.share.is_some()).count();
    if stated != 0 && stated != returns.len() {
        let what = "some returns state their share and some do not".to_owned();
        top.fault(
            "shares",
            "return",
            what,
            "state the share of every return, or of none".to_owned(),
        );
        return None;
    }
    let equal = 1.0 / returns.len() as f64;
    let circuit = Circuit {
        displacement: pump.0?,
        relief_flow: pump.1?,
        aloft: aloft?,
        aloft_factor: 1.0,
        shares: returns.iter().map(|r| r.share.unwrap_or(equal)).collect(),
        delays: returns.iter().map(|r| r.delay).collect(),
    };
    let mut sound = true;
    for fault in circuit.check() {
        sound = false;
        let said = fault.to_string();
        let (what, mend) = said.split_once("; ").unwrap_or((&said, "check the numbers"));
        let key = match fault {
            oil::CircuitFault::ReturnsUneven { .. } | oil::CircuitFault::SharesNotWhole { .. } => "return",
            _ => "circuit",
        };
        top.fault("circuit", key, what.to_owned(), mend.to_owned());
    }
    sound.then_some(circuit)
}

/// `[fill]`: all the oil in the engine [m³].
pub(crate) fn fill(section: &Section) -> Option<f64> {
    section.quantity("volume", Volume, Bounds::POSITIVE)
}
