//! Pressure: the oil's velocities made free of divergence, with the surface where it lies inside the cells
//! (ghost-fluid distances).
//!
//! The unknown is `q = p dt / (ρ h)` [m/s] in cells whose centre is in the oil; air is at q = 0 on the
//! surface. A face between two such cells moves by `−β (q⁺ − q⁻)`, one toward air by `∓β q / θ`, with θ the
//! distance to the surface in cells and β what a hole's loss leaves of a velocity. The matrix is symmetric
//! and positive; a body of oil without any surface has a free constant and gets a balanced right side.
//!
//! Numbers here are single: the ledger does not depend on them, and what they leave of a divergence is far
//! below what the solve leaves.

use crate::SloshFault;
use crate::enclosed::Bodies;
use crate::grid::Grid;
use crate::kernels::{HALF, Pair, compact, ends_of, interleave, pick_colour};
use crate::level::{Level, by_part};
use crate::momentum::Flow;
use crate::multigrid::Multigrid;
use crate::region::{Region, Row};
use crate::surface::Surface;
use crate::team::{BLOCK, Share, Team, cut};
use crate::terms::Settings;

/// Outcome of a solve.
pub(crate) struct Solved {
    pub iterations: u32,
    pub residual: f64,
}

/// What a solve is asked.
pub(crate) struct Ask<'a> {
    /// β of faces that are not clear, 1 elsewhere.
    pub give: &'a [Vec<f32>; 3],
    /// Volumes per time that enter cells [m³/s].
    pub sources: &'a [(usize, f64)],
    /// Step [s].
    pub dt: f64,
    /// Time over which an overfill is pushed out [s].
    pub push_time: f64,
    /// Number of the step.
    pub step: u64,
}

/// The pressure field and the scratch of its solve.
pub(crate) struct Pressure {
    /// `p dt / (ρ h)` of the last step [m/s], zero outside pressure cells.
    pub q: Vec<f32>,
    /// `dt` that `q` belongs to [s].
    pub dt: f64,
    /// What a face's velocity gains for a unit step of `q` across it: β, or β/θ toward air, of the last step.
    pub grad: [Vec<f32>; 3],
    /// Area times β between pressure cells, by face.
    coef: [Vec<f32>; 3],
    levels: Multigrid,
    spans: Vec<Row>,
    bodies: Bodies,
    now: Pair,
    r: Pair,
    p: Pair,
    ap: Pair,
    sums: Vec<(f64, u32)>,
}

impl Pressure {
    pub fn new(grid: &Grid) -> Pressure {
        let zeros = || vec![0.0; grid.size()];
        let half = || [vec![0.0; grid.size() / 2], vec![0.0; grid.size() / 2]];
        Pressure {
            q: zeros(),
            dt: 1.0,
            grad: [zeros(), zeros(), zeros()],
            coef: [zeros(), zeros(), zeros()],
            levels: Multigrid::new(grid.n),
            spans: Vec::new(),
            bodies: Bodies::default(),
            now: half(),
            r: half(),
            p: half(),
            ap: half(),
            sums: Vec::new(),
        }
    }

    /// Forgets a run of cells that left the region.
    pub fn leave(&mut self, lo: usize, hi: usize) {
        self.q[lo..hi].fill(0.0);
        for a in 0..3 {
            self.grad[a][lo..hi].fill(0.0);
            self.coef[a][lo..hi].fill(0.0);
        }
        let level = &mut self.levels.levels[0];
        let fields = level
            .coef
            .iter_mut()
            .chain([&mut level.air, &mut level.x, &mut level.b, &mut self.p]);
        for field in fields.flatten() {
            field[lo / 2..hi.div_ceil(2)].fill(0.0);
        }
    }

    /// Sets the equation up for the oil as it lies and the velocities as they are.
    pub fn prepare(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        flow: &mut Flow,
        ask: &Ask,
        settings: &Settings,
        team: &Team,
    ) {
        let warm = (ask.dt / self.dt) as f32;
        self.dt = ask.dt;
        self.faces(grid, region, surface, f, flow, ask.give, team);
        let rate = settings.overfill_push * grid.h / ask.push_time;
        self.cells(grid, region, surface, f, flow, warm, rate, team);
        let h2 = grid.h * grid.h;
        let level = &mut self.levels.levels[0];
        for &(c, flow) in ask.sources {
            if surface.liquid[c] == 1 {
                let (colour, at) = compact(c);
                level.b[colour][at] += (flow / h2) as f32;
            }
        }
        for line in &level.lines {
            let (lo, hi) = ends_of(*line);
            self.p.iter_mut().for_each(|p| p[lo..hi].fill(0.0));
        }
        self.spans.clear();
        for &(lo, hi) in &region.wet {
            let cells = &surface.liquid[lo as usize..hi as usize];
            if let (Some(a), Some(b)) = (
                cells.iter().position(|l| *l == 1),
                cells.iter().rposition(|l| *l == 1),
            ) {
                self.spans.push((lo + a as u32, lo + b as u32 + 1));
            }
        }
        level.set_lines(&self.spans, team.parts());
        level.set_diagonal(team);
        level.find_plain(team);
        let air = &level.air;
        self.bodies
            .find(grid, &self.spans, &surface.liquid, &self.coef, |c| {
                let (colour, at) = compact(c);
                air[colour][at] > 0.0
            });
        self.bodies.balance(grid, &mut level.b);
        self.levels.coarsen(team);
    }

    /// Solves, and projects the velocities.
    pub fn project(
        &mut self,
        grid: &Grid,
        region: &Region,
        flow: &mut Flow,
        ask: &Ask,
        settings: &Settings,
        team: &Team,
    ) -> Result<Solved, SloshFault> {
        let aim = (settings.tolerance * grid.h / ask.dt) as f32;
        let (iterations, largest) = self.solve(aim, settings.max_iterations, team);
        let residual = f64::from(largest) * ask.dt / grid.h;
        if !(largest <= aim) {
            return Err(SloshFault::Pressure {
                residual,
                aim: settings.tolerance,
                iterations,
                dt: ask.dt,
                step: ask.step,
            });
        }
        self.bodies.settle(&mut self.now);
        self.unfold(team);
        let q = &self.q;
        for a in 0..3 {
            let s = grid.stride[a];
            let grad = &self.grad[a];
            let shares = region.shares(&mut flow.u[a], &region.near);
            team.each(
                shares,
                #[inline(always)]
                |(mut u, rows): (Share<f32>, &[Row])| {
                    for &(lo, hi) in rows {
                        let (lo, hi) = (lo as usize, hi as usize);
                        let (u, grad) = (u.run(lo, hi), &grad[lo..hi]);
                        let (high, low) = (&q[lo..hi], &q[lo - s..hi - s]);
                        let n = u.len();
                        cut!(n; grad, high, low);
                        for i in 0..n {
                            u[i] -= grad[i] * (high[i] - low[i]);
                        }
                    }
                },
            );
        }
        Ok(Solved { iterations, residual })
    }

    /// Coefficients and gradients of the faces. Faces that the oil leaves dry lose their velocity.
    fn faces(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        flow: &mut Flow,
        give: &[Vec<f32>; 3],
        team: &Team,
    ) {
        let liquid = &surface.liquid;
        for axis in 0..3 {
            let s = grid.stride[axis];
            let (area, give) = (&grid.area[axis], &give[axis]);
            let shares: Vec<_> = region
                .cuts
                .split(&mut self.grad[axis], BLOCK)
                .into_iter()
                .zip(region.cuts.split(&mut self.coef[axis], BLOCK))
                .zip(region.shares(&mut flow.u[axis], &region.rows))
                .collect();
            team.each(
                shares,
                #[inline(always)]
                |((mut grad, mut coef), (mut u, rows)): ((Share<f32>, Share<f32>), (Share<f32>, &[Row]))| {
                    for &(lo, hi) in rows {
                        let (lo, hi) = (lo as usize, hi as usize);
                        let (grad, coef, u) = (grad.run(lo, hi), coef.run(lo, hi), u.run(lo, hi));
                        let (area, give) = (&area[lo..hi], &give[lo..hi]);
                        let (low, high) = (&liquid[lo - s..hi - s], &liquid[lo..hi]);
                        let n = grad.len();
                        cut!(n; area, give, low, high);
                        for i in 0..n {
                            let both = (low[i] & high[i] == 1) & (area[i] > 0.0);
                            grad[i] = if both { give[i] } else { 0.0 };
                        }
                        let given = &grad[..n];
                        for i in 0..n {
                            coef[i] = given[i] * area[i];
                        }
                        let mut edges = 0u8;
                        for i in 0..n {
                            edges |= low[i] ^ high[i];
                        }
                        if edges == 0 {
                            continue;
                        }
                        for i in 0..area.len() {
                            if low[i] == high[i] || area[i] == 0.0 {
                                continue;
                            }
                            let below = low[i] == 1;
                            let wet = if below { lo + i - s } else { lo + i };
                            if surface.leaves_dry(grid, f, wet, axis, below) {
                                u[i] = 0.0;
                            } else {
                                grad[i] = give[i] / surface.distance(grid, f, wet, axis, below) as f32;
                            }
                        }
                    }
                },
            );
        }
    }

    /// Right side, air and first guess of the cells, laid out by colour.
    fn cells(
        &mut self,
        grid: &Grid,
        region: &Region,
        surface: &Surface,
        f: &[f64],
        flow: &Flow,
        warm: f32,
        rate: f64,
        team: &Team,
    ) {
        let Level {
            coef: [[xr, xb], [yr, yb], [zr, zb]],
            air: [ar, ab],
            b: [br, bb],
            ..
        } = &mut self.levels.levels[0];
        let [nr, nb] = &mut self.now;
        let fields = [br, bb, ar, ab, xr, xb, yr, yb, zr, zb, nr, nb];
        let fields = by_part(fields.map(|field| region.cuts.split(field, HALF)));
        let (grad, coef, liquid) = (&self.grad, &self.coef, &surface.liquid);
        let (area, volume, u) = (&grid.area, &grid.volume, &flow.u);
        let shares: Vec<_> = region
            .shares(&mut self.q, &region.rows)
            .into_iter()
            .zip(fields)
            .collect();
        team.each(
            shares,
            #[inline(always)]
            |((mut q, rows), mut out): ((Share<f32>, &[Row]), Vec<Share<f32>>)| {
                let (mut sides, mut airs, mut news) = ([0f32; BLOCK], [0f32; BLOCK], [0f32; BLOCK]);
                for &(lo, hi) in rows {
                    let (lo, hi) = (lo as usize, hi as usize);
                    let (from, to, n) = (lo, hi, (hi - lo).min(BLOCK));
                    sides[..n].fill(0.0);
                    airs[..n].fill(0.0);
                    for a in 0..3 {
                        let s = grid.stride[a];
                        let (al, ah) = (&area[a][from..from + n], &area[a][from + s..from + s + n]);
                        let (ul, uh) = (&u[a][from..from + n], &u[a][from + s..from + s + n]);
                        let (gl, gh) = (&grad[a][from..from + n], &grad[a][from + s..from + s + n]);
                        let (low, high) = (&liquid[from - s..from - s + n], &liquid[from + s..from + s + n]);
                        cut!(n; al, ah, ul, uh, gl, gh, low, high);
                        for i in 0..n {
                            let into = if gl[i] != 0.0 { al[i] * ul[i] } else { 0.0 };
                            let out = if gh[i] != 0.0 { ah[i] * uh[i] } else { 0.0 };
                            sides[i] += into - out;
                            let below = if low[i] == 0 { al[i] * gl[i] } else { 0.0 };
                            let above = if high[i] == 0 { ah[i] * gh[i] } else { 0.0 };
                            airs[i] += below + above;
                        }
                    }
                    let (f, volume, liquid) = (
                        &f[from..from + n],
                        &volume[from..from + n],
                        &liquid[from..from + n],
                    );
                    let q = q.run(from, to);
                    news[..n].copy_from_slice(q);
                    cut!(n; f, volume, liquid);
                    for i in 0..n {
                        // Overfull cells push out; a void deep inside draws in. Beside air the surface
                        // itself moves.
                        let push = rate * (f[i] - 1.0) * volume[i];
                        let pushed = if (f[i] > 1.0) | (airs[i] == 0.0) {
                            push as f32
                        } else {
                            0.0
                        };
                        let wet = liquid[i] == 1;
                        sides[i] = if wet { sides[i] + pushed } else { 0.0 };
                        airs[i] = if wet { airs[i] } else { 0.0 };
                        news[i] = if wet { news[i] * warm } else { 0.0 };
                    }
                    q.copy_from_slice(&news[..n]);
                    let (b, air, q) = (&sides[..n], &airs[..n], &news[..n]);
                    let at = from / 2;
                    let flat: [&[f32]; 6] = [
                        b,
                        air,
                        &coef[0][from..to],
                        &coef[1][from..to],
                        &coef[2][from..to],
                        q,
                    ];
                    for (field, flat) in flat.into_iter().enumerate() {
                        for colour in 0..2 {
                            pick_colour(flat, out[2 * field + colour].run(at, at + n / 2), colour);
                        }
                    }
                }
            },
        );
    }

    /// Writes the pressure back in natural order.
    fn unfold(&mut self, team: &Team) {
        let level = &self.levels.levels[0];
        let now = &self.now;
        let shares: Vec<_> = level
            .cuts
            .split(&mut self.q, BLOCK)
            .into_iter()
            .zip(level.shares())
            .collect();
        team.each(
            shares,
            #[inline(always)]
            |(mut q, lines): (Share<f32>, &[Row])| {
                for &line in lines {
                    let (lo, hi) = ends_of(line);
                    interleave(&now[0][lo..hi], &now[1][lo..hi], q.run(2 * lo, 2 * hi));
                }
            },
        );
    }

    /// Conjugate gradients; returns iterations and the largest residual [m/s].
    fn solve(&mut self, aim: f32, most: u32, team: &Team) -> (u32, f32) {
        let Pressure {
            now,
            r,
            p,
            ap,
            levels,
            sums,
            ..
        } = self;
        sums.clear();
        sums.resize(levels.levels[0].lines.len(), (0.0, 0));
        let mut iterations = 0;
        let mut last = f32::INFINITY;
        loop {
            // The residual that iterating carries along drifts off the true one by rounding, so it is taken anew
            // when it seems small enough.
            levels.levels[0].apply(now, ap, team);
            let mut largest = begin(&levels.levels[0], [r, p], ap, sums, team);
            let settled = largest <= aim && iterations > 0;
            // Rounding alone is left when a whole turn does not halve it.
            if settled || largest == 0.0 || iterations >= most || !(largest <= 0.5 * last) {
                return (iterations, largest);
            }
            last = largest;
            let (start, mut before) = (iterations, 1.0);
            // At least one cycle a step: oil at rest then comes to rest, instead of keeping a residual just under
            // the aim for ever.
            while (largest > aim || iterations == 0) && iterations < most && largest.is_finite() {
                std::mem::swap(r, &mut levels.levels[0].b);
                levels.cycle(team);
                std::mem::swap(r, &mut levels.levels[0].b);
                let level = &levels.levels[0];
                let rz = dot(level, r, &level.x, sums, team);
                let turn = if iterations == start { 0.0 } else { rz / before };
                before = rz;
                along(level, p, turn as f32, team);
                level.apply(p, ap, team);
                let pap = dot(level, p, ap, sums, team);
                largest = forward(level, [now, r], [p, ap], (rz / pap) as f32, sums, team);
                iterations += 1;
            }
        }
    }
}

/// The magnitude as bits, which order as the numbers do, with no number above all.
#[inline(always)]
fn size(x: f32) -> u32 {
    x.to_bits() & 0x7fff_ffff
}

fn largest(sums: &[(f64, u32)]) -> f32 {
    f32::from_bits(sums.iter().map(|s| s.1).max().unwrap_or(0))
}

/// Sum of products over all lines, line by line in order.
fn dot(level: &Level, a: &Pair, b: &Pair, sums: &mut [(f64, u32)], team: &Team) -> f64 {
    team.each(
        level.share_lines(sums),
        #[inline(always)]
        |(sums, lines): (&mut [(f64, u32)], &[Row])| {
            for (sum, line) in sums.iter_mut().zip(lines) {
                let (lo, hi) = ends_of(*line);
                let mut part = [0f32; 8];
                for c in 0..2 {
                    let (a, b) = (&a[c][lo..hi], &b[c][lo..hi]);
                    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
                        for l in 0..8 {
                            part[l] += x[l] * y[l];
                        }
                    }
                    for i in a.len() / 8 * 8..a.len() {
                        part[i % 8] += a[i] * b[i];
                    }
                }
                sum.0 = part.iter().map(|v| f64::from(*v)).sum();
            }
        },
    );
    sums.iter().map(|s| s.0).sum()
}

/// `r = b − A q`, `p = 0`; the largest residual.
fn begin(level: &Level, [r, p]: [&mut Pair; 2], ap: &Pair, sums: &mut [(f64, u32)], team: &Team) -> f32 {
    for c in 0..2 {
        let shares: Vec<_> = level
            .cuts
            .split(&mut r[c], HALF)
            .into_iter()
            .zip(level.cuts.split(&mut p[c], HALF))
            .zip(level.share_lines(sums))
            .collect();
        let (b, ap, diag) = (&level.b[c], &ap[c], &level.diag[c]);
        team.each(
            shares,
            #[inline(always)]
            |((mut r, mut p), (sums, lines)): ((Share<f32>, Share<f32>), (&mut [(f64, u32)], &[Row]))| {
                for (sum, line) in sums.iter_mut().zip(lines) {
                    let (lo, hi) = ends_of(*line);
                    let (r, b, ap, diag) = (r.run(lo, hi), &b[lo..hi], &ap[lo..hi], &diag[lo..hi]);
                    let mut most = if c == 0 { 0 } else { sum.1 };
                    let n = r.len();
                    cut!(n; b, ap, diag);
                    for i in 0..n {
                        r[i] = if diag[i] > 0.0 { b[i] - ap[i] } else { 0.0 };
                        most = most.max(size(r[i]));
                    }
                    sum.1 = most;
                    p.run(lo, hi).fill(0.0);
                }
            },
        );
    }
    largest(sums)
}

/// `p = z + turn p`, z being the level's x.
fn along(level: &Level, p: &mut Pair, turn: f32, team: &Team) {
    for c in 0..2 {
        let z = &level.x[c];
        let shares: Vec<_> = level
            .cuts
            .split(&mut p[c], HALF)
            .into_iter()
            .zip(level.shares())
            .collect();
        team.each(
            shares,
            #[inline(always)]
            |(mut p, lines): (Share<f32>, &[Row])| {
                for line in lines {
                    let (lo, hi) = ends_of(*line);
                    let (p, z) = (p.run(lo, hi), &z[lo..hi]);
                    let n = p.len();
                    cut!(n; z);
                    for i in 0..n {
                        p[i] = z[i] + turn * p[i];
                    }
                }
            },
        );
    }
}

/// `q += stride p`, `r −= stride A p`; the largest residual.
fn forward(
    level: &Level,
    [q, r]: [&mut Pair; 2],
    [p, ap]: [&Pair; 2],
    stride: f32,
    sums: &mut [(f64, u32)],
    team: &Team,
) -> f32 {
    for c in 0..2 {
        let shares: Vec<_> = level
            .cuts
            .split(&mut q[c], HALF)
            .into_iter()
            .zip(level.cuts.split(&mut r[c], HALF))
            .zip(level.share_lines(sums))
            .collect();
        let (p, ap) = (&p[c], &ap[c]);
        team.each(
            shares,
            #[inline(always)]
            |((mut q, mut r), (sums, lines)): ((Share<f32>, Share<f32>), (&mut [(f64, u32)], &[Row]))| {
                for (sum, line) in sums.iter_mut().zip(lines) {
                    let (lo, hi) = ends_of(*line);
                    let (q, r, p, ap) = (q.run(lo, hi), r.run(lo, hi), &p[lo..hi], &ap[lo..hi]);
                    let mut most = if c == 0 { 0 } else { sum.1 };
                    let n = q.len();
                    let r = &mut r[..n];
                    cut!(n; p, ap);
                    for i in 0..n {
                        q[i] += stride * p[i];
                    }
                    for i in 0..n {
                        r[i] -= stride * ap[i];
                        most = most.max(size(r[i]));
                    }
                    sum.1 = most;
                }
            },
        );
    }
    largest(sums)
}
