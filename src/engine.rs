//! Engines: what decides whether a situation exists.
//!
//! An [`Engine`] opens an [`Encoding`](crate::semantics::Encoding) as a [`Question`] that can be asked many times under
//! different assumptions. Engines do not know which claim or check asked. Z3 lives only below this file.

pub mod session;
pub mod smt;

use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{TermId, Terms, Var};

/// The answer to one question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// A situation exists; [`Question::keep`] makes it readable.
    Exists,
    /// None exists.
    None,
    /// Not decided, with the reason (a resource limit, usually). Never to be taken for either of the others.
    Undecided(String),
}

/// Why an engine could not do its work. Always an error of the tool or of its installation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EngineError(pub String);

/// Something that decides.
pub trait Engine: Sync {
    /// Name and version, for the report.
    fn name(&self) -> String;
    /// Does some work whose answers depend on nothing that ran before on the same thread. An engine that keeps nothing
    /// between questions just does it.
    fn apart(&self, work: &(dyn Fn() + Send + Sync)) {
        work();
    }
    /// Opens a question over terms of which all of `possible` hold.
    ///
    /// # Errors
    /// If the engine cannot be started or cannot take the terms.
    fn open(&self, terms: &Terms, possible: &[TermId]) -> Result<Box<dyn Question>, EngineError>;
}

/// An open question.
pub trait Question {
    /// Requires a term until the matching [`Question::pop`].
    ///
    /// # Errors
    /// If the engine cannot take the term.
    fn require(&mut self, terms: &Terms, term: TermId) -> Result<(), EngineError>;
    /// Begins a group of requirements.
    fn push(&mut self);
    /// Forgets the requirements since the matching [`Question::push`].
    fn pop(&mut self);
    /// Is there a situation in which all of `given` hold?
    ///
    /// # Errors
    /// If the engine cannot take a term.
    fn ask(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError>;
    /// After [`Answer::None`]: some of the `given` terms that already cannot hold together.
    fn conflict(&self) -> Vec<TermId>;
    /// After [`Answer::Exists`]: keeps the situation, so that `truth` and `number` speak about it until the next one is
    /// kept, whatever is asked in between.
    ///
    /// # Errors
    /// If the last answer was another one.
    fn keep(&mut self) -> Result<(), EngineError>;
    /// In the situation kept: the value of a variable; false where it does not matter.
    ///
    /// # Errors
    /// If no situation was kept.
    fn truth(&self, var: Var) -> Result<bool, EngineError>;
    /// In the situation kept: the value of a number; 0 where it does not matter.
    ///
    /// # Errors
    /// If no situation was kept, or the value is not rational.
    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError>;
}
