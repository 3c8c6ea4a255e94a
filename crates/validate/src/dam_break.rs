//! Columns of water let go on a dry floor.

use crate::{Row, Scale};
use glam::DVec3;
use oil::fluid::Fluid;
use proofs::free_surface::{DAM_SENSORS, FRONT_LOBOVSKY, FRONT_TWO_TO_ONE, HEIGHT_TWO_TO_ONE};
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "Front, column height and wall pressure after a column of water is let go. Times of the front are compared after one constant shift that makes an \
early point agree, as is usual: membrane and gate take time to go. The shift is given in the notes. The 2:1 \
column is computed as a slice with walls that do not rub, the long column in its full thickness with wall \
friction (in a slice without it the front runs 3 % further ahead).";

/// A front and a height against time.
struct Break {
    /// (time [s], front from the back wall [m], depth at the back wall [m], pressures [Pa]).
    history: Vec<(f64, f64, f64, Vec<f64>)>,
}

/// Lets a column of `length` × `height` go in a channel of `channel` × `lid`, cells of `h` [m]. With a
/// `thickness` the walls rub; without, it is a slice two cells thick between slippery walls.
fn let_go(
    h: f64,
    [length, height]: [f64; 2],
    [channel, lid]: [f64; 2],
    thickness: Option<f64>,
    until: f64,
    probes: &[f64],
) -> Result<Break, SloshFault> {
    let across = thickness.map_or(2, |t| (t / h).round() as usize);
    let n = [(channel / h).round() as usize, across, (lid / h).round() as usize];
    let middle = across / 2;
    let lattice = boxes::tank(n, h);
    let water = Fluid {
        density: 997.0,
        viscosity: 8.9e-7,
    };
    let settings = Settings {
        wall_friction: thickness.is_some(),
        ..Settings::default()
    };
    let mut solver = Solver::new(&lattice, water, &[], settings)?;
    let share = |low: f64, end: f64| ((end - low) / h).clamp(0.0, 1.0);
    solver.fill_where(|p| share(p.x - 0.5 * h, length) * share(p.z - 0.5 * h, height))?;
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let (mut time, mut history) = (0.0, Vec::new());
    while time < until {
        let fill = solver.fill();
        let depth = h
            * (0..n[2])
                .map(|k| fill[lattice.cell_index(0, middle, k)])
                .sum::<f64>();
        let end = h * n[0] as f64;
        let pressures = probes
            .iter()
            .map(|z| solver.pressure_at(DVec3::new(end - 1e-6, h * (middle as f64 + 0.5), *z)))
            .collect();
        history.push((time, front(&fill, &lattice, h), depth, pressures));
        time += solver.step(&body, &Supply::NONE, 2e-3)?.dt;
    }
    Ok(Break { history })
}

/// Foremost place where the floor is wet by half a cell, read between cells [m].
fn front(fill: &[f64], lattice: &pan::Lattice, h: f64) -> f64 {
    let bottom: Vec<f64> = (0..lattice.n[0])
        .map(|i| fill[lattice.cell_index(i, lattice.n[1] / 2, 0)])
        .collect();
    let Some(last) = bottom.iter().rposition(|f| *f > 0.5) else {
        return 0.0;
    };
    let next = bottom.get(last + 1).copied().unwrap_or(0.0);
    // The centre of `last` is in; the half-fill line lies toward `next`.
    h * (last as f64 + 0.5 + (bottom[last] - 0.5) / (bottom[last] - next).max(1e-9)).min(lattice.n[0] as f64)
}

impl Break {
    /// Time at which `value` first passes `mark` [s].
    fn when(&self, mark: f64, value: impl Fn(&(f64, f64, f64, Vec<f64>)) -> f64) -> f64 {
        self.history
            .windows(2)
            .find(|w| (value(&w[0]) - mark) * (value(&w[1]) - mark) <= 0.0 && value(&w[0]) != value(&w[1]))
            .map_or(f64::NAN, |w| {
                let (a, b) = (value(&w[0]), value(&w[1]));
                w[0].0 + (w[1].0 - w[0].0) * (mark - a) / (b - a)
            })
    }

    /// Value at `time`, between steps.
    fn at(&self, time: f64, value: impl Fn(&(f64, f64, f64, Vec<f64>)) -> f64) -> f64 {
        self.history
            .windows(2)
            .find(|w| w[0].0 <= time && time <= w[1].0)
            .map_or(f64::NAN, |w| {
                let share = (time - w[0].0) / (w[1].0 - w[0].0).max(1e-12);
                value(&w[0]) * (1.0 - share) + value(&w[1]) * share
            })
    }
}

/// Two cell sizes of each case.
pub fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    for cells in [16, 32] {
        rows.extend(two_to_one(cells));
    }
    for h in [0.010, 0.0075] {
        rows.extend(long_tank(h));
    }
    rows
}

/// Martin and Moyce (1952): column 57.15 mm wide, twice as high.
pub fn two_to_one(cells: usize) -> Vec<Row> {
    const SOURCE: &str = "Martin and Moyce 1952";
    let a = 0.05715;
    let h = a / cells as f64;
    let Ok(run) = let_go(h, [a, 2.0 * a], [8.0 * a, 2.2 * a], None, 0.35, &[]) else {
        return vec![broken("column 2:1", SOURCE)];
    };
    let scale = (a / (2.0 * G)).sqrt();
    // The second reading, Z = 1.474, fixes the clock.
    let (t0, z0) = FRONT_TWO_TO_ONE[1];
    let shift = t0 * scale - run.when(z0 * a, |p| p.1);
    let mut rows: Vec<Row> = FRONT_TWO_TO_ONE[2..]
        .iter()
        .filter(|(_, z)| *z < 5.5)
        .map(|&(t, z)| Row {
            case: format!("column 2:1, front Z at T = {t:.2}, {cells} cells across"),
            published: z,
            computed: run.at(t * scale - shift, |p| p.1) / a,
            unit: "",
            tolerance: 0.05,
            scale: Scale::Relative,
            source: SOURCE,
            note: format!(
                "clock shifted by {:+.3} in T; grid-converged; good codes stay within 5 % to Z = 4; cause of what is off beyond it not found",
                shift / scale
            ),
        })
        .collect();
    for &(tau, height) in HEIGHT_TWO_TO_ONE
        .iter()
        .filter(|(t, _)| [1.28, 2.0, 2.7, 3.44].contains(t))
    {
        rows.push(Row {
            case: format!("column 2:1, height H at τ = {tau:.2}, {cells} cells across"),
            published: height,
            computed: run.at(tau * (a / G).sqrt(), |p| p.2) / (2.0 * a),
            unit: "",
            tolerance: 0.03,
            scale: Scale::Absolute,
            source: SOURCE,
            note: "no shift".into(),
        });
    }
    rows
}

/// Lobovsky et al. (2014): 600 mm long, 300 mm deep, in a tank of 1610 mm.
pub fn long_tank(h: f64) -> Vec<Row> {
    const SOURCE: &str = "Lobovsky et al. 2014";
    let (depth, length) = (0.3, 0.6);
    let probes: Vec<f64> = DAM_SENSORS.iter().map(|s| s.height).collect();
    let Ok(run) = let_go(h, [length, depth], [1.61, 0.6], Some(0.15), 1.25, &probes) else {
        return vec![broken("long column", SOURCE)];
    };
    let scale = (depth / G).sqrt();
    let gone = |p: &(f64, f64, f64, Vec<f64>)| (p.1 - length) / depth;
    let (t0, x0) = FRONT_LOBOVSKY
        .iter()
        .copied()
        .find(|(_, x)| *x > 0.5)
        .unwrap_or((f64::NAN, f64::NAN));
    let shift = t0 * scale - run.when(x0, gone);
    let mm = 1e3 * h;
    let mut rows = Vec::new();
    let readings: Vec<(f64, f64)> = [1.0, 1.5, 2.0, 2.5]
        .iter()
        .filter_map(|mark| FRONT_LOBOVSKY.iter().copied().find(|(_, x)| x > mark))
        .collect();
    let computed = |t: f64| run.at(t * scale - shift, gone);
    for &(t, x) in &readings {
        rows.push(Row {
            case: format!("long column, front x* at t* = {t:.2}, {mm:.1} mm cells"),
            published: x,
            computed: computed(t),
            unit: "",
            tolerance: 0.05,
            scale: Scale::Relative,
            source: SOURCE,
            note: format!(
                "clock shifted by {:+.3} in t*; no gate is computed; ahead on both grids, cause not found",
                shift / scale
            ),
        });
    }
    if let (Some(&(t0, x0)), Some(&(t1, x1))) = (readings.first(), readings.last()) {
        rows.push(Row {
            case: format!(
                "long column, front speed over √(gH) from t* = {t0:.2} to {t1:.2}, {mm:.1} mm cells"
            ),
            published: (x1 - x0) / (t1 - t0),
            computed: (computed(t1) - computed(t0)) / (t1 - t0),
            unit: "",
            tolerance: 0.05,
            scale: Scale::Relative,
            source: SOURCE,
            note: "no clock in it; cause of a difference not found".into(),
        });
    }
    let unit = 997.0 * G * depth;
    for (i, sensor) in DAM_SENSORS.iter().enumerate() {
        let name = format!("end wall, {:.0} mm up", 1e3 * sensor.height);
        rows.push(Row {
            case: format!("{name}: arrival t*, {mm:.1} mm cells"),
            published: sensor.arrival,
            computed: (run.when(0.1, |p| p.3[i] / unit) + shift) / scale,
            unit: "",
            tolerance: 0.15,
            scale: Scale::Absolute,
            source: SOURCE,
            note: format!(
                "clock shifted by {:+.3}; front and pressure records differ by up to 0.15",
                shift / scale
            ),
        });
        if i > 0 && i < 3 {
            rows.push(Row {
                case: format!(
                    "{name}: pressure p* at t* = {:.2}, {mm:.1} mm cells",
                    sensor.peak_at
                ),
                published: sensor.peak,
                computed: run.at(sensor.peak_at * scale - shift, |p| p.3[i] / unit),
                unit: "",
                tolerance: sensor.peak_high - sensor.peak + 0.2,
                scale: Scale::Absolute,
                source: SOURCE,
                note: "median of 100 runs; band of the runs plus 0.2 for the rise time".into(),
            });
        }
    }
    rows
}

/// A row that says a run stopped.
fn broken(case: &str, source: &'static str) -> Row {
    Row {
        case: case.into(),
        published: f64::NAN,
        computed: f64::NAN,
        unit: "",
        tolerance: 0.0,
        scale: Scale::Absolute,
        source,
        note: "the run stopped with a fault".into(),
    }
}
