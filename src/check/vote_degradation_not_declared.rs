//! Nothing says what a vote becomes when inputs are out of it.
//!
//! # What it checks
//! Where inputs can be out of a vote, because a bad one degrades the vote or because an override takes them out,
//! `degraded_vote` says for each number that can be out at once what the vote becomes.
//!
//! # Why it matters
//! A 2oo3 with one head out is a 2oo2 or a 1oo2: the one needs both that are left, the other trips on either.
//! What is not declared is taken here as "the vote keeps its M", so that no default favours the design; the
//! program of the controller may do something else.
//!
//! # How it is decided
//! By counting: the operands that are single inputs whose bad signal `degrades_vote`, and of the others as many as the
//! override devices may take out at once. `degraded_vote` must have an entry for each number up to that; `trip` and
//! `no_trip` end the list, and nothing is asked about greater numbers. Only a vote that stands alone in its cause, and
//! not under NOT, can have `degraded_vote`.
//!
//! # What it does not see
//! Whether the declared rule leaves enough: the claims about the hazards under overrides and faults decide that.
//! Operands that name one input twice are counted twice.
//!
//! # Example
//! `2oo3(…)` with three heads that degrade the vote and `degraded_vote: [1oo2]`: what with two heads bad?
//!
//! # How to resolve
//! Write the rule for each number, for example `degraded_vote: [1oo2, 1oo1, trip]`, as the specification says.
//!
//! # References
//! IEC 61511-1 on detected faults and bypasses: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Degraded, Element, InputAtom, InputId, Model, Tree};
use crate::syntax::kind::OnBad;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        let votes = operands(&cause.when);
        let out = votes.iter().map(|inputs| can_be_out(model, inputs)).max().unwrap_or(0);
        if out <= declared(cause) {
            continue;
        }
        let tag = &cause.name.tag;
        let place = model.written(tag, "degraded_vote").unwrap_or(cause.when_span);
        let mut finding = about_element(
            model,
            Check::VoteDegradationNotDeclared,
            Severity::Warning,
            Element::Cause(id),
            place,
        );
        let numbers: Vec<String> = (declared(cause) + 1..=out).map(|n| n.to_string()).collect();
        finding.sentence = format!(
            "Nothing says what the vote of {tag} becomes with {} of its inputs out; here it is taken to keep its M.",
            words::alternatives(&numbers)
        );
        found.push(finding);
    }
    found
}

/// For how many operands out a rule is declared.
fn declared(cause: &Cause) -> usize {
    match cause.degraded.last() {
        Some(Degraded::Trip | Degraded::NoTrip) => usize::MAX - 1,
        Some(Degraded::AtLeast(_)) | None => cause.degraded.len(),
    }
}

/// Of every vote, the inputs that are operands by themselves.
fn operands(tree: &Tree<InputAtom>) -> Vec<Vec<InputId>> {
    match tree {
        Tree::Atom(_) => Vec::new(),
        Tree::Not(part) => operands(part),
        Tree::And(parts) | Tree::Or(parts) => parts.iter().flat_map(operands).collect(),
        Tree::Vote { of, .. } => {
            let mut all = vec![of.iter().filter_map(reading::operand).collect()];
            all.extend(of.iter().flat_map(operands));
            all
        }
    }
}

/// How many of these operands can be out at once.
fn can_be_out(model: &Model, inputs: &[InputId]) -> usize {
    let degrades = |id: &&InputId| {
        let input = &model.inputs[**id];
        input.on_bad == Some(OnBad::DegradesVote) && reading::can_be_bad(input)
    };
    let bad = inputs.iter().filter(degrades).count();
    let others: BTreeSet<InputId> = inputs.iter().filter(|id| !degrades(id)).copied().collect();
    let mut overridden = 0;
    for (_, device) in model.overrides.iter() {
        let reached = device.inputs.iter().filter(|id| others.contains(id)).count();
        overridden += reached.min(device.at_most);
    }
    bad + overridden.min(inputs.len() - bad)
}
