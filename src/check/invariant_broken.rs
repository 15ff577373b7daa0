//! A demand that must always bring another demand with it does not.
//!
//! # What it checks
//! For every invariant: in every situation, with as many faults as it allows (none, unless it says more), whenever its
//! first part is demanded, its second part is demanded too.
//!
//! # Why it matters
//! Rules such as "whoever opens the water also opens both contactors" are written once in the concept and have to be
//! kept by every row of the matrix, also by the row that somebody adds next year.
//!
//! # How it is decided
//! No situation with whenever AND NOT then, where an atom `K1 = open` means that some true cause demands it.
//!
//! # What it does not see
//! Whether the demand is carried out: that is the matter of exclusions and hazards.
//!
//! # Example
//! Manual release of the mist opens the zone valve and starts the pump, and has no mark for the contactors.
//!
//! # How to resolve
//! Add the missing mark to the cause that is named in the situation.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::AlwaysHolds(id), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let rule = &model.invariants[id];
        let mut finding = about_element(
            model,
            Check::InvariantBroken,
            Severity::Serious,
            Element::Invariant(id),
            rule.name.span,
        );
        finding.sentence = format!("{}: `{}` does not always hold.", rule.name.tag, rule.text);
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
