//! An emergency stop is pressed, and something of its span does not come to rest.
//!
//! # What it checks
//! For every emergency stop: whenever it is pressed, in every mode in which some hazard exists, everything of its
//! span reaches its position, with as many faults as it must tolerate.
//!
//! # Why it matters
//! Whoever presses the red button believes that everything in reach stops.
//!
//! # How it is decided
//! No situation with faults of the stated weight in which the device is pressed and a position of its span is not
//! reached. Modes: those in which, of the groups by which the causes that read it are armed and that have hazards, one is in
//! a mode in which some hazard of it exists; all, where none of these groups has hazards.
//!
//! # What it does not see
//! Modes without any hazard (isolated, locked out). Time, and the stop category.
//!
//! # Example
//! The stop opens the heater contactor in TEST, and nothing arms it in SETUP.
//!
//! # How to resolve
//! Arm the stop's causes in all modes, and give its contacts a way to every element of the span.
//!
//! # References
//! ISO 13850 on the span of control, IEC 60204-1 on stop functions: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::SpanReached(stop), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let element = &model.stops[stop];
        let mut finding = about_element(
            model,
            Check::StopMissesItsSpan,
            Severity::Serious,
            Element::Stop(stop),
            element.name.span,
        );
        let missed: Vec<String> = element
            .brings
            .iter()
            .filter(|at| witness.replay.positions.get(&at.device) != Some(&at.position))
            .map(|at| model.tag(model.device_element(at.device)).to_string())
            .collect();
        finding.elements.extend(missed.iter().cloned());
        let story = explain::story(model, witness);
        let with = match story.faults.as_slice() {
            [] => String::new(),
            faults => format!(" while {} misbehaves", super::words::list(faults)),
        };
        finding.sentence = format!(
            "{} can be pressed{with}, and {} {} not go where the span says.",
            element.name.tag,
            super::words::list(&missed),
            if missed.len() == 1 { "does" } else { "do" }
        );
        finding.witness = Some(story);
        found.push(finding);
    }
    found
}
