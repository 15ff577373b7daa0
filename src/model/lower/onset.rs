//! Puts a hazard's predicate into onset cases: a disjunction of conjunctions of atoms and negated atoms.
//!
//! NOT is pushed to the atoms first (NOT of MooN is (N−M+1)ooN of the NOTs), votes are written out, and equal cases
//! are kept once. Whether a case can occur at all is a claim, and not decided here.

use crate::model::{OnsetCase, PlantAtom, Tree};

/// How many onset cases a hazard may have.
pub(super) const MOST_CASES: usize = 256;

/// The predicate has more than [`MOST_CASES`] cases.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct TooMany;

/// The onset cases of a predicate, in the order in which it mentions them.
///
/// # Errors
/// [`TooMany`] if there are more than [`MOST_CASES`].
pub(super) fn onset_cases(predicate: &Tree<PlantAtom>) -> Result<Vec<OnsetCase>, TooMany> {
    cases(predicate, true)
}

fn cases(tree: &Tree<PlantAtom>, holds: bool) -> Result<Vec<OnsetCase>, TooMany> {
    match tree {
        Tree::Atom(atom) => Ok(vec![vec![(atom.clone(), holds)]]),
        Tree::Not(part) => cases(part, !holds),
        Tree::And(parts) => at_least(if holds { parts.len() } else { 1 }, parts, holds),
        Tree::Or(parts) => at_least(if holds { 1 } else { parts.len() }, parts, holds),
        Tree::Vote { m, of } => at_least(if holds { *m } else { of.len() + 1 - m }, of, holds),
    }
}

/// The cases in which at least `m` of the operands hold (or, if not `holds`, fail).
fn at_least(m: usize, parts: &[Tree<PlantAtom>], holds: bool) -> Result<Vec<OnsetCase>, TooMany> {
    if m == 0 {
        return Ok(vec![Vec::new()]);
    }
    let Some((first, rest)) = parts.split_first() else { return Ok(Vec::new()) };
    let mut found = Vec::new();
    if m <= parts.len() {
        let heads = cases(first, holds)?;
        let tails = at_least(m - 1, rest, holds)?;
        for head in &heads {
            for tail in &tails {
                add(&mut found, joined(head, tail))?;
            }
        }
    }
    if m <= rest.len() {
        for case in at_least(m, rest, holds)? {
            add(&mut found, case)?;
        }
    }
    Ok(found)
}

fn joined(head: &OnsetCase, tail: &OnsetCase) -> OnsetCase {
    let mut case = head.clone();
    for literal in tail {
        if !case.contains(literal) {
            case.push(literal.clone());
        }
    }
    case
}

fn add(found: &mut Vec<OnsetCase>, case: OnsetCase) -> Result<(), TooMany> {
    let same = |other: &OnsetCase| other.len() == case.len() && other.iter().all(|l| case.contains(l));
    if found.iter().any(same) {
        return Ok(());
    }
    if found.len() == MOST_CASES {
        return Err(TooMany);
    }
    found.push(case);
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::model::{ConditionId, Id};

    fn atom(n: usize) -> Tree<PlantAtom> {
        Tree::Atom(PlantAtom::Condition(ConditionId::from_index(n)))
    }

    fn shown(tree: &Tree<PlantAtom>) -> String {
        let literal = |(atom, holds): &(PlantAtom, bool)| match atom {
            PlantAtom::Condition(id) => format!("{}{}", if *holds { "" } else { "-" }, id.index()),
            _ => String::new(),
        };
        let cases = onset_cases(tree).unwrap();
        cases.iter().map(|case| case.iter().map(literal).collect::<Vec<_>>().join("")).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn disjunctions_split_and_conjunctions_join() {
        let tree = Tree::And(vec![Tree::Or(vec![atom(0), atom(1)]), atom(2)]);
        assert_eq!(shown(&tree), "02 12");
        assert_eq!(shown(&Tree::Not(Box::new(tree))), "-0-1 -2");
    }

    // Two of three: any pair. Not two of three: two of three do not hold.
    #[test]
    fn votes_are_written_out() {
        let tree = Tree::Vote { m: 2, of: vec![atom(0), atom(1), atom(2)] };
        assert_eq!(shown(&tree), "01 02 12");
        assert_eq!(shown(&Tree::Not(Box::new(tree))), "-0-1 -0-2 -1-2");
    }

    #[test]
    fn too_many_cases_are_refused_quickly() {
        let tree = Tree::Vote { m: 20, of: (0..40).map(atom).collect() };
        assert_eq!(onset_cases(&tree), Err(TooMany));
    }
}
