//! One number against time with its first two rates of change: an angle or a displacement.

use std::f64::consts::TAU;

/// An angle [rad] or a displacement [m] against time, with its rate and its acceleration.
#[derive(Clone, Debug, PartialEq)]
pub enum Signal {
    /// `amplitude · ramp(t) · sin(2π t / period)`.
    Harmonic {
        /// Largest value [rad or m].
        amplitude: f64,
        /// Time of one swing [s].
        period: f64,
        /// Time over which the swing grows from nothing to full [s]; 0 starts at full speed.
        ramp: f64,
    },
    /// Samples of all three.
    Recorded(Samples),
}

/// Samples of a value, its rate and its acceleration at rising times; all of one length, at least two.
#[derive(Clone, Debug, PartialEq)]
pub struct Samples {
    /// Time [s].
    pub time: Vec<f64>,
    /// Value [rad or m].
    pub value: Vec<f64>,
    /// Rate [1/s of it].
    pub rate: Vec<f64>,
    /// Acceleration [1/s² of it].
    pub acceleration: Vec<f64>,
}

impl Signal {
    /// Value, rate and acceleration at `time` [s].
    ///
    /// The ramp of a harmonic is `s³ (10 − 15 s + 6 s²)`, whose first two derivatives vanish at both ends. Before
    /// its first sample a record holds still at its first value, after its last one at its last.
    pub fn at(&self, time: f64) -> [f64; 3] {
        match self {
            Signal::Harmonic {
                amplitude,
                period,
                ramp,
            } => harmonic(*amplitude, TAU / period, *ramp, time),
            Signal::Recorded(samples) => samples.at(time),
        }
    }

    /// Last instant that it tells of [s]; a harmonic goes on for ever.
    pub fn end(&self) -> Option<f64> {
        match self {
            Signal::Harmonic { .. } => None,
            Signal::Recorded(samples) => samples.time.last().copied(),
        }
    }
}

fn harmonic(amplitude: f64, pulse: f64, ramp: f64, time: f64) -> [f64; 3] {
    if time <= 0.0 {
        return [0.0; 3];
    }
    let (grown, growing, bending) = if time >= ramp {
        (1.0, 0.0, 0.0)
    } else {
        let s = time / ramp;
        (
            s * s * s * (10.0 + s * (6.0 * s - 15.0)),
            30.0 * s * s * (s - 1.0) * (s - 1.0) / ramp,
            60.0 * s * (s - 1.0) * (2.0 * s - 1.0) / (ramp * ramp),
        )
    };
    let (sin, cos) = (pulse * time).sin_cos();
    [
        amplitude * grown * sin,
        amplitude * (growing * sin + grown * pulse * cos),
        amplitude * (bending * sin + 2.0 * growing * pulse * cos - grown * pulse * pulse * sin),
    ]
}

impl Samples {
    /// Between two samples the acceleration runs straight, rate and value along the cubics that meet the slopes at
    /// both ends; a cubic spline comes out as it is.
    fn at(&self, time: f64) -> [f64; 3] {
        let after = self.time.partition_point(|&t| t <= time);
        if after == 0 {
            return [self.value[0], 0.0, 0.0];
        }
        let (i, j) = (after - 1, after);
        if j == self.time.len() {
            // The last sample itself still moves.
            let still = time > self.time[i];
            let moving = |v: &[f64]| if still { 0.0 } else { v[i] };
            return [self.value[i], moving(&self.rate), moving(&self.acceleration)];
        }
        let step = self.time[j] - self.time[i];
        let u = (time - self.time[i]) / step;
        let cubic = |v: &[f64], slope: &[f64]| {
            let (a, b) = (1.0 - u, u);
            let ends = a * a * (1.0 + 2.0 * b) * v[i] + b * b * (1.0 + 2.0 * a) * v[j];
            ends + step * a * b * (a * slope[i] - b * slope[j])
        };
        [
            cubic(&self.value, &self.rate),
            cubic(&self.rate, &self.acceleration),
            self.acceleration[i] + u * (self.acceleration[j] - self.acceleration[i]),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rate and acceleration against central differences of the value.
    fn agrees(signal: &Signal, times: impl Iterator<Item = f64>) {
        for t in times {
            let e = 1e-5;
            let [_, rate, acceleration] = signal.at(t);
            let ([low, low_rate, _], [high, high_rate, _]) = (signal.at(t - e), signal.at(t + e));
            let slope = (high - low) / (2.0 * e);
            let bend = (high_rate - low_rate) / (2.0 * e);
            assert!((rate - slope).abs() < 1e-6, "rate at {t}: {rate}, slope {slope}");
            assert!(
                (acceleration - bend).abs() < 1e-5,
                "acceleration at {t}: {acceleration}, slope of the rate {bend}"
            );
        }
    }

    #[test]
    fn a_harmonic_has_the_rates_of_its_own_value() {
        let swing = Signal::Harmonic {
            amplitude: 0.07,
            period: 1.6,
            ramp: 3.2,
        };
        agrees(&swing, (1..80).map(|i| 0.0613 * f64::from(i)));
        assert_eq!(swing.at(0.0), [0.0; 3]);
        assert!((swing.at(3.2 + 0.4)[0] - 0.07).abs() < 1e-15);
    }

    #[test]
    fn samples_of_a_smooth_motion_give_it_back_between_them() {
        let exact = |t: f64| [(3.0 * t).sin(), 3.0 * (3.0 * t).cos(), -9.0 * (3.0 * t).sin()];
        let time: Vec<f64> = (0..60).map(|i| 0.05 * f64::from(i)).collect();
        let series = |k: usize| time.iter().map(|t| exact(*t)[k]).collect::<Vec<f64>>();
        let record = Signal::Recorded(Samples {
            value: series(0),
            rate: series(1),
            acceleration: series(2),
            time: time.clone(),
        });
        for i in 1..290 {
            let t = 0.0101 * f64::from(i);
            let (got, due) = (record.at(t), exact(t));
            // Straight line in the acceleration: h²/8 of its own second derivative, 81 h²/8 = 0.025.
            for (k, most) in [(0, 1e-5), (1, 1e-4), (2, 0.026)] {
                assert!(
                    (got[k] - due[k]).abs() < most,
                    "{k} at {t}: {} {}",
                    got[k],
                    due[k]
                );
            }
        }
    }
}
