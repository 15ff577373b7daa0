//! Somebody leaves by the way out, and the hazard behind the door goes on.
//!
//! # What it checks
//! For every escape release and every hazard that needs the doors of the space shut: once the release is used, the
//! hazard's safe state is reached, whatever is commanded and latched, and with any one fault.
//!
//! # Why it matters
//! A release that opens the door while the high voltage stays on frees a person into the hazard, and those who come
//! to help as well.
//!
//! # How it is decided
//! No situation with weight(F) ≤ 1, in a mode in which the hazard exists, in which every input that the release
//! trips is as the release makes it and the safe state is not reached. This is asked of all modes of the hazard,
//! also those in which nobody should be inside: the release is there for the one who was overlooked.
//!
//! # What it does not see
//! Time. Whether the release works: its mechanism belongs into a fault exclusion that names its inspection.
//!
//! # Example
//! The door can be pushed open from inside, and no contact of it opens the contactors.
//!
//! # How to resolve
//! Let the release (or the door it opens) trip what makes the space harmless, and name those inputs in `trips`.
//!
//! # References
//! ISO 14119 on escape release: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::ReleaseStops(space, number, hazard), Some(witness)) =
            (single.subject, single.decided.witness())
        else {
            continue;
        };
        let element = &model.spaces[space];
        let Some(door) = element.doors.get(number) else { continue };
        let mut finding = about_element(
            model,
            Check::ReleaseLeavesHazard,
            Severity::Serious,
            Element::Space(space),
            door.name.span,
        );
        finding.hazard = Some(hazard);
        finding.elements.push(door.name.tag.clone());
        let story = explain::story(model, witness);
        let with = match story.faults.as_slice() {
            [] => String::new(),
            faults => format!(" while {} misbehaves", super::words::list(faults)),
        };
        finding.sentence = format!(
            "Leaving {} by {} does not bring {} to its safe state{with}.",
            element.name.tag, door.name.tag, model.hazards[hazard].name.tag
        );
        finding.witness = Some(story);
        found.push(finding);
    }
    found
}
