//! A reaction time that is shorter than the scans that it is made of.
//!
//! # What it checks
//! For every logic solver with `scan`: its `reaction` is at least two scans, or one where it `scans_with_inputs`.
//!
//! # Why it matters
//! An input that changes just after it was read waits for the next scan, and its output comes at the end of that one. Who
//! counts one scan only is too early by up to one scan in every trip of that solver.
//!
//! # How it is decided
//! Read off the model: refuted if `reaction` is less. Equal is in order. Where one of the two is not known, nothing is
//! compared: what rests on an unknown `reaction` is undecided as it is.
//!
//! # What it does not see
//! The times of input and output cards, which come on top of the scans. Scans of links and gateways.
//!
//! # Example
//! Scan 100 ms, reaction 150 ms, and the inputs are read on their own.
//!
//! # How to resolve
//! Write the worst case as `reaction`: two scans and the times of the cards; or write `scans_with_inputs: true` where every
//! scan begins with what the inputs show.
//!
//! # References
//! IEC 61508 practice for asynchronous stages: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Element, Time};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, solver) in model.solvers.iter() {
        let (Time::Known(reaction), Some(Time::Known(scan))) = (&solver.reaction, &solver.scan) else {
            continue;
        };
        let (number, words) = match solver.scans_with_inputs {
            true => (1, "one scan"),
            false => (2, "two scans"),
        };
        let least = scan * &Exact::int(number);
        if *reaction >= least {
            continue;
        }
        let tag = &solver.name.tag;
        let place = model.written(tag, "reaction").unwrap_or(solver.name.span);
        let element = Element::Solver(id);
        let mut finding = about_element(model, Check::ReactionBelowScans, Severity::Warning, element, place);
        let why = match solver.scans_with_inputs {
            true => "even an input that is read at once",
            false => "an input that changes just after it was read",
        };
        finding.sentence = format!(
            "{tag} is said to react within {reaction} s, and {why} takes {words} of {scan} s, which is {least} s."
        );
        found.push(finding);
    }
    found
}
