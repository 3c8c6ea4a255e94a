//! What goes into a step and what comes out of it.

use glam::DVec3;

/// What the body of the oil feels, in the frame of the lattice.
///
/// The acceleration of oil at `x` with velocity `u` relative to the pan is
/// `gravity − spin_rate × r − spin × (spin × r) − 2 spin × u` with `r = x − pivot`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Apparent gravity at `pivot` [m/s²]: gravity minus acceleration.
    pub gravity: DVec3,
    /// Angular rate of the pan [rad/s].
    pub spin: DVec3,
    /// Rate of change of `spin` [rad/s²].
    pub spin_rate: DVec3,
    /// Where `gravity` was measured [m, lattice frame].
    pub pivot: DVec3,
}

impl Body {
    /// Apparent gravity alone, without rotation.
    pub fn steady(gravity: DVec3) -> Body {
        Body {
            gravity,
            spin: DVec3::ZERO,
            spin_rate: DVec3::ZERO,
            pivot: DVec3::ZERO,
        }
    }

    /// Acceleration felt at `point` by oil at rest relative to the pan [m/s²].
    pub fn at(&self, point: DVec3) -> DVec3 {
        let r = point - self.pivot;
        self.gravity - self.spin_rate.cross(r) - self.spin.cross(self.spin.cross(r))
    }

    /// True when the pan turns.
    pub(crate) fn turns(&self) -> bool {
        self.spin != DVec3::ZERO || self.spin_rate != DVec3::ZERO
    }
}

/// What the pump asks and the engine gives back.
#[derive(Clone, Copy, Debug)]
pub struct Supply<'a> {
    /// Pump demand through the mouth [m³/s].
    pub demand: f64,
    /// Oil coming home at each return place [m³/s]; may be shorter than the list of places.
    pub returns: &'a [f64],
}

impl Supply<'_> {
    /// No pump, no return.
    pub const NONE: Supply<'static> = Supply {
        demand: 0.0,
        returns: &[],
    };
}

/// How the solver works. The defaults are the ones that the published checks were passed with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Largest share of a cell that oil crosses in a step. Above 0.45 the overfill grows tenfold.
    pub courant: f64,
    /// Divergence left by the pressure solve, as a share of a cell per step. 1e-2 visibly damps waves.
    pub tolerance: f64,
    /// Iterations before the pressure solve is given up.
    pub max_iterations: u32,
    /// Share of an overfill (or of a void inside the oil) that is pushed out in a step. Without it wisps of
    /// air stay in the oil and the level rises by 0.6 % in 3 s of 2 g reversals.
    pub overfill_push: f64,
    /// Whether walls rub at all.
    pub wall_friction: bool,
    /// Factor c of the turbulent stress of a smooth wall, `ρ c u² (ν / u y)^¼`, with u the speed at the distance y of
    /// half a cell. 0.0225: Blasius' pipe friction brought to a wall (H. Schlichting, Boundary-Layer Theory, ch. 21).
    pub skin_friction: f64,
    /// Artificial damping rate [1/s], to settle oil quickly; 0 for every real run.
    pub settling: f64,
    /// Threads that share the work of a step. The answer is the same to the bit for any number.
    pub threads: usize,
    /// Keeps to the instructions that every machine has. The answer is the same to the bit.
    pub plain: bool,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            courant: 0.4,
            tolerance: 1e-4,
            max_iterations: 300,
            overfill_push: 0.1,
            wall_friction: true,
            skin_friction: 0.0225,
            settling: 0.0,
            threads: 1,
            plain: false,
        }
    }
}

/// What one step did.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Step {
    /// Time advanced [s].
    pub dt: f64,
    /// Oil that went up the pickup [m³].
    pub oil_drawn: f64,
    /// Air that went up the pickup [m³].
    pub air_drawn: f64,
    /// Oil that came home [m³].
    pub returned: f64,
    /// Iterations of the pressure solve.
    pub iterations: u32,
    /// Largest divergence left, as a share of a cell per step.
    pub residual: f64,
    /// Cells that carry pressure.
    pub liquid_cells: usize,
    /// Sub-steps of the oil transport.
    pub sweeps: u32,
    /// Fastest oil on a face [m/s].
    pub fastest: f64,
}
