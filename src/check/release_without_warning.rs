//! Fire suppression can be released on people without a warning.
//!
//! # What it checks
//! Wherever a discharge can be demanded in a mode with people expected, the release has a warning time above zero
//! and something that warns.
//!
//! # Why it matters
//! Gas suffocates, and mist at high pressure blinds. Whoever is inside needs the time to leave before it comes.
//!
//! # How it is decided
//! By reading: a cause of `released_by` is armed in a mode with `people: expected`, and `warning` is missing, zero or `unknown`, or `warned_by` is missing or empty. The mode groups that count are those of the hazards for
//! which the cause is credited; without credit those that its `armed` names; otherwise all.
//!
//! # What it does not see
//! Whether the warning is given as declared and long enough for the way out: `warning-not-given` and
//! `warning-shorter-than-way-out` tell that. Whether it is heard, and causes that open the discharge without standing in
//! `released_by`.
//!
//! # Example
//! A manual release beside the door opens the zone valve at once, with somebody still at the bench.
//!
//! # How to resolve
//! Declare and build a warning that leaves time to go, or do not arm the release where people are expected.
//!
//! # References
//! EN 12094 and ISO 14520 practice for gas extinguishing: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, ModeId, Time};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, zone) in model.suppression.iter() {
        let in_time = matches!(&zone.warning, Time::Known(time) if !time.is_zero());
        let (lacking, field) = match (in_time, zone.warned_by.is_empty()) {
            (true, false) => continue,
            (false, true) => ("no warning time, and nothing that warns, is declared", "warning"),
            (false, false) => ("no warning time is declared", "warning"),
            (true, true) => ("nothing that warns is declared", "warned_by"),
        };
        let mut modes: BTreeSet<ModeId> = BTreeSet::new();
        let mut causes: Vec<String> = Vec::new();
        for cause in &zone.released_by {
            let with_people = reading::armed_with_people(model, &model.causes[*cause]);
            if !with_people.is_empty() {
                causes.push(model.causes[*cause].name.tag.clone());
                modes.extend(with_people);
            }
        }
        if modes.is_empty() {
            continue;
        }
        let tag = &zone.name.tag;
        let place = model.written(tag, field).unwrap_or(zone.name.span);
        let mut finding = about_element(
            model,
            Check::ReleaseWithoutWarning,
            Severity::Serious,
            Element::Suppression(id),
            place,
        );
        let names: Vec<String> = modes.iter().map(|mode| model.modes[*mode].name.tag.clone()).collect();
        finding.sentence = format!(
            "{} can demand the discharge of {tag} in {}, with people expected inside, and {lacking}.",
            words::list(&causes),
            words::list(&names)
        );
        finding.elements.extend(causes);
        finding.modes = modes.into_iter().collect();
        found.push(finding);
    }
    found
}
