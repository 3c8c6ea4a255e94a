//! Least squares with a few unknowns.
//!
//! Normal equations with columns scaled to unit size, solved by Gaussian elimination with pivoting; the columns here are
//! means over a second, a handful of them, so their conditioning is mild. Standard errors are those of the textbook,
//! `sigma² (X'X)^-1`, and the caller widens them where rows are not independent.

/// What a fit found.
#[derive(Clone, Debug)]
pub(super) struct Solution {
    /// One for each column.
    pub weights: Vec<f64>,
    /// Standard error of each weight, as if rows were independent.
    pub errors: Vec<f64>,
    /// Share of the spread of the right-hand side (about its mean) that is explained, 0 to 1.
    pub explained: f64,
}

/// Fits `y` by a weighted sum of `columns`. `None` when there are fewer than twice as many rows as unknowns, or when the
/// columns do not tell the unknowns apart.
pub(super) fn fit(columns: &[&[f64]], y: &[f64]) -> Option<Solution> {
    let (k, n) = (columns.len(), y.len());
    if n < 2 * k.max(4) || columns.iter().any(|c| c.len() != n) {
        return None;
    }
    let size: Vec<f64> = (columns.iter())
        .map(|c| (c.iter().map(|v| v * v).sum::<f64>() / n as f64).sqrt())
        .collect();
    if size.iter().any(|s| !(*s > 1e-12)) {
        return None;
    }
    // X'X with the identity beside it, and X'y: eliminated together they give the inverse and the weights.
    let mut rows = vec![vec![0.0; 2 * k + 1]; k];
    for a in 0..k {
        for b in 0..=a {
            let sum: f64 = columns[a].iter().zip(columns[b]).map(|(p, q)| p * q).sum();
            let scaled = sum / (size[a] * size[b] * n as f64);
            rows[a][b] = scaled;
            rows[b][a] = scaled;
        }
        rows[a][k + a] = 1.0;
        rows[a][2 * k] = columns[a].iter().zip(y).map(|(p, q)| p * q).sum::<f64>() / (size[a] * n as f64);
    }
    for c in 0..k {
        let pivot = (c..k).max_by(|&a, &b| rows[a][c].abs().total_cmp(&rows[b][c].abs()))?;
        // Scaled columns have ones on the diagonal; what is left of a column that others give is round-off.
        if !(rows[pivot][c].abs() > 1e-7) {
            return None;
        }
        rows.swap(c, pivot);
        let lead = rows[c].clone();
        for (r, row) in rows.iter_mut().enumerate().filter(|(r, _)| *r != c) {
            let factor = row[c] / lead[c];
            let _ = r;
            row.iter_mut().zip(&lead).for_each(|(v, l)| *v -= factor * l);
        }
    }
    let weights: Vec<f64> = (0..k).map(|a| rows[a][2 * k] / rows[a][a] / size[a]).collect();
    let fitted = |i: usize| (0..k).map(|a| weights[a] * columns[a][i]).sum::<f64>();
    let mean = y.iter().sum::<f64>() / n as f64;
    let (mut left, mut all) = (0.0, 0.0);
    for i in 0..n {
        left += (y[i] - fitted(i)).powi(2);
        all += (y[i] - mean).powi(2);
    }
    let variance = left / (n - k) as f64;
    let errors = (0..k)
        .map(|a| (variance * (rows[a][k + a] / rows[a][a]).max(0.0) / n as f64).sqrt() / size[a])
        .collect();
    Some(Solution {
        weights,
        errors,
        explained: if all > 0.0 {
            (1.0 - left / all).max(0.0)
        } else {
            0.0
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Straight line through (0,1), (1,3), (2,4), (3,4) and the same four again: slope 1.0, intercept 1.5; residuals -0.5,
    /// 0.5, 0.5, -0.5, so with 8 rows and 2 unknowns the variance is 2/6 and the error of the slope
    /// sqrt((1/3) / 10) = 0.1826 (by hand).
    #[test]
    fn a_line_by_hand_gives_its_slope_and_its_error() {
        let x = [0.0, 1.0, 2.0, 3.0, 0.0, 1.0, 2.0, 3.0];
        let y = [1.0, 3.0, 4.0, 4.0, 1.0, 3.0, 4.0, 4.0];
        let found = fit(&[&x, &[1.0; 8]], &y).unwrap();
        assert!((found.weights[0] - 1.0).abs() < 1e-12 && (found.weights[1] - 1.5).abs() < 1e-12);
        assert!((found.errors[0] - 0.182_574).abs() < 1e-5, "{:?}", found.errors);
        assert!((found.explained - (1.0 - 2.0 / 12.0)).abs() < 1e-12);
    }

    #[test]
    fn columns_that_tell_nothing_apart_are_refused() {
        let x: Vec<f64> = (0..20).map(f64::from).collect();
        let double: Vec<f64> = x.iter().map(|v| 2.0 * v).collect();
        assert!(fit(&[&x, &double], &x).is_none());
        assert!(fit(&[&[0.0; 20]], &x).is_none());
    }
}
