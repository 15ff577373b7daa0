//! Decides every claim of a model: asks the engine, has each refutation replayed, and keeps what the checks need.
//!
//! The only place where engine and simulator meet. A refutation that the simulator does not confirm becomes a
//! [`Disagreement`] and is never told as a finding. Which claims there are follows section 4 of the semantics.

mod accord;
mod alike;
mod barred;
mod board;
mod capacity;
mod hazard;
mod loss;
mod office;
mod single;
pub mod structure;
pub mod time;
mod together;
mod two_modes;
mod vote;
pub mod why;

use std::collections::{BTreeMap, BTreeSet};

pub use hazard::{HazardInMode, Numbers, ORDER};
use office::{Office, Task};
pub use single::{Single, Subject};
use time::Ahead;
pub use time::{InTime, Timed};
pub use together::Incompatible;
pub use vote::{Input, Stuck};

use crate::analysis::{Alone, Case, Stop};
use crate::claim::Claim;
use crate::engine::{Contradiction, Engine, EngineError};
use crate::model::{CouplingId, GroupId, HazardId, ModeId, Model, SolverId, Source};
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
    /// What came out about time on the way to what has no regard to it.
    pub(crate) ahead: BTreeMap<(HazardId, ModeId), Ahead>,
    /// Why the proved claims hold, where that was asked: see [`why::reasons`].
    pub reasons: Option<BTreeMap<why::Of, why::Basis>>,
}

/// Assesses a whole model.
///
/// # Errors
/// If the engine cannot do its work at all.
pub fn assess(model: &Model, engine: &dyn Engine) -> Result<Assessment, EngineError> {
    let universe = model.universe();
    let questions = alike::questions(model, &universe)?;
    let nothing = Assessment::default();
    let office = Office { model, engine, universe: &universe, questions: &questions, found: &nothing };
    let whole = office.without_regard_to_time()?;
    let mut alike: BTreeMap<HazardId, Vec<HazardId>> = BTreeMap::new();
    for hazard in model.hazards.ids() {
        let own = questions.iter().find(|question| question.hazard == hazard);
        let leader = own.and_then(|question| questions.get(question.leader?)).map(|leader| leader.hazard);
        alike.entry(leader.unwrap_or(hazard)).or_default().push(hazard);
    }
    let office = Office { found: &whole, ..office };
    let tasks: Vec<Task> = alike.into_values().map(Task::Time).collect();
    let mut timed = office.deal(&tasks)?.into_iter().fold(Assessment::default(), Assessment::with);
    timed.timed.sort_by_key(|in_time| (in_time.hazard, in_time.mode));
    let mut whole = whole.with(timed);
    accord::settle(model, &mut whole);
    Ok(whole)
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
        self.ahead.extend(part.ahead);
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
