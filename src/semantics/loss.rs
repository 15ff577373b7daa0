//! §6 of `docs/meaning.md`, *quiet loss*: a supply, route, cabinet or solver is gone and does nothing else, and what that
//! alone moves.

use std::collections::BTreeSet;

use super::Encoder;
use crate::model::{
    Access, ActuatorId, AtPosition, CabinetId, Device, Driver, HazardId, InputId, LinkId, Observes, RouteId,
    Signal, SolverId, Source, WithoutEnergy,
};
use crate::situation::FactChoice;
use crate::term::TermId;

static NOTHING: BTreeSet<Source> = BTreeSet::new();

impl Encoder<'_> {
    pub(super) fn forced(&mut self, hazard: HazardId, source: Source, at: AtPosition) -> TermId {
        let Device::Actuator(actuator) = at.device else { return self.terms.no() };
        let there = self.there_apart(hazard);
        let misbehaves = self.active(source);
        let mut all = vec![there, misbehaves];
        self.quietly_lost(source, &mut all);
        self.left_to_the_process(source, actuator, at.position, &mut all);
        all.push(self.at(at));
        let commanded = self.with_nothing_broken(|this| this.is_demanded(at));
        all.push(self.terms.not(commanded));
        self.terms.and(all)
    }

    /// What a term is while no source misbehaves, with every other choice the same.
    fn with_nothing_broken(&mut self, work: impl FnOnce(&mut Self) -> TermId) -> TermId {
        let sources = std::mem::replace(&mut self.sources, &NOTHING);
        let (lost, views) = (std::mem::take(&mut self.lost), std::mem::take(&mut self.views));
        let (causes, known) = (std::mem::take(&mut self.causes), std::mem::take(&mut self.known));
        let term = work(self);
        self.sources = sources;
        (self.lost, self.views, self.causes, self.known) = (lost, views, causes, known);
        term
    }

    fn quietly_lost(&mut self, source: Source, all: &mut Vec<TermId>) {
        match source {
            Source::Supply(supply) => all.push(self.fact(FactChoice::Lost(supply))),
            Source::Route(route) => self.route_gone(route, all),
            Source::Solver(solver) => self.solver_gone(solver, all),
            Source::Cabinet(cabinet) => self.cabinet_gone(cabinet, all),
            _ => all.push(self.terms.no()),
        }
    }

    fn never(&mut self, fact: FactChoice, all: &mut Vec<TermId>) {
        let fact = self.fact(fact);
        all.push(self.terms.not(fact));
    }

    fn driver_gone(&mut self, number: crate::model::DriverId, driver: &Driver, all: &mut Vec<TermId>) {
        match self.model.actuators[driver.actuator].without_energy {
            WithoutEnergy::Goes { .. } => self.never(FactChoice::Gives(number), all),
            WithoutEnergy::Stays => {
                self.never(FactChoice::Drives(number, 0), all);
                self.never(FactChoice::Drives(number, 1), all);
            }
        }
    }

    fn solver_gone(&mut self, solver: SolverId, all: &mut Vec<TermId>) {
        let model = self.model;
        for (number, driver) in model.drivers.iter().filter(|(_, driver)| driver.solver == solver) {
            self.driver_gone(number, driver, all);
        }
        for ((signal, reader), access) in &model.access {
            if matches!(access, Access::Over(_, from) if *from == solver) {
                self.silent(*signal, *reader, all);
            }
        }
        for (id, link) in model.links.iter().filter(|(_, link)| link.connects.contains(&solver)) {
            for other in link.connects.iter().filter(|other| **other != solver) {
                all.push(self.fact(FactChoice::LinkDown(id, *other)));
            }
        }
    }

    fn silent(&mut self, signal: Signal, reader: SolverId, all: &mut Vec<TermId>) {
        let (deviates, silent) = match signal {
            Signal::Input(input) => (FactChoice::Deviates(input, reader), FactChoice::Silent(input, reader)),
            Signal::Cause(cause) => {
                (FactChoice::CauseDeviates(cause, reader), FactChoice::CauseSilent(cause, reader))
            }
        };
        all.push(self.fact(deviates));
        all.push(self.fact(silent));
    }

    fn link_gone(&mut self, link: LinkId, all: &mut Vec<TermId>) {
        let model = self.model;
        for ((signal, reader), access) in &model.access {
            if matches!(access, Access::Over(over, _) if *over == link) {
                self.silent(*signal, *reader, all);
            }
        }
        for end in &model.links[link].connects {
            all.push(self.fact(FactChoice::LinkDown(link, *end)));
        }
    }

    fn route_gone(&mut self, route: RouteId, all: &mut Vec<TermId>) {
        let model = self.model;
        for (id, input) in model.inputs.iter() {
            for (reader, _) in input.readers.iter().filter(|(_, path)| path.routes.contains(&route)) {
                all.push(self.fact(FactChoice::LineOpen(id, *reader)));
            }
        }
        for (id, _) in model.actuators.iter().filter(|(_, actuator)| actuator.routes.contains(&route)) {
            all.push(self.fact(FactChoice::ActuatorLineOpen(id)));
        }
        for (id, _) in model.links.iter().filter(|(_, link)| link.routes.contains(&route)) {
            self.link_gone(id, all);
        }
    }

    /// A reader sees the input as bad, since what it goes through, or the input itself, is without power.
    fn shown_bad(&mut self, input: InputId, reader: SolverId, all: &mut Vec<TermId>) {
        all.push(self.fact(FactChoice::Deviates(input, reader)));
        all.push(self.fact(FactChoice::Bad(input, reader)));
    }

    fn cabinet_gone(&mut self, cabinet: CabinetId, all: &mut Vec<TermId>) {
        let model = self.model;
        let here = Some(cabinet);
        for (id, input) in model.inputs.iter() {
            let inside = input.parents.cabinet == here;
            for (reader, path) in &input.readers {
                let through =
                    path.through.iter().any(|through| model.conditioners[*through].parents.cabinet == here);
                match input.observes {
                    _ if through => self.shown_bad(id, *reader, all),
                    Observes::Quantity { .. } | Observes::Condition { .. } if inside => {
                        self.shown_bad(id, *reader, all);
                    }
                    Observes::Loop { .. } if inside => all.push(self.fact(FactChoice::LineOpen(id, *reader))),
                    Observes::Quantity { .. }
                    | Observes::Condition { .. }
                    | Observes::Loop { .. }
                    | Observes::Stop(_) => {}
                }
            }
        }
        for (id, _) in model.supplies.iter().filter(|(_, supply)| supply.cabinet == here) {
            all.push(self.fact(FactChoice::Lost(id)));
        }
        for (id, _) in model.solvers.iter().filter(|(_, solver)| solver.parents.cabinet == here) {
            self.solver_gone(id, all);
        }
        for (id, _) in model.links.iter().filter(|(_, link)| link.parents.cabinet == here) {
            self.link_gone(id, all);
        }
        for (number, driver) in model.drivers.iter() {
            if driver.relays.iter().any(|relay| model.relays[*relay].parents.cabinet == here) {
                self.driver_gone(number, driver, all);
            }
        }
        for (id, actuator) in model.actuators.iter().filter(|(_, actuator)| actuator.parents.cabinet == here)
        {
            if let WithoutEnergy::Goes { off, .. } = actuator.without_energy {
                let device = Device::Actuator(id);
                all.push(self.fact(FactChoice::DeviceDeviates(device)));
                let chosen = self.chosen(device, actuator.positions.len(), off);
                all.push(chosen);
            }
        }
    }

    /// Whether a driver is gone with the source.
    fn gone_with(&self, source: Source, driver: &Driver) -> bool {
        let model = self.model;
        match source {
            Source::Solver(solver) => driver.solver == solver,
            Source::Cabinet(cabinet) => {
                let here = Some(cabinet);
                model.solvers[driver.solver].parents.cabinet == here
                    || driver.relays.iter().any(|relay| model.relays[*relay].parents.cabinet == here)
            }
            _ => false,
        }
    }

    /// The process control, where it has the choice, keeps the actuator away from the position.
    fn left_to_the_process(
        &mut self,
        source: Source,
        id: ActuatorId,
        position: usize,
        all: &mut Vec<TermId>,
    ) {
        let model = self.model;
        let actuator = &model.actuators[id];
        for number in &actuator.drivers {
            if self.gone_with(source, &model.drivers[*number]) {
                continue;
            }
            match actuator.without_energy {
                WithoutEnergy::Goes { on, .. } if position == on => {
                    self.never(FactChoice::Gives(*number), all);
                }
                WithoutEnergy::Goes { .. } => all.push(self.fact(FactChoice::Gives(*number))),
                WithoutEnergy::Stays => {
                    self.never(FactChoice::Drives(*number, position), all);
                    let other = 1 - position.min(1);
                    all.push(self.fact(FactChoice::Drives(*number, other)));
                }
            }
        }
        let placed_by_loss = matches!(source, Source::Cabinet(cabinet) if actuator.parents.cabinet == Some(cabinet))
            && matches!(actuator.without_energy, WithoutEnergy::Goes { .. });
        if !placed_by_loss {
            let there = self.chosen(Device::Actuator(id), actuator.positions.len(), position);
            all.push(self.terms.not(there));
        }
    }
}
