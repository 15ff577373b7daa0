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
mod blame;
mod broken;
mod cone;
mod deeds;
mod ending;
mod logic;
mod outputs;
mod plant;
#[cfg(test)]
mod tests;
mod values;
mod words;

use std::cell::RefCell;
use std::collections::BTreeSet;

use crate::assess::Witness;
use crate::claim::{Breach, Claim};
use crate::finding::Story;
use crate::model::{CauseId, Element, InputId, Model, SolverId};
use crate::replay::Replay;
use crate::situation::{FactChoice, Situation};

use blame::Blame;
use cone::Cone;

/// Where no hazard says which causes are credited, up to this many causes are all told; with more, those that act or
/// were misled.
const FEW: usize = 2;

/// The story of a witness, from what holds at the start to the end that breaks the claim.
pub fn story(model: &Model, witness: &Witness) -> Story {
    let teller = Teller::new(model, witness);
    let mut lines = teller.place_and_plant();
    lines.extend(teller.broken());
    lines.extend(teller.before());
    lines.extend(teller.logic());
    lines.extend(teller.ending());
    Story {
        lines,
        values: values(model, &witness.claim, &witness.situation),
        faults: teller.faults(),
        overrides: teller.overrides(),
    }
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
            cone: Cone::of(model, &witness.claim.breach),
            blame: Blame::of(model, &witness.situation),
            causes: Vec::new(),
            introduced: RefCell::default(),
            readings_told: RefCell::default(),
        };
        this.causes = this.causes_to_tell();
        this
    }

    fn causes_to_tell(&self) -> Vec<CauseId> {
        let all = &self.cone.causes;
        let mut chosen: BTreeSet<CauseId> = all.iter().copied().filter(|cause| self.speaks(*cause)).collect();
        let few = all.len() <= FEW && self.claim.breach.hazard().is_none();
        if few || chosen.is_empty() {
            return all.iter().copied().collect();
        }
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

    /// A cause of which is told among many: credited for the hazard, true anywhere, or misled.
    fn speaks(&self, id: CauseId) -> bool {
        let cause = &self.model.causes[id];
        let hazard = self.claim.breach.hazard();
        let credited = hazard.is_some_and(|hazard| cause.credited_for.contains(&hazard));
        let asked = match self.claim.breach {
            Breach::Fires(asked) | Breach::FiresFor(asked, _) | Breach::Harmed { cause: asked, .. } => {
                asked == id
            }
            _ => false,
        };
        let known_true = self.cone.knows.iter().any(|end| end.0 == id && self.knows_true(*end));
        let misled = cone::inputs_in(self.model, id).iter().any(|input| {
            let overridden = self.overridden_by(*input).is_some();
            overridden || self.fact(FactChoice::Deviates(*input, cause.solver))
        });
        credited || asked || known_true || misled || self.is_true(id)
    }
}
