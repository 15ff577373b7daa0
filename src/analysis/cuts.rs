//! Minimal cut sets: smallest sets of fault sources under which the hazard is not met.
//!
//! A *cut set* C has unsafe(C). "Unsafe under F" grows with F, so minimal cut sets can be found by blocking.

use std::collections::BTreeSet;

use super::trial::Bench;
use super::{Actors, Allowed, Case, Stop};
use crate::model::Source;

/// Minimal cut sets found, and how far the search went.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CutSets {
    /// Every minimal cut set with at most `order` sources, by size, then by source.
    pub sets: Vec<BTreeSet<Source>>,
    /// Greatest number of sources searched for; the list is complete up to there.
    pub order: usize,
    /// The hazard is not met without any fault (of the actors allowed): then the only minimal cut set is the empty one.
    pub none_needed: bool,
}

/// Shrinks a cut set to a minimal one by leaving out one source after the other, in order.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn minimal(case: &mut Case<'_>, cut: BTreeSet<Source>, actors: Actors) -> Result<BTreeSet<Source>, Stop> {
    let mut cut = cut;
    for source in cut.clone() {
        if !cut.contains(&source) {
            continue;
        }
        let mut without = cut.clone();
        without.remove(&source);
        if case.unprotected(Allowed::Only(&without), actors)? {
            cut = case.misbehaving()?;
        }
    }
    Ok(cut)
}

/// Of the cut sets of weight at most `limit`, known to exist, one that does not depend on which one the engine finds: its last
/// source in `order` comes as early as it can, then the last but one, and so on. It is minimal.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn first(
    case: &mut Case<'_>,
    limit: u32,
    order: &[Source],
    actors: Actors,
) -> Result<BTreeSet<Source>, Stop> {
    if limit == 0 {
        return Ok(BTreeSet::new());
    }
    let what = case.encoding.breach;
    let within: BTreeSet<Source> = order.iter().copied().collect();
    let mut chosen: BTreeSet<Source> = BTreeSet::new();
    let mut open = order.len();
    loop {
        // How much of the order is needed beside what was chosen: none of it ends the search.
        let (mut low, mut high) = (0, open);
        while low < high {
            let middle = low.midpoint(high);
            let some = order.iter().take(middle).copied().chain(chosen.iter().copied()).collect();
            let mut given = case.given(Allowed::Weight(limit), actors);
            for source in within.difference(&some) {
                let fault = case.fault(*source);
                given.push(case.encoding.terms.not(fault));
            }
            match case.possible(what, &given)? {
                true => high = middle,
                false => low = middle + 1,
            }
        }
        let Some(last) = low.checked_sub(1).and_then(|last| order.get(last)) else { return Ok(chosen) };
        chosen.insert(*last);
        open = low - 1;
    }
}

/// A smallest cut set outside `spared`, known to exist: fewer sources do not suffice there, so it is minimal.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn smallest(
    case: &mut Case<'_>,
    spared: &BTreeSet<Source>,
    actors: Actors,
) -> Result<BTreeSet<Source>, Stop> {
    let breach = case.encoding.breach;
    let given = case.given(Allowed::AllBut(spared), actors);
    let faults: Vec<_> = case.sources().difference(spared).map(|source| case.fault(*source)).collect();
    for size in 1..=faults.len() {
        let more = case.encoding.terms.at_least(size + 1, faults.iter().copied());
        let mut given = given.clone();
        given.push(case.encoding.terms.not(more));
        if case.another(breach, &given)? {
            return case.misbehaving();
        }
    }
    Err(Stop::Undecided("the engine found a cut set and could not find it again".into()))
}

/// All minimal cut sets with at most `order` sources.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn up_to(case: &mut Case<'_>, order: usize, actors: Actors) -> Result<CutSets, Stop> {
    let mut found = CutSets { order, ..CutSets::default() };
    if case.unprotected(Allowed::Nothing, actors)? {
        found.none_needed = true;
        return Ok(found);
    }
    case.question.push();
    let searched = search(case, order, None, actors, &mut found);
    case.question.pop();
    searched?;
    found.sets.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    Ok(found)
}

/// All minimal cut sets of every size, or, where there are more than `most`, those of the sizes searched whole. The
/// second value tells whether they are all there are: then they are the protection's structure.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn every(case: &mut Case<'_>, most: usize, actors: Actors) -> Result<(CutSets, bool), Stop> {
    let order = case.sources().len();
    let mut found = CutSets { order, ..CutSets::default() };
    if case.unprotected(Allowed::Nothing, actors)? {
        found.none_needed = true;
        return Ok((found, true));
    }
    case.question.push();
    let searched = search(case, order, Some(most), actors, &mut found);
    case.question.pop();
    let all = searched?;
    found.sets.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    Ok((found, all))
}

/// Searches size by size. With `most`, ends where nothing unblocked is left (true), or within the size with which there
/// are more than so many (false): that size is forgotten, and `found.order` is the one before.
fn search(
    case: &mut Case<'_>,
    order: usize,
    most: Option<usize>,
    actors: Actors,
    found: &mut CutSets,
) -> Result<bool, Stop> {
    let breach = case.encoding.breach;
    let everyone = BTreeSet::new();
    let given = case.given(Allowed::AllBut(&everyone), actors);
    let mut bench = None;
    for size in 1..=order {
        if most.is_some() && !case.another(breach, &given)? {
            return Ok(true);
        }
        let faults: Vec<_> = case.sources().iter().map(|source| case.fault(*source)).collect();
        let more = case.encoding.terms.at_least(size + 1, faults);
        let at_most = case.encoding.terms.not(more);
        let mut given = given.clone();
        given.push(at_most);
        let mut rest = Rest::default();
        while case.another(breach, &given)? {
            // Minimal as it is: every cut set with fewer sources is known and blocked, so none of these is in vain.
            let cut = case.misbehaving()?;
            let mut cuts = vec![cut.clone()];
            if size <= TRIED && rest.over() {
                let bench: &Bench = match &mut bench {
                    Some(bench) => bench,
                    none => none.insert(Bench::new(case, actors)),
                };
                if let Some(mut trials) = bench.at(case, &cut)? {
                    let mut known: BTreeSet<BTreeSet<Source>> = found.sets.iter().cloned().collect();
                    known.insert(cut.clone());
                    match size {
                        1 => cuts.extend(trials.singles(&known)),
                        _ => cuts.extend(trials.pairs(&cut, &known)),
                    }
                }
                rest.after(cuts.len());
            }
            block(case, &cuts)?;
            found.sets.extend(cuts);
            if most.is_some_and(|most| found.sets.len() > most) {
                found.sets.retain(|set| set.len() < size);
                found.order = size - 1;
                return Ok(false);
            }
        }
    }
    // Every size was searched: a set of sources has at most as many as there are.
    Ok(true)
}

/// Sizes of cut sets that trials find.
const TRIED: usize = 2;
/// Sets that a round of trials must give to be worth more than asking the engine for each: it takes about as long as so
/// many questions.
const WORTH: usize = 5;
/// Questions at most before trials are made again.
const LONGEST: usize = 16;

/// How many more sets the engine is asked for before trials are made again. What is found does not depend on it.
#[derive(Debug, Default)]
struct Rest {
    left: usize,
    next: usize,
}

impl Rest {
    /// Whether it is over; otherwise one question less is left of it.
    fn over(&mut self) -> bool {
        let over = self.left == 0;
        self.left = self.left.saturating_sub(1);
        over
    }

    /// After trials that gave so many sets.
    fn after(&mut self, gave: usize) {
        self.next = if gave < WORTH { (self.next * 2).clamp(1, LONGEST) } else { 0 };
        self.left = self.next;
    }
}

/// None of these sets misbehaves as a whole from now on.
fn block(case: &mut Case<'_>, cuts: &[BTreeSet<Source>]) -> Result<(), Stop> {
    let mut all = Vec::new();
    for cut in cuts {
        let together: Vec<_> = cut.iter().map(|source| case.fault(*source)).collect();
        let together = case.encoding.terms.and(together);
        all.push(case.encoding.terms.not(together));
    }
    let blocked = case.encoding.terms.and(all);
    case.question.require(&case.encoding.terms, blocked)?;
    Ok(())
}
