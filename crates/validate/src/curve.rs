//! A computed quantity against time, and the few questions that are asked of it.

/// Values at rising times.
#[derive(Clone, Debug, Default)]
pub struct Curve {
    /// Times [s], or in the scale of a source.
    pub time: Vec<f64>,
    /// Values.
    pub value: Vec<f64>,
}

impl Curve {
    /// The same curve in other scales, after a shift of the clock: `t* = (t + shift) / unit`, value by `scale`.
    pub fn scaled(&self, shift: f64, unit: f64, scale: impl Fn(f64) -> f64) -> Curve {
        Curve {
            time: self.time.iter().map(|t| (t + shift) / unit).collect(),
            value: self.value.iter().map(|v| scale(*v)).collect(),
        }
    }

    /// Time at which the value first passes `mark` from below, straight between points; NaN when it never does.
    pub fn when(&self, mark: f64) -> f64 {
        self.when_after(f64::NEG_INFINITY, mark)
    }

    /// The same, not before `from`.
    pub fn when_after(&self, from: f64, mark: f64) -> f64 {
        (1..self.time.len())
            .find(|&i| self.time[i] >= from && self.value[i - 1] < mark && self.value[i] >= mark)
            .map_or(f64::NAN, |i| {
                let (a, b) = (self.value[i - 1], self.value[i]);
                self.time[i - 1] + (self.time[i] - self.time[i - 1]) * (mark - a) / (b - a)
            })
    }

    /// First time from which on the mean over `window` is above `mark`: a lone spike is no rise.
    pub fn rises(&self, mark: f64, window: f64) -> f64 {
        let starts = self
            .time
            .iter()
            .copied()
            .filter(|t| t + window <= self.time[self.time.len() - 1]);
        starts
            .into_iter()
            .find(|t| self.mean(*t, t + window) > mark)
            .unwrap_or(f64::NAN)
    }

    /// Value at `time`, straight between points; NaN outside.
    pub fn at(&self, time: f64) -> f64 {
        let i = self.time.partition_point(|t| *t < time);
        if i == 0 || i >= self.time.len() {
            return f64::NAN;
        }
        let share = (time - self.time[i - 1]) / (self.time[i] - self.time[i - 1]).max(1e-12);
        self.value[i - 1] * (1.0 - share) + self.value[i] * share
    }

    /// Mean over time between two moments: a step's value stands for the step that led to it, as a pressure does.
    pub fn mean(&self, from: f64, to: f64) -> f64 {
        if !(self.time.first() <= Some(&from) && self.time.last() >= Some(&to)) {
            return f64::NAN;
        }
        let sum: f64 = (1..self.time.len())
            .map(|i| {
                let (a, b) = (self.time[i - 1].max(from), self.time[i].min(to));
                self.value[i] * (b - a).max(0.0)
            })
            .sum();
        sum / (to - from)
    }

    /// Largest mean over any `window` that lies between two moments.
    pub fn largest_mean(&self, window: f64, from: f64, to: f64) -> f64 {
        let steps = (4.0 * (to - from - window) / window).floor().max(0.0) as usize;
        (0..=steps)
            .map(|n| from + 0.25 * window * n as f64)
            .map(|start| self.mean(start, start + window))
            .fold(f64::NAN, f64::max)
    }

    /// The points of the plot.
    pub fn points(&self) -> Vec<(f64, f64)> {
        self.time
            .iter()
            .copied()
            .zip(self.value.iter().copied())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps() -> Curve {
        Curve {
            time: vec![0.0, 1.0, 3.0, 4.0],
            value: vec![0.0, 2.0, 4.0, 0.0],
        }
    }

    #[test]
    fn a_mean_weighs_each_value_by_its_step() {
        assert!((steps().mean(0.0, 4.0) - 2.5).abs() < 1e-12);
        assert!((steps().mean(2.0, 3.5) - 8.0 / 3.0).abs() < 1e-12);
        assert!(steps().mean(2.0, 5.0).is_nan());
    }

    #[test]
    fn a_mark_is_passed_between_points_and_upward() {
        assert!((steps().when(3.0) - 2.0).abs() < 1e-12);
        assert!(steps().when_after(3.5, 3.0).is_nan());
        assert!((steps().at(2.0) - 3.0).abs() < 1e-12);
    }

    #[test]
    fn the_largest_mean_finds_the_loud_part() {
        assert!((steps().largest_mean(1.0, 0.0, 4.0) - 4.0).abs() < 1e-12);
    }
}
