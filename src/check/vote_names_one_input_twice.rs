//! One input stands twice in a vote.
//!
//! # What it checks
//! Within one vote, every operand that is a single input is another input.
//!
//! # Why it matters
//! A 2oo3 in which one head stands twice is tripped, and silenced, by that head alone. Mostly a row was copied and
//! one tag was forgotten; the third head then reads for nobody.
//!
//! # How it is decided
//! By reading each vote: the operands that are single comparisons or states of an input, NOT left aside.
//!
//! # What it does not see
//! Inputs inside operands that are combined with AND or OR, where an input may well stand several times. Two inputs
//! that read the same thing through one tap: `trips-share-an-input` and the claims about the hazards tell what is
//! shared.
//!
//! # Example
//! `2oo3(GD-1 >= 25 %LFL, GD-1 >= 25 %LFL, GD-3 >= 25 %LFL)`.
//!
//! # How to resolve
//! Name the input that was meant, or write the vote with as many operands as there are inputs. If one input shall
//! count twice, say so in a condition of its own instead of a vote.
//!
//! # References
//! IEC 61508-6 on the notation of votes: recalled, not verified.

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, InputAtom, InputId, Tree};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        for (m, of) in votes(&cause.when) {
            let single: Vec<InputId> = of.iter().filter_map(reading::operand).collect();
            let twice: Vec<String> = distinct(&single)
                .into_iter()
                .filter(|input| single.iter().filter(|other| *other == input).count() > 1)
                .map(|input| model.inputs[input].name.tag.clone())
                .collect();
            if twice.is_empty() {
                continue;
            }
            let mut finding = about_element(
                model,
                Check::VoteNamesOneInputTwice,
                Severity::Warning,
                Element::Cause(id),
                cause.when_span,
            );
            let counts = if twice.len() == 1 { "stands more than once" } else { "stand more than once" };
            finding.sentence = format!(
                "{} {counts} in the {m}oo{} vote of {}: one input, several votes.",
                words::list(&twice),
                of.len(),
                cause.name.tag
            );
            finding.elements.extend(twice);
            found.push(finding);
        }
    }
    found
}

/// Each once, in order.
fn distinct(inputs: &[InputId]) -> Vec<InputId> {
    let mut found = Vec::new();
    for input in inputs {
        if !found.contains(input) {
            found.push(*input);
        }
    }
    found
}

/// Every vote in a condition: how many must agree, and its operands.
fn votes(tree: &Tree<InputAtom>) -> Vec<(usize, &[Tree<InputAtom>])> {
    match tree {
        Tree::Atom(_) => Vec::new(),
        Tree::Not(part) => votes(part),
        Tree::And(parts) | Tree::Or(parts) => parts.iter().flat_map(votes).collect(),
        Tree::Vote { m, of } => {
            let mut all = vec![(*m, of.as_slice())];
            all.extend(of.iter().flat_map(votes));
            all
        }
    }
}
