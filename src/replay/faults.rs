//! What misbehaves: section 2 of `docs/meaning.md`, with the weights of section 1.
//!
//! Responsible for which elements *may* misbehave, for lost supplies and for dead solvers. What an element does when
//! it misbehaves is said where the element is.

use std::collections::BTreeSet;

use crate::model::{CabinetId, ConditionerId, Model, RouteId, SharedId, SolverId, Source, SupplyId};
use crate::situation::{FactChoice, Situation};

use super::Impossible;
use super::world::{Pending, World, holds, some};

/// Members of the initiator and damage groups that misbehave.
pub(super) fn struck(model: &Model, situation: &Situation) -> BTreeSet<Source> {
    let mut members = BTreeSet::new();
    for (id, hazard) in model.hazards.iter() {
        for (number, group) in hazard.initiators.iter().enumerate() {
            if situation.fact(FactChoice::Initiator(id, number)) {
                members.extend(group.members.iter().copied());
            }
        }
        for (number, group) in hazard.damages.iter().enumerate() {
            if situation.fact(FactChoice::Misbehaves(Source::Damage(id, number))) {
                members.extend(group.members.iter().copied());
            }
        }
    }
    members
}

/// §1: what a source weighs in the claim's limit.
pub(super) fn weight(model: &Model, source: Source) -> u32 {
    match source {
        Source::Solver(solver) => model.solvers[solver].tolerance.saturating_add(1),
        Source::Damage(hazard, _) if model.hazards[hazard].damage_certain => 0,
        _ => 1,
    }
}

impl World<'_> {
    /// §2: m(x), "x may misbehave here".
    pub(super) fn may(&self, x: Source) -> bool {
        self.own(x) || self.wild(x)
    }

    /// §2: own(x): it misbehaves itself, or something that it depends on does.
    pub(super) fn own(&self, x: Source) -> bool {
        let (_, shared) = self.parents(x);
        self.chosen(FactChoice::Misbehaves(x))
            || shared.iter().any(|parent| self.itself(Source::Shared(*parent)))
    }

    /// §2: wild(x): its cabinet misbehaves, or it belongs to the group that does. It may do anything.
    pub(super) fn wild(&self, x: Source) -> bool {
        let (cabinet, _) = self.parents(x);
        cabinet.is_some_and(|cabinet| self.itself(Source::Cabinet(cabinet))) || self.struck.contains(&x)
    }

    /// §2: a cabinet, type, store, machine or parameter source misbehaves, by itself or as a member of a group.
    fn itself(&self, x: Source) -> bool {
        self.chosen(FactChoice::Misbehaves(x)) || self.struck.contains(&x)
    }

    /// What makes a source misbehave besides itself. The line of a loop shares what the loop declares.
    fn parents(&self, x: Source) -> (Option<CabinetId>, &[SharedId]) {
        let model = self.model;
        let parents = match x {
            Source::Input(id) | Source::LoopLine(id) => &model.inputs[id].parents,
            Source::Contact(id) => &model.contacts[id].parents,
            Source::Conditioner(id) => &model.conditioners[id].parents,
            Source::Solver(id) => &model.solvers[id].parents,
            Source::Link(id) => &model.links[id].parents,
            Source::Relay(id) => &model.relays[id].parents,
            Source::Actuator(id) => &model.actuators[id].parents,
            Source::Passive(id) => &model.passive[id].parents,
            Source::ModeInput(id) => &model.mode_inputs[id].parents,
            Source::Override(id) => &model.overrides[id].parents,
            Source::Supply(id) => return (model.supplies[id].cabinet, &[]),
            Source::Route(_) | Source::Cabinet(_) | Source::Shared(_) | Source::Damage(..) => {
                return (None, &[]);
            }
        };
        (parents.cabinet, &parents.shared)
    }

    /// Whether one of the routes may misbehave.
    pub(super) fn routes_may(&self, routes: &[RouteId]) -> bool {
        routes.iter().any(|route| self.may(Source::Route(*route)))
    }

    /// Whether one of the things that a signal goes through may misbehave.
    pub(super) fn through_may(&self, through: &[ConditionerId]) -> bool {
        through.iter().any(|conditioner| self.may(Source::Conditioner(*conditioner)))
    }

    /// Whether one of the things that a signal goes through has lost its supply.
    pub(super) fn through_lost(&self, through: &[ConditionerId]) -> Result<bool, Impossible> {
        some(through, |conditioner| self.supply_lost(self.model.conditioners[*conditioner].supply))
    }

    /// Whether there is a supply and it is lost.
    pub(super) fn supply_lost(&self, supply: Option<SupplyId>) -> Result<bool, Impossible> {
        supply.map_or(Ok(false), |supply| self.lost(supply))
    }

    /// §2, supply: `lost(u) = (m(u) ∧ Lost(u)) ∨ (u has feeds ∧ ¬fed(u))`.
    pub(super) fn lost(&self, u: SupplyId) -> Result<bool, Impossible> {
        if let Some(known) = self.memory.borrow().lost.get(&u) {
            return Ok(*known);
        }
        let lost = self.once(Pending::Supply(u), || {
            let by_itself = self.may(Source::Supply(u)) && self.chosen(FactChoice::Lost(u));
            let unfed = match &self.model.supplies[u].fed_by {
                Some(feeds) => !holds(feeds, &|f| Ok(!self.lost(*f)?))?,
                None => false,
            };
            Ok(by_itself || unfed)
        })?;
        self.memory.borrow_mut().lost.insert(u, lost);
        Ok(lost)
    }

    /// §2, solver: dead(s): it has a supply and that is lost.
    pub(super) fn dead(&self, s: SolverId) -> Result<bool, Impossible> {
        self.supply_lost(self.model.solvers[s].supply)
    }
}
