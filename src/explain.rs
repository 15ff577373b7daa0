//! Tells a witness as a short story: what happens in the hall, step by step, with values and tags.
//!
//! Responsible for the sentences that a technician can replay and an inspector can hear read aloud, and for the same
//! situation as a list of values. What is true in the situation comes from the simulator's result, what was chosen
//! from the situation; nothing is worked out here a second time but which part misbehaves, and how a passive device
//! would have acted. Only what can matter for the claim is told ([`cone`]).
//!
//! One module per part of the story, in the order in which it is told: [`plant`], [`broken`] (with [`deeds`] and
//! [`outputs`] for what the parts do), [`before`], [`logic`], [`ending`].

mod before;
mod beside;
mod blame;
mod broken;
mod caution;
mod cone;
mod coupled;
mod deeds;
mod ending;
mod logic;
mod looking;
mod masking;
mod outputs;
mod part;
mod plant;
mod sharing;
#[cfg(test)]
mod tests;
mod values;
mod words;

use std::cell::RefCell;
use std::collections::BTreeSet;

use crate::assess::Witness;
use crate::claim::{Breach, Claim};
use crate::finding::Story;
use crate::model::{CauseId, Device, Element, HazardId, InputId, Model, SolverId, Source};
use crate::replay::Replay;
use crate::situation::{FactChoice, Situation};

use blame::Blame;
use cone::Cone;

/// The story of a witness, from what holds at the start to the end that breaks the claim.
pub fn story(model: &Model, witness: &Witness) -> Story {
    Teller::new(model, witness).told(Teller::ending)
}

/// The story of a vote that does not trip: a cause and the number of its vote, in a situation in which it is armed.
pub fn stuck_vote(model: &Model, witness: &Witness, cause: CauseId, vote: usize) -> Story {
    Teller::new(model, witness).told(|teller| teller.stuck_vote(cause, vote))
}

/// The steps by which the fault of one contact of a loop is wiped out by another.
pub fn masking(model: &Model, input: InputId) -> Vec<String> {
    masking::steps(model, input)
}

/// The parts that misbehave in a witness, by their tags, and what they do in it.
pub fn faults(model: &Model, witness: &Witness) -> (Vec<String>, Vec<String>) {
    let teller = Teller::new(model, witness);
    (teller.faults(), teller.broken())
}

/// A part on which the protection against a hazard depends, and what hangs on it.
pub fn part(model: &Model, hazard: HazardId, source: Source) -> String {
    part::line(model, hazard, source)
}

/// The situation as values: name of the choice and its value with unit, sorted by name.
///
/// Quantities, conditions and modes that can matter for the claim stand here always, every other choice only where it
/// is not what it would be by default.
pub fn values(model: &Model, claim: &Claim, situation: &Situation) -> Vec<(String, String)> {
    values::list(model, claim, situation)
}

/// One story while it is told.
struct Teller<'a> {
    model: &'a Model,
    claim: &'a Claim,
    situation: &'a Situation,
    replay: &'a Replay,
    cone: Cone,
    blame: Blame,
    /// Causes of which is told what they see and do, in the file's order.
    causes: Vec<CauseId>,
    /// Elements whose title has been told.
    introduced: RefCell<BTreeSet<Element>>,
    /// Readings that have been told with the part that makes them wrong.
    readings_told: RefCell<BTreeSet<(InputId, SolverId)>>,
}

impl<'a> Teller<'a> {
    fn new(model: &'a Model, witness: &'a Witness) -> Self {
        let mut this = Teller {
            model,
            claim: &witness.claim,
            situation: &witness.situation,
            replay: &witness.replay,
            cone: Cone::of(model, &witness.claim.breach, Some(&witness.replay.positions)),
            blame: Blame::of(model, &witness.situation),
            causes: Vec::new(),
            introduced: RefCell::default(),
            readings_told: RefCell::default(),
        };
        this.causes = this.causes_to_tell();
        this
    }

    /// The whole story, with its end.
    fn told(&self, end: impl Fn(&Self) -> Vec<String>) -> Story {
        let mut lines = self.place_and_plant();
        lines.extend(self.broken());
        lines.extend(self.before());
        lines.extend(self.logic());
        lines.extend(end(self));
        Story {
            lines,
            cautions: self.cautions(),
            values: values::used(self),
            faults: self.faults(),
            overrides: self.overrides(),
        }
    }

    fn causes_to_tell(&self) -> Vec<CauseId> {
        let cone = self.cone.causes.iter().copied();
        let mut chosen: BTreeSet<CauseId> = cone.filter(|cause| self.speaks(*cause)).collect();
        chosen.extend(self.model.causes.ids().filter(|cause| self.must_answer(*cause)));
        // What a cause refers to is part of its story.
        loop {
            let referred: BTreeSet<CauseId> =
                chosen.iter().flat_map(|cause| cone::causes_in(self.model, *cause)).collect();
            let before = chosen.len();
            chosen.extend(referred);
            if chosen.len() == before {
                return chosen.into_iter().collect();
            }
        }
    }

    /// Whether a cause must answer here, and is told whatever it does: it is credited for the hazard that is not met, or
    /// reads the stop that misses its span.
    fn must_answer(&self, id: CauseId) -> bool {
        let cause = &self.model.causes[id];
        match &self.claim.breach {
            Breach::NotMet { hazard, .. }
            | Breach::Blind(hazard)
            | Breach::Late { hazard, .. }
            | Breach::Outvoted { hazard, .. }
            | Breach::Released { hazard, .. } => cause.credited_for.contains(hazard),
            Breach::SpanMissed(stop) => {
                let contacts = &self.model.stops[*stop].contacts;
                cone::inputs_in(self.model, id).iter().any(|input| contacts.contains(input))
            }
            _ => false,
        }
    }

    /// A cause of which is told among many: the claim asks for it, or it bears on what decides and is true anywhere or
    /// misled.
    fn speaks(&self, id: CauseId) -> bool {
        let cause = &self.model.causes[id];
        let asked = self.claim.breach.cause() == Some(id);
        let known_true = self.cone.knows.iter().any(|end| end.0 == id && self.knows_true(*end));
        let misled = cone::inputs_in(self.model, id).iter().any(|input| {
            let overridden = self.overridden_by(*input).is_some();
            overridden || self.fact(FactChoice::Deviates(*input, cause.solver))
        });
        asked || (self.bears(id) && (known_true || misled || self.is_true(id)))
    }

    /// Whether a cause commands a device that decides the end; every cause does where no device decides it.
    fn bears(&self, id: CauseId) -> bool {
        self.cone.devices.is_empty() || !self.marks(id).is_empty()
    }

    /// The devices that decide the end and that a cause commands, to whatever position.
    fn marks(&self, id: CauseId) -> Vec<Device> {
        let effects = self.model.causes[id].demands.iter();
        let set: BTreeSet<Device> = effects
            .flat_map(|effect| self.model.effects[*effect].set.iter())
            .map(|(actuator, _)| Device::Actuator(*actuator))
            .collect();
        self.cone.devices.iter().copied().filter(|device| set.contains(device)).collect()
    }
}
