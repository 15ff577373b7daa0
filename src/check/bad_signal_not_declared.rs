//! Nothing says how a bad signal counts.
//!
//! # What it checks
//! Every input that a cause reads and that can become bad says, in `on_bad`, whether a bad signal votes to trip, does
//! not vote, or leaves its vote.
//!
//! # Why it matters
//! A broken wire that reads as "healthy" is the oldest trap of all. What is not declared is taken here as "does not
//! vote to trip", so that no default favours the design; the program of the controller may do something else again.
//!
//! # How it is decided
//! By reading: the input has no `on_bad`, some cause reads it, and it can be bad: a sensor or switch by its own fault
//! (unless `fails` rules that out) or by what its signal goes through, any input whose reaction to loss is `bad`.
//!
//! # What it does not see
//! What the program of the controller really does.
//!
//! # Example
//! A gas head with `on_loss: bad` and no `on_bad`: with its supply gone, does the vote trip?
//!
//! # How to resolve
//! Declare `on_bad: trips`, `no_trip` or `degrades_vote`, as the specification says, and have it tested.
//!
//! # References
//! IEC 61511-1 on behaviour on detection of a fault: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{Element, InputId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let read: BTreeSet<InputId> =
        model.causes.iter().flat_map(|(_, cause)| cause.when.atoms()).filter_map(reading::input_of).collect();
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter() {
        if input.on_bad.is_some() || !read.contains(&id) || !reading::can_be_bad(input) {
            continue;
        }
        let element = Element::Input(id);
        let mut finding =
            about_element(model, Check::BadSignalNotDeclared, Severity::Warning, element, input.name.span);
        finding.sentence = format!(
            "Nothing says how a bad signal of {} counts; here it is taken not to vote to trip.",
            input.name.tag
        );
        found.push(finding);
    }
    found
}
