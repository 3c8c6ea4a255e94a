//! The phases of a step, for whoever wants to time them: the solver itself knows no clock.

/// A phase of [`crate::Solver::step_watched`], named when it ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// Doors swing and their faces follow.
    Doors,
    /// Velocities without the new pressure: advection, body force, viscosity, friction, losses.
    Momentum,
    /// Matrix and right side of the pressure.
    PressureSetUp,
    /// The iterations and the projection.
    PressureSolve,
    /// Velocities carried on beyond the oil.
    Extension,
    /// Oil carried by planes, mouth and returns.
    Transport,
    /// Specks and overfills.
    CleanUp,
    /// Region, liquid cells and surface for the next step.
    Surface,
    /// The search for numbers that are none, and the choice of the step.
    Guard,
}

impl Phase {
    /// All, in the order of a step.
    pub const ALL: [Phase; 9] = [
        Phase::Doors,
        Phase::Momentum,
        Phase::PressureSetUp,
        Phase::PressureSolve,
        Phase::Extension,
        Phase::Transport,
        Phase::CleanUp,
        Phase::Surface,
        Phase::Guard,
    ];

    /// Plain name.
    pub fn name(self) -> &'static str {
        match self {
            Phase::Doors => "doors",
            Phase::Momentum => "momentum",
            Phase::PressureSetUp => "pressure, set-up",
            Phase::PressureSolve => "pressure, solve",
            Phase::Extension => "extension",
            Phase::Transport => "transport",
            Phase::CleanUp => "clean-up",
            Phase::Surface => "surface",
            Phase::Guard => "guard, step size",
        }
    }
}
