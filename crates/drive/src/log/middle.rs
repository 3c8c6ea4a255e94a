//! Middles of unordered numbers.

/// Median; the upper one of two. 0 for none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// The size that one value in a hundred exceeds; 0 for none.
pub(super) fn high(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    if sizes.is_empty() {
        return 0.0;
    }
    let at = (sizes.len() * 99 / 100).min(sizes.len() - 1);
    *sizes.select_nth_unstable_by(at, f64::total_cmp).1
}
