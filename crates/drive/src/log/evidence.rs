//! What the channels of a log say about one another: sliding means, slopes, and how well two series go together.

use super::names::Channel;
use super::scale::Scaled;
use glam::DVec2;

/// Instants at most at which two series are compared.
const MOST_INSTANTS: usize = 20_000;

/// Windows in which series are compared: instants [s] and half-width [s].
pub(super) struct Windows {
    instants: Vec<f64>,
    half: f64,
    every: f64,
}

impl Windows {
    /// Windows over a log: half a second either way, or one sample on slow logs.
    pub fn over(time: &[f64], step: f64) -> Windows {
        let half = step.max(0.5);
        let (start, end) = (time[0] + half, time[time.len() - 1] - half);
        let every = step.max((end - start) / MOST_INSTANTS as f64);
        let count = if end > start {
            ((end - start) / every) as usize + 1
        } else {
            0
        };
        Windows {
            instants: (0..count).map(|i| start + i as f64 * every).collect(),
            half,
            every,
        }
    }

    /// Windows that see one instant: neighbours tell no more than their share each.
    pub fn overlap(&self) -> f64 {
        (2.0 * self.half / self.every).max(1.0)
    }

    /// Middle of window `k` [s].
    pub fn instant(&self, k: usize) -> f64 {
        self.instants[k]
    }

    /// Mean of a series in each window.
    pub fn mean(&self, time: &[f64], series: &[f64]) -> Vec<f64> {
        // The integral over a part of one step, exact for straight lines.
        let part = |i: usize, from: f64, to: f64| {
            let slope = (series[i + 1] - series[i]) / (time[i + 1] - time[i]);
            (series[i] + slope * (0.5 * (from + to) - time[i])) * (to - from)
        };
        let whole = |i: usize| 0.5 * (series[i] + series[i + 1]) * (time[i + 1] - time[i]);
        let ends = |(t, [a, b]): (f64, [usize; 2])| {
            let (from, to) = (t - self.half, t + self.half);
            let sum = if a == b {
                part(a, from, to)
            } else {
                part(a, from, time[a + 1]) + (a + 1..b).map(whole).sum::<f64>() + part(b, time[b], to)
            };
            sum / (to - from)
        };
        self.ends(time).map(ends).collect()
    }

    /// The middle of each window, and the samples before its two ends; both only ever rise.
    fn ends<'a>(&'a self, time: &'a [f64]) -> impl Iterator<Item = (f64, [usize; 2])> + 'a {
        let mut at = [0_usize; 2];
        self.instants.iter().map(move |&t| {
            for (i, end) in at.iter_mut().zip([t - self.half, t + self.half]) {
                while *i + 2 < time.len() && time[*i + 1] <= end {
                    *i += 1;
                }
            }
            (t, at)
        })
    }

    /// Change of a series over each window, per second.
    pub fn slope(&self, time: &[f64], series: &[f64]) -> Vec<f64> {
        let at = |i: usize, t: f64| {
            series[i] + (series[i + 1] - series[i]) * (t - time[i]) / (time[i + 1] - time[i])
        };
        let ends = |(t, [a, b]): (f64, [usize; 2])| {
            (at(b, t + self.half) - at(a, t - self.half)) / (2.0 * self.half)
        };
        self.ends(time).map(ends).collect()
    }
}

/// How two series go together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fit {
    /// Correlation, -1 to 1.
    pub correlation: f64,
    /// Slope of the second over the first.
    pub slope: f64,
    /// Standard deviation of the first.
    pub spread: f64,
}

impl Fit {
    /// Whether the sign of the correlation counts as shown.
    ///
    /// Evidence needs a first series that moves at all (`least`) and a correlation beyond 0.3; with the few hundred
    /// independent seconds of a log, chance gives about 0.1.
    pub fn shown(&self, least: f64) -> bool {
        self.correlation.abs() > 0.3 && self.spread > least
    }
}

/// Least squares of `y` over `x`. `None` under 10 values or when either stands still.
pub(super) fn fit(x: &[f64], y: &[f64]) -> Option<Fit> {
    let n = x.len() as f64;
    if x.len() < 10 || x.len() != y.len() {
        return None;
    }
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (a, b) in x.iter().zip(y) {
        xx += (a - mx) * (a - mx);
        xy += (a - mx) * (b - my);
        yy += (b - my) * (b - my);
    }
    let good = xx > 1e-12 * n && yy > 1e-12 * n;
    good.then(|| Fit {
        correlation: xy / (xx * yy).sqrt(),
        slope: xy / xx,
        spread: (xx / n).sqrt(),
    })
}

/// Speed [m/s] and rate of turning left [rad/s] at each sample, from places [m].
///
/// Both look half a second (or a sample of the place) ahead and back; turning is zero where the car moves less than 1.5 m in
/// half a second, where a heading means nothing.
pub(super) fn from_place(time: &[f64], step: f64, place: &[DVec2]) -> (Vec<f64>, Vec<f64>) {
    let reach = step.max(0.5);
    let n = time.len();
    let (mut speed, mut turning) = (Vec::with_capacity(n), Vec::with_capacity(n));
    for i in 0..n {
        let a = time.partition_point(|&t| t < time[i] - reach - 1e-9);
        let b = (time.partition_point(|&t| t <= time[i] + reach + 1e-9) - 1).max(i);
        speed.push(place[b].distance(place[a]) / (time[b] - time[a]).max(step));
        let (back, ahead) = (place[i] - place[a], place[b] - place[i]);
        let moving = back.length().min(ahead.length()) > 3.0 * reach;
        turning.push(if moving {
            back.angle_to(ahead) / (0.5 * (time[b] - time[a]))
        } else {
            0.0
        });
    }
    (speed, turning)
}

/// Direction in which a few series together move most: powers of the matrix of their second moments.
pub(super) fn strongest(series: &[Vec<f64>]) -> Vec<f64> {
    let k = series.len();
    let moment = |a: usize, b: usize| series[a].iter().zip(&series[b]).map(|(p, q)| p * q).sum::<f64>();
    let matrix: Vec<Vec<f64>> = (0..k).map(|a| (0..k).map(|b| moment(a, b)).collect()).collect();
    // No axis is quite left out of the start.
    let mut axis: Vec<f64> = (0..k).map(|a| 1.0 + 0.3 * a as f64).collect();
    for _ in 0..100 {
        let next: Vec<f64> = matrix
            .iter()
            .map(|row| row.iter().zip(&axis).map(|(m, v)| m * v).sum())
            .collect();
        let size = next.iter().map(|v| v * v).sum::<f64>().sqrt();
        if !(size > 0.0 && size.is_finite()) {
            return axis;
        }
        axis = next.iter().map(|v| v / size).collect();
    }
    axis
}

/// Samples at which the car stands, when they make three seconds at least.
pub(super) fn rest(log: &Scaled) -> Option<Vec<usize>> {
    let speed = log.values(Channel::Speed)?;
    let rows: Vec<usize> = (0..speed.len()).filter(|&i| speed[i].abs() < 0.5).collect();
    (rows.len() as f64 * log.step >= 3.0).then_some(rows)
}
