//! The least and the greatest value of a quantity over all situations of a question, exactly.
//!
//! The engine finds a situation; which comparisons hold in it cuts out a polyhedron, over which the quantity is minimised
//! by eliminating the others (Fourier and Motzkin); then the engine is asked for a situation below that. When it says that
//! there is none, the value is shown by every engine that was asked. Each round leaves out the comparisons of one
//! situation, so it ends.

use std::collections::{BTreeMap, BTreeSet};

use super::{Case, Stop};
use crate::claim::Extent;
use crate::exact::Exact;
use crate::model::{QuantityId, Relation};
use crate::situation::NumberChoice;
use crate::term::{Term, TermId};

/// Most comparisons at once while quantities are eliminated.
const MOST: usize = 20_000;

/// Σ coefficient · quantity ≥ bound.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct AtLeast {
    sum: BTreeMap<QuantityId, Exact>,
    bound: Exact,
}

/// The extent of a quantity over all situations in which `what` and all of `given` hold; `None` if there are none.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails, or if there are too many comparisons.
pub fn of(
    case: &mut Case<'_>,
    quantity: QuantityId,
    what: TermId,
    given: &[TermId],
) -> Result<Option<Extent>, Stop> {
    let Some(least) = least(case, quantity, what, given, false)? else { return Ok(None) };
    let Some(other) = self::least(case, quantity, what, given, true)? else { return Ok(None) };
    Ok(Some(Extent { least, greatest: -&other }))
}

/// The least value of the quantity, or (`mirrored`) of its negative.
fn least(
    case: &mut Case<'_>,
    quantity: QuantityId,
    what: TermId,
    given: &[TermId],
    mirrored: bool,
) -> Result<Option<Exact>, Stop> {
    let factor = Exact::int(if mirrored { -1 } else { 1 });
    let mut found: Option<Exact> = None;
    loop {
        let mut asked = given.to_vec();
        if let Some(found) = &found {
            let sum = [(factor.clone(), NumberChoice::Quantity(quantity))];
            asked.push(case.encoding.terms.compare(&sum, Relation::Below, found));
        }
        if !case.possible(what, &asked)? {
            return Ok(found);
        }
        case.keep()?;
        let around = around(case)?;
        let lowest = lowest(around, quantity, &factor).ok_or_else(|| {
            Stop::Undecided(format!(
                "more than {MOST} comparisons would have to be combined to know how far a quantity reaches"
            ))
        })?;
        if found.as_ref().is_some_and(|found| lowest >= *found) {
            return Err(Stop::Undecided("the least value of a quantity was not found".into()));
        }
        found = Some(lowest);
    }
}

/// The comparisons of quantities as they hold in the situation kept; strict ones with their bound.
fn around(case: &Case<'_>) -> Result<Vec<AtLeast>, Stop> {
    let mut all = Vec::new();
    for index in 0..case.encoding.terms.len() {
        let Term::Linear(linear) = case.encoding.terms.at(index) else { continue };
        let (mut sum, mut value) = (BTreeMap::new(), Exact::zero());
        let mut only_quantities = true;
        for (coefficient, number) in &linear.sum {
            match number {
                NumberChoice::Quantity(quantity) => {
                    value = &value + &(coefficient * &case.question.number(*number)?);
                    sum.insert(*quantity, coefficient.clone());
                }
                _ => only_quantities = false,
            }
        }
        if !only_quantities {
            continue;
        }
        let holds = if linear.inclusive { value >= linear.bound } else { value > linear.bound };
        let bound = linear.bound.clone();
        all.push(match holds {
            true => AtLeast { sum, bound },
            false => AtLeast { sum: sum.into_iter().map(|(q, c)| (q, -&c)).collect(), bound: -&bound },
        });
    }
    Ok(all)
}

/// The least of factor · quantity over the closed polyhedron; `None` if too much would have to be combined, or if
/// nothing bounds it.
fn lowest(around: Vec<AtLeast>, quantity: QuantityId, factor: &Exact) -> Option<Exact> {
    let mut all: BTreeSet<AtLeast> = connected(around, quantity).into_iter().collect();
    loop {
        let others: BTreeSet<QuantityId> =
            all.iter().flat_map(|one| one.sum.keys()).copied().filter(|q| *q != quantity).collect();
        let work = |q: &QuantityId| {
            let signs = all.iter().filter_map(|one| one.sum.get(q)).map(Exact::is_negative);
            let (down, up): (Vec<bool>, Vec<bool>) = signs.partition(|negative| *negative);
            down.len() * up.len()
        };
        let Some(next) = others.iter().min_by_key(|q| (work(q), **q)).copied() else { break };
        all = without(all, next)?;
        if all.len() > MOST {
            return None;
        }
    }
    let bounds = all.iter().filter_map(|one| {
        let coefficient = one.sum.get(&quantity)? * factor;
        let below = !coefficient.is_negative();
        below.then(|| one.bound.checked_div(&coefficient)).flatten()
    });
    bounds.max()
}

/// Those that have to do with a quantity, directly or through others.
fn connected(around: Vec<AtLeast>, quantity: QuantityId) -> Vec<AtLeast> {
    let mut reached = BTreeSet::from([quantity]);
    loop {
        let before = reached.len();
        for one in &around {
            if one.sum.keys().any(|q| reached.contains(q)) {
                reached.extend(one.sum.keys().copied());
            }
        }
        if reached.len() == before {
            break;
        }
    }
    around.into_iter().filter(|one| one.sum.keys().any(|q| reached.contains(q))).collect()
}

/// Every pair that bounds a quantity from both sides, combined so that it falls out; the others as they are.
fn without(all: BTreeSet<AtLeast>, quantity: QuantityId) -> Option<BTreeSet<AtLeast>> {
    let (mut low, mut high, mut rest) = (Vec::new(), Vec::new(), BTreeSet::new());
    for one in all {
        match one.sum.get(&quantity) {
            None => {
                rest.insert(one);
            }
            Some(coefficient) if coefficient.is_negative() => high.push(one),
            Some(_) => low.push(one),
        }
    }
    for below in &low {
        for above in &high {
            let (up, down) = (below.sum.get(&quantity)?.clone(), above.sum.get(&quantity)?.abs());
            let mut sum: BTreeMap<QuantityId, Exact> = BTreeMap::new();
            for (one, by) in [(below, &down), (above, &up)] {
                for (q, coefficient) in one.sum.iter().filter(|(q, _)| **q != quantity) {
                    let part = coefficient * by;
                    let whole = sum.get(q).map_or_else(|| part.clone(), |before| before + &part);
                    sum.insert(*q, whole);
                }
            }
            sum.retain(|_, coefficient| !coefficient.is_zero());
            let bound = &(&below.bound * &down) + &(&above.bound * &up);
            if !sum.is_empty() {
                rest.insert(AtLeast { sum, bound });
            }
            if rest.len() > MOST {
                return None;
            }
        }
    }
    Some(rest)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn q(n: usize) -> QuantityId {
        crate::model::Id::from_index(n)
    }

    fn at_least(sum: &[(i64, usize)], bound: i64) -> AtLeast {
        let sum = sum.iter().map(|(c, n)| (q(*n), Exact::int(*c))).collect();
        AtLeast { sum, bound: Exact::int(bound) }
    }

    #[test]
    fn a_quantity_is_minimised_over_those_that_bound_it() {
        // x >= y - 20, y >= 125, x and y up to 900: x is at least 105, and the negative of x at least -900.
        let around = vec![
            at_least(&[(1, 0), (-1, 1)], -20),
            at_least(&[(1, 1)], 125),
            at_least(&[(-1, 0)], -900),
            at_least(&[(-1, 1)], -900),
        ];
        assert_eq!(lowest(around.clone(), q(0), &Exact::int(1)), Some(Exact::int(105)));
        assert_eq!(lowest(around, q(0), &Exact::int(-1)), Some(Exact::int(-900)));
    }

    #[test]
    fn what_is_not_connected_does_not_matter() {
        let around = vec![at_least(&[(2, 0)], 3), at_least(&[(1, 7)], 9)];
        assert_eq!(lowest(around, q(0), &Exact::int(1)), Exact::ratio(3, 2));
    }
}
