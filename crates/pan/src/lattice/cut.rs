//! Cells and faces cut by the cavity: exact volumes and areas, plates not yet in.

use super::Lattice;
use crate::cavity::BOTH_SIDES;
use crate::polygon::{Region, intersect_stretches};
use crate::stack::Stack;
use glam::{DVec2, DVec3};

/// Area of `region` in each square of a grid: `out[i + nx*j]` [m²], squares of edge `h` from `origin`.
///
/// Green's theorem: the area right of x_i and left of x_i + h is ∮ clamp(x − x_i, 0, h) dy, summed here edge
/// by edge, each edge cut where it crosses grid lines.
pub(crate) fn coverage(region: &Region, origin: DVec2, h: f64, nx: usize, ny: usize) -> Vec<f64> {
    let mut out = vec![0.0; nx * ny];
    // Full squares left of a piece of edge, added from right to left at the end.
    let mut whole = vec![0.0; (nx + 1) * ny];
    for (a, b) in region.edges() {
        let (a, b) = ((a - origin) / h, (b - origin) / h);
        if a.y == b.y {
            continue;
        }
        let (low, high, sign) = if a.y < b.y { (a, b, 1.0) } else { (b, a, -1.0) };
        let slope = (high.x - low.x) / (high.y - low.y);
        let first = low.y.max(0.0).floor() as usize;
        let last = high.y.min(ny as f64).ceil() as usize;
        for j in first..last.min(ny) {
            let y0 = low.y.max(j as f64);
            let y1 = high.y.min((j + 1) as f64);
            if y1 <= y0 {
                continue;
            }
            let x_at = |y: f64| {
                if y == high.y {
                    high.x
                } else {
                    low.x + (y - low.y) * slope
                }
            };
            row_piece(x_at(y0), x_at(y1), sign * (y1 - y0), j, nx, &mut out, &mut whole);
        }
    }
    for j in 0..ny {
        let mut sum = 0.0;
        for i in (0..nx).rev() {
            sum += whole[(i + 1) + (nx + 1) * j];
            let area = &mut out[i + nx * j];
            *area = ((*area + sum) * h * h).clamp(0.0, h * h);
        }
    }
    out
}

/// A piece of edge within row j from x0 to x1 (grid units), climbing dy in all.
fn row_piece(x0: f64, x1: f64, dy: f64, j: usize, nx: usize, out: &mut [f64], whole: &mut [f64]) {
    let end = nx as f64;
    let (low, high) = if x0 < x1 { (x0, x1) } else { (x1, x0) };
    let mut add = |xa: f64, xb: f64, dy: f64| {
        let middle = 0.5 * (xa + xb);
        if middle <= 0.0 {
            return;
        }
        if middle >= end {
            whole[nx + (nx + 1) * j] += dy;
            return;
        }
        let i = (middle as usize).min(nx - 1);
        out[i + nx * j] += (middle - i as f64) * dy;
        whole[i + (nx + 1) * j] += dy;
    };
    if high - low < 1e-14 {
        add(low, high, dy);
        return;
    }
    let mut from = low;
    while from < high {
        let to = (from.floor() + 1.0).min(high);
        add(from, to, dy * (to - from) / (high - low));
        from = to;
    }
}

/// Adds `length` of each stretch (from, to) to the squares of edge h it covers, starting at `origin`.
fn spread(stretches: &[(f64, f64)], origin: f64, h: f64, n: usize, mut add: impl FnMut(usize, f64)) {
    for &(from, to) in stretches {
        let (from, to) = (((from - origin) / h).max(0.0), ((to - origin) / h).min(n as f64));
        let mut j = from as usize;
        while (j as f64) < to {
            let share = to.min((j + 1) as f64) - from.max(j as f64);
            if share > 0.0 && j < n {
                add(j, share * h);
            }
            j += 1;
        }
    }
}

/// Fills `open_volume` and `open_area` from the cavity's layers.
pub(super) fn cut(lattice: &mut Lattice, stack: &Stack) {
    let [nx, ny, nz] = lattice.n;
    let (h, o) = (lattice.cell, lattice.origin);
    let plan = DVec2::new(o.x, o.y);
    let (face, full) = (h * h, h * h * h);
    let covered = |r: &Region| coverage(r, plan, h, nx, ny);
    let mut z_done = vec![false; nz + 1];
    for layer in stack.layers() {
        let cover = covered(&layer.region);
        // Lengths of the section lines, laid out as faces of one level.
        let mut along_y = vec![0.0; (nx + 1) * ny];
        for i in 1..nx {
            let x = o.x + h * i as f64;
            let at = |x: f64| layer.region.chords(DVec2::new(x, o.y), DVec2::Y);
            let both = intersect_stretches(&at(x - BOTH_SIDES), &at(x + BOTH_SIDES));
            spread(&both, 0.0, h, ny, |j, length| along_y[i + (nx + 1) * j] += length);
        }
        let mut along_x = vec![0.0; nx * (ny + 1)];
        for j in 1..ny {
            let y = o.y + h * j as f64;
            let at = |y: f64| layer.region.chords(DVec2::new(o.x, y), DVec2::X);
            let both = intersect_stretches(&at(y - BOTH_SIDES), &at(y + BOTH_SIDES));
            spread(&both, 0.0, h, nx, |i, length| along_x[i + nx * j] += length);
        }
        spread(&[(layer.z_low, layer.z_high)], o.z, h, nz, |k, tall| {
            for (c, area) in cover.iter().enumerate() {
                lattice.open_volume[c + nx * ny * k] += area * tall / full;
            }
            for (f, length) in along_y.iter().enumerate() {
                lattice.open_area[0][f + (nx + 1) * ny * k] += length * tall / face;
            }
            for (f, length) in along_x.iter().enumerate() {
                lattice.open_area[1][f + nx * (ny + 1) * k] += length * tall / face;
            }
        });
        for k in 1..nz {
            let z = o.z + h * k as f64;
            if layer.z_low < z - BOTH_SIDES && z + BOTH_SIDES < layer.z_high {
                z_done[k] = true;
                for (c, area) in cover.iter().enumerate() {
                    lattice.open_area[2][c + nx * ny * k] = area / face;
                }
            }
        }
    }
    let at = |z: f64| stack.layers().iter().find(|l| l.z_low <= z && z < l.z_high);
    for k in 1..nz {
        let z = o.z + h * k as f64;
        if z_done[k] {
            continue;
        }
        if let (Some(below), Some(above)) = (at(z - BOTH_SIDES), at(z + BOTH_SIDES)) {
            let cover = covered(&below.region.intersection(&above.region));
            for (c, area) in cover.iter().enumerate() {
                lattice.open_area[2][c + nx * ny * k] = area / face;
            }
        }
    }
    for v in &mut lattice.open_volume {
        *v = v.clamp(0.0, 1.0);
    }
    for axis in 0..3 {
        for index in 0..lattice.open_area[axis].len() {
            // A cell with nothing open has no open face, whatever rounding says.
            let open = lattice.cells_of_face(axis, index).is_some_and(|(a, b)| {
                lattice.open_volume[a] > LEAST_VOLUME && lattice.open_volume[b] > LEAST_VOLUME
            });
            let area = &mut lattice.open_area[axis][index];
            *area = if open { area.clamp(0.0, 1.0) } else { 0.0 };
            if *area < LEAST_AREA {
                *area = 0.0;
            }
        }
    }
}

/// A cell whose open share is less than this counts as solid: rounding, not shape.
pub(super) const LEAST_VOLUME: f64 = 1e-6;
/// The same for faces: the strip that `BOTH_SIDES` may leave.
const LEAST_AREA: f64 = 1e-4;

/// Counts along x, y, z and low corner of the grid for a cavity: symmetric about the middle of its bounds in
/// x and y, a face plane at its lowest floor.
pub(super) fn grid(bounds: (DVec3, DVec3), cell: f64) -> ([usize; 3], DVec3) {
    let (low, high) = bounds;
    let size = high - low;
    let count = |s: f64| ((s / cell - 1e-6).ceil() as usize).max(1);
    // In plan an even count puts a face plane, not cell centres, under a wall on the middle line; sides that
    // are a whole number of cells keep their number.
    let even = |s: f64| {
        let n = count(s);
        let whole = (s / cell - n as f64).abs() < 1e-6;
        if whole { n } else { n + n % 2 }
    };
    let n = [even(size.x), even(size.y), count(size.z)];
    let middle = 0.5 * (low + high);
    let origin = DVec3::new(
        middle.x - 0.5 * cell * n[0] as f64,
        middle.y - 0.5 * cell * n[1] as f64,
        low.z,
    );
    (n, origin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Outline;

    #[test]
    fn grid_squares_share_out_a_region_exactly() {
        let ring = Outline::circle(DVec2::new(0.01, 0.02), 0.07)
            .region(0.0, 1e-5)
            .difference(
                &Outline::rectangle(DVec2::new(-0.02, -0.01), DVec2::new(0.03, 0.035)).region(0.0, 1e-5),
            );
        let cover = coverage(&ring, DVec2::new(-0.1, -0.1), 0.013, 16, 16);
        assert!((cover.iter().sum::<f64>() - ring.area()).abs() < 1e-15);
        for j in 0..16 {
            for i in 0..16 {
                let low = DVec2::new(-0.1 + 0.013 * i as f64, -0.1 + 0.013 * j as f64);
                let exact = ring.intersection(&Region::rectangle(low, low + 0.013)).area();
                assert!(
                    (cover[i + 16 * j] - exact).abs() < 1e-9,
                    "{i} {j}: {} {exact}",
                    cover[i + 16 * j]
                );
            }
        }
    }

    #[test]
    fn what_lies_outside_the_grid_is_left_out() {
        let wide = Region::rectangle(DVec2::new(-1.0, -1.0), DVec2::new(1.0, 0.05));
        let cover = coverage(&wide, DVec2::ZERO, 0.02, 4, 4);
        let want = [1.0, 1.0, 0.5, 0.0];
        for (i, c) in cover.iter().enumerate() {
            assert!((c / 4e-4 - want[i / 4]).abs() < 1e-12, "{i}: {c}");
        }
    }
}
