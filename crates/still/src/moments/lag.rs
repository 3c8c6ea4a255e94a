//! Series: between samples, lagged, meaned.

use std::f64::consts::TAU;
use std::ops::{Add, Div, Mul, Sub};

use glam::DVec3;

/// Damping of the low-pass, as a share of critical. Oil in a bare box is near 0.01; plates, doors and a
/// sloping floor raise it. Chosen so that a beat at the mode's rate is lifted about 1.8 times. No source.
const DAMPING: f64 = 0.3;

/// A series at `t`: straight lines between samples, flat beyond the ends.
pub(super) fn at<T>(time: &[f64], series: &[T], t: f64) -> T
where
    T: Copy + Add<Output = T> + Sub<Output = T> + Mul<f64, Output = T>,
{
    let after = time.partition_point(|&s| s <= t);
    if after == 0 {
        return series[0];
    }
    if after == time.len() {
        return series[after - 1];
    }
    let part = (t - time[after - 1]) / (time[after] - time[after - 1]);
    series[after - 1] + (series[after] - series[after - 1]) * part
}

/// Each axis through `x'' + 2ζω x' + ω² x = ω² u` at its own rate [Hz]; axes without a rate pass unchanged.
/// Starts at rest at the first sample. `step` [s] between samples; the input is held over each step and the
/// oscillator solved exactly, so any rate is stable.
pub(super) fn second_order(input: &[DVec3], step: f64, rates: [Option<f64>; 3]) -> Vec<DVec3> {
    let mut output = input.to_vec();
    for (axis, rate) in rates.into_iter().enumerate() {
        let Some(rate) = rate else { continue };
        let omega = TAU * rate;
        let ringing = omega * (1.0 - DAMPING * DAMPING).sqrt();
        let fade = (-DAMPING * omega * step).exp();
        let (sine, cosine) = (ringing * step).sin_cos();
        let (mut x, mut speed) = (input[0][axis], 0.0);
        for (out, u) in output.iter_mut().zip(input) {
            let off = x - u[axis];
            let swing = (speed + DAMPING * omega * off) / ringing;
            let next = fade * (off * cosine + swing * sine);
            speed = fade * (speed * cosine - (DAMPING * omega * swing + ringing * off) * sine);
            x = u[axis] + next;
            out[axis] = x;
        }
    }
    output
}

/// Mean over `width` samples round each one (fewer at the ends).
pub(super) fn running_mean<T>(series: &[T], width: usize) -> Vec<T>
where
    T: Copy + Default + Add<Output = T> + Div<f64, Output = T>,
{
    let half = width / 2;
    (0..series.len())
        .map(|i| {
            let rows = i.saturating_sub(half)..(i + half + 1).min(series.len());
            let count = rows.len() as f64;
            series[rows].iter().fold(T::default(), |sum, &v| sum + v) / count
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_overshoots_as_a_damped_oscillator_must() {
        let input: Vec<DVec3> = (0..400)
            .map(|i| if i == 0 { DVec3::ZERO } else { DVec3::splat(1.0) })
            .collect();
        let out = second_order(&input, 0.005, [Some(1.0), None, Some(4.0)]);
        let peak = out.iter().map(|v| v.x).fold(0.0, f64::max);
        // Overshoot of a second-order system: exp(-πζ/√(1-ζ²)), a textbook formula.
        let due = 1.0 + (-std::f64::consts::PI * DAMPING / (1.0 - DAMPING * DAMPING).sqrt()).exp();
        assert!((peak - due).abs() < 1e-3, "{peak}, due {due}");
        assert_eq!(out[1].y, 1.0);
        assert!((out[399].z - 1.0).abs() < 1e-3);
    }

    #[test]
    fn still_oil_stays_still() {
        let input = vec![DVec3::new(1.0, -2.0, -9.8); 50];
        assert_eq!(second_order(&input, 0.05, [Some(1.3), Some(0.7), None]), input);
    }

    #[test]
    fn means_and_lines_between_samples_come_out() {
        assert_eq!(running_mean(&[0.0, 3.0, 6.0, 9.0], 3), [1.5, 3.0, 6.0, 7.5]);
        assert_eq!(at(&[0.0, 2.0], &[1.0, 5.0], 0.5), 2.0);
        assert_eq!(at(&[0.0, 2.0], &[1.0, 5.0], 9.0), 5.0);
    }
}
