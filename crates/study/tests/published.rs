//! Search and sensitivity against published problems.

use std::f64::consts::PI;
use sumpwright_study::sample::{latin_hypercube, sobol};
use sumpwright_study::search::{Score, Search};
use sumpwright_study::sensitivity::effects;

/// The Ishigami function with a = 7, b = 0.1 (T. Ishigami, T. Homma 1990): S1 = 0.3139, S2 = 0.4424, S3 = 0 (A. Saltelli et
/// al., Global Sensitivity Analysis: The Primer, 2008, from the closed form).
#[test]
fn shares_of_the_ishigami_function_are_the_published_ones() {
    let wanted = [0.3139, 0.4424, 0.0];
    for draws in [sobol(4096, 3, 1), latin_hypercube(4096, 3, 1)] {
        let x: Vec<Vec<f64>> = (0..3)
            .map(|j| draws.iter().map(|d| PI * (2.0 * d[j] - 1.0)).collect())
            .collect();
        let y: Vec<f64> = (0..draws.len())
            .map(|i| x[0][i].sin() + 7.0 * x[1][i].sin().powi(2) + 0.1 * x[2][i].powi(4) * x[0][i].sin())
            .collect();
        let got = effects(&x, &y, false).unwrap();
        for (effect, wanted) in got.iter().zip(wanted) {
            assert!((effect.share - wanted).abs() < 0.025, "{got:?}");
            let band = effect.band.unwrap();
            assert!(band < 0.06, "{got:?}");
        }
        // x1 raises it, x2 does both.
        assert!(got[0].way > 0.4 && got[1].way.abs() < 0.05, "{got:?}");
    }
}

/// With few cases the share is rough, and the band says so: over forty samples of 64 the published value lies within it about
/// as often as it should (90 %).
#[test]
fn the_band_of_a_share_holds_the_published_value() {
    let mut held = 0;
    for seed in 0..40 {
        let draws = latin_hypercube(64, 3, seed);
        let x: Vec<Vec<f64>> = (0..3).map(|j| draws.iter().map(|d| d[j]).collect()).collect();
        let y: Vec<f64> = draws
            .iter()
            .map(|d| {
                let [a, b, c] = [0, 1, 2].map(|j| PI * (2.0 * d[j] - 1.0));
                a.sin() + 7.0 * b.sin().powi(2) + 0.1 * c.powi(4) * a.sin()
            })
            .collect();
        let got = effects(&x, &y, false).unwrap()[0];
        held += usize::from((got.share - 0.3139).abs() <= got.band.unwrap());
    }
    assert!(held >= 32, "{held} of 40");
}

/// A grid without chance: y = 3a + b over all of 3 x 3 levels −1, 0, 1. Sums of squares by hand: 54 and 6 of 60.
#[test]
fn main_effects_of_a_grid_are_its_sums_of_squares() {
    let levels = [-1.0, 0.0, 1.0];
    let a: Vec<f64> = (0..9).map(|i| levels[i / 3]).collect();
    let b: Vec<f64> = (0..9).map(|i| levels[i % 3]).collect();
    let y: Vec<f64> = a.iter().zip(&b).map(|(a, b)| 3.0 * a + b).collect();
    let got = effects(&[a, b], &y, true).unwrap();
    assert!((got[0].share - 0.9).abs() < 1e-12 && (got[1].share - 0.1).abs() < 1e-12);
    assert_eq!(got[0].band, None);
}

#[test]
fn a_figure_that_does_not_move_has_no_shares() {
    let x = vec![(0..32).map(f64::from).collect::<Vec<_>>()];
    assert_eq!(effects(&x, &[0.1 + 0.2; 32], false), None);
    assert_eq!(effects(&[vec![1.0, 2.0]], &[1.0, 2.0], false), None);
}

fn zdt1(draw: &[f64]) -> Vec<f64> {
    let g = 1.0 + 9.0 * draw[1..].iter().sum::<f64>() / (draw.len() - 1) as f64;
    vec![draw[0], g * (1.0 - (draw[0] / g).sqrt())]
}

/// ZDT1 (E. Zitzler, K. Deb, L. Thiele, Evol. Comput. 8, 2000): the front is f2 = 1 − √f1. Ten inputs here, not thirty.
#[test]
fn the_search_reaches_the_front_of_zdt1_and_spreads_over_it() {
    let search = Search {
        inputs: 10,
        generations: 150,
        population: 60,
        seed: 3,
    };
    let mut done: Vec<Vec<Score>> = Vec::new();
    let mut all = Vec::new();
    while let Some(draws) = search.next(&done) {
        let costs: Vec<Vec<f64>> = draws.iter().map(|d| zdt1(d)).collect();
        done.push(costs.iter().cloned().map(Score::Costs).collect());
        all.extend(costs);
        if done.len() == search.generations {
            break;
        }
    }
    let unbeaten = sumpwright_study::front::front(&all);
    let off = unbeaten.iter().map(|i| all[*i][1] - (1.0 - all[*i][0].sqrt()));
    let mean = off.sum::<f64>() / unbeaten.len() as f64;
    assert!(mean < 0.02, "off the front by {mean:.4} on average");
    // Every tenth of it is reached.
    for tenth in 0..10 {
        let within = |i: &&usize| (all[**i][0] * 10.0) as usize == tenth;
        assert!(unbeaten.iter().any(|i| within(&i)), "nothing in tenth {tenth}");
    }
}

/// Half of the room cannot be; the search leaves it, and says the same again from the same scores.
#[test]
fn invalid_cases_lose_and_the_same_scores_give_the_same_cases() {
    let search = Search {
        inputs: 2,
        generations: 12,
        population: 16,
        seed: 9,
    };
    let score = |d: &Vec<f64>| {
        if d[1] < 0.5 {
            Score::Invalid
        } else {
            Score::Costs(vec![d[0], 1.0 - d[0] + d[1]])
        }
    };
    let mut done: Vec<Vec<Score>> = Vec::new();
    let mut last = Vec::new();
    while let Some(draws) = search.next(&done) {
        assert_eq!(search.next(&done).as_ref(), Some(&draws));
        assert!(draws.iter().flatten().all(|u| *u > 0.0 && *u < 1.0));
        done.push(draws.iter().map(score).collect());
        last = draws;
    }
    let valid = last.iter().filter(|d| d[1] >= 0.5).count();
    assert!(valid >= 12, "{valid} of 16");
    // All invalid at first is no fault.
    let none = vec![vec![Score::Invalid; 16]];
    assert_eq!(search.next(&none).unwrap().len(), 16);
}
