//! Head start: the time from a set point to the beginning of harm; and what rates say of a response.

use super::time::Onset;
use crate::exact::Exact;
use crate::model::{HazardId, InputId, ModeId, Model, NormalIn, Observes, QuantityId, Relation};

/// A comparison of a sensor with its set point.
#[derive(Debug, Clone, Copy)]
pub struct Compared<'a> {
    /// What is measured.
    pub quantity: QuantityId,
    /// How it compares.
    pub relation: Relation,
    /// With what.
    pub set_point: &'a Exact,
    /// Largest error either way.
    pub accuracy: &'a Exact,
}

/// The time in seconds from the moment when a comparison is surely true to the beginning of harm, at the worst rate:
///
/// rising: max(0, (L − max(SP + accuracy, greatest normal value)) / R), with L the least value of the quantity in the
/// onset case; falling: max(0, (min(SP − accuracy, least normal value) − L) / R), with L the greatest.
///
/// `None` where the rate, the normal range or L is missing, and for `=` and `<>`.
pub fn head_start(
    model: &Model,
    compared: Compared<'_>,
    onset: Onset<'_>,
    mode: Option<ModeId>,
) -> Option<Exact> {
    let Compared { quantity, relation, set_point, accuracy } = compared;
    let extent = onset.timing.extents.get(onset.number)?.get(&quantity)?;
    let (low, high) = normal_range(model, quantity, onset.hazard, mode)?;
    let element = &model.quantities[quantity];
    let (way, rate) = match relation {
        Relation::AtLeast | Relation::Above => {
            let surely = set_point + accuracy;
            (&extent.least - &surely.max(high), element.rises.as_ref()?)
        }
        Relation::AtMost | Relation::Below => {
            let surely = set_point - accuracy;
            (&surely.min(low) - &extent.greatest, element.falls.as_ref()?)
        }
        Relation::Equal | Relation::Differs => return None,
    };
    way.checked_div(rate).map(|time| time.max(Exact::zero()))
}

/// What is normal for a quantity in the mode of the hazard: what that mode says, else the quantity; widened by what any
/// mode of another group says.
pub fn normal_range(
    model: &Model,
    quantity: QuantityId,
    hazard: HazardId,
    mode: Option<ModeId>,
) -> Option<(Exact, Exact)> {
    let said = |mode: ModeId| -> Option<Option<(Exact, Exact)>> {
        model.modes[mode].normal.iter().find_map(|normal| match normal {
            NormalIn::Range(of, range) if *of == quantity => {
                Some(Some((range.low.clone(), range.high.clone())))
            }
            NormalIn::FreeQuantity(of) if *of == quantity => Some(None),
            _ => None,
        })
    };
    let group = model.hazards[hazard].group;
    let of_itself = || model.quantities[quantity].normal.as_ref().map(|r| (r.low.clone(), r.high.clone()));
    let mut range = mode.and_then(said).unwrap_or_else(of_itself)?;
    for (id, other) in model.modes.iter() {
        if other.group != group
            && let Some(other) = said(id)
        {
            let (low, high) = other?;
            range = (range.0.min(low), range.1.max(high));
        }
    }
    Some(range)
}

/// What is true where a comparison is surely false, its deadband included.
pub fn clearing(relation: Relation, set_point: &Exact, deadband: &Exact) -> (Relation, Exact) {
    match relation {
        Relation::AtLeast => (Relation::Below, set_point - deadband),
        Relation::Above => (Relation::AtMost, set_point - deadband),
        Relation::AtMost => (Relation::Above, set_point + deadband),
        Relation::Below => (Relation::AtLeast, set_point + deadband),
        Relation::Equal => (Relation::Differs, set_point.clone()),
        Relation::Differs => (Relation::Equal, set_point.clone()),
    }
}

/// Whether a T90 says by when a comparison is seen. A reading of first order lags behind a change at the worst rate R by
/// T90 / ln 10 at most, once the change has gone on for so long; so the quantity must need T90 or longer from where the
/// comparison is surely true to the beginning of harm:
///
/// rising: (L − (SP + accuracy)) / R ≥ T90, with L the least value of the quantity in the onset case; falling:
/// ((SP − accuracy) − L) / R ≥ T90, with L the greatest. What is quicker is a step, and 90 % of a step say nothing of the rest.
///
/// `false` where rate or L is missing, and for `=` and `<>`.
pub fn t90_says(model: &Model, compared: Compared<'_>, t90: &Exact, onset: Onset<'_>) -> bool {
    let Compared { quantity, relation, set_point, accuracy } = compared;
    let extent = onset.timing.extents.get(onset.number).and_then(|case| case.get(&quantity));
    let element = &model.quantities[quantity];
    let (way, rate) = match (relation, extent) {
        (Relation::AtLeast | Relation::Above, Some(extent)) => {
            (&extent.least - &(set_point + accuracy), element.rises.as_ref())
        }
        (Relation::AtMost | Relation::Below, Some(extent)) => {
            (&(set_point - accuracy) - &extent.greatest, element.falls.as_ref())
        }
        (Relation::Equal | Relation::Differs, _) | (_, None) => return false,
    };
    rate.and_then(|rate| way.checked_div(rate)).is_some_and(|time| time >= *t90)
}

/// Whether the response of an input says by when its signal is right: a T90 does so only where the quantity has a declared
/// rate in the way in which the reading must go, since 90 % of a step say nothing of the rest.
pub fn known_step(model: &Model, input: InputId, rising: Option<bool>) -> bool {
    let element = &model.inputs[input];
    let Observes::Quantity { quantity, .. } = &element.observes else { return !element.response.t90 };
    let quantity = &model.quantities[*quantity];
    !element.response.t90
        || rising
            .is_some_and(|rising| if rising { quantity.rises.is_some() } else { quantity.falls.is_some() })
}
