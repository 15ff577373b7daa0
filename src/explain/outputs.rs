//! What the parts on the way out do when they misbehave: solvers, relays, actuators, their lines, passive devices.

use crate::model::{
    ActsOn, ActuatorId, AtPosition, Device, Driver, DriverId, Element, PassiveId, RelayId, RouteId, SolverId,
    Source, WithoutEnergy,
};
use crate::situation::FactChoice;
use crate::syntax::kind::LineKind;

use super::broken::Deed;
use super::{Teller, words};

impl Teller<'_> {
    /// The solver, or else the first relay, that may make a driver do anything.
    pub(super) fn at_driver(&self, driver: &Driver) -> Option<Source> {
        let relays = driver.relays.iter().map(|id| Source::Relay(*id));
        let mut parts = std::iter::once(Source::Solver(driver.solver)).chain(relays);
        parts.find(|source| self.may(*source))
    }

    /// Drivers of the actuators that matter.
    pub(super) fn drivers(&self) -> impl Iterator<Item = (DriverId, &Driver)> {
        let matters = |driver: &Driver| self.cone.elements.contains(&Element::Actuator(driver.actuator));
        self.model.drivers.iter().filter(move |(_, driver)| matters(driver))
    }

    /// A logic solver: what it does with its drivers, and what it sends.
    pub(super) fn solver_deeds(&self, id: SolverId) -> Vec<Deed> {
        let mut deeds = self.driven_by(Source::Solver(id));
        deeds.extend(self.passed_by(Source::Solver(id)));
        deeds
    }

    /// An interposing relay: what it does with its drivers.
    pub(super) fn relay_deeds(&self, id: RelayId) -> Vec<Deed> {
        self.driven_by(Source::Relay(id))
    }

    /// Gives and withholds energy, one sentence each; drives devices that stay without energy. Nothing of devices that
    /// do not go where they are driven.
    fn driven_by(&self, by: Source) -> Vec<Deed> {
        let (mut gives, mut withholds, mut drives) = (Vec::new(), Vec::new(), Vec::new());
        let by_it = self.drivers().filter(|(_, driver)| self.at_driver(driver) == Some(by));
        for (id, driver) in by_it.filter(|(_, driver)| self.obeys(driver.actuator)) {
            let tag = self.tag(Element::Actuator(driver.actuator)).to_string();
            match self.model.actuators[driver.actuator].without_energy {
                WithoutEnergy::Goes { .. } if self.fact(FactChoice::Gives(id)) => gives.push(tag),
                WithoutEnergy::Goes { .. } => withholds.push(tag),
                WithoutEnergy::Stays => drives.push(self.drives(id, driver)),
            }
        }
        let mut deeds = Vec::new();
        if !gives.is_empty() {
            deeds.push(Deed::Does(format!("keeps giving energy to {}", words::list(&gives))));
        }
        if !withholds.is_empty() {
            deeds.push(Deed::Does(format!("gives no energy to {}", words::list(&withholds))));
        }
        deeds.extend(drives.into_iter().map(Deed::Does));
        deeds
    }

    fn drives(&self, id: DriverId, driver: &Driver) -> String {
        let positions = &self.model.actuators[driver.actuator].positions;
        let to: Vec<String> = positions
            .iter()
            .enumerate()
            .filter(|(number, _)| self.fact(FactChoice::Drives(id, *number)))
            .map(|(_, position)| position.clone())
            .collect();
        let tag = self.tag(Element::Actuator(driver.actuator));
        match to.is_empty() {
            true => format!("does not drive {tag}"),
            false => format!("drives {tag} to {}", words::list(&to)),
        }
    }

    /// An actuator: where it is stuck.
    pub(super) fn actuator_deeds(&self, id: ActuatorId) -> Vec<Deed> {
        let device = Device::Actuator(id);
        if !self.stuck(device) {
            return Vec::new();
        }
        vec![Deed::Is(format!(
            "is stuck {}",
            words::adjective(words::position(self.model, self.position_of(device)))
        ))]
    }

    /// Whether a device stands where it does because it misbehaves itself.
    pub(super) fn stuck(&self, device: Device) -> bool {
        let source = match device {
            Device::Actuator(id) => Source::Actuator(id),
            Device::Passive(id) => Source::Passive(id),
        };
        self.may(source) && self.fact(FactChoice::DeviceDeviates(device))
    }

    /// A passive device: that it does not act, or where it stands instead.
    pub(super) fn passive_deeds(&self, id: PassiveId) -> Vec<Deed> {
        let device = Device::Passive(id);
        let passive = &self.model.passive[id];
        let at = self.position_of(device);
        let due = self.passive_position(id, passive);
        if !self.stuck(device) || at.position == due {
            return Vec::new();
        }
        let due = words::position(self.model, AtPosition { device, position: due });
        let is = words::adjective(words::position(self.model, at));
        let acts_on = passive.acts.as_ref().map(|(on, _)| self.acts_on(on));
        vec![Deed::Does(match acts_on {
            Some(on) if at.position == passive.rest => format!("does not act on {on}: it is {is}, not {due}"),
            _ => format!("is {is}, not {due}"),
        })]
    }

    fn acts_on(&self, on: &ActsOn) -> String {
        match on {
            ActsOn::Quantity { quantity, .. } => self.tag(Element::Quantity(*quantity)).to_string(),
            ActsOn::Condition { condition, .. } => self.tag(Element::Condition(*condition)).to_string(),
        }
    }

    /// Lines of actuators on a route that are open or held.
    pub(super) fn actuator_lines(&self, route: RouteId) -> Vec<Deed> {
        let mut deeds = Vec::new();
        for (id, actuator) in self.model.actuators.iter() {
            let mut disturbed = actuator.routes.iter().filter(|route| self.may(Source::Route(**route)));
            let matters = self.cone.elements.contains(&Element::Actuator(id));
            if !matters || disturbed.next() != Some(&route) || self.stuck(Device::Actuator(id)) {
                continue;
            }
            let tag = self.tag(Element::Actuator(id));
            if self.fact(FactChoice::ActuatorLineOpen(id)) {
                deeds.push(Deed::Says(format!("the line to {tag} is open, so it gets no energy")));
            } else if actuator.line == LineKind::Plain && self.fact(FactChoice::ActuatorLineHeld(id)) {
                let goes = matches!(actuator.without_energy, WithoutEnergy::Goes { .. });
                deeds.push(Deed::Says(match (goes, self.fact(FactChoice::Energised(id))) {
                    (true, true) => format!("the line to {tag} is held with energy"),
                    (true, false) => format!("the line to {tag} is held without energy"),
                    (false, _) => format!("the line to {tag} is held, so {tag} stays where it is"),
                }));
            }
        }
        deeds
    }
}
