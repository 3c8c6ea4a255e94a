//! How likely something is that was seen in some of the cases.

use statrs::distribution::{ContinuousCDF, Normal};

/// A chance with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Cases in which it was seen.
    pub seen: usize,
    /// All cases.
    pub of: usize,
    /// Low end of the interval.
    pub low: f64,
    /// High end.
    pub high: f64,
}

impl Chance {
    /// The share of cases.
    pub fn share(&self) -> f64 {
        self.seen as f64 / self.of as f64
    }
}

/// The chance with the interval in which it lies with confidence `sure` (such as 0.95), from the count alone: it holds for
/// independent draws, and is wide for draws that fill the room evenly. `None` without cases.
///
/// Source: E. B. Wilson, J. Amer. Statist. Assoc. 22 (1927) 209.
pub fn wilson(seen: usize, of: usize, sure: f64) -> Option<Chance> {
    if of == 0 {
        return None;
    }
    let z = Normal::standard().inverse_cdf(0.5 + 0.5 * sure);
    let (n, p) = (of as f64, seen as f64 / of as f64);
    let middle = p + z * z / (2.0 * n);
    let reach = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z * z / n;
    Some(Chance {
        seen,
        of,
        // At both ends the formula gives nought and one but for rounding.
        low: if seen == 0 {
            0.0
        } else {
            ((middle - reach) / whole).max(0.0)
        },
        high: if seen == of {
            1.0
        } else {
            ((middle + reach) / whole).min(1.0)
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17 (1998) 857,
    /// table I, method 3 (score without correction), 95 %; the numbers are from memory.
    #[test]
    fn the_interval_is_the_published_one() {
        for (seen, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let got = wilson(seen, of, 0.95).unwrap();
            assert!(
                (got.low - low).abs() < 6e-5 && (got.high - high).abs() < 6e-5,
                "{seen} of {of}: {got:?}"
            );
        }
        assert_eq!(wilson(0, 0, 0.95), None);
    }
}
