//! One override device reaches into two trips of the same hazard.
//!
//! # What it checks
//! No override device takes inputs out of two different causes that are credited for the same hazard.
//!
//! # Why it matters
//! Two independent trips with one key over both are as independent as the hand that turns it. A fault of the key
//! defeats both at once.
//!
//! # How it is decided
//! By reading: two causes credited for one hazard, each reading an input of the device. How many inputs it
//! permits at once is not asked: a device that fails may have taken out any of them.
//!
//! # What it does not see
//! Keys that are only alike, and whoever holds two keys.
//!
//! # Example
//! The maintenance key of the gas heads reaches the three heads of the vote and the fourth head of the second
//! channel.
//!
//! # How to resolve
//! Give each channel an override device of its own, or leave one channel without any.
//!
//! # References
//! IEC 61511-1 on bypasses: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, device) in model.overrides.iter() {
        let mut hazards: Vec<String> = Vec::new();
        let mut causes: BTreeSet<CauseId> = BTreeSet::new();
        for (hazard, element) in model.hazards.iter() {
            let reached = |cause: &CauseId| {
                device.inputs.iter().any(|input| reading::reads(&model.causes[*cause], *input))
            };
            let credited: Vec<CauseId> = words::credited(model, hazard).into_iter().filter(reached).collect();
            if credited.len() > 1 {
                hazards.push(element.name.tag.clone());
                causes.extend(credited);
            }
        }
        if hazards.is_empty() {
            continue;
        }
        let tag = &device.name.tag;
        let place = model.written(tag, "inputs").unwrap_or(device.name.span);
        let mut finding =
            about_element(model, Check::OneKeyOverTwoTrips, Severity::Warning, Element::Override(id), place);
        let names: Vec<String> = causes.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
        finding.sentence = format!(
            "{tag} takes inputs out of {}, trips that are credited for the same hazard: {}.",
            words::list(&names),
            words::list(&hazards)
        );
        finding.elements.extend(names);
        finding.also = causes
            .iter()
            .map(|cause| (model.causes[*cause].name.span, "reads an input of it".to_string()))
            .collect();
        found.push(finding);
    }
    found
}
