//! Vibration of the engine or of the sensor's mount: what of each acceleration lies above the low-pass, told by its size
//! and its strongest frequency.
//!
//! Source: power spectrum by averaged periodograms of overlapping segments under a Hann window; P. D. Welch, "The use of
//! fast Fourier transform for the estimation of power spectra", 1967 (from memory; the test checks size and frequency).

use super::names::Channel;
use super::notes::Topic;
use super::scale::Scaled;
use crate::filter::{resample, uniform_clock};
use measure::STANDARD_GRAVITY;
use std::f64::consts::{PI, TAU};

/// Samples of a segment.
const SEGMENT: usize = 512;
/// Samples looked at, at most.
const MOST: usize = 1 << 18;
/// Vibration starts at so many times the cut-off: below lies what a car does.
const ABOVE: f64 = 2.0;
/// Least size that is told [m/s², root mean square].
const LEAST: f64 = 0.1 * STANDARD_GRAVITY;

/// Says what vibrates; `cutoff` is that of the low-pass [Hz].
pub(super) fn tell(log: &mut Scaled, cutoff: f64) {
    let rate = 1.0 / log.step;
    let from = (ABOVE * cutoff).max(8.0);
    if 0.5 * rate < 1.3 * from || log.time.len() < 2 * SEGMENT {
        return;
    }
    let end = log.time[log.time.len() - 1].min(MOST as f64 * log.step);
    let clock = uniform_clock(0.0, end, rate);
    for channel in [Channel::Longitudinal, Channel::Lateral, Channel::Vertical] {
        let Some(values) = log.values(channel) else {
            continue;
        };
        let even = resample(&log.time, values, &clock);
        let found = above(&even, rate, from);
        if found.size < LEAST {
            continue;
        }
        let passes = 1.0 / (1.0 + (found.strongest / cutoff).powi(4));
        log.notes.say(
            Topic::Cleaning,
            format!(
                "Vibration: above {from:.0} Hz the {} holds {:.2} g (root mean square), strongest near {:.0} Hz, where {:.0} in a hundred of its \
                 power lie within a tenth of that frequency. No car moves so fast: it is the engine or the mount. The low-pass lets {:.1e} of it through.",
                channel.words(),
                found.size / STANDARD_GRAVITY,
                found.strongest,
                100.0 * found.share,
                passes
            ),
        );
    }
}

/// What lies above a frequency.
#[derive(Debug)]
struct Band {
    /// Root mean square.
    size: f64,
    /// Strongest frequency [Hz].
    strongest: f64,
    /// Share of the power within a tenth of that frequency.
    share: f64,
}

fn above(values: &[f64], rate: f64, from: f64) -> Band {
    let power = spectrum(values);
    let frequency = |k: usize| k as f64 * rate / SEGMENT as f64;
    let first = ((from * SEGMENT as f64 / rate).ceil() as usize).min(power.len() - 1);
    let total: f64 = power[first..].iter().sum();
    let peak = (first..power.len())
        .max_by(|&a, &b| power[a].total_cmp(&power[b]))
        .unwrap_or(first);
    let near = |k: &usize| {
        (frequency(*k) - frequency(peak)).abs() <= (0.1 * frequency(peak)).max(1.5 * rate / SEGMENT as f64)
    };
    let within: f64 = (first..power.len()).filter(near).map(|k| power[k]).sum();
    Band {
        size: total.sqrt(),
        strongest: frequency(peak),
        share: if total > 0.0 { within / total } else { 0.0 },
    }
}

/// Mean square in each frequency bin, one-sided; the bins add up to the variance.
fn spectrum(values: &[f64]) -> Vec<f64> {
    let window: Vec<f64> = (0..SEGMENT)
        .map(|i| 0.5 - 0.5 * (TAU * i as f64 / SEGMENT as f64).cos())
        .collect();
    let norm = window.iter().map(|w| w * w).sum::<f64>() * SEGMENT as f64;
    let mut power = vec![0.0; SEGMENT / 2 + 1];
    let mut segments = 0;
    for piece in values.windows(SEGMENT).step_by(SEGMENT / 2) {
        let mean = piece.iter().sum::<f64>() / SEGMENT as f64;
        let mut re: Vec<f64> = piece.iter().zip(&window).map(|(v, w)| (v - mean) * w).collect();
        let mut im = vec![0.0; SEGMENT];
        transform(&mut re, &mut im);
        for (k, p) in power.iter_mut().enumerate() {
            let both = if k == 0 || k == SEGMENT / 2 { 1.0 } else { 2.0 };
            *p += both * (re[k] * re[k] + im[k] * im[k]) / norm;
        }
        segments += 1;
    }
    power.iter_mut().for_each(|p| *p /= f64::from(segments.max(1)));
    power
}

/// Fourier transform in place, the length a power of two: halves by turns, in bit-reversed order (Cooley and Tukey, 1965).
fn transform(re: &mut [f64], im: &mut [f64]) {
    let n = re.len();
    let bits = n.trailing_zeros();
    for i in 0..n {
        let j = i.reverse_bits() >> (usize::BITS - bits);
        if j > i {
            re.swap(i, j);
            im.swap(i, j);
        }
    }
    let mut half = 1;
    while half < n {
        for k in 0..half {
            let (sin, cos) = (-PI * k as f64 / half as f64).sin_cos();
            for a in (k..n).step_by(2 * half) {
                let b = a + half;
                let (x, y) = (re[b] * cos - im[b] * sin, re[b] * sin + im[b] * cos);
                (re[b], im[b]) = (re[a] - x, im[a] - y);
                (re[a], im[a]) = (re[a] + x, im[a] + y);
            }
        }
        half *= 2;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sine of size 3 has a root mean square of 3/√2; what lies under the bound is not counted.
    #[test]
    fn a_sine_is_found_with_its_size_and_its_frequency() {
        let rate = 400.0;
        let values: Vec<f64> = (0..20_000)
            .map(|i| {
                let t = f64::from(i) / rate;
                3.0 * (TAU * 73.0 * t).sin() + 20.0 * (TAU * 0.4 * t).sin()
            })
            .collect();
        let found = above(&values, rate, 10.0);
        assert!((found.size - 3.0 / 2.0_f64.sqrt()).abs() < 0.02, "{found:?}");
        assert!(
            (found.strongest - 73.0).abs() < 0.5 && found.share > 0.98,
            "{found:?}"
        );
    }
}
