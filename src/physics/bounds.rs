//! Numbers of which two bounds are known, and arithmetic that never loses the true value between them.

use std::ops::{Add, Mul, Sub};

use crate::exact::Exact;

/// Digits that count of a result that is no exact number.
const DIGITS: u32 = 12;
/// Digits that count within a calculation.
const WORKING: u32 = 45;
/// An exact number whose fraction has more digits than this is kept between bounds instead.
const LONGEST: usize = 120;

/// The least and the greatest value that a number can have; equal where it is known exactly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bounds {
    low: Exact,
    high: Exact,
}

impl Bounds {
    /// A number that is known exactly.
    pub fn exactly(value: Exact) -> Bounds {
        Bounds { low: value.clone(), high: value }
    }

    /// A number between two others, in whichever order they are given.
    pub fn between(one: Exact, other: Exact) -> Bounds {
        if one <= other { Bounds { low: one, high: other } } else { Bounds { low: other, high: one } }
    }

    /// A whole number.
    pub fn int(value: i64) -> Bounds {
        Bounds::exactly(Exact::int(value))
    }

    /// The least value.
    pub fn low(&self) -> &Exact {
        &self.low
    }

    /// The greatest value.
    pub fn high(&self) -> &Exact {
        &self.high
    }

    /// Whether it is known exactly.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Whether it is above zero for sure.
    pub fn is_positive(&self) -> bool {
        !self.low.is_negative() && !self.low.is_zero()
    }

    /// Whether it is below zero for sure.
    pub fn is_negative(&self) -> bool {
        self.high.is_negative()
    }

    /// Whether it is surely less than another.
    pub fn below(&self, other: &Bounds) -> bool {
        self.high < other.low
    }

    /// Whether it is surely not more than another.
    pub fn at_most(&self, other: &Bounds) -> bool {
        self.high <= other.low
    }

    /// Its distance from zero.
    pub fn abs(&self) -> Bounds {
        if self.high.is_negative() {
            return Bounds { low: self.high.abs(), high: self.low.abs() };
        }
        if !self.low.is_negative() {
            return self.clone();
        }
        Bounds { low: Exact::zero(), high: self.low.abs().max(self.high.clone()) }
    }

    /// The quotient; `None` where the divisor can be zero.
    pub fn over(&self, divisor: &Bounds) -> Option<Bounds> {
        if !divisor.is_positive() && !divisor.is_negative() {
            return None;
        }
        let one = Exact::int(1);
        Some(self * &Bounds::between(one.checked_div(&divisor.low)?, one.checked_div(&divisor.high)?))
    }

    /// The same between bounds of few digits, rounded outwards; an exact number of reasonable length stays as it is.
    pub fn tidy(&self) -> Bounds {
        if self.is_exact() {
            let (top, bottom) = self.low.fraction_text();
            if top.len() + bottom.len() <= LONGEST {
                return self.clone();
            }
        }
        self.outwards(DIGITS)
    }

    /// The same between bounds that are not too long to calculate with.
    pub(super) fn working(&self) -> Bounds {
        self.outwards(WORKING)
    }

    fn outwards(&self, digits: u32) -> Bounds {
        Bounds { low: self.low.rounded_down(digits), high: self.high.rounded_up(digits) }
    }
}

impl Add for &Bounds {
    type Output = Bounds;
    fn add(self, other: &Bounds) -> Bounds {
        Bounds { low: &self.low + &other.low, high: &self.high + &other.high }
    }
}

impl Sub for &Bounds {
    type Output = Bounds;
    fn sub(self, other: &Bounds) -> Bounds {
        Bounds { low: &self.low - &other.high, high: &self.high - &other.low }
    }
}

impl Mul for &Bounds {
    type Output = Bounds;
    fn mul(self, other: &Bounds) -> Bounds {
        if self.is_exact() && other.is_exact() {
            return Bounds::exactly(&self.low * &other.low);
        }
        let first = Bounds::between(&self.low * &other.low, &self.low * &other.high);
        let second = Bounds::between(&self.high * &other.low, &self.high * &other.high);
        Bounds { low: first.low.min(second.low), high: first.high.max(second.high) }
    }
}
