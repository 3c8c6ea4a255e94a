//! Draws that fill the room of inputs: a grid, Sobol points, a Latin hypercube. Each draw is one number above 0 and below 1 for
//! each input.
//!
//! Sources: I. M. Sobol (1967) with the direction numbers of S. Joe and F. Y. Kuo, "Constructing Sobol sequences with better
//! two-dimensional projections", SIAM J. Sci. Comput. 30 (2008), scrambled after A. Owen (1995) by hashes (B. Burley, JCGT 9,
//! 2020); M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979) for the Latin hypercube.

use crate::dice::Dice;
use sobol_burley::parts::{hash, owen_scramble_rev, sobol_rev};

/// Most Sobol points: the library keeps 16 bits of the index.
pub const MOST_SOBOL: usize = 1 << 16;

/// Most inputs: directions of the library's table.
pub const MOST_INPUTS: usize = 256;

/// Every combination of levels, the last input changing fastest; a draw lies in the middle of its level's share.
pub fn grid(levels: &[usize]) -> Vec<Vec<f64>> {
    let cases: usize = levels.iter().product();
    let draw = |case: usize| {
        let mut rest = case;
        let mut draw: Vec<f64> = (levels.iter().rev())
            .map(|count| {
                let level = rest % count;
                rest /= count;
                (level as f64 + 0.5) / *count as f64
            })
            .collect();
        draw.reverse();
        draw
    };
    (0..cases).map(draw).collect()
}

/// The first points of the Sobol sequence, scrambled by the seed. Powers of two of them fill the room best.
pub fn sobol(cases: usize, inputs: usize, seed: u64) -> Vec<Vec<f64>> {
    let seed = hash(seed as u32) ^ hash((seed >> 32) as u32 ^ 0x9e37_79b9);
    let draw = |case: usize| {
        let one = |input: usize| {
            let plain = plain_sobol_rev(case, input);
            let scrambled = owen_scramble_rev(plain, hash(seed ^ hash(input as u32))).reverse_bits();
            (f64::from(scrambled) + 0.5) / 2f64.powi(32)
        };
        (0..inputs).map(one).collect()
    };
    (0..cases).map(draw).collect()
}

fn plain_sobol_rev(case: usize, input: usize) -> u32 {
    sobol_rev((case as u32).reverse_bits(), input as u32)
}

/// One case in each of `cases` strips of every input, in an order of chance.
pub fn latin_hypercube(cases: usize, inputs: usize, seed: u64) -> Vec<Vec<f64>> {
    let mut dice = Dice::new(seed);
    let mut draws = vec![vec![0.0; inputs]; cases];
    for input in 0..inputs {
        let mut strips: Vec<usize> = (0..cases).collect();
        for at in (1..cases).rev() {
            strips.swap(at, dice.below(at + 1));
        }
        for (draw, strip) in draws.iter_mut().zip(strips) {
            draw[input] = (strip as f64 + dice.inside()) / cases as f64;
        }
    }
    draws
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First points of the unscrambled sequence: S. Joe and F. Y. Kuo, "Notes on generating Sobol sequences" (2008), and
    /// the file of their generator with new-joe-kuo-6: rows 0 to 7, three inputs (in the order of the binary index, not of
    /// Gray code).
    #[test]
    fn the_sequence_under_the_scramble_is_the_published_one() {
        let wanted = [
            [0.0, 0.0, 0.0],
            [0.5, 0.5, 0.5],
            [0.25, 0.75, 0.75],
            [0.75, 0.25, 0.25],
            [0.125, 0.625, 0.375],
            [0.625, 0.125, 0.875],
            [0.375, 0.375, 0.625],
            [0.875, 0.875, 0.125],
        ];
        for (case, row) in wanted.iter().enumerate() {
            for (input, value) in row.iter().enumerate() {
                let got = f64::from(plain_sobol_rev(case, input).reverse_bits()) / 2f64.powi(32);
                assert_eq!(got, *value, "point {case}, input {input}");
            }
        }
    }

    /// What a scramble keeps (Owen 1995): of 2^k points one lies in each of 2^k strips of every input.
    #[test]
    fn scrambled_points_keep_one_in_each_strip() {
        for seed in [0, 1, 77] {
            let points = sobol(64, 6, seed);
            for input in 0..6 {
                let mut strips: Vec<usize> = points.iter().map(|p| (p[input] * 64.0) as usize).collect();
                strips.sort_unstable();
                assert_eq!(strips, (0..64).collect::<Vec<_>>(), "seed {seed}, input {input}");
            }
        }
        assert_ne!(sobol(4, 2, 1), sobol(4, 2, 2));
        assert_eq!(
            sobol(9, 2, 5)[..4],
            sobol(4, 2, 5)[..],
            "more cases keep the first ones"
        );
    }

    /// McKay, Beckman, Conover (1979): the defining property.
    #[test]
    fn a_latin_hypercube_has_one_case_in_each_strip() {
        for cases in [1, 7, 100] {
            let points = latin_hypercube(cases, 3, 11);
            for input in 0..3 {
                let mut strips: Vec<usize> = points
                    .iter()
                    .map(|p| (p[input] * cases as f64) as usize)
                    .collect();
                strips.sort_unstable();
                assert_eq!(strips, (0..cases).collect::<Vec<_>>());
            }
        }
        assert_eq!(latin_hypercube(5, 2, 3), latin_hypercube(5, 2, 3));
    }

    #[test]
    fn a_grid_has_every_combination_once() {
        let points = grid(&[2, 3]);
        let levels: Vec<(usize, usize)> = points
            .iter()
            .map(|p| ((p[0] * 2.0) as usize, (p[1] * 3.0) as usize))
            .collect();
        assert_eq!(levels, [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2)]);
    }
}
