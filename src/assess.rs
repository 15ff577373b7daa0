//! Decides every claim of a model: asks the engine, has each refutation replayed, and keeps what the checks need.
//!
//! The only place where engine and simulator meet. A refutation that the simulator does not confirm becomes a
//! [`Disagreement`] and is never told as a finding. Which claims there are follows section 4 of the semantics.

mod alike;
mod barred;
mod board;
mod capacity;
mod hazard;
mod loss;
mod single;
pub mod structure;
pub mod time;
mod together;
mod two_modes;
mod vote;
pub mod why;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use alike::Question;
pub use hazard::{HazardInMode, Numbers, ORDER};
pub use single::{Single, Subject};
pub use time::{InTime, Timed};
pub use together::Incompatible;
pub use vote::{Input, Stuck};

use crate::analysis::{Alone, Case, Stop};
use crate::claim::Claim;
use crate::engine::{Contradiction, Engine, EngineError};
use crate::model::{CauseId, CouplingId, GroupId, HazardId, ModeId, Model, SolverId, Source};
use crate::replay::{Replay, replay};
use crate::situation::Situation;

/// A situation that breaks a claim, confirmed by the simulator.
#[derive(Debug, Clone)]
pub struct Witness {
    /// The claim.
    pub claim: Claim,
    /// The situation.
    pub situation: Situation,
    /// What the simulator makes of it.
    pub replay: Replay,
}

/// What was decided about one claim.
#[derive(Debug, Clone)]
pub enum Decided {
    /// No counter-example exists.
    Holds,
    /// One exists.
    Broken(Box<Witness>),
    /// Of a claim that something can happen: it never does, with the reason. There is no situation to show.
    Never(String),
    /// Not decided, with the bound that was reached.
    Undecided(String),
    /// Does not arise, with the reason.
    NotApplicable(String),
    /// Engine and simulator disagree, see [`Assessment::disputes`], or two engines do, see
    /// [`Assessment::contradictions`].
    Disputed,
}

impl Decided {
    /// The witness of a broken claim.
    pub fn witness(&self) -> Option<&Witness> {
        match self {
            Decided::Broken(witness) => Some(witness),
            Decided::Holds
            | Decided::Never(_)
            | Decided::Undecided(_)
            | Decided::NotApplicable(_)
            | Decided::Disputed => None,
        }
    }

    /// Whether it is broken.
    pub fn is_broken(&self) -> bool {
        self.witness().is_some()
    }
}

/// A refutation that the simulator does not confirm.
#[derive(Debug, Clone)]
pub struct Dispute {
    /// The claim.
    pub claim: Claim,
    /// The situation that the engine gave.
    pub situation: Situation,
    /// What the simulator says.
    pub simulator: String,
}

/// What a claim is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// A hazard in a mode.
    Hazard(HazardId, ModeId),
    /// Something else.
    Single(Subject),
}

/// Two engines that answer one question differently.
#[derive(Debug, Clone)]
pub struct Contradicted {
    /// What was asked about.
    pub about: Option<About>,
    /// The question and the answers.
    pub contradiction: Contradiction,
}

/// Everything decided about one model.
#[derive(Debug, Clone, Default)]
pub struct Assessment {
    /// Every hazard in every mode in which it exists, in the file's order.
    pub hazards: Vec<HazardInMode>,
    /// Claims about single elements.
    pub singles: Vec<Single>,
    /// The hazards with regard to time, as `hazards`.
    pub timed: Vec<InTime>,
    /// Votes that cannot trip with what may be out of them.
    pub stuck: Vec<Stuck>,
    /// Of claims that something can happen and never does: the couplings that together keep it from happening.
    pub barred: BTreeMap<Subject, Vec<CouplingId>>,
    /// Hazards that can be present together and whose safe states exclude each other.
    pub incompatible: Vec<Incompatible>,
    /// Modes that the couplings leave without any situation.
    pub impossible_modes: Vec<ModeId>,
    /// Couplings that some result used.
    pub couplings: BTreeSet<CouplingId>,
    /// Solvers taken to know a mode exactly.
    pub modes_known: BTreeSet<(GroupId, SolverId)>,
    /// Refutations that the simulator does not confirm.
    pub disputes: Vec<Dispute>,
    /// Questions that two engines answer differently.
    pub contradictions: Vec<Contradicted>,
    /// Numbers that cannot belong together: the sentence.
    pub differences: Vec<String>,
    /// Why the proved claims hold, where that was asked: see [`why::reasons`].
    pub reasons: Option<BTreeMap<why::Of, why::Basis>>,
}

/// One part of the work; parts do not need each other's results.
#[derive(Debug, Clone)]
enum Task {
    /// The question with this number among those about hazards.
    Hazard(usize),
    Causes(Vec<CauseId>),
    Votes(Vec<CauseId>),
    Runs,
    Singles(Vec<Subject>),
    /// Hazards with regard to time, in all their modes.
    Time(Vec<HazardId>),
}

/// Threads that do the tasks. Fixed: more of them would only wait for the largest task.
const THREADS: usize = 2;
/// Size from which a model is large.
const LARGE: usize = 30_000;
/// Of a large model one part in so many is kept back for the thread that is ready first.
const KEPT_BACK: usize = 7;

/// Assesses a whole model.
///
/// # Errors
/// If the engine cannot do its work at all.
pub fn assess(model: &Model, engine: &dyn Engine) -> Result<Assessment, EngineError> {
    let universe = model.universe();
    let questions = alike::questions(model, &universe)?;
    let office = Office { model, engine, universe: &universe, questions: &questions, found: &[] };
    let causes: Vec<CauseId> = model.causes.ids().collect();
    let half = causes.len().div_ceil(THREADS).max(1);
    let voting = causes.iter().copied().filter(|id| !model.causes[*id].when.trip_votes().is_empty());
    let others: Vec<Task> = causes
        .chunks(half)
        .map(|some| Task::Causes(some.to_vec()))
        .chain([Task::Votes(voting.collect()), Task::Runs])
        .chain(single::parts(model).into_iter().map(Task::Singles))
        .collect();
    let first: Vec<usize> =
        (0..questions.len()).filter(|n| questions.get(*n).is_some_and(Question::leads)).collect();
    let tasks: Vec<Task> = first.iter().copied().map(Task::Hazard).chain(others).collect();
    let mut parts = office.deal(&tasks)?;
    let others = parts.split_off(first.len());
    let mut hazards: BTreeMap<usize, Assessment> = first.into_iter().zip(parts).collect();
    // What is like another needs no work of its own, unless there is something to tell about it.
    let (mut again, mut after): (Vec<usize>, Vec<(usize, usize)>) = (Vec::new(), Vec::new());
    for (number, question) in questions.iter().enumerate() {
        let Some(leader) = question.leader else { continue };
        let twin = |other: &&usize| questions.get(**other).is_some_and(|other| other.asks_the_same(question));
        if let Some(part) = office.follow(question, leader, &hazards) {
            hazards.insert(number, part);
        } else if let Some(twin) = again.iter().find(twin) {
            after.push((number, *twin));
        } else {
            again.push(number);
        }
    }
    let tasks: Vec<Task> = again.iter().copied().map(Task::Hazard).collect();
    hazards.extend(again.into_iter().zip(office.deal(&tasks)?));
    for (number, twin) in after {
        let part = match questions.get(number).and_then(|question| office.follow(question, twin, &hazards)) {
            Some(part) => part,
            None => office.part(&Task::Hazard(number))?,
        };
        hazards.insert(number, part);
    }
    let whole = hazards.into_values().chain(others).fold(Assessment::default(), Assessment::with);
    let office = Office { found: &whole.hazards, ..office };
    let mut alike: BTreeMap<HazardId, Vec<HazardId>> = BTreeMap::new();
    for hazard in model.hazards.ids() {
        let own = questions.iter().find(|question| question.hazard == hazard);
        let leader = own.and_then(|question| questions.get(question.leader?)).map(|leader| leader.hazard);
        alike.entry(leader.unwrap_or(hazard)).or_default().push(hazard);
    }
    let tasks: Vec<Task> = alike.into_values().map(Task::Time).collect();
    let mut timed = office.deal(&tasks)?.into_iter().fold(Assessment::default(), Assessment::with);
    timed.timed.sort_by_key(|in_time| (in_time.hazard, in_time.mode));
    Ok(whole.with(timed))
}

/// What every part of the work needs.
struct Office<'m> {
    model: &'m Model,
    engine: &'m dyn Engine,
    universe: &'m BTreeSet<crate::model::Source>,
    questions: &'m [Question],
    /// What was decided about hazards in modes without regard to time, once it is known.
    found: &'m [HazardInMode],
}

impl<'m> Office<'m> {
    /// Does the tasks in bundles: each thread its own, then what is left. A bundle starts as if it were the first one of
    /// all, and its tasks follow each other in a fixed order, so that no result depends on which thread was quicker.
    fn deal(&self, tasks: &[Task]) -> Result<Vec<Assessment>, EngineError> {
        let bundles = self.bundles(tasks);
        let next = AtomicUsize::new(THREADS);
        let done: Mutex<BTreeMap<usize, Result<Assessment, EngineError>>> = Mutex::new(BTreeMap::new());
        let work = |bundle: &[usize]| {
            for number in bundle {
                let Some(task) = tasks.get(*number) else { continue };
                let part = self.part(task);
                done.lock().unwrap_or_else(PoisonError::into_inner).insert(*number, part);
            }
        };
        let worker = |own: usize| {
            // On a new thread nothing ran before, so its own bundle is apart as it is.
            bundles.get(own).into_iter().for_each(|bundle| work(bundle));
            while let Some(bundle) = bundles.get(next.fetch_add(1, Ordering::Relaxed)) {
                self.engine.apart(&|| work(bundle));
            }
        };
        let worker = &worker;
        std::thread::scope(|scope| {
            let workers: Vec<_> =
                (0..THREADS.min(bundles.len())).map(|own| scope.spawn(move || worker(own))).collect();
            workers.into_iter().try_for_each(|worker| worker.join())
        })
        .map_err(|_| EngineError("a thread of the solver ended early".into()))?;
        done.into_inner().unwrap_or_else(PoisonError::into_inner).into_values().collect()
    }

    /// One large bundle for each thread, and for large models a smaller one for the thread that is ready first: what a
    /// task costs is only guessed. Not more, since every bundle starts an engine anew.
    fn bundles(&self, tasks: &[Task]) -> Vec<Vec<usize>> {
        let mut order: Vec<(usize, usize)> = tasks.iter().map(|task| self.size(task)).enumerate().collect();
        order.sort_by_key(|(number, size)| (std::cmp::Reverse(*size), *number));
        let whole: usize = order.iter().map(|(_, size)| size).sum();
        let kept_back = if whole < LARGE { 0 } else { whole / KEPT_BACK };
        let mut bundles: Vec<(usize, Vec<usize>)> = vec![(0, Vec::new()); THREADS];
        let mut last = (0, Vec::new());
        for (number, size) in order {
            let given: usize = bundles.iter().map(|(taken, _)| taken).sum();
            let fewest = bundles.iter_mut().min_by_key(|(taken, _)| *taken);
            match fewest {
                Some((taken, bundle)) if given + kept_back <= whole => {
                    *taken += size;
                    bundle.push(number);
                }
                _ => last.1.push(number),
            }
        }
        bundles.push(last);
        bundles.into_iter().map(|(_, bundle)| bundle).filter(|bundle| !bundle.is_empty()).collect()
    }

    /// How much work a task is, roughly: only for the order in which they are done.
    fn size(&self, task: &Task) -> usize {
        match task {
            Task::Hazard(number) => {
                self.questions.get(*number).map_or(0, |question| question.encoding.terms.len())
            }
            Task::Causes(causes) => 100 * causes.len(),
            Task::Votes(causes) => 100 * causes.len(),
            Task::Runs => 50 * self.model.modes.len(),
            Task::Singles(subjects) => subjects.iter().map(|subject| subject.size()).sum(),
            Task::Time(hazards) => {
                hazards.iter().map(|hazard| 100 * self.model.hazards[*hazard].exists_in.len()).sum()
            }
        }
    }

    fn work(&self) -> Work<'m> {
        Work {
            model: self.model,
            engine: self.engine,
            universe: self.universe,
            result: Assessment::default(),
            alone: Alone::default(),
        }
    }

    /// Does one task.
    fn part(&self, task: &Task) -> Result<Assessment, EngineError> {
        let mut work = self.work();
        match task {
            Task::Hazard(number) => {
                if let Some(question) = self.questions.get(*number) {
                    work.hazard(question)?;
                }
            }
            Task::Causes(causes) => work.causes(causes)?,
            Task::Votes(causes) => {
                for cause in causes {
                    work.votes(*cause)?;
                }
            }
            Task::Runs => work.runs()?,
            Task::Singles(subjects) => work.singles(subjects)?,
            Task::Time(hazards) => work.in_time(hazards, self.found)?,
        }
        Ok(work.result)
    }

    /// The answer to a question that is like another one, from that one's answer; `None` if it has to be asked itself.
    fn follow(
        &self,
        question: &Question,
        leader: usize,
        known: &BTreeMap<usize, Assessment>,
    ) -> Option<Assessment> {
        let found = known.get(&leader)?.hazards.first()?;
        let leader = self.questions.get(leader)?;
        let mut work = self.work();
        work.note(&question.encoding);
        let found = question.from(leader, found, &mut work)?;
        work.result.hazards.push(found);
        Some(work.result)
    }
}

impl Assessment {
    /// This, and behind it what another part decided.
    fn with(mut self, part: Assessment) -> Self {
        self.hazards.extend(part.hazards);
        self.singles.extend(part.singles);
        self.timed.extend(part.timed);
        self.stuck.extend(part.stuck);
        self.barred.extend(part.barred);
        self.incompatible.extend(part.incompatible);
        self.impossible_modes.extend(part.impossible_modes);
        self.couplings.extend(part.couplings);
        self.modes_known.extend(part.modes_known);
        self.disputes.extend(part.disputes);
        self.contradictions.extend(part.contradictions);
        self.differences.extend(part.differences);
        self
    }
}

struct Work<'m> {
    model: &'m Model,
    engine: &'m dyn Engine,
    universe: &'m BTreeSet<crate::model::Source>,
    result: Assessment,
    /// Why something that was asked for the claim at hand was decided by one engine only.
    alone: Alone,
}

impl<'m> Work<'m> {
    /// Opens the questions about an encoding.
    fn open(
        &self,
        encoding: crate::semantics::Encoding,
        weight: impl Fn(Source) -> u32,
    ) -> Result<Case<'m>, EngineError> {
        let assumed: Vec<crate::term::TermId> = encoding
            .faults
            .values()
            .chain(&encoding.initiators)
            .chain(&encoding.overrides_permitted)
            .copied()
            .collect();
        let question = self.engine.open(&encoding.terms, &encoding.possible, &assumed)?;
        Ok(Case::new(encoding, question, weight, self.alone.clone()))
    }

    /// What stopped an analysis, as what was decided; failure ends the work.
    fn stopped(&mut self, stop: Stop) -> Result<Decided, EngineError> {
        match stop {
            Stop::Undecided(reason) => Ok(Decided::Undecided(reason)),
            Stop::Disputed(contradiction) => {
                let contradicted = Contradicted { about: None, contradiction: *contradiction };
                self.result.contradictions.push(contradicted);
                Ok(Decided::Disputed)
            }
            Stop::Failed(error) => Err(error),
        }
    }

    /// Contradictions met since the last claim are about this one.
    fn about(&mut self, about: About) {
        for contradicted in &mut self.result.contradictions {
            contradicted.about.get_or_insert(about);
        }
    }

    /// Takes note that something was decided by one engine only.
    fn by_one(&self, reason: Option<String>) {
        if let Some(reason) = reason {
            self.alone.borrow_mut().get_or_insert(reason);
        }
    }

    /// Why something since the last claim was decided by one engine only.
    fn decided_alone(&self) -> Option<String> {
        self.alone.borrow_mut().take()
    }

    /// Remembers what the answers to a question rest on.
    fn note(&mut self, encoding: &crate::semantics::Encoding) {
        self.result.couplings.extend(encoding.couplings.iter().copied());
        self.result.modes_known.extend(encoding.modes_known.iter().copied());
    }

    /// Has the simulator confirm a situation that the engine says breaks the claim.
    fn believe(&mut self, claim: Claim, situation: Situation) -> Decided {
        let simulator = match replay(self.model, &claim, &situation) {
            Ok(replay) if replay.breaks => {
                return Decided::Broken(Box::new(Witness { claim, situation, replay }));
            }
            Ok(_) => "the situation is possible, and the claim holds in it".to_string(),
            Err(impossible) => format!("the situation is not possible: {}", impossible.reason),
        };
        self.result.disputes.push(Dispute { claim, situation, simulator });
        Decided::Disputed
    }
}
