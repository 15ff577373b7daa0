//! One hazard in one mode with regard to time: what is met in time, and which trips are too slow.
//!
//! Where everything is quick the claims are those without regard to time, and are not asked again. Elsewhere it is asked
//! first whether what holds without regard to time still holds; only where it does not are the numbers sought anew. Unknown times are taken
//! as too long first; what fails then is asked again with 0 s, so that a verdict never rests on a time that nobody knows.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::hazard::{NOBODY, OVERRIDES, PARTIES, UNDER_OVERRIDES};
use super::{About, Decided, HazardInMode, Work};
use crate::analysis::{Allowed, Stop, extent};
use crate::claim::{Breach, Budget, Claim, Extent, Timing, Unknown};
use crate::engine::EngineError;
use crate::exact::Exact;
use crate::model::{
    Access, ActsOn, CauseId, ConditionId, Device, Element, GroupId, HazardId, InputAtom, LinkId, ModeId,
    Model, Observes, PlantAtom, QuantityId, Relation, Signal, SolverId, Source, Time, Tree,
};
use crate::outcome::{Paths, Tolerance};
use crate::semantics::{Acts, Compared, Encoding, Onset, Scope, acts, encode, head_start};
use crate::term::TermId;

/// What was decided about one hazard in one mode with regard to time.
#[derive(Debug, Clone)]
pub struct InTime {
    /// The hazard.
    pub hazard: HazardId,
    /// The mode.
    pub mode: ModeId,
    /// What was decided.
    pub decided: Timed,
    /// Elements of which it is unknown how long they take, and on which something undecided depends.
    pub unknown: BTreeSet<Element>,
    /// Of each cause that is credited for the hazard and commands something of its safe state: whether it can do so in time.
    pub acts: BTreeMap<CauseId, Decided>,
    /// Of a cause of which that is undecided: the elements on whose unknown times it depends.
    pub acts_unknown: BTreeMap<CauseId, BTreeSet<Element>>,
    /// Why something of that was decided by one engine only, if it was.
    pub one_engine: Option<String>,
    /// What the times were worked out with; without regard to unknown times.
    pub timing: Arc<Timing>,
}

/// How the claims of a hazard stand with regard to time.
#[derive(Debug, Clone)]
pub enum Timed {
    /// The model gives no time for it.
    NoTime,
    /// Everything is quick: as without regard to time.
    Quick,
    /// They were decided by themselves.
    Decided(Box<HazardInMode>),
    /// They could not be worked out, with the reason.
    Undecided(String),
}

/// Whether the model gives a time for the hazard.
pub fn has_time(model: &Model, hazard: HazardId) -> bool {
    let hazard = &model.hazards[hazard];
    hazard.within != Time::Unknown || hazard.after_set_point.is_some()
}

/// A question that was answered before: modes often ask the same, and bays that are built alike.
struct Earlier {
    encoding: Encoding,
    /// The path sets that protect in time, as terms.
    paths: BTreeSet<BTreeSet<TermId>>,
}

/// Path sets as terms of a question; sources that do not occur in it make no difference.
fn as_terms(paths: &[BTreeSet<Source>], encoding: &Encoding) -> BTreeSet<BTreeSet<TermId>> {
    let terms = |path: &BTreeSet<Source>| {
        path.iter().filter_map(|source| encoding.faults.get(source).copied()).collect()
    };
    paths.iter().map(terms).collect()
}

impl Work<'_> {
    /// Decides the claims about time of hazards that are much alike, in all their modes; `ever`: what was decided without
    /// regard to time.
    pub(super) fn in_time(&mut self, hazards: &[HazardId], ever: &[HazardInMode]) -> Result<(), EngineError> {
        let mut confirmed: Vec<Earlier> = Vec::new();
        hazards.iter().try_for_each(|hazard| self.hazard_in_time(*hazard, ever, &mut confirmed))
    }

    fn hazard_in_time(
        &mut self,
        hazard: HazardId,
        ever: &[HazardInMode],
        confirmed: &mut Vec<Earlier>,
    ) -> Result<(), EngineError> {
        let model = self.model;
        let mut extents: Vec<(Encoding, BTreeMap<QuantityId, Extent>)> = Vec::new();
        for mode in &model.hazards[hazard].exists_in {
            let mut found = InTime {
                hazard,
                mode: *mode,
                decided: Timed::NoTime,
                unknown: BTreeSet::new(),
                acts: BTreeMap::new(),
                acts_unknown: BTreeMap::new(),
                one_engine: None,
                timing: Arc::new(Timing { extents: Vec::new(), unknown: Unknown::TooLong }),
            };
            let ever = ever.iter().find(|ever| ever.hazard == hazard && ever.mode == *mode);
            if let (true, Some(ever)) = (has_time(model, hazard), ever) {
                match self.extents(hazard, *mode, &mut extents) {
                    Ok(extents) => self.timed(&mut found, ever, extents, confirmed)?,
                    Err(stop) => {
                        found.decided = match self.stopped(stop)? {
                            Decided::Undecided(reason) => Timed::Undecided(reason),
                            _ => Timed::Undecided("two engines disagree".into()),
                        }
                    }
                }
            }
            self.about(About::Hazard(hazard, *mode));
            found.one_engine = self.decided_alone();
            self.result.timed.push(found);
        }
        Ok(())
    }

    fn timed(
        &mut self,
        found: &mut InTime,
        ever: &HazardInMode,
        extents: Vec<BTreeMap<QuantityId, Extent>>,
        confirmed: &mut Vec<Earlier>,
    ) -> Result<(), EngineError> {
        let timing = |unknown| Arc::new(Timing { extents: extents.clone(), unknown });
        let (long, none) = (timing(Unknown::TooLong), timing(Unknown::Nothing));
        found.timing = long.clone();
        found.decided = self.decided(found, ever, &long, &none, confirmed)?;
        self.acting(found, &long, &none)
    }

    fn decided(
        &mut self,
        found: &mut InTime,
        ever: &HazardInMode,
        long: &Arc<Timing>,
        none: &Arc<Timing>,
        confirmed: &mut Vec<Earlier>,
    ) -> Result<Timed, EngineError> {
        let place = (found.hazard, found.mode);
        let (breach, encoding) = self.late(place, long);
        if encoding.quick || ever.impossible(self.model.hazards[found.hazard].onset.len()) {
            return Ok(Timed::Quick);
        }
        let model = self.model;
        let paths = ever.numbers.as_ref().map(|numbers| as_terms(&numbers.path_sets, &encoding));
        let paths = paths.unwrap_or_default();
        let same = |earlier: &Earlier| {
            earlier.paths == paths && earlier.encoding.alike(&encoding, |source| model.weight(source))
        };
        if self.may_be_as_ever(ever) && confirmed.iter().any(same) {
            return Ok(Timed::Quick);
        }
        let unknown = encoding.unknown_times.clone();
        match self.as_ever(ever, &encoding) {
            Ok(true) => {
                let one_engine = self.decided_alone();
                if one_engine.is_none() {
                    confirmed.push(Earlier { encoding, paths });
                    return Ok(Timed::Quick);
                }
            }
            Ok(false) => {}
            Err(stop) => {
                if let Decided::Undecided(reason) = self.stopped(stop)? {
                    return Ok(Timed::Undecided(reason));
                }
                return Ok(Timed::Undecided("two engines disagree".into()));
            }
        }
        let late = self.hazard_in_mode(place, breach, encoding)?;
        if unknown.is_empty() || all_hold(&late) {
            return Ok(Timed::Decided(Box::new(late)));
        }
        let (breach, encoding) = self.late(place, none);
        let merged = match encoding.quick {
            // With 0 s everything is quick, so all that fails hangs on what is unknown.
            true => open(late),
            false => merged(late, self.hazard_in_mode(place, breach, encoding)?),
        };
        if !settled(&merged) {
            found.unknown.extend(unknown);
        }
        Ok(Timed::Decided(Box::new(merged)))
    }

    fn late(&mut self, (hazard, mode): (HazardId, ModeId), timing: &Arc<Timing>) -> (Breach, Encoding) {
        let breach = Breach::Late { hazard, timing: timing.clone() };
        let modes = [mode];
        let scope = Scope { breach: breach.clone(), modes: &modes, sources: self.universe, initiators: true };
        let encoding = encode(self.model, &scope);
        self.note(&encoding);
        (breach, encoding)
    }

    /// Whether everything holds without regard to time, and path sets show it.
    fn may_be_as_ever(&self, ever: &HazardInMode) -> bool {
        let Some(numbers) = &ever.numbers else { return false };
        all_hold(ever)
            && matches!(numbers.tolerance, Tolerance::Exactly(_))
            && matches!(numbers.paths, Paths::Exactly(paths) if paths > 0 && paths == numbers.path_sets.len())
    }

    /// Whether all that holds without regard to time holds in time, with the same two numbers. What is met in time is met,
    /// so the numbers are never greater: it is enough that the same disjoint path sets still protect, and that as many
    /// faults are tolerated. `false` says nothing.
    fn as_ever(&mut self, ever: &HazardInMode, encoding: &Encoding) -> Result<bool, Stop> {
        let (true, Some(numbers)) = (self.may_be_as_ever(ever), &ever.numbers) else { return Ok(false) };
        let (Paths::Exactly(paths), Tolerance::Exactly(tolerated)) = (numbers.paths, numbers.tolerance)
        else {
            return Ok(false);
        };
        let model = self.model;
        let mut case = self.open(encoding.clone(), |source| model.weight(source))?;
        if case.unprotected(Allowed::Nothing, OVERRIDES)? {
            return Ok(false);
        }
        for path in &numbers.path_sets {
            if case.unprotected(Allowed::AllBut(path), PARTIES)? {
                return Ok(false);
            }
        }
        // A fault defeats one path at most, so that many paths tolerate one fault less.
        if u64::from(tolerated) + 1 != paths as u64
            && case.unprotected(Allowed::Weight(tolerated), PARTIES)?
        {
            return Ok(false);
        }
        let under = model.hazards[ever.hazard].required.under_overrides;
        let overridden = case.encoding.overrides_permitted.is_some() && (under > 0 || case.has_damage());
        Ok(!overridden || !case.unprotected(Allowed::Weight(under), UNDER_OVERRIDES)?)
    }

    /// Whether each credited trip can act in time.
    fn acting(
        &mut self,
        found: &mut InTime,
        long: &Arc<Timing>,
        none: &Arc<Timing>,
    ) -> Result<(), EngineError> {
        let model = self.model;
        let credited: Vec<CauseId> =
            model.causes.ids().filter(|id| model.causes[*id].credited_for.contains(&found.hazard)).collect();
        let modes = [found.mode];
        for (cause, with_long) in acts(model, &credited, found.hazard, &modes, long).0 {
            let decided = match self.acts_with(cause, found, long, with_long)? {
                Decided::Never(reason) => {
                    let (with_none, unknown) = acts(model, &[cause], found.hazard, &modes, none);
                    let with_none = with_none.get(&cause).copied().unwrap_or(Acts::TooSlow);
                    match self.acts_with(cause, found, none, with_none)? {
                        Decided::Holds => {
                            found.acts_unknown.insert(cause, unknown);
                            Decided::Undecided(UNKNOWN.into())
                        }
                        _ => Decided::Never(reason),
                    }
                }
                decided => decided,
            };
            found.acts.insert(cause, decided);
        }
        Ok(())
    }

    fn acts_with(
        &mut self,
        cause: CauseId,
        found: &InTime,
        timing: &Arc<Timing>,
        acts: Acts,
    ) -> Result<Decided, EngineError> {
        let never = || Decided::Never("nothing that it commands is there in time".into());
        Ok(match acts {
            Acts::InTime => Decided::Holds,
            Acts::TooSlow => never(),
            Acts::Perhaps => {
                let breach = Breach::ActsInTime { cause, hazard: found.hazard, timing: timing.clone() };
                let (modes, faults) = (vec![found.mode], Budget::none());
                let claim = Claim { breach, modes, faults, initiators: false, overrides: false };
                match self.look_for(claim, 0) {
                    Ok(Decided::Broken(_)) => Decided::Holds,
                    Ok(Decided::Holds) => never(),
                    Ok(other) => other,
                    Err(stop) => self.stopped(stop)?,
                }
            }
        })
    }

    /// For each onset case, how far the quantities reach that can give a head start; `known` are questions that were
    /// answered before.
    fn extents(
        &mut self,
        hazard: HazardId,
        mode: ModeId,
        known: &mut Vec<(Encoding, BTreeMap<QuantityId, Extent>)>,
    ) -> Result<Vec<BTreeMap<QuantityId, Extent>>, Stop> {
        let model = self.model;
        let quantities: Vec<QuantityId> = compared(model, hazard)
            .into_iter()
            .filter(|q| model.quantities[*q].rises.is_some() || model.quantities[*q].falls.is_some())
            .collect();
        let mut all = Vec::new();
        for onset in 0..model.hazards[hazard].onset.len() {
            let mut extents = BTreeMap::new();
            let mut others = Vec::new();
            let reached = reached(model, hazard, onset);
            for quantity in quantities.iter().filter(|q| reached.contains(&Fact::Quantity(**q))) {
                match plain_extent(model, hazard, onset, *quantity) {
                    Some(plain) => {
                        extents.insert(*quantity, plain);
                    }
                    None => others.push(*quantity),
                }
            }
            if !others.is_empty() {
                extents.extend(self.asked_extents((hazard, mode), onset, &others, known)?);
            }
            all.push(extents);
        }
        Ok(all)
    }

    fn asked_extents(
        &mut self,
        (hazard, mode): (HazardId, ModeId),
        onset: usize,
        quantities: &[QuantityId],
        known: &mut Vec<(Encoding, BTreeMap<QuantityId, Extent>)>,
    ) -> Result<BTreeMap<QuantityId, Extent>, Stop> {
        let nothing = BTreeSet::new();
        let modes = [mode];
        let breach = Breach::Exists { hazard, onset };
        let scope = Scope { breach, modes: &modes, sources: &nothing, initiators: false };
        let encoding = encode(self.model, &scope);
        self.note(&encoding);
        if let Some((_, extents)) = known.iter().find(|(other, _)| other.asks_the_same(&encoding)) {
            return Ok(extents.clone());
        }
        let mut case = self.open(encoding.clone(), |_| 1)?;
        let what = case.encoding.breach;
        let given = case.given(Allowed::Nothing, NOBODY);
        let mut extents = BTreeMap::new();
        for quantity in quantities {
            if let Some(extent) = extent::of(&mut case, *quantity, what, &given)? {
                extents.insert(*quantity, extent);
            }
        }
        known.push((encoding, extents.clone()));
        Ok(extents)
    }
}

/// The quantities that the trips of a hazard and its passive devices compare.
fn compared(model: &Model, hazard: HazardId) -> BTreeSet<QuantityId> {
    let mut found = BTreeSet::new();
    let mut open: Vec<CauseId> = Vec::new();
    for at in model.hazards[hazard].safe_state.atoms() {
        match at.device {
            Device::Passive(id) => {
                if let Some((ActsOn::Quantity { quantity, .. }, _)) = &model.passive[id].acts {
                    found.insert(*quantity);
                }
            }
            Device::Actuator(id) => open.extend(model.causes.iter().filter_map(|(cause, element)| {
                let sets = |effect: &crate::model::EffectId| {
                    model.effects[*effect].set.iter().any(|(actuator, _)| *actuator == id)
                };
                element.demands.iter().any(sets).then_some(cause)
            })),
        }
    }
    let mut seen = BTreeSet::new();
    while let Some(cause) = open.pop() {
        if !seen.insert(cause) {
            continue;
        }
        for atom in model.causes[cause].when.atoms() {
            match atom {
                InputAtom::Compare { input, .. } => {
                    if let Observes::Quantity { quantity, .. } = &model.inputs[*input].observes {
                        found.insert(*quantity);
                    }
                }
                InputAtom::Cause { cause, .. } => open.push(*cause),
                _ => {}
            }
        }
    }
    found
}

/// What an onset case or a coupling speaks of. The mode of the hazard's own group is fixed, and connects nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fact {
    Quantity(QuantityId),
    Condition(ConditionId),
    Group(GroupId),
}

/// Everything of which an onset case says something, directly or through couplings. What it does not reach may be normal
/// while harm begins, so that it gives no head start.
fn reached(model: &Model, hazard: HazardId, onset: usize) -> BTreeSet<Fact> {
    let element = &model.hazards[hazard];
    let facts = |atom: &PlantAtom| -> Vec<Fact> {
        match atom {
            PlantAtom::Linear { sum, .. } => sum.iter().map(|(_, q)| Fact::Quantity(*q)).collect(),
            PlantAtom::Condition(condition) => vec![Fact::Condition(*condition)],
            PlantAtom::Mode(mode) if model.modes[*mode].group == element.group => Vec::new(),
            PlantAtom::Mode(mode) => vec![Fact::Group(model.modes[*mode].group)],
        }
    };
    let case = element.onset.get(onset).into_iter().flatten();
    let mut reached: BTreeSet<Fact> = case.flat_map(|(atom, _)| facts(atom)).collect();
    for other in &element.never_together {
        reached.extend(model.hazards[*other].when.atoms().into_iter().flat_map(facts));
    }
    let couplings: Vec<BTreeSet<Fact>> = model
        .couplings
        .iter()
        .map(|(_, coupling)| coupling.holds.atoms().into_iter().flat_map(facts).collect())
        .collect();
    loop {
        let before = reached.len();
        for coupling in &couplings {
            if coupling.iter().any(|fact| reached.contains(fact)) {
                reached.extend(coupling);
            }
        }
        if reached.len() == before {
            return reached;
        }
    }
}

/// The extent of a quantity that only the onset case itself bounds; `None` where it takes an engine.
fn plain_extent(model: &Model, hazard: HazardId, onset: usize, quantity: QuantityId) -> Option<Extent> {
    let element = &model.hazards[hazard];
    let names = |atom: &PlantAtom| match atom {
        PlantAtom::Linear { sum, .. } => sum.iter().any(|(_, q)| *q == quantity),
        PlantAtom::Condition(_) | PlantAtom::Mode(_) => false,
    };
    let coupled = model.couplings.iter().any(|(_, coupling)| coupling.holds.atoms().into_iter().any(names));
    if coupled || !element.never_together.is_empty() {
        return None;
    }
    let range = &model.quantities[quantity].range;
    let mut extent = Extent { least: range.low.clone(), greatest: range.high.clone() };
    for (atom, holds) in element.onset.get(onset)? {
        let PlantAtom::Linear { sum, relation, bound } = atom else { continue };
        if !names(atom) {
            continue;
        }
        let [(factor, _)] = sum.as_slice() else { return None };
        let bound = bound.checked_div(factor)?;
        let relation = if *holds { *relation } else { relation.negated() };
        let relation = if factor.is_negative() { relation.mirrored() } else { relation };
        if matches!(relation, Relation::AtLeast | Relation::Above | Relation::Equal) {
            extent.least = extent.least.max(bound.clone());
        }
        if matches!(relation, Relation::AtMost | Relation::Below | Relation::Equal) {
            extent.greatest = extent.greatest.min(bound);
        }
    }
    Some(extent)
}

fn claims(found: &HazardInMode) -> [&Decided; 6] {
    [&found.unaided, &found.covered, &found.tolerance, &found.disjoint, &found.initiator, &found.overrides]
}

fn all_hold(found: &HazardInMode) -> bool {
    claims(found).iter().all(|decided| matches!(decided, Decided::Holds | Decided::NotApplicable(_)))
}

fn settled(found: &HazardInMode) -> bool {
    claims(found).iter().all(|decided| !matches!(decided, Decided::Undecided(_)))
}

const UNKNOWN: &str = "a time that it needs is unknown";

/// What holds with unknown times too long holds, what fails with 0 s fails; the rest depends on them.
fn merged(late: HazardInMode, early: HazardInMode) -> HazardInMode {
    let decide = |late: Decided, early: Decided| match (late, early) {
        (Decided::Holds, _) => Decided::Holds,
        (_, early @ (Decided::Broken(_) | Decided::Undecided(_) | Decided::Disputed)) => early,
        (late @ Decided::NotApplicable(_), _) => late,
        _ => Decided::Undecided(UNKNOWN.into()),
    };
    let same = match (&late.numbers, &early.numbers) {
        (Some(late), Some(early)) => late.tolerance == early.tolerance && late.paths == early.paths,
        _ => false,
    };
    HazardInMode {
        unaided: decide(late.unaided, early.unaided),
        covered: decide(late.covered, early.covered),
        tolerance: decide(late.tolerance, early.tolerance),
        disjoint: decide(late.disjoint, early.disjoint),
        initiator: decide(late.initiator, early.initiator),
        overrides: decide(late.overrides, early.overrides),
        numbers: late.numbers.filter(|_| same),
        alone: early.alone,
        one_engine: late.one_engine.or(early.one_engine),
        each: early.each,
        hazard: late.hazard,
        mode: late.mode,
        impossible_onsets: late.impossible_onsets,
    }
}

/// Everything that fails is open.
fn open(late: HazardInMode) -> HazardInMode {
    let decide = |decided: Decided| match decided {
        Decided::Broken(_) => Decided::Undecided(UNKNOWN.into()),
        other => other,
    };
    HazardInMode {
        unaided: decide(late.unaided),
        covered: decide(late.covered),
        tolerance: decide(late.tolerance),
        disjoint: decide(late.disjoint),
        initiator: decide(late.initiator),
        overrides: decide(late.overrides),
        numbers: None,
        alone: None,
        each: Vec::new(),
        ..late
    }
}

/// One stage of a trip: what takes time, and how long; `None` where that is unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// The element.
    pub element: Element,
    /// What it does.
    pub what: &'static str,
    /// Seconds.
    pub time: Option<Exact>,
}

/// What a trip needs, against what its hazard leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Margin {
    /// The stages, from the reading that decides when the trip acts to the slowest element of the safe state.
    pub stages: Vec<Stage>,
    /// Usable part of the head start of that reading.
    pub ahead: Exact,
    /// Usable part of the time after harm begins; `None` where it is unknown.
    pub after: Option<Exact>,
}

impl Margin {
    /// The sum of all stages; `None` where one is unknown.
    pub fn needs(&self) -> Option<Exact> {
        self.stages.iter().try_fold(Exact::zero(), |sum, stage| Some(&sum + stage.time.as_ref()?))
    }

    /// What is available: f · (head start + T − E); `None` where that is unknown.
    pub fn available(&self) -> Option<Exact> {
        Some(&self.ahead + self.after.as_ref()?)
    }

    /// What is left: below 0 where it is too slow.
    pub fn left(&self) -> Option<Exact> {
        Some(&self.available()? - &self.needs()?)
    }

    /// Needed and available, for people.
    pub fn figures(&self) -> Option<(String, String)> {
        Some((seconds(&self.needs()?), seconds(&self.available()?)))
    }
}

/// Seconds with as many digits as help: to a hundredth, where it is that short to a thousandth.
pub fn seconds(time: &Exact) -> String {
    let whole = time.abs() >= Exact::int(1);
    let scale = Exact::int(if whole { 100 } else { 1000 });
    let half = Exact::ratio(1, 2).unwrap_or_else(Exact::zero);
    let steps = (&(&time.abs() * &scale) + &half).floor();
    let near = steps.checked_div(&scale).unwrap_or_else(Exact::zero);
    let near = if time.is_negative() { -&near } else { near };
    near.to_string()
}

/// What a cause needs for the slowest element of the safe state that it commands, in the onset case that leaves least.
/// `None` where it commands nothing of it.
pub fn margin(model: &Model, timed: &InTime, cause: CauseId) -> Option<Margin> {
    let after = available(model, timed.hazard);
    let cases = 0..model.hazards[timed.hazard].onset.len();
    let all = cases.filter_map(|number| {
        let onset = Onset { hazard: timed.hazard, number, timing: &timed.timing };
        let chains = commands(model, timed.mode, onset, cause);
        let slowest = chains.into_iter().max_by(|a, b| a.cost().cmp(&b.cost()))?;
        Some(Margin { stages: slowest.stages, ahead: slowest.ahead, after: after.clone() })
    });
    all.min_by(|a, b| a.left().cmp(&b.left()))
}

/// What a passive device of the safe state needs.
pub fn margin_of_device(model: &Model, timed: &InTime, id: crate::model::PassiveId) -> Option<Margin> {
    let passive = &model.passive[id];
    let (on, _) = passive.acts.as_ref()?;
    let after = available(model, timed.hazard);
    let stage = Stage { element: Element::Passive(id), what: "moves", time: known(&passive.moves_in) };
    let cases = 0..model.hazards[timed.hazard].onset.len();
    let all = cases.map(|number| {
        let onset = Onset { hazard: timed.hazard, number, timing: &timed.timing };
        let start = match on {
            ActsOn::Quantity { quantity, relation, bound, accuracy } => {
                let compared =
                    Compared { quantity: *quantity, relation: *relation, set_point: bound, accuracy };
                head_start(model, compared, onset, Some(timed.mode)).unwrap_or_else(Exact::zero)
            }
            ActsOn::Condition { .. } => Exact::zero(),
        };
        let ahead = &model.hazards[timed.hazard].usable * &start;
        Margin { stages: vec![stage.clone()], ahead, after: after.clone() }
    });
    all.min_by(|a, b| a.left().cmp(&b.left()))
}

/// A way from a reading to an element.
#[derive(Debug, Clone)]
struct Chain {
    stages: Vec<Stage>,
    ahead: Exact,
}

impl Chain {
    /// From before: what takes no time.
    fn new() -> Self {
        Chain { stages: Vec::new(), ahead: Exact::zero() }
    }

    /// When it is there, counted from the beginning of harm; unknown is later than everything.
    fn cost(&self) -> (bool, Exact) {
        let sum = self.stages.iter().try_fold(Exact::zero(), |sum, stage| Some(&sum + stage.time.as_ref()?));
        match sum {
            Some(sum) => (false, &sum - &self.ahead),
            None => (true, Exact::zero()),
        }
    }

    fn then(mut self, element: Element, what: &'static str, time: &Time) -> Self {
        if *time != Time::Known(Exact::zero()) {
            self.stages.push(Stage { element, what, time: known(time) });
        }
        self
    }
}

fn known(time: &Time) -> Option<Exact> {
    match time {
        Time::Known(time) => Some(time.clone()),
        Time::Unknown => None,
    }
}

/// A way for each element of the safe state that the cause commands.
fn commands(model: &Model, mode: ModeId, onset: Onset<'_>, cause: CauseId) -> Vec<Chain> {
    let element = &model.causes[cause];
    let mut all = Vec::new();
    for at in model.hazards[onset.hazard].safe_state.atoms() {
        let Device::Actuator(actuator) = at.device else { continue };
        let marks: Vec<crate::model::EffectId> = element
            .demands
            .iter()
            .copied()
            .filter(|effect| model.effects[*effect].set.contains(&(actuator, at.position)))
            .collect();
        let drivers = model.actuators[actuator].drivers.iter().map(|driver| model.drivers[*driver].solver);
        let solver = drivers.min_by_key(|solver| links(model, Signal::Cause(cause), *solver).len());
        let (Some(solver), false) = (solver, marks.is_empty()) else { continue };
        let mut chain = of_cause(model, mode, onset, cause, 0);
        for link in links(model, Signal::Cause(cause), solver) {
            chain = chain.then(Element::Link(link), "passes it on", &model.links[link].delay);
        }
        let marked = marks.into_iter().map(|effect| {
            let own = element.delays.get(&effect).cloned().unwrap_or(Time::Known(Exact::zero()));
            chain.clone().then(Element::Cause(cause), "delays the mark", &own).then(
                Element::Effect(effect),
                "delays",
                &model.effects[effect].delay,
            )
        });
        let quickest = marked.min_by(|a, b| a.cost().cmp(&b.cost())).unwrap_or_else(Chain::new);
        all.push(quickest.then(Element::Actuator(actuator), "moves", &model.actuators[actuator].moves_in));
    }
    all
}

fn links(model: &Model, signal: Signal, solver: SolverId) -> Vec<LinkId> {
    let (mut found, mut at) = (Vec::new(), solver);
    while let Some(Access::Over(link, from)) = model.access.get(&(signal, at)).copied() {
        if found.contains(&link) {
            break;
        }
        found.push(link);
        at = from;
    }
    found
}

fn of_cause(model: &Model, mode: ModeId, onset: Onset<'_>, id: CauseId, depth: usize) -> Chain {
    let cause = &model.causes[id];
    let chain = of_condition(model, mode, onset, id, &cause.when, depth);
    chain.then(Element::Cause(id), "on-delay", &cause.on_delay).then(
        Element::Solver(cause.solver),
        "reacts",
        &model.solvers[cause.solver].reaction,
    )
}

fn of_condition(
    model: &Model,
    mode: ModeId,
    onset: Onset<'_>,
    id: CauseId,
    tree: &Tree<InputAtom>,
    depth: usize,
) -> Chain {
    let (parts, needed) = match tree {
        Tree::Atom(atom) => return of_atom(model, mode, onset, id, atom, depth),
        Tree::Not(part) => return of_condition(model, mode, onset, id, part, depth),
        Tree::And(parts) => (parts, parts.len()),
        Tree::Or(parts) => (parts, 1),
        Tree::Vote { m, of } => (of, *m),
    };
    let mut chains: Vec<Chain> =
        parts.iter().map(|part| of_condition(model, mode, onset, id, part, depth)).collect();
    chains.sort_by_key(Chain::cost);
    chains.into_iter().nth(needed.saturating_sub(1)).unwrap_or_else(Chain::new)
}

fn of_atom(
    model: &Model,
    mode: ModeId,
    onset: Onset<'_>,
    id: CauseId,
    atom: &InputAtom,
    depth: usize,
) -> Chain {
    let solver = model.causes[id].solver;
    let mut chain = Chain::new();
    let input = match atom {
        InputAtom::Compare { input, relation, set_point, .. } => {
            let hazard = &model.hazards[onset.hazard];
            if let Observes::Quantity { quantity, accuracy, .. } = &model.inputs[*input].observes {
                let compared = Compared { quantity: *quantity, relation: *relation, set_point, accuracy };
                let start = match &hazard.after_set_point {
                    Some(Time::Known(time)) if model.causes[id].credited_for.contains(&onset.hazard) => {
                        time.clone()
                    }
                    _ => head_start(model, compared, onset, Some(mode)).unwrap_or_else(Exact::zero),
                };
                chain.ahead = &hazard.usable * &start;
            }
            *input
        }
        InputAtom::Is { input, .. } | InputAtom::Bad(input) => *input,
        InputAtom::LinkLost(link) => {
            return chain.then(Element::Link(*link), "is found lost", &model.links[*link].delay);
        }
        // A chain of causes as long as this goes round in a ring, which no model has.
        InputAtom::Cause { cause, from_before: false } if depth < model.causes.len() => {
            return of_cause(model, mode, onset, *cause, depth + 1);
        }
        InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => return chain,
    };
    let element = &model.inputs[input];
    let response = &element.response;
    let rated = match &element.observes {
        Observes::Quantity { quantity, .. } => {
            let quantity = &model.quantities[*quantity];
            quantity.rises.is_some() || quantity.falls.is_some()
        }
        _ => false,
    };
    let step = if response.t90 && !rated { &Time::Unknown } else { &response.step };
    let of = Element::Input(input);
    chain = chain
        .then(of, "transport", &response.transport)
        .then(of, if response.t90 { "T90" } else { "responds" }, step)
        .then(of, "filter", &response.filter)
        .then(of, "confirms", &response.confirmation);
    for link in links(model, Signal::Input(input), solver) {
        chain = chain.then(Element::Link(link), "passes it on", &model.links[link].delay);
    }
    chain
}

/// The time that a hazard leaves after harm begins: f · (T − E); `None` where it is unknown.
pub fn available(model: &Model, hazard: HazardId) -> Option<Exact> {
    let element = &model.hazards[hazard];
    let within = match (&element.within, &element.after_set_point) {
        (Time::Known(within), _) => within.clone(),
        (Time::Unknown, Some(_)) => Exact::zero(),
        (Time::Unknown, None) => return None,
    };
    match &element.evacuation {
        Time::Known(evacuation) => Some(&(&within - evacuation) * &element.usable),
        Time::Unknown => None,
    }
}
