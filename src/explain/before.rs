//! What was done before the story starts: overrides, emergency stops, latches, and where the process control has put
//! what it operates.

use crate::model::{
    Actuator, ActuatorId, CauseId, Device, Driver, DriverId, Element, InputId, OverrideId, Source,
    WithoutEnergy,
};
use crate::situation::FactChoice;
use crate::syntax::kind::LineKind;

use super::{Teller, cone, words};

impl Teller<'_> {
    /// The third part of the story.
    pub(super) fn before(&self) -> Vec<String> {
        let mut lines = self.overridden();
        lines.extend(self.stops());
        lines.extend(self.latches());
        let actuators = self.model.actuators.iter();
        let matters = actuators.filter(|(id, _)| self.cone.elements.contains(&Element::Actuator(*id)));
        lines.extend(matters.flat_map(|(id, actuator)| self.process(id, actuator)));
        lines
    }

    /// Overrides that are active and matter: device and input, sorted.
    pub(super) fn overrides(&self) -> Vec<(String, String)> {
        let mut pairs: Vec<(String, String)> = self
            .overriding()
            .map(|(device, input)| {
                let (device, input) = (Element::Override(device), Element::Input(input));
                (self.tag(device).to_string(), self.tag(input).to_string())
            })
            .collect();
        pairs.sort();
        pairs
    }

    fn overriding(&self) -> impl Iterator<Item = (OverrideId, InputId)> {
        self.situation.facts.iter().filter_map(|(fact, chosen)| match fact {
            FactChoice::Overridden(device, input)
                if *chosen && self.cone.elements.contains(&Element::Input(*input)) =>
            {
                Some((*device, *input))
            }
            _ => None,
        })
    }

    /// The device that has taken an input out.
    pub(super) fn overridden_by(&self, input: InputId) -> Option<OverrideId> {
        self.overriding().find(|(_, taken)| *taken == input).map(|(device, _)| device)
    }

    /// Overrides as permitted; what a faulty device takes out is told with what is broken.
    fn overridden(&self) -> Vec<String> {
        let permitted = self.overriding().filter(|(device, _)| !self.may(Source::Override(*device)));
        permitted
            .map(|(device, input)| {
                let input = self.call(Element::Input(input));
                format!(
                    "{input} is overridden with {}, so it does not count.",
                    self.call(Element::Override(device))
                )
            })
            .collect()
    }

    fn stops(&self) -> Vec<String> {
        let pressed = self.model.stops.ids().filter(|id| {
            self.cone.elements.contains(&Element::Stop(*id)) && self.fact(FactChoice::Pressed(*id))
        });
        pressed.map(|id| format!("{} is pressed.", self.call(Element::Stop(id)))).collect()
    }

    fn latches(&self) -> Vec<String> {
        let set = self.cone.causes.iter().filter(|id| self.fact(FactChoice::AlreadySet(**id)));
        set.filter_map(|id| {
            let tag = self.call(Element::Cause(*id));
            match self.model.causes[*id].latched {
                true => Some(format!("The latch of {tag} is still set from before.")),
                false if self.closes_a_ring(*id) => Some(format!("{tag} was true before.")),
                false => None,
            }
        })
        .collect()
    }

    fn closes_a_ring(&self, id: CauseId) -> bool {
        self.cone.causes.iter().any(|other| cone::causes_in(self.model, *other).contains(&id))
    }

    /// Whether a driver can do what it is told: neither faulty nor without supply.
    pub(super) fn works(&self, driver: &Driver) -> bool {
        let supplied =
            |supply: Option<crate::model::SupplyId>| supply.is_none_or(|id| !self.replay.lost.contains(&id));
        let relays = driver.relays.iter().all(|id| supplied(self.model.relays[*id].supply));
        self.at_driver(driver).is_none() && relays && !self.replay.dead.contains(&driver.solver)
    }

    /// The positions to which a driver is commanded.
    pub(super) fn commanded(&self, driver: &Driver) -> Vec<usize> {
        let positions = 0..self.model.actuators[driver.actuator].positions.len();
        let device = Device::Actuator(driver.actuator);
        let commanded = positions.filter(|position| {
            let at = crate::model::AtPosition { device, position: *position };
            let causes = self.cone.causes.iter();
            let mut demanding = causes.filter(|cause| cone::demands(self.model, **cause, at));
            demanding.any(|cause| self.knows_true((*cause, driver.solver)))
        });
        commanded.collect()
    }

    /// Whether an actuator goes where its drivers say: it is not stuck, has energy, and its line is in order.
    pub(super) fn obeys(&self, id: ActuatorId) -> bool {
        let actuator = &self.model.actuators[id];
        let disturbed = actuator.routes.iter().any(|route| self.may(Source::Route(*route)));
        let held = actuator.line == LineKind::Plain && self.fact(FactChoice::ActuatorLineHeld(id));
        let line = disturbed && (held || self.fact(FactChoice::ActuatorLineOpen(id)));
        let supplied = actuator.supply.is_none_or(|supply| !self.replay.lost.contains(&supply));
        !self.stuck(Device::Actuator(id)) && !line && supplied
    }

    /// Where nothing commands an actuator, or some of its drivers are left to the process control.
    fn process(&self, id: ActuatorId, actuator: &Actuator) -> Vec<String> {
        if !self.obeys(id) {
            return Vec::new();
        }
        let is = words::adjective(words::position(self.model, self.position_of(Device::Actuator(id))));
        let drivers: Vec<(DriverId, &Driver)> =
            self.drivers().filter(|(_, driver)| driver.actuator == id).collect();
        let free: Vec<&(DriverId, &Driver)> = drivers
            .iter()
            .filter(|(_, driver)| self.works(driver) && self.commanded(driver).is_empty())
            .collect();
        if free.len() == drivers.len() {
            let tag = self.call(Element::Actuator(id));
            return vec![match actuator.rest {
                None => format!("The process control holds {tag} {is}, and nothing commands it otherwise."),
                Some(_) => format!("Nothing commands {tag}, so it is {is}."),
            }];
        }
        if actuator.rest.is_some() {
            return Vec::new();
        }
        // Energy that another driver in series withholds is not worth telling.
        let on = match actuator.without_energy {
            WithoutEnergy::Goes { on, .. } => self.position_of(Device::Actuator(id)).position == on,
            WithoutEnergy::Stays => false,
        };
        let gives = free.iter().filter(|(driver, _)| on && self.fact(FactChoice::Gives(*driver)));
        gives
            .map(|(_, driver)| {
                let (tag, solver) = (self.tag(Element::Actuator(id)), self.tag(Element::Solver(driver.solver)));
                format!("The process control gives {tag} energy through {solver}, where nothing commands it otherwise.")
            })
            .collect()
    }
}
