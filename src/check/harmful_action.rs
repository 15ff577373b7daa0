//! A cause commands what a hazard forbids while it is present.
//!
//! # What it checks
//! For every position that a hazard forbids and every cause that commands it: no situation without faults in which
//! the hazard is present and the cause is true, by its condition or by its latch.
//!
//! # Why it matters
//! An over-temperature trip that switches everything off also stops the cooling.
//!
//! # How it is decided
//! Exists a situation, fault-free, latches in any state, in which the hazard is present in a mode in which it
//! exists and the cause has its value.
//!
//! # What it does not see
//! Harm that no `forbids` names. Commands of the process control.
//!
//! # Example
//! The gas trip locks the door on the people inside.
//!
//! # How to resolve
//! Take the command away, or accept the finding with the reason why the other hazard is worse.
//!
//! # References
//! Our definition; common practice, no source.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::NotHarmed(hazard, cause, at), Some(witness)) =
            (single.subject, single.decided.witness())
        else {
            continue;
        };
        let element = &model.causes[cause];
        let mut finding = about_element(
            model,
            Check::HarmfulAction,
            Severity::Serious,
            Element::Cause(cause),
            element.name.span,
        );
        let device = model.device_element(at.device);
        let position = model.device_positions(at.device).get(at.position).map_or("", String::as_str);
        finding.hazard = Some(hazard);
        finding.elements.push(model.tag(device).to_string());
        finding.sentence = format!(
            "{} commands {} {position}, which {} forbids, and can do so while that hazard is present.",
            element.name.tag,
            model.tag(device),
            model.hazards[hazard].name.tag
        );
        finding.also = vec![(model.hazards[hazard].name.span, "the hazard that forbids it".to_string())];
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
