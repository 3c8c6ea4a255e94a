//! What the passes of the pressure solve do with a line of cells of one colour (see [`crate::multigrid`] for the
//! layout).

use crate::region::Row;
use crate::team::{BLOCK, cut};

/// Cells of one colour in a block.
pub(crate) const HALF: usize = BLOCK / 2;

/// A field of a level, red and black.
pub(crate) type Pair = [Vec<f32>; 2];

/// Colour of a cell and its place within the colour.
#[inline(always)]
pub(crate) fn compact(c: usize) -> (usize, usize) {
    (c & 1, c >> 1)
}

/// The places of colour `c` within the cells `lo..hi`.
#[inline(always)]
pub(crate) fn of_colour(c: usize, (lo, hi): Row) -> (usize, usize) {
    ((lo as usize + 1 - c) >> 1, (hi as usize + 1 - c) >> 1)
}

#[inline(always)]
pub(crate) fn ends_of(line: Row) -> (usize, usize) {
    (line.0 as usize, line.1 as usize)
}

/// Six runs of a field beside the cells of a line: low and high along each axis.
pub(crate) type Six<'a> = [&'a [f32]; 6];

/// How far the neighbours of colour-`c` cells lie back and on among the other colour, for an odd index step.
#[inline(always)]
pub(crate) fn beside(c: usize, step: usize) -> (usize, usize) {
    (step.div_ceil(2) - c, step / 2 + c)
}

/// The coefficients of the six faces of a line's cells of colour `c`.
#[inline(always)]
pub(crate) fn hood<'a>(coef: &'a [Pair; 3], c: usize, line: Row, m: [usize; 3]) -> Six<'a> {
    let (lo, hi) = ends_of(line);
    let [x, y, z] = coef;
    let [east, north, up] = [1, m[0], m[0] * m[1]].map(|step| beside(c, step).1);
    [
        &x[c][lo..hi],
        &x[1 - c][lo + east..hi + east],
        &y[c][lo..hi],
        &y[1 - c][lo + north..hi + north],
        &z[c][lo..hi],
        &z[1 - c][lo + up..hi + up],
    ]
}

/// The six neighbours of a line's cells of colour `c`, all of the other colour.
#[inline(always)]
pub(crate) fn near(other: &[f32], c: usize, line: Row, m: [usize; 3]) -> Six<'_> {
    let (lo, hi) = ends_of(line);
    let [(west, east), (south, north), (down, up)] = [1, m[0], m[0] * m[1]].map(|step| beside(c, step));
    [
        &other[lo - west..hi - west],
        &other[lo + east..hi + east],
        &other[lo - south..hi - south],
        &other[lo + north..hi + north],
        &other[lo - down..hi - down],
        &other[lo + up..hi + up],
    ]
}

// The kernels below write into a buffer of their own, which the compiler sees to overlap nothing that is read, and
// cut all they read to one length, which spares it a check a cell. Without either it gives up on the lanes.

/// Where a kernel puts a line.
pub(crate) type Buffer = [f32; HALF];

/// Sum of coefficient times neighbour for the cells of colour `c` of a line; `other` holds the neighbours.
#[inline(always)]
pub(crate) fn pull(
    out: &mut Buffer,
    plain: u8,
    coef: &[Pair; 3],
    other: &[f32],
    c: usize,
    line: Row,
    m: [usize; 3],
) {
    let near = near(other, c, line, m);
    let n = near[0].len().min(HALF);
    let [xw, xe, ys, yn, zd, zu] = near;
    cut!(n; xw, xe, ys, yn, zd, zu);
    if plain == 1 {
        for i in 0..n {
            out[i] = (xw[i] + xe[i]) + (ys[i] + yn[i]) + (zd[i] + zu[i]);
        }
        return;
    }
    let [xl, xh, yl, yh, zl, zh] = hood(coef, c, line, m);
    cut!(n; xl, xh, yl, yh, zl, zh);
    for i in 0..n {
        out[i] = (xl[i] * xw[i] + xh[i] * xe[i])
            + (yl[i] * ys[i] + yh[i] * yn[i])
            + (zl[i] * zd[i] + zh[i] * zu[i]);
    }
}

/// Whether every coefficient between two unknowns (cells with a diagonal) is 1.
#[inline(always)]
pub(crate) fn all_one(here: &[f32], (coef, diag): (Six, Six)) -> bool {
    let n = here.len().min(HALF);
    let here = &here[..n];
    let mut odd = 0u32;
    for (coef, diag) in coef.into_iter().zip(diag) {
        cut!(n; coef, diag);
        for i in 0..n {
            odd |= u32::from((coef[i] != 1.0) & (diag[i] > 0.0) & (here[i] > 0.0));
        }
    }
    odd == 0
}

/// From the pull of the neighbours to `x = v (b + pull)`.
#[inline(always)]
pub(crate) fn relax(pull: &mut Buffer, v: &[f32], b: &[f32]) {
    let n = v.len().min(HALF);
    cut!(n; v, b);
    for i in 0..n {
        pull[i] = v[i] * (b[i] + pull[i]);
    }
}

/// From the pull of the neighbours to `A x = d x − pull`, zero where there is no unknown.
#[inline(always)]
pub(crate) fn product(pull: &mut Buffer, d: &[f32], x: &[f32]) {
    let n = d.len().min(HALF);
    cut!(n; d, x);
    for i in 0..n {
        pull[i] = if d[i] > 0.0 { d[i] * x[i] - pull[i] } else { 0.0 };
    }
}

/// From `A x` to `b − A x`, where there is an unknown.
#[inline(always)]
pub(crate) fn missing(product: &mut Buffer, b: &[f32], d: &[f32]) {
    let n = b.len().min(HALF);
    cut!(n; b, d);
    for i in 0..n {
        product[i] = if d[i] > 0.0 { b[i] - product[i] } else { 0.0 };
    }
}

/// Lays a line of two colours out in natural order.
#[inline(always)]
pub(crate) fn interleave(even: &[f32], odd: &[f32], flat: &mut [f32]) {
    let n = even.len();
    let flat = &mut flat[..2 * n];
    cut!(n; odd);
    for i in 0..n {
        flat[2 * i] = even[i];
        flat[2 * i + 1] = odd[i];
    }
}

/// Every other of `flat`, beginning with `first`: one colour of a line in natural order.
#[inline(always)]
pub(crate) fn pick_colour(flat: &[f32], to: &mut [f32], first: usize) {
    let n = to.len();
    let flat = &flat[..2 * n];
    for i in 0..n {
        to[i] = flat[2 * i + first];
    }
}

#[inline(always)]
pub(crate) fn add(to: &mut [f32], what: &[f32]) {
    let n = to.len();
    cut!(n; what);
    for i in 0..n {
        to[i] += what[i];
    }
}

/// Adds to what has an inverse diagonal.
#[inline(always)]
pub(crate) fn add_where(to: &mut [f32], what: &[f32], inverse: &[f32]) {
    let n = to.len();
    cut!(n; what, inverse);
    for i in 0..n {
        to[i] += if inverse[i] > 0.0 { what[i] } else { 0.0 };
    }
}

/// Diagonal `d` from coefficients and air, and its inverse `v`.
#[inline(always)]
pub(crate) fn invert(d: &mut Buffer, v: &mut Buffer, air: &[f32], coef: Six) {
    let n = air.len().min(HALF);
    let air = &air[..n];
    let [xl, xh, yl, yh, zl, zh] = coef;
    cut!(n; xl, xh, yl, yh, zl, zh);
    for i in 0..n {
        d[i] = (xl[i] + xh[i]) + (yl[i] + yh[i]) + (zl[i] + zh[i]) + air[i];
    }
    for i in 0..n {
        v[i] = if d[i] > 0.0 { 1.0 / d[i] } else { 0.0 };
    }
}
