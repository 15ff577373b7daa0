//! A sensor that a trip relies on in a mode in which it may be outside the conditions it is built for.
//!
//! # What it checks
//! For every sensor with `rated_for`, in every mode of a hazard for which a trip that reads it is credited: what is normal
//! for the quantity lies within the rating.
//!
//! # Why it matters
//! A gas head that is rated down to -20 degC does not tell what it shows at -30 degC.
//!
//! # How it is decided
//! Read off the model: the normal range of the mode, else that of the quantity, else its whole range, lies within the range
//! under `rated_for`.
//!
//! # What it does not see
//! What the sensor does while the hazard develops. Ratings that nobody wrote down.
//!
//! # Example
//! A catalytic head rated from -20 degC in a chamber that soaks at -30 degC.
//!
//! # How to resolve
//! Another sensor, a heated niche, or a narrower normal range in that mode.
//!
//! # References
//! IEC 60079-29-2 on the environment of gas heads: recalled, not verified.

use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{Element, Interval, ModeId, Model, NormalIn, QuantityId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter().filter(|(_, input)| !input.rated_for.is_empty()) {
        let causes = model.causes.iter().filter(|(_, cause)| reading::reads(cause, id));
        let mut modes: Vec<ModeId> = causes
            .flat_map(|(_, cause)| {
                let armed = |mode: &ModeId| {
                    let group = model.modes[*mode].group;
                    cause.armed.get(&group).is_none_or(|modes| modes.contains(mode))
                };
                let hazards = cause.credited_for.iter();
                hazards
                    .flat_map(|hazard| &model.hazards[*hazard].exists_in)
                    .copied()
                    .filter(move |m| armed(m))
            })
            .collect();
        modes.sort();
        modes.dedup();
        for (quantity, rated) in &input.rated_for {
            let outside = |mode: &ModeId| {
                let usual = usual(model, *mode, *quantity);
                usual.low < rated.low || rated.high < usual.high
            };
            let modes: Vec<ModeId> = modes.iter().copied().filter(outside).collect();
            if modes.is_empty() {
                continue;
            }
            let mut finding = about_element(
                model,
                Check::SensorOutsideItsRating,
                Severity::Warning,
                Element::Input(id),
                input.name.span,
            );
            let tag = &model.quantities[*quantity].name.tag;
            finding.elements.push(tag.clone());
            finding.modes = modes;
            finding.sentence = format!(
                "A trip relies on {} where {tag} may be outside the range for which it is rated.",
                input.name.tag
            );
            found.push(finding);
        }
    }
    found
}

/// What is normal for a quantity in a mode.
fn usual(model: &Model, mode: ModeId, quantity: QuantityId) -> &Interval {
    let element = &model.quantities[quantity];
    let said = model.modes[mode].normal.iter().find_map(|normal| match normal {
        NormalIn::Range(of, range) if *of == quantity => Some(range),
        NormalIn::FreeQuantity(of) if *of == quantity => Some(&element.range),
        _ => None,
    });
    said.or(element.normal.as_ref()).unwrap_or(&element.range)
}
