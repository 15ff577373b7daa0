//! An acceptance that matches no finding.
//!
//! # What it checks
//! Every id that an entry of `accepted` names is that of a finding of this run.
//!
//! # Why it matters
//! An acceptance that outlives its finding waits for the next one with the same name and hides it.
//!
//! # How it is decided
//! By comparing ids, after all other checks. Findings of this run that may hide it are named: of the same check and
//! hazard with other elements, so that the id has changed; or about the same hazard, of a check that leaves nothing to
//! find for the one that is accepted.
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
        for (id, _) in &unmatched {
            finding.sentence.push_str(&hidden_by(seen, id));
        }
        finding.also = more.iter().map(|(_, span)| (*span, "no such finding either".to_string())).collect();
        found.push(finding);
    }
    found
}

/// The findings of this run behind which what was accepted may stand, in a sentence.
fn hidden_by(seen: &Seen<'_>, id: &str) -> String {
    let Some((check, hazard, tags)) = parts(id) else { return String::new() };
    let about_it = |other: &&String| {
        parts(other).is_some_and(|(name, about, elements)| {
            let shares = elements.split('+').any(|tag| tags.split('+').any(|own| own == tag));
            let same = name == check && (hazard != "-" || shares);
            about == hazard && (same || hides(name, check) && (shares || !by_element(name)))
        })
    };
    let (accepted, open): (Vec<&String>, Vec<&String>) =
        seen.told.iter().filter(about_it).partition(|other| {
            seen.model.accepted.iter().any(|entry| entry.findings.iter().any(|(named, _)| named == *other))
        });
    // What somebody accepts stood beside it before; what nobody accepts is new.
    let behind = if open.is_empty() { accepted } else { open };
    let named: Vec<String> = behind.into_iter().map(|other| format!("`{other}`")).collect();
    match named.len() {
        0 => String::new(),
        1 => format!(" Look at {} first: what was accepted may stand behind it.", words::list(&named)),
        _ => format!(" Look at {} first: what was accepted may stand behind them.", words::list(&named)),
    }
}

/// Check, hazard and elements of an id.
fn parts(id: &str) -> Option<(&str, &str, &str)> {
    let mut parts = id.splitn(3, '/');
    Some((parts.next()?, parts.next()?, parts.next()?))
}

/// Whether a finding of one check leaves nothing to find for another one about the same hazard.
fn hides(told: &str, hidden: &str) -> bool {
    let is = |name: &str, check: Check| name == check.name();
    let of_numbers = [
        Check::FaultDefeatsProtection,
        Check::TooFewDisjointPaths,
        Check::FaultMakesProtectionLate,
        Check::TooFewTimelyPaths,
        Check::HazardNotMetInTime,
    ];
    let of_time = [Check::FaultMakesProtectionLate, Check::TooFewTimelyPaths];
    // What the loss of a part does, a cause does by itself.
    (is(told, Check::HarmfulAction) && is(hidden, Check::LossForcesForbiddenPosition))
        || (is(told, Check::HazardNotCovered) && of_numbers.iter().any(|check| is(hidden, *check)))
        || (is(told, Check::FaultDefeatsProtection) && is(hidden, Check::FaultMakesProtectionLate))
        || (is(told, Check::TooFewDisjointPaths) && is(hidden, Check::TooFewTimelyPaths))
        || (is(told, Check::HazardNotMetInTime) && of_time.iter().any(|check| is(hidden, *check)))
}

/// Whether a check hides others only where both are about the same element.
fn by_element(told: &str) -> bool {
    told == Check::HarmfulAction.name()
}
