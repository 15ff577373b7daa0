//! A hazard that is not met while sensors warm up.
//!
//! # What it checks
//! For every hazard, in every mode in which it exists: without faults it is brought to its safe state while every sensor
//! with a `warm_up` time shows what it shows without supply.
//!
//! # Why it matters
//! When power returns, all heads of a kind warm up at once, and the plant may be started before they see anything.
//!
//! # How it is decided
//! As `hazard-not-covered`, with `on_loss` in place of the reading of each such sensor.
//!
//! # What it does not see
//! How long the plant is kept from starting. What a mode asks for before it is entered: a design that waits for the
//! warm-up in another way shows here all the same. Latches that are set when power returns. Whether what is warm is quick
//! enough: the claims about time take all sensors as warm.
//!
//! # Example
//! Heads that read low for two minutes after power returns, and a test that may begin after ten seconds.
//!
//! # How to resolve
//! Take heads that show a fault or full scale while they warm up (`on_loss: high` or `bad` with `on_bad: trips`); or trip
//! until they are warm.
//!
//! # References
//! IEC 60079-29-2 on warm-up of gas detectors: recalled, not verified.

use super::words::list;
use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;
use crate::situation::ModeChoice;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    let warming: Vec<String> = model
        .inputs
        .iter()
        .filter(|(_, input)| input.warm_up.is_some())
        .map(|(_, input)| input.name.tag.clone())
        .collect();
    for single in &seen.assessment.singles {
        let (Subject::MetWhileWarmingUp(hazard), Some(witness)) = (single.subject, single.decided.witness())
        else {
            continue;
        };
        let element = &model.hazards[hazard];
        // What is not met with warm sensors either is told as that. Overrides do not belong to this claim.
        let mode = witness.situation.mode(model, ModeChoice::Holds(element.group));
        let cold_or_not = |own: &crate::assess::HazardInMode| {
            own.hazard == hazard && Some(own.mode) == mode && own.unaided.is_broken()
        };
        if seen.assessment.hazards.iter().any(cold_or_not) {
            continue;
        }
        let mut finding = about_element(
            model,
            Check::BlindWhileWarmingUp,
            Severity::Serious,
            Element::Hazard(hazard),
            element.name.span,
        );
        finding.hazard = Some(hazard);
        finding.elements.clear();
        finding.modes = mode.into_iter().collect();
        let (of, show) = match warming.as_slice() {
            [one] => (one.clone(), "shows what it shows"),
            all => (list(all), "show what they show"),
        };
        finding.sentence = format!(
            "While {of} {} up after power returns and {show} without supply, {} is not brought to its safe state.",
            if warming.len() == 1 { "warms" } else { "warm" },
            element.name.tag
        );
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
