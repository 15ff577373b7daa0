//! A trip that is true in every normal situation.
//!
//! # What it checks
//! For every cause: in some normal situation in which it is armed its condition is false.
//!
//! # Why it matters
//! A trip that is always true holds its actuators for ever, and everything that is proved with their help is worth
//! nothing. Somebody will bridge it to be able to work.
//!
//! # How it is decided
//! Exists a situation, fault-free, in which every quantity lies in its normal range and every condition has its
//! normal value in the modes that hold, the cause is armed, and its condition is false.
//!
//! # What it does not see
//! A trip that is true in some normal situations: `trip-inside-normal` tells those of a single comparison. Latches.
//!
//! # Example
//! A set point of `120 K` where 120 degC was meant is -153 degC: every reading exceeds it.
//!
//! # How to resolve
//! Correct the set point or its unit; arm the cause only in the modes in which its condition is abnormal; or
//! correct what the model says is normal.
//!
//! # References
//! Our definition; common practice, no source.

use super::{Check, Seen, about_element};
use crate::assess::{Decided, Subject};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element, InputAtom, Model, Observes};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::NotAlwaysOn(cause), Decided::Never(_)) = (single.subject, &single.decided) else {
            continue;
        };
        let element = &model.causes[cause];
        let mut finding = about_element(
            model,
            Check::TripAlwaysOn,
            Severity::Serious,
            Element::Cause(cause),
            element.when_span,
        );
        finding.sentence = format!(
            "{} (`{}`) is true in every normal situation in which it is armed, so what it commands is always \
             commanded, and a proof that needs it shows nothing.",
            element.name.tag, element.text
        );
        finding.sentence.push_str(&below_all(model, cause));
        found.push(finding);
    }
    found
}

/// The commonest reason, if it is that: every reading of the instrument meets the set point.
fn below_all(model: &Model, cause: CauseId) -> String {
    for atom in model.causes[cause].when.atoms() {
        let InputAtom::Compare { input, relation, set_point, .. } = atom else { continue };
        let Observes::Quantity { range, .. } = &model.inputs[*input].observes else { continue };
        if relation.holds(&range.low, set_point) && relation.holds(&range.high, set_point) {
            return format!(
                " Every value that {} can show meets the set point.",
                model.inputs[*input].name.tag
            );
        }
    }
    String::new()
}
