//! Single false values: found against a running median, replaced by it, and said.

use super::middle::median;

/// Half-width of the running median, in samples: a spike of up to two samples stands out.
const REACH: usize = 2;
/// A spike stands this many scaled median deviations off, besides the least step given by the caller.
const SPREADS: f64 = 8.0;

/// Replaces spikes in place and returns the rows they stood on.
///
/// A sample is a spike when it lies further from the median of itself and its four neighbours than `least` and than
/// eight times the spread of all such differences (1.4826 times their median, the scale of a normal spread).
pub(super) fn remove(values: &mut [f64], least: f64) -> Vec<usize> {
    let n = values.len();
    let middle: Vec<f64> = (0..n)
        .map(|i| running(&values[i.saturating_sub(REACH)..(i + REACH + 1).min(n)]))
        .collect();
    if (0..n).all(|i| (values[i] - middle[i]).abs() <= least) {
        return Vec::new();
    }
    let spread = 1.4826 * median((0..n).map(|i| (values[i] - middle[i]).abs()).collect());
    let bound = least.max(SPREADS * spread);
    let rows: Vec<usize> = (0..n)
        .filter(|&i| (values[i] - middle[i]).abs() > bound)
        .collect();
    for &i in &rows {
        values[i] = middle[i];
    }
    rows
}

/// Median of at most `2 REACH + 1` values, the upper one of two: a log has millions, so nothing is put on the heap.
fn running(values: &[f64]) -> f64 {
    let mut sorted = [f64::INFINITY; 2 * REACH + 1];
    for (n, &value) in values.iter().enumerate() {
        let mut at = n;
        while at > 0 && sorted[at - 1] > value {
            sorted[at] = sorted[at - 1];
            at -= 1;
        }
        sorted[at] = value;
    }
    sorted[values.len() / 2]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_running_median_is_the_median() {
        let values = [3.0, -1.0, 7.5, 0.0, 3.0, 2.0, -4.0];
        for from in 0..values.len() {
            for to in from + 1..=(from + 2 * REACH + 1).min(values.len()) {
                let piece = &values[from..to];
                assert_eq!(running(piece), median(piece.to_vec()), "{piece:?}");
            }
        }
    }

    #[test]
    fn a_spike_is_taken_out_and_a_step_is_left() {
        let clean: Vec<f64> = (0..100).map(|i| if i < 50 { 0.1 } else { 9.0 }).collect();
        let mut v = clean.clone();
        v[20] = 60.0;
        v[70] = -45.0;
        v[71] = -44.0;
        assert_eq!(remove(&mut v, 5.0), [20, 70, 71]);
        assert_eq!(v, clean);
        assert!(remove(&mut v, 5.0).is_empty());
    }
}
