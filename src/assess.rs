//! Decides every claim of a model: asks the engine, has each refutation replayed, and keeps what the checks need.
//!
//! The only place where engine and simulator meet. A refutation that the simulator does not confirm becomes a
//! [`Disagreement`] and is never told as a finding. Which claims there are follows section 4 of the semantics.

mod board;
mod capacity;
mod hazard;
mod loss;
mod single;
mod together;
mod two_modes;
mod vote;

use std::collections::BTreeSet;

pub use hazard::{HazardInMode, Numbers, ORDER};
pub use single::{Single, Subject};
pub use together::Incompatible;
pub use vote::{Input, Stuck};

use crate::analysis::Stop;
use crate::claim::Claim;
use crate::engine::{Engine, EngineError};
use crate::model::{CauseId, CouplingId, GroupId, HazardId, ModeId, Model, SolverId};
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
    /// Engine and simulator disagree; see [`Assessment::disputes`].
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

/// Everything decided about one model.
#[derive(Debug, Clone, Default)]
pub struct Assessment {
    /// Every hazard in every mode in which it exists, in the file's order.
    pub hazards: Vec<HazardInMode>,
    /// Claims about single elements.
    pub singles: Vec<Single>,
    /// Votes that cannot trip with what may be out of them.
    pub stuck: Vec<Stuck>,
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
}

/// One part of the work; parts do not need each other's results.
#[derive(Debug, Clone)]
enum Task {
    Modes,
    Hazard(HazardId),
    Causes(Vec<CauseId>),
    Votes(Vec<CauseId>),
    Runs,
    Single(Subject),
}

/// Threads among which the tasks are dealt out. Fixed, and dealt in turn, so that the same model is decided in the same
/// steps on every machine.
const THREADS: usize = 2;

/// Assesses a whole model.
///
/// # Errors
/// If the engine cannot do its work at all.
pub fn assess(model: &Model, engine: &dyn Engine) -> Result<Assessment, EngineError> {
    let universe = model.universe();
    let causes: Vec<CauseId> = model.causes.ids().collect();
    let half = causes.len().div_ceil(THREADS).max(1);
    let voting = causes.iter().copied().filter(|id| !model.causes[*id].when.trip_votes().is_empty());
    let tasks: Vec<Task> = [Task::Modes]
        .into_iter()
        .chain(model.hazards.ids().map(Task::Hazard))
        .chain(causes.chunks(half).map(|some| Task::Causes(some.to_vec())))
        .chain([Task::Votes(voting.collect()), Task::Runs])
        .chain(single::subjects(model).into_iter().map(Task::Single))
        .collect();
    let mut parts: Vec<(usize, Assessment)> = Vec::new();
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..THREADS)
            .map(|first| {
                let (tasks, universe) = (&tasks, &universe);
                scope.spawn(move || {
                    let mine = tasks.iter().enumerate().skip(first).step_by(THREADS);
                    mine.map(|(number, task)| Ok((number, part(model, engine, universe, task)?)))
                        .collect::<Result<Vec<_>, EngineError>>()
                })
            })
            .collect();
        for worker in workers {
            let done = worker.join().map_err(|_| EngineError("a thread of the solver ended early".into()))?;
            parts.extend(done?);
        }
        Ok::<(), EngineError>(())
    })?;
    parts.sort_by_key(|(number, _)| *number);
    Ok(parts.into_iter().fold(Assessment::default(), |whole, (_, part)| whole.with(part)))
}

/// Does one task.
fn part(
    model: &Model,
    engine: &dyn Engine,
    universe: &BTreeSet<crate::model::Source>,
    task: &Task,
) -> Result<Assessment, EngineError> {
    let mut work = Work { model, engine, universe, result: Assessment::default() };
    match task {
        Task::Modes => work.modes()?,
        Task::Hazard(hazard) => work.hazard(*hazard)?,
        Task::Causes(causes) => work.causes(causes)?,
        Task::Votes(causes) => {
            for cause in causes {
                work.votes(*cause)?;
            }
        }
        Task::Runs => work.runs()?,
        Task::Single(subject) => work.single(*subject)?,
    }
    Ok(work.result)
}

impl Assessment {
    /// This, and behind it what another part decided.
    fn with(mut self, part: Assessment) -> Self {
        self.hazards.extend(part.hazards);
        self.singles.extend(part.singles);
        self.stuck.extend(part.stuck);
        self.incompatible.extend(part.incompatible);
        self.impossible_modes.extend(part.impossible_modes);
        self.couplings.extend(part.couplings);
        self.modes_known.extend(part.modes_known);
        self.disputes.extend(part.disputes);
        self
    }
}

struct Work<'m> {
    model: &'m Model,
    engine: &'m dyn Engine,
    universe: &'m BTreeSet<crate::model::Source>,
    result: Assessment,
}

impl Work<'_> {
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

/// Splits what stopped an analysis: undecided is a verdict, failure ends the work.
fn undecided(stop: Stop) -> Result<String, EngineError> {
    match stop {
        Stop::Undecided(reason) => Ok(reason),
        Stop::Failed(error) => Err(error),
    }
}
