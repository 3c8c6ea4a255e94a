//! Oil from one chamber to the next: under a wall, over a wall, through a perforated sheet.

use crate::shapes::tank;
use crate::{Row, Scale};
use glam::{DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Lattice, Opening, Plate, PlateShape};
use slosh::{Body, Settings, SloshFault, Solver, Supply, boxes};
use std::f64::consts::PI;

const G: f64 = 9.81;

/// What this subject is about.
pub const ABOUT: &str = "Time in which the head between two chambers falls by a given amount. The orifice \
formula is used with Cd 0.61, the weir with Rehbock's coefficient at heads under its own 30 mm limit: these \
rows prove the solver at its own size, not the formula at the pan's.";

fn thin() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1e-6,
    }
}

/// Oil left of `x` [m³].
fn left_of(solver: &Solver, lattice: &Lattice, x: f64) -> f64 {
    let fill = solver.fill();
    let h3 = lattice.cell.powi(3);
    (0..fill.len())
        .filter(|c| lattice.cell * ((c % lattice.n[0]) as f64 + 0.5) < x)
        .map(|c| fill[c] * lattice.open_volume[c] * h3)
        .sum()
}

/// Time between the moments at which `head` passes `from` and `to` [s].
fn falls(solver: &mut Solver, from: f64, to: f64, head: impl Fn(&Solver) -> f64) -> Result<f64, SloshFault> {
    let body = Body::steady(DVec3::new(0.0, 0.0, -G));
    let (mut time, mut last) = (0.0, head(solver));
    let (mut start, mut end) = (None, None);
    while end.is_none() && time < 20.0 {
        let dt = solver.step(&body, &Supply::NONE, 1.0)?.dt;
        let now = head(solver);
        for (mark, at) in [(from, &mut start), (to, &mut end)] {
            if at.is_none() && now <= mark {
                *at = Some(time + dt * (last - mark) / (last - now));
            }
        }
        (time, last) = (time + dt, now);
    }
    Ok(end.unwrap_or(f64::NAN) - start.unwrap_or(f64::NAN))
}

/// Time for two chambers of `length` to level from head `from` to `to` through a slot of height `gap` per
/// width: `t = L/(Cd a) (√from − √to)/√(2g)`.
fn orifice_time(length: f64, discharge: f64, gap: f64, from: f64, to: f64) -> f64 {
    length / (discharge * gap) * (from.sqrt() - to.sqrt()) / (2.0 * G).sqrt()
}

/// Two chambers of `length`, joined by what `build` makes of the wall between them.
fn levelling(
    h: f64,
    length: f64,
    height: f64,
    levels: [f64; 2],
    from: f64,
    to: f64,
    build: impl Fn(&mut Lattice),
) -> Result<f64, SloshFault> {
    let n = [
        (2.0 * length / h).round() as usize,
        2,
        (height / h).round() as usize,
    ];
    let mut lattice = boxes::tank(n, h);
    build(&mut lattice);
    let mut solver = Solver::new(&lattice, thin(), &[], Settings::default())?;
    solver.fill_where(|p| f64::from(p.z < if p.x < length { levels[0] } else { levels[1] }))?;
    let total = solver.oil_volume();
    let width = 2.0 * h;
    falls(&mut solver, from, to, |s| {
        (2.0 * left_of(s, &lattice, length) - total) / (length * width)
    })
}

/// A gap of 10 mm under a wall, so many cells high: (computed, formula) [s]. Chambers long and deep against
/// the gap: the jet's momentum lowers the level beside the wall by about `2 Cd a/y` of the head, and the
/// oil's inertia carries on; no orifice formula knows either.
pub fn gap(cells: usize) -> (f64, f64) {
    let (gap, length) = (0.01, 0.4);
    let h = gap / cells as f64;
    let time = levelling(h, length, 0.28, [0.25, 0.17], 0.07, 0.03, |lattice| {
        boxes::wall(lattice, 0, |p| (p.x - length).abs() < 0.4 * h && p.z > gap);
    });
    (
        time.unwrap_or(f64::NAN),
        orifice_time(length, 0.61, gap, 0.07, 0.03),
    )
}

/// A perforated sheet of open share `open` across 50 mm: (computed, formula) [s].
pub fn sheet(open: f64) -> (f64, f64) {
    let (h, length) = (0.01, 0.15);
    let time = levelling(h, length, 0.17, [0.15, 0.07], 0.07, 0.02, |lattice| {
        boxes::wall(lattice, 0, |p| (p.x - length).abs() < 0.4 * h && p.z > 0.05);
        boxes::screen(lattice, 0, open, 0.005, |p| {
            (p.x - length).abs() < 0.4 * h && p.z < 0.05
        });
    });
    (
        time.unwrap_or(f64::NAN),
        orifice_time(length, 0.6, open * 0.05, 0.07, 0.02),
    )
}

/// A plate across a box 240 × 72 mm, with round holes: time for the head to fall from 50 to 30 mm: (computed,
/// formula) [s]. The holes lie under both levels.
pub fn holes(at: &[DVec2], diameter: f64, h: f64) -> (f64, f64) {
    let (length, width, height) = (0.12, 0.072, 0.156);
    let mut pan = tank([2.0 * length, width, height], DVec3::new(0.02, 0.036, 0.01));
    pan.plates.push(Plate {
        name: "plate".into(),
        shape: PlateShape::Wall {
            path: vec![DVec2::new(length, 0.0), DVec2::new(length, width)],
            z_low: 0.0,
            z_high: height,
        },
        thickness: 1e-3,
        openings: at.iter().map(|&at| Opening::Hole { at, diameter }).collect(),
        perforation: 0.0,
        perforation_hole: 0.0,
    });
    let (from, to) = (0.05, 0.03);
    let run = || {
        let lattice = Lattice::build(&pan, h).expect("this pan is sound");
        let mut solver = Solver::new(&lattice, thin(), &[], Settings::default())?;
        let level = |x: f64| if x < length { 0.144 } else { 0.084 };
        solver.fill_where(|p| ((level(p.x) - (p.z - 0.5 * h)) / h).clamp(0.0, 1.0))?;
        let total = solver.oil_volume();
        falls(&mut solver, from, to, |s| {
            (2.0 * left_of(s, &lattice, length) - total) / (length * width)
        })
    };
    let area = at.len() as f64 * PI / 4.0 * diameter * diameter;
    let formula = length * width / (0.61 * area) * (from.sqrt() - to.sqrt()) / (2.0 * G).sqrt();
    (run().unwrap_or(f64::NAN), formula)
}

/// Middles of twenty holes in five columns and four rows [m].
pub fn twenty() -> Vec<DVec2> {
    (0..20)
        .map(|i| DVec2::new(0.012 + 0.012 * f64::from(i % 5), 0.014 + 0.012 * f64::from(i / 5)))
        .collect()
}

/// A wall 60 mm high, head above it from 26 to 12 mm: (computed, formula) [s]. Rehbock: `Q = (2/3) C √(2g) b
/// (H + 0.0012)^1.5`, `C = 0.602 + 0.083 H/p`.
pub fn weir(h: f64) -> (f64, f64) {
    let (crest, upstream) = (0.06, 0.3);
    let run = || {
        let n = [(0.5 / h).round() as usize, 2, (0.11 / h).round() as usize];
        let mut lattice = boxes::tank(n, h);
        boxes::wall(&mut lattice, 0, |p| {
            (p.x - upstream).abs() < 0.4 * h && p.z < crest
        });
        let mut solver = Solver::new(&lattice, thin(), &[], Settings::default())?;
        solver.fill_where(|p| f64::from(p.x < upstream && p.z < crest + 0.03))?;
        let area = upstream * 2.0 * h;
        falls(&mut solver, 0.026, 0.012, |s| {
            left_of(s, &lattice, upstream) / area - crest
        })
    };
    let pieces = 2000;
    let dh = (0.026 - 0.012) / f64::from(pieces);
    let formula = (0..pieces)
        .map(|i| {
            let head = 0.012 + dh * (f64::from(i) + 0.5);
            let q =
                2.0 / 3.0 * (0.602 + 0.083 * head / crest) * (2.0 * G).sqrt() * (head + 0.0012_f64).powf(1.5);
            dh * upstream / q
        })
        .sum();
    (run().unwrap_or(f64::NAN), formula)
}

/// Rows of the quick cases.
pub fn quick() -> Vec<Row> {
    let mut rows = Vec::new();
    let mut add = |case: String, (computed, published): (f64, f64), tolerance: f64, source, note: &str| {
        rows.push(Row {
            case,
            published,
            computed,
            unit: "s",
            tolerance,
            scale: Scale::Relative,
            source,
            note: note.into(),
        });
    };
    let orifice = "orifice formula, sharp edge, Cd 0.61";
    for cells in [1, 2] {
        let case = format!("gap of 10 mm under a wall, {cells} cells");
        add(
            case,
            gap(cells),
            0.10,
            orifice,
            "head 70 to 30 mm, chambers 400 mm long",
        );
    }
    let middle = DVec2::new(0.042, 0.042);
    add(
        "hole of 12 mm in the middle of a 12 mm face".into(),
        holes(&[middle], 0.012, 0.012),
        0.10,
        orifice,
        "head 50 to 30 mm, drowned",
    );
    let corner = DVec2::new(0.036, 0.036);
    add(
        "hole of 12 mm astride four 12 mm faces".into(),
        holes(&[corner], 0.012, 0.012),
        0.10,
        orifice,
        "head 50 to 30 mm, drowned",
    );
    add(
        "plate with 20 holes of 4 mm, 12 mm cells".into(),
        holes(&twenty(), 0.004, 0.012),
        0.10,
        orifice,
        "head 50 to 30 mm, drowned",
    );
    let loss = "orifice formula on the open area, Cd 0.6";
    add(
        "perforated sheet, 1/8 open".into(),
        sheet(0.125),
        0.10,
        loss,
        "head 70 to 20 mm",
    );
    let over = "over a wall 60 mm high, 5 mm cells";
    add(
        over.into(),
        weir(0.005),
        0.20,
        "Rehbock (1929), as in ISO 1438",
        "head 26 to 12 mm: 5 to 2 cells",
    );
    rows
}

/// All rows: the quick ones and the finer grids.
pub fn rows() -> Vec<Row> {
    let mut rows = quick();
    for (case, h, at, diameter) in [
        (
            "hole of 12 mm, 2 cells across",
            0.006,
            vec![DVec2::new(0.036, 0.03)],
            0.012,
        ),
        (
            "hole of 12 mm, 3 cells across",
            0.004,
            vec![DVec2::new(0.036, 0.03)],
            0.012,
        ),
        ("plate with 20 holes of 4 mm, 6 mm cells", 0.006, twenty(), 0.004),
    ] {
        rows.push(Row::new(
            case,
            holes(&at, diameter, h),
            "s",
            (0.10, Scale::Relative),
            "orifice formula, sharp edge, Cd 0.61",
            "head 50 to 30 mm, drowned; grid study",
        ));
    }
    let (computed, published) = gap(4);
    rows.push(Row {
        case: "gap of 10 mm under a wall, 4 cells".into(),
        published,
        computed,
        unit: "s",
        tolerance: 0.10,
        scale: Scale::Relative,
        source: "orifice formula, sharp edge, Cd 0.61",
        note: "grid study".into(),
    });
    let (computed, published) = weir(0.0025);
    rows.push(Row {
        case: "over a wall 60 mm high, 2.5 mm cells".into(),
        published,
        computed,
        unit: "s",
        tolerance: 0.20,
        scale: Scale::Relative,
        source: "Rehbock (1929), as in ISO 1438",
        note: "grid study".into(),
    });
    rows
}
