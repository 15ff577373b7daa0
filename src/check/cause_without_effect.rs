//! A cause from which nothing follows.
//!
//! # What it checks
//! Every cause demands a position of some actuator, or another cause or the condition of a reset refers to it.
//!
//! # Why it matters
//! A row of the matrix without a mark is a trip that is detected, shown and never acted on.
//!
//! # How it is decided
//! By reading: the effects that it demands set nothing, and nothing else refers to the cause.
//!
//! # What it does not see
//! Whether what it demands is enough: the claims about the hazards decide that.
//!
//! # Example
//! A new gas head has its row in the matrix, and the marks were to be entered after the review.
//!
//! # How to resolve
//! Enter the effects that it demands, let another cause refer to it, or remove it.
//!
//! # References
//! IEC 62881 (cause and effect): recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element, InputAtom, Signal};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let named: BTreeSet<CauseId> = model
        .causes
        .iter()
        .flat_map(|(_, cause)| cause.when.atoms())
        .filter_map(|atom| match atom {
            InputAtom::Cause { cause, .. } => Some(*cause),
            _ => None,
        })
        .collect();
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        let elsewhere = named.contains(&id) || model.used_elsewhere.contains(&Signal::Cause(id));
        if elsewhere || !reading::demanded(model, cause).is_empty() {
            continue;
        }
        let tag = &cause.name.tag;
        let place = model.written(tag, "demands").unwrap_or(cause.name.span);
        let mut finding =
            about_element(model, Check::CauseWithoutEffect, Severity::Warning, Element::Cause(id), place);
        finding.sentence = format!("{tag} demands no position of any actuator, and nothing refers to it.");
        found.push(finding);
    }
    found
}
