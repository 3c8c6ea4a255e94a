//! The preconditioner of the pressure solve: one V-cycle over 2×2×2 aggregates.
//!
//! The matrix is `diag·x − Σ coef·x_neighbour` with coefficients on low faces. A coarse coefficient is half
//! the sum of the fine ones it replaces (the half undoes the stiffness of piecewise-constant transfer), so
//! plates need no special code: their coefficient is zero on every level. Two red-black sweeps down, two
//! reversed up, which keeps the cycle symmetric for conjugate gradients.
//!
//! Every field is kept as two: red cells, whose padded index is even, and black ones. Rows and layers have odd
//! lengths, so that all neighbours of a cell have the other colour, and they lie at the same distances for all cells
//! of a colour: a sweep reads one and writes the other, in straight lines across row ends.

use crate::level::{Colour, Level};
use crate::team::Team;

/// Sweeps before and after the coarse correction; one instead of two doubles the iterations.
const SWEEPS: usize = 2;
/// Sweeps each way on the coarsest level.
const COARSEST: usize = 10;

/// All levels; level 0 has the layout of the grid.
pub(crate) struct Multigrid {
    pub levels: Vec<Level>,
}

impl Multigrid {
    /// Levels for `n` cells, halved until no direction has more than four cells.
    pub fn new(n: [usize; 3]) -> Multigrid {
        let mut levels = vec![Level::new(n)];
        let mut n = n;
        while n.iter().max().is_some_and(|m| *m > 4) {
            n = n.map(|m| m.div_ceil(2));
            levels.push(Level::new(n));
        }
        Multigrid { levels }
    }

    /// Builds the coarse matrices from level 0, whose coefficients, air and lines are set.
    pub fn coarsen(&mut self, team: &Team) {
        for l in 1..self.levels.len() {
            let (fine, coarse) = self.levels.split_at_mut(l);
            coarse[0].gather(&mut fine[l - 1], team);
        }
    }

    /// One V-cycle for `b` of level 0 into `x` of level 0.
    pub fn cycle(&mut self, team: &Team) {
        let last = self.levels.len() - 1;
        for l in 0..last {
            let (fine, coarse) = self.levels.split_at_mut(l + 1);
            let fine = &mut fine[l];
            fine.first(team);
            fine.sweep(Colour::Black, team);
            for _ in 1..SWEEPS {
                fine.sweep(Colour::Red, team);
                fine.sweep(Colour::Black, team);
            }
            fine.leave_residual(team);
            coarse[0].restrict(fine, team);
        }
        let coarsest = &mut self.levels[last];
        coarsest.first(team);
        coarsest.sweep(Colour::Black, team);
        for _ in 1..COARSEST {
            coarsest.sweep(Colour::Red, team);
            coarsest.sweep(Colour::Black, team);
        }
        for _ in 0..COARSEST {
            coarsest.sweep(Colour::Black, team);
            coarsest.sweep(Colour::Red, team);
        }
        for l in (0..last).rev() {
            let (fine, coarse) = self.levels.split_at_mut(l + 1);
            let (fine, coarse) = (&mut fine[l], &mut coarse[0]);
            coarse.flatten(team);
            fine.correct(coarse, team);
            for _ in 0..SWEEPS {
                fine.sweep(Colour::Black, team);
                fine.sweep(Colour::Red, team);
            }
        }
    }
}
