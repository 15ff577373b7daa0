//! An acceptance that matches no finding.
//!
//! # What it checks
//! Every entry of `accepted` names the id of a finding of this run.
//!
//! # Why it matters
//! An acceptance that outlives its finding waits for the next one with the same name and hides it.
//!
//! # How it is decided
//! By comparing ids, after all other checks.
//!
//! # What it does not see
//! Whether the reason still holds, and whether the date has passed: expiries are listed, not judged.
//!
//! # Example
//! The shared isolator was replaced, the finding is gone, and its acceptance still stands in the file.
//!
//! # How to resolve
//! Remove the entry, or correct the id.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen};
use crate::finding::{Finding, Severity};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let unmatched = seen.model.accepted.iter().filter(|acceptance| !seen.told.contains(&acceptance.finding));
    unmatched
        .map(|acceptance| Finding {
            check: Check::AcceptanceWithoutFinding,
            severity: Severity::Warning,
            hazard: None,
            modes: Vec::new(),
            elements: vec![acceptance.name.tag.clone()],
            sentence: format!(
                "{} accepts `{}`, and there is no such finding.",
                acceptance.name.tag, acceptance.finding
            ),
            witness: None,
            place: acceptance.name.span,
            also: Vec::new(),
            lowest: Vec::new(),
            under: None,
            accepted: None,
            requirement: None,
        })
        .collect()
}
