//! Suppression releases that share a machine can be demanded at once and draw more than it can give.
//!
//! # What it checks
//! For every actuator and machine of which releases declare the capacity: what all releases that share it can demand at
//! once is not more than it can give. Where `spare` says that machines stand in for each other, they give together,
//! with as many of them lost as are spare.
//!
//! # Why it matters
//! A pump that feeds two zones is sized for one fire. With both valves open neither zone gets the water it needs, and
//! every valve and every pump stands where it should.
//!
//! # How it is decided
//! Exists a situation, over all modes, memories and permitted overrides and without a fault but the loss of spare
//! machines, in which the demands of the releases that draw add up to more than the machines left can give. A release
//! draws if a cause of `released_by` is true, or its whole `discharges` is demanded by any causes. What two releases
//! open in common counts once: of a release whose discharge is part of a larger one that draws as much, nothing is
//! added. Without `spare` each machine of the list must carry the demand by itself. Where a demand or a capacity is
//! unknown and the others do not exceed the capacity, the claim is undecided.
//!
//! # What it does not see
//! How long a tank lasts, pressures and losses in pipes, zones that open by a fault or without a command, and machines
//! whose capacity no release declares. Latches count as they may stand: that a second release comes only after the
//! first was reset is no part of it.
//!
//! # Example
//! One mist pump of 300 L/min serves two bays of 220 L/min each, and nothing keeps both from being released.
//!
//! # How to resolve
//! Take a machine that carries all zones that can be released together, or make one release hold the other back.
//!
//! # References
//! Common practice for shared fire water and for selector valves, no source.

use super::{Check, Seen, about_element, words};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{Model, Source};
use crate::replay::{Load, load};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::Carries(machine), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let load = load(model, &witness.claim, &witness.situation, machine);
        let (Ok(Some(load)), Some(element)) = (load, model.source_element(machine)) else { continue };
        let listed = model.suppression.iter().map(|(_, release)| release);
        let listed = listed.filter(|release| release.capacity.iter().any(|(listed, _)| *listed == machine));
        let first = listed.map(|release| &release.name).next();
        let place = first.map_or(model.name(element).span, |name| {
            model.written(&name.tag, "capacity").unwrap_or(name.span)
        });
        let mut finding = about_element(model, Check::DemandAboveCapacity, Severity::Serious, element, place);
        let releases: Vec<String> =
            load.releases.iter().map(|id| model.suppression[*id].name.tag.clone()).collect();
        finding.elements.extend(machines(model, &model.carried_with(machine).0));
        finding.elements.extend(releases.iter().cloned());
        finding.sentence = sentence(model, &load, &releases);
        finding.also = load
            .releases
            .iter()
            .map(|id| (model.suppression[*id].name.span, "draws on it".to_string()))
            .collect();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

/// Tags of machines, sorted.
fn machines<'s>(model: &Model, sources: impl IntoIterator<Item = &'s Source>) -> Vec<String> {
    let mut tags: Vec<String> = sources.into_iter().map(|source| model.source_tag(*source)).collect();
    tags.sort();
    tags
}

fn sentence(model: &Model, load: &Load, releases: &[String]) -> String {
    let draw = match releases {
        [one] => format!("{one} draws {}", load.drawn),
        _ => format!("{} can be released at once and draw {}", words::list(releases), load.drawn),
    };
    let left = machines(model, &load.left);
    let give = match left.as_slice() {
        [] => "nothing is left that gives any".to_string(),
        [one] => format!("{one} can give {}", load.given),
        _ => format!("{} can give {} together", words::list(&left), load.given),
    };
    match machines(model, &load.lost).as_slice() {
        [] => format!("{draw}; {give}."),
        lost => format!("With {} lost, {give}; {draw}.", words::list(lost)),
    }
}
