//! One hazard in one mode with regard to time: what is met in time, and which trips are too slow.
//!
//! Where everything is quick the claims are those without regard to time, and are not asked again. Elsewhere it is asked
//! first whether what holds without regard to time still holds; only where it does not are the numbers sought anew.
//! Unknown times are taken as too long first; what fails then is asked again with 0 s, so that a verdict never rests on a time that nobody knows.

mod ever;
mod margin;
pub mod order;
mod reach;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(crate) use ever::Ahead;
pub use margin::{Margin, Stage, available, margin, margin_of_device};

use ever::{Earlier, Known, Reach, Reaches, all_hold, as_terms};
use reach::{Fact, compared, plain_extent, reached};

use super::alike::Question;
use super::hazard::NOBODY;
use super::{About, Assessment, Decided, HazardInMode, Work};
use crate::analysis::{Allowed, Stop, extent};
use crate::claim::{Breach, Budget, Claim, Extent, Timing, Unknown};
use crate::engine::{Engine, EngineError};
use crate::exact::Exact;
use crate::model::{Cause, CauseId, Element, HazardId, InputAtom, ModeId, Model, QuantityId, Time};
use crate::semantics::{Acts, Encoding, Scope, acts, encode, normal_range};

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

/// What each trip needs and has, of every hazard in every mode. No claim about a hazard is decided.
///
/// # Errors
/// If the engine cannot do its work, or does not decide how far a quantity reaches.
pub fn times(model: &Model, engine: &dyn Engine) -> Result<Vec<InTime>, EngineError> {
    let universe = BTreeSet::new();
    let mut work = Work {
        model,
        engine,
        universe: &universe,
        result: super::Assessment::default(),
        alone: crate::analysis::Alone::default(),
    };
    let mut all = Vec::new();
    for (hazard, element) in model.hazards.iter() {
        let mut known = Vec::new();
        for mode in &element.exists_in {
            let mut found = InTime::new(hazard, *mode);
            if has_time(model, hazard) {
                let undecided = |_| EngineError("how far a quantity reaches was not decided".into());
                let extents = work.extents(hazard, *mode, &mut known).map_err(undecided)?;
                let timing = |unknown| Arc::new(Timing { extents: extents.clone(), unknown });
                let (long, none) = (timing(Unknown::TooLong), timing(Unknown::Nothing));
                found.timing = long.clone();
                found.decided = Timed::Undecided("it was not asked".into());
                let acts = work.credited_acts(&found, &long);
                work.acting(&mut found, &long, &none, acts)?;
            }
            all.push(found);
        }
    }
    Ok(all)
}

impl InTime {
    /// With nothing decided.
    fn new(hazard: HazardId, mode: ModeId) -> Self {
        InTime {
            hazard,
            mode,
            decided: Timed::NoTime,
            unknown: BTreeSet::new(),
            acts: BTreeMap::new(),
            acts_unknown: BTreeMap::new(),
            one_engine: None,
            timing: Arc::new(Timing { extents: Vec::new(), unknown: Unknown::TooLong }),
        }
    }
}

/// What an earlier mode of the same hazard had, and what came of it without an engine.
struct ModeBefore {
    mode: ModeId,
    setting: Setting,
    quick: bool,
    /// What holds without regard to time was shown to hold in time.
    confirmed: bool,
    acts: BTreeMap<CauseId, Acts>,
}

/// All of a mode on which it depends whether something is quick.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Setting {
    extents: Vec<BTreeMap<QuantityId, Extent>>,
    normals: Vec<Option<(Exact, Exact)>>,
    armed: Vec<bool>,
}

/// The setting of a hazard in a mode; `None` where a cause asks for the mode itself.
fn setting(
    model: &Model,
    (hazard, mode): (HazardId, ModeId),
    extents: &[BTreeMap<QuantityId, Extent>],
) -> Option<Setting> {
    let asks = |cause: &Cause| cause.when.atoms().iter().any(|atom| matches!(atom, InputAtom::Shows(..)));
    if model.causes.iter().any(|(_, cause)| asks(cause)) {
        return None;
    }
    let group = model.modes[mode].group;
    let armed = |cause: &Cause| cause.armed.get(&group).is_none_or(|modes| modes.contains(&mode));
    let quantities: BTreeSet<QuantityId> = extents.iter().flat_map(|case| case.keys().copied()).collect();
    let normal = |quantity| normal_range(model, quantity, hazard, Some(mode));
    Some(Setting {
        extents: extents.to_vec(),
        normals: quantities.into_iter().map(normal).collect(),
        armed: model.causes.iter().map(|(_, cause)| armed(cause)).collect(),
    })
}

impl Work<'_> {
    /// Decides the claims about time of hazards that are much alike, in all their modes; `ever`: what was decided without
    /// regard to time.
    pub(super) fn in_time(
        &mut self,
        hazards: &[HazardId],
        found: &Assessment,
        questions: &[Question],
    ) -> Result<(), EngineError> {
        let mut confirmed: Vec<Earlier> = Vec::new();
        hazards.iter().try_for_each(|hazard| self.hazard_in_time(*hazard, found, questions, &mut confirmed))
    }

    fn hazard_in_time(
        &mut self,
        hazard: HazardId,
        known: &Assessment,
        questions: &[Question],
        confirmed: &mut Vec<Earlier>,
    ) -> Result<(), EngineError> {
        let model = self.model;
        let of = |mode: ModeId| {
            questions.iter().find(|question| question.hazard == hazard && question.mode == mode)
        };
        let asks_the_same = |one: ModeId, other: ModeId| match (of(one), of(other)) {
            (Some(one), Some(other)) => one.asks_the_same(other),
            _ => false,
        };
        let ahead = |mode: &ModeId| known.ahead.get(&(hazard, *mode));
        let modes = model.hazards[hazard].exists_in.iter();
        let mut extents: Reaches = modes.filter_map(ahead).flat_map(|ahead| ahead.extents.clone()).collect();
        let mut before: Vec<ModeBefore> = Vec::new();
        for mode in &model.hazards[hazard].exists_in {
            let mut found = InTime::new(hazard, *mode);
            let ever = known.hazards.iter().find(|ever| ever.hazard == hazard && ever.mode == *mode);
            if let (true, Some(ever)) = (has_time(model, hazard), ever) {
                let known = Known { ever, ahead: ahead(mode), asks_the_same: &asks_the_same };
                match self.extents(hazard, *mode, &mut extents) {
                    Ok(extents) => self.timed(&mut found, known, extents, confirmed, &mut before)?,
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
        known: Known<'_>,
        extents: Vec<BTreeMap<QuantityId, Extent>>,
        confirmed: &mut Vec<Earlier>,
        before: &mut Vec<ModeBefore>,
    ) -> Result<(), EngineError> {
        let setting = setting(self.model, (found.hazard, found.mode), &extents);
        let timing = |unknown| Arc::new(Timing { extents: extents.clone(), unknown });
        let (long, none) = (timing(Unknown::TooLong), timing(Unknown::Nothing));
        found.timing = long.clone();
        let mut quick = false;
        // What is quick in one mode is quick in every other one in which the same counts.
        let same = setting.as_ref().and_then(|own| before.iter().find(|before| before.setting == *own));
        let acts = same.map(|before| before.acts.clone());
        found.decided = match same.is_some_and(|before| before.quick) {
            true => Timed::Quick,
            // Another mode asked the same, without regard to time and with it.
            false
                if same.is_some_and(|before| {
                    before.confirmed && (known.asks_the_same)(before.mode, found.mode)
                }) =>
            {
                Timed::Quick
            }
            false => self.decided(found, known, &long, &none, confirmed, &mut quick)?,
        };
        let first = acts.is_none();
        let acts = match acts {
            Some(acts) => acts,
            None => self.credited_acts(found, &long),
        };
        if let (Some(setting), true) = (setting, first) {
            let confirmed = matches!(found.decided, Timed::Quick) && self.may_be_as_ever(known.ever);
            before.push(ModeBefore { mode: found.mode, setting, quick, confirmed, acts: acts.clone() });
        }
        self.acting(found, &long, &none, acts)
    }

    fn credited_acts(&self, found: &InTime, timing: &Timing) -> BTreeMap<CauseId, Acts> {
        let model = self.model;
        let credited: Vec<CauseId> =
            model.causes.ids().filter(|id| model.causes[*id].credited_for.contains(&found.hazard)).collect();
        acts(model, &credited, found.hazard, &[found.mode], timing).0
    }

    fn decided(
        &mut self,
        found: &mut InTime,
        Known { ever, ahead, .. }: Known<'_>,
        long: &Arc<Timing>,
        none: &Arc<Timing>,
        confirmed: &mut Vec<Earlier>,
        quick: &mut bool,
    ) -> Result<Timed, EngineError> {
        let place = (found.hazard, found.mode);
        let (breach, encoding) = self.late(place, long);
        *quick = encoding.quick;
        if encoding.quick || ever.impossible(self.model.hazards[found.hazard].onset.len()) {
            return Ok(Timed::Quick);
        }
        let model = self.model;
        let paths = ever.numbers.as_ref().map(|numbers| as_terms(&numbers.path_sets, &encoding));
        let paths = paths.unwrap_or_default();
        let required = model.hazards[found.hazard].required;
        let same = |earlier: &Earlier| {
            earlier.required == required
                && earlier.paths == paths
                && earlier.encoding.alike(&encoding, |source| model.weight(source))
        };
        if self.may_be_as_ever(ever) && confirmed.iter().any(same) {
            return Ok(Timed::Quick);
        }
        let unknown = encoding.unknown_times.clone();
        if ahead.is_some_and(|ahead| ahead.as_ever) {
            confirmed.push(Earlier { encoding, paths, required });
            return Ok(Timed::Quick);
        }
        match self.asked_as_ever(ever, &encoding) {
            Ok(true) => {
                let one_engine = self.decided_alone();
                if one_engine.is_none() {
                    confirmed.push(Earlier { encoding, paths, required });
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
        // Behind an unknown time that is too long no other one is met; behind one of 0 s all are.
        let unknown: BTreeSet<Element> = unknown.union(&encoding.unknown_times).copied().collect();
        let merged = match encoding.quick {
            // With 0 s everything is quick, so it is as without regard to time.
            true => merged(late, ever.clone()),
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

    /// Whether each credited trip can act in time.
    fn acting(
        &mut self,
        found: &mut InTime,
        long: &Arc<Timing>,
        none: &Arc<Timing>,
        with_long: BTreeMap<CauseId, Acts>,
    ) -> Result<(), EngineError> {
        let model = self.model;
        let modes = [found.mode];
        for (cause, with_long) in with_long {
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
                match self.can_happen(claim, 0) {
                    Ok(Decided::Never(_)) => never(),
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
        known: &mut Reaches,
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
        known: &mut Reaches,
    ) -> Result<BTreeMap<QuantityId, Extent>, Stop> {
        let nothing = BTreeSet::new();
        let modes = [mode];
        let breach = Breach::Exists { hazard, onset };
        let scope = Scope { breach, modes: &modes, sources: &nothing, initiators: false };
        let encoding = encode(self.model, &scope);
        self.note(&encoding);
        if let Some(reach) = known.iter().find(|reach| reach.encoding.asks_the_same(&encoding)) {
            self.by_one(reach.alone.clone());
            return Ok(reach.extents.clone());
        }
        let before = self.decided_alone();
        let mut case = self.open(encoding.clone(), |_| 1)?;
        let what = case.encoding.breach;
        let given = case.given(Allowed::Nothing, NOBODY);
        let mut extents = BTreeMap::new();
        for quantity in quantities {
            if let Some(extent) = extent::of(&mut case, *quantity, what, &given)? {
                extents.insert(*quantity, extent);
            }
        }
        let alone = self.decided_alone();
        self.by_one(before);
        self.by_one(alone.clone());
        known.push(Reach { encoding, extents: extents.clone(), alone });
        Ok(extents)
    }
}

fn settled(found: &HazardInMode) -> bool {
    found.claims().iter().all(|decided| !matches!(decided, Decided::Undecided(_)))
}

const UNKNOWN: &str = "a time that it needs is unknown";

/// What holds with unknown times too long holds, what fails with 0 s fails; the rest depends on them.
fn merged(late: HazardInMode, early: HazardInMode) -> HazardInMode {
    let decide = |late: Decided, early: Decided| match (late, early) {
        (Decided::Holds, _) => Decided::Holds,
        (_, early @ (Decided::Broken(_) | Decided::Undecided(_) | Decided::Disputed)) => early,
        (late @ (Decided::NotApplicable(_) | Decided::Undecided(_) | Decided::Disputed), _) => late,
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
