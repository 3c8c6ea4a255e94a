//! Small waves and standing tilt in plain tanks, against linear theory and statics.

use crate::{Row, Scale};
use glam::DVec3;
use oil::fluid::Fluid;
use slosh::{Body, Settings, Solver, Supply, boxes};
use std::f64::consts::PI;

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "First sloshing mode of rectangular tanks at three depths and of an upright cylinder \
(cut cells), from small waves released at rest, no friction; and the surface under a steady sideways pull. \
Exact answers of linear theory and of statics.";

const THEORY: &str = "linear theory, NASA SP-106 (1966)";
const STATICS: &str = "statics, tan α = a/g";

fn thin() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1e-6,
    }
}

fn slippery() -> Settings {
    Settings {
        wall_friction: false,
        ..Settings::default()
    }
}

fn rest() -> Body {
    Body::steady(DVec3::new(0.0, 0.0, -G))
}

/// Frequency [Hz] of the swinging of `moment` over `seconds`, by its sign changes.
pub fn ring(solver: &mut Solver, seconds: f64, moment: impl Fn(&Solver) -> f64) -> f64 {
    let (mut time, mut last, mut crossings) = (0.0, moment(solver), Vec::new());
    while time < seconds {
        let Ok(step) = solver.step(&rest(), &Supply::NONE, 1.0) else {
            return f64::NAN;
        };
        let now = moment(solver);
        if (now < 0.0) != (last < 0.0) {
            crossings.push(time + step.dt * last / (last - now));
        }
        (time, last) = (time + step.dt, now);
    }
    match (crossings.first(), crossings.last()) {
        (Some(first), Some(end)) if crossings.len() > 1 => 0.5 * (crossings.len() - 1) as f64 / (end - first),
        _ => f64::NAN,
    }
}

/// First mode of a tank of `length` filled to `depth` [m], `cells` along: (computed, exact) [Hz].
/// `ω² = g k tanh(k d)`, `k = π/L`. Released from the mode's shape, 0.5 % of the length high.
pub fn first_mode(length: f64, depth: f64, cells: usize) -> (f64, f64) {
    let h = length / cells as f64;
    let high = ((depth * 1.4).max(depth + 0.02) / h).ceil() as usize;
    let lattice = boxes::tank([cells, 2, high], h);
    let k = PI / length;
    let exact = (G * k * (k * depth).tanh()).sqrt() / (2.0 * PI);
    let height = 0.005 * length * (0.5 * k * h).sin() / (0.5 * k * h);
    let made = Solver::new(&lattice, thin(), &[], slippery()).and_then(|mut solver| {
        solver.fill_where(|p| {
            let top = depth + height * (k * p.x).cos();
            ((top - (p.z - 0.5 * h)) / h).clamp(0.0, 1.0)
        })?;
        Ok(solver)
    });
    let Ok(mut solver) = made else {
        return (f64::NAN, exact);
    };
    let moment = |s: &Solver| -> f64 {
        s.fill()
            .iter()
            .enumerate()
            .map(|(c, f)| f * ((c % cells) as f64 + 0.5 - 0.5 * cells as f64))
            .sum()
    };
    (ring(&mut solver, 4.2 / exact, moment), exact)
}

/// First lateral mode of an upright cylinder, R 0.15 m, depth 0.10 m: (computed, exact) [Hz].
/// `ω² = (g ε/R) tanh(ε d/R)`, ε = 1.84118.
pub fn cylinder_mode(h: f64) -> (f64, f64) {
    let (r, depth, root) = (0.15, 0.10, 1.84118);
    let exact = (G * root / r * (root * depth / r).tanh()).sqrt() / (2.0 * PI);
    let across = (2.0 * r / h).round() as usize;
    let n = [across, across, (1.3 * depth / h).ceil() as usize];
    let lattice = boxes::carved(n, h, DVec3::new(-r, -r, 0.0), 12, |p| p.truncate().length() <= r);
    let made = Solver::new(&lattice, thin(), &[], slippery()).and_then(|mut solver| {
        // A slightly tilted surface, let go, rings mostly the first mode.
        solver.fill_volume(DVec3::new(0.02, 0.0, 1.0), PI * r * r * depth * 0.999)?;
        Ok(solver)
    });
    let Ok(mut solver) = made else {
        return (f64::NAN, exact);
    };
    let middle = 0.5 * across as f64 - 0.5;
    let moment = |s: &Solver| -> f64 {
        let fill = s.fill();
        (0..fill.len())
            .map(|c| fill[c] * lattice.open_volume[c] * ((c % across) as f64 - middle))
            .sum()
    };
    (ring(&mut solver, 3.2 / exact, moment), exact)
}

/// Surface under `pull` g sideways in a tank 0.2 m long with 0.147 m of oil, cells of 10 mm:
/// (angle [deg], largest height error [m]). Settled by artificial damping: oil without it still moves at
/// 0.3 m/s after 3 s.
pub fn tilt(pull: f64) -> (f64, f64) {
    let (h, depth) = (0.01, 0.147);
    let lattice = boxes::tank([20, 2, 30], h);
    let settings = Settings {
        settling: 6.0,
        ..slippery()
    };
    let body = Body::steady(DVec3::new(-pull * G, 0.0, -G));
    let settled = Solver::new(&lattice, thin(), &[], settings).and_then(|mut solver| {
        solver.fill_below(DVec3::Z, depth)?;
        let mut time = 0.0;
        while time < 3.0 {
            time += solver.step(&body, &Supply::NONE, 1.0)?.dt;
        }
        Ok(solver)
    });
    let Ok(solver) = settled else {
        return (f64::NAN, f64::NAN);
    };
    let fill = solver.fill();
    let exact = |x: f64| depth + pull * (0.1 - x);
    // Columns that the surface leaves through floor or lid say nothing about it.
    let columns: Vec<(f64, f64)> = (0..20)
        .map(|i| {
            (
                h * (i as f64 + 0.5),
                h * (0..30).map(|k| fill[lattice.cell_index(i, 0, k)]).sum::<f64>(),
            )
        })
        .filter(|(x, _)| exact(*x) > h * (1.0 + pull) && exact(*x) < 0.3 - h * (1.0 + pull))
        .collect();
    let n = columns.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| columns.iter().map(of).sum::<f64>() / n;
    let (mx, mz) = (mean(|p| p.0), mean(|p| p.1));
    let slope = columns.iter().map(|p| (p.0 - mx) * (p.1 - mz)).sum::<f64>()
        / columns.iter().map(|p| (p.0 - mx).powi(2)).sum::<f64>();
    let worst = columns
        .iter()
        .map(|(x, z)| (z - exact(*x)).abs())
        .fold(0.0, f64::max);
    ((-slope).atan().to_degrees(), worst)
}

/// The quick rows: a few seconds.
pub fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    let mut frequency = |case: String, (computed, exact): (f64, f64), tolerance: f64, note: &str| {
        rows.push(Row {
            case,
            published: exact,
            computed,
            unit: "Hz",
            tolerance,
            scale: Scale::Relative,
            source: THEORY,
            note: note.into(),
        });
    };
    let small = "waves of 0.5 % of the length; 1 % asked, the method aims at 0.15 % at 10 mm";
    for depth in [0.03, 0.05, 0.12] {
        frequency(
            format!("box 0.3 m long, {:.0} mm deep, 10 mm cells", 1e3 * depth),
            first_mode(0.3, depth, 30),
            0.01,
            small,
        );
    }
    for cells in [10, 20, 40] {
        let note = "grid study: the error falls by 4 for each halving";
        let case = format!("box 0.3 m long, 60 mm deep, {cells} cells along");
        frequency(case, first_mode(0.3, 0.06, cells), 0.015, note);
    }
    frequency(
        "upright cylinder, R 150 mm, 100 mm deep, 10 mm cells".into(),
        cylinder_mode(0.01),
        0.02,
        "cut cells",
    );
    for pull in [0.5, 1.0, 1.5] {
        let (angle, worst) = tilt(pull);
        rows.push(Row {
            case: format!("surface angle under {pull} g"),
            published: f64::atan(pull).to_degrees(),
            computed: angle,
            unit: "deg",
            tolerance: 0.2,
            scale: Scale::Absolute,
            source: STATICS,
            note: "10 mm cells; settled with artificial damping".into(),
        });
        rows.push(Row {
            case: format!("surface height under {pull} g, worst column"),
            published: 0.0,
            computed: 1e3 * worst,
            unit: "mm",
            tolerance: 5.0,
            scale: Scale::Absolute,
            source: STATICS,
            note: "half a cell".into(),
        });
    }
    rows
}
