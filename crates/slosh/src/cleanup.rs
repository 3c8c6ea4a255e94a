//! Putting right what the sweeps leave: wisps go to a neighbour, overfull cells spill. Every move keeps the
//! volume; the little that finds no neighbour is booked and given back to the surface.

use crate::grid::Grid;

/// Less than this is a wisp: 8 µm of oil in a cell of 8 mm. It joins the neighbour that holds most. With 1e-7
/// every splash left half as many cells again to carry, for no oil (19 to 14 ms a step in a pan thrown about;
/// cover and air changed by less than two grids differ).
pub(crate) const WISP: f64 = 1e-3;
/// It joins only a neighbour with this many times its oil. What has just left a cell is less than what stayed
/// there: it must not be called back, or a fleck would hang where it is and its speed grow without end.
const FULLER: f64 = 10.0;
/// A wisp without such a neighbour stays where it is and falls on, unless it is less than this.
const TRACE: f64 = 1e-9;
/// More than this spills; what lies between it and 1 is left to the overfill push of the pressure solve.
pub(crate) const SPILL: f64 = 1.001;

/// Puts the `wisps` and the cells `over` full in order. Returns the volume lost to the cells, in cells (negative when
/// oil had to be made up).
pub(crate) fn tidy(grid: &Grid, wisps: &[u32], over: &[u32], f: &mut [f64]) -> f64 {
    let mut booked = 0.0;
    for &c in wisps {
        let c = c as usize;
        let fill = f[c];
        // An earlier wisp may have joined it.
        if fill >= WISP {
            continue;
        }
        let amount = fill * grid.volume[c];
        match fullest(grid, f, c) {
            // A debt (from rounding) is paid only by a neighbour that has the oil.
            Some(d) if f[d] > FULLER * fill && f[d] * grid.volume[d] > -amount => {
                f[c] = 0.0;
                f[d] += amount * grid.room[d]
            }
            _ if fill > TRACE => {}
            _ => {
                f[c] = 0.0;
                booked += amount
            }
        }
    }
    // A spill never starts another one in the same step.
    for &c in over {
        spill(grid, f, c as usize);
    }
    booked
}

/// Gives what is booked (in cells, negative for a debt) back to the cells at the surface, each in proportion
/// to what it can take and give, `f (1 - f)` of its volume. Returns what is left over: nothing, unless there
/// is hardly any oil.
///
/// The amounts are some 1e-9 of the oil a step; unpaid they would add up to a level that creeps.
pub(crate) fn settle(grid: &Grid, sharp: &[u32], f: &mut [f64], booked: f64) -> f64 {
    if booked == 0.0 {
        return 0.0;
    }
    let mixed = |fill: f64| fill > WISP && fill < 1.0;
    let mut able = 0.0;
    for &c in sharp {
        let c = c as usize;
        if mixed(f[c]) {
            able += f[c] * (1.0 - f[c]) * grid.volume[c];
        }
    }
    if able <= 0.0 {
        return booked;
    }
    let share = (booked / able).clamp(-0.5, 0.5);
    let mut given = 0.0;
    for &c in sharp {
        let c = c as usize;
        if mixed(f[c]) {
            let before = f[c];
            f[c] += share * before * (1.0 - before);
            given += (f[c] - before) * grid.volume[c];
        }
    }
    booked - given
}

fn fullest(grid: &Grid, f: &[f64], c: usize) -> Option<usize> {
    let mut best = None;
    let mut most = 0.0;
    for_open(grid, c, |d, _| {
        if f[d] > most {
            most = f[d];
            best = Some(d);
        }
    });
    best
}

fn spill(grid: &Grid, f: &mut [f64], c: usize) {
    let excess = (f[c] - 1.0) * grid.volume[c];
    if excess <= 0.0 {
        return;
    }
    let mut room = 0.0;
    for_open(grid, c, |d, area| {
        room += area * (1.0 - f[d]).max(0.0) * grid.volume[d]
    });
    if room <= 0.0 {
        return;
    }
    // Faces with part of their area pass only part of the room, so the sum stays within every cell's room.
    let share = (excess / room).min(1.0);
    let mut given = 0.0;
    let mut gifts = [(0usize, 0.0); 6];
    let mut count = 0;
    for_open(grid, c, |d, area| {
        let gift = share * area * (1.0 - f[d]).max(0.0) * grid.volume[d];
        gifts[count] = (d, gift);
        count += 1;
        given += gift;
    });
    for &(d, gift) in &gifts[..count] {
        if gift > 0.0 {
            f[d] += gift / grid.volume[d];
        }
    }
    f[c] -= given / grid.volume[c];
}

/// Neighbours through clear faces, with the open area: tidying never takes oil through a door or a hole.
#[inline]
fn for_open(grid: &Grid, c: usize, mut visit: impl FnMut(usize, f64)) {
    for a in 0..3 {
        let s = grid.stride[a];
        if grid.clear[a][c] == 1 {
            visit(c - s, f64::from(grid.area[a][c]));
        }
        if grid.clear[a][c + s] == 1 {
            visit(c + s, f64::from(grid.area[a][c + s]));
        }
    }
}
