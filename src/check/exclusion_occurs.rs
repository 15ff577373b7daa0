//! A combination of positions that the engineer excludes can occur.
//!
//! # What it checks
//! For every exclusion: no situation, with as many faults as it allows (none, unless it says more), in which the
//! excluded combination of positions holds.
//!
//! # Why it matters
//! Water on closed contactors, a heater on without its fan: such combinations are dangerous whatever the hazard table
//! says.
//!
//! # How it is decided
//! No situation with weight(F) ≤ k in which the expression over positions is true, latches and process control free.
//!
//! # What it does not see
//! The moments while devices move: positions are those that are reached.
//!
//! # Example
//! `never: WZ-1 = open AND KD-1 = closed`, and one release opens the water valve without opening the contactor.
//!
//! # How to resolve
//! Give the cause that is named in the situation the missing mark, or interlock the two devices by wiring.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, words};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::NeverOccurs(id), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let rule = &model.exclusions[id];
        let element = crate::model::Element::Exclusion(id);
        let mut finding =
            super::about_element(model, Check::ExclusionOccurs, Severity::Serious, element, rule.name.span);
        let story = explain::story(model, witness);
        let with = match story.faults.as_slice() {
            [] => "with nothing broken".to_string(),
            faults => format!("with {} faulty", words::list(faults)),
        };
        finding.sentence = format!("{}: `{}` must never occur, and {with} it can.", rule.name.tag, rule.text);
        finding.witness = Some(story);
        found.push(finding);
    }
    found
}
