//! Inputs of one vote are compared with different set points.
//!
//! # What it checks
//! Within one vote, all comparisons of quantities of the same kind have the same relation and the same set point.
//!
//! # Why it matters
//! Three heads at 20, 20 and 25 %LFL are no 2oo3: below 25 the vote is a 2oo2 of the first two. Mostly one set
//! point was changed and two were forgotten.
//!
//! # How it is decided
//! By reading each vote: the operands that are single comparisons (NOT is resolved into the opposite relation),
//! grouped by the kind of their quantity.
//!
//! # What it does not see
//! Whether a difference is meant, as between sensors at different places. Comparisons combined with AND or OR.
//! Set points of different causes: `set-points-differ-between-trips` tells those.
//!
//! # Example
//! `2oo3(GD-1 >= 20 %LFL, GD-2 >= 20 %LFL, GD-3 >= 25 %LFL)`.
//!
//! # How to resolve
//! Give all the same set point; if the difference is meant, accept the finding with the reason.
//!
//! # References
//! Common practice, no source.

use std::collections::BTreeMap;

use super::{Check, Seen, about_element, words};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Element, InputAtom, InputId, Model, Observes, Relation, Tree};
use crate::source::Span;
use crate::unit::{Kind, Quantity};

/// A comparison as it counts in a vote.
struct Compared<'m> {
    input: InputId,
    relation: Relation,
    set_point: &'m Exact,
    span: Span,
}

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        for of in votes(&cause.when) {
            for alike in comparisons(model, of).into_values() {
                let Some((first, rest)) = alike.split_first() else { continue };
                let same = |other: &&Compared<'_>| {
                    (other.relation, other.set_point) == (first.relation, first.set_point)
                };
                let Some(differs) = rest.iter().find(|other| !same(other)) else { continue };
                let element = Element::Cause(id);
                let mut finding = about_element(
                    model,
                    Check::SetPointsDifferInVote,
                    Severity::Warning,
                    element,
                    differs.span,
                );
                finding.elements.extend(alike.iter().map(|one| model.inputs[one.input].name.tag.clone()));
                let texts: Vec<String> = alike.iter().map(|one| format!("`{}`", text(model, one))).collect();
                finding.sentence = format!(
                    "In a vote of {}, {} are not compared alike.",
                    cause.name.tag,
                    words::list(&texts)
                );
                finding.also = vec![(first.span, "differs from this one".to_string())];
                found.push(finding);
            }
        }
    }
    found
}

/// The operands of every vote in a condition.
fn votes(tree: &Tree<InputAtom>) -> Vec<&[Tree<InputAtom>]> {
    match tree {
        Tree::Atom(_) => Vec::new(),
        Tree::Not(part) => votes(part),
        Tree::And(parts) | Tree::Or(parts) => parts.iter().flat_map(votes).collect(),
        Tree::Vote { of, .. } => {
            let mut all = vec![of.as_slice()];
            all.extend(of.iter().flat_map(votes));
            all
        }
    }
}

/// The single comparisons among operands, by the kind of their quantity.
fn comparisons<'m>(model: &Model, of: &'m [Tree<InputAtom>]) -> BTreeMap<String, Vec<Compared<'m>>> {
    let mut all: BTreeMap<String, Vec<Compared<'m>>> = BTreeMap::new();
    for operand in of {
        let (atom, negated) = match operand {
            Tree::Atom(atom) => (atom, false),
            Tree::Not(part) => match part.as_ref() {
                Tree::Atom(atom) => (atom, true),
                _ => continue,
            },
            _ => continue,
        };
        let InputAtom::Compare { input, relation, set_point, span, .. } = atom else { continue };
        let Some(kind) = kind(model, *input) else { continue };
        let relation = if negated { relation.negated() } else { *relation };
        let compared = Compared { input: *input, relation, set_point, span: *span };
        all.entry(format!("{kind:?}")).or_default().push(compared);
    }
    all
}

fn kind(model: &Model, input: InputId) -> Option<Kind> {
    match model.inputs[input].observes {
        Observes::Quantity { quantity, .. } => Some(model.quantities[quantity].kind),
        Observes::Condition { .. } | Observes::Loop { .. } | Observes::Stop(_) => None,
    }
}

fn text(model: &Model, one: &Compared<'_>) -> String {
    let input = &model.inputs[one.input];
    let set_point = match input.observes {
        Observes::Quantity { quantity, .. } => {
            Quantity::from_base(one.set_point.clone(), model.quantities[quantity].unit).to_string()
        }
        Observes::Condition { .. } | Observes::Loop { .. } | Observes::Stop(_) => one.set_point.to_string(),
    };
    format!("{} {} {set_point}", input.name.tag, one.relation.text())
}
