//! A hazard that is not brought to its safe state even when nothing is broken.
//!
//! # What it checks
//! In every mode in which a hazard exists, and in every situation in which its predicate holds, the safe state is
//! reached without any fault and without any override.
//!
//! # Why it matters
//! Everything else builds on it. If the protection does not act although all of it works, redundancy does not help.
//!
//! # How it is decided
//! For hazard h in mode m: no situation with (some onset case of h holds) AND NOT (safe state of h), faults empty,
//! overrides empty, memory and process control free, every coupling kept. Readings may err by their accuracy.
//!
//! # What it does not see
//! How long it takes: `hazard-not-met-in-time` does. Whether the safe state really averts the harm.
//!
//! # Example
//! Gas is dangerous from 60 %LFL; the only trip reads a head that ends at 50 %LFL and is set to 55 %LFL. It never
//! fires, so nothing opens the contactor.
//!
//! # How to resolve
//! Read the situation from the top: the first trip that should have acted and did not. Usually a set point that
//! accuracy eats, a mode in which the cause is not armed, a mark that is missing, or an opposing command that wins.
//!
//! # References
//! IEC 61511-1 on safety requirements and ISO 12100 on hazards in all phases of use (recalled, not verified).

use super::{Check, Seen, about_hazard, words};
use crate::explain;
use crate::finding::Finding;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in &seen.assessment.hazards {
        let Some(witness) = examined.unaided.witness() else { continue };
        let hazard = &model.hazards[examined.hazard];
        let causes = words::credited(model, examined.hazard);
        let mut finding = about_hazard(model, Check::HazardNotCovered, examined.hazard, examined.mode);
        finding.elements = causes.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
        finding.sentence = match causes.is_empty() {
            true => format!(
                "When {} ({}) is present, nothing has to bring it to its safe state `{}`: no trip is credited for it.",
                hazard.name.tag, hazard.text, hazard.safe_text
            ),
            false => format!(
                "With everything working, {} ({}) can be present and its safe state `{}` is not reached.",
                hazard.name.tag, hazard.text, hazard.safe_text
            ),
        };
        finding.also = causes
            .iter()
            .map(|cause| (model.causes[*cause].when_span, "a trip credited for it".to_string()))
            .collect();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
