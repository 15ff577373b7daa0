//! Trial situations: cut sets read off one situation that the engine found.
//!
//! A situation that breaks a claim with the faults {a, b} often needs one choice changed to break it with {c, b}. Such
//! changes are tried here by working the terms out under complete choices, 64 trials at a time. A trial that succeeds is
//! a cut set for sure, since its situation has been worked out exactly; one that fails means nothing, and the engine is
//! asked. So the list of cut sets does not depend on what is tried here, only the time does.

mod change;
mod program;

use std::collections::{BTreeMap, BTreeSet};

use super::{Actors, Allowed, Case, Stop};
use crate::model::Source;
use change::{Change, Changes};
use program::Program;

/// Trials worked out at once: the bits of a word.
const LANES: usize = 64;

/// What all trials of one search share: the terms as a program, and which choices may matter for which source.
#[derive(Debug)]
pub struct Bench {
    program: Program,
    /// Slot of the fault variable of each source.
    faults: BTreeMap<Source, usize>,
    changes: Changes,
}

/// One situation in which the breach holds, prepared for trials.
#[derive(Debug)]
pub struct Trials<'b> {
    bench: &'b Bench,
    /// Values of the choices: all bits of a slot are alike.
    values: Vec<u64>,
    /// Changes that may matter when a source misbehaves.
    changes: BTreeMap<Source, Vec<Change>>,
}

/// One trial: who misbehaves, and which choices are changed.
struct Trial<'a> {
    faults: &'a [Source],
    change: &'a [(usize, bool)],
}

impl Bench {
    /// Prepares the terms of a case: the breach, the situation's rules, and who may act.
    pub fn new(case: &mut Case<'_>, actors: Actors) -> Bench {
        let mut all = case.given(Allowed::AllBut(&BTreeSet::new()), actors);
        all.extend(case.encoding.possible.iter().copied());
        all.push(case.encoding.breach);
        let root = case.encoding.terms.and(all);
        let sources = case.sources();
        let terms = &case.encoding.terms;
        let program = Program::of(terms, root);
        let slot = |source: &Source| program.slot(case.fault(*source)).map(|slot| (*source, slot));
        let faults: BTreeMap<Source, usize> = sources.iter().filter_map(slot).collect();
        let changes = Changes::of(&program, &faults);
        Bench { program, faults, changes }
    }

    /// Takes the situation that the question keeps, in which `cut` misbehaves. `None` if the terms are not true in it
    /// as worked out here.
    ///
    /// # Errors
    /// [`Stop`] if no situation is kept.
    pub fn at(&self, case: &Case<'_>, cut: &BTreeSet<Source>) -> Result<Option<Trials<'_>>, Stop> {
        let numbers = self.program.numbers(case.question.as_ref())?;
        let mut values = self.program.values(case.question.as_ref(), &numbers)?;
        for slot in self.faults.values() {
            if let Some(value) = values.get_mut(*slot) {
                *value = 0;
            }
        }
        let changes = self.changes.at(&values, &numbers);
        let trials = Trials { bench: self, values, changes };
        let faults: Vec<Source> = cut.iter().copied().collect();
        let sound = trials.run(&[Trial { faults: &faults, change: &[] }]);
        Ok((sound == 1).then_some(trials))
    }
}

impl Trials<'_> {
    /// Which of up to 64 trials break the claim, one bit each.
    fn run(&self, trials: &[Trial<'_>]) -> u64 {
        if trials.is_empty() {
            return 0;
        }
        let mut words = self.values.clone();
        for (lane, trial) in trials.iter().take(LANES).enumerate() {
            let faults = trial.faults.iter().filter_map(|source| self.bench.faults.get(source));
            let faults = faults.map(|slot| (*slot, true));
            for (slot, value) in faults.chain(trial.change.iter().copied()) {
                if let Some(word) = words.get_mut(slot) {
                    if value {
                        *word |= 1 << lane;
                    } else {
                        *word &= !(1 << lane);
                    }
                }
            }
        }
        let used = if trials.len() >= LANES { u64::MAX } else { (1u64 << trials.len()) - 1 };
        self.bench.program.run(&mut words) & used
    }

    /// Which of these sets of faults break the claim with the choices as they are.
    fn which(&self, sets: &[Vec<Source>]) -> Vec<bool> {
        let mut found = Vec::with_capacity(sets.len());
        for some in sets.chunks(LANES) {
            let trials: Vec<Trial<'_>> = some.iter().map(|faults| Trial { faults, change: &[] }).collect();
            let bits = self.run(&trials);
            found.extend((0..some.len()).map(|lane| bits >> lane & 1 == 1));
        }
        found
    }

    /// For each source the first change of one of its choices with which it and `beside` break the claim; none may be
    /// needed.
    fn changes_for(&self, sources: &[Source], beside: Option<Source>) -> BTreeMap<Source, Change> {
        let mut found: BTreeMap<Source, Change> = BTreeMap::new();
        let mut lanes: Vec<(Source, &[(usize, bool)])> = Vec::with_capacity(LANES);
        for source in sources {
            let changes = self.changes.get(source).map_or(&[][..], Vec::as_slice);
            for change in std::iter::once(&[][..]).chain(changes.iter().map(Vec::as_slice)) {
                lanes.push((*source, change));
                if lanes.len() == LANES {
                    self.tried(&mut lanes, beside, &mut found);
                    if found.contains_key(source) {
                        break;
                    }
                }
            }
        }
        self.tried(&mut lanes, beside, &mut found);
        found
    }

    /// Makes these trials, and adds to `found` what breaks the claim, unless there is something for that source.
    fn tried(
        &self,
        lanes: &mut Vec<(Source, &[(usize, bool)])>,
        beside: Option<Source>,
        found: &mut BTreeMap<Source, Change>,
    ) {
        let faults: Vec<[Source; 2]> =
            lanes.iter().map(|(source, _)| [*source, beside.unwrap_or(*source)]).collect();
        let trials: Vec<Trial<'_>> =
            faults.iter().zip(lanes.iter()).map(|(faults, (_, change))| Trial { faults, change }).collect();
        let bits = self.run(&trials);
        for (lane, (source, change)) in lanes.drain(..).enumerate() {
            if bits >> lane & 1 == 1 {
                found.entry(source).or_insert_with(|| change.to_vec());
            }
        }
    }

    /// Sources that are cut sets by themselves, beside those in `known`.
    pub fn singles(&self, known: &BTreeSet<BTreeSet<Source>>) -> Vec<BTreeSet<Source>> {
        let all = self.bench.faults.keys().copied();
        let open: Vec<Source> = all.filter(|source| !known.contains(&BTreeSet::from([*source]))).collect();
        self.changes_for(&open, None).into_keys().map(|source| BTreeSet::from([source])).collect()
    }

    /// Cut sets of two sources beside those in `known`, which holds every cut set of one source, and this one.
    pub fn pairs(
        &mut self,
        first: &BTreeSet<Source>,
        known: &BTreeSet<BTreeSet<Source>>,
    ) -> Vec<BTreeSet<Source>> {
        let alone: BTreeSet<Source> = known.iter().filter(|cut| cut.len() == 1).flatten().copied().collect();
        let sources: Vec<Source> =
            self.bench.faults.keys().copied().filter(|source| !alone.contains(source)).collect();
        let mut kept: Vec<Vec<Source>> = vec![first.iter().copied().collect()];
        let mut found: BTreeSet<BTreeSet<Source>> = BTreeSet::new();
        for partner in first.iter().copied() {
            // A change that does no harm stays, and may help with what was in vain before.
            loop {
                let fresh = |source: &Source| {
                    let pair = BTreeSet::from([*source, partner]);
                    *source != partner && !known.contains(&pair) && !found.contains(&pair)
                };
                let open: Vec<Source> = sources.iter().copied().filter(fresh).collect();
                let mut adopted = false;
                for (source, change) in self.changes_for(&open, Some(partner)) {
                    found.insert(BTreeSet::from([source, partner]));
                    let adopts = !change.is_empty() && self.adopt(&change, &kept);
                    adopted |= adopts;
                    if change.is_empty() || adopts {
                        kept.push(vec![source, partner]);
                    }
                }
                if !adopted {
                    break;
                }
            }
        }
        let elements: BTreeSet<Source> = found.iter().flatten().chain(first).copied().collect();
        let elements: Vec<Source> = elements.into_iter().collect();
        let mut rest: Vec<Vec<Source>> = Vec::new();
        for (number, one) in elements.iter().enumerate() {
            for other in elements.iter().skip(number + 1) {
                let pair = BTreeSet::from([*one, *other]);
                if !found.contains(&pair) && !known.contains(&pair) {
                    rest.push(vec![*one, *other]);
                }
            }
        }
        for (pair, breaks) in rest.iter().zip(self.which(&rest)) {
            if breaks {
                found.insert(pair.iter().copied().collect());
            }
        }
        found.retain(|pair| !known.contains(pair) && pair != first);
        found.into_iter().collect()
    }

    /// Keeps a change, if every set of faults that broke the claim before still does.
    fn adopt(&mut self, change: &Change, kept: &[Vec<Source>]) -> bool {
        let before = self.values.clone();
        for (slot, value) in change {
            if let Some(word) = self.values.get_mut(*slot) {
                *word = if *value { u64::MAX } else { 0 };
            }
        }
        let still = self.which(kept).into_iter().all(|breaks| breaks);
        if !still {
            self.values = before;
        }
        still
    }
}
