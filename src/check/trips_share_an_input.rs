//! All trips credited for a hazard hang on one input or on one thing that their signals go through.
//!
//! # What it checks
//! For every hazard with two or more credited trips: no sensor, switch, loop, stop contact or conditioner on which
//! every one of them depends.
//!
//! # Why it matters
//! Two trips that read one transmitter are one trip with two names. The findings about the hazards themselves are
//! listed under this one where it explains them.
//!
//! # How it is decided
//! From the graph of what depends on what: for each credited trip, all inputs and conditioners that can be reached from
//! it; the intersection over the trips. It is a note about structure; whether the hazard suffers is decided by its own
//! claims.
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
use crate::dependencies::Dependencies;
use crate::finding::{Finding, Severity};
use crate::model::{Element, HazardId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let graph = Dependencies::of(model);
    let mut sharing: BTreeMap<BTreeSet<Element>, Vec<HazardId>> = BTreeMap::new();
    for id in model.hazards.ids() {
        let causes = words::credited(model, id);
        if causes.len() < 2 {
            continue;
        }
        let shared = causes
            .iter()
            .map(|cause| graph.reach(Element::Cause(*cause)))
            .reduce(|a, b| a.intersection(&b).copied().collect())
            .unwrap_or_default();
        let shared: BTreeSet<Element> = shared
            .into_iter()
            .filter(|element| matches!(element, Element::Input(_) | Element::Conditioner(_)))
            .collect();
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
            "Every trip credited for {} ({}) depends on {}.",
            words::list(&tags),
            causes.into_iter().collect::<Vec<_>>().join(", "),
            words::list(&finding.elements)
        );
        found.push(finding);
    }
    found
}
