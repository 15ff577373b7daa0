//! Engines: what decides whether a situation exists.
//!
//! An [`Engine`] opens an [`Encoding`](crate::semantics::Encoding) as a [`Question`] that can be asked many times under
//! different assumptions. Engines do not know which claim or check asked. Z3 lives only below this file.

pub mod both;
pub mod diagram;
pub mod session;
pub mod smt;
pub mod smtlib;

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
    /// Two engines answer differently: an error of the tool.
    Disputed(Box<Contradiction>),
}

/// Two answers to one question, with the question.
#[derive(Debug, Clone)]
pub struct Contradiction {
    /// The terms.
    pub terms: Terms,
    /// All of these hold.
    pub asserted: Vec<TermId>,
    /// The engines by name, each with its answer.
    pub answers: [(String, Found); 2],
}

impl PartialEq for Contradiction {
    fn eq(&self, other: &Self) -> bool {
        self.asserted == other.asserted && self.answers == other.answers && self.terms.same(&other.terms)
    }
}

impl Eq for Contradiction {}

/// What one engine found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// A situation exists.
    Exists,
    /// None exists.
    None,
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
    /// Opens a question over terms of which all of `possible` hold. `assumed` are the variables of which later questions
    /// will mostly differ: an engine may prepare for that, and answers alike whatever stands there.
    ///
    /// # Errors
    /// If the engine cannot be started or cannot take the terms.
    fn open(
        &self,
        terms: &Terms,
        possible: &[TermId],
        assumed: &[TermId],
    ) -> Result<Box<dyn Question>, EngineError>;
}

/// A situation as an engine found it.
pub trait Example {
    /// The value of a variable; false where it does not matter.
    ///
    /// # Errors
    /// If the engine gave no value.
    fn truth(&self, var: Var) -> Result<bool, EngineError>;
    /// The value of a number; 0 where it does not matter.
    ///
    /// # Errors
    /// If the engine gave no value, or one that is not rational.
    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError>;
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
    /// As [`Question::ask`], where the answer decides no claim by itself but only chooses what is told: one opinion is
    /// enough, since the simulator replays what is chosen.
    ///
    /// # Errors
    /// If the engine cannot take a term.
    fn look(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        self.ask(terms, given)
    }
    /// As [`Question::ask`], where another engine has found a situation: one in which everything holds when it is worked out
    /// is an answer. Otherwise, and in engines that do not work out situations, the engine searches for itself.
    ///
    /// # Errors
    /// If the engine cannot take a term, or finds a situation where the one given does not do what was asked.
    fn weigh(
        &mut self,
        terms: &Terms,
        given: &[TermId],
        _example: &dyn Example,
    ) -> Result<Answer, EngineError> {
        self.ask(terms, given)
    }
    /// After [`Answer::Exists`]: the situation, for another engine to [weigh](Question::weigh), if this one shows it.
    ///
    /// # Errors
    /// If it cannot be read.
    fn example(&self) -> Result<Option<Box<dyn Example + '_>>, EngineError> {
        Ok(None)
    }
    /// Why the answer of the last [`Question::ask`] stands with one engine only; `None` if two gave it.
    fn alone(&self) -> Option<String> {
        Some("only one engine was asked".into())
    }
    /// After [`Answer::None`]: some of the `given` terms that already cannot hold together.
    fn conflict(&mut self, terms: &Terms) -> Vec<TermId>;
    /// After [`Answer::Exists`]: keeps the situation, so that `truth` and `number` speak about it until the next one is
    /// kept, whatever is asked in between.
    ///
    /// # Errors
    /// If the last answer was another one.
    fn keep(&mut self, terms: &Terms) -> Result<(), EngineError>;
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
