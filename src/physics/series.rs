//! Logarithm, exponential function and pi between two rational numbers, from series whose remainder is bounded.
//!
//! Source of the series: any text on calculus. Each function says what bounds its remainder; every step is rounded
//! outwards, so the true value always lies between the two bounds.

use num_bigint::BigInt;

use super::Bounds;
use crate::exact::Exact;

/// Terms of the series of the logarithm: what follows is below 9 to the power of minus this.
const LN_TERMS: i64 = 60;
/// Terms of the exponential series of an argument up to one half.
const EXP_TERMS: i64 = 40;
/// Terms of the series of the arc tangent of at most one fifth.
const ARC_TERMS: i64 = 40;
/// Above this the exponential is only said to be below 10 to the power of -80; e to the power of -200 is 1.4 of -87.
const EXP_LEAST: i64 = 200;
/// Binary places of the numbers within a series; enough for e to the power of -200 with 60 digits that count.
const PLACES: u32 = 512;

/// A number of 0 or more between two whole multiples of 2 to the power of minus [`PLACES`].
#[derive(Clone)]
struct Fixed {
    low: BigInt,
    high: BigInt,
}

impl Fixed {
    fn int(value: i64) -> Fixed {
        let scaled = BigInt::from(value) << PLACES;
        Fixed { low: scaled.clone(), high: scaled }
    }

    /// An exact number of 0 or more.
    fn of(value: &Exact) -> Option<Fixed> {
        let (top, bottom) = value.fraction_text();
        let (top, bottom): (BigInt, BigInt) = (top.parse().ok()?, bottom.parse().ok()?);
        let low: BigInt = (top << PLACES) / bottom;
        let high = &low + 1;
        Some(Fixed { low, high })
    }

    fn plus(&self, other: &Fixed) -> Fixed {
        Fixed { low: &self.low + &other.low, high: &self.high + &other.high }
    }

    fn minus(&self, other: &Fixed) -> Fixed {
        Fixed { low: &self.low - &other.high, high: &self.high - &other.low }
    }

    fn times(&self, other: &Fixed) -> Fixed {
        Fixed { low: (&self.low * &other.low) >> PLACES, high: ((&self.high * &other.high) >> PLACES) + 1 }
    }

    fn times_int(&self, factor: i64) -> Fixed {
        Fixed { low: &self.low * factor, high: &self.high * factor }
    }

    /// Divided by a whole number above zero.
    fn over(&self, divisor: i64) -> Fixed {
        Fixed { low: &self.low / divisor, high: &self.high / divisor + 1 }
    }

    /// Everything from one of two numbers to the other.
    fn hull(&self, other: &Fixed) -> Fixed {
        let (low, high) =
            (self.low.clone().min(other.low.clone()), self.high.clone().max(other.high.clone()));
        Fixed { low, high }
    }

    fn bounds(&self) -> Option<Bounds> {
        let scale = (BigInt::from(1) << PLACES).to_string();
        let exact = |value: &BigInt| Exact::from_fraction_text(&value.to_string(), &scale);
        Some(Bounds::between(exact(&self.low)?, exact(&self.high)?).working())
    }
}

/// The natural logarithm of a number above zero; `None` of any other.
pub fn ln(x: &Bounds) -> Option<Bounds> {
    if !x.is_positive() {
        return None;
    }
    if x.is_exact() {
        return ln_of(x.low());
    }
    let (low, high) = (ln_of(x.low())?, ln_of(x.high())?);
    Some(Bounds::between(low.low().clone(), high.high().clone()))
}

/// `ln x = k ln 2 + ln m` with `m` from 1 up to 2; below 1, `ln x = -ln(1/x)`.
fn ln_of(x: &Exact) -> Option<Bounds> {
    let one = Exact::int(1);
    if *x == one {
        return Some(Bounds::int(0));
    }
    if *x < one {
        let inverse = ln_of(&one.checked_div(x)?)?;
        return Some(&Bounds::int(0) - &inverse);
    }
    let (two, half) = (Exact::int(2), Exact::ratio(1, 2)?);
    let (mut rest, mut halved) = (x.clone(), 0i64);
    while rest >= two {
        rest = &rest * &half;
        halved += 1;
    }
    let twos = ln_up_to_two(&two)?.times_int(halved);
    twos.plus(&ln_up_to_two(&rest)?).bounds()
}

/// `ln m = 2 (z + z³/3 + z⁵/5 + …)` with `z = (m - 1)/(m + 1)`, from 0 to 1/3.
///
/// What follows the term of `z^(2n-1)` is at least 0 and below `z^(2n+1) (1 + z² + z⁴ + …)`, of which the sum in brackets
/// is at most 9/8.
fn ln_up_to_two(m: &Exact) -> Option<Fixed> {
    let one = Exact::int(1);
    let z = Fixed::of(&(m - &one).checked_div(&(m + &one))?)?;
    let square = z.times(&z);
    let (mut power, mut sum) = (z, Fixed::int(0));
    for n in 0..LN_TERMS {
        sum = sum.plus(&power.over(2 * n + 1));
        power = power.times(&square);
    }
    let remainder = power.times_int(9).over(8).high;
    sum.high += remainder;
    Some(sum.times_int(2))
}

/// `e` to the power of `-x`, for `x` of 0 or more; a number below zero counts as zero.
pub fn exp_of_negative(x: &Bounds) -> Bounds {
    let (least, most) = (exp_of(x.high()), exp_of(x.low()));
    Bounds::between(least.low().clone(), most.high().clone())
}

/// `e^-x = (e^-(x/2^k))^(2^k)`, so that the series is asked for at most one half.
fn exp_of(x: &Exact) -> Bounds {
    if x.is_negative() || x.is_zero() {
        return Bounds::int(1);
    }
    let all = Bounds::between(Exact::zero(), Exact::int(1));
    let (Some(half), Some(tenth)) = (Exact::ratio(1, 2), Exact::ratio(1, 10)) else { return all };
    if *x > Exact::int(EXP_LEAST) {
        let least = (0..80).fold(Exact::int(1), |power, _| &power * &tenth);
        return Bounds::between(Exact::zero(), least);
    }
    let (mut small, mut halved) = (x.clone(), 0);
    while small > half {
        small = &small * &half;
        halved += 1;
    }
    let Some(mut power) = Fixed::of(&small).map(|small| alternating(&small)) else { return all };
    for _ in 0..halved {
        power = power.times(&power);
    }
    power.bounds().unwrap_or(all)
}

/// `1 - y + y²/2! - y³/3! + …` for `y` from 0 to 1/2: the terms alternate and shrink, so that two sums that follow each
/// other have the value between them.
fn alternating(y: &Fixed) -> Fixed {
    let (mut term, mut sum, mut before) = (Fixed::int(1), Fixed::int(1), Fixed::int(1));
    for n in 1..=EXP_TERMS {
        term = term.times(y).over(n);
        before = sum.clone();
        sum = if n % 2 == 1 { sum.minus(&term) } else { sum.plus(&term) };
    }
    sum.hull(&before)
}

/// Pi, by Machin's formula `16 atan(1/5) - 4 atan(1/239)`.
pub fn pi() -> Bounds {
    let found = arc(5).times_int(16).minus(&arc(239).times_int(4)).bounds();
    // Always found: whole numbers of the program's own are read back.
    found.unwrap_or_else(|| Bounds::between(Exact::int(3), Exact::int(4)))
}

/// `atan(1/n) = 1/n - 1/(3n³) + 1/(5n⁵) - …`: alternating and shrinking, as above.
fn arc(n: i64) -> Fixed {
    let inverse = Fixed::int(1).over(n);
    let (mut power, mut sum, mut before) = (inverse.clone(), inverse, Fixed::int(0));
    for k in 1..ARC_TERMS {
        power = power.over(n * n);
        let term = power.over(2 * k + 1);
        before = sum.clone();
        sum = if k % 2 == 1 { sum.minus(&term) } else { sum.plus(&term) };
    }
    sum.hull(&before)
}
