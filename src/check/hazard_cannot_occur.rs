//! The model says that a hazard exists in a mode, and no situation of it does.
//!
//! # What it checks
//! Every onset case of a hazard has at least one situation in every mode in which the hazard is said to exist.
//!
//! # Why it matters
//! "Proved for all situations" is worth nothing when there are none. A coupling that is too strict, or a limit outside
//! the physical range, would make every claim about the hazard true by emptiness.
//!
//! # How it is decided
//! The predicate is put into a disjunction of conjunctions; for each conjunction and mode a situation is sought that
//! keeps to the physical ranges, to the couplings and to `never_together`. If there is none, all claims about it are not applicable.
//!
//! # What it does not see
//! Whether the ranges and couplings are those of the plant.
//!
//! # Example
//! Harm begins at 60 %LFL, and the quantity is declared with the range 0 .. 50 %LFL.
//!
//! # How to resolve
//! Correct the range, the limit or the coupling; or say in `not_in` why the hazard does not exist in the mode.
//!
//! # References
//! Our definition (vacuity).

use super::{Check, Seen, about_hazard};
use crate::finding::Finding;
use crate::model::Hazard;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in seen.assessment.hazards.iter().filter(|examined| !examined.impossible_onsets.is_empty()) {
        let hazard = &model.hazards[examined.hazard];
        let mut finding = about_hazard(model, Check::HazardCannotOccur, examined.hazard, examined.mode);
        finding.place = hazard.when_span;
        finding.sentence = match examined.impossible(hazard.onset.len()) {
            true => format!(
                "{} is said to exist, but within {} `{}` can never hold: nothing about it was examined.",
                hazard.name.tag,
                bounds(hazard),
                hazard.text
            ),
            false => {
                let numbers: Vec<String> =
                    examined.impossible_onsets.iter().map(|number| (number + 1).to_string()).collect();
                finding.elements.push(format!("case-{}", numbers.join("-")));
                format!(
                    "Of the ways in which {} can begin (`{}`, {} cases), case {} can never hold within {}.",
                    hazard.name.tag,
                    hazard.text,
                    hazard.onset.len(),
                    super::words::list(&numbers),
                    bounds(hazard)
                )
            }
        };
        found.push(finding);
    }
    found
}

/// What leaves no situation of it.
fn bounds(hazard: &Hazard) -> &'static str {
    match hazard.never_together.is_empty() {
        true => "the physical ranges and couplings",
        false => "the physical ranges, the couplings and what is `never_together` with it",
    }
}
