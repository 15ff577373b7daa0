//! The supply of an actuator that must be energised to protect is not secured, or its loss is not announced.
//!
//! # What it checks
//! Every actuator of which a safe state names a position that needs energy has a supply that outlasts the loss of
//! the mains and whose loss is announced.
//!
//! # Why it matters
//! What trips by energy does nothing without it. The mains fail when there is a fire or a short circuit: just
//! then.
//!
//! # How it is decided
//! By reading: the supply is secured if it says `secured`, if its feeds that are secured are enough for it, or if
//! it is still fed with any single one of the supplies above it lost. It is announced if it says `monitored`
//! itself.
//!
//! # What it does not see
//! How long a secured supply lasts (`supply-does-not-last`), and the supplies of the controllers and relays in between: the claims about
//! the hazards count their loss as a fault. An actuator without a declared supply.
//!
//! # Example
//! A horn on the lighting circuit; an exhaust fan on a feeder without a second one.
//!
//! # How to resolve
//! Feed it from a battery or from two feeders and have the loss announced, or choose an actuator that reaches its
//! safe position without energy.
//!
//! # References
//! IEC 61511-1 (energise to trip), EN 54 practice for fire systems: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, energised, words};
use crate::dependencies::Dependencies;
use crate::finding::{Finding, Severity};
use crate::model::{Element, Model, SupplyId, Tree};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let secured = secured(model);
    let mut found = Vec::new();
    for (id, actuator, hazards) in energised::to_trip(model) {
        let Some(supply) = actuator.supply else { continue };
        let element = &model.supplies[supply];
        let secured = secured.contains(&supply) || survives_any_one(model, supply);
        let lacking = match (secured, element.monitored) {
            (true, true) => continue,
            (false, false) => "is not secured, and its loss is not announced",
            (false, true) => "is not secured against the loss of the mains",
            (true, false) => "can be lost without anything announcing it",
        };
        let tag = &actuator.name.tag;
        let place = model.written(tag, "supply").unwrap_or(actuator.name.span);
        let check = Check::EnergiseToTripSupplyNotSecured;
        let mut finding = about_element(model, check, Severity::Warning, Element::Actuator(id), place);
        finding.sentence = format!(
            "The safe state of {} counts on {tag} being energised, and its supply {} {lacking}.",
            words::list(&hazards),
            element.name.tag
        );
        finding.elements.push(element.name.tag.clone());
        finding.also = vec![(element.name.span, "the supply".to_string())];
        found.push(finding);
    }
    found
}

/// Supplies that are present if `given` are: those, and all that they are enough to feed.
fn fed(model: &Model, given: BTreeSet<SupplyId>, never: Option<SupplyId>) -> BTreeSet<SupplyId> {
    let mut present = given;
    loop {
        let more: Vec<SupplyId> = model
            .supplies
            .iter()
            .filter(|(id, _)| !present.contains(id) && Some(*id) != never)
            .filter(|(_, supply)| supply.fed_by.as_ref().is_some_and(|feeds| holds(feeds, &present)))
            .map(|(id, _)| id)
            .collect();
        if more.is_empty() {
            return present;
        }
        present.extend(more);
    }
}

/// Supplies that say so, or whose secured feeds are enough.
fn secured(model: &Model) -> BTreeSet<SupplyId> {
    let said = model.supplies.iter().filter(|(_, supply)| supply.secured).map(|(id, _)| id).collect();
    fed(model, said, None)
}

/// It has feeds, and is still fed with any one of the supplies above it lost.
fn survives_any_one(model: &Model, supply: SupplyId) -> bool {
    let above: Vec<SupplyId> = Dependencies::of(model)
        .reach(Element::Supply(supply))
        .into_iter()
        .filter_map(|element| match element {
            Element::Supply(id) if id != supply => Some(id),
            _ => None,
        })
        .collect();
    let sources = |lost: SupplyId| {
        let first = model.supplies.iter().filter(|(id, supply)| supply.fed_by.is_none() && *id != lost);
        first.map(|(id, _)| id).collect()
    };
    !above.is_empty() && above.iter().all(|lost| fed(model, sources(*lost), Some(*lost)).contains(&supply))
}

fn holds(tree: &Tree<SupplyId>, present: &BTreeSet<SupplyId>) -> bool {
    match tree {
        Tree::Atom(id) => present.contains(id),
        Tree::And(parts) => parts.iter().all(|part| holds(part, present)),
        Tree::Or(parts) => parts.iter().any(|part| holds(part, present)),
        Tree::Not(part) => !holds(part, present),
        Tree::Vote { m, of } => of.iter().filter(|part| holds(part, present)).count() >= *m,
    }
}
