//! An emergency stop commands what it must leave alone.
//!
//! # What it checks
//! For every emergency stop: no cause that reads one of its contacts, by itself or through other causes, commands
//! an element that the stop must leave alone.
//!
//! # Why it matters
//! An emergency stop that also stops the exhaust fan takes away what keeps the gas low.
//!
//! # How it is decided
//! The causes that depend on a contact of the device are followed through the graph of dependencies; each effect of
//! theirs is compared with the list of what the stop leaves alone.
//!
//! # What it does not see
//! What a lost command does indirectly, by supplies or doors: that is the hazards' own claims.
//!
//! # Example
//! The stop opens the contactors and, by one mark too many, stops the fan.
//!
//! # How to resolve
//! Take the mark away, or take the element off the list if the risk assessment wants it stopped.
//!
//! # References
//! ISO 13850 on not impairing other safety functions: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, words};
use crate::dependencies::Dependencies;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    if model.stops.iter().all(|(_, stop)| stop.leaves_alone.is_empty()) {
        return Vec::new();
    }
    let graph = Dependencies::of(model);
    let mut found = Vec::new();
    for (id, stop) in model.stops.iter().filter(|(_, stop)| !stop.leaves_alone.is_empty()) {
        let contacts: BTreeSet<Element> = stop.contacts.iter().map(|input| Element::Input(*input)).collect();
        let mut touched: BTreeSet<String> = BTreeSet::new();
        let mut by: BTreeSet<String> = BTreeSet::new();
        for (cause, element) in model.causes.iter() {
            if graph.reach(Element::Cause(cause)).is_disjoint(&contacts) {
                continue;
            }
            let set = element.demands.iter().flat_map(|effect| &model.effects[*effect].set);
            for (actuator, _) in set {
                if stop.leaves_alone.contains(&Element::Actuator(*actuator)) {
                    touched.insert(model.actuators[*actuator].name.tag.clone());
                    by.insert(element.name.tag.clone());
                }
            }
        }
        if touched.is_empty() {
            continue;
        }
        let mut finding = about_element(
            model,
            Check::StopReachesBeyondItsSpan,
            Severity::Serious,
            Element::Stop(id),
            stop.name.span,
        );
        let touched: Vec<String> = touched.into_iter().collect();
        finding.elements.extend(touched.iter().cloned());
        finding.sentence = format!(
            "{} must leave {} alone, and commands it by {}.",
            stop.name.tag,
            words::list(&touched),
            words::list(&by.into_iter().collect::<Vec<_>>())
        );
        found.push(finding);
    }
    found
}
