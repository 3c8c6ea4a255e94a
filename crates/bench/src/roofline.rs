//! The machine's roofline, measured, and an estimate of what a step of the solver must move and compute.
//!
//! Bandwidth by a triad `a = b + s c` (three arrays, 24 bytes and 2 operations an entry), once within the
//! caches and once far beyond them; arithmetic by independent chains of multiply and add on registers. The
//! estimate counts, for each liquid cell, the values that a pass must read and write when each is touched once
//! a pass, and the operations of its formula; the surface band's planes and indices come on top and are not
//! counted. So "of the roofline" is a lower bound of the work over the time it took.

use crate::timed::Timed;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::hint::black_box;
use std::time::Instant;

/// What the machine can do with so many threads.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Roofline {
    /// Threads.
    pub threads: usize,
    /// Bytes per second from the caches: 6 MB in play, about what the reference work has.
    pub cache: f64,
    /// Bytes per second from memory: 384 MB in play.
    pub memory: f64,
    /// Floating-point operations per second, f64, multiply and add.
    pub arithmetic: f64,
}

/// Measures it; each figure is the best of several tries, because other work on the machine only ever slows.
pub fn measure(threads: usize) -> Result<Roofline, String> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|e| e.to_string())?;
    Ok(pool.install(|| Roofline {
        threads,
        cache: triad(threads, 250_000, 400),
        memory: triad(threads, 16_000_000, 5),
        arithmetic: arithmetic(threads),
    }))
}

fn triad(threads: usize, entries: usize, rounds: usize) -> f64 {
    let (mut a, b, c) = (
        vec![0.0f64; entries],
        vec![1.0f64; entries],
        vec![2.0f64; entries],
    );
    let part = entries.div_ceil(threads);
    let mut best = 0.0f64;
    for _ in 0..4 {
        let begun = Instant::now();
        for round in 0..rounds {
            let s = black_box(round as f64);
            a.par_chunks_mut(part)
                .zip(b.par_chunks(part))
                .zip(c.par_chunks(part))
                .for_each(|((a, b), c)| {
                    for ((a, b), c) in a.iter_mut().zip(b).zip(c) {
                        *a = b + s * c;
                    }
                });
            black_box(&mut a);
        }
        let bytes = 24.0 * entries as f64 * rounds as f64;
        best = best.max(bytes / begun.elapsed().as_secs_f64());
    }
    best
}

/// An array within the first cache, each entry put through a chain of multiply and add: neighbours are
/// independent, so that the compiler may use vectors and the processor may overlap chains.
fn arithmetic(threads: usize) -> f64 {
    const ROUNDS: usize = 20_000;
    let mut best = 0.0f64;
    for _ in 0..4 {
        let begun = Instant::now();
        (0..threads).into_par_iter().for_each(|_| chains(ROUNDS));
        let done = (2 * CHAIN * ENTRIES * ROUNDS * threads) as f64;
        best = best.max(done / begun.elapsed().as_secs_f64());
    }
    best
}

/// Entries of the array, and multiply-adds on each in a round.
const ENTRIES: usize = 512;
const CHAIN: usize = 16;

fn chains(rounds: usize) {
    #[cfg(target_arch = "x86_64")]
    if std::arch::is_x86_feature_detected!("avx2") && std::arch::is_x86_feature_detected!("fma") {
        #[target_feature(enable = "avx2,fma")]
        fn wide(rounds: usize) {
            turn::<true>(rounds);
        }
        #[allow(unsafe_code, reason = "calls a function built for AVX2 and FMA")]
        // SAFETY: both features were found on this processor just above.
        return unsafe { wide(rounds) };
    }
    turn::<false>(rounds);
}

#[inline(always)]
fn turn<const FUSED: bool>(rounds: usize) {
    let mut entries = [0.5f64; ENTRIES];
    let (m, a) = (black_box(0.999), black_box(1e-3));
    for _ in 0..rounds {
        for v in &mut entries {
            for _ in 0..CHAIN {
                *v = if FUSED { v.mul_add(m, a) } else { *v * m + a };
            }
        }
        black_box(&mut entries);
    }
}

/// Values (of `BYTES` each; a fill is double and counts as two) that one step moves per liquid cell, pressure
/// iterations apart.
///
/// Momentum 14 (three velocities, fill, three pressure gradients read; six written), set-up of the pressure 17
/// (three areas, three velocities, fill, mark read; three coefficients, three gradients, diagonal and right
/// side written), projection and extension 13, transport 3 x 8 (fill read and written, velocity, area, volume,
/// plane), clean-up 5, surface 8, guard 10.
const VALUES_A_STEP: f64 = 91.0;

/// Values that one pressure iteration moves per liquid cell: four smoothing sweeps of 7 (value read and
/// written, right side, diagonal, three coefficients) and one residual of 7, each with a seventh more for the
/// coarser grids, the matrix once (7), and the vectors of conjugate gradients (10).
const VALUES_AN_ITERATION: f64 = 5.0 * 7.0 * 8.0 / 7.0 + 17.0;

/// Operations of a step per liquid cell: momentum 3 x 70, set-up 60, transport 60, the rest 50.
const OPERATIONS_A_STEP: f64 = 380.0;

/// Operations of an iteration per liquid cell: five passes of 13 with a seventh more, the matrix 13, vectors 10.
const OPERATIONS_AN_ITERATION: f64 = 5.0 * 13.0 * 8.0 / 7.0 + 23.0;

/// Bytes of a value: velocities, pressure and coefficients are single numbers.
const BYTES: f64 = 4.0;

/// What a work moved and computed, by the estimate.
#[derive(Clone, Copy, Debug)]
pub struct Estimate {
    /// Bytes.
    pub bytes: f64,
    /// Floating-point operations.
    pub operations: f64,
}

/// Estimates a work.
pub fn estimate(timed: &Timed) -> Estimate {
    let steps = timed.cell_steps as f64;
    let iterations = steps * timed.mean_iterations();
    Estimate {
        bytes: BYTES * (steps * VALUES_A_STEP + iterations * VALUES_AN_ITERATION),
        operations: steps * OPERATIONS_A_STEP + iterations * OPERATIONS_AN_ITERATION,
    }
}

impl Roofline {
    /// The shortest time in which the machine could do it [s], with the data in the caches or in memory.
    pub fn least_time(&self, work: &Estimate, in_cache: bool) -> f64 {
        let bandwidth = if in_cache { self.cache } else { self.memory };
        (work.bytes / bandwidth).max(work.operations / self.arithmetic)
    }
}
