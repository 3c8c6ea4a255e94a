//! Zero-phase low-pass and resampling.
//!
//! The low-pass is a second-order Butterworth section run forward and then backward, so it delays nothing and its
//! gain is the square of one pass: one half (-6.02 dB) at the cut-off.
//!
//! Source: bilinear transform with the cut-off pre-warped, `K = tan(π f_c / f_s)`,
//! `H(z) = K² (1 + z⁻¹)² / (1 + √2 K + K² + 2 (K² - 1) z⁻¹ + (1 - √2 K + K²) z⁻²)`; A. V. Oppenheim and
//! R. W. Schafer, Discrete-Time Signal Processing, chapter on filter design by bilinear transform (from memory;
//! the tests check gain and phase directly).

/// What lies beyond the two ends of a series.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Nothing is known: the series goes on turned about its end point, so level and slope carry over.
    Open,
    /// The series is one turn of something that repeats.
    Cyclic,
}

/// Low-passes `series`, sampled at `rate` [Hz], at `cutoff` [Hz] without delay.
///
/// `cutoff` must lie above 0 and under half of `rate`; a caller decides what to do otherwise.
///
/// # Panics
/// If `cutoff` is outside that range, which is a bug of the caller.
pub fn low_pass(series: &[f64], rate: f64, cutoff: f64, ends: Ends) -> Vec<f64> {
    assert!(
        cutoff > 0.0 && cutoff < 0.5 * rate,
        "cut-off {cutoff} Hz does not suit a rate of {rate} Hz"
    );
    let n = series.len();
    if n < 2 {
        return series.to_vec();
    }
    // The section forgets as exp(-√2 π f_c t); three periods of the cut-off leave about 1e-6.
    let pad = (3.0 * rate / cutoff).ceil() as usize;
    let at = |i: isize| -> f64 {
        let last = n as isize - 1;
        match ends {
            Ends::Cyclic => series[i.rem_euclid(n as isize) as usize],
            Ends::Open if i < 0 => 2.0 * series[0] - series[(-i).min(last) as usize],
            Ends::Open if i > last => 2.0 * series[n - 1] - series[(2 * last - i).max(0) as usize],
            Ends::Open => series[i as usize],
        }
    };
    let mut padded = Vec::with_capacity(n + 2 * pad);
    padded.extend((1..=pad).rev().map(|k| at(-(k as isize))));
    padded.extend_from_slice(series);
    padded.extend((n..n + pad).map(|k| at(k as isize)));
    let section = Section::new(rate, cutoff);
    section.pass(padded.iter_mut());
    section.pass(padded.iter_mut().rev());
    padded.truncate(pad + n);
    padded.drain(..pad);
    padded
}

struct Section {
    b: f64,
    a1: f64,
    a2: f64,
}

impl Section {
    fn new(rate: f64, cutoff: f64) -> Section {
        let k = (std::f64::consts::PI * cutoff / rate).tan();
        let norm = 1.0 + std::f64::consts::SQRT_2 * k + k * k;
        Section {
            b: k * k / norm,
            a1: 2.0 * (k * k - 1.0) / norm,
            a2: (1.0 - std::f64::consts::SQRT_2 * k + k * k) / norm,
        }
    }

    /// Runs along the values in place, started as if the first value had stood for ever.
    fn pass<'a>(&self, values: impl Iterator<Item = &'a mut f64>) {
        let mut past: Option<[f64; 4]> = None;
        for v in values {
            let [x1, x2, y1, y2] = past.unwrap_or([*v; 4]);
            let y = self.b * (*v + 2.0 * x1 + x2) - self.a1 * y1 - self.a2 * y2;
            past = Some([*v, x1, y, y1]);
            *v = y;
        }
    }
}

/// Values of `series` (known at rising `time`) at the instants `clock`, by straight lines; held beyond the ends.
pub fn resample(time: &[f64], series: &[f64], clock: &[f64]) -> Vec<f64> {
    if time == clock {
        return series.to_vec();
    }
    let mut i = 0;
    clock
        .iter()
        .map(|&t| {
            while i + 2 < time.len() && time[i + 1] <= t {
                i += 1;
            }
            if time.len() == 1 {
                return series[0];
            }
            let u = ((t - time[i]) / (time[i + 1] - time[i])).clamp(0.0, 1.0);
            series[i] + (series[i + 1] - series[i]) * u
        })
        .collect()
}

/// Instants from `start` to `end` [s], `rate` a second; the last one falls at or just before `end`.
pub fn uniform_clock(start: f64, end: f64, rate: f64) -> Vec<f64> {
    let steps = ((end - start) * rate + 1e-6).floor() as usize;
    (0..=steps).map(|i| start + i as f64 / rate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    fn sine(n: usize, rate: f64, f: f64, phase: f64) -> Vec<f64> {
        (0..n)
            .map(|i| (TAU * f * i as f64 / rate + phase).sin())
            .collect()
    }

    /// Gain at the cut-off of two second-order Butterworth passes is exactly (1/√2)² = 0.5; delay is none.
    #[test]
    fn the_cut_off_passes_half_and_delays_nothing() {
        let (rate, f) = (100.0, 5.0);
        let y = low_pass(&sine(2000, rate, f, 0.3), rate, f, Ends::Open);
        let x = sine(2000, rate, f, 0.3);
        let (mut in_phase, mut across, mut n) = (0.0, 0.0, 0.0);
        for i in 400..1600 {
            in_phase += x[i] * y[i];
            across += (TAU * f * i as f64 / rate + 0.3).cos() * y[i];
            n += x[i] * x[i];
        }
        assert!((in_phase / n - 0.5).abs() < 1e-6, "gain {}", in_phase / n);
        assert!((across / n).abs() < 1e-6, "phase {}", across / n);
    }

    /// Squared Butterworth gain 1/(1+(f/fc)^4) with the pre-warped frequencies of the bilinear transform.
    #[test]
    fn the_gain_follows_butterworth_either_side_of_the_cut_off() {
        let (rate, fc) = (100.0, 5.0);
        for f in [1.0, 3.0, 8.0, 15.0] {
            let x = sine(4000, rate, f, 0.0);
            let y = low_pass(&x, rate, fc, Ends::Open);
            let power = |v: &[f64]| v[1000..3000].iter().map(|a| a * a).sum::<f64>();
            let got = (power(&y) / power(&x)).sqrt();
            let warp = |f: f64| (std::f64::consts::PI * f / rate).tan();
            let want = 1.0 / (1.0 + (warp(f) / warp(fc)).powi(4));
            assert!((got - want).abs() < 1e-6, "{f} Hz: got {got}, want {want}");
        }
    }

    proptest! {
        #[test]
        fn a_constant_stays_and_a_ramp_keeps_its_line(level in -20.0..20.0f64, slope in -3.0..3.0f64, n in 2usize..200) {
            let x: Vec<f64> = (0..n).map(|i| level + slope * i as f64).collect();
            let y = low_pass(&x, 50.0, 5.0, Ends::Open);
            if slope.abs() < 1e-9 || n > 60 {
                for i in 0..n {
                    prop_assert!((x[i] - y[i]).abs() < 1e-3 * (1.0 + slope.abs()), "{} {}", x[i], y[i]);
                }
            }
            let flat = low_pass(&vec![level; n], 50.0, 5.0, Ends::Cyclic);
            prop_assert!(flat.iter().all(|v| (v - level).abs() < 1e-9));
        }

        #[test]
        fn time_run_backward_filters_to_the_same_series_backward(x in prop::collection::vec(-5.0..5.0f64, 2..80)) {
            let y = low_pass(&x, 20.0, 3.0, Ends::Cyclic);
            let back: Vec<f64> = x.iter().rev().copied().collect();
            let z = low_pass(&back, 20.0, 3.0, Ends::Cyclic);
            for i in 0..x.len() {
                prop_assert!((y[i] - z[x.len() - 1 - i]).abs() < 1e-4);
            }
        }

        #[test]
        fn resampling_onto_its_own_clock_changes_nothing(x in prop::collection::vec(-5.0..5.0f64, 2..80)) {
            let t: Vec<f64> = (0..x.len()).map(|i| i as f64 * 0.1).collect();
            let y = resample(&t, &x, &t);
            for i in 0..x.len() {
                prop_assert!((x[i] - y[i]).abs() < 1e-9);
            }
        }
    }
}
