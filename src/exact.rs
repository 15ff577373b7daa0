//! Exact numbers: rational numbers of any size, so that nothing that decides a verdict is ever rounded or wraps.
//!
//! Responsible for arithmetic, reading decimals and printing. Units live in `unit`.

use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};

/// An exact rational number.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Exact(BigRational);

impl Exact {
    /// The whole number `n`.
    pub fn int(n: i64) -> Self {
        Exact(BigRational::from_integer(BigInt::from(n)))
    }

    /// The fraction `numerator / denominator`; `None` if the denominator is zero.
    pub fn ratio(numerator: i64, denominator: i64) -> Option<Self> {
        (denominator != 0).then(|| Exact(BigRational::new(numerator.into(), denominator.into())))
    }

    /// The fraction of two whole numbers in decimal digits, each with an optional sign; `None` on anything else.
    pub fn from_fraction_text(numerator: &str, denominator: &str) -> Option<Self> {
        let n: BigInt = numerator.trim().parse().ok()?;
        let d: BigInt = denominator.trim().parse().ok()?;
        (!d.is_zero()).then(|| Exact(BigRational::new(n, d)))
    }

    /// Zero.
    pub fn zero() -> Self {
        Exact(BigRational::zero())
    }

    /// Whether it is zero.
    pub fn is_zero(&self) -> bool {
        self.0.is_zero()
    }

    /// Whether it is below zero.
    pub fn is_negative(&self) -> bool {
        self.0.is_negative()
    }

    /// Its distance from zero.
    pub fn abs(&self) -> Self {
        Exact(self.0.abs())
    }

    /// `self / other`; `None` if `other` is zero.
    pub fn checked_div(&self, other: &Exact) -> Option<Self> {
        (!other.is_zero()).then(|| Exact(&self.0 / &other.0))
    }

    /// The largest whole number not above it.
    pub fn floor(&self) -> Self {
        Exact(self.0.floor())
    }

    /// Numerator and denominator (positive, lowest terms) as decimal digits.
    pub fn fraction_text(&self) -> (String, String) {
        (self.0.numer().to_string(), self.0.denom().to_string())
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
        Some(Exact(if negative { -value } else { value }))
    }
}

impl fmt::Display for Exact {
    /// A terminating decimal is printed whole; any other fraction is printed as `numerator/denominator`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut denominator = self.0.denom().clone();
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
            return write!(f, "{}/{}", self.0.numer(), self.0.denom());
        }
        let scaled = (&self.0 * BigRational::from_integer(BigInt::from(10).pow(places))).to_integer();
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
    ($trait:ident, $method:ident, $op:tt) => {
        impl $trait for &Exact {
            type Output = Exact;
            fn $method(self, other: &Exact) -> Exact {
                Exact(&self.0 $op &other.0)
            }
        }
        impl $trait for Exact {
            type Output = Exact;
            fn $method(self, other: Exact) -> Exact {
                Exact(self.0 $op other.0)
            }
        }
    };
}
operator!(Add, add, +);
operator!(Sub, sub, -);
operator!(Mul, mul, *);

impl Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        Exact(-&self.0)
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
}
