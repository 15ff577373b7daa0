//! An actuator that protects on paper, and that no cause moves.
//!
//! # What it checks
//! Every actuator of which a safe state names a position is moved by some cause, unless it rests there. Every actuator
//! that only the protection operates is moved by some cause, or something else in the model speaks of a position of it.
//!
//! # Why it matters
//! A horn without a cause is silent for ever, and a contactor that only the process moves protects nobody. On the
//! drawing both look like protection.
//!
//! # How it is decided
//! By reading: no effect that a cause demands sets the actuator; and either a safe state names a position of it in which
//! it does not rest, or only the protection operates it and no safe state, forbidden position, mode, door, stop,
//! exclusion, invariant or discharge speaks of it. That a suppression release is to be warned by it does not move it. An
//! actuator that the process operates and no safe state names is the matter of the process.
//!
//! # What it does not see
//! Whether an actuator is moved by the right cause, and whether the hazard is averted without it: the claims about the
//! hazards decide that.
//!
//! # Example
//! The second horn is declared and wired, but the effect that was to sound it names the first one twice.
//!
//! # How to resolve
//! Let an effect of a cause set it, or take it out of the safe state or out of the model.
//!
//! # References
//! Common practice, no source.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Actuator, ActuatorId, AtPosition, Device, Element, Model};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let moved: BTreeSet<ActuatorId> = model
        .causes
        .iter()
        .flat_map(|(_, cause)| reading::demanded(model, cause))
        .map(|(actuator, _)| actuator)
        .collect();
    let spoken_of = spoken_of(model);
    let mut found = Vec::new();
    for (id, actuator) in model.actuators.iter().filter(|(id, _)| !moved.contains(id)) {
        let hazards = counted_on(model, id, actuator);
        let rest = actuator.rest.and_then(|rest| actuator.positions.get(rest));
        let why = match (hazards.is_empty(), rest) {
            (true, Some(_)) if !spoken_of.contains(&id) => "nothing in the model speaks of it".to_string(),
            (true, _) => continue,
            (false, _) => format!("the safe state of {} counts on it", words::list(&hazards)),
        };
        let stands = match rest {
            Some(rest) => format!("so it stays at its rest position `{rest}`"),
            None => "so only the process control moves it".to_string(),
        };
        let mut finding = about_element(
            model,
            Check::ActuatorNotMoved,
            Severity::Warning,
            Element::Actuator(id),
            actuator.name.span,
        );
        finding.sentence = format!("No cause moves {}, {stands}; and {why}.", actuator.name.tag);
        found.push(finding);
    }
    found
}

/// The hazards whose safe state names a position of the actuator other than its rest position.
fn counted_on(model: &Model, id: ActuatorId, actuator: &Actuator) -> Vec<String> {
    let elsewhere =
        |at: &&AtPosition| at.device == Device::Actuator(id) && Some(at.position) != actuator.rest;
    let hazards = model.hazards.iter().filter(|(_, hazard)| hazard.safe_state.atoms().iter().any(elsewhere));
    hazards.map(|(_, hazard)| hazard.name.tag.clone()).collect()
}

/// Actuators of which something needs or forbids a position.
fn spoken_of(model: &Model) -> BTreeSet<ActuatorId> {
    let mut places: Vec<AtPosition> = Vec::new();
    for (_, hazard) in model.hazards.iter() {
        places.extend(hazard.safe_state.atoms().into_iter().chain(&hazard.forbids));
    }
    places.extend(model.modes.iter().flat_map(|(_, mode)| &mode.needs));
    places.extend(model.spaces.iter().flat_map(|(_, space)| &space.doors).filter_map(|door| door.held_by));
    places.extend(model.exclusions.iter().flat_map(|(_, rule)| rule.never.atoms()));
    for (_, rule) in model.invariants.iter() {
        places.extend(rule.whenever.atoms().into_iter().chain(rule.then.atoms()));
    }
    places.extend(model.suppression.iter().flat_map(|(_, zone)| &zone.discharges));
    places.extend(model.stops.iter().flat_map(|(_, stop)| &stop.brings));
    let at = places.iter().filter_map(|at| match at.device {
        Device::Actuator(id) => Some(id),
        Device::Passive(_) => None,
    });
    let alone =
        model.stops.iter().flat_map(|(_, stop)| &stop.leaves_alone).filter_map(|element| match element {
            Element::Actuator(id) => Some(*id),
            _ => None,
        });
    at.chain(alone).collect()
}
