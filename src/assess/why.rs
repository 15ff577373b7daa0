//! Why a proved claim holds: what its proof needs of the model.
//!
//! A proof is a question that has no answer. Here the same question is asked with everything that it may lean on as an
//! assumption of its own: each element does what it should, each coupling holds, each quantity stays in its range, each
//! fault exclusion is right. Of these the engine names some that already leave no answer, and what can be left out of
//! them one by one is left out. What remains is needed: without any one of it the others do not suffice. It need not be
//! the only such set.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::hazard::{NOBODY, OVERRIDES, PARTIES, UNDER_OVERRIDES};
use super::single::{self, Subject};
use super::{Assessment, Decided, HazardInMode, Timed, loss};
use crate::analysis::{Actors, Allowed, Alone, Case, Stop};
use crate::claim::{Breach, Timing};
use crate::engine::{Engine, EngineError};
use crate::model::{
    CauseId, Excluded, HazardId, InputAtom, InputId, ModeId, Model, Observes, Source, SpaceId,
};
use crate::outcome::Paths;
use crate::semantics::{Encoding, RestsOn, Scope, encode, encode_each};
use crate::term::TermId;

/// Which claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Of {
    /// One of the claims about a hazard in a mode, by its name in the report.
    Hazard(HazardId, ModeId, &'static str),
    /// A claim about a single element.
    Single(Subject),
}

/// Something that a proof needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Need {
    /// The element does what it should.
    Works(Source),
    /// No more than so many of the elements named with it misbehave; stands for them all.
    AtMost(u32),
    /// A fault that the model excludes does not happen.
    Excluded(Source),
    /// The mechanism of a release works, by the number of the fault exclusion that says so.
    Release(usize),
    /// A declared fact.
    Fact(RestsOn),
}

/// What one part of a proof needs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Leg {
    /// What is needed, sorted.
    pub needs: Vec<Need>,
    /// The protection of a hazard, and nothing of it that sees the hazard is needed.
    pub blind: bool,
}

/// How a claim is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// No situation breaks it; each part of the proof with what it needs.
    Proof(Vec<Leg>),
    /// A situation shows it, which the simulator has confirmed.
    Example,
    /// Many small questions; none of them is told.
    ManyCases,
    /// The engine did not find the proof again, with the reason.
    Lost(String),
}

/// What was found of parts of a proof with who may act.
type Found = (Vec<Relied>, Actors, Basis);

/// What is relied on in one part of a proof.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Relied {
    /// These work; all others may misbehave.
    On(BTreeSet<Source>),
    /// Any sources up to this weight misbehave.
    Faults(u32),
}

/// The basis of every proved claim.
///
/// # Errors
/// If the engine cannot do its work at all.
pub fn reasons(
    model: &Model,
    engine: &dyn Engine,
    assessment: &Assessment,
) -> Result<BTreeMap<Of, Basis>, EngineError> {
    let seeker =
        Seeker { model, engine, universe: model.universe(), all: model.sources().into_iter().collect() };
    let mut reasons = BTreeMap::new();
    let mut known: Vec<(HazardId, Encoding, Vec<Found>)> = Vec::new();
    for (found, timing) in asked(assessment) {
        let encoding = seeker.encoding(found, timing);
        let place = known
            .iter()
            .position(|(hazard, other, _)| *hazard == found.hazard && other.asks_the_same(&encoding))
            .unwrap_or_else(|| {
                known.push((found.hazard, encoding.clone(), Vec::new()));
                known.len() - 1
            });
        let Some((_, _, cache)) = known.get_mut(place) else { continue };
        for (claim, parts, actors) in seeker.of_hazard(found) {
            let cached = cache.iter().find(|(p, a, _)| *p == parts && *a == actors);
            let basis = match cached {
                Some((_, _, basis)) => basis.clone(),
                None => {
                    let basis = seeker.proof(encoding.clone(), &parts, actors, Some(found.hazard))?;
                    cache.push((parts, actors, basis.clone()));
                    basis
                }
            };
            let claim = match (timing, claim) {
                (None, claim) => claim,
                (Some(_), "covered") => "in-time",
                (Some(_), "fault-tolerance") => "in-time-with-faults",
                (Some(_), "disjoint-paths") => "timely-paths",
                // These are claimed without regard to time only.
                (Some(_), _) => continue,
            };
            reasons.insert(Of::Hazard(found.hazard, found.mode, claim), basis);
        }
    }
    for single in assessment.singles.iter().filter(|single| matches!(single.decided, Decided::Holds)) {
        reasons.insert(Of::Single(single.subject), seeker.of_single(single.subject)?);
    }
    Ok(reasons)
}

/// What was decided about hazards in modes: without regard to time, and with the times by which that was decided.
fn asked(assessment: &Assessment) -> Vec<(&HazardInMode, Option<&Arc<Timing>>)> {
    let mut all: Vec<(&HazardInMode, Option<&Arc<Timing>>)> =
        assessment.hazards.iter().map(|found| (found, None)).collect();
    for timed in &assessment.timed {
        let ever = assessment.hazards.iter();
        let ever = ever.filter(|ever| ever.hazard == timed.hazard && ever.mode == timed.mode);
        match &timed.decided {
            Timed::Quick => all.extend(ever.map(|found| (found, Some(&timed.timing)))),
            Timed::Decided(own) => all.push((own, Some(&timed.timing))),
            Timed::NoTime | Timed::Undecided(_) => {}
        }
    }
    all
}

struct Seeker<'m> {
    model: &'m Model,
    engine: &'m dyn Engine,
    universe: BTreeSet<Source>,
    all: BTreeSet<Source>,
}

impl Seeker<'_> {
    /// The question about a hazard in a mode in which excluded faults may happen too.
    fn encoding(&self, found: &HazardInMode, timing: Option<&Arc<Timing>>) -> Encoding {
        let modes = [found.mode];
        let breach = match timing {
            None => Breach::NotMet { hazard: found.hazard, onset: None },
            Some(timing) => Breach::Late { hazard: found.hazard, timing: timing.clone() },
        };
        encode(self.model, &Scope { breach, modes: &modes, sources: &self.all, initiators: true })
    }

    /// The proved claims about a hazard in a mode: name, what each part of the proof relies on, who may act.
    fn of_hazard(&self, found: &HazardInMode) -> Vec<(&'static str, Vec<Relied>, Actors)> {
        let required = self.model.hazards[found.hazard].required;
        let everything = || vec![Relied::On(self.universe.clone())];
        let faults = |weight: u32| match weight {
            0 => everything(),
            weight => vec![Relied::Faults(weight)],
        };
        // With more disjoint paths than faults, one path is always whole.
        let paths = |number: usize| -> Option<Vec<Relied>> {
            let numbers = found.numbers.as_ref()?;
            match numbers.paths {
                Paths::Unlimited => Some(vec![Relied::On(BTreeSet::new())]),
                Paths::Exactly(_) => {
                    let sets = numbers.path_sets.get(..number)?;
                    Some(sets.iter().map(|path| Relied::On(path.clone())).collect())
                }
            }
        };
        let tolerated = required.fault_tolerance;
        let wanted = required.disjoint_paths as usize;
        let one_more = tolerated as usize + 1;
        let light = |found: &HazardInMode| {
            found
                .numbers
                .iter()
                .flat_map(|numbers| numbers.path_sets.iter().flatten())
                .all(|source| self.model.weight(*source) == 1)
        };
        let by_paths = |number: usize| paths(number).filter(|_| light(found));
        let tolerance = by_paths(one_more).unwrap_or_else(|| faults(tolerated));
        let disjoint = paths(wanted).unwrap_or_else(everything);
        let both = paths(wanted.max(one_more)).unwrap_or_else(|| disjoint.clone());
        let rows = [
            ("covered", &found.covered, everything(), OVERRIDES),
            ("fault-tolerance", &found.tolerance, tolerance, PARTIES),
            ("disjoint-paths", &found.disjoint, disjoint, PARTIES),
            ("initiator", &found.initiator, both, PARTIES),
            ("overrides", &found.overrides, faults(required.under_overrides), UNDER_OVERRIDES),
        ];
        rows.into_iter()
            .filter(|(_, decided, ..)| matches!(decided, Decided::Holds))
            .map(|(claim, _, parts, actors)| (claim, parts, actors))
            .collect()
    }

    fn of_single(&self, subject: Subject) -> Result<Basis, EngineError> {
        let model = self.model;
        let faults = |weight: u32| match weight {
            0 => Relied::On(self.universe.clone()),
            weight => Relied::Faults(weight),
        };
        if let Some((breach, weight)) = single::breach(model, subject) {
            let scope = Scope { breach, modes: &[], sources: &self.all, initiators: false };
            let mut basis = self.proof(encode(model, &scope), &[faults(weight)], NOBODY, None)?;
            if let (Subject::CanLeave(space), Basis::Proof(legs)) = (subject, &mut basis)
                && let Some(leg) = legs.first_mut()
            {
                leg.needs.extend(self.releases(space)?);
            }
            return Ok(basis);
        }
        match subject {
            Subject::NotForced(hazard, at) => {
                let candidates = loss::candidates(model, &self.universe, at);
                let breaches: Vec<Breach> =
                    candidates.iter().map(|source| Breach::Forced { hazard, source: *source, at }).collect();
                // Every source may misbehave, so that what is not named is really not needed.
                let (mut encoding, terms) = encode_each(model, &breaches, &self.all);
                encoding.breach = encoding.terms.or(terms);
                self.proof(encoding, &[Relied::Faults(1)], NOBODY, None)
            }
            Subject::CanFire(_)
            | Subject::CanFireFor(..)
            | Subject::NotAlwaysOn(_)
            | Subject::MarksMatter(_)
            | Subject::MarkMatters(..)
            | Subject::CanRun(_)
            | Subject::RunTogether(..) => Ok(Basis::Example),
            _ => Ok(Basis::ManyCases),
        }
    }

    /// The fault exclusions of release mechanisms without which somebody could be locked in.
    fn releases(&self, space: SpaceId) -> Result<Vec<Need>, EngineError> {
        let mut needs = Vec::new();
        for (number, door) in self.model.spaces[space].doors.iter().enumerate() {
            let Some(release) = &door.escape_release else { continue };
            let named = Excluded::Release(release.name.tag.clone());
            let place = self.model.fault_exclusions.iter().position(|exclusion| exclusion.what == named);
            let Some(place) = place else { continue };
            let breach = Breach::ReleaseFails(space, number);
            let scope = Scope { breach, modes: &[], sources: &BTreeSet::new(), initiators: false };
            let encoding = encode(self.model, &scope);
            let question = self.engine.open(&encoding.terms, &encoding.possible, &[])?;
            let mut case =
                Case::new(encoding, question, |source| self.model.weight(source), Alone::default());
            // What is not decided is told rather than kept back.
            if !matches!(case.unprotected(Allowed::Nothing, NOBODY), Ok(false)) {
                needs.push(Need::Release(place));
            }
        }
        Ok(needs)
    }

    /// Finds what each part of a proof needs.
    fn proof(
        &self,
        encoding: Encoding,
        parts: &[Relied],
        actors: Actors,
        hazard: Option<HazardId>,
    ) -> Result<Basis, EngineError> {
        let leaned: BTreeSet<TermId> = encoding.rests_on.iter().map(|(term, _)| *term).collect();
        let possible: Vec<TermId> =
            encoding.possible.iter().copied().filter(|term| !leaned.contains(term)).collect();
        let question = self.engine.open(&encoding.terms, &possible, &[])?;
        let mut case = Case::new(encoding, question, |source| self.model.weight(source), Alone::default());
        let sees = hazard.map(|hazard| self.sees(hazard));
        let mut legs = Vec::new();
        for part in parts {
            match self.leg(&mut case, part, actors) {
                Ok(Some(needs)) => {
                    let blind = sees.as_ref().is_some_and(|sees| {
                        !needs.iter().any(|need| matches!(need, Need::Works(source) if sees.contains(source)))
                    });
                    legs.push(Leg { needs, blind });
                }
                Ok(None) => return Ok(Basis::Lost("the engine does not find the proof again".into())),
                Err(Stop::Undecided(reason)) => return Ok(Basis::Lost(reason)),
                // Only the first engine is asked here, which contradicts nobody.
                Err(Stop::Disputed(_)) => return Ok(Basis::Lost("two engines disagree".into())),
                Err(Stop::Failed(error)) => return Err(error),
            }
        }
        Ok(Basis::Proof(legs))
    }

    /// What one part of a proof needs; `None` if the question has an answer.
    fn leg(&self, case: &mut Case<'_>, part: &Relied, actors: Actors) -> Result<Option<Vec<Need>>, Stop> {
        let nobody_in_particular = BTreeSet::new();
        let fixed = case.given(Allowed::AllBut(&nobody_in_particular), actors);
        // In the order in which they are tried to be left out: what is declared first, so that little of it stays.
        let mut assumed: Vec<(Need, Vec<TermId>)> = Vec::new();
        let mut facts: BTreeMap<RestsOn, Vec<TermId>> = BTreeMap::new();
        for (term, fact) in &case.encoding.rests_on {
            facts.entry(*fact).or_default().push(*term);
        }
        assumed.extend(facts.into_iter().map(|(fact, terms)| (Need::Fact(fact), terms)));
        let works = |case: &mut Case<'_>, source: Source| {
            let fault = case.fault(source);
            case.encoding.terms.not(fault)
        };
        let (own, excluded): (Vec<Source>, Vec<Source>) =
            case.sources().into_iter().partition(|source| self.universe.contains(source));
        for source in excluded {
            let term = works(case, source);
            assumed.push((Need::Excluded(source), vec![term]));
        }
        match part {
            Relied::On(set) => {
                for source in own.into_iter().filter(|source| set.contains(source)) {
                    let term = works(case, source);
                    assumed.push((Need::Works(source), vec![term]));
                }
                let Some(needs) = self.least(case, &fixed, assumed)? else { return Ok(None) };
                Ok(Some(needs))
            }
            Relied::Faults(weight) => {
                let all: Vec<TermId> = assumed.iter().flat_map(|(_, terms)| terms.iter().copied()).collect();
                let mut counted: BTreeSet<Source> = own.into_iter().collect();
                for source in counted.clone() {
                    let mut fewer = counted.clone();
                    fewer.remove(&source);
                    let limit = self.at_most(case, &fewer, *weight);
                    let given: Vec<TermId> = fixed.iter().chain(&all).copied().chain([limit]).collect();
                    if !case.look(case.encoding.breach, &given)? {
                        counted = fewer;
                    }
                }
                let limit = self.at_most(case, &counted, *weight);
                let with_limit: Vec<TermId> = fixed.iter().copied().chain([limit]).collect();
                let Some(mut needs) = self.least(case, &with_limit, assumed)? else { return Ok(None) };
                if !counted.is_empty() {
                    needs.push(Need::AtMost(*weight));
                    needs.extend(counted.into_iter().map(Need::Works));
                    needs.sort();
                }
                Ok(Some(needs))
            }
        }
    }

    /// The weights of those of these that misbehave add up to at most `limit`.
    fn at_most(&self, case: &mut Case<'_>, sources: &BTreeSet<Source>, limit: u32) -> TermId {
        let mut repeated = Vec::new();
        for source in sources {
            let term = case.fault(*source);
            repeated.extend(std::iter::repeat_n(term, self.model.weight(*source) as usize));
        }
        let more = case.encoding.terms.at_least(limit as usize + 1, repeated);
        case.encoding.terms.not(more)
    }

    /// Some of what is assumed, none of which can be left out; `None` if all of it does not suffice.
    fn least(
        &self,
        case: &mut Case<'_>,
        fixed: &[TermId],
        assumed: Vec<(Need, Vec<TermId>)>,
    ) -> Result<Option<Vec<Need>>, Stop> {
        let mut kept = assumed;
        let Some(used) = self.refused(case, fixed, &kept)? else { return Ok(None) };
        kept.retain(|(_, terms)| terms.iter().any(|term| used.contains(term)));
        let mut place = 0;
        while place < kept.len() {
            let mut fewer = kept.clone();
            fewer.remove(place);
            match self.refused(case, fixed, &fewer)? {
                Some(used) => {
                    // What stood before the place was found to be needed, so it stays whatever the engine names.
                    let known: Vec<Need> = kept.iter().take(place).map(|(need, _)| *need).collect();
                    fewer.retain(|(need, terms)| {
                        known.contains(need) || terms.iter().any(|term| used.contains(term))
                    });
                    kept = fewer;
                }
                None => place += 1,
            }
        }
        let mut needs: Vec<Need> = kept.into_iter().map(|(need, _)| need).collect();
        needs.sort();
        Ok(Some(needs))
    }

    /// The terms that already leave no answer; `None` if there is one.
    fn refused(
        &self,
        case: &mut Case<'_>,
        fixed: &[TermId],
        assumed: &[(Need, Vec<TermId>)],
    ) -> Result<Option<BTreeSet<TermId>>, Stop> {
        let given: Vec<TermId> = fixed
            .iter()
            .copied()
            .chain(assumed.iter().flat_map(|(_, terms)| terms.iter().copied()))
            .collect();
        match case.look(case.encoding.breach, &given)? {
            true => Ok(None),
            false => Ok(Some(case.question.conflict(&case.encoding.terms).into_iter().collect())),
        }
    }

    /// What sees the hazard: the inputs of the causes that are credited for it, and devices that act by themselves.
    fn sees(&self, hazard: HazardId) -> BTreeSet<Source> {
        let causes = self.model.causes.iter();
        let credited = causes.filter(|(_, cause)| cause.credited_for.contains(&hazard)).map(|(id, _)| id);
        let mut open: Vec<CauseId> = credited.collect();
        let mut known: BTreeSet<CauseId> = BTreeSet::new();
        let acting = self.model.passive.iter().filter(|(_, device)| device.acts.is_some());
        let mut seen: BTreeSet<Source> = acting.map(|(id, _)| Source::Passive(id)).collect();
        while let Some(cause) = open.pop() {
            if !known.insert(cause) {
                continue;
            }
            for atom in self.model.causes[cause].when.atoms() {
                match atom {
                    InputAtom::Compare { input, .. }
                    | InputAtom::Is { input, .. }
                    | InputAtom::Bad(input) => {
                        seen.extend(self.sources_of(*input));
                    }
                    InputAtom::Cause { cause, .. } => open.push(*cause),
                    InputAtom::Overriding(_) | InputAtom::Shows(..) | InputAtom::LinkLost(_) => {}
                }
            }
        }
        seen
    }

    fn sources_of(&self, input: InputId) -> Vec<Source> {
        match &self.model.inputs[input].observes {
            Observes::Loop { contacts, .. } => {
                let contacts = contacts.iter().map(|contact| Source::Contact(*contact));
                contacts.chain([Source::LoopLine(input)]).collect()
            }
            _ => vec![Source::Input(input)],
        }
    }
}
