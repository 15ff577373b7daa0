//! A situation as a list of values: name of each choice and what was chosen, sorted by name.

use crate::claim::Claim;
use crate::model::{
    ActuatorId, CauseId, Device, DriverId, Element, InputId, Model, Observes, Signal, SolverId, Source,
};
use crate::replay::Value;
use crate::situation::{FactChoice, ModeChoice, NumberChoice, Situation};

use super::cone::Cone;
use super::{Teller, words};

/// The values; see [`super::values`].
pub(super) fn list(model: &Model, claim: &Claim, situation: &Situation) -> Vec<(String, String)> {
    let cone = Cone::of(model, &claim.breach, None);
    let lister = Lister { model, situation, cone: &cone, teller: None };
    let mut all = lister.choices();
    for (device, position) in &situation.positions {
        let element = model.device_element(*device);
        if let Some(word) = model.device_positions(*device).get(*position)
            && lister.matters(element)
            // Told with the device that deviates.
            && !situation.fact(FactChoice::DeviceDeviates(*device))
        {
            all.push((format!("position of {}", model.tag(element)), word.clone()));
        }
    }
    all.sort();
    all
}

/// The values of a story: the choices that take effect in it, and where the devices that decide its end stand.
pub(super) fn used(teller: &Teller<'_>) -> Vec<(String, String)> {
    let (model, situation) = (teller.model, teller.situation);
    let lister = Lister { model, situation, cone: &teller.cone, teller: Some(teller) };
    let mut all = lister.choices();
    all.extend(teller.cone.devices.iter().map(|device| {
        let word = words::position(model, teller.position_of(*device)).to_string();
        (format!("position of {}", model.tag(model.device_element(*device))), word)
    }));
    all.sort();
    all
}

struct Lister<'a> {
    model: &'a Model,
    situation: &'a Situation,
    cone: &'a Cone,
    /// With the story, only what takes effect in it is listed.
    teller: Option<&'a Teller<'a>>,
}

impl Lister<'_> {
    fn choices(&self) -> Vec<(String, String)> {
        let (model, situation, lister) = (self.model, self.situation, self);
        let mut all: Vec<(String, String)> = Vec::new();
        for (choice, value) in &situation.numbers {
            all.extend(lister.number(*choice, value));
        }
        for (fact, chosen) in &situation.facts {
            all.extend(lister.fact(*fact, *chosen));
        }
        for (choice, mode) in &situation.modes {
            let name = match choice {
                ModeChoice::Holds(group) => format!("mode of {}", model.tag(Element::Group(*group))),
                ModeChoice::Shown(input, solver) => lister.at(Element::ModeInput(*input), *solver),
            };
            all.push((name, model.tag(Element::Mode(*mode)).to_string()));
        }
        all
    }

    /// Claims that name no device or cause (a hazard that exists, a mode that is possible) keep everything.
    fn matters(&self, element: Element) -> bool {
        self.cone.elements.is_empty() || self.cone.elements.contains(&element)
    }

    fn sees(&self, input: InputId, solver: SolverId) -> bool {
        self.cone.elements.is_empty() || self.cone.sees.contains(&(input, solver))
    }

    fn tag(&self, element: Element) -> &str {
        self.model.tag(element)
    }

    fn at(&self, element: Element, solver: SolverId) -> String {
        format!("{} at {}", self.tag(element), self.tag(Element::Solver(solver)))
    }

    fn number(&self, choice: NumberChoice, value: &crate::exact::Exact) -> Option<(String, String)> {
        match choice {
            NumberChoice::Quantity(id) => {
                Some((self.tag(Element::Quantity(id)).to_string(), words::of_quantity(self.model, id, value)))
            }
            NumberChoice::Error(input) => {
                let Observes::Quantity { quantity, .. } = self.model.inputs[input].observes else {
                    return None;
                };
                let element = Element::Input(input);
                let text = words::error_of(self.model, quantity, value);
                let tells = self.matters(element) && !value.is_zero();
                tells.then(|| (format!("error of {}", self.tag(element)), text))
            }
            NumberChoice::Tolerance(id) => {
                let Some((crate::model::ActsOn::Quantity { quantity, .. }, _)) = self.model.passive[id].acts
                else {
                    return None;
                };
                let element = Element::Passive(id);
                let text = words::error_of(self.model, quantity, value);
                let tells = self.matters(element) && !value.is_zero();
                tells.then(|| (format!("error of {}", self.tag(element)), text))
            }
            NumberChoice::Reading(input, solver) => {
                let text = words::shown(self.model, input, &Value::Number(value.clone()));
                self.kept(input, solver).then(|| (self.at(Element::Input(input), solver), text))
            }
        }
    }

    /// Whether an input may show what was there before it lost its supply or line, which then is a choice of its own.
    /// What deviates or is held is told with that choice.
    fn kept(&self, input: InputId, solver: SolverId) -> bool {
        let fact = |choice| self.situation.fact(choice);
        let told = fact(FactChoice::Deviates(input, solver)) || fact(FactChoice::LineHeld(input, solver));
        let holds = matches!(self.model.inputs[input].on_loss, crate::model::Lost::Holds);
        holds && !told && self.sees(input, solver)
    }

    /// What an input shows a solver where it may show anything.
    fn anything(&self, input: InputId, solver: SolverId) -> String {
        let value = match self.model.inputs[input].observes {
            Observes::Quantity { .. } => {
                Value::Number(self.situation.number(self.model, NumberChoice::Reading(input, solver)))
            }
            Observes::Condition { .. } | Observes::Loop { .. } | Observes::Stop(_) => {
                Value::Asserted(self.situation.fact(FactChoice::Asserted(input, solver)))
            }
        };
        words::shown(self.model, input, &value)
    }

    /// One fact; without text where it is as by default or cannot matter.
    fn fact(&self, fact: FactChoice, chosen: bool) -> Option<(String, String)> {
        if let FactChoice::Condition(id) = fact {
            return Some((self.tag(Element::Condition(id)).to_string(), chosen.to_string()));
        }
        if let FactChoice::Asserted(input, solver) = fact {
            let text = words::shown(self.model, input, &Value::Asserted(chosen));
            return self.kept(input, solver).then(|| (self.at(Element::Input(input), solver), text));
        }
        if !chosen {
            return None;
        }
        if self.teller.is_some_and(|teller| !teller.takes_effect(fact)) {
            return None;
        }
        let (name, text, tells) = self.chosen(fact)?;
        tells.then(|| (name, text.to_string()))
    }

    /// A fact that is true: its name, its value, whether it can matter.
    fn chosen(&self, fact: FactChoice) -> Option<(String, String, bool)> {
        let say = |name: String, text: &str, tells: bool| Some((name, text.to_string(), tells));
        let tag = |element| self.tag(element).to_string();
        match fact {
            // Told above, with their values either way.
            FactChoice::Condition(_) | FactChoice::Asserted(..) => None,
            FactChoice::AlreadySet(id) => {
                let latched = self.model.causes[id].latched;
                let text = if latched { "already set" } else { "true before" };
                say(tag(Element::Cause(id)), text, self.matters(Element::Cause(id)))
            }
            FactChoice::Pressed(id) => {
                say(tag(Element::Stop(id)), "pressed", self.matters(Element::Stop(id)))
            }
            // With a loss the word "lost" says it.
            FactChoice::Misbehaves(Source::Supply(id)) if self.situation.fact(FactChoice::Lost(id)) => None,
            FactChoice::Misbehaves(source) => say(self.model.source_tag(source), "misbehaves", true),
            FactChoice::Initiator(hazard, number) => {
                let group = self.model.hazards[hazard].initiators.get(number)?;
                say(format!("initiator {}", group.name.tag), "misbehaves", true)
            }
            FactChoice::Overridden(device, input) => {
                let name = format!("{} by {}", tag(Element::Input(input)), tag(Element::Override(device)));
                say(name, "overridden", self.matters(Element::Input(input)))
            }
            FactChoice::Lost(id) => say(tag(Element::Supply(id)), "lost", self.matters(Element::Supply(id))),
            FactChoice::Deviates(input, solver) => {
                let fact = |choice| self.situation.fact(choice);
                let silent = fact(FactChoice::Silent(input, solver));
                let text = match (silent, fact(FactChoice::Bad(input, solver))) {
                    (true, _) => "nothing arrives".to_string(),
                    (false, true) => "bad".to_string(),
                    (false, false) => self.anything(input, solver),
                };
                say(self.at(Element::Input(input), solver), &text, self.sees(input, solver))
            }
            // Told with the deviation.
            FactChoice::Bad(..) | FactChoice::Silent(..) => None,
            FactChoice::LineOpen(input, solver) => self.line(input, solver, "open"),
            FactChoice::LineHeld(input, solver) => {
                self.line(input, solver, &format!("held at {}", self.anything(input, solver)))
            }
            FactChoice::ContactClosed(id) => {
                say(tag(Element::Contact(id)), "stays closed", self.matters(Element::Contact(id)))
            }
            FactChoice::CauseDeviates(cause, solver) => self.cause_seen(cause, solver),
            FactChoice::CauseSilent(..) | FactChoice::CauseSeen(..) => None,
            FactChoice::LinkDown(link, solver) => {
                say(self.at(Element::Link(link), solver), "seen as lost", self.matters(Element::Link(link)))
            }
            FactChoice::Gives(id) => self.driver(id, "gives energy".to_string()),
            FactChoice::Drives(id, position) => {
                let positions = &self.model.actuators[self.model.drivers[id].actuator].positions;
                self.driver(id, format!("drives it to {}", positions.get(position)?))
            }
            FactChoice::ActuatorLineOpen(id) => self.actuator_line(id, "open"),
            FactChoice::ActuatorLineHeld(id) => {
                let energised = self.situation.fact(FactChoice::Energised(id));
                self.actuator_line(id, if energised { "held with energy" } else { "held without energy" })
            }
            // Told with the line that is held.
            FactChoice::Energised(_) => None,
            // Told with where the devices stand.
            FactChoice::DeviceDeviates(_) if self.teller.is_some() => None,
            FactChoice::DeviceDeviates(device) => {
                let element = self.model.device_element(device);
                let word = self.model.device_positions(device).get(self.situation.position(device))?;
                say(format!("position of {}", self.tag(element)), word, self.matters(element))
            }
            FactChoice::Remembers(cause, number) => {
                let name = format!("comparison {} of {}", number + 1, tag(Element::Cause(cause)));
                say(name, "still held by its deadband", self.matters(Element::Cause(cause)))
            }
        }
    }

    fn line(&self, input: InputId, solver: SolverId, word: &str) -> Option<(String, String, bool)> {
        let (tag, to) = (self.tag(Element::Input(input)), self.tag(Element::Solver(solver)));
        Some((format!("line from {tag} to {to}"), word.to_string(), self.sees(input, solver)))
    }

    fn actuator_line(&self, id: ActuatorId, word: &str) -> Option<(String, String, bool)> {
        let element = Element::Actuator(id);
        Some((format!("line to {}", self.tag(element)), word.to_string(), self.matters(element)))
    }

    fn driver(&self, id: DriverId, text: String) -> Option<(String, String, bool)> {
        let driver = &self.model.drivers[id];
        let (actuator, solver) = (Element::Actuator(driver.actuator), Element::Solver(driver.solver));
        Some((format!("{} driven by {}", self.tag(actuator), self.tag(solver)), text, self.matters(actuator)))
    }

    fn cause_seen(&self, cause: CauseId, solver: SolverId) -> Option<(String, String, bool)> {
        let silent = self.situation.fact(FactChoice::CauseSilent(cause, solver));
        let text = match (silent, self.situation.fact(FactChoice::CauseSeen(cause, solver))) {
            (true, _) => "nothing arrives",
            (false, true) => "arrives as true",
            (false, false) => "arrives as false",
        };
        let tells = self.cone.elements.is_empty() || self.cone.knows.contains(&(cause, solver));
        Some((self.at(Element::Cause(cause), solver), text.to_string(), tells))
    }
}

impl Teller<'_> {
    /// Whether a fact that is true has any effect: nothing that overtakes it happens.
    fn takes_effect(&self, fact: FactChoice) -> bool {
        let routes = |id: ActuatorId| {
            self.model.actuators[id].routes.iter().any(|route| self.may(Source::Route(*route)))
        };
        match fact {
            FactChoice::Lost(id) => self.may(Source::Supply(id)),
            FactChoice::Deviates(input, solver) => self.deviates(input, solver),
            FactChoice::LineOpen(input, solver) | FactChoice::LineHeld(input, solver) => {
                self.disturbance(input, solver).is_some()
            }
            FactChoice::ContactClosed(id) => self.may(Source::Contact(id)),
            FactChoice::CauseDeviates(cause, solver) => {
                self.arrives_by(Signal::Cause(cause), solver).is_some()
            }
            FactChoice::Gives(id) | FactChoice::Drives(id, _) => self.is_free(id),
            FactChoice::ActuatorLineOpen(id) | FactChoice::ActuatorLineHeld(id) => {
                routes(id) && !self.stuck(Device::Actuator(id))
            }
            _ => true,
        }
    }

    /// Whether a driver may do either: its solver or a relay misbehaves, or nothing commands it; and its actuator goes
    /// where it is driven.
    fn is_free(&self, id: DriverId) -> bool {
        let driver = &self.model.drivers[id];
        let actuator = &self.model.actuators[driver.actuator];
        let commanded = self.commanded(driver);
        let open = match commanded.len() {
            0 => actuator.rest.is_none(),
            1 => false,
            _ => actuator.winner.is_none(),
        };
        self.obeys(driver.actuator) && (self.at_driver(driver).is_some() || (self.works(driver) && open))
    }
}
