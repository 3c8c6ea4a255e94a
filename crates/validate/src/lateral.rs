//! Water in a thin box that rolls: impacts and slow humps at a wall sensor.

use crate::bench;
use crate::curve::Curve;
use crate::plot::{Axis, Mark, Plot};
use crate::{Findings, Row, Scale, Study};
use proofs::free_surface::lateral_water::{BOX, HUMPS, IMPACTS, RECORD, RECORD_TIMES};

const SOURCE: &str = "Souto-Iglesias et al. 2011 (SPHERIC 10)";
/// Cells over the thickness, coarse to fine.
const GRIDS: [usize; 3] = [4, 6, 8];
/// How long is computed [s]: three impacts.
const UNTIL: f64 = 6.6;
/// Impacts are the first time above this [Pa], looked for from these moments on [s].
const STRUCK: f64 = 1000.0;
const LOOKED_FOR: [f64; 3] = [2.2, 3.9, 5.5];

/// What this subject is about.
pub const ABOUT: &str = "SPHERIC benchmark 10: a closed box of 900 × 508 × 62 mm with 93 mm of water rolls about the \
middle of its bottom line by the recorded angle; a breaking wave strikes sensor 1 on the wall, 93 mm up, three times. \
`examples/experiments/lateral-water.toml`, in full thickness with wall friction. Arrival times and slow humps are the \
dependable part of the record; peaks scatter by 20 to 36 % from run to run. The record is given as means over stretches \
of 2.5 to 80 ms, and humps are the largest mean over 20 ms of both. A solver without compressible water knows an \
impact's impulse but not its shortest spike: peaks are compared as the largest mean over 5 ms, about the time in which \
water at 2 m/s crosses a cell.";

/// Sensor 1 of one run [Pa].
fn sensor(across: usize) -> Result<(f64, Curve), String> {
    let h = BOX[2] / across as f64;
    let experiment = bench::read("lateral-water")?;
    let shown = bench::compute(&experiment, h, UNTIL, &[])?;
    Ok((h, shown.curve("sensor 1")))
}

/// Three grids.
pub fn findings() -> Findings {
    let mut findings = Findings::default();
    let runs: Vec<(f64, Curve)> = match bench::each(&GRIDS, sensor).into_iter().collect() {
        Ok(runs) => runs,
        Err(why) => {
            findings.rows.push(bench::stopped("swung water", SOURCE, &why));
            return findings;
        }
    };
    let (h, finest) = &runs[GRIDS.len() - 1];
    let mut add = |case: String, pair, unit, tolerance, note: &str| {
        let note = format!("{:.1} mm cells; {note}", 1e3 * h);
        findings
            .rows
            .push(Row::new(case, pair, unit, tolerance, SOURCE, note));
    };
    for (from, to, due) in HUMPS {
        add(
            format!("slow hump between {from:.1} and {to:.1} s"),
            (finest.largest_mean(0.020, from, to), due),
            "Pa",
            (0.10, Scale::Relative),
            "largest mean over 20 ms of both",
        );
    }
    let ordinals = ["first", "second", "third"];
    for (n, impact) in IMPACTS.iter().enumerate() {
        let name = ordinals[n];
        let arrival = finest.when_after(LOOKED_FOR[n], STRUCK);
        add(
            format!("{name} impact: arrival"),
            (arrival, impact.arrival),
            "s",
            (0.030, Scale::Absolute),
            "first time above 1000 Pa",
        );
        let (mean, spread) = impact.peak;
        let around = (LOOKED_FOR[n], impact.arrival + 0.12);
        add(
            format!("{name} impact: largest mean over 5 ms"),
            (finest.largest_mean(0.005, around.0, around.1), impact.over_5_ms),
            "Pa",
            (2.0 * spread / mean, Scale::Relative),
            "two standard deviations of the peak over 100 runs, as a share of it",
        );
        add(
            format!("{name} impact: mean over the 50 ms after it"),
            (finest.mean(arrival, arrival + 0.050), impact.over_50_ms),
            "Pa",
            (2.0 * spread / mean, Scale::Relative),
            "the impulse; two standard deviations as above",
        );
    }
    let study = |what: &str, of: &dyn Fn(&Curve) -> f64| Study {
        what: what.into(),
        values: runs.iter().map(|(h, c)| (*h, of(c))).collect(),
    };
    findings.studies = vec![
        study("hump before the first impact, Pa", &|c| {
            c.largest_mean(0.020, 0.75, 1.15)
        }),
        study("arrival of the first impact, s", &|c| {
            c.when_after(LOOKED_FOR[0], STRUCK)
        }),
        study("first impact: largest mean over 5 ms, Pa", &|c| {
            c.largest_mean(0.005, 2.2, 2.5)
        }),
        study("first impact: largest single step, Pa", &|c| {
            let near = c.points().into_iter().filter(|(t, _)| (2.2..2.5).contains(t));
            near.map(|(_, p)| p).fold(f64::NAN, f64::max)
        }),
    ];
    let record: Vec<(f64, f64)> = RECORD
        .iter()
        .enumerate()
        .map(|(i, p)| (0.5 * (RECORD_TIMES[i] + RECORD_TIMES[i + 1]), *p))
        .collect();
    for (name, title, low, high, top) in [
        ("whole", "over three swings", 0.0, 6.6, 4000.0),
        ("first-impact", "at the first impact", 2.32, 2.52, 6000.0),
        ("second-impact", "at the second impact", 4.0, 4.2, 6000.0),
    ] {
        findings.plots.push(Plot {
            name: format!("swung-water-{name}"),
            title: format!("Pressure at sensor 1 {title}, measured and computed"),
            x: Axis {
                label: "s",
                low,
                high,
            },
            y: Axis {
                label: "Pa",
                low: -500.0,
                high: top,
            },
            layers: std::iter::once(("measured, means".into(), Mark::Line(record.clone())))
                .chain(runs.iter().enumerate().map(|(i, (h, c))| {
                    let near = c
                        .points()
                        .into_iter()
                        .filter(|(t, _)| (low..high).contains(t))
                        .collect();
                    (format!("{:.1} mm cells", 1e3 * h), Mark::Computed(i, near))
                }))
                .collect(),
        });
    }
    findings.left = "Air is not computed: where a breaking crest shuts a pocket in, the pocket closes at no pressure, and \
        its collapse makes single steps of tens of kPa that real air cushions. On the grids above, one to three cells thick at \
        the crest, the blow itself is too abrupt. From the second swing on, the broken wave of the swing before is mixed \
        with air in the tank and is not here: humps come out too high and the third blow too early. No single step's \
        pressure is to be read from this solver."
        .into();
    findings
}
