//! The line of an actuator that must be energised to protect is not monitored.
//!
//! # What it checks
//! Every actuator of which a safe state names a position that needs energy has a line that is `monitored` or
//! `dynamic`.
//!
//! # Why it matters
//! What trips by energy does nothing when its cable is cut, and nobody learns of the cut until the day it is
//! needed.
//!
//! # How it is decided
//! By reading: a safe state names the energised position (of one that stays without energy: either position) of
//! an actuator with drivers, and its `line` is `plain`, which is also what no `line` means.
//!
//! # What it does not see
//! Whether the hazard is averted without this actuator: its own claims decide that. Whether the monitoring is
//! announced and heard.
//!
//! # Example
//! The valve of the water mist opens by current, over a plain pair of wires.
//!
//! # How to resolve
//! Monitor the line and declare it, or choose an actuator that reaches its safe position without energy.
//!
//! # References
//! IEC 61511-1 (energise to trip), EN 54 and EN 12094 practice for fire systems: recalled, not verified.

use super::{Check, Seen, about_element, energised, words};
use crate::finding::{Finding, Severity};
use crate::model::Element;
use crate::syntax::kind::LineKind;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, actuator, hazards) in energised::to_trip(model) {
        if actuator.line != LineKind::Plain {
            continue;
        }
        let tag = &actuator.name.tag;
        let place = model.written(tag, "line").unwrap_or(actuator.name.span);
        let check = Check::EnergiseToTripLineNotMonitored;
        let mut finding = about_element(model, check, Severity::Warning, Element::Actuator(id), place);
        finding.sentence = format!(
            "The safe state of {} counts on {tag} being energised, and its line is not monitored: nobody learns that it is cut.",
            words::list(&hazards)
        );
        found.push(finding);
    }
    found
}
