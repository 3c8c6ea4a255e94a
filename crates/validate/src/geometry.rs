//! The same pan turned against the grid: walls, waves and cover must not know how the cells lie.

use crate::shapes::{cavity, pocket, tank};
use crate::tanks::ring;
use crate::{Row, Scale};
use glam::{DVec2, DVec3};
use oil::fluid::Fluid;
use pan::{Lattice, Mouth, Outline, Pan, Plate, PlateShape};
use slosh::{Body, Settings, SloshFault, Solver, Supply};
use std::f64::consts::PI;

const G: f64 = 9.81;
const LENGTH: f64 = 0.24;
const WIDTH: f64 = 0.16;
const HEIGHT: f64 = 0.14;
const DEPTH: f64 = 0.05;

/// What this subject is about.
pub const ABOUT: &str = "A rectangular pan turned by 0, 17 and 45 degrees against the grid, the drive turned with it: \
its first mode by linear theory, and the oil over its mouth through a corner and back compared with the pan that \
lies along the grid. Plates across a box at odd angles, shaken: whether a drop gets past.";

fn thin() -> Fluid {
    Fluid {
        density: 850.0,
        viscosity: 1e-5,
    }
}

/// The pan turned by `angle` [rad], walls leaning out by `draft` [rad] from the same floor.
fn turned(angle: f64, draft: f64) -> Pan {
    let turn = DVec2::from_angle(angle);
    let out = 2.0 * HEIGHT * draft.tan();
    let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
        .map(|(x, y)| turn.rotate(DVec2::new(x * (LENGTH + out), y * (WIDTH + out))));
    let mut walls = pocket(Outline::polygon(&corners), 0.0, HEIGHT);
    walls.draft = draft;
    Pan {
        cavity: cavity(&[walls]),
        plates: Vec::new(),
        doors: Vec::new(),
        mouth: Mouth {
            at: turn.rotate(DVec2::new(-0.09, 0.04)).extend(0.01),
            diameter: 0.02,
            outside: 0.023,
        },
        returns: Vec::new(),
        crank: None,
    }
}

fn along(angle: f64) -> DVec3 {
    DVec2::from_angle(angle).extend(0.0)
}

/// First mode of the turned box along its length: (computed, exact) [Hz].
pub fn first_mode(angle: f64, h: f64) -> (f64, f64) {
    let k = PI / LENGTH;
    let exact = (G * k * (k * DEPTH).tanh()).sqrt() / (2.0 * PI);
    let run = || -> Result<f64, SloshFault> {
        let lattice = Lattice::build(&turned(angle, 0.0), h).expect("this pan is sound");
        let settings = Settings {
            wall_friction: false,
            ..Settings::default()
        };
        let mut solver = Solver::new(
            &lattice,
            Fluid {
                viscosity: 1e-6,
                ..thin()
            },
            &[],
            settings,
        )?;
        let way = along(angle);
        solver.fill_volume(DVec3::Z + 0.03 * way, LENGTH * WIDTH * DEPTH)?;
        let places: Vec<f64> = (0..lattice.cells())
            .map(|c| {
                let [i, j, k] = lattice.cell_place(c);
                lattice.open_volume[c] * lattice.centre(i, j, k).dot(way)
            })
            .collect();
        let moment = |s: &Solver| -> f64 { s.fill().iter().zip(&places).map(|(f, m)| f * m).sum() };
        Ok(ring(&mut solver, 4.2 / exact, moment))
    };
    (run().unwrap_or(f64::NAN), exact)
}

/// Oil over the mouth [m], every 20 ms: the pan is pulled to one side and back, `pull` g at most, along its
/// length with a third of it across.
pub fn cover(angle: f64, draft: f64, h: f64, pull: f64) -> Result<Vec<f64>, SloshFault> {
    let lattice = Lattice::build(&turned(angle, draft), h).expect("this pan is sound");
    let mut solver = Solver::new(&lattice, thin(), &[], Settings::default())?;
    solver.fill_below(DVec3::Z, DEPTH)?;
    let across = DVec3::Z.cross(along(angle));
    let gravity = |time: f64| {
        let side = pull * G * (2.0 * PI * time / 0.9).sin();
        side * along(angle) + side / 3.0 * across - G * DVec3::Z
    };
    let (mut time, mut covers) = (0.0, Vec::new());
    for sample in 1..=30 {
        let end = 0.02 * f64::from(sample);
        while time < end - 1e-12 {
            time += solver
                .step(&Body::steady(gravity(time)), &Supply::NONE, end - time)?
                .dt;
        }
        covers.push(solver.cover_over_mouth(gravity(time)));
    }
    Ok(covers)
}

/// Oil that a plate from wall to wall, turned by `angle` against the grid and leaning by `lean` [rad], lets past in
/// 0.4 s of 1.5 g from side to side [share of the fill].
pub fn leak(angle: f64, lean: f64) -> Result<f64, SloshFault> {
    let (h, size) = (0.01, DVec3::new(0.2, 0.16, 0.12));
    let middle = 0.5 * size;
    let (along, up) = (along(angle), DVec3::Z);
    let normal = lean.cos() * up.cross(along) + lean.sin() * up;
    let slope = normal.cross(along);
    let corner = |a: f64, b: f64| middle + 0.4 * (a * along + b * slope);
    let mut pan = tank(size.to_array(), DVec3::new(0.03, 0.03, 0.01));
    pan.plates.push(Plate {
        name: "plate".into(),
        shape: PlateShape::Sheet {
            corners: vec![
                corner(-1.0, -1.0),
                corner(1.0, -1.0),
                corner(1.0, 1.0),
                corner(-1.0, 1.0),
            ],
        },
        thickness: 1e-3,
        openings: Vec::new(),
        perforation: 0.0,
        perforation_hole: 0.0,
    });
    let lattice = Lattice::build(&pan, h).expect("this pan is sound");
    let mut solver = Solver::new(&lattice, thin(), &[], Settings::default())?;
    // Which side a cell is on, the lattice says: a plate at 45 degrees runs through the middles of cells.
    let space = |c: usize| lattice.space_of[c];
    let cell_of = |p: DVec3| {
        let [i, j, k] = ((p - lattice.origin) / h).to_array().map(|v| v as usize);
        lattice.cell_index(i, j, k)
    };
    let near = space(cell_of(middle - 0.06 * normal));
    if near == space(cell_of(middle + 0.06 * normal)) {
        return Ok(f64::NAN);
    }
    solver.fill_where(|p| f64::from(space(cell_of(p)) == near && p.z < 0.07))?;
    let mut time = 0.0;
    while time < 0.4 {
        let side = if time % 0.2 < 0.1 { 1.5 * G } else { -1.5 * G };
        let body = Body::steady(side * up.cross(along) - G * up);
        time += solver.step(&body, &Supply::NONE, 1.0)?.dt;
    }
    let fill = solver.fill();
    let past: f64 = (0..fill.len())
        .filter(|&c| space(c) != near)
        .map(|c| fill[c] * lattice.open_volume[c])
        .sum();
    Ok(past * h.powi(3) / solver.oil_volume())
}

/// Largest difference of the oil over the mouth from the pan that lies along the grid [m]: from what stands over that
/// one's mouth within 10 ms. The oil comes back as a bore, whose front is metres a second fast and centimetres tall.
fn cover_difference(angle: f64, draft: f64, h: f64) -> f64 {
    let (Ok(straight), Ok(turned)) = (cover(0.0, draft, h, 0.4), cover(angle, draft, h, 0.4)) else {
        return f64::NAN;
    };
    let apart = || {
        (0..straight.len()).map(|i| {
            let here = straight[i];
            // Samples are 20 ms apart: half-way to each neighbour.
            let near =
                [i.saturating_sub(1), (i + 1).min(straight.len() - 1)].map(|j| 0.5 * (here + straight[j]));
            let low = here.min(near[0]).min(near[1]);
            let high = here.max(near[0]).max(near[1]);
            (turned[i] - turned[i].clamp(low, high)).abs()
        })
    };
    // A maximum would pass over a number that is none.
    if apart().all(f64::is_finite) {
        apart().fold(0.0, f64::max)
    } else {
        f64::NAN
    }
}

const ANGLES: [f64; 2] = [17.0, 45.0];

/// All rows.
pub fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    for degrees in [0.0, ANGLES[0], ANGLES[1]] {
        rows.push(Row::new(
            format!("box 240 × 160 mm, 50 mm deep, turned {degrees}°, 10 mm cells: first mode"),
            first_mode(f64::to_radians(degrees), 0.01),
            "Hz",
            (0.01, Scale::Relative),
            "linear theory, NASA SP-106 (1966)",
            "cut cells",
        ));
    }
    for (walls, draft) in [("upright walls", 0.0), ("walls leaning 29°", 0.5)] {
        for degrees in ANGLES {
            rows.push(Row::new(
                format!("{walls}, turned {degrees}°: oil over the mouth in 0.6 s of up to 0.4 g"),
                (1e3 * cover_difference(f64::to_radians(degrees), draft, 0.01), 0.0),
                "mm",
                (10.0, Scale::Absolute),
                "the same pan along the grid",
                "largest difference from what it is within 10 ms, a cell allowed; the mouth falls dry and is flooded again by a bore",
            ));
        }
    }
    for (angle, lean) in [(17.0, 0.0), (45.0, 0.0), (17.0, 30.0), (45.0, 45.0)] {
        rows.push(Row::new(
            format!("plate turned {angle}°, leaning {lean}°: oil past it in 0.4 s of 1.5 g to and fro"),
            (
                leak(f64::to_radians(angle), f64::to_radians(lean)).unwrap_or(f64::NAN),
                0.0,
            ),
            "of the fill",
            (0.0, Scale::Absolute),
            "a shut plate",
            "not a drop",
        ));
    }
    rows
}
