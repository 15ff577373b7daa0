//! Which questions are the same under other names.
//!
//! Two modes of one hazard often ask the same, and two bays that are built alike ask alike. Such a question is asked once.
//! What is told by a situation (a refutation) is not carried over to other names: it is asked there again.

use std::collections::{BTreeMap, BTreeSet};

use super::office::THREADS;
use super::{Decided, HazardInMode, Numbers, Work};
use crate::claim::Breach;
use crate::engine::EngineError;
use crate::model::{HazardId, ModeId, Model, Source};
use crate::semantics::{Encoding, Scope, encode};
use crate::situation::ModeChoice;
use crate::term::TermId;

/// One hazard in one mode.
#[derive(Debug)]
pub(super) struct Question {
    pub(super) hazard: HazardId,
    pub(super) mode: ModeId,
    pub(super) encoding: Encoding,
    /// Number of the earlier question that is like this one.
    pub(super) leader: Option<usize>,
}

/// Every hazard in every mode in which it exists, in the file's order.
///
/// # Errors
/// If a thread ends early.
pub(super) fn questions(model: &Model, universe: &BTreeSet<Source>) -> Result<Vec<Question>, EngineError> {
    let pairs =
        model.hazards.iter().flat_map(|(id, hazard)| hazard.exists_in.iter().map(move |mode| (id, *mode)));
    let pairs: Vec<(HazardId, ModeId)> = pairs.collect();
    let mut questions = each(&pairs, |(hazard, mode)| {
        let modes = [*mode];
        let breach = Breach::NotMet { hazard: *hazard, onset: None };
        let scope = Scope { breach, modes: &modes, sources: universe, initiators: true };
        Question { hazard: *hazard, mode: *mode, encoding: encode(model, &scope), leader: None }
    })?;
    // What is decided depends on what is required, too, which is no part of the question.
    let leaders = first_alike(&questions, |a, b| {
        model.hazards[a.hazard].required == model.hazards[b.hazard].required
            && a.encoding.alike(&b.encoding, |source| model.weight(source))
    });
    for (question, leader) in questions.iter_mut().zip(leaders) {
        question.leader = leader;
    }
    Ok(questions)
}

/// Does the same with each of these, on all threads.
///
/// # Errors
/// If a thread ends early.
pub(super) fn each<T: Sync, R: Send>(of: &[T], work: impl Fn(&T) -> R + Sync) -> Result<Vec<R>, EngineError> {
    let mut done = Vec::with_capacity(of.len());
    let part = of.len().div_ceil(THREADS).max(1);
    let work = &work;
    std::thread::scope(|scope| {
        let workers: Vec<_> = of
            .chunks(part)
            .map(|some| scope.spawn(move || some.iter().map(work).collect::<Vec<_>>()))
            .collect();
        for worker in workers {
            done.extend(worker.join().map_err(|_| EngineError("a thread ended early".into()))?);
        }
        Ok(done)
    })
}

/// For each of these the first one that is like it, if that is an earlier one.
fn first_alike<T>(all: &[T], alike: impl Fn(&T, &T) -> bool) -> Vec<Option<usize>> {
    let mut leading: Vec<usize> = Vec::new();
    all.iter()
        .enumerate()
        .map(|(number, one)| {
            let like = |other: &&usize| all.get(**other).is_some_and(|leader| alike(leader, one));
            let leader = leading.iter().find(like).copied();
            if leader.is_none() {
                leading.push(number);
            }
            leader
        })
        .collect()
}

/// Everything that is asked about claims that are no hazard's.
#[derive(Debug)]
pub(super) struct Asked {
    /// Encodings, each with the terms that are asked about.
    pub(super) of: Vec<(Encoding, Vec<TermId>)>,
    /// Weight of the faults that are allowed.
    pub(super) faults: u32,
}

impl Asked {
    /// Asked without faults, or with such as the question itself allows.
    pub(super) fn of(of: Vec<(Encoding, Vec<TermId>)>) -> Self {
        Asked { of, faults: 0 }
    }

    /// The encodings.
    pub(super) fn encodings(&self) -> impl Iterator<Item = &Encoding> {
        self.of.iter().map(|(encoding, _)| encoding)
    }
}

/// For each of these the first one of its kind that asks alike, if that is an earlier one. What an answer means differs from
/// kind to kind.
pub(super) fn leaders<K: PartialEq>(model: &Model, all: &[(K, Option<Asked>)]) -> Vec<Option<usize>> {
    first_alike(all, |(kind, a), (other, b)| match (a, b) {
        (Some(a), Some(b)) => {
            let mut pairs = a.of.iter().zip(&b.of);
            kind == other
                && a.faults == b.faults
                && a.of.len() == b.of.len()
                && pairs
                    .all(|((a, asks), (b, also))| asks == also && a.alike(b, |source| model.weight(source)))
        }
        _ => false,
    })
}

impl Question {
    /// Whether no earlier question is like it.
    pub(super) fn leads(&self) -> bool {
        self.leader.is_none()
    }

    /// Whether the other asks the same of the same hazard in another mode.
    pub(super) fn asks_the_same(&self, other: &Question) -> bool {
        self.hazard == other.hazard && self.encoding.asks_the_same(&other.encoding)
    }

    /// The answer, from that of the question that leads; `None` if it cannot be carried over.
    pub(super) fn from(
        &self,
        leader: &Question,
        found: &HazardInMode,
        work: &mut Work<'_>,
    ) -> Option<HazardInMode> {
        if leader.asks_the_same(self) {
            return Some(self.in_another_mode(found.clone(), work));
        }
        let told = |decided: &Decided| matches!(decided, Decided::Broken(_) | Decided::Disputed);
        if found.claims().into_iter().any(told) {
            return None;
        }
        let theirs: BTreeMap<_, Source> =
            self.encoding.faults.iter().map(|(source, term)| (*term, *source)).collect();
        let mut names: BTreeMap<Source, Source> = BTreeMap::new();
        for (source, term) in &leader.encoding.faults {
            names.insert(*source, *theirs.get(term)?);
        }
        let numbers = |numbers: &Option<Numbers>| match numbers {
            Some(numbers) => numbers.renamed(&names).map(Some),
            None => Some(None),
        };
        Some(HazardInMode {
            hazard: self.hazard,
            mode: self.mode,
            numbers: numbers(&found.numbers)?,
            alone: numbers(&found.alone)?,
            ..found.clone()
        })
    }

    /// The same question was answered for another mode: the answer stands, and its witnesses are replayed here.
    fn in_another_mode(&self, found: HazardInMode, work: &mut Work<'_>) -> HazardInMode {
        let group = work.model.modes[self.mode].group;
        let mut moved = |decided: Decided| match decided {
            Decided::Broken(witness) => {
                let mut claim = witness.claim;
                let mut situation = witness.situation;
                claim.modes = vec![self.mode];
                situation.modes.insert(ModeChoice::Holds(group), self.mode);
                work.believe(claim, situation)
            }
            other => other,
        };
        let each =
            found.each.into_iter().filter_map(|witness| match moved(Decided::Broken(Box::new(witness))) {
                Decided::Broken(witness) => Some(*witness),
                _ => None,
            });
        let each = each.collect();
        HazardInMode {
            mode: self.mode,
            each,
            unaided: moved(found.unaided),
            covered: moved(found.covered),
            tolerance: moved(found.tolerance),
            disjoint: moved(found.disjoint),
            initiator: moved(found.initiator),
            overrides: moved(found.overrides),
            ..found
        }
    }
}

impl Numbers {
    /// The same with other names; `None` if a source has no other name.
    fn renamed(&self, names: &BTreeMap<Source, Source>) -> Option<Numbers> {
        let set = |sources: &BTreeSet<Source>| {
            sources.iter().map(|source| names.get(source).copied()).collect::<Option<BTreeSet<Source>>>()
        };
        let all = |sets: &[BTreeSet<Source>]| sets.iter().map(set).collect::<Option<Vec<_>>>();
        let mut cuts = all(&self.cuts)?;
        cuts.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
        let lightest = match &self.lightest {
            Some(cut) => Some(set(cut)?),
            None => None,
        };
        Some(Numbers {
            cuts,
            path_sets: all(&self.path_sets)?,
            obstacle: all(&self.obstacle)?,
            lightest,
            ..self.clone()
        })
    }
}
