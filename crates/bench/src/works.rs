//! The works that are timed: boxes of oil under a prescribed apparent gravity, each wholly described here so that
//! a peer's script can do the same.

use glam::DVec3;
use oil::fluid::Fluid;
use pan::Lattice;
use slosh::{Body, Settings, SloshFault, Solver};

/// Warm engine oil: 12 mm²/s, 850 kg/m³.
pub const OIL: Fluid = Fluid {
    density: 850.0,
    viscosity: 1.2e-5,
};

/// Oil in the box [m³]: half full at 150 mm of height.
pub const FILL: f64 = 4.5e-3;

/// One g [m/s²].
const G: f64 = 9.81;

/// A box of oil to drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoxWork {
    /// Box [m].
    pub size: [f64; 3],
    /// Cell [m].
    pub cell: f64,
    /// How it is shaken.
    pub shaking: Shaking,
}

/// Apparent gravity against time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shaking {
    /// 1 g along x for 1 s, then along y.
    XThenY,
    /// 2 g along x, reversed every half second.
    Reversals,
}

impl Shaking {
    /// Apparent gravity at `time` [m/s²].
    pub fn gravity(self, time: f64) -> DVec3 {
        match self {
            Shaking::XThenY if time < 1.0 => DVec3::new(G, 0.0, -G),
            Shaking::XThenY => DVec3::new(0.0, G, -G),
            Shaking::Reversals => {
                let sense = if (time * 2.0).floor() as i64 % 2 == 0 {
                    1.0
                } else {
                    -1.0
                };
                DVec3::new(2.0 * G * sense, 0.0, -G)
            }
        }
    }

    /// The next instant after `time` at which it jumps [s].
    pub fn next_jump(self, time: f64) -> f64 {
        match self {
            Shaking::XThenY if time < 1.0 => 1.0,
            Shaking::XThenY => f64::INFINITY,
            Shaking::Reversals => ((time * 2.0).floor() + 1.0) / 2.0,
        }
    }
}

impl BoxWork {
    /// The reference work W1: a box of 300 x 200 x 150 mm, 4.5 L, 5 mm cells.
    pub fn reference() -> BoxWork {
        BoxWork {
            size: [0.3, 0.2, 0.15],
            cell: 0.005,
            shaking: Shaking::XThenY,
        }
    }

    /// The same oil in a box twice as tall.
    pub fn tall(self) -> BoxWork {
        let [x, y, z] = self.size;
        BoxWork {
            size: [x, y, 2.0 * z],
            ..self
        }
    }

    /// The same box in other cells.
    pub fn with_cell(self, cell: f64) -> BoxWork {
        BoxWork { cell, ..self }
    }

    /// Cells along each side.
    pub fn cells(&self) -> [usize; 3] {
        self.size.map(|s| (s / self.cell).round() as usize)
    }

    /// The box as a lattice; `Reversals` puts two walls in it, as a baffled pan has.
    fn lattice(&self) -> Lattice {
        let mut lattice = slosh::boxes::tank(self.cells(), self.cell);
        if self.shaking == Shaking::Reversals {
            let cell = self.cell;
            let [length, width, _] = self.size;
            for share in [1.0 / 3.0, 2.0 / 3.0] {
                let at = (length * share / cell).round() * cell;
                // Open below (15 mm) and above half the height of the oil's rise.
                slosh::boxes::wall(&mut lattice, 0, |p| {
                    (p.x - at).abs() < 0.1 * cell && p.z > 0.015 && p.z < 0.1
                });
            }
            let at = (0.5 * width / cell).round() * cell;
            slosh::boxes::wall(&mut lattice, 1, |p| {
                (p.y - at).abs() < 0.1 * cell && p.z > 0.015 && p.z < 0.1
            });
        }
        lattice
    }

    /// A solver with the oil at rest in the box, for so many threads.
    pub fn solver(&self, threads: usize) -> Result<Solver, SloshFault> {
        let settings = Settings {
            threads,
            ..Settings::default()
        };
        let mut solver = Solver::new(&self.lattice(), OIL, &[], settings)?;
        solver.fill_volume(DVec3::Z, FILL)?;
        Ok(solver)
    }

    /// What the oil feels at `time`, and the longest step that does not step over a jump [s].
    pub fn body(&self, time: f64, end: f64) -> (Body, f64) {
        let until = self.shaking.next_jump(time).min(end);
        (Body::steady(self.shaking.gravity(time)), until - time)
    }
}
