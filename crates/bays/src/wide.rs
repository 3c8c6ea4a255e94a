//! Numbers side by side in the widest registers of the processor, with the usual signs.
//!
//! Every operation is one that IEEE 754 rounds in one way only, so a result has the same bits in registers of any width.

use pulp::Simd;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// As many numbers as a register of `S` holds.
#[derive(Clone, Copy)]
pub(crate) struct Wide<S: Simd> {
    simd: S,
    value: S::f32s,
}

impl<S: Simd> Wide<S> {
    /// One number in all places.
    #[inline(always)]
    pub fn all(simd: S, value: f32) -> Wide<S> {
        let value = simd.splat_f32s(value);
        Wide { simd, value }
    }

    /// What stood in memory.
    #[inline(always)]
    pub fn of(simd: S, value: S::f32s) -> Wide<S> {
        Wide { simd, value }
    }

    /// What goes to memory.
    #[inline(always)]
    pub fn value(self) -> S::f32s {
        self.value
    }

    #[inline(always)]
    pub fn max(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.max_f32s(self.value, other.value))
    }

    #[inline(always)]
    pub fn min(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.min_f32s(self.value, other.value))
    }

    #[inline(always)]
    pub fn sqrt(self) -> Wide<S> {
        Wide::of(self.simd, self.simd.sqrt_f32s(self.value))
    }

    /// Where this is at least `other`.
    #[inline(always)]
    pub fn reaches(self, other: Wide<S>) -> S::m32s {
        self.simd.greater_than_or_equal_f32s(self.value, other.value)
    }

    /// This where `mask` holds, else `other`.
    #[inline(always)]
    pub fn where_else(self, mask: S::m32s, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.select_f32s(mask, self.value, other.value))
    }

    /// The largest.
    #[inline(always)]
    pub fn most(self) -> f32 {
        self.simd.reduce_max_f32s(self.value)
    }

    /// The smallest.
    #[inline(always)]
    pub fn least(self) -> f32 {
        self.simd.reduce_min_f32s(self.value)
    }
}

impl<S: Simd> Add for Wide<S> {
    type Output = Wide<S>;
    #[inline(always)]
    fn add(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.add_f32s(self.value, other.value))
    }
}

impl<S: Simd> Sub for Wide<S> {
    type Output = Wide<S>;
    #[inline(always)]
    fn sub(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.sub_f32s(self.value, other.value))
    }
}

impl<S: Simd> Mul for Wide<S> {
    type Output = Wide<S>;
    #[inline(always)]
    fn mul(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.mul_f32s(self.value, other.value))
    }
}

impl<S: Simd> Div for Wide<S> {
    type Output = Wide<S>;
    #[inline(always)]
    fn div(self, other: Wide<S>) -> Wide<S> {
        Wide::of(self.simd, self.simd.div_f32s(self.value, other.value))
    }
}

impl<S: Simd> Neg for Wide<S> {
    type Output = Wide<S>;
    #[inline(always)]
    fn neg(self) -> Wide<S> {
        Wide::of(self.simd, self.simd.neg_f32s(self.value))
    }
}
