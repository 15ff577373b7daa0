//! A cause discharges suppression, and no release names it.
//!
//! # What it checks
//! Every cause that demands all positions under `discharges` of a release stands under `released_by` of it, or of another
//! release that discharges the same, more, or a part of it.
//!
//! # Why it matters
//! Whether people are warned and can leave before a discharge is examined for the causes that are named. A discharge by
//! another one comes without that.
//!
//! # How it is decided
//! By comparing the demands of each cause with each release.
//!
//! # What it does not see
//! Two causes that discharge only together.
//!
//! # Example
//! The zone valve opens with the manual release, with the detectors, and with a gas trip that somebody gave the same effect.
//!
//! # How to resolve
//! Name the cause under `released_by`, or give the zone a release of its own for it, with its warning. Or take the demand
//! from the cause. Where a cause only passes another one on, name both: what the first one sounds counts for the second.
//!
//! # References
//! Common practice, no source.

use super::reading::demanded;
use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{AtPosition, CauseId, Device, Element, Model, Suppression};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        let undeclared: Vec<&Suppression> = model
            .suppression
            .iter()
            .map(|(_, zone)| zone)
            .filter(|zone| discharges(model, id, zone) && !declared(model, id, zone))
            .collect();
        if undeclared.is_empty() {
            continue;
        }
        let tags: Vec<String> = undeclared.iter().map(|zone| zone.name.tag.clone()).collect();
        let mut finding = about_element(
            model,
            Check::ReleaseNotDeclared,
            Severity::Serious,
            Element::Cause(id),
            cause.name.span,
        );
        finding.elements.extend(tags.iter().cloned());
        finding.sentence = format!(
            "{} demands all that discharges {}, and is not named under `released_by`: whether people are warned and can \
             leave before was not examined.",
            cause.name.tag,
            words::alternatives(&tags)
        );
        finding.also =
            undeclared.iter().map(|zone| (zone.name.span, "what it discharges".to_string())).collect();
        found.push(finding);
    }
    found
}

/// Whether the cause demands all that lets the agent out.
fn discharges(model: &Model, cause: CauseId, zone: &Suppression) -> bool {
    let demanded = demanded(model, &model.causes[cause]);
    let moved = |at: &AtPosition| match at.device {
        Device::Actuator(actuator) => demanded.contains(&(actuator, at.position)),
        // The language knows none here.
        Device::Passive(_) => false,
    };
    zone.discharges.iter().all(moved)
}

/// Whether a release names the cause that discharges this, more, or a part of it.
fn declared(model: &Model, cause: CauseId, zone: &Suppression) -> bool {
    model.suppression.iter().any(|(_, other)| {
        let within = |one: &Suppression, all: &Suppression| {
            one.discharges.iter().all(|at| all.discharges.contains(at))
        };
        other.released_by.contains(&cause) && (within(other, zone) || within(zone, other))
    })
}
