//! An acceptance that matches no finding.
//!
//! # What it checks
//! Every id that an entry of `accepted` names is that of a finding of this run.
//!
//! # Why it matters
//! An acceptance that outlives its finding waits for the next one with the same name and hides it.
//!
//! # How it is decided
//! By comparing ids, after all other checks.
//!
//! # What it does not see
//! Whether the reason still holds. Whether the date has passed is told by `acceptance-expired`.
//!
//! # Example
//! The shared isolator was replaced, the finding is gone, and its acceptance still stands in the file.
//!
//! # How to resolve
//! See first whether another finding hides it: an action that does by itself what was accepted leaves nothing to
//! accept until it is repaired. Examine again then. If it stays away, remove the entry or the id, or correct the id.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_tag, words};
use crate::finding::{Finding, Severity};
use crate::source::Span;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for acceptance in &seen.model.accepted {
        let unmatched: Vec<&(String, Span)> =
            acceptance.findings.iter().filter(|(id, _)| !seen.told.contains(id)).collect();
        let Some(((_, first), more)) = unmatched.split_first() else { continue };
        let tag = &acceptance.name.tag;
        let mut finding = about_tag(Check::AcceptanceWithoutFinding, Severity::Warning, tag, *first);
        let ids: Vec<String> = unmatched.iter().map(|(id, _)| format!("`{id}`")).collect();
        let there = if more.is_empty() { "there is no such finding" } else { "there are no such findings" };
        finding.sentence = format!("{tag} accepts {}, and {there}.", words::list(&ids));
        finding.also = more.iter().map(|(_, span)| (*span, "no such finding either".to_string())).collect();
        found.push(finding);
    }
    found
}
