//! Exact numbers: rational numbers of any size, so that nothing that decides a verdict is ever rounded or wraps.
//!
//! Responsible for arithmetic, reading decimals and printing. Units live in `unit`.

use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

use num_bigint::BigInt;
use num_rational::{BigRational, Rational64};
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub, One, Signed, ToPrimitive, Zero};

/// An exact rational number.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Exact(Number);

/// The same value always has the same form, so that equal numbers are equal and hash alike.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Number {
    /// Numerator and denominator have at most 63 bits: nearly every number of a plant, and much quicker.
    Small(Rational64),
    /// Every other number.
    Big(BigRational),
}

impl From<Rational64> for Exact {
    fn from(value: Rational64) -> Self {
        // The smallest whole number has no positive counterpart; as a big one it can be negated.
        match *value.numer() {
            i64::MIN => Exact(Number::Big(widened(&value))),
            _ => Exact(Number::Small(value)),
        }
    }
}

impl From<BigRational> for Exact {
    fn from(value: BigRational) -> Self {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            // In lowest terms already.
            (Some(top), Some(bottom)) if top != i64::MIN => {
                Exact(Number::Small(Rational64::new_raw(top, bottom)))
            }
            _ => Exact(Number::Big(value)),
        }
    }
}

/// A number times a power of ten.
fn shifted(value: BigRational, shift: i64) -> BigRational {
    let scale = BigRational::from_integer(BigInt::from(10).pow(u32::try_from(shift.abs()).unwrap_or(0)));
    if shift >= 0 { value * scale } else { value / scale }
}

fn widened(value: &Rational64) -> BigRational {
    BigRational::new_raw(BigInt::from(*value.numer()), BigInt::from(*value.denom()))
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        match (&self.0, &other.0) {
            (Number::Small(a), Number::Small(b)) => a.cmp(b),
            _ => self.big().cmp(&other.big()),
        }
    }
}

impl Exact {
    /// The whole number `n`.
    pub fn int(n: i64) -> Self {
        Exact::from(Rational64::from_integer(n))
    }

    /// The fraction `numerator / denominator`; `None` if the denominator is zero.
    pub fn ratio(numerator: i64, denominator: i64) -> Option<Self> {
        match (numerator, denominator) {
            (_, 0) => None,
            // These have no positive counterpart.
            (i64::MIN, _) | (_, i64::MIN) => {
                Some(Exact::from(BigRational::new(numerator.into(), denominator.into())))
            }
            _ => Some(Exact::from(Rational64::new(numerator, denominator))),
        }
    }

    /// The fraction of two whole numbers in decimal digits, each with an optional sign; `None` on anything else.
    pub fn from_fraction_text(numerator: &str, denominator: &str) -> Option<Self> {
        let n: BigInt = numerator.trim().parse().ok()?;
        let d: BigInt = denominator.trim().parse().ok()?;
        (!d.is_zero()).then(|| Exact::from(BigRational::new(n, d)))
    }

    /// Zero.
    pub fn zero() -> Self {
        Exact(Number::Small(Rational64::zero()))
    }

    /// Whether it is zero.
    pub fn is_zero(&self) -> bool {
        matches!(&self.0, Number::Small(value) if value.is_zero())
    }

    /// Whether it is below zero.
    pub fn is_negative(&self) -> bool {
        match &self.0 {
            Number::Small(value) => value.is_negative(),
            Number::Big(value) => value.is_negative(),
        }
    }

    /// Its distance from zero.
    pub fn abs(&self) -> Self {
        if self.is_negative() { -self } else { self.clone() }
    }

    /// `self / other`; `None` if `other` is zero.
    pub fn checked_div(&self, other: &Exact) -> Option<Self> {
        if other.is_zero() {
            return None;
        }
        if let (Number::Small(a), Number::Small(b)) = (&self.0, &other.0)
            && let Some(value) = a.checked_div(b)
        {
            return Some(Exact::from(value));
        }
        Some(Exact::from(self.big() / other.big()))
    }

    /// The largest whole number not above it.
    pub fn floor(&self) -> Self {
        Exact::from(self.big().floor())
    }

    /// Numerator and denominator (positive, lowest terms) as decimal digits.
    pub fn fraction_text(&self) -> (String, String) {
        match &self.0 {
            Number::Small(value) => (value.numer().to_string(), value.denom().to_string()),
            Number::Big(value) => (value.numer().to_string(), value.denom().to_string()),
        }
    }

    /// As a decimal with so many digits that count, rounded to the nearest (a tie away from zero): for people only.
    pub fn rounded(&self, digits: u32) -> String {
        if self.is_zero() {
            return "0".into();
        }
        let shift = self.shift(digits);
        let whole = shifted(self.big().abs(), shift).round();
        let back = shifted(whole, -shift);
        let sign = if self.is_negative() { "-" } else { "" };
        format!("{sign}{}", Exact::from(back))
    }

    /// The greatest decimal with so many digits that count that is not above it.
    pub fn rounded_down(&self, digits: u32) -> Self {
        let shift = self.shift(digits);
        Exact::from(shifted(shifted(self.big(), shift).floor(), -shift))
    }

    /// The least decimal with so many digits that count that is not below it.
    pub fn rounded_up(&self, digits: u32) -> Self {
        let shift = self.shift(digits);
        Exact::from(shifted(shifted(self.big(), shift).ceil(), -shift))
    }

    /// The power of ten by which it is multiplied to have so many digits before the point; 0 for zero.
    fn shift(&self, digits: u32) -> i64 {
        if self.is_zero() {
            return 0;
        }
        let (top, bottom) = self.fraction_text();
        let length = |digits: &str| i64::try_from(digits.trim_start_matches('-').len()).unwrap_or(0);
        // With so many digits more above the line than below, the number has as many before the point, or one more.
        let guess = i64::from(digits.max(1)) - (length(&top) - length(&bottom));
        let most = BigRational::from_integer(BigInt::from(10).pow(digits.max(1)));
        if shifted(self.big().abs(), guess) >= most { guess - 1 } else { guess }
    }

    fn big(&self) -> BigRational {
        match &self.0 {
            Number::Small(value) => widened(value),
            Number::Big(value) => value.clone(),
        }
    }

    /// Reads a decimal: optional sign, digits, optional point and digits. No exponent, no separators.
    ///
    /// At most 30 digits, so that a slip cannot make numbers of unlimited size. `None` on anything else.
    pub fn parse_decimal(text: &str) -> Option<Self> {
        let (negative, digits) = match text.as_bytes().first()? {
            b'-' => (true, text.get(1..)?),
            b'+' => (false, text.get(1..)?),
            _ => (false, text),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        let all_digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty()
            || !all_digits(whole)
            || !all_digits(part)
            || (digits.contains('.') && part.is_empty())
        {
            return None;
        }
        if whole.len() + part.len() > 30 {
            return None;
        }
        let number: BigInt = format!("{whole}{part}").parse().ok()?;
        let value = BigRational::new(number, BigInt::from(10).pow(u32::try_from(part.len()).ok()?));
        Some(Exact::from(if negative { -value } else { value }))
    }
}

impl fmt::Display for Exact {
    /// A terminating decimal is printed whole; any other fraction is printed as `numerator/denominator`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = self.big();
        let mut denominator = value.denom().clone();
        let mut places = 0u32;
        let mut twos = 0u32;
        let mut fives = 0u32;
        for (prime, count) in [(2, &mut twos), (5, &mut fives)] {
            let prime = BigInt::from(prime);
            while (&denominator % &prime).is_zero() {
                denominator /= &prime;
                *count += 1;
            }
            places = places.max(*count);
        }
        if !denominator.is_one() {
            return write!(f, "{}/{}", value.numer(), value.denom());
        }
        let scaled = (&value * BigRational::from_integer(BigInt::from(10).pow(places))).to_integer();
        let sign = if scaled.is_negative() { "-" } else { "" };
        let digits = scaled.abs().to_string();
        let places = places.to_usize().unwrap_or(0);
        if places == 0 {
            return write!(f, "{sign}{digits}");
        }
        let padded = format!("{digits:0>width$}", width = places + 1);
        let (whole, part) = padded.split_at(padded.len() - places);
        write!(f, "{sign}{whole}.{part}")
    }
}

macro_rules! operator {
    ($trait:ident, $method:ident, $checked:ident, $op:tt) => {
        impl $trait for &Exact {
            type Output = Exact;
            fn $method(self, other: &Exact) -> Exact {
                if let (Number::Small(a), Number::Small(b)) = (&self.0, &other.0)
                    && let Some(value) = a.$checked(b)
                {
                    return Exact::from(value);
                }
                Exact::from(self.big() $op other.big())
            }
        }
        impl $trait for Exact {
            type Output = Exact;
            fn $method(self, other: Exact) -> Exact {
                &self $op &other
            }
        }
    };
}
operator!(Add, add, checked_add, +);
operator!(Sub, sub, checked_sub, -);
operator!(Mul, mul, checked_mul, *);

impl Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        match &self.0 {
            // Never the smallest whole number: that one is big.
            Number::Small(value) => Exact(Number::Small(-value)),
            Number::Big(value) => Exact::from(-value),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    fn n(text: &str) -> Exact {
        Exact::parse_decimal(text).expect(text)
    }

    #[test]
    fn decimals_read_and_print_exactly() {
        for text in ["0", "12", "-3", "0.1", "4.25", "-0.005", "1082", "0.254"] {
            assert_eq!(n(text).to_string(), text);
        }
        assert_eq!(n("+2.50").to_string(), "2.5");
        assert_eq!(&(&n("0.1") + &n("0.2")), &n("0.3"));
        assert_eq!(Exact::ratio(1, 3).map(|x| x.to_string()), Some("1/3".into()));
    }

    #[test]
    fn what_is_not_a_decimal_is_refused() {
        for text in
            ["", "-", ".5", "5.", "1e3", "1_000", "1,5", "0x10", "--1", "1234567890123456789012345678901"]
        {
            assert_eq!(Exact::parse_decimal(text), None, "{text}");
        }
    }

    #[test]
    fn rounding_keeps_the_digits_that_count() {
        let of = |top, bottom| Exact::ratio(top, bottom).unwrap().rounded(3);
        assert_eq!(of(1, 3), "0.333");
        assert_eq!(of(2, 3), "0.667");
        assert_eq!(of(1, 1 << 20), "0.000000954");
        assert_eq!(of(9996, 10), "1000");
        assert_eq!(of(-123_456, 1), "-123000");
        assert_eq!(of(5, 10), "0.5");
        assert_eq!(of(0, 5), "0");
    }

    #[test]
    fn rounding_to_one_side_keeps_to_it() {
        let both = |top, bottom| {
            let value = Exact::ratio(top, bottom).unwrap();
            (value.rounded_down(3).to_string(), value.rounded_up(3).to_string())
        };
        assert_eq!(both(1, 3), ("0.333".into(), "0.334".into()));
        assert_eq!(both(-1, 3), ("-0.334".into(), "-0.333".into()));
        assert_eq!(both(9996, 10), ("999".into(), "1000".into()));
        assert_eq!(both(5, 10), ("0.5".into(), "0.5".into()));
        assert_eq!(both(0, 5), ("0".into(), "0".into()));
    }

    use proptest::prelude::*;

    /// Numbers near the ends of 64 bits and small ones, as texts.
    fn numbers() -> impl Strategy<Value = (i64, i64)> {
        let part = prop_oneof![
            -20i64..20,
            (i64::MAX - 5)..=i64::MAX,
            i64::MIN..(i64::MIN + 5),
            any::<i64>(),
            any::<i32>().prop_map(i64::from),
        ];
        (part.clone(), part).prop_filter("a fraction", |(_, bottom)| *bottom != 0)
    }

    proptest! {
        #[test]
        fn small_and_big_numbers_calculate_as_big_ones_do(a in numbers(), b in numbers()) {
            let wide = |(top, bottom): (i64, i64)| BigRational::new(top.into(), bottom.into());
            let (x, y) = (Exact::ratio(a.0, a.1).unwrap(), Exact::ratio(b.0, b.1).unwrap());
            let (p, q) = (wide(a), wide(b));
            let same = |exact: &Exact, value: BigRational| {
                prop_assert_eq!(exact.big(), value.clone());
                // One form for each value, whichever way it was reached.
                prop_assert_eq!(exact, &Exact::from(value));
                Ok(())
            };
            same(&(&x + &y), &p + &q)?;
            same(&(&x - &y), &p - &q)?;
            same(&(&x * &y), &p * &q)?;
            same(&-&x, -&p)?;
            same(&x.abs(), p.abs())?;
            same(&x.floor(), p.floor())?;
            same(&(&(&x + &y) - &y), p.clone())?;
            prop_assert_eq!(x.cmp(&y), p.cmp(&q));
            prop_assert_eq!(x == y, p == q);
            prop_assert_eq!(x.is_negative(), p.is_negative());
            prop_assert_eq!(x.is_zero(), p.is_zero());
            if !q.is_zero() {
                same(&x.checked_div(&y).unwrap(), &p / &q)?;
            }
        }
    }
}
