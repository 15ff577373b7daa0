//! An override is permitted while people may be inside.
//!
//! # What it checks
//! No override device may take an input out of a protecting cause in a mode in which people are expected, the cause is
//! armed, and a hazard for which it is credited exists.
//!
//! # Why it matters
//! With people inside, the input that is out may be the one that would have warned them. Maintenance on the protection
//! belongs into a mode in which nobody can be hurt.
//!
//! # How it is decided
//! By reading: a mode with `people: expected`, permitted by `modes` of the device (without `modes`: every mode), in
//! which a protecting cause that reads one of its inputs is armed and a hazard exists for which it is credited. Of a
//! cause without credit every armed mode counts, of the groups that its `armed` names, or of all.
//!
//! # What it does not see
//! Whether the hazard is still averted: `override-removes-protection` decides that. Whether people are inside, in
//! another group of modes than those.
//!
//! # Example
//! The maintenance key for the gas heads may be turned in the mode in which people load the cell.
//!
//! # How to resolve
//! Take the mode out of those permitted, or accept the finding with the measures that replace the input.
//!
//! # References
//! IEC 61511-1 on bypasses: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Element, ModeId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, device) in model.overrides.iter() {
        let causes: BTreeSet<_> =
            device.inputs.iter().flat_map(|input| reading::protecting(model, *input)).collect();
        let permitted = |mode: &ModeId| {
            device.modes.get(&model.modes[*mode].group).is_none_or(|modes| modes.contains(mode))
        };
        let modes: BTreeSet<ModeId> = causes
            .iter()
            .flat_map(|cause| {
                let cause = &model.causes[*cause];
                let there = |mode: &ModeId| reading::needed_in(model, cause, *mode);
                reading::armed_with_people(model, cause).into_iter().filter(there).collect::<Vec<_>>()
            })
            .filter(permitted)
            .collect();
        if modes.is_empty() {
            continue;
        }
        let tag = &device.name.tag;
        let place = model.written(tag, "modes").unwrap_or(device.name.span);
        let mut finding = about_element(
            model,
            Check::OverrideWithPeopleInside,
            Severity::Warning,
            Element::Override(id),
            place,
        );
        let names: Vec<String> = modes.iter().map(|mode| model.modes[*mode].name.tag.clone()).collect();
        finding.sentence =
            format!("{tag} may take inputs out in {}, with people expected inside.", words::list(&names));
        finding.modes = modes.into_iter().collect();
        found.push(finding);
    }
    found
}
