//! A question that two engines answer differently, for whoever has to find out why: what of the model it speaks of, the
//! question itself with the names of the model, and both answers.

use std::cell::RefCell;
use std::collections::BTreeSet;

use crate::assess::{About, Assessment};
use crate::engine::{Found, smtlib};
use crate::model::{Device, Element, Id, InputId, Model, SolverId, Source as FaultSource};
use crate::outcome::Contradiction;
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::source::Source;
use crate::term::Var;

/// Every question that two engines answer differently.
pub(super) fn contradictions(model: &Model, source: &Source, assessment: &Assessment) -> Vec<Contradiction> {
    let all = assessment.contradictions.iter().map(|contradicted| {
        let names = Named { model, met: RefCell::default() };
        let question = &contradicted.contradiction;
        let text = smtlib::text(&question.terms, &question.asserted, &names);
        let met = names.met.into_inner();
        let mut depends: Vec<(usize, String)> = met
            .into_iter()
            .map(|element| {
                let name = model.name(element);
                (source.place(name.span.start).line, format!("{} {}", model.kind_word(element), name.tag))
            })
            .collect();
        depends.sort();
        Contradiction {
            about: about(model, contradicted.about),
            answers: question.answers.clone().map(|(name, found)| (name, says(found).to_string())),
            depends,
            question: text,
        }
    });
    all.collect()
}

fn says(found: Found) -> &'static str {
    match found {
        Found::Exists => "such a situation exists (sat)",
        Found::None => "there is no such situation (unsat)",
    }
}

fn about(model: &Model, about: Option<About>) -> String {
    match about {
        Some(About::Hazard(hazard, mode)) => {
            let name = &model.modes[mode].name;
            format!("The protection against {} in mode {}.", model.hazards[hazard].name.tag, name.tag)
        }
        Some(About::Single(subject)) => super::claims::single_in_words(model, subject),
        None => "The model as a whole.".into(),
    }
}

/// Names by tag; remembers of which elements there was talk.
struct Named<'m> {
    model: &'m Model,
    met: RefCell<BTreeSet<Element>>,
}

impl Named<'_> {
    fn tag(&self, element: Element) -> &str {
        self.met.borrow_mut().insert(element);
        self.model.tag(element)
    }

    fn one(&self, word: &str, element: Element) -> String {
        format!("{word} {}", self.tag(element))
    }

    fn seen(&self, word: &str, input: InputId, solver: SolverId) -> String {
        format!("{word} {} at {}", self.tag(Element::Input(input)), self.tag(Element::Solver(solver)))
    }

    fn source(&self, source: FaultSource) -> String {
        if let Some(element) = self.model.source_element(source) {
            self.met.borrow_mut().insert(element);
        }
        format!("misbehaves {}", self.model.source_tag(source))
    }

    fn device(&self, device: Device) -> &str {
        self.tag(self.model.device_element(device))
    }

    fn choice(&self, choice: ModeChoice) -> String {
        match choice {
            ModeChoice::Holds(group) => self.one("mode of", Element::Group(group)),
            ModeChoice::Shown(input, solver) => format!(
                "mode shown by {} at {}",
                self.tag(Element::ModeInput(input)),
                self.tag(Element::Solver(solver))
            ),
        }
    }

    fn fact(&self, fact: FactChoice) -> String {
        use FactChoice as F;
        let cause = |word: &str, cause, solver| {
            format!("{word} {} at {}", self.tag(Element::Cause(cause)), self.tag(Element::Solver(solver)))
        };
        match fact {
            F::Condition(id) => self.one("condition", Element::Condition(id)),
            F::AlreadySet(id) => self.one("already set", Element::Cause(id)),
            F::Pressed(id) => self.one("pressed", Element::Stop(id)),
            F::Misbehaves(source) => self.source(source),
            F::Initiator(hazard, number) => {
                format!("initiator group {} of {}", number + 1, self.tag(Element::Hazard(hazard)))
            }
            F::Overridden(device, input) => {
                format!(
                    "{} overrides {}",
                    self.tag(Element::Override(device)),
                    self.tag(Element::Input(input))
                )
            }
            F::Lost(id) => self.one("lost", Element::Supply(id)),
            F::Deviates(input, solver) => self.seen("deviates", input, solver),
            F::Bad(input, solver) => self.seen("bad", input, solver),
            F::Silent(input, solver) => self.seen("silent", input, solver),
            F::Asserted(input, solver) => self.seen("asserted", input, solver),
            F::LineOpen(input, solver) => self.seen("line open", input, solver),
            F::LineHeld(input, solver) => self.seen("line held", input, solver),
            F::ContactClosed(id) => self.one("closed", Element::Contact(id)),
            F::CauseDeviates(id, solver) => cause("cause deviates", id, solver),
            F::CauseSilent(id, solver) => cause("cause silent", id, solver),
            F::CauseSeen(id, solver) => cause("cause seen", id, solver),
            F::LinkDown(id, solver) => {
                format!("link down {} at {}", self.tag(Element::Link(id)), self.tag(Element::Solver(solver)))
            }
            F::Gives(id) => format!("driver {} gives", id.index() + 1),
            F::Drives(id, position) => {
                format!("driver {} drives to position {}", id.index() + 1, position + 1)
            }
            F::ActuatorLineOpen(id) => self.one("line open", Element::Actuator(id)),
            F::ActuatorLineHeld(id) => self.one("line held", Element::Actuator(id)),
            F::Energised(id) => self.one("energised", Element::Actuator(id)),
            F::DeviceDeviates(device) => format!("deviates {}", self.device(device)),
            F::Remembers(id, number) => {
                format!("comparison {} of {} remembers", number + 1, self.tag(Element::Cause(id)))
            }
        }
    }
}

impl smtlib::Names for Named<'_> {
    fn var(&self, var: Var) -> String {
        match var {
            Var::Fact(fact) => self.fact(fact),
            Var::ModeIs(choice, mode) => {
                format!("{} is {}", self.choice(choice), self.model.modes[mode].name.tag)
            }
            Var::PositionIs(device, position) => {
                let positions = self.model.device_positions(device);
                format!("{} at {}", self.device(device), positions.get(position).map_or("", String::as_str))
            }
            Var::OverridesPermitted => "overrides permitted".into(),
        }
    }

    fn number(&self, number: NumberChoice) -> String {
        match number {
            NumberChoice::Quantity(id) => self.one("quantity", Element::Quantity(id)),
            NumberChoice::Error(id) => self.one("error of", Element::Input(id)),
            NumberChoice::Tolerance(id) => self.one("tolerance of", Element::Passive(id)),
            NumberChoice::Reading(input, solver) => self.seen("reading", input, solver),
        }
    }
}
