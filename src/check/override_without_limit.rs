//! An override that nothing ends or nothing announces.
//!
//! # What it checks
//! Every override device has a longest time and announces something while it is in use.
//!
//! # Why it matters
//! The override that was set for an hour and found after two hundred days is the classic of every register:
//! nothing reminded anybody.
//!
//! # How it is decided
//! By reading: `time_limit` is missing or `unknown`, or `announces` is missing.
//!
//! # What it does not see
//! Whether the limit is kept by the device or by people, and whether anybody sees what is announced.
//!
//! # Example
//! A key switch in the cabinet, without a timer and without a lamp.
//!
//! # How to resolve
//! Declare the longest time under `time_limit` and what is announced and where under `announces`, and build both.
//!
//! # References
//! IEC 61511-1 on bypasses: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, device) in model.overrides.iter() {
        let lacking = match (device.limited, device.announces.is_some()) {
            (true, true) => continue,
            (false, false) => "has no longest time and announces nothing",
            (false, true) => "has no longest time",
            (true, false) => "announces nothing",
        };
        let tag = &device.name.tag;
        let unknown = model.written(tag, "time_limit").filter(|_| !device.limited);
        let place = unknown.unwrap_or(device.name.span);
        let mut finding = about_element(
            model,
            Check::OverrideWithoutLimit,
            Severity::Warning,
            Element::Override(id),
            place,
        );
        finding.sentence = format!("An override by {tag} {lacking}.");
        found.push(finding);
    }
    found
}
