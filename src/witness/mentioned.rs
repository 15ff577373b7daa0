//! Which choices a question mentions: a situation consists of these and of defaults.

use std::collections::BTreeSet;

use super::modes_of;
use crate::analysis::Stop;
use crate::engine::Question;
use crate::model::{Device, ModeId, Model};
use crate::situation::{FactChoice, ModeChoice, NumberChoice, Situation};
use crate::term::{Term, Terms, Var};

/// The choices that the terms of a case mention.
#[derive(Debug, Clone, Default)]
pub struct Mentioned {
    pub(super) facts: BTreeSet<FactChoice>,
    pub(super) modes: BTreeSet<ModeChoice>,
    pub(super) devices: BTreeSet<Device>,
    pub(super) numbers: BTreeSet<NumberChoice>,
}

impl Mentioned {
    /// What these terms mention.
    pub fn of(terms: &Terms) -> Mentioned {
        let mut mentioned = Mentioned::default();
        for term in terms.all() {
            match term {
                Term::Var(Var::Fact(choice)) => {
                    mentioned.facts.insert(*choice);
                }
                Term::Var(Var::ModeIs(choice, _)) => {
                    mentioned.modes.insert(*choice);
                }
                Term::Var(Var::PositionIs(device, _)) => {
                    mentioned.devices.insert(*device);
                }
                Term::Linear(linear) => {
                    mentioned.numbers.extend(linear.sum.iter().map(|(_, number)| *number))
                }
                Term::Var(Var::OverridesPermitted)
                | Term::Constant(_)
                | Term::Not(_)
                | Term::And(_)
                | Term::Or(_)
                | Term::AtLeast(..) => {}
            }
        }
        mentioned
    }

    /// The situation that the question keeps, every choice that is mentioned.
    ///
    /// # Errors
    /// [`Stop`] if it keeps none.
    pub fn situation(
        &self,
        model: &Model,
        modes: &[ModeId],
        question: &dyn Question,
    ) -> Result<Situation, Stop> {
        let mut situation = Situation::default();
        for mode in modes {
            situation.modes.insert(ModeChoice::Holds(model.modes[*mode].group), *mode);
        }
        for number in &self.numbers {
            situation.numbers.insert(*number, question.number(*number)?);
        }
        for choice in &self.facts {
            situation.facts.insert(*choice, question.truth(Var::Fact(*choice))?);
        }
        for choice in &self.modes {
            for mode in modes_of(model, *choice) {
                if question.truth(Var::ModeIs(*choice, mode))? {
                    situation.modes.insert(*choice, mode);
                }
            }
        }
        for device in &self.devices {
            for position in 0..model.device_positions(*device).len() {
                if question.truth(Var::PositionIs(*device, position))? {
                    situation.positions.insert(*device, position);
                }
            }
        }
        Ok(situation)
    }
}
