//! Claims about single elements: can the trip fire, is nothing commanded both ways, do exclusions and invariants hold,
//! can people leave.

use std::collections::BTreeSet;

use super::{Decided, Work, undecided};
use crate::analysis::{Actors, Allowed, Case, Stop, cuts};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{ActuatorId, CauseId, ExclusionId, HazardId, InvariantId, Model, Source, SpaceId};
use crate::semantics::{Scope, encode};
use crate::witness;

/// What a claim about single elements says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The cause can become true.
    CanFire(CauseId),
    /// … while the hazard it is credited for is present.
    CanFireFor(CauseId, HazardId),
    /// The actuator is never commanded both ways without a winner.
    NotOpposed(ActuatorId),
    /// The combination never occurs.
    NeverOccurs(ExclusionId),
    /// The invariant holds.
    AlwaysHolds(InvariantId),
    /// Somebody in the space can leave.
    CanLeave(SpaceId),
}

/// A claim about single elements with what was decided.
#[derive(Debug, Clone)]
pub struct Single {
    /// The claim.
    pub subject: Subject,
    /// What was decided.
    pub decided: Decided,
}

const NOBODY: Actors = Actors { parties: false, overrides: false };

/// The claims about actuators, exclusions, invariants and spaces, in the file's order of each.
pub(super) fn subjects(model: &Model) -> Vec<Subject> {
    let opposed = model.actuators.ids().filter(|id| commanded_both_ways(model, *id)).map(Subject::NotOpposed);
    let mut subjects: Vec<Subject> = opposed.collect();
    subjects.extend(model.exclusions.ids().map(Subject::NeverOccurs));
    subjects.extend(model.invariants.ids().map(Subject::AlwaysHolds));
    subjects.extend(model.spaces.ids().map(Subject::CanLeave));
    subjects
}

fn commanded_both_ways(model: &Model, actuator: ActuatorId) -> bool {
    let positions: BTreeSet<usize> = model
        .causes
        .iter()
        .flat_map(|(_, cause)| &cause.demands)
        .flat_map(|effect| &model.effects[*effect].set)
        .filter(|(a, _)| *a == actuator)
        .map(|(_, position)| *position)
        .collect();
    positions.len() > 1
}

impl Work<'_> {
    /// A trip can fire, and can fire for each hazard it is credited for. A situation that shows the second shows the
    /// first, so that one is only sought where there is no other.
    pub(super) fn trip(&mut self, cause: CauseId) -> Result<(), EngineError> {
        let model = self.model;
        let mut shown = None;
        let mut for_hazards = Vec::new();
        for hazard in &model.causes[cause].credited_for {
            let subject = Subject::CanFireFor(cause, *hazard);
            let decided = self.single(subject)?;
            if let Decided::Broken(witness) = &decided {
                shown.get_or_insert_with(|| witness.situation.clone());
            }
            for_hazards.push((subject, possible(decided)));
        }
        let subject = Subject::CanFire(cause);
        let decided = match shown {
            Some(situation) => self.believe(claim(Breach::Fires(cause), BTreeSet::new(), 0), situation),
            None => self.single(subject)?,
        };
        let decided = possible(decided);
        let never = matches!(decided, Decided::Never(_));
        self.result.singles.push(Single { subject, decided });
        for (subject, decided) in for_hazards {
            // A trip that can never fire cannot fire for a hazard either: one word about it is enough.
            let decided = match never {
                true => Decided::NotApplicable("its condition can never be true at all".into()),
                false => decided,
            };
            self.result.singles.push(Single { subject, decided });
        }
        Ok(())
    }

    pub(super) fn single(&mut self, subject: Subject) -> Result<Decided, EngineError> {
        let model = self.model;
        let (breach, faults) = match subject {
            Subject::CanFire(cause) => (Breach::Fires(cause), 0),
            Subject::CanFireFor(cause, hazard) => (Breach::FiresFor(cause, hazard), 0),
            Subject::NotOpposed(actuator) => (Breach::Opposed(actuator), 0),
            Subject::NeverOccurs(exclusion) => {
                (Breach::Occurs(exclusion), model.exclusions[exclusion].fault_tolerance)
            }
            Subject::AlwaysHolds(invariant) => {
                (Breach::Broken(invariant), model.invariants[invariant].fault_tolerance)
            }
            // Any one source may be faulty; the release's own mechanism is not a source but a declared exclusion.
            Subject::CanLeave(space) => (Breach::LockedIn(space), 1),
        };
        let sources = if faults == 0 { BTreeSet::new() } else { self.universe.clone() };
        let existential = matches!(subject, Subject::CanFire(_) | Subject::CanFireFor(..));
        match self.look_for(claim(breach, sources, faults), faults, existential) {
            Ok(decided) => Ok(decided),
            Err(stop) => Ok(Decided::Undecided(undecided(stop)?)),
        }
    }

    /// The situation with the fewest faults that the claim is about, replayed; `Holds` if there is none. A situation
    /// that is only to show that something is possible (`plain`) need not be the canonical one.
    fn look_for(&mut self, claim: Claim, faults: u32, plain: bool) -> Result<Decided, Stop> {
        let model = self.model;
        let scope = Scope {
            breach: claim.breach.clone(),
            modes: &claim.modes,
            sources: &claim.faults.sources,
            initiators: claim.initiators,
        };
        let encoding = encode(model, &scope);
        self.result.couplings.extend(encoding.couplings.iter().copied());
        self.result.modes_known.extend(encoding.modes_known.iter().copied());
        let question = self.engine.open(&encoding.terms, &encoding.possible)?;
        let mut case = Case::new(encoding, question, |source| model.weight(source));
        let breach = case.encoding.breach;
        for weight in 0..=faults {
            if !case.unprotected(Allowed::Weight(weight), NOBODY)? {
                continue;
            }
            let cut: BTreeSet<Source> = case.misbehaving()?;
            let cut = cuts::minimal(&mut case, cut, NOBODY)?;
            let given = case.given(Allowed::Only(&cut), NOBODY);
            let situation = match plain {
                true => witness::any(model, &claim, &mut case, breach, &given)?,
                false => witness::canonical(model, &claim, &mut case, breach, &given)?,
            };
            return match situation {
                Some(situation) => Ok(self.believe(claim, situation)),
                None => {
                    Err(Stop::Undecided("the engine found a situation and could not find it again".into()))
                }
            };
        }
        Ok(Decided::Holds)
    }
}

fn claim(breach: Breach, sources: BTreeSet<Source>, weight: u32) -> Claim {
    let faults = Budget { sources, weight: Some(weight) };
    Claim { breach, modes: Vec::new(), faults, initiators: false, overrides: false }
}

/// Of a claim that something can happen: a situation that shows it makes it hold, and without one it never does.
fn possible(decided: Decided) -> Decided {
    match decided {
        Decided::Broken(_) => Decided::Holds,
        Decided::Holds => Decided::Never("no situation makes it true".into()),
        other => other,
    }
}
