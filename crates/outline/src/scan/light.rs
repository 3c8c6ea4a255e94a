//! Uneven light taken out: how far each place of a picture is from paper (0) to part (1).
//!
//! Paper and part are each a smooth surface of brightness over the picture: paper a polynomial of third degree, part one
//! of first degree, both fitted to the pixels that belong to them and refined in turn. What lies between the two is the
//! edge, and the outline is where it is halfway.

use super::pixels::Grey;
use crate::fault::OutlineFault;
use glam::DVec2;

/// Least difference between paper and part, as a share of the paper's brightness.
const LEAST_CONTRAST: f64 = 0.12;
/// Longest side of the picture on which the light is worked out [pixels].
const SMALL: usize = 600;

/// Which of the two is darker.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tone {
    /// A dark part on light ground.
    #[default]
    DarkPart,
    /// A light part on dark ground.
    LightPart,
}

/// Brightness of paper and part over the picture.
pub(super) struct Light {
    paper: Surface,
    part: Surface,
    flip: bool,
}

/// A polynomial over the picture, in coordinates from -1 to 1.
struct Surface {
    size: DVec2,
    degree: usize,
    factors: Vec<f64>,
}

fn terms(degree: usize) -> impl Iterator<Item = (i32, i32)> {
    (0..=degree as i32).flat_map(move |sum| (0..=sum).map(move |j| (sum - j, j)))
}

impl Surface {
    fn at(&self, p: DVec2) -> f64 {
        let q = 2.0 * p / self.size - 1.0;
        (terms(self.degree).zip(&self.factors))
            .map(|((i, j), f)| f * q.x.powi(i) * q.y.powi(j))
            .sum()
    }

    /// Least squares through values at places; the normal equations are small and well scaled.
    fn through(size: DVec2, degree: usize, values: impl Iterator<Item = (DVec2, f64)>) -> Option<Surface> {
        let n = terms(degree).count();
        let mut normal = vec![vec![0.0; n + 1]; n];
        let mut row = vec![0.0; n];
        for (p, value) in values {
            let q = 2.0 * p / size - 1.0;
            for (k, (i, j)) in terms(degree).enumerate() {
                row[k] = q.x.powi(i) * q.y.powi(j);
            }
            for k in 0..n {
                for l in 0..n {
                    normal[k][l] += row[k] * row[l];
                }
                normal[k][n] += row[k] * value;
            }
        }
        Some(Surface {
            size,
            degree,
            factors: solve(normal)?,
        })
    }
}

/// Gauss elimination with the largest pivot; a faint ridge keeps terms that nothing speaks for at zero.
fn solve(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = rows.len();
    let ridge = 1e-9 * rows[0][0].max(1e-300);
    for (k, row) in rows.iter_mut().enumerate() {
        row[k] += ridge;
    }
    for k in 0..n {
        let pivot = (k..n).max_by(|&a, &b| rows[a][k].abs().total_cmp(&rows[b][k].abs()))?;
        rows.swap(k, pivot);
        if !(rows[k][k].abs() > 0.0) {
            return None;
        }
        for r in k + 1..n {
            let share = rows[r][k] / rows[k][k];
            for c in k..=n {
                rows[r][c] -= share * rows[k][c];
            }
        }
    }
    let mut out = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|c| rows[k][c] * out[c]).sum();
        out[k] = (rows[k][n] - known) / rows[k][k];
    }
    out.iter().all(|v| v.is_finite()).then_some(out)
}

impl Light {
    /// Works the light out; `inside` says which places belong to the ground (a sheet on a table, say).
    pub fn of(grey: &Grey, tone: Tone, inside: &dyn Fn(DVec2) -> bool) -> Result<Light, OutlineFault> {
        let by = grey.width.max(grey.height).div_ceil(SMALL);
        let small = grey.smaller(by);
        let flip = tone == Tone::LightPart;
        let size = DVec2::new(grey.width as f64, grey.height as f64);
        let mut samples: Vec<(DVec2, f64)> = Vec::with_capacity(small.values.len());
        for y in 0..small.height {
            for x in 0..small.width {
                let p = (DVec2::new(x as f64, y as f64) + 0.5) * by as f64;
                if inside(p) {
                    let v = f64::from(small.at(x, y));
                    samples.push((p, if flip { 255.0 - v } else { v }));
                }
            }
        }
        let faint = || {
            let what = "part and ground can hardly be told apart";
            let mend = "lay the part on white paper under even light, and say when it is lighter than the ground (--light-part)";
            OutlineFault::new("contrast", what, mend)
        };
        if samples.len() < 1000 {
            return Err(faint());
        }
        let mut paper = first_paper(size, &samples).ok_or_else(faint)?;
        let mut level = 0.7;
        for _ in 0..6 {
            let share = |(p, v): &(DVec2, f64)| v / paper.at(*p).max(1.0);
            level = parting(samples.iter().map(share));
            // The edge itself belongs to neither.
            let bright: Vec<(DVec2, f64)> = samples
                .iter()
                .filter(|s| share(s) > 0.5 * (1.0 + level))
                .copied()
                .collect();
            paper = Surface::through(size, 3, bright.into_iter()).ok_or_else(faint)?;
        }
        let dark: Vec<(DVec2, f64)> = {
            let share = |(p, v): &(DVec2, f64)| v / paper.at(*p).max(1.0);
            let mean =
                |list: &[(DVec2, f64)]| list.iter().map(&share).sum::<f64>() / list.len().max(1) as f64;
            let below: Vec<(DVec2, f64)> = samples.iter().filter(|s| share(s) < level).copied().collect();
            let floor = mean(&below);
            below
                .into_iter()
                .filter(|s| share(s) < 0.5 * (floor + level))
                .collect()
        };
        if dark.len() < 20 {
            return Err(faint());
        }
        let part = Surface::through(size, 1, dark.iter().copied()).ok_or_else(faint)?;
        let contrast: f64 = dark
            .iter()
            .map(|(p, v)| 1.0 - v / paper.at(*p).max(1.0))
            .sum::<f64>()
            / dark.len() as f64;
        if !(contrast > LEAST_CONTRAST) {
            return Err(faint());
        }
        Ok(Light { paper, part, flip })
    }

    /// How far a place with value `v` is from paper (0) to part (1).
    pub fn share(&self, p: DVec2, v: f64) -> f32 {
        let v = if self.flip { 255.0 - v } else { v };
        let paper = self.paper.at(p);
        let depth = (paper - self.part.at(p)).max(0.05 * paper.max(1.0));
        ((paper - v) / depth).clamp(-1.0, 2.0) as f32
    }
}

/// A first idea of the paper: the brighter pixels of each square of a coarse grid, squares that lie in the part left out.
fn first_paper(size: DVec2, samples: &[(DVec2, f64)]) -> Option<Surface> {
    const SQUARES: usize = 12;
    let mut squares: Vec<Vec<(DVec2, f64)>> = vec![Vec::new(); SQUARES * SQUARES];
    for &(p, v) in samples {
        let cell = (p / size * SQUARES as f64).clamp(DVec2::ZERO, DVec2::splat(SQUARES as f64 - 1.0));
        squares[cell.y as usize * SQUARES + cell.x as usize].push((p, v));
    }
    let mut bright: Vec<(DVec2, f64)> = (squares.into_iter().filter(|s| s.len() > 3))
        .map(|mut s| {
            s.sort_by(|a, b| a.1.total_cmp(&b.1));
            s[s.len() * 9 / 10]
        })
        .collect();
    for _ in 0..10 {
        let surface = Surface::through(size, 2, bright.iter().copied())?;
        let kept: Vec<(DVec2, f64)> = bright
            .iter()
            .filter(|(p, v)| *v > 0.9 * surface.at(*p))
            .copied()
            .collect();
        if kept.len() == bright.len() || kept.len() < 12 {
            return Some(surface);
        }
        bright = kept;
    }
    Surface::through(size, 2, bright.into_iter())
}

/// The value that parts two heaps best (Otsu's method, IEEE Trans. SMC 9, 1979), of shares from 0 to 1.3.
fn parting(shares: impl Iterator<Item = f64>) -> f64 {
    const BINS: usize = 260;
    let mut counts = [0.0_f64; BINS];
    for s in shares {
        counts[((s * 200.0) as usize).min(BINS - 1)] += 1.0;
    }
    let total: f64 = counts.iter().sum();
    let sum: f64 = counts.iter().enumerate().map(|(i, c)| i as f64 * c).sum();
    let (mut below, mut below_sum, mut best, mut first, mut last) = (0.0, 0.0, 0.0, 0, 0);
    for (i, count) in counts.iter().enumerate() {
        below += count;
        below_sum += i as f64 * count;
        if below == 0.0 || below == total {
            continue;
        }
        let apart = below_sum / below - (sum - below_sum) / (total - below);
        let score = below * (total - below) * apart * apart;
        // An empty valley between the heaps scores alike from end to end: its middle parts them.
        if score > best * (1.0 + 1e-12) {
            (best, first, last) = (score, i, i);
        } else if score >= best * (1.0 - 1e-12) {
            last = i;
        }
    }
    (0.5 * (first + last) as f64 + 1.0) / 200.0
}

/// The picture as shares from paper to part, smoothed over about a pixel.
pub(super) struct Shares {
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

impl Shares {
    pub fn of(grey: &Grey, light: &Light, inside: &dyn Fn(DVec2) -> bool) -> Shares {
        let (w, h) = (grey.width, grey.height);
        let mut values = vec![0.0_f32; w * h];
        for y in 0..h {
            for x in 0..w {
                let p = DVec2::new(x as f64 + 0.5, y as f64 + 0.5);
                if inside(p) {
                    values[y * w + x] = light.share(p, f64::from(grey.at(x, y)));
                }
            }
        }
        let mut shares = Shares {
            width: w,
            height: h,
            values,
        };
        // Twice 1-2-1 each way: a bell of one pixel's spread takes the grain out and moves no straight edge.
        shares.smooth();
        shares.smooth();
        shares
    }

    fn smooth(&mut self) {
        let (w, h) = (self.width, self.height);
        let mut row = vec![0.0_f32; w];
        for line in self.values.chunks_mut(w) {
            row.copy_from_slice(line);
            for x in 0..w {
                let (a, b) = (row[x.saturating_sub(1)], row[(x + 1).min(w - 1)]);
                line[x] = 0.25 * (a + 2.0 * row[x] + b);
            }
        }
        let mut above: Vec<f32> = self.values[..w].to_vec();
        for y in 0..h {
            let next = (y + 1).min(h - 1);
            for x in 0..w {
                let here = self.values[y * w + x];
                let below = self.values[next * w + x];
                self.values[y * w + x] = 0.25 * (above[x] + 2.0 * here + below);
                above[x] = here;
            }
        }
    }
}
