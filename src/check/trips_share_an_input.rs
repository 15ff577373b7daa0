//! All trips credited for a hazard hang on one input or on one thing that their signals go through.
//!
//! # What it checks
//! For every hazard with two or more credited trips that must tolerate a fault or have two paths: no single sensor,
//! switch, loop, contact or conditioner whose fault alone defeats its protection.
//!
//! # Why it matters
//! Two trips that read one transmitter are one trip with two names. The findings about the hazards themselves are
//! listed under this one where it explains them.
//!
//! # How it is decided
//! The minimal cut sets of one source of the hazard in its modes that are an input or something its signal goes
//! through. A vote that both channels read is no such thing as long as it trips without any one of its inputs.
//!
//! # What it does not see
//! Shared supplies, routes and cabinets: they matter only in their dangerous direction, which the hazard's own claims
//! decide.
//!
//! # Example
//! Pack voltage and "cell voltage" trips both read the pack-voltage transmitter through one isolator.
//!
//! # How to resolve
//! Give one of the trips a sensor and a signal path of its own.
//!
//! # References
//! IEC 61511-1 on independence of sensors: recalled, not verified.

use std::collections::{BTreeMap, BTreeSet};

use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, HazardId, Model, Source};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut sharing: BTreeMap<BTreeSet<Element>, Vec<HazardId>> = BTreeMap::new();
    for (id, hazard) in model.hazards.iter() {
        if words::credited(model, id).len() < 2 || !words::needs_two(hazard.required) {
            continue;
        }
        let examined = seen.assessment.hazards.iter().filter(|examined| examined.hazard == id);
        let cuts =
            examined.filter_map(|examined| examined.numbers.as_ref()).flat_map(|numbers| &numbers.cuts);
        let shared: BTreeSet<Element> =
            cuts.filter(|cut| cut.len() == 1).flatten().filter_map(|source| read(model, *source)).collect();
        if !shared.is_empty() {
            sharing.entry(shared).or_default().push(id);
        }
    }
    let mut found = Vec::new();
    for (shared, hazards) in sharing {
        let Some(first) = shared.first().copied() else { continue };
        let mut finding =
            about_element(model, Check::TripsShareAnInput, Severity::Warning, first, model.name(first).span);
        finding.elements = shared.iter().map(|element| model.tag(*element).to_string()).collect();
        finding.elements.sort();
        let tags: Vec<String> = hazards.iter().map(|id| model.hazards[*id].name.tag.clone()).collect();
        let causes: BTreeSet<String> = hazards
            .iter()
            .flat_map(|id| words::credited(model, *id))
            .map(|cause| model.causes[cause].name.tag.clone())
            .collect();
        finding.sentence = format!(
            "The trips credited for {} ({}) can all be lost with {}.",
            words::list(&tags),
            causes.into_iter().collect::<Vec<_>>().join(", "),
            words::alternatives(&finding.elements)
        );
        found.push(finding);
    }
    found
}

/// The input or conditioner that a source belongs to, if it is one.
fn read(model: &Model, source: Source) -> Option<Element> {
    match source {
        Source::Input(id) | Source::LoopLine(id) => Some(Element::Input(id)),
        Source::Contact(id) => Some(Element::Input(model.contacts[id].of)),
        Source::Conditioner(id) => Some(Element::Conditioner(id)),
        Source::Supply(_)
        | Source::Route(_)
        | Source::Cabinet(_)
        | Source::Solver(_)
        | Source::Link(_)
        | Source::Relay(_)
        | Source::Actuator(_)
        | Source::Passive(_)
        | Source::ModeInput(_)
        | Source::Override(_)
        | Source::Shared(_)
        | Source::Damage(..) => None,
    }
}
