//! §5 of `docs/meaning.md`: drivers, actuators, passive devices.

use super::Encoder;
use crate::exact::Exact;
use crate::model::{
    ActsOn, Actuator, ActuatorId, AtPosition, CauseId, Device, DriverId, GroupId, Model, PassiveId, SolverId,
    Source, Tree, WithoutEnergy,
};
use crate::situation::{FactChoice, NumberChoice};
use crate::syntax::kind::LineKind;
use crate::term::{TermId, Var};

/// The mode groups that a cause has to do with.
pub(super) fn groups_of(model: &Model, cause: CauseId) -> impl Iterator<Item = GroupId> {
    let element = &model.causes[cause];
    let hazards = element.credited_for.iter().map(|hazard| model.hazards[*hazard].group);
    element.armed.keys().copied().chain(hazards)
}

impl Encoder<'_> {
    /// Causes with an effect that sets the actuator to the position.
    pub(super) fn demanding(&self, actuator: ActuatorId, position: usize) -> Vec<CauseId> {
        let model = self.model;
        let sets = |cause: CauseId| {
            model.causes[cause]
                .demands
                .iter()
                .any(|effect| model.effects[*effect].set.contains(&(actuator, position)))
        };
        let mut found: Vec<CauseId> = model.causes.ids().filter(|cause| sets(*cause)).collect();
        // For two bays that are built alike: each finds its own causes first, whichever the file declares first.
        found.sort_by_key(|cause| !self.of_this_bay(*cause));
        found
    }

    /// Whether the cause has to do with a mode group that the question is about.
    pub(super) fn of_this_bay(&self, cause: CauseId) -> bool {
        groups_of(self.model, cause).any(|group| self.home.contains(&group))
    }

    /// The solver has the cause: evaluates it, or has access to it.
    pub(super) fn has(&self, cause: CauseId, solver: SolverId) -> bool {
        self.model.causes[cause].solver == solver
            || self.model.access.contains_key(&(crate::model::Signal::Cause(cause), solver))
    }

    /// demands(d, p).
    pub(super) fn demanded(&mut self, driver: DriverId, position: usize) -> TermId {
        let model = self.model;
        let of = &model.drivers[driver];
        let mut any = Vec::new();
        for cause in self.demanding(of.actuator, position) {
            if self.has(cause, of.solver) {
                any.push(self.knows(cause, of.solver, true));
            }
        }
        self.terms.or(any)
    }

    /// (may give or withhold whatever it is told, gives nothing) of a driver.
    pub(super) fn driver_state(&mut self, driver: DriverId) -> (TermId, TermId) {
        let model = self.model;
        let of = &model.drivers[driver];
        let mut free = vec![self.solver_misbehaves(of.solver)];
        let mut dead = vec![self.dead(of.solver)];
        for relay in &of.relays {
            let element = &model.relays[*relay];
            free.push(self.misbehaves(Source::Relay(*relay), &element.parents));
            dead.push(self.without(element.supply));
        }
        (self.terms.or(free), self.terms.or(dead))
    }

    /// gives(d).
    pub(super) fn gives(&mut self, driver: DriverId, actuator: &Actuator, off: usize, on: usize) -> TermId {
        let (free, dead) = self.driver_state(driver);
        let choice = self.fact(FactChoice::Gives(driver));
        let (to_off, to_on) = (self.demanded(driver, off), self.demanded(driver, on));
        let opposed = match actuator.winner {
            Some(winner) => self.terms.constant(winner == on),
            None => choice,
        };
        let idle = match actuator.rest {
            Some(rest) => self.terms.constant(rest == on),
            None => choice,
        };
        let undisputed_on = self.terms.choose(to_on, self.terms.yes(), idle);
        let disputed = self.terms.choose(to_on, opposed, self.terms.no());
        let told = self.terms.choose(to_off, disputed, undisputed_on);
        let alive = self.terms.choose(dead, self.terms.no(), told);
        self.terms.choose(free, choice, alive)
    }

    /// drives(d, p) of an actuator that stays without energy.
    pub(super) fn drives(&mut self, driver: DriverId, actuator: &Actuator, position: usize) -> TermId {
        let (free, dead) = self.driver_state(driver);
        let choice = self.fact(FactChoice::Drives(driver, position));
        let other = 1 - position.min(1);
        let (here, there) = (self.demanded(driver, position), self.demanded(driver, other));
        let beaten = match actuator.winner {
            Some(winner) if winner == other => there,
            _ => self.terms.no(),
        };
        let unbeaten = self.terms.not(beaten);
        let commanded = self.terms.both(here, unbeaten);
        let idle = match actuator.rest {
            Some(rest) => self.terms.constant(rest == position),
            None => choice,
        };
        let any = self.terms.either(here, there);
        let told = self.terms.choose(any, commanded, idle);
        let alive = self.terms.choose(dead, self.terms.no(), told);
        self.terms.choose(free, choice, alive)
    }

    fn wired(
        &mut self,
        wiring: &Tree<DriverId>,
        energy: &mut dyn FnMut(&mut Self, DriverId) -> TermId,
    ) -> TermId {
        match wiring {
            Tree::Atom(driver) => energy(self, *driver),
            Tree::And(parts) => {
                let parts = self.wired_parts(parts, energy);
                self.terms.and(parts)
            }
            Tree::Or(parts) => {
                let parts = self.wired_parts(parts, energy);
                self.terms.or(parts)
            }
            Tree::Not(part) => {
                let part = self.wired(part, energy);
                self.terms.not(part)
            }
            Tree::Vote { m, of } => {
                let of = self.wired_parts(of, energy);
                self.terms.at_least(*m, of)
            }
        }
    }

    fn wired_parts(
        &mut self,
        parts: &[Tree<DriverId>],
        energy: &mut dyn FnMut(&mut Self, DriverId) -> TermId,
    ) -> Vec<TermId> {
        self.bay_order(parts).into_iter().map(|part| self.wired(part, energy)).collect()
    }

    /// Drivers of this bay first, for the same reason as in `demanding`; the order of parts means nothing.
    pub(super) fn bay_order<'t>(&self, parts: &'t [Tree<DriverId>]) -> Vec<&'t Tree<DriverId>> {
        let model = self.model;
        let own = |driver: &DriverId| {
            let solver = model.drivers[*driver].solver;
            model.causes.iter().any(|(id, cause)| cause.solver == solver && self.of_this_bay(id))
        };
        let mut order: Vec<&Tree<DriverId>> = parts.iter().collect();
        order.sort_by_key(|part| !part.atoms().into_iter().any(own));
        order
    }

    /// The position chosen for a device is this one.
    pub(super) fn chosen(&mut self, device: Device, positions: usize, position: usize) -> TermId {
        if self.placed.insert(device) {
            let each: Vec<TermId> =
                (0..positions).map(|position| self.terms.var(Var::PositionIs(device, position))).collect();
            let one = self.terms.exactly_one(&each);
            self.possible.push(one);
        }
        self.terms.var(Var::PositionIs(device, position))
    }

    /// The device deviates, by its own fault only to one of the positions in which it can fail.
    fn deviating(
        &mut self,
        device: Device,
        own: TermId,
        wild: TermId,
        positions: usize,
        fails: &std::collections::BTreeSet<usize>,
    ) -> TermId {
        let may = self.terms.either(own, wild);
        if may == self.terms.no() {
            return may;
        }
        let choice = self.fact(FactChoice::DeviceDeviates(device));
        let deviates = self.terms.both(may, choice);
        if fails.len() < positions {
            let tame = self.terms.not(wild);
            let limited = self.terms.both(deviates, tame);
            let each: Vec<TermId> =
                fails.iter().map(|position| self.chosen(device, positions, *position)).collect();
            let allowed = self.terms.or(each);
            let rule = self.terms.implies(limited, allowed);
            self.possible.push(rule);
        }
        deviates
    }

    fn actuator_at(&mut self, id: ActuatorId, position: usize) -> TermId {
        self.actuator_with(id, position, None)
    }

    /// The actuator is at a position that it has without energy or with it; `driven` says whether its drivers bring it
    /// there, instead of what they do in the end.
    pub(super) fn actuator_with(
        &mut self,
        id: ActuatorId,
        position: usize,
        driven_there: Option<TermId>,
    ) -> TermId {
        let model = self.model;
        let actuator = &model.actuators[id];
        let device = Device::Actuator(id);
        let source = Source::Actuator(id);
        let (own, wild) = (self.own(source, &actuator.parents), self.wild(source, &actuator.parents));
        let count = actuator.positions.len();
        let deviates = self.deviating(device, own, wild, count, &actuator.fails);
        let chosen = self.chosen(device, count, position);

        let unpowered = self.without(actuator.supply);
        let disturbed = self.any_route(&actuator.routes);
        let open = self.fact(FactChoice::ActuatorLineOpen(id));
        let open = self.terms.both(disturbed, open);
        let dark = self.terms.either(unpowered, open);
        let held = match actuator.line {
            LineKind::Plain => {
                let held = self.fact(FactChoice::ActuatorLineHeld(id));
                self.terms.both(disturbed, held)
            }
            LineKind::Monitored | LineKind::Dynamic => self.terms.no(),
        };
        let (in_dark, if_held, driven) = match actuator.without_energy {
            WithoutEnergy::Goes { off, on } => {
                let in_dark = self.terms.constant(position == off);
                let energised = self.fact(FactChoice::Energised(id));
                let if_held = self.by_energy(energised, position, off, on);
                let driven = match (&actuator.wiring, driven_there) {
                    (None, _) => self.undriven(actuator, position, chosen),
                    (Some(_), Some(driven)) => driven,
                    (Some(wiring), None) => {
                        let energy = self.wired(wiring, &mut |this: &mut Self, driver| {
                            this.gives(driver, actuator, off, on)
                        });
                        self.by_energy(energy, position, off, on)
                    }
                };
                (in_dark, if_held, driven)
            }
            WithoutEnergy::Stays => {
                let driven = match &actuator.wiring {
                    None => self.undriven(actuator, position, chosen),
                    Some(wiring) => self.driven_staying(actuator, wiring, position, chosen),
                };
                (chosen, chosen, driven)
            }
        };
        let powered = self.terms.choose(held, if_held, driven);
        let healthy = self.terms.choose(dark, in_dark, powered);
        self.terms.choose(deviates, chosen, healthy)
    }

    fn undriven(&mut self, actuator: &Actuator, position: usize, chosen: TermId) -> TermId {
        match actuator.rest {
            Some(rest) => self.terms.constant(rest == position),
            None => chosen,
        }
    }

    /// `position` is reached with this energy.
    fn by_energy(&mut self, energy: TermId, position: usize, off: usize, on: usize) -> TermId {
        let with = self.terms.constant(position == on);
        let without = self.terms.constant(position == off);
        self.terms.choose(energy, with, without)
    }

    fn driven_staying(
        &mut self,
        actuator: &Actuator,
        wiring: &Tree<DriverId>,
        position: usize,
        chosen: TermId,
    ) -> TermId {
        let here = self.wired(wiring, &mut |this: &mut Self, driver| this.drives(driver, actuator, position));
        let other = 1 - position.min(1);
        let there = self.wired(wiring, &mut |this: &mut Self, driver| this.drives(driver, actuator, other));
        let not_there = self.terms.not(there);
        let not_here = self.terms.not(here);
        let moved_here = self.terms.both(here, not_there);
        let moved_there = self.terms.both(there, not_here);
        let stays = self.terms.choose(moved_there, self.terms.no(), chosen);
        self.terms.choose(moved_here, self.terms.yes(), stays)
    }

    /// The passive device is at the position.
    fn passive_at(&mut self, id: PassiveId, position: usize) -> TermId {
        let passive = &self.model.passive[id];
        let at_rest = self.terms.constant(passive.rest == position);
        let healthy = match &passive.acts {
            None => at_rest,
            Some((on, to)) => {
                let acts = self.acts(id, on);
                let there = self.terms.constant(*to == position);
                self.terms.choose(acts, there, at_rest)
            }
        };
        self.passive_with(id, position, healthy)
    }

    /// … where a healthy one is there on this condition.
    pub(super) fn passive_with(&mut self, id: PassiveId, position: usize, healthy: TermId) -> TermId {
        let model = self.model;
        let passive = &model.passive[id];
        let device = Device::Passive(id);
        let source = Source::Passive(id);
        let (own, wild) = (self.own(source, &passive.parents), self.wild(source, &passive.parents));
        let count = passive.positions.len();
        let deviates = self.deviating(device, own, wild, count, &passive.fails);
        if deviates == self.terms.no() {
            return healthy;
        }
        let chosen = self.chosen(device, count, position);
        self.terms.choose(deviates, chosen, healthy)
    }

    fn acts(&mut self, id: PassiveId, on: &ActsOn) -> TermId {
        match on {
            ActsOn::Quantity { quantity, relation, bound, accuracy } => {
                let mut sum = vec![(Exact::int(1), self.quantity(*quantity))];
                if !accuracy.is_zero() {
                    let tolerance = NumberChoice::Tolerance(id);
                    self.within(tolerance, &-accuracy, accuracy);
                    sum.push((Exact::int(1), tolerance));
                }
                self.terms.compare(&sum, *relation, bound)
            }
            ActsOn::Condition { condition, negated } => {
                let holds = self.condition(*condition);
                if *negated { self.terms.not(holds) } else { holds }
            }
        }
    }

    /// The device is at the position.
    pub(super) fn at(&mut self, at: AtPosition) -> TermId {
        match at.device {
            Device::Actuator(id) => self.actuator_at(id, at.position),
            Device::Passive(id) => self.passive_at(id, at.position),
        }
    }

    /// A combination of positions.
    pub(super) fn positions(&mut self, tree: &Tree<AtPosition>) -> TermId {
        self.over_positions(tree, &mut |this: &mut Self, at| this.at(at))
    }

    /// A combination of atoms about devices at positions, with another reading of the atoms.
    pub(super) fn over_positions(
        &mut self,
        tree: &Tree<AtPosition>,
        atom: &mut dyn FnMut(&mut Self, AtPosition) -> TermId,
    ) -> TermId {
        match tree {
            Tree::Atom(at) => atom(self, *at),
            Tree::And(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.over_positions(part, atom)).collect();
                self.terms.and(parts)
            }
            Tree::Or(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.over_positions(part, atom)).collect();
                self.terms.or(parts)
            }
            Tree::Not(part) => {
                let part = self.over_positions(part, atom);
                self.terms.not(part)
            }
            Tree::Vote { m, of } => {
                let of: Vec<TermId> = of.iter().map(|part| self.over_positions(part, atom)).collect();
                self.terms.at_least(*m, of)
            }
        }
    }
}
