//! The questions about hazards, and which of them are the same question under other names.
//!
//! Two modes of one hazard often ask the same, and two bays that are built alike ask alike. Such a question is asked once.
//! What is told by a situation (a refutation) is not carried over to other names: it is asked there again.

use std::collections::{BTreeMap, BTreeSet};

use super::{Decided, HazardInMode, Numbers, THREADS, Work};
use crate::claim::Breach;
use crate::engine::EngineError;
use crate::model::{HazardId, ModeId, Model, Source};
use crate::semantics::{Encoding, Scope, encode};
use crate::situation::ModeChoice;

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
    let mut questions: Vec<Question> = Vec::with_capacity(pairs.len());
    std::thread::scope(|scope| {
        let each = |(hazard, mode): &(HazardId, ModeId)| {
            let modes = [*mode];
            let breach = Breach::NotMet { hazard: *hazard, onset: None };
            let scope = Scope { breach, modes: &modes, sources: universe, initiators: true };
            Question { hazard: *hazard, mode: *mode, encoding: encode(model, &scope), leader: None }
        };
        let part = pairs.len().div_ceil(THREADS).max(1);
        let workers: Vec<_> = pairs
            .chunks(part)
            .map(|some| scope.spawn(move || some.iter().map(each).collect::<Vec<_>>()))
            .collect();
        for worker in workers {
            questions.extend(worker.join().map_err(|_| EngineError("a thread ended early".into()))?);
        }
        Ok::<(), EngineError>(())
    })?;
    let leaders: Vec<Option<usize>> = questions
        .iter()
        .enumerate()
        .scan(Vec::new(), |leading: &mut Vec<usize>, (number, question)| {
            let like = |other: &&usize| {
                questions.get(**other).is_some_and(|leader| {
                    leader.encoding.alike(&question.encoding, |source| model.weight(source))
                })
            };
            let leader = leading.iter().find(like).copied();
            if leader.is_none() {
                leading.push(number);
            }
            Some(leader)
        })
        .collect();
    for (question, leader) in questions.iter_mut().zip(leaders) {
        question.leader = leader;
    }
    Ok(questions)
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
        let decided = [
            &found.unaided,
            &found.covered,
            &found.tolerance,
            &found.disjoint,
            &found.initiator,
            &found.overrides,
        ];
        if decided.into_iter().any(told) {
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
