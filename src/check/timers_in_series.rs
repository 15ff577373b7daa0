//! Two timers one behind the other that both wait for the same signal to last.
//!
//! # What it checks
//! No cause with an `on_delay` waits for a sensor with a `confirmation`, or for another cause with an `on_delay`.
//!
//! # Why it matters
//! Both do the same: they wait whether the signal lasts. Often one was added without knowing of the other. The times add
//! up, and half of them buys nothing.
//!
//! # How it is decided
//! Read off the model: both times are above zero, and the second cause reads the first timer's signal, itself or over
//! causes in between. It is a note: the claims about time count the sum, so nothing hides behind it.
//!
//! # What it does not see
//! Delays of marks and effects, which order what happens. Filters and averaging. Timers whose time is not known.
//!
//! # Example
//! The gas head confirms for 10 s, and the controller waits another 5 s.
//!
//! # How to resolve
//! Keep one of the two, where the signal is known best; or accept the finding and say why both are needed.
//!
//! # References
//! Common practice, no source.

use std::collections::BTreeSet;

use super::reading::input_of;
use super::{Check, Seen, about_element, words};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element, InputAtom, InputId, Model, Time};
use crate::outcome::seconds;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        let Some(own) = above_zero(&cause.on_delay) else { continue };
        let (inputs, causes) = behind(model, id);
        let mut texts: Vec<String> = Vec::new();
        let mut tags: Vec<String> = Vec::new();
        for input in inputs {
            let element = &model.inputs[input];
            let Some(time) = above_zero(&element.response.confirmation) else { continue };
            texts.push(format!("{} confirms for {} s", element.name.tag, seconds(time)));
            tags.push(element.name.tag.clone());
        }
        for other in causes {
            let element = &model.causes[other];
            let Some(time) = above_zero(&element.on_delay) else { continue };
            texts.push(format!("{} waits for {} s", element.name.tag, seconds(time)));
            tags.push(element.name.tag.clone());
        }
        if texts.is_empty() {
            continue;
        }
        let tag = &cause.name.tag;
        let place = model.written(tag, "on_delay").unwrap_or(cause.name.span);
        let element = Element::Cause(id);
        let mut finding = about_element(model, Check::TimersInSeries, Severity::Note, element, place);
        finding.elements.extend(tags);
        finding.sentence = format!(
            "{tag} waits for {} s until it believes its condition, and {} before it.",
            seconds(own),
            words::list(&texts)
        );
        found.push(finding);
    }
    found
}

fn above_zero(time: &Time) -> Option<&Exact> {
    match time {
        Time::Known(time) if !time.is_zero() => Some(time),
        Time::Known(_) | Time::Unknown => None,
    }
}

/// The inputs and the other causes that a cause waits for, itself or over causes in between, each in the file's order.
fn behind(model: &Model, first: CauseId) -> (BTreeSet<InputId>, BTreeSet<CauseId>) {
    let (mut inputs, mut causes) = (BTreeSet::new(), BTreeSet::new());
    let mut open = vec![first];
    while let Some(cause) = open.pop() {
        for atom in model.causes[cause].when.atoms() {
            inputs.extend(input_of(atom));
            // What a ring reads is from the evaluation before, and nothing waits for it.
            if let InputAtom::Cause { cause: other, from_before: false } = atom
                && *other != first
                && causes.insert(*other)
            {
                open.push(*other);
            }
        }
    }
    (inputs, causes)
}
