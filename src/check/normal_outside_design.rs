//! What is called normal goes beyond what the plant is designed for.
//!
//! # What it checks
//! For every quantity with `designed_for`: what is normal, in every mode and for the quantity itself, lies inside.
//!
//! # Why it matters
//! Limits are set anew for every campaign, every specimen, every batch. A specimen of 1,150 V in a bay for 1,100 V is beyond
//! everything that was calculated, and every trip may still work as drawn.
//!
//! # How it is decided
//! Read off the model: both ends of each range that is called normal are compared with both ends of the design; an end that
//! is equal is in order. Where nothing says what is normal, or a mode calls the quantity `free`, the whole `range` counts as
//! normal. The quantity's own word does not count where some mode group says it in each of its modes.
//!
//! # What it does not see
//! Set points and the limits at which harm begins. Quantities without `designed_for`.
//!
//! # Example
//! Designed for 0 .. 1100 V, normal in mode TEST 0 .. 1150 V.
//!
//! # How to resolve
//! Keep the campaign inside the design, or have the design extended and write the new values, with their evidence.
//!
//! # References
//! Common practice, no source.

use super::compared::{Said, said, value};
use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, Interval, ModeId, Model, QuantityId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, quantity) in model.quantities.iter() {
        let Some(design) = &quantity.designed_for else { continue };
        let outside = |range: &Interval| range.low < design.low || range.high > design.high;
        let mut modes: Vec<ModeId> = Vec::new();
        let mut texts: Vec<String> = Vec::new();
        for (mode, element) in model.modes.iter() {
            let (range, word) = match said(model, mode, id) {
                Said::Nothing => continue,
                Said::Free => (&quantity.range, ", where it is free"),
                Said::Range(range) => (range, ""),
            };
            if outside(range) {
                modes.push(mode);
                texts.push(format!("{} in {}{word}", text(model, id, range), element.name.tag));
            }
        }
        let own = quantity.normal.as_ref().unwrap_or(&quantity.range);
        let silent = quantity.normal.is_none();
        let itself = outside(own) && !said_everywhere(model, id);
        if itself {
            let word = if silent { ", as nothing else is said of it" } else { "" };
            texts.push(format!("{}{word}", text(model, id, own)));
        }
        if texts.is_empty() {
            continue;
        }
        let tag = &quantity.name.tag;
        let field = if itself && !silent { "normal" } else { "designed_for" };
        let place = model.written(tag, field).unwrap_or(quantity.name.span);
        let element = Element::Quantity(id);
        let mut finding = about_element(model, Check::NormalOutsideDesign, Severity::Serious, element, place);
        finding.sentence = format!(
            "The plant is designed for {tag} of {}, and what is normal goes beyond: {}.",
            text(model, id, design),
            words::list(&texts)
        );
        finding.also = modes
            .iter()
            .map(|mode| (model.modes[*mode].name.span, "the mode that goes beyond it".to_string()))
            .collect();
        // What holds for the quantity itself does not depend on a mode.
        finding.modes = if itself { Vec::new() } else { modes };
        found.push(finding);
    }
    found
}

/// Some group says in each of its modes what is normal, so that the quantity's own word never counts.
fn said_everywhere(model: &Model, quantity: QuantityId) -> bool {
    let says = |mode: &ModeId| !matches!(said(model, *mode, quantity), Said::Nothing);
    model.groups.iter().any(|(_, group)| group.modes.iter().all(says))
}

/// `0 .. 1100 V`.
fn text(model: &Model, quantity: QuantityId, range: &Interval) -> String {
    format!("{} to {}", value(model, quantity, &range.low), value(model, quantity, &range.high))
}
