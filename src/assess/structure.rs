//! The structure of each protection: all its minimal cut sets, and from them path sets, disjoint paths and importances.
//!
//! The minimal cut sets are found by the engine until nothing is left that they do not block; each that is told is
//! replayed by the simulator. What follows from them is worked out without an engine. Two numbers are found in two ways
//! and compared: the largest disjoint family, here and by the search that the check itself uses.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::alike::{Question, questions};
use super::office::THREADS;
use super::{About, Contradicted, Decided, Dispute, Work};
use crate::analysis::structure::Structure;
use crate::analysis::{Allowed, Alone, Case, cuts, paths};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::{Engine, EngineError};
use crate::model::{CouplingId, GroupId, HazardId, ModeId, Model, SolverId, Source};
use crate::outcome::structure::{Element, Found, Sets, Structured, Whole};
use crate::witness;

/// Most minimal cut sets of one protection that are sought.
const MOST: usize = 3_000;
/// Most sets of one kind that are listed.
const LISTED: usize = 10_000;

/// Which structures are wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// One hazard only.
    pub hazard: Option<HazardId>,
    /// These modes only.
    pub modes: Option<BTreeSet<ModeId>>,
    /// Greatest number of sources in the cut sets that are listed; at least 1.
    pub order: usize,
}

/// The structures of a model.
#[derive(Debug, Clone, Default)]
pub struct Structures {
    /// Each protection once for all modes in which it has the same structure, in the file's order.
    pub protections: Vec<Structured>,
    /// Couplings that some result used.
    pub couplings: BTreeSet<CouplingId>,
    /// Solvers taken to know a mode exactly.
    pub modes_known: BTreeSet<(GroupId, SolverId)>,
    /// Cut sets that the simulator does not confirm.
    pub disputes: Vec<Dispute>,
    /// Questions that two engines answer differently.
    pub contradictions: Vec<Contradicted>,
    /// Where two ways to one number differ: the sentence.
    pub differences: Vec<String>,
}

/// Finds the structures.
///
/// # Errors
/// If the engine cannot do its work at all.
pub fn structures(model: &Model, engine: &dyn Engine, wanted: &Wanted) -> Result<Structures, EngineError> {
    let universe = model.universe();
    let fits = |hazard: HazardId, mode: ModeId| {
        wanted.hazard.is_none_or(|one| one == hazard)
            && wanted.modes.as_ref().is_none_or(|modes| modes.contains(&mode))
    };
    let all: Vec<Question> =
        questions(model, &universe)?.into_iter().filter(|one| fits(one.hazard, one.mode)).collect();
    // Modes in which one hazard asks the same stand together.
    let mut groups: Vec<Vec<&Question>> = Vec::new();
    for question in &all {
        let same =
            |group: &&mut Vec<&Question>| group.first().is_some_and(|first| first.asks_the_same(question));
        match groups.iter_mut().find(same) {
            Some(group) => group.push(question),
            None => groups.push(vec![question]),
        }
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<BTreeMap<usize, Result<Structures, EngineError>>> = Mutex::new(BTreeMap::new());
    let worker = || {
        while let Some((number, group)) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|n| groups.get(n).map(|group| (n, group)))
        {
            // Whatever ran before on this thread must not show in the result.
            engine.apart(&|| {
                let part = of_group(model, engine, &universe, group, wanted.order);
                done.lock().unwrap_or_else(PoisonError::into_inner).insert(number, part);
            });
        }
    };
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..THREADS).map(|_| scope.spawn(worker)).collect();
        workers.into_iter().try_for_each(|worker| worker.join())
    })
    .map_err(|_| EngineError("a thread of the solver ended early".into()))?;
    let mut result = Structures::default();
    for part in done.into_inner().unwrap_or_else(PoisonError::into_inner).into_values() {
        let part = part?;
        for protection in part.protections {
            // Where the questions differ and what comes of them does not, there is nothing to tell twice.
            let same = |known: &&mut Structured| {
                known.hazard == protection.hazard && known.found == protection.found
            };
            match result.protections.iter_mut().find(same) {
                Some(known) => known.modes.extend(protection.modes),
                None => result.protections.push(protection),
            }
        }
        result.couplings.extend(part.couplings);
        result.modes_known.extend(part.modes_known);
        result.disputes.extend(part.disputes);
        result.contradictions.extend(part.contradictions);
        result.differences.extend(part.differences);
    }
    result.protections.iter_mut().for_each(|protection| protection.modes.sort_unstable());
    Ok(result)
}

fn of_group(
    model: &Model,
    engine: &dyn Engine,
    universe: &BTreeSet<Source>,
    group: &[&Question],
    order: usize,
) -> Result<Structures, EngineError> {
    let mut result = Structures::default();
    let Some(first) = group.first() else { return Ok(result) };
    let work =
        Work { model, engine, universe, result: super::Assessment::default(), alone: Alone::default() };
    let case = work.open(first.encoding.clone(), |source| model.weight(source))?;
    let mut protection = Protection { work, case, hazard: first.hazard, mode: first.mode, difference: None };
    let found = match protection.found(order) {
        Ok(found) => found,
        Err(stop) => match protection.work.stopped(stop)? {
            Decided::Undecided(reason) => Found::Undecided(reason),
            _ => Found::Disputed,
        },
    };
    protection.work.about(About::Hazard(first.hazard, first.mode));
    let one_engine = protection.work.decided_alone();
    let modes = group.iter().map(|question| question.mode).collect();
    result.protections.push(Structured { hazard: first.hazard, modes, found, one_engine });
    for question in group {
        result.couplings.extend(question.encoding.couplings.iter().copied());
        result.modes_known.extend(question.encoding.modes_known.iter().copied());
    }
    result.differences.extend(protection.difference);
    result.contradictions.extend(protection.work.result.contradictions);
    result.disputes.extend(protection.work.result.disputes);
    Ok(result)
}

struct Protection<'m, 'e> {
    work: Work<'m>,
    case: Case<'e>,
    hazard: HazardId,
    mode: ModeId,
    difference: Option<String>,
}

impl Protection<'_, '_> {
    fn found(&mut self, order: usize) -> Result<Found, crate::analysis::Stop> {
        let nobody = self.case.given(Allowed::Nothing, super::hazard::NOBODY);
        let mut exists = false;
        for onset in self.case.encoding.onsets.clone() {
            exists |= self.case.possible(onset, &nobody)?;
        }
        if !exists {
            return Ok(Found::Impossible);
        }
        let actors = super::hazard::PARTIES;
        let (cuts, all) = cuts::every(&mut self.case, MOST, actors)?;
        let searched = paths::largest(&mut self.case, &cuts, actors)?;
        let sources: Vec<Source> = self.case.sources().into_iter().collect();
        let named = |set: &BTreeSet<usize>| -> BTreeSet<Source> {
            set.iter().filter_map(|number| sources.get(*number).copied()).collect()
        };
        let numbered = |set: &BTreeSet<Source>| -> BTreeSet<usize> {
            set.iter().filter_map(|source| sources.binary_search(source).ok()).collect()
        };
        let mut listed: Vec<BTreeSet<usize>> = cuts.sets.iter().map(numbered).collect();
        if cuts.none_needed {
            listed.push(BTreeSet::new());
        }
        let structure = Structure::of_cut_sets(sources.len(), &listed);
        let family = structure.cut_sets();
        let order = if all { order } else { order.min(cuts.order) };
        let told: Vec<BTreeSet<Source>> = family.up_to(order, LISTED).0.iter().map(named).collect();
        for cut in &told {
            if !self.confirmed(cut)? {
                return Ok(Found::Disputed);
            }
        }
        let disjoint = (!searched.unlimited).then(|| searched.paths.clone());
        let smallest = family.sizes().iter().position(|number| *number != num_bigint::BigUint::ZERO);
        if let (Some(paths), Some(smallest)) = (&disjoint, smallest)
            && paths.len() > smallest
        {
            return Ok(self.differs(paths.len(), smallest, "the smallest cut set allows at most"));
        }
        let mut whole = None;
        if all {
            // The same number once more, without the engine.
            if let Ok(again) = structure.disjoint_paths()
                && again.as_ref().map(Vec::len) != disjoint.as_ref().map(Vec::len)
            {
                let again = again.map_or(usize::MAX, |paths| paths.len());
                let searched = disjoint.map_or(usize::MAX, |paths| paths.len());
                return Ok(self.differs(searched, again, "the cut sets give"));
            }
            let paths = structure.path_sets();
            let (sets, _) = paths.up_to(sources.len(), LISTED);
            let number_of_paths = paths.sizes().iter().sum();
            whole = Some(Whole { paths: sets.iter().map(named).collect(), number_of_paths });
        }
        let importance = if all { structure.importance() } else { Vec::new() };
        let each = family.sizes_with_each();
        let elements = sources.iter().zip(each).enumerate().filter(|(_, (_, sizes))| !sizes.is_empty());
        let elements = elements.map(|(number, (source, sizes))| Element {
            source: *source,
            sizes,
            importance: importance.get(number).cloned(),
        });
        Ok(Found::Sets(Box::new(Sets {
            sources: sources.len(),
            cuts: told,
            order,
            sizes: family.sizes(),
            whole,
            disjoint,
            elements: elements.collect(),
        })))
    }

    /// Whether the simulator confirms a cut set, in some situation.
    fn confirmed(&mut self, cut: &BTreeSet<Source>) -> Result<bool, crate::analysis::Stop> {
        let model = self.work.model;
        let free = self.work.universe.iter().copied().filter(|source| model.weight(*source) == 0);
        let actors = super::hazard::PARTIES;
        let claim = Claim {
            breach: Breach::NotMet { hazard: self.hazard, onset: None },
            modes: vec![self.mode],
            faults: Budget { sources: free.chain(cut.iter().copied()).collect(), weight: None },
            initiators: actors.initiators,
            overrides: actors.overrides,
        };
        let given = self.case.given(Allowed::Only(cut), actors);
        let breach = self.case.encoding.breach;
        match witness::any(model, &claim, &mut self.case, breach, &given)? {
            Some(situation) => Ok(matches!(self.work.believe(claim, situation), Decided::Broken(_))),
            None => Err(crate::analysis::Stop::Undecided(
                "the engine found a cut set and could not find it again".into(),
            )),
        }
    }

    fn differs(&mut self, searched: usize, other: usize, how: &str) -> Found {
        let word = |number: usize| match number {
            usize::MAX => "any number of".to_string(),
            number => number.to_string(),
        };
        self.difference = Some(format!(
            "{} in {}: the search gives {} disjoint paths, {how} {}",
            self.work.model.hazards[self.hazard].name.tag,
            self.work.model.modes[self.mode].name.tag,
            word(searched),
            word(other)
        ));
        Found::Disputed
    }
}
