//! Claims about single elements, and those of them that hold for all situations: nothing is commanded both ways, no
//! action harms, stops reach their span, exclusions and invariants hold, people can leave.

use std::collections::BTreeSet;

use super::alike::Asked;
use super::loss;
use super::time::order;
use super::{Decided, Work};
use crate::analysis::{Actors, Allowed, Case, Stop, cuts};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{
    ActuatorId, AtPosition, CauseId, Device, EffectId, Excluded, ExclusionId, HazardId, InvariantId, ModeId,
    Model, Source, SpaceId, StopId,
};
use crate::semantics::{Scope, encode, encode_each};
use crate::witness::{self, Mentioned};

/// What a claim about single elements says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// The cause can become true.
    CanFire(CauseId),
    /// … while the hazard it is credited for is present.
    CanFireFor(CauseId, HazardId),
    /// The cause is false in some normal situation in which it is armed.
    NotAlwaysOn(CauseId),
    /// In some situation only this cause commands all that it commands.
    MarksMatter(CauseId),
    /// In some situation only this cause commands this position; asked where not all marks matter at once.
    MarkMatters(CauseId, AtPosition),
    /// The vote of the cause (by its number) can trip whatever may be out of it.
    VoteCanTrip(CauseId, usize),
    /// Some normal situation of the mode contradicts no position it needs.
    CanRun(ModeId),
    /// The actuator is never commanded both ways without a winner.
    NotOpposed(ActuatorId),
    /// The actuator goes where it is commanded.
    Obeyed(ActuatorId),
    /// The hazard is met while the actuator is commanded both ways.
    LoserMet(HazardId, ActuatorId),
    /// The cause never commands a position while the hazard is present that forbids it.
    NotHarmed(HazardId, CauseId, AtPosition),
    /// No quiet loss moves the actuator to a position that the hazard forbids.
    NotForced(HazardId, AtPosition),
    /// The safe states of hazards that can be present together are compatible.
    SafeStatesCompatible,
    /// What is demanded at once does not exceed what the machines that carry together with this one can give.
    Carries(Source),
    /// Two modes of different groups can work at once.
    RunTogether(ModeId, ModeId),
    /// The hazard is met while every input that warms up shows what it shows without supply.
    MetWhileWarmingUp(HazardId),
    /// Whenever the cause fires, another one fires that ends the second effect before the first can take hold.
    Preceded(CauseId, EffectId, EffectId),
    /// Every element of the span of the stop reaches its position.
    SpanReached(StopId),
    /// The combination never occurs.
    NeverOccurs(ExclusionId),
    /// The invariant holds.
    AlwaysHolds(InvariantId),
    /// Somebody in the space can leave.
    CanLeave(SpaceId),
    /// Using the way out by a door (by its number) brings the hazard to its safe state.
    ReleaseStops(SpaceId, usize, HazardId),
}

/// A claim about single elements with what was decided.
#[derive(Debug, Clone)]
pub struct Single {
    /// The claim.
    pub subject: Subject,
    /// What was decided.
    pub decided: Decided,
    /// Sources each of which alone breaks it, where that was examined; sorted by their tags.
    pub alone: Vec<Source>,
    /// Why it was decided by one engine only, if it was.
    pub one_engine: Option<String>,
}

impl Subject {
    /// How much work it is, roughly.
    pub(super) fn size(&self) -> usize {
        match self {
            Subject::NotForced(..) | Subject::NotHarmed(..) => 350,
            Subject::ReleaseStops(..) => 500,
            // Asked together, in one question.
            _ if asked_together(*self) => 55,
            _ => 200,
        }
    }
}

const NOBODY: Actors = Actors { initiators: false, damage: false, overrides: false };

/// The claims about single elements that hold for all situations, in the order of the report, those that are asked
/// together in one part.
pub(super) fn parts(model: &Model) -> Vec<Vec<Subject>> {
    let mut parts: Vec<Vec<Subject>> = Vec::new();
    for subject in subjects(model) {
        let kind = std::mem::discriminant(&subject);
        match parts.last_mut() {
            Some(part)
                if asked_together(subject) && part.iter().all(|s| std::mem::discriminant(s) == kind) =>
            {
                part.push(subject);
            }
            _ => parts.push(vec![subject]),
        }
    }
    parts
}

/// Claims of which a model has many and that hold almost always.
fn asked_together(subject: Subject) -> bool {
    matches!(subject, Subject::NotOpposed(_) | Subject::Obeyed(_) | Subject::LoserMet(..))
}

fn subjects(model: &Model) -> Vec<Subject> {
    let torn: BTreeSet<ActuatorId> =
        model.actuators.ids().filter(|id| commanded_both_ways(model, *id)).collect();
    let mut subjects: Vec<Subject> = torn.iter().copied().map(Subject::NotOpposed).collect();
    for (id, hazard) in model.hazards.iter() {
        let named: BTreeSet<Device> = hazard.safe_state.atoms().into_iter().map(|at| at.device).collect();
        let lost = torn.iter().filter(|actuator| named.contains(&Device::Actuator(**actuator)));
        subjects.extend(lost.map(|actuator| Subject::LoserMet(id, *actuator)));
    }
    let several = model.actuators.iter().filter(|(_, actuator)| actuator.drivers.len() > 1);
    subjects.extend(several.map(|(id, _)| Subject::Obeyed(id)));
    for (id, hazard) in model.hazards.iter() {
        for at in &hazard.forbids {
            let causes = model.causes.ids().filter(|cause| demands(model, *cause, *at));
            subjects.extend(causes.map(|cause| Subject::NotHarmed(id, cause, *at)));
        }
    }
    for (id, hazard) in model.hazards.iter() {
        let moved = hazard.forbids.iter().filter(|at| matches!(at.device, Device::Actuator(_)));
        subjects.extend(moved.map(|at| Subject::NotForced(id, *at)));
    }
    subjects.push(Subject::SafeStatesCompatible);
    subjects.extend(super::capacity::subjects(model));
    subjects.extend(super::two_modes::subjects(model));
    for (later, effect) in model.effects.iter() {
        for earlier in &effect.after {
            let lacking =
                model.demanding_effect(later).filter(|id| !model.causes[*id].demands.contains(earlier));
            let led = |id: &CauseId| !order::soon_enough(model, *id, later, *earlier).is_empty();
            subjects.extend(lacking.filter(led).map(|id| Subject::Preceded(id, later, *earlier)));
        }
    }
    if model.inputs.iter().any(|(_, input)| input.warm_up.is_some()) {
        subjects.extend(model.hazards.ids().map(Subject::MetWhileWarmingUp));
    }
    let with_span = model.stops.iter().filter(|(_, stop)| !stop.brings.is_empty());
    subjects.extend(with_span.map(|(id, _)| Subject::SpanReached(id)));
    subjects.extend(model.exclusions.ids().map(Subject::NeverOccurs));
    subjects.extend(model.invariants.ids().map(Subject::AlwaysHolds));
    for (id, space) in model.spaces.iter() {
        subjects.push(Subject::CanLeave(id));
        for (number, _) in space.doors.iter().enumerate().filter(|(_, door)| door.escape_release.is_some()) {
            let behind = space.hazards_behind_doors.iter();
            subjects.extend(behind.map(|hazard| Subject::ReleaseStops(id, number, *hazard)));
        }
    }
    subjects
}

/// Whether a fault exclusion answers for the mechanism of a release.
fn excluded(model: &Model, release: &str) -> bool {
    model.fault_exclusions.iter().any(|exclusion| exclusion.what == Excluded::Release(release.to_string()))
}

fn demands(model: &Model, cause: CauseId, at: AtPosition) -> bool {
    let Device::Actuator(actuator) = at.device else { return false };
    let mut effects = model.causes[cause].demands.iter();
    effects.any(|effect| model.effects[*effect].set.contains(&(actuator, at.position)))
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

/// What breaks a claim that holds for all situations, and the weight of the faults it allows; none for the others.
pub(super) fn breach(model: &Model, subject: Subject) -> Option<(Breach, u32)> {
    Some(match subject {
        Subject::NotOpposed(actuator) => (Breach::Opposed(actuator), 0),
        Subject::Obeyed(actuator) => (Breach::Overruled(actuator), 0),
        Subject::LoserMet(hazard, actuator) => (Breach::Outvoted { hazard, actuator }, 0),
        Subject::NotHarmed(hazard, cause, at) => (Breach::Harmed { hazard, cause, at }, 0),
        Subject::MetWhileWarmingUp(hazard) => (Breach::Blind(hazard), 0),
        Subject::Preceded(cause, later, earlier) => {
            (Breach::Unled(cause, order::soon_enough(model, cause, later, earlier)), 0)
        }
        Subject::SpanReached(stop) => (Breach::SpanMissed(stop), model.stops[stop].fault_tolerance),
        Subject::NeverOccurs(exclusion) => {
            (Breach::Occurs(exclusion), model.exclusions[exclusion].fault_tolerance)
        }
        Subject::AlwaysHolds(invariant) => {
            (Breach::Broken(invariant), model.invariants[invariant].fault_tolerance)
        }
        // Any one source may be faulty; the release's own mechanism is not a source but a declared exclusion.
        Subject::CanLeave(space) => (Breach::LockedIn(space), 1),
        Subject::ReleaseStops(space, door, hazard) => (Breach::Released { space, door, hazard }, 1),
        Subject::CanFire(_)
        | Subject::CanFireFor(..)
        | Subject::NotAlwaysOn(_)
        | Subject::MarksMatter(_)
        | Subject::MarkMatters(..)
        | Subject::VoteCanTrip(..)
        | Subject::CanRun(_)
        | Subject::NotForced(..)
        | Subject::Carries(_)
        | Subject::RunTogether(..)
        | Subject::SafeStatesCompatible => return None,
    })
}

/// What is asked about a claim, where another one may be like it.
pub(super) fn asked(model: &Model, universe: &BTreeSet<Source>, subject: Subject) -> Option<Asked> {
    match subject {
        Subject::NotForced(hazard, at) => return loss::asked(model, universe, hazard, at),
        // Often refuted, and then it has to be asked under its own names all the same.
        Subject::NotHarmed(..) => return None,
        _ => {}
    }
    let (first, faults) = breach(model, subject)?;
    let mut asked = Vec::new();
    let nothing = BTreeSet::new();
    for (breach, sources) in [(first, if faults == 0 { &nothing } else { universe })]
        .into_iter()
        .chain(more(model, subject).into_iter().map(|breach| (breach, &nothing)))
        .chain(arises(subject).into_iter().map(|(breach, _)| (breach, &nothing)))
    {
        let encoding = encode(model, &Scope { breach, modes: &[], sources, initiators: false });
        let asks = vec![encoding.breach];
        asked.push((encoding, asks));
    }
    Some(Asked { of: asked, faults })
}

/// What else is asked about a claim that holds so far.
fn more(model: &Model, subject: Subject) -> Vec<Breach> {
    match subject {
        Subject::CanLeave(space) => {
            let doors = model.spaces[space].doors.iter().enumerate();
            let unanswered = doors.filter(|(_, door)| {
                let release = door.escape_release.as_ref();
                release.is_some_and(|release| !excluded(model, &release.name.tag))
            });
            unanswered.map(|(number, _)| Breach::ReleaseFails(space, number)).collect()
        }
        _ => Vec::new(),
    }
}

/// What must be able to happen for a claim to say anything, and what is said where it cannot.
fn arises(subject: Subject) -> Option<(Breach, &'static str)> {
    match subject {
        Subject::AlwaysHolds(invariant) => {
            Some((Breach::Applies(invariant), "no situation demands what it begins with"))
        }
        Subject::CanLeave(space) => {
            Some((Breach::Inside(space), "in no situation that the couplings leave is anybody inside"))
        }
        Subject::ReleaseStops(space, door, hazard) => Some((
            Breach::ReleaseUsed { space, door, hazard },
            "in no situation that the couplings leave does all that the release trips see it used where the hazard can exist",
        )),
        _ => None,
    }
}

impl<'m> Work<'m> {
    /// Several claims that hold for all situations. Most hold: one question says so of all that allow no fault, and only
    /// if something breaks one of them is each examined by itself.
    pub(super) fn singles(&mut self, subjects: &[Subject]) -> Result<(), EngineError> {
        let breaches: Vec<Breach> = subjects
            .iter()
            .filter_map(|subject| breach(self.model, *subject))
            .filter_map(|(breach, faults)| (faults == 0).then_some(breach))
            .collect();
        if breaches.len() == subjects.len() && subjects.len() > 1 {
            let (encoding, terms) = encode_each(self.model, &breaches, &BTreeSet::new());
            self.note(&encoding);
            let mut case = self.open(encoding, |_| 1)?;
            let any = case.encoding.terms.or(terms);
            let given = case.given(Allowed::Nothing, NOBODY);
            match case.possible(any, &given) {
                Ok(false) => {
                    let alone = self.decided_alone();
                    for subject in subjects {
                        self.by_one(alone.clone());
                        let decided = self.more_of(*subject)?;
                        self.tell_single(*subject, decided);
                    }
                    return Ok(());
                }
                Ok(true) => {}
                Err(stop) => {
                    // Each is examined by itself; what two engines contradict is told then.
                    if let Decided::Disputed = self.stopped(stop)? {
                        self.tell_each_disputed(subjects);
                        return Ok(());
                    }
                }
            }
        }
        subjects.iter().try_for_each(|subject| self.single(*subject))
    }

    fn tell_each_disputed(&mut self, subjects: &[Subject]) {
        for subject in subjects {
            self.tell_single(*subject, Decided::Disputed);
        }
    }

    /// One claim that holds for all situations, with what was found about it.
    pub(super) fn single(&mut self, subject: Subject) -> Result<(), EngineError> {
        match subject {
            Subject::NotForced(hazard, at) => return self.losses(hazard, at),
            Subject::SafeStatesCompatible => return self.compatible(),
            Subject::Carries(machine) => return self.carries(machine),
            Subject::RunTogether(one, other) => return self.run_together(one, other),
            _ => {}
        }
        let Some((breach, faults)) = breach(self.model, subject) else { return Ok(()) };
        let sources = if faults == 0 { BTreeSet::new() } else { self.universe.clone() };
        let decided = match self.look_for(claim(breach, sources, faults), faults) {
            Ok(Decided::Holds) => self.more_of(subject)?,
            Ok(decided) => decided,
            Err(stop) => self.stopped(stop)?,
        };
        self.tell_single(subject, decided);
        Ok(())
    }

    /// What else belongs to a claim that holds so far: it must have situations to hold in, and the one fault may be that of
    /// an escape release, unless a fault exclusion answers for its mechanism.
    fn more_of(&mut self, subject: Subject) -> Result<Decided, EngineError> {
        if let Some((breach, reason)) = arises(subject) {
            match self.can_happen(claim(breach, BTreeSet::new(), 0), 0) {
                Ok(Decided::Holds) => {}
                Ok(Decided::Never(_)) => return Ok(Decided::NotApplicable(reason.into())),
                Ok(other) => return Ok(other),
                Err(stop) => return self.stopped(stop),
            }
        }
        for breach in more(self.model, subject) {
            match self.look_for(claim(breach, BTreeSet::new(), 0), 0) {
                Ok(Decided::Holds) => {}
                Ok(other) => return Ok(other),
                Err(stop) => return self.stopped(stop),
            }
        }
        Ok(Decided::Holds)
    }

    /// The canonical situation with the fewest faults that the claim is about, replayed; `Holds` if there is none.
    pub(super) fn look_for(&mut self, claim: Claim, faults: u32) -> Result<Decided, Stop> {
        let model = self.model;
        // Damage that is certain costs nothing, and belongs to every budget of faults.
        let actors = Actors { overrides: claim.overrides, damage: true, ..NOBODY };
        let mut case = self.opened(&claim)?;
        let breach = case.encoding.breach;
        for weight in 0..=faults {
            if !case.unprotected(Allowed::Weight(weight), actors)? {
                continue;
            }
            let order = self.by_tags(&case);
            let cut = cuts::first(&mut case, weight, &order, actors)?;
            let given = case.given(Allowed::Only(&cut), actors);
            return match witness::canonical(model, &claim, &mut case, breach, &given)? {
                Some(situation) => Ok(self.believe(claim, situation)),
                None => {
                    Err(Stop::Undecided("the engine found a situation and could not find it again".into()))
                }
            };
        }
        Ok(Decided::Holds)
    }

    /// The question about a claim.
    fn opened(&mut self, claim: &Claim) -> Result<Case<'m>, EngineError> {
        let model = self.model;
        let encoding = encode(
            model,
            &Scope {
                breach: claim.breach.clone(),
                modes: &claim.modes,
                sources: &claim.faults.sources,
                initiators: claim.initiators,
            },
        );
        self.note(&encoding);
        self.open(encoding, |source| model.weight(source))
    }

    /// The sources of a question, in the order of their tags.
    pub(super) fn by_tags(&self, case: &Case<'_>) -> Vec<Source> {
        let mut sources: Vec<Source> = case.sources().into_iter().collect();
        sources.sort_by_cached_key(|source| self.model.source_tag(*source));
        sources
    }

    /// Whether what breaks the claim can happen: `Holds` with some situation that the simulator confirms and nobody is told.
    pub(super) fn can_happen(&mut self, claim: Claim, faults: u32) -> Result<Decided, Stop> {
        let actors = Actors { overrides: claim.overrides, ..NOBODY };
        let mut case = self.opened(&claim)?;
        let mentioned = Mentioned::of(&case.encoding.terms);
        if !case.unprotected(Allowed::Weight(faults), actors)? {
            return Ok(Decided::Never("no situation makes it true".into()));
        }
        case.keep()?;
        let situation = mentioned.situation(self.model, &claim.modes, case.question.as_ref())?;
        Ok(match self.believe(claim, situation) {
            Decided::Broken(_) => Decided::Holds,
            other => other,
        })
    }
}

fn claim(breach: Breach, sources: BTreeSet<Source>, weight: u32) -> Claim {
    let faults = Budget { sources, weight: Some(weight) };
    Claim { breach, modes: Vec::new(), faults, initiators: false, overrides: false }
}
