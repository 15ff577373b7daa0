//! An assumption that nobody owns or that nothing supports.
//!
//! # What it checks
//! Every assumption names the role that owns it and the evidence it rests on, and every coupling its evidence.
//!
//! # Why it matters
//! What nobody owns, nobody examines again after the next change. What nothing supports may be a wish, and a
//! claim that rests on it is proved of a wish.
//!
//! # How it is decided
//! By reading: `owner` or `evidence` is missing.
//!
//! # What it does not see
//! Whether the evidence shows what it is said to show, and whether the owner knows of it.
//!
//! # Example
//! `A-1: { statement: people hear the horn }`: who has listened, and with the fans running?
//!
//! # How to resolve
//! Name the role under `owner` and the test, calculation or record under `evidence`, or remove the statement and
//! see what is left of the proofs.
//!
//! # References
//! IEC 61511-1 on documented assumptions: recalled, not verified.

use super::{Check, Seen, about_tag};
use crate::finding::{Finding, Severity};
use crate::model::Name;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut say = |name: &Name, sentence: String| {
        let mut finding = about_tag(Check::AssumptionNotOwned, Severity::Warning, &name.tag, name.span);
        finding.sentence = sentence;
        found.push(finding);
    };
    for (_, coupling) in seen.model.couplings.iter() {
        let name = &coupling.name;
        if seen.model.written(&name.tag, "evidence").is_none() {
            say(
                name,
                format!("The coupling {} excludes situations, and nothing says what it rests on.", name.tag),
            );
        }
    }
    for assumption in &seen.model.assumptions {
        let tag = &assumption.name.tag;
        let lacking = match (&assumption.owner, &assumption.evidence) {
            (Some(_), Some(_)) => continue,
            (None, None) => "nobody owns it, and nothing says what it rests on",
            (None, Some(_)) => "nobody owns it",
            (Some(_), None) => "nothing says what it rests on",
        };
        say(&assumption.name, format!("The results rest on the assumption {tag}, and {lacking}."));
    }
    found
}
