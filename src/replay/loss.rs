//! Quiet loss: a supply, route, cabinet or solver is gone and does nothing else. Section 6 of `docs/meaning.md`.

use crate::model::{
    Access, Actuator, AtPosition, Device, DriverId, HazardId, InputId, LinkId, Observes, Signal, SolverId,
    Source, WithoutEnergy,
};
use crate::situation::{FactChoice, Situation};

use super::Impossible;
use super::breach::{Positions, is_at};
use super::world::World;

impl World<'_> {
    /// §6: the hazard is there, the source is gone and nothing else, the process control keeps the actuator away from
    /// the position, no cause would command it there with nothing broken, and yet it stands there.
    pub(super) fn forced(
        &self,
        hazard: HazardId,
        source: Source,
        at: &AtPosition,
        positions: &Positions,
    ) -> Result<bool, Impossible> {
        let Device::Actuator(id) = at.device else { return Ok(false) };
        let itself = self.chosen(FactChoice::Misbehaves(source)) || self.struck.contains(&source);
        let expected = self.signs_of_loss(source);
        let gone = expected.iter().all(|(fact, value)| self.chosen(*fact) == *value);
        let placed = self.placed_by_loss(source).into_iter().all(|at| self.situation.position(at.0) == at.1);
        let actuator = &self.model.actuators[id];
        let kept_away = self.kept_away(source, id, actuator, at.position);
        Ok(itself
            && gone
            && placed
            && kept_away
            && self.there(hazard)?
            && is_at(positions, at)
            && !self.commanded_with_nothing_broken(at)?)
    }

    fn commanded_with_nothing_broken(&self, at: &AtPosition) -> Result<bool, Impossible> {
        let mut healed: Situation = self.situation.clone();
        healed.facts.retain(|fact, _| !matches!(fact, FactChoice::Misbehaves(_) | FactChoice::Initiator(..)));
        World::new(self.model, self.claim, &healed).demanded(at)
    }

    /// The choices that say that the source is gone and does nothing else, each with the value it has then.
    fn signs_of_loss(&self, source: Source) -> Vec<(FactChoice, bool)> {
        let model = self.model;
        let mut signs = Vec::new();
        match source {
            Source::Supply(id) => signs.push((FactChoice::Lost(id), true)),
            Source::Solver(id) => self.without_solver(id, &mut signs),
            Source::Route(route) => {
                for (id, input) in model.inputs.iter() {
                    let open = input.readers.iter().filter(|(_, path)| path.routes.contains(&route));
                    signs.extend(open.map(|(reader, _)| (FactChoice::LineOpen(id, *reader), true)));
                }
                let cut = model.actuators.iter().filter(|(_, actuator)| actuator.routes.contains(&route));
                signs.extend(cut.map(|(id, _)| (FactChoice::ActuatorLineOpen(id), true)));
                for (id, link) in model.links.iter() {
                    if link.routes.contains(&route) {
                        self.without_link(id, &mut signs);
                    }
                }
            }
            Source::Cabinet(_) => self.without_cabinet(source, &mut signs),
            _ => {}
        }
        signs
    }

    fn without_solver(&self, solver: SolverId, signs: &mut Vec<(FactChoice, bool)>) {
        let model = self.model;
        for (id, driver) in model.drivers.iter() {
            if driver.solver == solver {
                self.without_driver(id, signs);
            }
        }
        for ((signal, reader), access) in &model.access {
            match access {
                Access::Over(_, from) if *from == solver => signs.extend(silence(*signal, *reader)),
                Access::Over(..) | Access::Direct => {}
            }
        }
        for (id, link) in model.links.iter().filter(|(_, link)| link.connects.contains(&solver)) {
            let others = link.connects.iter().filter(|end| **end != solver);
            signs.extend(others.map(|end| (FactChoice::LinkDown(id, *end), true)));
        }
    }

    fn without_driver(&self, id: DriverId, signs: &mut Vec<(FactChoice, bool)>) {
        let actuator = &self.model.actuators[self.model.drivers[id].actuator];
        match actuator.without_energy {
            WithoutEnergy::Goes { .. } => signs.push((FactChoice::Gives(id), false)),
            WithoutEnergy::Stays => {
                signs.extend([(FactChoice::Drives(id, 0), false), (FactChoice::Drives(id, 1), false)]);
            }
        }
    }

    fn without_link(&self, link: LinkId, signs: &mut Vec<(FactChoice, bool)>) {
        for ((signal, reader), access) in &self.model.access {
            match access {
                Access::Over(over, _) if *over == link => signs.extend(silence(*signal, *reader)),
                Access::Over(..) | Access::Direct => {}
            }
        }
        let ends = self.model.links[link].connects.iter();
        signs.extend(ends.map(|end| (FactChoice::LinkDown(link, *end), true)));
    }

    fn without_cabinet(&self, source: Source, signs: &mut Vec<(FactChoice, bool)>) {
        let model = self.model;
        for (id, input) in model.inputs.iter() {
            for reader in input.readers.keys() {
                signs.extend(self.input_without_cabinet(source, id, *reader));
            }
        }
        for (id, supply) in model.supplies.iter() {
            if supply.cabinet.map(Source::Cabinet) == Some(source) {
                signs.push((FactChoice::Lost(id), true));
            }
        }
        for (id, solver) in model.solvers.iter() {
            if solver.parents.cabinet.map(Source::Cabinet) == Some(source) {
                self.without_solver(id, signs);
            }
        }
        for (id, link) in model.links.iter() {
            if link.parents.cabinet.map(Source::Cabinet) == Some(source) {
                self.without_link(id, signs);
            }
        }
        for (id, driver) in model.drivers.iter() {
            let relay =
                |relay: &crate::model::RelayId| model.relays[*relay].parents.cabinet.map(Source::Cabinet);
            if driver.relays.iter().any(|r| relay(r) == Some(source)) {
                self.without_driver(id, signs);
            }
        }
        for (device, _) in self.placed_by_loss(source) {
            signs.push((FactChoice::DeviceDeviates(device), true));
        }
    }

    /// Inside the cabinet, or seen through something inside it: bad; a loop inside it: open.
    fn input_without_cabinet(
        &self,
        source: Source,
        id: InputId,
        reader: SolverId,
    ) -> Vec<(FactChoice, bool)> {
        let model = self.model;
        let input = &model.inputs[id];
        let inside = input.parents.cabinet.map(Source::Cabinet) == Some(source);
        let through = input.readers.get(&reader).is_some_and(|path| {
            path.through
                .iter()
                .any(|t| model.conditioners[*t].parents.cabinet.map(Source::Cabinet) == Some(source))
        });
        let bad = vec![(FactChoice::Deviates(id, reader), true), (FactChoice::Bad(id, reader), true)];
        match input.observes {
            _ if through => bad,
            Observes::Quantity { .. } | Observes::Condition { .. } if inside => bad,
            Observes::Loop { .. } if inside => vec![(FactChoice::LineOpen(id, reader), true)],
            _ => Vec::new(),
        }
    }

    /// Actuators inside a cabinet that is gone, with the position they take without energy.
    fn placed_by_loss(&self, source: Source) -> Vec<(Device, usize)> {
        let Source::Cabinet(cabinet) = source else { return Vec::new() };
        let inside = self.model.actuators.iter().filter(|(_, a)| a.parents.cabinet == Some(cabinet));
        inside
            .filter_map(|(id, actuator)| match actuator.without_energy {
                WithoutEnergy::Goes { off, .. } => Some((Device::Actuator(id), off)),
                WithoutEnergy::Stays => None,
            })
            .collect()
    }

    /// Every driver that is not gone with the source, and the process control itself, holds the actuator elsewhere.
    fn kept_away(
        &self,
        source: Source,
        id: crate::model::ActuatorId,
        actuator: &Actuator,
        position: usize,
    ) -> bool {
        let gone = self.signs_of_loss(source);
        let is_gone = |d: DriverId| {
            gone.contains(&(FactChoice::Gives(d), false)) || gone.contains(&(FactChoice::Drives(d, 0), false))
        };
        let drivers =
            actuator.drivers.iter().filter(|d| !is_gone(**d)).all(|d| match actuator.without_energy {
                WithoutEnergy::Goes { on, .. } => self.chosen(FactChoice::Gives(*d)) == (position != on),
                WithoutEnergy::Stays => {
                    !self.chosen(FactChoice::Drives(*d, position))
                        && self.chosen(FactChoice::Drives(*d, 1 - position.min(1)))
                }
            });
        let device = Device::Actuator(id);
        let placed = self.placed_by_loss(source).iter().any(|(at, _)| *at == device);
        drivers && (placed || self.situation.position(device) != position)
    }
}

/// Nothing of the signal arrives at the reader.
fn silence(signal: Signal, reader: SolverId) -> [(FactChoice, bool); 2] {
    match signal {
        Signal::Input(input) => {
            [(FactChoice::Deviates(input, reader), true), (FactChoice::Silent(input, reader), true)]
        }
        Signal::Cause(cause) => {
            [(FactChoice::CauseDeviates(cause, reader), true), (FactChoice::CauseSilent(cause, reader), true)]
        }
    }
}
