//! The terms that questions are made of, through checked constructors: nothing here panics, rounds or wraps.
//!
//! Leaves out what a term stands for. All terms belong to the context of the calling thread (see `session`).
//! Equal terms are one object, so building a term twice costs little and `==` means "the same term".

use std::fmt;

pub use z3::ast::{Bool, Real};

use crate::exact::Exact;

/// A vote or a weight limit with numbers beyond what Z3's pseudo-Boolean terms take (2,147,483,647).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TooLarge;

impl fmt::Display for TooLarge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a weight, a limit or a count is beyond {}", i32::MAX)
    }
}

impl std::error::Error for TooLarge {}

/// Z3 takes names as C strings, which end at a NUL, and none that is empty: a NUL is written as `\0`, no letter at all
/// as `\e`, and `\` as `\\`, so that no two names meet.
fn symbol(name: &str) -> String {
    if name.is_empty() { "\\e".into() } else { name.replace('\\', "\\\\").replace('\0', "\\0") }
}

/// The Boolean constant of this name; the same name gives the same constant. Names of reals are apart from these.
pub fn bool_const(name: &str) -> Bool {
    Bool::new_const(symbol(name))
}

/// The real constant of this name; the same name gives the same constant. Names of Booleans are apart from these.
pub fn real_const(name: &str) -> Real {
    Real::new_const(symbol(name))
}

/// True or false as a term.
pub fn truth(value: bool) -> Bool {
    Bool::from_bool(value)
}

/// An exact number as a term, of any size.
pub fn number(value: &Exact) -> Real {
    let (numerator, denominator) = value.fraction_text();
    // Two whole numbers in lowest terms, the lower one positive: the one thing that Z3 never refuses.
    Real::from_rational_str(&numerator, &denominator)
        .unwrap_or_else(|| unreachable!("a fraction in lowest terms"))
}

/// The fraction of two whole numbers in decimal digits as a term; `None` on anything else.
///
/// Z3 itself skips over characters that it does not expect, so the text is read here.
pub fn fraction(numerator: &str, denominator: &str) -> Option<Real> {
    Exact::from_fraction_text(numerator, denominator).map(|value| number(&value))
}

/// All of them; true if there are none.
pub fn and(terms: &[Bool]) -> Bool {
    match terms {
        [] => truth(true),
        [one] => one.clone(),
        _ => Bool::and(terms),
    }
}

/// At least one of them; false if there are none.
pub fn or(terms: &[Bool]) -> Bool {
    match terms {
        [] => truth(false),
        [one] => one.clone(),
        _ => Bool::or(terms),
    }
}

/// Not `term`.
pub fn not(term: &Bool) -> Bool {
    term.not()
}

/// If `a` then `b`.
pub fn implies(a: &Bool, b: &Bool) -> Bool {
    a.implies(b)
}

/// `a` and `b` are both true or both false.
pub fn iff(a: &Bool, b: &Bool) -> Bool {
    a.iff(b)
}

/// `then` where `condition` holds, `otherwise` elsewhere; for Booleans.
pub fn ite_bool(condition: &Bool, then: &Bool, otherwise: &Bool) -> Bool {
    condition.ite(then, otherwise)
}

/// `then` where `condition` holds, `otherwise` elsewhere; for reals.
pub fn ite_real(condition: &Bool, then: &Real, otherwise: &Real) -> Real {
    condition.ite(then, otherwise)
}

/// `constant + Σ factor · term`; the constant alone if there are no parts.
pub fn linear(parts: &[(Exact, Real)], constant: &Exact) -> Real {
    let one = Exact::int(1);
    let mut summands: Vec<Real> = Vec::with_capacity(parts.len() + 1);
    for (factor, term) in parts.iter().filter(|(factor, _)| !factor.is_zero()) {
        summands.push(if *factor == one { term.clone() } else { Real::mul(&[number(factor), term.clone()]) });
    }
    if !constant.is_zero() || summands.is_empty() {
        summands.push(number(constant));
    }
    match summands.as_slice() {
        [single] => single.clone(),
        _ => Real::add(&summands),
    }
}

/// `a ≥ b`.
pub fn ge(a: &Real, b: &Real) -> Bool {
    a.ge(b)
}

/// `a > b`.
pub fn gt(a: &Real, b: &Real) -> Bool {
    a.gt(b)
}

/// `a = b`, for reals.
pub fn equal(a: &Real, b: &Real) -> Bool {
    z3::ast::Ast::eq(a, b)
}

/// At least `k` of the terms (a term listed twice counts twice). True for `k` = 0, false beyond their number.
///
/// # Errors
/// [`TooLarge`] if there are more terms than Z3 counts.
pub fn at_least(k: usize, terms: &[Bool]) -> Result<Bool, TooLarge> {
    if k == 0 || k > terms.len() {
        return Ok(truth(k == 0));
    }
    i32::try_from(terms.len()).map_err(|_| TooLarge)?;
    let ones: Vec<(&Bool, i32)> = terms.iter().map(|term| (term, 1)).collect();
    Ok(Bool::pb_ge(&ones, i32::try_from(k).map_err(|_| TooLarge)?))
}

/// The weights of the true terms sum up to at most `limit`. True if there are none.
///
/// # Errors
/// [`TooLarge`] if a weight, the limit or the sum of all weights is beyond what Z3 counts.
pub fn at_most_weight(limit: u32, weighted: &[(Bool, u32)]) -> Result<Bool, TooLarge> {
    let limit = i32::try_from(limit).map_err(|_| TooLarge)?;
    let total =
        weighted.iter().try_fold(0u32, |sum, (_, weight)| sum.checked_add(*weight)).ok_or(TooLarge)?;
    if i32::try_from(total).map_err(|_| TooLarge)? <= limit {
        return Ok(truth(true));
    }
    let mut parts: Vec<(&Bool, i32)> = Vec::with_capacity(weighted.len());
    for (term, weight) in weighted {
        parts.push((term, i32::try_from(*weight).map_err(|_| TooLarge)?));
    }
    Ok(Bool::pb_le(&parts, limit))
}
