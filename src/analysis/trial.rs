//! Trial situations: cut sets read off one situation that the engine found.
//!
//! A situation that breaks a claim with the faults {a, b} often needs one choice changed to break it with {c, b}. Such
//! changes are tried here by working the terms out under complete choices, 64 trials at a time. A trial that succeeds is
//! a cut set for sure, since its situation has been worked out exactly; one that fails means nothing, and the engine is
//! asked. So the list of cut sets does not depend on what is tried here, only the time does.

use std::collections::{BTreeMap, BTreeSet};

use super::{Actors, Allowed, Case, Stop};
use crate::exact::Exact;
use crate::model::Source;
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::term::{Linear, Term, TermId, Terms, Var};

/// Trials worked out at once.
const LANES: usize = 64;
/// Sources with more changes than this are not tried with two changes at once.
const FEW: usize = 16;

/// Changed choices: number of a term that is a choice, and its value.
type Change = Vec<(usize, bool)>;

/// One situation in which the breach holds, prepared for trials.
#[derive(Debug, Clone)]
pub struct Trials {
    /// What has to hold: the breach, the situation's rules, and who may act.
    root: usize,
    /// Numbers of the terms that `root` depends on, parts before wholes.
    needed: Vec<usize>,
    /// Values of the choices among them.
    values: Vec<bool>,
    /// Number of the fault variable of each source.
    faults: BTreeMap<Source, usize>,
    /// Changes that may matter when a source misbehaves.
    changes: BTreeMap<Source, Vec<Change>>,
}

/// One trial: who misbehaves, and which choices are changed.
struct Trial<'a> {
    faults: Vec<Source>,
    change: Vec<&'a Change>,
}

impl Trials {
    /// Prepares the situation that the question keeps. `None` if the terms are not true in it as worked out here.
    ///
    /// # Errors
    /// [`Stop`] if no situation is kept.
    pub fn of(case: &mut Case<'_>, cut: &BTreeSet<Source>, actors: Actors) -> Result<Option<Trials>, Stop> {
        let mut all = case.given(Allowed::AllBut(&BTreeSet::new()), actors);
        all.extend(case.encoding.possible.iter().copied());
        all.push(case.encoding.breach);
        let root = case.encoding.terms.and(all);
        let terms = &case.encoding.terms;
        let needed = needed(terms, root);
        let mut values = vec![false; terms.len()];
        let mut numbers = BTreeMap::new();
        for index in &needed {
            let value = match term(terms, *index) {
                Term::Var(var) => case.question.truth(*var)?,
                Term::Linear(linear) => {
                    for (_, number) in &linear.sum {
                        if !numbers.contains_key(number) {
                            numbers.insert(*number, case.question.number(*number)?);
                        }
                    }
                    holds(linear, &numbers)
                }
                _ => continue,
            };
            if let Some(slot) = values.get_mut(*index) {
                *slot = value;
            }
        }
        let mut faults = BTreeMap::new();
        for source in case.sources() {
            faults.insert(source, case.fault(source).index());
        }
        let changes = Owners::of(terms, &needed, &faults).changes(terms, &needed, &values, &numbers);
        let trials = Trials { root: root.index(), needed, values, faults, changes };
        let sound = trials.run(terms, &[Trial { faults: cut.iter().copied().collect(), change: vec![] }]);
        Ok((sound == 1).then_some(trials))
    }

    /// Which of up to 64 trials break the claim, one bit each.
    fn run(&self, terms: &Terms, trials: &[Trial<'_>]) -> u64 {
        let mut words: Vec<u64> = self.values.iter().map(|value| if *value { u64::MAX } else { 0 }).collect();
        let mut set = |index: usize, lane: usize, value: bool| {
            if let Some(word) = words.get_mut(index) {
                if value {
                    *word |= 1 << lane;
                } else {
                    *word &= !(1 << lane);
                }
            }
        };
        for (lane, trial) in trials.iter().take(LANES).enumerate() {
            for index in self.faults.values() {
                set(*index, lane, false);
            }
            for source in &trial.faults {
                if let Some(index) = self.faults.get(source) {
                    set(*index, lane, true);
                }
            }
            for (index, value) in trial.change.iter().flat_map(|change| change.iter()) {
                set(*index, lane, *value);
            }
        }
        let word = |words: &[u64], id: &TermId| words.get(id.index()).copied().unwrap_or(0);
        for index in &self.needed {
            let value = match term(terms, *index) {
                Term::Constant(value) => {
                    if *value {
                        u64::MAX
                    } else {
                        0
                    }
                }
                Term::Var(_) | Term::Linear(_) => continue,
                Term::Not(part) => !word(&words, part),
                Term::And(parts) => parts.iter().fold(u64::MAX, |all, part| all & word(&words, part)),
                Term::Or(parts) => parts.iter().fold(0, |any, part| any | word(&words, part)),
                Term::AtLeast(count, parts) => {
                    // reached[j]: at least j of the parts so far.
                    let mut reached = vec![0u64; count + 1];
                    if let Some(none) = reached.first_mut() {
                        *none = u64::MAX;
                    }
                    for part in parts {
                        let part = word(&words, part);
                        for j in (1..=*count).rev() {
                            let before = reached.get(j - 1).copied().unwrap_or(0);
                            if let Some(now) = reached.get_mut(j) {
                                *now |= before & part;
                            }
                        }
                    }
                    reached.last().copied().unwrap_or(0)
                }
            };
            if let Some(slot) = words.get_mut(*index) {
                *slot = value;
            }
        }
        let used = if trials.len() >= LANES { u64::MAX } else { (1u64 << trials.len()) - 1 };
        words.get(self.root).copied().unwrap_or(0) & used
    }

    /// Which of these sets of faults break the claim with the choices as they are.
    fn which(&self, terms: &Terms, sets: &[Vec<Source>]) -> Vec<bool> {
        let mut found = Vec::with_capacity(sets.len());
        for some in sets.chunks(LANES) {
            let trials: Vec<Trial<'_>> =
                some.iter().map(|faults| Trial { faults: faults.clone(), change: vec![] }).collect();
            let bits = self.run(terms, &trials);
            found.extend((0..some.len()).map(|lane| bits >> lane & 1 == 1));
        }
        found
    }

    /// The first change of one or two choices of `source` with which these faults break the claim.
    fn change_for(&self, terms: &Terms, faults: &[Source], source: Source) -> Option<Change> {
        let none = Vec::new();
        let changes = self.changes.get(&source).unwrap_or(&none);
        let unchanged = Change::new();
        let mut tries: Vec<Vec<&Change>> = vec![vec![&unchanged]];
        tries.extend(changes.iter().map(|change| vec![change]));
        let all: Change = changes.iter().flatten().filter(|(_, value)| *value).copied().collect();
        tries.push(vec![&all]);
        if changes.len() <= FEW {
            for (number, one) in changes.iter().enumerate() {
                tries.extend(changes.iter().skip(number + 1).map(|other| vec![one, other]));
            }
        }
        for some in tries.chunks(LANES) {
            let trials: Vec<Trial<'_>> =
                some.iter().map(|change| Trial { faults: faults.to_vec(), change: change.clone() }).collect();
            let bits = self.run(terms, &trials);
            if bits != 0 {
                let first = some.get(bits.trailing_zeros() as usize)?;
                return Some(first.iter().flat_map(|change| change.iter().copied()).collect());
            }
        }
        None
    }

    /// Sources that are cut sets by themselves, beside those in `known`.
    pub fn singles(&self, terms: &Terms, known: &BTreeSet<BTreeSet<Source>>) -> Vec<BTreeSet<Source>> {
        let open = self.faults.keys().copied().filter(|source| !known.contains(&BTreeSet::from([*source])));
        open.filter(|source| self.change_for(terms, &[*source], *source).is_some())
            .map(|source| BTreeSet::from([source]))
            .collect()
    }

    /// Cut sets of two sources beside those in `known`, which holds every cut set of one source, and this one.
    pub fn pairs(
        &mut self,
        terms: &Terms,
        first: &BTreeSet<Source>,
        known: &BTreeSet<BTreeSet<Source>>,
    ) -> Vec<BTreeSet<Source>> {
        let alone: BTreeSet<Source> = known.iter().filter(|cut| cut.len() == 1).flatten().copied().collect();
        let sources: Vec<Source> =
            self.faults.keys().copied().filter(|source| !alone.contains(source)).collect();
        let mut kept: Vec<Vec<Source>> = vec![first.iter().copied().collect()];
        let mut found: BTreeSet<BTreeSet<Source>> = BTreeSet::new();
        for partner in first {
            for source in sources.iter().filter(|source| *source != partner) {
                let pair = vec![*source, *partner];
                let Some(change) = self.change_for(terms, &pair, *source) else { continue };
                found.insert(pair.iter().copied().collect());
                if !change.is_empty() && !self.adopt(terms, &change, &kept) {
                    continue;
                }
                kept.push(pair);
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
        for (pair, breaks) in rest.iter().zip(self.which(terms, &rest)) {
            if breaks {
                found.insert(pair.iter().copied().collect());
            }
        }
        found.retain(|pair| !known.contains(pair) && pair != first);
        found.into_iter().collect()
    }

    /// Keeps a change, if every set of faults that broke the claim before still does.
    fn adopt(&mut self, terms: &Terms, change: &Change, kept: &[Vec<Source>]) -> bool {
        let before = self.values.clone();
        for (index, value) in change {
            if let Some(slot) = self.values.get_mut(*index) {
                *slot = *value;
            }
        }
        let still = self.which(terms, kept).into_iter().all(|breaks| breaks);
        if !still {
            self.values = before;
        }
        still
    }
}

fn term(terms: &Terms, index: usize) -> &Term {
    terms.at(index)
}

/// Numbers of the terms that this one depends on, parts before wholes, itself last.
fn needed(terms: &Terms, root: TermId) -> Vec<usize> {
    let mut found = BTreeSet::new();
    let mut open = vec![root];
    while let Some(id) = open.pop() {
        if !found.insert(id.index()) {
            continue;
        }
        match terms.get(id) {
            Term::Not(part) => open.push(*part),
            Term::And(parts) | Term::Or(parts) | Term::AtLeast(_, parts) => open.extend(parts),
            Term::Constant(_) | Term::Var(_) | Term::Linear(_) => {}
        }
    }
    found.into_iter().collect()
}

fn holds(linear: &Linear, numbers: &BTreeMap<NumberChoice, Exact>) -> bool {
    let sum = linear.sum.iter().fold(Exact::zero(), |sum, (coefficient, number)| {
        let value = numbers.get(number).cloned().unwrap_or_else(Exact::zero);
        &sum + &(coefficient * &value)
    });
    if linear.inclusive { sum >= linear.bound } else { sum > linear.bound }
}

/// Which sources a choice may matter for: those whose faults stand beside it in a conjunction.
struct Owners {
    of_choice: BTreeMap<usize, BTreeSet<Source>>,
}

/// What stands below a term.
#[derive(Clone, Default)]
struct Below {
    /// Fault sources, if the term holds nothing but faults and choices of what misbehaves.
    faults: Option<BTreeSet<Source>>,
    /// Its choices, if it holds nothing but such choices.
    choices: Option<BTreeSet<usize>>,
}

impl Owners {
    fn of(terms: &Terms, needed: &[usize], faults: &BTreeMap<Source, usize>) -> Owners {
        let source_at: BTreeMap<usize, Source> =
            faults.iter().map(|(source, index)| (*index, *source)).collect();
        let mut below: BTreeMap<usize, Below> = BTreeMap::new();
        let mut owners = Owners { of_choice: BTreeMap::new() };
        for index in needed {
            let parts: &[TermId] = match term(terms, *index) {
                Term::Not(part) => std::slice::from_ref(part),
                Term::And(parts) | Term::Or(parts) | Term::AtLeast(_, parts) => parts,
                Term::Constant(_) | Term::Var(_) | Term::Linear(_) => {
                    let leaf = leaf(term(terms, *index), *index, source_at.get(index).copied());
                    below.insert(*index, leaf);
                    continue;
                }
            };
            let each: Vec<Below> =
                parts.iter().map(|part| below.get(&part.index()).cloned().unwrap_or_default()).collect();
            if matches!(term(terms, *index), Term::And(_)) {
                owners.conjunction(&each);
            }
            let faults = each.iter().map(|part| part.faults.clone()).collect::<Option<Vec<_>>>();
            let choices = each.iter().map(|part| part.choices.clone()).collect::<Option<Vec<_>>>();
            below.insert(
                *index,
                Below {
                    faults: faults.map(|sets| sets.into_iter().flatten().collect()),
                    choices: choices.map(|sets| sets.into_iter().flatten().collect()),
                },
            );
        }
        owners
    }

    fn conjunction(&mut self, parts: &[Below]) {
        let beside: BTreeSet<Source> =
            parts.iter().filter_map(|part| part.faults.as_ref()).flatten().copied().collect();
        if beside.is_empty() {
            return;
        }
        for choice in parts.iter().filter_map(|part| part.choices.as_ref()).flatten() {
            self.of_choice.entry(*choice).or_default().extend(beside.iter().copied());
        }
    }

    /// For each source the changes to try.
    fn changes(
        &self,
        terms: &Terms,
        needed: &[usize],
        values: &[bool],
        numbers: &BTreeMap<NumberChoice, Exact>,
    ) -> BTreeMap<Source, Vec<Change>> {
        let mut changes: BTreeMap<Source, BTreeSet<Change>> = BTreeMap::new();
        for (choice, sources) in &self.of_choice {
            let alternatives = match term(terms, *choice) {
                Term::Var(Var::PositionIs(device, _)) => {
                    let others = needed.iter().filter_map(|index| match term(terms, *index) {
                        Term::Var(Var::PositionIs(of, _)) if of == device => Some((*index, index == choice)),
                        _ => None,
                    });
                    vec![others.collect()]
                }
                Term::Var(Var::ModeIs(group, _)) => {
                    let others = needed.iter().filter_map(|index| match term(terms, *index) {
                        Term::Var(Var::ModeIs(of, _)) if of == group => Some((*index, index == choice)),
                        _ => None,
                    });
                    vec![others.collect()]
                }
                Term::Linear(linear) => readings(terms, needed, linear, numbers),
                _ => vec![vec![(*choice, !values.get(*choice).copied().unwrap_or(false))]],
            };
            for source in sources {
                changes.entry(*source).or_default().extend(alternatives.iter().cloned());
            }
        }
        changes.into_iter().map(|(source, changes)| (source, changes.into_iter().collect())).collect()
    }
}

/// A term without parts.
fn leaf(term: &Term, index: usize, source: Option<Source>) -> Below {
    if let Some(source) = source {
        return Below { faults: Some([source].into()), choices: None };
    }
    let is_choice = match term {
        Term::Var(Var::Fact(choice)) => match choice {
            FactChoice::Condition(_)
            | FactChoice::AlreadySet(_)
            | FactChoice::Pressed(_)
            | FactChoice::Overridden(..)
            | FactChoice::Initiator(..)
            | FactChoice::Misbehaves(_)
            | FactChoice::Remembers(..) => false,
            FactChoice::Lost(_)
            | FactChoice::Deviates(..)
            | FactChoice::Bad(..)
            | FactChoice::Silent(..)
            | FactChoice::Asserted(..)
            | FactChoice::LineOpen(..)
            | FactChoice::LineHeld(..)
            | FactChoice::ContactClosed(_)
            | FactChoice::CauseDeviates(..)
            | FactChoice::CauseSilent(..)
            | FactChoice::CauseSeen(..)
            | FactChoice::LinkDown(..)
            | FactChoice::Gives(_)
            | FactChoice::Drives(..)
            | FactChoice::ActuatorLineOpen(_)
            | FactChoice::ActuatorLineHeld(_)
            | FactChoice::Energised(_)
            | FactChoice::DeviceDeviates(_) => true,
        },
        Term::Var(Var::PositionIs(..) | Var::ModeIs(ModeChoice::Shown(..), _)) => true,
        Term::Linear(linear) => matches!(linear.sum.as_slice(), [(_, NumberChoice::Reading(..))]),
        _ => false,
    };
    let is_fact = matches!(term, Term::Var(Var::Fact(_)));
    Below { faults: (is_choice && is_fact).then(BTreeSet::new), choices: is_choice.then(|| [index].into()) }
}

/// Other values of the reading in a comparison: at its bound and one below and above, each with what it makes of every
/// comparison of that reading.
fn readings(
    terms: &Terms,
    needed: &[usize],
    linear: &Linear,
    numbers: &BTreeMap<NumberChoice, Exact>,
) -> Vec<Change> {
    let [(coefficient, number)] = linear.sum.as_slice() else { return Vec::new() };
    let Some(bound) = linear.bound.checked_div(coefficient) else { return Vec::new() };
    let one = Exact::int(1);
    let mut found = Vec::new();
    for value in [bound.clone(), &bound - &one, &bound + &one] {
        let mut numbers = numbers.clone();
        numbers.insert(*number, value);
        let change = needed.iter().filter_map(|index| match term(terms, *index) {
            Term::Linear(other) if other.sum.iter().any(|(_, n)| n == number) => {
                Some((*index, holds(other, &numbers)))
            }
            _ => None,
        });
        found.push(change.collect());
    }
    found
}
