//! A hazard that is brought to its safe state too late, even when nothing is broken.
//!
//! # What it checks
//! In every mode in which a hazard exists, and in every situation in which its predicate holds, the safe state is reached
//! in the time that the hazard leaves, without any fault and under every permitted override.
//!
//! # Why it matters
//! A trip that comes late is no trip.
//!
//! # How it is decided
//! The time that is left, f · (T − E), is pushed down from the safe state to the readings: travel, delays of marks, links,
//! on-delay and reaction of the solver, response of the sensor; a comparison of a sensor has its head start, (limit − set
//! point − accuracy) / rate, beforehand. What cannot be true in time does not count. Refuted if the safe state is not
//! reached then, although it is reached as long as it takes. Where an override keeps it from being reached at all, the claim
//! does not arise, and it is told here if the hazard is met too late without the override. A command for another position that does not lose must have
//! ended by then: one that is not latched may have been there until harm began, and ends when its condition is seen to be
//! false.
//!
//! # What it does not see
//! Whether the times and rates that the model declares are those of the plant. How fast a quantity moves while the trip
//! is under way: the worst rate counts from the set point on.
//!
//! # Example
//! Harm begins 20 s after the set point at the worst rate; the only trip needs 25 s.
//!
//! # How to resolve
//! Take the element that comes late from the situation: a quicker sensor or element, a shorter delay, or a lower set
//! point, which gives more time.
//!
//! # References
//! IEC 61511-1 on response time against process safety time: recalled, not verified.

use super::{Check, Seen, about_hazard, words};
use crate::explain;
use crate::finding::Finding;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (ever, own) in words::timed(seen) {
        // What fails as long as it takes is told without regard to time. Where only an override does that, being late
        // without one is a defect of its own.
        let late = match ever.covered.is_broken() {
            false => own.covered.witness(),
            true if !ever.unaided.is_broken() => own.unaided.witness(),
            true => None,
        };
        let Some(witness) = late else { continue };
        let hazard = &model.hazards[own.hazard];
        let mut finding = about_hazard(model, Check::HazardNotMetInTime, own.hazard, own.mode);
        let causes = words::credited(model, own.hazard);
        finding.elements = causes.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
        finding.sentence = format!(
            "With everything working, {} ({}) can be present and its safe state `{}` is reached too late.",
            hazard.name.tag, hazard.text, hazard.safe_text
        );
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
