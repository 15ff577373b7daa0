//! The model, and situations spelled with tags.

use crate::assess::Witness;
use crate::claim::{Breach, Budget, Claim};
use crate::exact::Exact;
use crate::finding::Story;
use crate::load::load;
use crate::model::*;
use crate::replay::replay;
use crate::situation::{FactChoice, ModeChoice, NumberChoice, Situation};
use crate::source::Source as Text;

pub(super) fn hall() -> Model {
    model(include_str!("hall.yaml"))
}

pub(super) fn model(text: &str) -> Model {
    let source = Text::new("hall.yaml", text);
    load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// A situation, choice by choice, of one model.
pub(super) struct Sit<'m> {
    pub(super) m: &'m Model,
    pub(super) s: Situation,
}

macro_rules! ids {
    ($($name:ident: $variant:ident -> $id:ty;)*) => {$(
        pub(super) fn $name(model: &Model, tag: &str) -> $id {
            match model.element_by_tag(tag) {
                Some(Element::$variant(id)) => id,
                other => panic!("{tag} is {other:?}"),
            }
        }
    )*};
}
ids! {
    input: Input -> InputId;
    solver: Solver -> SolverId;
    actuator: Actuator -> ActuatorId;
    hazard: Hazard -> HazardId;
    cause: Cause -> CauseId;
    quantity: Quantity -> QuantityId;
    condition: Condition -> ConditionId;
    contact: Contact -> ContactId;
}

pub(super) fn sit(m: &Model) -> Sit<'_> {
    Sit { m, s: Situation::default() }
}

impl Sit<'_> {
    pub(super) fn is(mut self, tag: &str, written: &str) -> Self {
        let id = quantity(self.m, tag);
        let value = self.m.quantities[id].unit.to_base(&Exact::parse_decimal(written).unwrap());
        self.s.numbers.insert(NumberChoice::Quantity(id), value);
        self
    }
    /// A number in its base unit.
    pub(super) fn number(mut self, choice: NumberChoice, written: &str) -> Self {
        self.s.numbers.insert(choice, Exact::parse_decimal(written).unwrap());
        self
    }
    pub(super) fn yes(mut self, choice: FactChoice) -> Self {
        self.s.facts.insert(choice, true);
        self
    }
    pub(super) fn holds(self, tag: &str) -> Self {
        let id = condition(self.m, tag);
        self.yes(FactChoice::Condition(id))
    }
    /// An element is faulty.
    pub(super) fn faulty(self, tag: &str) -> Self {
        let sources = self.m.sources();
        let source = sources.into_iter().find(|source| self.m.source_tag(*source) == tag);
        self.yes(FactChoice::Misbehaves(source.unwrap_or_else(|| panic!("no source {tag}"))))
    }
    /// Energy through the only driver of an actuator.
    pub(super) fn gives(self, tag: &str) -> Self {
        let id = actuator(self.m, tag);
        let driver = self.m.actuators[id].drivers[0];
        self.yes(FactChoice::Gives(driver))
    }
    /// An input deviates at a solver.
    pub(super) fn deviates(self, tag: &str, at: &str) -> Self {
        let (input, solver) = (input(self.m, tag), solver(self.m, at));
        self.yes(FactChoice::Deviates(input, solver))
    }
    pub(super) fn reading(self, tag: &str, at: &str, written: &str) -> Self {
        let (input, solver) = (input(self.m, tag), solver(self.m, at));
        self.number(NumberChoice::Reading(input, solver), written)
    }
    pub(super) fn at(self, tag: &str, at: &str, choice: fn(InputId, SolverId) -> FactChoice) -> Self {
        let fact = choice(input(self.m, tag), solver(self.m, at));
        self.yes(fact)
    }
    pub(super) fn stuck(mut self, tag: &str, position: usize) -> Self {
        let device = match self.m.element_by_tag(tag) {
            Some(Element::Actuator(id)) => Device::Actuator(id),
            Some(Element::Passive(id)) => Device::Passive(id),
            other => panic!("{tag} is {other:?}"),
        };
        self.s.positions.insert(device, position);
        self.yes(FactChoice::DeviceDeviates(device))
    }
    pub(super) fn in_mode(mut self, name: &str) -> Self {
        let (mode, element) = self.m.modes.iter().find(|(_, mode)| mode.name.tag == name).unwrap();
        self.s.modes.insert(ModeChoice::Holds(element.group), mode);
        self
    }
    /// The story of a hazard that is not met.
    pub(super) fn not_met(self, tag: &str) -> Story {
        let breach = Breach::NotMet { hazard: hazard(self.m, tag), onset: None };
        self.breaks(breach)
    }
    /// The story of a breach, under a claim that allows all that the situation has.
    pub(super) fn breaks(self, breach: Breach) -> Story {
        let facts = self.s.facts.keys();
        let sources = facts.filter_map(|fact| match fact {
            FactChoice::Misbehaves(source) => Some(*source),
            _ => None,
        });
        let faults = Budget { sources: sources.collect(), weight: None };
        let claim = Claim { breach, modes: Vec::new(), faults, initiators: true, overrides: true };
        let replay = replay(self.m, &claim, &self.s).unwrap();
        assert!(replay.breaks, "{replay:#?}");
        super::super::story(self.m, &Witness { claim, situation: self.s, replay })
    }
}

/// The lines of a story read exactly like this.
pub(super) fn told(story: &Story, lines: &[&str]) {
    assert_eq!(story.lines.join("\n"), lines.join("\n"));
}

/// The story reads exactly like this.
pub(super) fn reads(story: fn(&Model) -> Story, lines: &[&str]) {
    told(&story(&hall()), lines);
}
