//! An input that no cause reads.
//!
//! # What it checks
//! Every sensor, switch, interlock loop and stop contact is used by some cause, as a feedback of an actuator, or
//! in the condition of a reset.
//!
//! # Why it matters
//! A sensor that is bought, wired and tested but read by nothing looks like protection on the drawing. Often the
//! cause that was meant to read it reads its neighbour.
//!
//! # How it is decided
//! By reading: no condition of a cause or reset mentions the input, not even with `BAD(…)`, and no actuator names
//! it as `feedback`. That an override, a link or a door names it is no use of it.
//!
//! # What it does not see
//! Uses outside the model, such as a display or a recorder.
//!
//! # Example
//! The second contact of an emergency stop is wired to the relay chain, and no cause there mentions it.
//!
//! # How to resolve
//! Let the cause that was meant read it, or take it out of the model if it only serves a display.
//!
//! # References
//! Common practice, no source.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element};
use crate::finding::{Finding, Severity};
use crate::model::{Element, InputAtom, InputId, Signal};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let read: BTreeSet<InputId> = model
        .causes
        .iter()
        .flat_map(|(_, cause)| cause.when.atoms())
        .filter_map(|atom| match atom {
            InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                Some(*input)
            }
            InputAtom::Cause { .. }
            | InputAtom::Overriding(_)
            | InputAtom::Shows(..)
            | InputAtom::LinkLost(_) => None,
        })
        .collect();
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter() {
        if read.contains(&id) || model.used_elsewhere.contains(&Signal::Input(id)) {
            continue;
        }
        let element = Element::Input(id);
        let mut finding =
            about_element(model, Check::InputNotRead, Severity::Warning, element, input.name.span);
        finding.sentence = format!(
            "No cause reads the {} {}: whatever it shows, nothing follows.",
            model.kind_word(element),
            input.name.tag
        );
        found.push(finding);
    }
    found
}
