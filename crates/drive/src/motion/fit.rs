//! Rates of a recorded angle or displacement that states none.
//!
//! Either the cubic spline through the samples, or, for a record with noise, the local quartic that fits the
//! samples round each instant best. Differencing a record twice multiplies its noise by about `6/step²`, so a
//! record is never differenced without saying what that noise is: [`noise`].

use super::Samples;

/// The cubic spline through the samples: at rest at the first one, a parabola up to the last.
///
/// The second derivatives `m` solve `h₁ m₀ + 2 (h₁ + h₂) m₁ + h₂ m₂ = 6 (d₂ − d₁)` with `d` the slopes between
/// samples (de Boor, A Practical Guide to Splines, ch. IV; from memory, the tests check it).
pub(super) fn spline(time: &[f64], value: &[f64]) -> Samples {
    let n = time.len();
    let h: Vec<f64> = time.windows(2).map(|w| w[1] - w[0]).collect();
    let slope: Vec<f64> = (0..n - 1).map(|i| (value[i + 1] - value[i]) / h[i]).collect();
    let (mut upper, mut bend) = (vec![0.0; n], vec![0.0; n]);
    // Clamped start: 2 h m₀ + h m₁ = 6 (d₁ − 0).
    (upper[0], bend[0]) = (0.5, 3.0 * slope[0] / h[0]);
    for i in 1..n - 1 {
        let pivot = 2.0 * (h[i - 1] + h[i]) - h[i - 1] * upper[i - 1];
        upper[i] = h[i] / pivot;
        bend[i] = (6.0 * (slope[i] - slope[i - 1]) - h[i - 1] * bend[i - 1]) / pivot;
    }
    bend[n - 1] = bend[n - 2] / (1.0 + upper[n - 2]);
    for i in (0..n - 1).rev() {
        bend[i] -= upper[i] * bend[i + 1];
    }
    let rate = (0..n).map(|i| {
        if i + 1 < n {
            slope[i] - h[i] * (2.0 * bend[i] + bend[i + 1]) / 6.0
        } else {
            slope[i - 1] + h[i - 1] * (bend[i - 1] + 2.0 * bend[i]) / 6.0
        }
    });
    Samples {
        time: time.to_vec(),
        value: value.to_vec(),
        rate: rate.collect(),
        acceleration: bend.clone(),
    }
}

/// Degree of the local polynomial plus one.
const TERMS: usize = 5;

/// At each sample the quartic that fits the samples within `half` [s] best, near ones counting more
/// (tricube weights, as in Cleveland, J. Am. Stat. Assoc. 74 (1979) 829-836).
///
/// `None` when some window holds fewer than eight samples: a quartic through five says nothing about noise.
pub(super) fn smooth(time: &[f64], value: &[f64], half: f64) -> Option<Samples> {
    let n = time.len();
    let mut out = Samples {
        time: time.to_vec(),
        value: Vec::with_capacity(n),
        rate: Vec::with_capacity(n),
        acceleration: Vec::with_capacity(n),
    };
    for &middle in time {
        let from = time.partition_point(|t| *t < middle - half);
        let to = time.partition_point(|t| *t <= middle + half);
        if to - from < 8 {
            return None;
        }
        let mut normal = [[0.0; TERMS + 1]; TERMS];
        for i in from..to {
            let s = (time[i] - middle) / half;
            // A sample on the very edge keeps a trace of weight: edges of the record need all they have.
            let weight = (1.0 - s.abs().powi(3)).powi(3).max(1e-3);
            let mut power = [1.0; TERMS];
            for k in 1..TERMS {
                power[k] = power[k - 1] * s;
            }
            for r in 0..TERMS {
                for c in 0..TERMS {
                    normal[r][c] += weight * power[r] * power[c];
                }
                normal[r][TERMS] += weight * power[r] * value[i];
            }
        }
        let fitted = solve(normal)?;
        out.value.push(fitted[0]);
        out.rate.push(fitted[1] / half);
        out.acceleration.push(2.0 * fitted[2] / (half * half));
    }
    Some(out)
}

/// Gauss with row pivots; `None` when the samples do not fix the polynomial.
fn solve(mut a: [[f64; TERMS + 1]; TERMS]) -> Option<[f64; TERMS]> {
    for k in 0..TERMS {
        let best = (k..TERMS).max_by(|r, s| a[*r][k].abs().total_cmp(&a[*s][k].abs()))?;
        a.swap(k, best);
        if a[k][k].abs() < 1e-12 {
            return None;
        }
        for r in k + 1..TERMS {
            let share = a[r][k] / a[k][k];
            for c in k..=TERMS {
                a[r][c] -= share * a[k][c];
            }
        }
    }
    let mut x = [0.0; TERMS];
    for k in (0..TERMS).rev() {
        let rest: f64 = (k + 1..TERMS).map(|c| a[k][c] * x[c]).sum();
        x[k] = (a[k][TERMS] - rest) / a[k][k];
    }
    Some(x)
}

/// Noise of the spline's acceleration as a share of the acceleration itself: the part of it that alternates from
/// sample to sample, which no motion that the record resolves does. 0 for fewer than four samples.
pub(super) fn noise(acceleration: &[f64]) -> f64 {
    let middle: Vec<f64> = acceleration
        .windows(3)
        .map(|w| 0.25 * w[0] - 0.5 * w[1] + 0.25 * w[2])
        .collect();
    let power = |v: &[f64]| (v.iter().map(|x| x * x).sum::<f64>() / v.len().max(1) as f64).sqrt();
    let whole = power(acceleration);
    if middle.len() < 2 || whole == 0.0 {
        0.0
    } else {
        power(&middle) / whole
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PULSE: f64 = 3.84;

    fn swing(step: f64, noise: f64) -> (Vec<f64>, Vec<f64>) {
        let mut seed = 1u32;
        let mut jitter = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(seed >> 8) / f64::from(1u32 << 23) - 1.0
        };
        let time: Vec<f64> = (0..400).map(|i| step * f64::from(i)).collect();
        // Starts at rest, as the spline takes it.
        let value = time
            .iter()
            .map(|t| 0.07 * (1.0 - (PULSE * t).cos()) + noise * jitter());
        (time.clone(), value.collect())
    }

    fn largest_miss(samples: &Samples, from: f64, to: f64) -> (f64, f64) {
        let mut most = (0.0f64, 0.0f64);
        for (i, t) in samples.time.iter().enumerate() {
            if *t < from || *t > to {
                continue;
            }
            let (rate, acceleration) = (
                0.07 * PULSE * (PULSE * t).sin(),
                0.07 * PULSE * PULSE * (PULSE * t).cos(),
            );
            most.0 = most.0.max((samples.rate[i] - rate).abs());
            most.1 = most.1.max((samples.acceleration[i] - acceleration).abs());
        }
        most
    }

    #[test]
    fn a_clean_record_gives_its_rates_through_the_spline() {
        let (time, value) = swing(0.01, 0.0);
        let (rate, acceleration) = largest_miss(&spline(&time, &value), 0.0, 3.9);
        // The spline's own error is h² ω⁴ A / 12 = 1.3e-4 in the acceleration of 1.03 rad/s².
        assert!(
            rate < 1e-5 && acceleration < 3e-4,
            "rate off by {rate}, acceleration by {acceleration}"
        );
        assert!(noise(&spline(&time, &value).acceleration) < 0.01);
    }

    #[test]
    fn a_noisy_record_needs_the_fit_and_gets_its_acceleration_to_five_percent() {
        // Noise of 0.001 degrees in steps of 5 ms, as a good inclinometer has it.
        let (time, value) = swing(0.005, 1.7e-5);
        let raw = spline(&time, &value);
        assert!(noise(&raw.acceleration) > 0.3, "{}", noise(&raw.acceleration));
        assert!(largest_miss(&raw, 0.2, 1.8).1 > 0.5);
        let fitted = smooth(&time, &value, 0.1).unwrap();
        let (rate, acceleration) = largest_miss(&fitted, 0.2, 1.8);
        assert!(
            rate < 2e-3 && acceleration < 0.05,
            "rate off by {rate}, acceleration by {acceleration}"
        );
        assert!(noise(&fitted.acceleration) < 0.02);
    }

    #[test]
    fn a_window_with_too_few_samples_is_refused() {
        let (time, value) = swing(0.05, 0.0);
        assert_eq!(smooth(&time, &value, 0.1), None);
    }
}
