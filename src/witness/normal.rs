//! What is normal in the modes that hold, as terms for the engine and as values of the situation at hand.
//!
//! A claim may leave modes open; then what is normal depends on which of them is chosen, and the choice is made with it.

use std::collections::BTreeSet;

use super::Choosing;
use crate::analysis::Stop;
use crate::exact::Exact;
use crate::model::{ConditionId, GroupId, Interval, ModeId, NormalIn, QuantityId, Relation};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::term::{TermId, Var};

impl Choosing<'_, '_, '_> {
    /// A group whose modes say what is normal of something that is mentioned, and which nothing else mentions, is
    /// chosen as well: what is normal depends on it.
    pub(super) fn groups_of_normals(&mut self) {
        let quantities: BTreeSet<QuantityId> = self.quantities_mentioned().into_iter().collect();
        let conditions: BTreeSet<ConditionId> = self.conditions_mentioned().into_iter().collect();
        let model = self.model;
        let named: BTreeSet<GroupId> = self.claim.modes.iter().map(|mode| model.modes[*mode].group).collect();
        for group in model.groups.ids().filter(|group| !named.contains(group)) {
            let choice = ModeChoice::Holds(group);
            let says = |mode: &ModeId| {
                model.modes[*mode].normal.iter().any(|normal| match normal {
                    NormalIn::Range(id, _) | NormalIn::FreeQuantity(id) => quantities.contains(id),
                    NormalIn::Value(id, _) | NormalIn::FreeCondition(id) => conditions.contains(id),
                })
            };
            let modes = &model.groups[group].modes;
            if self.mentioned.modes.contains(&choice) || !modes.iter().any(says) {
                continue;
            }
            let terms = &mut self.case.encoding.terms;
            let each: Vec<TermId> = modes.iter().map(|mode| terms.var(Var::ModeIs(choice, *mode))).collect();
            let one = terms.exactly_one(&each);
            self.given.push(one);
            self.mentioned.modes.insert(choice);
        }
    }

    /// The mode holds: a constant where the claim names a mode of the group, or where nothing mentions the group.
    fn mode_holds(&mut self, mode: ModeId) -> TermId {
        let group = self.model.modes[mode].group;
        let choice = ModeChoice::Holds(group);
        let terms = &mut self.case.encoding.terms;
        match self.claim.modes.iter().find(|named| self.model.modes[**named].group == group) {
            Some(named) => terms.constant(*named == mode),
            None if self.mentioned.modes.contains(&choice) => terms.var(Var::ModeIs(choice, mode)),
            None => terms.constant(self.model.groups[group].modes.first() == Some(&mode)),
        }
    }

    /// The modes that hold in the situation at hand.
    fn modes_at_hand(&self) -> Result<Vec<ModeId>, Stop> {
        let mut holding = Vec::new();
        for (group, element) in self.model.groups.iter() {
            let named = self.claim.modes.iter().find(|named| self.model.modes[**named].group == group);
            let mut mode = named.or(element.modes.first()).copied();
            let choice = ModeChoice::Holds(group);
            if named.is_none() && self.mentioned.modes.contains(&choice) {
                for other in &element.modes {
                    if self.case.question.truth(Var::ModeIs(choice, *other))? {
                        mode = Some(*other);
                    }
                }
            }
            holding.extend(mode);
        }
        Ok(holding)
    }

    /// The normal range of a quantity in the modes that hold in the situation at hand; `None` if any value is normal.
    pub(super) fn normal_range(&self, quantity: QuantityId) -> Result<Option<(Exact, Exact)>, Stop> {
        for mode in self.modes_at_hand()? {
            for normal in &self.model.modes[mode].normal {
                match normal {
                    NormalIn::Range(q, interval) if *q == quantity => {
                        return Ok(Some((interval.low.clone(), interval.high.clone())));
                    }
                    NormalIn::FreeQuantity(q) if *q == quantity => return Ok(None),
                    NormalIn::Range(..)
                    | NormalIn::FreeQuantity(_)
                    | NormalIn::Value(..)
                    | NormalIn::FreeCondition(_) => {}
                }
            }
        }
        Ok(self.model.quantities[quantity].normal.as_ref().map(|n| (n.low.clone(), n.high.clone())))
    }

    pub(super) fn normal_value(&self, condition: ConditionId) -> Result<bool, Stop> {
        for mode in self.modes_at_hand()? {
            for normal in &self.model.modes[mode].normal {
                if let NormalIn::Value(c, value) = normal
                    && *c == condition
                {
                    return Ok(*value);
                }
            }
        }
        Ok(self.model.conditions[condition].normal)
    }

    /// The quantity is outside what is normal in the modes that hold.
    pub(super) fn quantity_away(&mut self, quantity: QuantityId) -> TermId {
        let model = self.model;
        let mut away = Vec::new();
        let mut said = Vec::new();
        for (mode, element) in model.modes.iter() {
            for normal in &element.normal {
                let range = match normal {
                    NormalIn::Range(q, range) if *q == quantity => Some(range),
                    NormalIn::FreeQuantity(q) if *q == quantity => None,
                    _ => continue,
                };
                let holds = self.mode_holds(mode);
                said.push(holds);
                if let Some(range) = range {
                    let outside = self.outside(quantity, range);
                    away.push(self.case.encoding.terms.both(holds, outside));
                }
            }
        }
        if let Some(own) = &model.quantities[quantity].normal {
            let outside = self.outside(quantity, own);
            away.push(self.unsaid(said, outside));
        }
        self.case.encoding.terms.or(away)
    }

    /// The condition is not as is normal in the modes that hold.
    pub(super) fn condition_away(&mut self, condition: ConditionId) -> TermId {
        let model = self.model;
        let mut away = Vec::new();
        let mut said = Vec::new();
        for (mode, element) in model.modes.iter() {
            for normal in &element.normal {
                let value = match normal {
                    NormalIn::Value(c, value) if *c == condition => Some(*value),
                    NormalIn::FreeCondition(c) if *c == condition => None,
                    _ => continue,
                };
                let holds = self.mode_holds(mode);
                said.push(holds);
                if let Some(value) = value {
                    let unlike = self.unlike(condition, value);
                    away.push(self.case.encoding.terms.both(holds, unlike));
                }
            }
        }
        let unlike = self.unlike(condition, model.conditions[condition].normal);
        away.push(self.unsaid(said, unlike));
        self.case.encoding.terms.or(away)
    }

    fn outside(&mut self, quantity: QuantityId, range: &Interval) -> TermId {
        let one = [(Exact::int(1), NumberChoice::Quantity(quantity))];
        let terms = &mut self.case.encoding.terms;
        let below = terms.compare(&one, Relation::Below, &range.low);
        let above = terms.compare(&one, Relation::Above, &range.high);
        terms.either(below, above)
    }

    fn unlike(&mut self, condition: ConditionId, value: bool) -> TermId {
        let terms = &mut self.case.encoding.terms;
        let holds = terms.fact(FactChoice::Condition(condition));
        if value { terms.not(holds) } else { holds }
    }

    /// None of the modes that say something else holds, and this is so.
    fn unsaid(&mut self, said: Vec<TermId>, this: TermId) -> TermId {
        let terms = &mut self.case.encoding.terms;
        let elsewhere = terms.or(said);
        let unsaid = terms.not(elsewhere);
        terms.both(unsaid, this)
    }
}
