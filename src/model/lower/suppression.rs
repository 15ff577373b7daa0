//! Lowers releases of fire suppression.

use super::Lowering;
use super::tag::Class;
use crate::model::{ActuatorId, Amount, CauseId, Element, Id, Suppression};
use crate::syntax::document;
use crate::syntax::leaf::Scalar;
use crate::unit::Kind;

impl Lowering<'_> {
    /// Suppression releases.
    pub(super) fn suppression(&mut self) {
        for (key, item) in self.doc.suppression.iter().flat_map(|table| &table.entries) {
            let discharges = self.positions(Some(&item.discharges), "discharges", &[Class::Actuator]);
            let demand = item.demand.as_ref().and_then(|leaf| self.amount(leaf, None));
            let suppression = Suppression {
                name: self.name(key, item.title.as_ref()),
                released_by: self.ids::<CauseId>(Some(&item.released_by), &[Class::Cause], "released_by"),
                discharges: self.consistent(discharges),
                coincidence: self.count(item.coincidence.as_ref(), "coincidence", 1, 99).unwrap_or(1),
                warning: self.time_or_zero(item.warning.as_ref()),
                warned_by: self.ids::<ActuatorId>(item.warned_by.as_ref(), &[Class::Actuator], "warned_by"),
                hold: self.optional_words(item.hold.as_ref(), "hold"),
                hold_limit: self.time(item.hold_limit.as_ref()),
                capacity: self.capacity(item, demand.as_ref()),
                demand,
            };
            self.model.suppression.push(suppression);
        }
    }

    fn capacity(&mut self, item: &document::Suppression, demand: Option<&Amount>) -> Vec<(Element, Amount)> {
        let kind = match demand {
            Some(Amount::Known(demand)) => Some(demand.kind()),
            Some(Amount::Unknown) | None => None,
        };
        let mut found = Vec::new();
        for (key, leaf) in item.capacity.iter().flat_map(|table| &table.entries) {
            let declared = self.find(key, &[Class::Actuator, Class::Machine], "capacity");
            let amount = self.amount(leaf, kind);
            let (Some(declared), Some(amount)) = (declared, amount) else { continue };
            let element = match declared.class {
                Class::Machine => Element::Shared(Id::from_index(declared.index)),
                _ => Element::Actuator(Id::from_index(declared.index)),
            };
            found.push((element, amount));
        }
        found
    }

    /// An amount of a kind, or of whatever kind its unit says; `None` where it is wrong.
    fn amount(&mut self, leaf: &Scalar, kind: Option<Kind>) -> Option<Amount> {
        if leaf.text.trim() == "unknown" && !leaf.broken {
            return Some(Amount::Unknown);
        }
        let quantity = match kind {
            Some(kind) => self.value_of(leaf, kind),
            None => self.value_of_any_kind(leaf),
        };
        quantity.map(Amount::Known)
    }
}
