//! A permitted override leaves a hazard without the protection that must remain.
//!
//! # What it checks
//! Under every set of overrides that the devices permit in the mode, the hazard is still brought to its safe state,
//! with as many faults as the policy demands under overrides (none, unless it says more).
//!
//! # Why it matters
//! An override is a planned fault. One that takes away the last path makes a maintenance job the moment of the accident.
//!
//! # How it is decided
//! For every choice of overridden inputs that keeps to `at_most` and to the permitted modes, and faults of weight up
//! to k′: no situation of the hazard in which its safe state is not reached. An overridden input leaves its vote by the
//! vote's rule; alone, it does not vote to trip.
//!
//! # What it does not see
//! How long an override lasts, and overrides set by other means than the declared devices.
//!
//! # Example
//! A key may override two of three gas heads at once, and the vote stays at two: nothing can trip it any more.
//!
//! # How to resolve
//! Permit fewer overrides at once, let the vote degrade (2oo3 to 1oo2), or take the mode out of those permitted.
//!
//! # References
//! IEC 61511-1 on bypasses: recalled, not verified.

use super::{Check, Seen, about_hazard, words};
use crate::explain;
use crate::finding::Finding;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in &seen.assessment.hazards {
        if examined.unaided.is_broken() {
            continue;
        }
        let Some(witness) = examined.overrides.witness().or(examined.covered.witness()) else { continue };
        let hazard = &model.hazards[examined.hazard];
        let story = explain::story(model, witness);
        let mut elements: Vec<String> = story.overrides.iter().map(|(_, input)| input.clone()).collect();
        let devices: Vec<String> = story.overrides.iter().map(|(device, _)| device.clone()).collect();
        elements.extend(devices.clone());
        elements.sort();
        elements.dedup();
        let inputs: Vec<String> = story.overrides.iter().map(|(_, input)| input.clone()).collect();
        let mut finding =
            about_hazard(model, Check::OverrideRemovesProtection, examined.hazard, examined.mode);
        let with_faults = match story.faults.as_slice() {
            [] => String::new(),
            faults => format!(", and with {} faulty", words::list(faults)),
        };
        let inputs = if inputs.is_empty() { "nothing".to_string() } else { words::list(&inputs) };
        finding.sentence = format!(
            "With {inputs} overridden as permitted{with_faults}, {} does not reach its safe state `{}`.",
            hazard.name.tag, hazard.safe_text
        );
        finding.elements = elements;
        finding.also = model
            .overrides
            .iter()
            .filter(|(_, device)| devices.contains(&device.name.tag))
            .map(|(_, device)| (device.name.span, "the override device".to_string()))
            .collect();
        finding.witness = Some(story);
        found.push(finding);
    }
    found
}
