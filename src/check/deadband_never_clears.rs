//! A comparison whose deadband is so wide that it does not clear while everything is normal.
//!
//! # What it checks
//! Every comparison of a sensor with a deadband clears somewhere in what is normal for the quantity.
//!
//! # Why it matters
//! A trip that cannot be reset is bridged in the end.
//!
//! # How it is decided
//! Read off the model: rising, it clears below set point − deadband; refuted if the least normal value, less the accuracy, is
//! not below that, while it is below the set point itself. Falling, the other way round. Asked where the quantity has a
//! normal range.
//!
//! # What it does not see
//! How long it takes to get there. What is normal in single modes. A comparison without any deadband:
//! `comparison-may-chatter` tells it.
//!
//! # Example
//! It resets at 5 %LFL, in a room that never falls below 6 %LFL.
//!
//! # How to resolve
//! A narrower deadband, or another set point.
//!
//! # References
//! IEC 62682 on deadbands: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::finding::{Finding, Severity};
use crate::model::{Element, InputAtom, Observes, Relation};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        for atom in cause.when.atoms() {
            let InputAtom::Compare { input, relation, set_point, span, .. } = atom else { continue };
            let Observes::Quantity { quantity, accuracy, deadband, .. } = &model.inputs[*input].observes
            else {
                continue;
            };
            let (false, Some(normal)) = (deadband.is_zero(), &model.quantities[*quantity].normal) else {
                continue;
            };
            // Where the lowest, or the highest, normal reading is on the far side of the set point, it is the set point that
            // keeps it true: a condition that something runs, say, and no trip.
            let kept = match relation {
                Relation::AtLeast | Relation::Above => {
                    let lowest = &normal.low - accuracy;
                    lowest >= set_point - deadband && lowest < *set_point
                }
                Relation::AtMost | Relation::Below => {
                    let highest = &normal.high + accuracy;
                    highest <= set_point + deadband && highest > *set_point
                }
                Relation::Equal | Relation::Differs => false,
            };
            if !kept {
                continue;
            }
            let element = Element::Cause(id);
            let mut finding =
                about_element(model, Check::DeadbandNeverClears, Severity::Warning, element, *span);
            finding.elements.push(model.inputs[*input].name.tag.clone());
            finding.sentence = format!(
                "Once {} (`{}`) is true, the deadband of {} keeps it true as long as {} is normal.",
                cause.name.tag,
                cause.text,
                model.inputs[*input].name.tag,
                model.quantities[*quantity].name.tag
            );
            found.push(finding);
        }
    }
    found
}
