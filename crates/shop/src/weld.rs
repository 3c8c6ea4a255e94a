//! The order in which a seam is welded: short runs, each far from the ones before it.

use glam::DVec2;

/// A run of a seam.
#[derive(Clone, Debug, PartialEq)]
pub struct WeldRun {
    /// When it is welded, from 1.
    pub turn: usize,
    /// Along the seam [m].
    pub line: Vec<DVec2>,
}

/// Cuts the closed line `seam` into runs of equal length, at most `run` [m], and numbers them: the second lies opposite
/// the first, the next two half-way between, and so on (the points of van der Corput's sequence, halving, on the loop).
/// At least eight, so that no two that follow each other are neighbours. Empty for a line without length.
///
/// That runs far from each other warp less is common practice, no source.
pub fn runs(seam: &[DVec2], run: f64) -> Vec<WeldRun> {
    let n = seam.len();
    let mut before = vec![0.0];
    for i in 0..n {
        before.push(before[i] + seam[i].distance(seam[(i + 1) % n]));
    }
    let around = before[n];
    if !(around > 0.0) || !(run > 0.0) {
        return Vec::new();
    }
    let count = ((around / run).ceil() as usize).max(8);
    let at = |s: f64| {
        let i = before.partition_point(|b| *b <= s).clamp(1, n) - 1;
        let share = ((s - before[i]) / (before[i + 1] - before[i]).max(1e-12)).min(1.0);
        seam[i].lerp(seam[(i + 1) % n], share)
    };
    let turns = turns(count);
    (0..count)
        .map(|k| {
            let [from, to] = [k, k + 1].map(|k| around * k as f64 / count as f64);
            let corners = (0..n)
                .filter(|&i| before[i] > from + 1e-9 && before[i] < to - 1e-9)
                .map(|i| seam[i]);
            let line = std::iter::once(at(from)).chain(corners).chain([at(to)]).collect();
            WeldRun { turn: turns[k], line }
        })
        .collect()
}

/// The turn of each of `count` runs round the loop, from 1.
fn turns(count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = Vec::new();
    let mut k: u32 = 0;
    while order.len() < count {
        // The bits of k behind the point, backwards: 0, 1/2, 1/4, 3/4, 1/8, 5/8 and so on.
        let share = f64::from(k.reverse_bits()) / 2f64.powi(32);
        let place = (share * count as f64) as usize;
        if !order.contains(&place) {
            order.push(place);
        }
        k += 1;
    }
    // Where the number of runs is no power of two the sequence may end up beside itself: such a run changes places with
    // another, so that neither then follows its neighbour.
    let beside = |order: &[usize], i: usize| {
        i > 0 && i < order.len() && {
            let apart = order[i - 1].abs_diff(order[i]);
            apart.min(count - apart) < 2
        }
    };
    for i in 2..count {
        if !beside(&order, i) {
            continue;
        }
        for other in 2..count {
            order.swap(i, other);
            if [i, i + 1, other, other + 1].iter().all(|&at| !beside(&order, at)) {
                break;
            }
            order.swap(i, other);
        }
    }
    let mut turns = vec![0; count];
    for (turn, place) in order.into_iter().enumerate() {
        turns[place] = turn + 1;
    }
    turns
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_run_is_welded_once_and_none_beside_the_one_before() {
        for count in 8..200 {
            let turns = turns(count);
            let mut sorted = turns.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, (1..=count).collect::<Vec<_>>());
            let place = |turn: usize| turns.iter().position(|t| *t == turn).unwrap();
            for turn in 1..count {
                let apart = place(turn).abs_diff(place(turn + 1));
                let apart = apart.min(count - apart);
                assert!(apart > 1, "{count} runs: {turn} and the next lie side by side");
            }
            let apart = place(1).abs_diff(place(2));
            assert!(
                apart.abs_diff(count / 2) <= 1,
                "the second lies opposite the first"
            );
        }
    }

    /// A rectangle of 400 by 240 mm is 1280 mm round: 32 runs of 40 mm, corners kept.
    #[test]
    fn the_runs_make_up_the_seam() {
        let seam = [[0.0, 0.0], [0.4, 0.0], [0.4, 0.24], [0.0, 0.24]].map(DVec2::from);
        let runs = runs(&seam, 0.0401);
        assert_eq!(runs.len(), 32);
        let long = |l: &[DVec2]| l.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>();
        assert!(runs.iter().all(|r| (long(&r.line) - 0.04).abs() < 1e-9));
        for (i, r) in runs.iter().enumerate() {
            assert!(r.line[r.line.len() - 1].distance(runs[(i + 1) % 32].line[0]) < 1e-9);
        }
        assert!(super::runs(&[], 0.04).is_empty() && super::runs(&[DVec2::ZERO; 3], 0.04).is_empty());
    }
}
