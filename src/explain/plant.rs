//! Where the story plays: the modes that hold, what the plant is like, and that the hazard is present.

use std::collections::BTreeSet;

use crate::claim::Breach;
use crate::model::{
    ActsOn, ConditionId, Device, Element, Interval, ModeId, Model, NormalIn, Passive, PlantAtom, QuantityId,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};

use super::{Teller, cone, words};

impl Teller<'_> {
    /// The first part of the story.
    pub(super) fn place_and_plant(&self) -> Vec<String> {
        let told = self.facts_to_tell();
        let (quantities, conditions) = &told;
        let mut lines = self.modes(quantities, conditions);
        lines.extend(quantities.iter().map(|id| self.quantity(*id)));
        lines.extend(conditions.iter().map(|id| self.condition(*id)));
        lines.extend(self.coupled(&told));
        lines.extend(self.present());
        lines
    }

    /// The modes that matter, those among them on which depends what is normal of what is told.
    fn modes(&self, quantities: &BTreeSet<QuantityId>, conditions: &BTreeSet<ConditionId>) -> Vec<String> {
        let named = self.claim.modes.iter().map(|mode| self.model.modes[*mode].group);
        let says = |normal: &NormalIn| match normal {
            NormalIn::Range(id, _) | NormalIn::FreeQuantity(id) => quantities.contains(id),
            NormalIn::Value(id, _) | NormalIn::FreeCondition(id) => conditions.contains(id),
        };
        let saying = self.model.modes.iter().filter(|(_, mode)| mode.normal.iter().any(says));
        let saying = saying.map(|(_, mode)| mode.group);
        let groups: BTreeSet<_> = self.cone.groups.iter().copied().chain(named).chain(saying).collect();
        let modes = groups.into_iter().filter_map(|group| {
            let mode = self.situation.mode(self.model, ModeChoice::Holds(group))?;
            Some(format!(
                "{} is in mode {}.",
                self.call(Element::Group(group)),
                self.tag(Element::Mode(mode))
            ))
        });
        modes.collect()
    }

    /// What makes the hazard present, and what the told readings and the passive devices observe.
    fn facts_to_tell(&self) -> (BTreeSet<QuantityId>, BTreeSet<ConditionId>) {
        let (mut quantities, mut conditions) = self.facts_of_hazards();
        let read = self.causes.iter().filter(|cause| self.tells_readings(**cause));
        let inputs = read.flat_map(|cause| cone::inputs_in(self.model, *cause));
        for input in inputs.filter(|input| self.overridden_by(*input).is_none()) {
            let (quantity, observed) = cone::observed(self.model, input);
            quantities.extend(quantity);
            let is_switch = observed.len() == 1;
            conditions.extend(observed.into_iter().filter(|id| is_switch || self.unusual(*id)));
        }
        for device in &self.cone.devices {
            if let Device::Passive(id) = device
                && let Some((on, _)) = &self.model.passive[*id].acts
            {
                match on {
                    ActsOn::Quantity { quantity, .. } => quantities.insert(*quantity),
                    ActsOn::Condition { condition, .. } => conditions.insert(*condition),
                };
            }
        }
        (quantities, conditions)
    }

    /// What the onset cases that hold speak of.
    fn facts_of_hazards(&self) -> (BTreeSet<QuantityId>, BTreeSet<ConditionId>) {
        let (mut quantities, mut conditions) = (BTreeSet::new(), BTreeSet::new());
        for hazard in cone::hazards(&self.claim.breach) {
            let cases = self.model.hazards[hazard].onset.iter();
            let hold = self.replay.onset.get(&hazard).into_iter().flatten();
            let here = cases.zip(hold).filter(|(_, holds)| **holds).map(|(case, _)| case);
            for (atom, _) in here.flatten() {
                match atom {
                    PlantAtom::Linear { sum, .. } => quantities.extend(sum.iter().map(|(_, id)| *id)),
                    PlantAtom::Condition(id) => {
                        conditions.insert(*id);
                    }
                    PlantAtom::Mode(_) => {}
                }
            }
        }
        (quantities, conditions)
    }

    pub(super) fn quantity(&self, id: QuantityId) -> String {
        let value = self.situation.number(self.model, NumberChoice::Quantity(id));
        let text = words::of_quantity(self.model, id, &value);
        let normal = match self.normal_range(id) {
            Some(normal) => format!(" (normal {})", range(self.model, id, &normal)),
            None => String::new(),
        };
        format!("{} is at {text}{normal}.", self.call(Element::Quantity(id)))
    }

    pub(super) fn condition(&self, id: ConditionId) -> String {
        let holds = self.holds(id);
        let normal = match self.normal_value(id) {
            Some(normal) if normal != holds => format!(" (normally {normal})"),
            _ => String::new(),
        };
        format!("{} is {holds}{normal}.", self.call(Element::Condition(id)))
    }

    /// Whether a condition is true.
    pub(super) fn holds(&self, id: ConditionId) -> bool {
        self.fact(FactChoice::Condition(id))
    }

    /// A choice of yes or no.
    pub(super) fn fact(&self, choice: FactChoice) -> bool {
        self.situation.fact(choice)
    }

    pub(super) fn unusual(&self, id: ConditionId) -> bool {
        self.normal_value(id) != Some(self.holds(id))
    }

    /// What the modes that hold say about what is normal.
    fn normals(&self) -> impl Iterator<Item = &NormalIn> {
        let holding: Vec<ModeId> = self
            .model
            .groups
            .ids()
            .filter_map(|group| self.situation.mode(self.model, ModeChoice::Holds(group)))
            .collect();
        holding.into_iter().flat_map(|mode| self.model.modes[mode].normal.iter())
    }

    pub(super) fn normal_range(&self, id: QuantityId) -> Option<Interval> {
        let here = self.normals().find_map(|normal| match normal {
            NormalIn::Range(quantity, range) if *quantity == id => Some(Some(range.clone())),
            NormalIn::FreeQuantity(quantity) if *quantity == id => Some(None),
            _ => None,
        });
        here.unwrap_or_else(|| self.model.quantities[id].normal.clone())
    }

    fn normal_value(&self, id: ConditionId) -> Option<bool> {
        let here = self.normals().find_map(|normal| match normal {
            NormalIn::Value(condition, value) if *condition == id => Some(Some(*value)),
            NormalIn::FreeCondition(condition) if *condition == id => Some(None),
            _ => None,
        });
        here.unwrap_or(Some(self.model.conditions[id].normal))
    }

    fn present(&self) -> Option<String> {
        let id = self.claim.breach.hazard()?;
        let hazard = &self.model.hazards[id];
        let holds = self.replay.onset.get(&id)?.iter().any(|case| *case);
        // For `Exists` it is the end of the story.
        if !holds || matches!(self.claim.breach, Breach::Exists { .. }) {
            return None;
        }
        Some(match words::quoted(&hazard.text) {
            Some(text) => format!("{} is present: {text}.", self.call(Element::Hazard(id))),
            None => format!("{} is present.", self.call(Element::Hazard(id))),
        })
    }

    /// Where a passive device would stand if it did what it should, its tolerance included.
    pub(super) fn passive_position(&self, id: crate::model::PassiveId, passive: &Passive) -> usize {
        let acts = |on: &ActsOn| match on {
            ActsOn::Quantity { quantity, relation, bound, .. } => {
                let value = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
                let felt = &value + &self.situation.number(self.model, NumberChoice::Tolerance(id));
                relation.holds(&felt, bound)
            }
            ActsOn::Condition { condition, negated } => self.holds(*condition) != *negated,
        };
        match &passive.acts {
            Some((on, target)) if acts(on) => *target,
            _ => passive.rest,
        }
    }
}

/// `0 .. 5 %LFL`.
fn range(model: &Model, id: QuantityId, interval: &Interval) -> String {
    let high = words::of_quantity(model, id, &interval.high);
    let low = words::of_quantity(model, id, &interval.low);
    let number = low.split_once(' ').map_or(low.as_str(), |(number, _)| number);
    // "about 3.33 bar" keeps its unit at both ends.
    let low = if number == "about" { low.as_str() } else { number };
    format!("{low} .. {high}")
}
