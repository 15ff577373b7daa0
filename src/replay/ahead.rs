//! How long before the beginning of harm a comparison is true: section 7 of `docs/meaning.md`.

use crate::claim::Unknown;
use crate::exact::Exact;
use crate::model::{CauseId, HazardId, Mode, NormalIn, QuantityId, Relation, Time};

use super::time::{Clock, Moment};
use super::world::World;

impl World<'_> {
    /// §7: f · head start before the beginning of harm.
    pub(super) fn earlier(
        &self,
        quantity: QuantityId,
        relation: Relation,
        set_point: &Exact,
        accuracy: &Exact,
        cause: Option<CauseId>,
        clock: &Clock<'_>,
    ) -> Moment {
        let hazard = &self.model.hazards[clock.hazard];
        let start = match (self.given(cause, clock), clock.timing.unknown) {
            (Some(Time::Known(time)), _) => time.clone(),
            // Not how long it is matters, but that it is as long as it takes.
            (Some(Time::Unknown), Unknown::Nothing) => return Moment::Before,
            (Some(Time::Unknown), Unknown::TooLong) => Exact::zero(),
            _ => self.start(quantity, relation, set_point, accuracy, clock).unwrap_or_else(Exact::zero),
        };
        Moment::At(-&(&hazard.usable * &start))
    }

    /// The time from the set point to harm that the model gives for a cause.
    pub(super) fn given(&self, cause: Option<CauseId>, clock: &Clock<'_>) -> Option<&Time> {
        let credited = cause.is_some_and(|c| self.model.causes[c].credited_for.contains(&clock.hazard));
        self.model.hazards[clock.hazard].after_set_point.as_ref().filter(|_| credited)
    }

    /// How long a quantity takes at the worst rate from where a comparison is sure to the beginning of harm.
    pub(super) fn on_its_way(
        &self,
        quantity: QuantityId,
        relation: Relation,
        set_point: &Exact,
        accuracy: &Exact,
        clock: &Clock<'_>,
    ) -> Option<Exact> {
        let extent = clock.timing.extents.get(clock.case)?.get(&quantity)?;
        let element = &self.model.quantities[quantity];
        match relation {
            Relation::AtLeast | Relation::Above => {
                (&(&extent.least - set_point) - accuracy).checked_div(element.rises.as_ref()?)
            }
            Relation::AtMost | Relation::Below => {
                (&(set_point - &extent.greatest) - accuracy).checked_div(element.falls.as_ref()?)
            }
            Relation::Equal | Relation::Differs => None,
        }
    }

    /// §7: the head start by limit, rate and normal range.
    fn start(
        &self,
        quantity: QuantityId,
        relation: Relation,
        set_point: &Exact,
        accuracy: &Exact,
        clock: &Clock<'_>,
    ) -> Option<Exact> {
        let extent = clock.timing.extents.get(clock.case)?.get(&quantity)?;
        let (low, high) = self.usually(quantity, clock.hazard)?;
        let element = &self.model.quantities[quantity];
        let (from, to, rate) = match relation {
            Relation::AtLeast | Relation::Above => {
                ((set_point + accuracy).max(high), extent.least.clone(), element.rises.as_ref()?)
            }
            Relation::AtMost | Relation::Below => {
                (extent.greatest.clone(), (set_point - accuracy).min(low), element.falls.as_ref()?)
            }
            Relation::Equal | Relation::Differs => return None,
        };
        let time = (&to - &from).checked_div(rate)?;
        Some(if time.is_negative() { Exact::zero() } else { time })
    }

    /// What is normal for a quantity while the hazard's group is in its mode; other groups may widen it.
    fn usually(&self, quantity: QuantityId, hazard: HazardId) -> Option<(Exact, Exact)> {
        let group = self.model.hazards[hazard].group;
        let mode = self.mode(group).ok()?;
        let of_the_plant = self.model.quantities[quantity].normal.as_ref();
        let (mut low, mut high) = match word(&self.model.modes[mode], quantity) {
            Word::Says(low, high) => (low, high),
            Word::Free => return None,
            Word::Nothing => of_the_plant.map(|range| (range.low.clone(), range.high.clone()))?,
        };
        for (_, other) in self.model.modes.iter().filter(|(_, other)| other.group != group) {
            match word(other, quantity) {
                Word::Says(lower, higher) => {
                    low = low.min(lower);
                    high = high.max(higher);
                }
                Word::Free => return None,
                Word::Nothing => {}
            }
        }
        Some((low, high))
    }
}

/// What a mode says of a quantity.
enum Word {
    Says(Exact, Exact),
    Free,
    Nothing,
}

fn word(mode: &Mode, quantity: QuantityId) -> Word {
    for normal in &mode.normal {
        match normal {
            NormalIn::Range(of, range) if *of == quantity => {
                return Word::Says(range.low.clone(), range.high.clone());
            }
            NormalIn::FreeQuantity(of) if *of == quantity => return Word::Free,
            _ => {}
        }
    }
    Word::Nothing
}
