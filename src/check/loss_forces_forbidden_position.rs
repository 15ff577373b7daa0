//! The loss of one supply, route, cabinet or solver moves an actuator where a hazard forbids it.
//!
//! # What it checks
//! For every position of an actuator that a hazard forbids: no quiet loss of one supply, cable route, cabinet or
//! logic solver takes the actuator there while the hazard is present.
//!
//! # Why it matters
//! The position without energy is chosen for one hazard. For another it may be the wrong one.
//!
//! # How it is decided
//! Exists a situation in which the hazard is present, the source is gone (a supply is lost; every line in a route
//! is open; a solver gives no energy and passes nothing on; everything in a cabinet is without power) and nothing
//! else is, the process control keeps the actuator elsewhere, no cause would command the position with nothing
//! broken, and yet the actuator is there.
//!
//! # What it does not see
//! Losses that do more than go dark: those are the fault sets of the hazard's own claims.
//!
//! # Example
//! The coolant pump stops when the 24 V supply of its contactor is lost, while the pack runs hot.
//!
//! # How to resolve
//! Let the actuator stay where it is without energy, give it a supply of its own, or accept the finding with the
//! reason.
//!
//! # References
//! Our definition; common practice, no source.

use super::{Check, Seen, about_element, words};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::NotForced(hazard, at), Some(witness)) = (single.subject, single.decided.witness())
        else {
            continue;
        };
        let device = model.device_element(at.device);
        let place = model.name(device).span;
        let mut finding =
            about_element(model, Check::LossForcesForbiddenPosition, Severity::Warning, device, place);
        let sources: Vec<String> = single.alone.iter().map(|source| model.source_tag(*source)).collect();
        let position = model.device_positions(at.device).get(at.position).map_or("", String::as_str);
        finding.hazard = Some(hazard);
        finding.elements.extend(sources.iter().cloned());
        finding.sentence = format!(
            "The loss of {} moves {} to {position}, which {} forbids.",
            words::any_of(&sources),
            model.tag(device),
            model.hazards[hazard].name.tag
        );
        finding.also = vec![(model.hazards[hazard].name.span, "the hazard that forbids it".to_string())];
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
