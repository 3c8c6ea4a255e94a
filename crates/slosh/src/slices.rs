//! What leaves many cells with a surface at once: the numbers of [`crate::plane`] without a branch, for the lanes.
//!
//! For a folded plane (`m1 ≤ m2 ≤ m3`, sum 1) and `x ≤ ½`, the volume below is
//! `V = [x³ − (x−m1)₊³ − (x−m2)₊³ − (x−m3)₊³ + (x−m1−m2)₊³] / (6 m1 m2 m3)`
//! (R. Scardovelli, S. Zaleski, J. Comput. Phys. 164 (2000) 228-237). It is convex there, so Newton's iteration for the
//! inverse comes down on the root from any point above it.

/// Cells that are worked on at a time.
const BATCH: usize = 64;

/// Components are taken as at least this: the formula divides by them.
const THIN: f64 = 3e-5;
/// Newton steps of the inverse; the starts are close (see the test).
const TURNS: usize = 5;

/// A number of each cell of a batch.
type Each = [f64; BATCH];

/// Slices through uncut cells with a surface, to be worked out together.
pub(crate) struct Batch {
    planes: Planes,
    fill: Each,
    swept: Each,
    /// Open volume of the cell.
    held: Each,
    /// Thickness of the slice: in a cell that is not all open the same volume is a thicker one.
    width: Each,
    high: Each,
    /// Whose they are: number in the list, and side.
    whose: [(u32, u8); BATCH],
    count: usize,
}

impl Batch {
    pub fn new() -> Batch {
        Batch {
            planes: Planes::new(),
            fill: [0.5; BATCH],
            swept: [0.1; BATCH],
            held: [1.0; BATCH],
            width: [0.1; BATCH],
            high: [0.0; BATCH],
            whose: [(0, 0); BATCH],
            count: 0,
        }
    }

    pub fn is_full(&self) -> bool {
        self.count == BATCH
    }

    #[inline(always)]
    pub fn take(&mut self, at: usize, side: usize, swept: f64, held: f64, fill: f64, normal: [f64; 3]) {
        let i = self.count;
        for a in 0..3 {
            self.planes.m[a][i] = normal[a];
        }
        (self.fill[i], self.swept[i], self.held[i]) = (fill, swept, held);
        (self.width[i], self.high[i]) = ((swept / held).clamp(1e-12, 1.0), side as f64);
        self.whose[i] = (at as u32, side as u8);
        self.count += 1;
    }

    /// Writes what leaves the cells, and is empty again.
    #[inline(always)]
    pub fn give(&mut self, axis: usize, outs: &mut [[f64; 2]]) {
        let mut share = [0.0; BATCH];
        self.planes.hold(&self.fill);
        self.planes.filled(axis, &self.high, &self.width, &mut share);
        for i in 0..self.count {
            let (at, side) = self.whose[i];
            outs[at as usize][side as usize] = no_more(self.swept[i] * share[i], self.fill[i] * self.held[i]);
        }
        self.count = 0;
    }
}

/// What was asked, or what is there where that is less. No `min`: it would turn a NaN into an answer.
#[inline(always)]
pub(crate) fn no_more(asked: f64, there: f64) -> f64 {
    if asked > there { there } else { asked }
}

/// Planes of a batch of uncut cells, `[mx, my, mz]` with `|mx| + |my| + |mz| = 1`, and their α.
struct Planes {
    m: [Each; 3],
    alpha: Each,
}

impl Planes {
    fn new() -> Planes {
        Planes {
            m: [[0.0; BATCH]; 3],
            alpha: [0.0; BATCH],
        }
    }

    /// Sets α so that the planes hold the volumes `fill`.
    #[inline(always)]
    fn hold(&mut self, fill: &Each) {
        let Planes { m: [x, y, z], alpha } = self;
        for i in 0..BATCH {
            let fold = Fold::new(x[i], y[i], z[i]);
            alpha[i] = fold.shift + fold.scale * fold.level(fill[i]);
        }
    }

    /// Shares of slices that are filled: cell `i` is cut at `width[i]` from its low side along `axis[i]`, or from its
    /// high side where `high[i]` is 1.
    #[inline(always)]
    fn filled(&self, axis: usize, high: &Each, width: &Each, share: &mut Each) {
        let mut m = self.m;
        let mut alpha = self.alpha;
        for i in 0..BATCH {
            alpha[i] -= high[i] * (m[axis][i] * (1.0 - width[i]));
        }
        for i in 0..BATCH {
            m[axis][i] *= width[i];
        }
        let [x, y, z] = &m;
        for i in 0..BATCH {
            let fold = Fold::new(x[i], y[i], z[i]);
            share[i] = fold.volume((alpha[i] - fold.shift) / fold.scale);
        }
    }
}

/// A plane folded to positive components of sum 1, sorted.
struct Fold {
    m1: f64,
    m2: f64,
    m3: f64,
    /// Sum of the magnitudes before.
    scale: f64,
    /// What folding takes off α.
    shift: f64,
}

impl Fold {
    #[inline(always)]
    fn new(x: f64, y: f64, z: f64) -> Fold {
        let (a, b, c) = (x.abs(), y.abs(), z.abs());
        let scale = (a + b + c).max(1e-300);
        let least = lower(lower(a, b), c) / scale;
        let most = upper(upper(a, b), c) / scale;
        let m1 = upper(least, THIN);
        let m2 = upper(1.0 - least - most, THIN);
        Fold {
            m1,
            m2,
            m3: 1.0 - m1 - m2,
            scale,
            shift: lower(x, 0.0) + lower(y, 0.0) + lower(z, 0.0),
        }
    }

    /// Volume below the folded plane with this α, and 6 m1 m2 m3 times its slope, for `x ≤ ½`.
    #[inline(always)]
    fn cubes(&self, x: f64) -> (f64, f64) {
        let Fold { m1, m2, m3, .. } = *self;
        let over = |m: f64| upper(x - m, 0.0);
        let (a, b, c, d) = (over(m1), over(m2), over(m3), over(m1 + m2));
        let square = (x * x - a * a) - (b * b - d * d) - c * c;
        let cube = (x * x * x - a * a * a) - (b * b * b - d * d * d) - c * c * c;
        (cube, 3.0 * square)
    }

    /// Volume of the unit cube below the plane with this α.
    #[inline(always)]
    fn volume(&self, alpha: f64) -> f64 {
        let alpha = lower(upper(alpha, 0.0), 1.0);
        let half = lower(alpha, 1.0 - alpha);
        let under = self.cubes(half).0 / (6.0 * self.m1 * self.m2 * self.m3);
        if alpha > 0.5 { 1.0 - under } else { under }
    }

    /// α of the plane that has the volume `fill` below it.
    #[inline(always)]
    fn level(&self, fill: f64) -> f64 {
        let Fold { m1, m2, m3, .. } = *self;
        let half = upper(lower(fill, 1.0 - fill), 0.0);
        let aim = 6.0 * m1 * m2 * m3 * half;
        // Below m1 the root is that of the cube; from there to m2 that of a square; beyond, a straight line lies above.
        let first = m1 * m1 / (6.0 * m2 * m3);
        let square = 0.5 * (m1 + (m1 * m1 + 8.0 * m2 * m3 * upper(half - first, 0.0)).sqrt());
        let line = lower(m3 * half + 0.5 * (m1 + m2), 0.5);
        let far = if square <= m2 { lower(square, line) } else { line };
        let mut x = if half < first { rough_root(aim) } else { far };
        for _ in 0..TURNS {
            let (cube, slope) = self.cubes(x);
            let next = x - (cube - aim) / upper(slope, 1e-300);
            x = lower(upper(next, 0.0), 0.5);
        }
        if fill > 0.5 { 1.0 - x } else { x }
    }
}

/// The lesser; unlike `min` it costs one instruction. A number that is none goes through either way.
#[inline(always)]
fn lower(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The greater.
#[inline(always)]
fn upper(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// Cube root of a positive number to a few per cent: a third of its exponent, with the exponent's bias put right.
#[inline(always)]
fn rough_root(x: f64) -> f64 {
    const BIAS: u32 = 127 << 23;
    f64::from(f32::from_bits((x as f32).to_bits() / 3 + (BIAS - BIAS / 3)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane;

    /// Planes of all kinds: slanted, steep, level, and nearly so.
    fn planes() -> Vec<[f64; 3]> {
        let mut list = Vec::new();
        for i in 0..40 {
            for j in 0..=i {
                let (a, b) = (i as f64 / 40.0, j as f64 / 40.0);
                let mut m = [1.0, -a.powi(3), b.powi(2)];
                m.rotate_left((i + j) % 3);
                let sum: f64 = m.iter().map(|v| v.abs()).sum();
                list.push(m.map(|v| v / sum));
            }
        }
        list
    }

    #[test]
    fn a_batch_gives_what_single_planes_give() {
        let fills = [
            1e-4, 1e-3, 0.01, 0.04, 0.1, 0.2, 0.3, 0.45, 0.5, 0.55, 0.7, 0.93, 0.999,
        ];
        for list in planes().chunks(BATCH) {
            for fill in fills {
                let mut batch = Planes::new();
                for a in 0..3 {
                    batch.m[a].fill(if a == 0 { 1.0 } else { 0.0 });
                    list.iter().enumerate().for_each(|(i, m)| batch.m[a][i] = m[a]);
                }
                batch.hold(&[fill; BATCH]);
                for (i, m) in list.iter().enumerate() {
                    // Components below THIN are raised to it, which moves the plane by as much.
                    let back = plane::volume_under(*m, batch.alpha[i]);
                    assert!((back - fill).abs() < 1.1 * THIN, "{m:?}: {back} for {fill}");
                    let fold = Fold::new(m[0], m[1], m[2]);
                    let back = fold.volume(fold.level(fill));
                    assert!(
                        (back - fill).abs() < 1e-7 * fill.min(1.0 - fill),
                        "{m:?}: {back} for {fill}"
                    );
                }
                for axis in 0..3 {
                    for high in [0.0, 1.0] {
                        let mut share = [0.0; BATCH];
                        batch.filled(axis, &[high; BATCH], &[0.3; BATCH], &mut share);
                        for (i, m) in list.iter().enumerate() {
                            let of = [m[0], m[1], m[2], batch.alpha[i]];
                            let (lo, hi) = if high == 1.0 { (0.7, 1.0) } else { (0.0, 0.3) };
                            let due = plane::slab(of, axis, lo, hi) / 0.3;
                            assert!(
                                (share[i] - due).abs() < 6.0 * THIN,
                                "{m:?} {fill}: {} for {due}",
                                share[i]
                            );
                        }
                    }
                }
            }
        }
    }
}
