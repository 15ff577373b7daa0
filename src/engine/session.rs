//! A thin, checked layer over one Z3 solver: put terms together, assert them, ask under assumptions, read the answer.
//!
//! Responsible for: no undecided answer passing for a decided one, no number rounded on the way in or out,
//! repeatable settings, and no Z3 but the tested one. Leaves out what the terms mean, and every wall-clock limit:
//! work is limited by Z3's own resource count, which does not depend on the machine's load.
//!
//! # Where terms live
//! Terms and solvers belong to the context of the thread that made them and are not `Send`: build them per thread.
//! Which model Z3 finds depends on the terms made before in the same context, so an answer that must be the same
//! bytes whatever ran earlier, and on whichever thread, is asked for inside [`isolated`] (a new context: 0.3 ms).
//! Terms whose threads or contexts differ must not be mixed: Z3's binding panics on that.
//!
//! # Which solver
//! `Solver::new`, the general one. Measured with Z3 5.4.1 on three formulas of 100 Booleans, 20 reals and some 290
//! constraints (comparisons, couplings, gates, votes, clauses, one weight limit), 2,000 checks under 8 assumptions
//! each, with models and cores read, least processor time of seven runs, the general solver being 1: for the logic
//! QF_LRA 0.76 to 0.84, LRA 0.72 to 0.85, QF_UFLRA 0.74 to 0.87, all with the same answers. Of 0.3 ms a check, that
//! is not worth naming a logic that does not contain what is asserted: pseudo-Boolean terms are in none of them.
//! The tactic `smt` made into a solver takes 10, since it starts anew for each check.
//! From the start of a process to its first answer on such a formula it takes about 20 ms, 4 of them the check.

use std::fmt;
use std::sync::Once;

use z3::ast::Ast;
use z3::{Model, Params, SatResult, Solver};

use crate::exact::Exact;

pub mod numeral;
pub mod term;
pub mod version;

pub use term::{Bool, Real};

/// What the solver said about one question.
#[derive(Debug, Clone, PartialEq, Eq)]
#[must_use]
pub enum Answer {
    /// All assertions and assumptions hold together in some situation; [`Session::model`] has one.
    Sat,
    /// They never hold together; [`Session::core`] has assumptions that suffice for that.
    Unsat,
    /// Not decided, with Z3's reason. Never to be taken for one of the others.
    Unknown(String),
}

/// Why an answer could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadError {
    /// The last check did not answer `Sat`, or something was asserted after it.
    NoModel,
    /// The last check did not answer `Unsat`, or something was asserted after it.
    NoCore,
    /// Z3 gave no plain value for a term; the text is what it gave.
    NoValue(String),
    /// The value is real but not a fraction of whole numbers; the text is what Z3 gave.
    NotRational(String),
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::NoModel => write!(f, "the last question has no model to read"),
            ReadError::NoCore => write!(f, "the last question has no core to read"),
            ReadError::NoValue(text) => write!(f, "the solver gave no value but `{text}`"),
            ReadError::NotRational(text) => {
                write!(f, "the solver gave a number that is no fraction: `{text}`")
            }
        }
    }
}

impl std::error::Error for ReadError {}

/// What the last check left to be read.
#[derive(Debug)]
enum Last {
    Nothing,
    Sat,
    Unsat(Vec<usize>),
}

/// One solver and the answer to its last question.
#[derive(Debug)]
pub struct Session {
    solver: Solver,
    resource_limit: u32,
    last: Last,
}

impl Session {
    /// A solver without assertions, in the context of this thread.
    ///
    /// `resource_limit`: the most work for one check, in Z3's own count (in the order of a million for a
    /// second), the same on every machine; 0 for none. A check that reaches it answers `Unknown`.
    pub fn new(resource_limit: u32) -> Session {
        // Sorting the definitions of functions out of an answer takes more than half of the time of reading one, and there
        // are no functions in our terms. A setting of the process, hence set before the first answer is read.
        static AS_FOUND: Once = Once::new();
        AS_FOUND.call_once(|| z3::set_global_param("model.compact", "false"));
        let solver = Solver::new();
        let mut settings = Params::new();
        // The seed is written down so that a later default cannot change reports.
        settings.set_u32("random_seed", 0);
        settings.set_u32("rlimit", resource_limit);
        solver.set_params(&settings);
        Session { solver, resource_limit, last: Last::Nothing }
    }

    /// Adds what holds in every later question.
    pub fn assert(&mut self, term: &Bool) {
        self.last = Last::Nothing;
        self.solver.assert(term);
    }

    /// Begins a group of assertions.
    pub fn push(&mut self) {
        self.last = Last::Nothing;
        self.solver.push();
    }

    /// Forgets the assertions since the matching [`Session::push`].
    pub fn pop(&mut self) {
        self.last = Last::Nothing;
        self.solver.pop(1);
    }

    /// Whether all assertions and `assumptions` can hold together. Assumptions are for this question only, and may
    /// be any terms; those that are no constant or negated constant cost more.
    pub fn check(&mut self, assumptions: &[Bool]) -> Answer {
        // Never left from an earlier question, whatever happens below.
        self.last = Last::Nothing;
        match self.solver.check_assumptions(assumptions) {
            SatResult::Sat => {
                self.last = Last::Sat;
                Answer::Sat
            }
            SatResult::Unsat => {
                self.last = Last::Unsat(positions(assumptions, &self.solver.get_unsat_core()));
                Answer::Unsat
            }
            SatResult::Unknown => Answer::Unknown(self.reason()),
        }
    }

    /// Z3 calls reaching the limit "canceled", which nobody did: no one else can interrupt this check.
    fn reason(&self) -> String {
        match self.solver.get_reason_unknown().unwrap_or_default() {
            reason if reason.is_empty() => "the solver gave no reason".into(),
            reason if self.resource_limit > 0 && (reason == "canceled" || reason.contains("resource")) => {
                format!("the limit of {} units of work was reached", self.resource_limit)
            }
            reason => reason,
        }
    }

    /// The positions in the last check's assumptions, ascending, of some that suffice for its `Unsat`. Not always
    /// the fewest. Empty if the assertions alone contradict each other; of equal assumptions the first is named.
    ///
    /// # Errors
    /// [`ReadError::NoCore`] unless the last thing done was a check that answered `Unsat`.
    pub fn core(&self) -> Result<&[usize], ReadError> {
        match &self.last {
            Last::Unsat(core) => Ok(core),
            Last::Nothing | Last::Sat => Err(ReadError::NoCore),
        }
    }

    /// A situation in which everything asserted and assumed holds.
    ///
    /// # Errors
    /// [`ReadError::NoModel`] unless the last thing done was a check that answered `Sat`.
    pub fn model(&self) -> Result<Situation, ReadError> {
        match self.last {
            Last::Sat => self.solver.get_model().map(Situation).ok_or(ReadError::NoModel),
            Last::Nothing | Last::Unsat(_) => Err(ReadError::NoModel),
        }
    }
}

/// Where the members of `core` stand in `assumptions`, ascending.
fn positions(assumptions: &[Bool], core: &[Bool]) -> Vec<usize> {
    let mut found: Vec<usize> =
        core.iter().filter_map(|member| assumptions.iter().position(|a| a == member)).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// A value for every term, from a `Sat` answer. What the question leaves open gets a value of Z3's choice.
///
/// It stays as it is when its session goes on.
#[derive(Debug)]
pub struct Situation(Model);

impl Situation {
    /// Whether `term` holds.
    ///
    /// # Errors
    /// [`ReadError::NoValue`] if Z3 does not settle it.
    pub fn bool(&self, term: &Bool) -> Result<bool, ReadError> {
        let value = self.value(term)?;
        value.as_bool().ok_or_else(|| ReadError::NoValue(value.to_string()))
    }

    /// The exact value of `term`, of any size.
    ///
    /// # Errors
    /// [`ReadError::NotRational`] for a root of a polynomial (only with products of unknowns),
    /// [`ReadError::NoValue`] if Z3 does not settle it.
    pub fn real(&self, term: &Real) -> Result<Exact, ReadError> {
        let value = self.value(term)?;
        // Most values fit into 64 bits; the others are handed out as printed terms only.
        match value.as_rational().and_then(|(top, bottom)| Exact::ratio(top, bottom)) {
            Some(value) => Ok(value),
            None => numeral::read(&value.to_string()),
        }
    }
}

impl Situation {
    /// What a term is in it. A constant is looked up: working it out takes ten times as long.
    fn value<T: Ast>(&self, term: &T) -> Result<T, ReadError> {
        let value = self.0.get_const_interp(term).or_else(|| self.0.eval(term, true));
        value.ok_or_else(|| ReadError::NoValue(String::new()))
    }
}

/// Runs `work` in a new Z3 context of its own, so that its answers depend on nothing that ran before. Nothing made
/// outside can be used inside, and no term can leave: the types see to that. May be nested.
pub fn isolated<R: Send + Sync>(work: impl FnOnce() -> R + Send + Sync) -> R {
    z3::with_z3_config(&z3::Config::new(), work)
}

#[cfg(test)]
mod tests;
