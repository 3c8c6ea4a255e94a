//! A tank swayed to and fro off resonance: steady height of the wave at the wall.

use crate::bench;
use crate::curve::Curve;
use crate::{Findings, Row, Scale, Study};
use std::f64::consts::PI;

const G: f64 = 9.81;
const SOURCE: &str = "linear wave theory, derived";
/// Cells along the tank, coarse to fine.
const GRIDS: [usize; 3] = [20, 40, 80];
/// Sway grows over this many of its periods, and is then watched over as many.
const PERIODS: f64 = 6.0;

/// What this subject is about.
pub const ABOUT: &str = "A tank of length L and depth h sways by X₀ sin Ωt; small waves without friction. The steady \
height at the wall is η = (X₀Ω²/g) [L/2 + Σ 4/(L k²) Ω²/(ω² − Ω²)] over odd modes, k = nπ/L, ω² = g k tanh kh. \
`examples/experiments/swayed-tank.toml`, `-slow` and `-shallow`. The sway grows over six periods; height is the part \
that swings with Ω over the next six, beside what is left of the tank's own modes. Asked: 3 %.";

/// One tank and its sway.
struct Case {
    file: &'static str,
    length: f64,
    depth: f64,
    stroke: f64,
    /// Ω over the first mode's frequency.
    ratio: f64,
}

const CASES: [Case; 3] = [
    Case {
        file: "swayed-tank-slow",
        length: 0.9,
        depth: 0.3,
        stroke: 0.005,
        ratio: 0.5,
    },
    Case {
        file: "swayed-tank",
        length: 0.9,
        depth: 0.3,
        stroke: 0.005,
        ratio: 0.8,
    },
    Case {
        file: "swayed-tank-shallow",
        length: 0.3,
        depth: 0.05,
        stroke: 0.002,
        ratio: 0.6,
    },
];

impl Case {
    fn mode(&self, n: u32) -> f64 {
        let k = f64::from(n) * PI / self.length;
        (G * k * (k * self.depth).tanh()).sqrt()
    }

    fn rate(&self) -> f64 {
        self.ratio * self.mode(1)
    }

    /// Steady height [m] at `x` from the wall.
    fn height(&self, x: f64) -> f64 {
        let rate = self.rate();
        let modes: f64 = (0..400)
            .map(|i| {
                let n = 2 * i + 1;
                let k = f64::from(n) * PI / self.length;
                let share = rate * rate / (self.mode(n).powi(2) - rate * rate);
                4.0 / (self.length * k * k) * share * (k * x).cos()
            })
            .sum();
        self.stroke * rate * rate / G * (0.5 * self.length - x + modes)
    }

    /// Height at the wall against time [m], `cells` along.
    fn compute(&self, cells: usize) -> Result<Curve, String> {
        let experiment = bench::read(self.file)?;
        let shown = bench::compute(&experiment, self.length / cells as f64, f64::INFINITY, &[])?;
        Ok(shown.curve("rear wall depth"))
    }

    /// Computed height at the wall [mm].
    fn at_wall(&self, cells: usize) -> Result<f64, String> {
        let h = self.length / cells as f64;
        let curve = self.compute(cells)?;
        let from = 2.0 * PI / self.rate() * PERIODS;
        // A column of cells holds the height half a cell from the wall.
        let to_wall = self.height(0.0) / self.height(0.5 * h);
        Ok(1e3 * to_wall * amplitude(&curve, self.rate(), self.mode(1), from))
    }
}

/// The smallest tank, `cells` along: height at the wall, (computed, exact) [mm].
pub fn shallow(cells: usize) -> Result<(f64, f64), String> {
    let case = &CASES[2];
    Ok((case.at_wall(cells)?, 1e3 * case.height(0.0)))
}

/// Amplitude of the part of `curve` that swings with `rate` from `from` on, beside a constant and the swing `own`:
/// least squares.
fn amplitude(curve: &Curve, rate: f64, own: f64, from: f64) -> f64 {
    const N: usize = 5;
    let mut system = [[0.0; N + 1]; N];
    for (t, y) in curve.points().into_iter().filter(|(t, _)| *t >= from) {
        let ((s, c), (so, co)) = ((rate * t).sin_cos(), (own * t).sin_cos());
        let base = [1.0, s, c, so, co];
        for i in 0..N {
            for j in 0..N {
                system[i][j] += base[i] * base[j];
            }
            system[i][N] += base[i] * y;
        }
    }
    for i in 0..N {
        let pivot = (i..N).max_by(|a, b| system[*a][i].abs().total_cmp(&system[*b][i].abs()));
        system.swap(i, pivot.unwrap_or(i));
        for r in 0..N {
            if r != i {
                let share = system[r][i] / system[i][i];
                for c in i..=N {
                    system[r][c] -= share * system[i][c];
                }
            }
        }
    }
    (system[1][N] / system[1][1]).hypot(system[2][N] / system[2][2])
}

/// All cases on three grids.
pub fn findings() -> Findings {
    let mut findings = Findings::default();
    for case in &CASES {
        let values = bench::each(&GRIDS, |cells| {
            Ok((case.length / cells as f64, case.at_wall(cells)?))
        });
        let name = format!(
            "{:.0} × {:.0} mm, {:.0} mm to and fro at {:.1} of the first mode",
            1e3 * case.length,
            1e3 * case.depth,
            1e3 * case.stroke,
            case.ratio
        );
        let values: Vec<(f64, f64)> = match values.into_iter().collect::<Result<_, String>>() {
            Ok(values) => values,
            Err(why) => {
                findings.rows.push(bench::stopped(&name, SOURCE, &why));
                continue;
            }
        };
        let (h, finest) = values[GRIDS.len() - 1];
        findings.rows.push(Row::new(
            name.clone(),
            (finest, 1e3 * case.height(0.0)),
            "mm",
            (0.03, Scale::Relative),
            SOURCE,
            format!("{:.1} mm cells", 1e3 * h),
        ));
        findings.studies.push(Study {
            what: format!("{name}: height, mm"),
            values,
        });
    }
    findings
}
