//! The warning before a discharge is shorter in the logic than it is declared.
//!
//! # What it checks
//! For every suppression with a `warning` above zero and `warned_by`, and every cause of `released_by`: the cause demands
//! something of `warned_by`, and the discharge comes no earlier than that warning plus the declared time.
//!
//! # Why it matters
//! A warning of 20 s that stands on paper is none where the valve is opened by the same command as the horn. People are in
//! the gas while the horn still starts.
//!
//! # How it is decided
//! Both counted from the moment at which the cause is true, from the declared times. The warning is there, at the latest,
//! after the reaction of the solver, the links on the way, the delays of mark and effect and the longest `moves_in` of all of
//! `warned_by` that the cause demands. The discharge comes, at the earliest, after the delays of mark and effect and the
//! `shortest_time` of its elements; only what is certain counts. A position does not hold the discharge back if a cause demands
//! it that does not discharge here or into a part of it, or the process may take it: a pump may run already for another zone. Exactly the
//! declared time between the two is in order.
//!
//! # What it does not see
//! Warnings by a cause that comes earlier, such as a first detector, unless this cause reads it (alone, or behind AND). Whether one of several that warn is enough, and
//! whether it is heard. Faults of what warns. Positions that only together let the agent out: each of `discharges` counts as
//! if it did, so name those alone that do.
//!
//! # Example
//! `warning: 20 s`, and horn and zone valve are demanded at once.
//!
//! # How to resolve
//! Give the mark or the effect of the discharge a `delay`: the declared warning and the time until the horn sounds. Let
//! every cause that releases demand what warns.
//!
//! # References
//! 46 CFR 95.15-30 (an alarm for at least 20 s before carbon dioxide is discharged), EN 12094 and ISO 14520 practice:
//! recalled, not verified.

use super::chain::{Sum, earliest, later, surely_there};
use super::reading::demanded;
use super::{Check, Seen, about_element, words};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{AtPosition, CauseId, Device, Element, InputAtom, Model, Suppression, Time, Tree};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, zone) in model.suppression.iter() {
        let Time::Known(warning) = &zone.warning else { continue };
        if warning.is_zero() || zone.warned_by.is_empty() {
            continue;
        }
        for cause in &zone.released_by {
            let Some(sentence) = wrong(model, zone, *cause, warning) else { continue };
            let tag = &zone.name.tag;
            let place = model.written(tag, "warning").unwrap_or(zone.name.span);
            let element = Element::Suppression(id);
            let mut finding = about_element(model, Check::WarningNotGiven, Severity::Serious, element, place);
            finding.elements.push(model.causes[*cause].name.tag.clone());
            finding.sentence = sentence;
            finding.also = vec![(model.causes[*cause].name.span, "the cause that releases it".to_string())];
            found.push(finding);
        }
    }
    found
}

fn wrong(model: &Model, zone: &Suppression, cause: CauseId, warning: &Exact) -> Option<String> {
    let start = discharge(model, zone, cause)?;
    let tag = &zone.name.tag;
    let by = &model.causes[cause].name.tag;
    let (told, names) = warned(model, zone, cause);
    let Some(told) = told else {
        let tags: Vec<String> =
            zone.warned_by.iter().map(|id| model.actuators[*id].name.tag.clone()).collect();
        return Some(format!(
            "{tag} declares a warning of {warning} s, and {by} releases it without demanding {}.",
            words::alternatives(&tags)
        ));
    };
    let told = match told {
        Ok(told) => told,
        Err(element) => {
            return Some(format!(
                "{tag} declares a warning of {warning} s, and it is not known how long {} takes until {by} has {}.",
                model.tag(element),
                warns(&names)
            ));
        }
    };
    let given = &start - &told;
    (given < *warning).then(|| {
        let left = match given.is_negative() {
            true => "the discharge may come before the warning".to_string(),
            false => format!("{given} s of warning may be all"),
        };
        format!(
            "{tag} declares a warning of {warning} s, and {left}: {by} may discharge after {start} s, and has {} only after \
             {told} s.",
            warns(&names)
        )
    })
}

fn warns(names: &[String]) -> String {
    format!("warned by {}", words::list(names))
}

/// How early the cause may discharge; `None` if it demands no position of the discharge.
fn discharge(model: &Model, zone: &Suppression, cause: CauseId) -> Option<Exact> {
    let mut start: Option<Exact> = None;
    for at in &zone.discharges {
        let Device::Actuator(actuator) = at.device else { continue };
        let Some(own) = earliest(model, cause, actuator, at.position) else { continue };
        let elsewhere = model.causes.iter().any(|(id, other)| {
            let demanded = demanded(model, other);
            let discharges = |at: &AtPosition| match at.device {
                Device::Actuator(id) => demanded.contains(&(id, at.position)),
                Device::Passive(_) => true,
            };
            // A part of this zone that discharges has given its own warning.
            let part = model.suppression.iter().any(|(_, part)| {
                part.released_by.contains(&id)
                    && part.discharges.iter().all(|at| zone.discharges.contains(at))
            });
            let here = part || zone.discharges.iter().all(discharges);
            demanded.contains(&(actuator, at.position)) && !here
        });
        let rests = model.actuators[actuator].rest.is_some_and(|rest| rest != at.position);
        // What may be there already is no hindrance.
        let own = if elsewhere || !rests { Exact::zero() } else { own };
        // Any of them may let the agent out.
        start = Some(start.map_or(own.clone(), |other| other.min(own)));
    }
    start
}

/// When the last of what warns is surely there, of all that the cause demands of it, with their tags.
fn warned(model: &Model, zone: &Suppression, cause: CauseId) -> (Option<Sum>, Vec<String>) {
    let (mut latest, mut names): (Option<Sum>, Vec<String>) = (None, Vec::new());
    for actuator in &zone.warned_by {
        let device = &model.actuators[*actuator];
        let warns = |position: usize| device.rest != Some(position);
        // What is true whenever this cause is may warn in its stead.
        let mut by =
            with_it(model, cause).into_iter().filter_map(|id| surely_there(model, id, *actuator, warns));
        let Some(first) = by.next() else { continue };
        let there = by.fold(first, |one, other| match (&one, &other) {
            (Ok(a), Ok(b)) if b < a => other,
            (Err(_), Ok(_)) => other,
            _ => one,
        });
        names.push(device.name.tag.clone());
        latest = Some(match latest {
            Some(other) => later(other, there),
            None => there,
        });
    }
    (latest, names)
}

/// The cause, and the causes that are true as long as it is: what its condition consists of, or stands in it behind AND. What
/// is latched outlasts what it reads, unless that is latched too.
fn with_it(model: &Model, cause: CauseId) -> Vec<CauseId> {
    fn needs(tree: &Tree<InputAtom>) -> Vec<CauseId> {
        match tree {
            Tree::Atom(InputAtom::Cause { cause, from_before: false }) => vec![*cause],
            Tree::And(parts) => parts.iter().flat_map(needs).collect(),
            _ => Vec::new(),
        }
    }
    let mut all = vec![cause];
    let mut next = 0;
    while let Some(id) = all.get(next).copied() {
        let outlasts = |other: CauseId| model.causes[id].latched && !model.causes[other].latched;
        for other in needs(&model.causes[id].when) {
            if !all.contains(&other) && !outlasts(other) {
                all.push(other);
            }
        }
        next += 1;
    }
    all
}
