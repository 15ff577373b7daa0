//! The warning before a discharge is shorter than people need to leave.
//!
//! # What it checks
//! For every suppression with a `warning` that discharges into a space (`into`) of which the model says how long
//! `leaving_takes`: the warning lasts at least as long, wherever the discharge can be demanded with people inside.
//!
//! # Why it matters
//! Who hears a warning of 15 s at the far end of a way of 30 s is inside when the gas comes.
//!
//! # How it is decided
//! Read off the model: refuted if `warning` is less than `leaving_takes`, or if that is `unknown`. Equal is in order. People may
//! be inside where `people_in` of the space says so; the discharge can be demanded where a cause of `released_by` is armed.
//!
//! # What it does not see
//! Whether the warning is given as declared: `warning-not-given` tells that. A warning of no or unknown length:
//! `release-without-warning` tells that. Spaces that are not named under `into`.
//!
//! # Example
//! `warning: 15 s`, and the room needs `leaving_takes: 30 s`.
//!
//! # How to resolve
//! Lengthen the warning and the delay of the discharge, shorten the way out, or do not arm the release while people may be
//! inside.
//!
//! # References
//! EN 12094 and ISO 14520 practice: recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, GroupId, ModeId, Model, Space, Suppression, Time};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, zone) in model.suppression.iter() {
        let Time::Known(warning) = &zone.warning else { continue };
        for space in &zone.into {
            let room = &model.spaces[*space];
            let Some(takes) = room.leaving_takes.as_ref().filter(|_| !warning.is_zero()) else { continue };
            let (causes, modes) = with_people(model, zone, room);
            if causes.is_empty() {
                continue;
            }
            let (tag, name) = (&zone.name.tag, &room.name.tag);
            let needs = match takes {
                Time::Known(takes) if warning >= takes => continue,
                Time::Known(takes) => format!("people need {takes} s to leave {name}"),
                Time::Unknown => format!("it is not known how long people need to leave {name}"),
            };
            let place = model.written(tag, "warning").unwrap_or(zone.name.span);
            let (check, element) = (Check::WarningShorterThanWayOut, Element::Suppression(id));
            let mut finding = about_element(model, check, Severity::Serious, element, place);
            finding.elements.push(name.clone());
            finding.sentence = format!(
                "{tag} warns for {warning} s before it discharges into {name}, and {needs}. {} can demand it with people inside.",
                words::list(&causes)
            );
            finding.modes = modes;
            finding.also = vec![(room.name.span, "the space".to_string())];
            found.push(finding);
        }
    }
    found
}

/// The causes that can discharge while people may be in the space, and the modes in which they can.
fn with_people(model: &Model, zone: &Suppression, space: &Space) -> (Vec<String>, Vec<ModeId>) {
    let (mut causes, mut modes) = (Vec::new(), Vec::new());
    for cause in &zone.released_by {
        let cause = &model.causes[*cause];
        let armed = |group: &GroupId| armed_inside(cause, space, *group);
        let inside: Vec<Vec<ModeId>> = space.people_in.keys().map(armed).collect();
        if inside.iter().any(Vec::is_empty) {
            continue;
        }
        causes.push(cause.name.tag.clone());
        modes.extend(inside.into_iter().flatten());
    }
    modes.sort();
    modes.dedup();
    (causes, modes)
}

/// The modes of a group with people inside in which the cause is armed.
fn armed_inside(cause: &Cause, space: &Space, group: GroupId) -> Vec<ModeId> {
    let inside = space.people_in.get(&group).into_iter().flatten().copied();
    let armed = cause.armed.get(&group);
    inside.filter(|mode| armed.is_none_or(|armed| armed.contains(mode))).collect()
}
