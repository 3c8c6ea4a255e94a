//! Which cases nothing beats, and in which order to look at them.

use crate::{Figure, Figures};

/// Whether `a` is at least as good as `b` in everything and better in something; all such that less is better.
pub(crate) fn beats(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b) && a.iter().zip(b).any(|(a, b)| a < b)
}

/// The rows that no other row beats (less is better), in order. Of rows that are alike the first stands for all.
pub fn front(costs: &[Vec<f64>]) -> Vec<usize> {
    let unbeaten = |(n, own): (usize, &Vec<f64>)| {
        let lost = costs
            .iter()
            .enumerate()
            .any(|(m, other)| beats(other, own) || (m < n && other == own));
        (!lost).then_some(n)
    };
    costs.iter().enumerate().filter_map(unbeaten).collect()
}

/// The unbeaten cases, best first: by the verdict's word, then by how near they come to the best of every aim at once (each aim
/// counted from its best to its worst among the unbeaten). A case without one of the aims is left out.
pub fn ranked(cases: &[(usize, &Figures)], aims: &[Figure]) -> Vec<usize> {
    let mut rows = Vec::new();
    let mut costs = Vec::new();
    for (case, figures) in cases {
        let row: Option<Vec<f64>> = aims.iter().map(|aim| aim.cost(figures)).collect();
        if let Some(row) = row {
            rows.push((*case, *figures));
            costs.push(row);
        }
    }
    let unbeaten = front(&costs);
    let ends: Vec<(f64, f64)> = (0..aims.len())
        .map(|aim| {
            let values = unbeaten.iter().map(|n| costs[*n][aim]);
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(v), high.max(v))
            })
        })
        .collect();
    let away = |n: usize| {
        let parts = costs[n].iter().zip(&ends).map(|(cost, (low, high))| {
            let part = if high > low {
                (cost - low) / (high - low)
            } else {
                0.0
            };
            part * part
        });
        parts.fold(0.0, |sum, part| sum + part)
    };
    let mut order: Vec<usize> = unbeaten;
    order.sort_by(|a, b| {
        (rows[*a].1.word.cmp(&rows[*b].1.word))
            .then(away(*a).total_cmp(&away(*b)))
            .then(a.cmp(b))
    });
    order.into_iter().map(|n| rows[n].0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_that_is_beaten_or_said_twice_is_not_on_the_front() {
        let rows: Vec<Vec<f64>> = [[1.0, 5.0], [2.0, 2.0], [2.0, 3.0], [5.0, 1.0], [2.0, 2.0]]
            .map(Vec::from)
            .to_vec();
        assert_eq!(front(&rows), [0, 1, 3]);
        assert_eq!(front(&[]), [] as [usize; 0]);
    }
}
