//! A mode in which the plant cannot do its work.
//!
//! # What it checks
//! For every mode: some normal situation of it contradicts none of the positions that the mode needs.
//!
//! # Why it matters
//! Where the protection stops the plant in normal operation, somebody makes it stop protecting.
//!
//! # How it is decided
//! Exists a situation, fault-free and with all latches clear, in which the mode holds, every quantity and condition
//! is normal in the modes that hold, and no cause commands anything that the mode `needs` to another position.
//!
//! # What it does not see
//! Whether the process control gets there; whether all normal situations work.
//!
//! # Example
//! A flow-low trip that is armed in a mode in which the pump is meant to stand.
//!
//! # How to resolve
//! Arm the trip in other modes, correct what is normal in the mode, or what it needs.
//!
//! # References
//! Our definition; common practice, no source.

use super::{Check, Seen, about_element, words};
use crate::assess::{Decided, Subject};
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::CanRun(mode), Decided::Never(_)) = (single.subject, &single.decided) else { continue };
        // A mode without any situation is told as such.
        if seen.assessment.impossible_modes.contains(&mode) {
            continue;
        }
        let element = &model.modes[mode];
        let mut finding = about_element(
            model,
            Check::ModeCannotRun,
            Severity::Warning,
            Element::Group(element.group),
            element.name.span,
        );
        finding.elements.push(element.name.tag.clone());
        let needs: Vec<String> = element
            .needs
            .iter()
            .map(|at| {
                let position = model.device_positions(at.device).get(at.position).map_or("", String::as_str);
                format!("{} {position}", model.tag(model.device_element(at.device)))
            })
            .collect();
        finding.sentence = match needs.as_slice() {
            [] => format!(
                "Mode {} of {} has no normal situation: what is normal in it contradicts the couplings.",
                element.name.tag, model.groups[element.group].name.tag
            ),
            needs => format!(
                "Mode {} of {} needs {}, and in no normal situation of it do the trips leave that alone.",
                element.name.tag,
                model.groups[element.group].name.tag,
                words::list(needs)
            ),
        };
        found.push(finding);
    }
    found
}
