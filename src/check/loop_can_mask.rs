//! An interlock loop in which one contact can hide the fault of another.
//!
//! # What it checks
//! Every loop with more than one contact either watches each contact by itself, or holds a fault that was found until
//! a person clears it.
//!
//! # Why it matters
//! Where only the ends of the channels are compared, a stuck contact is found when its door is opened alone, and the
//! fault is wiped out as soon as another door of the same loop is opened and shut.
//!
//! # How it is decided
//! By reading: more than one contact, `fault_detection: ends_only`, and not `fault_held: true`. It is a property of the
//! wiring and no part of any cut set. The steps that show it follow from what is declared; no simulator goes through them,
//! since sequences are not examined.
//!
//! # What it does not see
//! How often the doors are used, and the diagnostic coverage that remains.
//!
//! # Example
//! Seven connectors in series on one loop, both channels compared at the evaluation unit only.
//!
//! # How to resolve
//! Watch each contact by itself, split the loop, or have a detected fault held until somebody clears it.
//!
//! # References
//! ISO/TR 24119 (fault masking of series-connected contacts): recalled, not verified.

use super::{Check, Seen, about_element};
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{Element, Observes};
use crate::syntax::kind::LoopDetection;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter() {
        let Observes::Loop { contacts, detection, fault_held } = &input.observes else { continue };
        if contacts.len() < 2 || *detection != LoopDetection::EndsOnly || *fault_held {
            continue;
        }
        let element = Element::Input(id);
        let mut finding =
            about_element(model, Check::LoopCanMask, Severity::Warning, element, input.name.span);
        finding.sentence = format!(
            "In {} a fault of one of its {} contacts can be wiped out by opening and closing another.",
            input.name.tag,
            contacts.len()
        );
        finding.steps = explain::masking(model, id);
        found.push(finding);
    }
    found
}
