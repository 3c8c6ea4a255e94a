//! Thins frames and joins cells until the replay fits its budget.

use super::{ReplayBundle, ReplayFault, ReplayFrame, ReplayMoment};
use measure::UnitOrder;

/// Bytes that a replay may take when it is fitted without knowing the rest of the page: program, letters and
/// drawings take about 0.9 MB of the 2 MB that a page may have.
pub const BUDGET: usize = 1_000_000;

/// Frames a second that are tried, best first.
pub const FRAMES_A_SECOND: [f64; 3] = [25.0, 16.0, 10.0];

/// Most open cells that a browser without a graphics card still turns into a surface smoothly.
const MOST_CELLS: usize = 100_000;

impl ReplayBundle {
    /// The same replay within `budget` bytes: at most 25 frames a second, and as fine in space as fits.
    ///
    /// Tries whole cells at falling frame rates, then blocks of 2, 3, 4 … cells; gives the first that fits, or
    /// the smallest. Volumes are kept: a block's share is its oil over its open volume.
    pub fn fit(&self, budget: usize) -> Result<ReplayBundle, ReplayFault> {
        self.check()?;
        let fitted = !self.said.is_empty();
        let fits = |b: &ReplayBundle| Ok(b.to_json(UnitOrder::MetricFirst)?.len() <= budget);
        if self.moments.is_empty() || fitted && fits(self)? {
            return Ok(self.clone());
        }
        // The finest rate that is ever shown, so that nothing below has to carry more.
        let whole = self.thinned(FRAMES_A_SECOND[0]);
        let mut best = None;
        for block in 1..=6 {
            let joined = if block == 1 {
                whole.clone()
            } else {
                whole.joined(block)
            };
            if joined.open.iter().filter(|o| **o > 0).count() > MOST_CELLS {
                continue;
            }
            for rate in FRAMES_A_SECOND {
                // What an earlier fitting said stays true; this one can only be coarser.
                let said = if fitted {
                    format!("{} Made coarser still to fit this page.", self.said)
                } else {
                    said(block, rate, self)
                };
                let tried = ReplayBundle {
                    said,
                    ..joined.thinned(rate)
                };
                if fits(&tried)? {
                    return Ok(tried);
                }
                best = Some(tried);
            }
        }
        Ok(best.unwrap_or(whole))
    }

    /// At most `rate` frames a second.
    fn thinned(&self, rate: f64) -> ReplayBundle {
        let moments = self
            .moments
            .iter()
            .map(|m| {
                let mut frames: Vec<ReplayFrame> = Vec::new();
                for f in &m.frames {
                    // A little slack, so that frames at just that rate are all kept.
                    if frames.last().is_none_or(|l| f.time - l.time > 0.98 / rate) {
                        frames.push(f.clone());
                    }
                }
                ReplayMoment { frames, ..m.clone() }
            })
            .collect();
        ReplayBundle {
            moments,
            ..self.clone()
        }
    }

    /// Blocks of `block`³ cells as one.
    fn joined(&self, block: usize) -> ReplayBundle {
        let n = self.n.map(|n| n.div_ceil(block));
        let cells = n.iter().product();
        let block_of = |c: usize| {
            let (i, j, k) = (
                c % self.n[0],
                c / self.n[0] % self.n[1],
                c / (self.n[0] * self.n[1]),
            );
            i / block + n[0] * (j / block + n[1] * (k / block))
        };
        let mut open_sum = vec![0u64; cells];
        for (c, &o) in self.open.iter().enumerate() {
            open_sum[block_of(c)] += u64::from(o);
        }
        let per_block = (block * block * block) as u64;
        let open = open_sum
            .iter()
            .map(|&s| {
                if s == 0 {
                    0
                } else {
                    (s / per_block).clamp(1, 255) as u8
                }
            })
            .collect();
        let join = |fill: &[u8]| -> Vec<u8> {
            let mut oil = vec![0u64; cells];
            for (c, (&f, &o)) in fill.iter().zip(&self.open).enumerate() {
                oil[block_of(c)] += u64::from(f) * u64::from(o);
            }
            oil.iter()
                .zip(&open_sum)
                .map(|(&v, &s)| v.checked_div(s).unwrap_or(0) as u8)
                .collect()
        };
        let moments = self
            .moments
            .iter()
            .map(|m| ReplayMoment {
                frames: m
                    .frames
                    .iter()
                    .map(|f| ReplayFrame {
                        fill: join(&f.fill),
                        ..f.clone()
                    })
                    .collect(),
                ..m.clone()
            })
            .collect();
        ReplayBundle {
            n,
            cell: self.cell * block as f64,
            open,
            moments,
            ..self.clone()
        }
    }
}

fn said(block: usize, rate: f64, whole: &ReplayBundle) -> String {
    let mut words = format!("The replay shows at most {rate:.0} frames a second");
    if block > 1 {
        words.push_str(&format!(
            ", its surface drawn on cells of {:.1} mm where the computation used {:.1} mm",
            whole.cell * 1e3 * block as f64,
            whole.cell * 1e3
        ));
    }
    words.push_str(". The verdict was read from every step, not from these pictures.");
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sloshing(n: [usize; 3], frames: usize) -> ReplayBundle {
        let cells: usize = n.iter().product();
        let frame = |f: usize| {
            let level = |c: usize| {
                let (i, k) = (c % n[0], c / (n[0] * n[1]));
                let surface =
                    n[2] as f64 * (0.5 + 0.3 * ((i as f64) / n[0] as f64 - 0.5) * (f as f64 * 0.3).sin());
                ((surface - k as f64).clamp(0.0, 1.0) * 255.0) as u8
            };
            ReplayFrame {
                time: f as f64 * 0.02,
                fill: (0..cells).map(level).collect(),
                cover: 0.01,
                bare: false,
                gravity: [0.0, 0.0, -9.8],
                doors: vec![],
            }
        };
        ReplayBundle {
            n,
            cell: 0.005,
            open: vec![255; cells],
            moments: vec![ReplayMoment {
                name: "m".into(),
                place: String::new(),
                worst: 0.0,
                limit: 0.01,
                frames: (0..frames).map(frame).collect(),
            }],
            ..ReplayBundle::empty()
        }
    }

    #[test]
    fn joining_cells_keeps_the_oil() {
        let fine = sloshing([12, 6, 8], 3);
        let coarse = fine.joined(2);
        let oil = |b: &ReplayBundle, f: usize| -> f64 {
            let frame = &b.moments[0].frames[f];
            frame
                .fill
                .iter()
                .zip(&b.open)
                .map(|(f, o)| f64::from(*f) * f64::from(*o))
                .sum::<f64>()
                * b.cell.powi(3)
        };
        for f in 0..3 {
            let (a, b) = (oil(&fine, f), oil(&coarse, f));
            // A block's share is cut down to a whole step of 255: at most one step too low.
            assert!((a - b).abs() < a / 100.0, "frame {f}: {a} before, {b} after");
        }
    }

    #[test]
    fn a_replay_is_made_to_fit_and_says_how() {
        let whole = sloshing([60, 30, 20], 120);
        let fitted = whole.fit(30_000).expect("the replay is whole");
        let bytes = fitted
            .to_json(UnitOrder::MetricFirst)
            .expect("it was fitted")
            .len();
        assert!(bytes <= 30_000, "got {bytes} bytes");
        assert!(fitted.said.contains("frames a second"), "got {:?}", fitted.said);
        let again = fitted.fit(30_000).expect("still whole");
        assert_eq!(again, fitted, "what fits already stays as it is");
    }
}
