//! A hazard and a mode without a word about each other.
//!
//! # What it checks
//! For every hazard, every mode of its group is either in `exists_in` or has its reason in `not_in`.
//!
//! # Why it matters
//! Set-up, quarantine and maintenance are forgotten more often than the test itself. A blank cell of the table of
//! hazards and modes means that nobody has thought about it, or that nobody has said so.
//!
//! # How it is decided
//! By reading: mode of the group, neither listed in `exists_in` nor in `not_in`.
//!
//! # What it does not see
//! Whether the reason given is a good one.
//!
//! # Example
//! A gas hazard lists the mode `test` and says nothing about `maintenance`, in which the bottle is still connected.
//!
//! # How to resolve
//! Add the mode to `exists_in`, or write in `not_in` why the hazard does not exist there.
//!
//! # References
//! ISO 12100 on all phases of use, IEC 61511-1 on all modes of operation: recalled, not verified.

use super::{Check, Seen, about_hazard};
use crate::finding::{Finding, Severity};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, hazard) in model.hazards.iter() {
        for mode in &model.groups[hazard.group].modes {
            if hazard.exists_in.contains(mode) || hazard.not_in.contains_key(mode) {
                continue;
            }
            let mut finding = about_hazard(model, Check::ModeWithoutWord, id, *mode);
            finding.severity = Severity::Warning;
            finding.sentence = format!(
                "The model does not say whether {} exists here, so nothing was examined for it here.",
                hazard.name.tag
            );
            found.push(finding);
        }
    }
    found
}
