//! A trip is credited for a hazard and not armed in one of its modes, and the hazard lacks protection there.
//!
//! # What it checks
//! For every cause credited for a hazard: it is armed in every mode in which the hazard exists, wherever the hazard
//! is not protected as required in that mode.
//!
//! # Why it matters
//! The commonest hole in a matrix is a mode that was added later, or in which people come in.
//!
//! # How it is decided
//! The modes in which the cause is armed are compared with those in which the hazard exists; it is told for those
//! modes in which a claim about the hazard is refuted.
//!
//! # What it does not see
//! Whether arming it would be enough.
//!
//! # Example
//! The CO trips are armed in ENTRY and not in SETUP, and people are inside in both.
//!
//! # How to resolve
//! Arm the cause in that mode, or say in `not_in` why the hazard does not exist there.
//!
//! # References
//! ISO 12100 (all phases of life): recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, ModeId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        for hazard in &cause.credited_for {
            let element = &model.hazards[*hazard];
            let Some(armed) = cause.armed.get(&element.group) else { continue };
            let unprotected = |mode: &ModeId| {
                seen.assessment.hazards.iter().any(|examined| {
                    examined.hazard == *hazard
                        && examined.mode == *mode
                        && (examined.covered.is_broken()
                            || examined.tolerance.is_broken()
                            || examined.disjoint.is_broken())
                })
            };
            let modes: Vec<ModeId> = element
                .exists_in
                .iter()
                .copied()
                .filter(|mode| !armed.contains(mode) && unprotected(mode))
                .collect();
            if modes.is_empty() {
                continue;
            }
            let mut finding = about_element(
                model,
                Check::NotArmedWhereHazardExists,
                Severity::Warning,
                Element::Cause(id),
                cause.name.span,
            );
            let names: Vec<String> = modes.iter().map(|mode| model.modes[*mode].name.tag.clone()).collect();
            finding.hazard = Some(*hazard);
            finding.modes = modes;
            finding.sentence = format!(
                "{} is credited for {} and not armed in {}, where that hazard exists and is not protected as required.",
                cause.name.tag,
                element.name.tag,
                words::list(&names)
            );
            finding.also = vec![(element.name.span, "the hazard and its modes".to_string())];
            found.push(finding);
        }
    }
    found
}
