//! The engine that asks Z3, with linear real arithmetic for readings, errors and couplings.
//!
//! Turns terms into Z3's and reads its answers back; nothing here knows a plant. Work is limited by Z3's own resource
//! count, so that an undecided answer does not depend on how busy the machine is.

use std::cell::OnceCell;

use rustc_hash::{FxHashMap, FxHashSet};

use super::session::{self, Bool, Real, Session};
use super::{Answer, Engine, EngineError, Example, Question};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Term, TermId, Terms, Var};

/// Z3 as an engine.
#[derive(Debug, Clone)]
pub struct Smt {
    /// Most work for one question, in Z3's own count; 0 for no limit.
    pub resource_limit: u32,
}

impl Smt {
    /// Z3 with this limit of work for one question.
    ///
    /// # Errors
    /// If the Z3 that is running is not one this project was tested with.
    pub fn new(resource_limit: u32) -> Result<Self, EngineError> {
        session::version::supported_version().map_err(EngineError)?;
        Ok(Smt { resource_limit })
    }
}

impl Engine for Smt {
    fn name(&self) -> String {
        format!("Z3 {}", session::version::running_version())
    }

    fn apart(&self, work: &(dyn Fn() + Send + Sync)) {
        session::isolated(work);
    }

    fn open(
        &self,
        terms: &Terms,
        possible: &[TermId],
        _assumed: &[TermId],
    ) -> Result<Box<dyn Question>, EngineError> {
        let mut question = SmtQuestion::new(self.resource_limit);
        // All in one: Z3 prepares each assertion anew.
        let possible = question.many(terms, possible)?;
        question.session.assert(&session::term::and(&possible));
        Ok(Box::new(question))
    }
}

/// One solver with what was said to it.
struct SmtQuestion {
    session: Session,
    /// Terms taken so far, by the numbers of their ids: they are given back in that order too. Z3 uses numbers that are
    /// given back for new terms, and its search depends on them, so a random order would change later answers.
    terms: Vec<Option<Bool>>,
    facts: FxHashMap<Var, Bool>,
    numbers: FxHashMap<NumberChoice, Real>,
    /// Names given to compound terms so that they can be assumed, by the level at which they were defined.
    named: Vec<FxHashSet<TermId>>,
    given: Vec<TermId>,
    /// The last answer was that a situation exists.
    exists: bool,
    /// The situation that it found, once somebody has looked at it: reading one out of Z3 costs as much as many questions.
    found: OnceCell<session::Situation>,
    kept: Option<session::Situation>,
    conflict: Vec<TermId>,
}

impl SmtQuestion {
    fn new(resource_limit: u32) -> Self {
        SmtQuestion {
            session: Session::new(resource_limit),
            terms: Vec::new(),
            facts: FxHashMap::default(),
            numbers: FxHashMap::default(),
            named: vec![FxHashSet::default()],
            given: Vec::new(),
            exists: false,
            found: OnceCell::new(),
            kept: None,
            conflict: Vec::new(),
        }
    }

    fn fact(&mut self, var: Var) -> Bool {
        let number = self.facts.len();
        self.facts.entry(var).or_insert_with(|| session::term::bool_const(&format!("b{number}"))).clone()
    }

    fn number_term(&mut self, number: NumberChoice) -> Real {
        let count = self.numbers.len();
        self.numbers.entry(number).or_insert_with(|| session::term::real_const(&format!("x{count}"))).clone()
    }

    fn many(&mut self, terms: &Terms, parts: &[TermId]) -> Result<Vec<Bool>, EngineError> {
        parts.iter().map(|part| self.term(terms, *part)).collect()
    }

    fn term(&mut self, terms: &Terms, id: TermId) -> Result<Bool, EngineError> {
        if let Some(Some(term)) = self.terms.get(id.index()) {
            return Ok(term.clone());
        }
        let term = match terms.get(id) {
            Term::Constant(value) => session::term::truth(*value),
            Term::Var(var) => self.fact(*var),
            Term::Not(part) => session::term::not(&self.term(terms, *part)?),
            Term::And(parts) => session::term::and(&self.many(terms, parts)?),
            Term::Or(parts) => session::term::or(&self.many(terms, parts)?),
            Term::AtLeast(count, parts) => {
                let parts = self.many(terms, parts)?;
                session::term::at_least(*count, &parts).map_err(|error| EngineError(error.to_string()))?
            }
            Term::Linear(linear) => {
                let parts: Vec<(Exact, Real)> =
                    linear.sum.iter().map(|(c, number)| (c.clone(), self.number_term(*number))).collect();
                let sum = session::term::linear(&parts, &Exact::zero());
                let bound = session::term::number(&linear.bound);
                match linear.inclusive {
                    true => session::term::ge(&sum, &bound),
                    false => session::term::gt(&sum, &bound),
                }
            }
        };
        if self.terms.len() <= id.index() {
            self.terms.resize(terms.len().max(id.index() + 1), None);
        }
        if let Some(place) = self.terms.get_mut(id.index()) {
            *place = Some(term.clone());
        }
        Ok(term)
    }

    fn kept(&self) -> Result<Seen<'_>, EngineError> {
        let situation = self.kept.as_ref().ok_or_else(|| EngineError("no situation to read".into()))?;
        Ok(Seen { question: self, situation })
    }

    /// Whatever was found is the answer to another question than the next one.
    fn forget(&mut self) {
        self.exists = false;
        self.found = OnceCell::new();
    }

    /// A constant or negated constant that stands for the term, so that Z3 can assume it without new clauses each time.
    fn literal(&mut self, terms: &Terms, id: TermId) -> Result<Bool, EngineError> {
        let term = self.term(terms, id)?;
        let plain = match terms.get(id) {
            Term::Var(_) | Term::Constant(_) => true,
            Term::Not(part) => matches!(terms.get(*part), Term::Var(_)),
            Term::And(_) | Term::Or(_) | Term::AtLeast(..) | Term::Linear(_) => false,
        };
        if plain {
            return Ok(term);
        }
        let name = session::term::bool_const(&format!("t{}", id.index()));
        if !self.named.iter().any(|level| level.contains(&id)) {
            self.session.assert(&session::term::implies(&name, &term));
            if let Some(level) = self.named.last_mut() {
                level.insert(id);
            }
        }
        Ok(name)
    }
}

fn unreadable(error: session::ReadError) -> EngineError {
    EngineError(error.to_string())
}

impl Question for SmtQuestion {
    fn require(&mut self, terms: &Terms, term: TermId) -> Result<(), EngineError> {
        self.forget();
        let term = self.term(terms, term)?;
        self.session.assert(&term);
        Ok(())
    }

    fn push(&mut self) {
        self.forget();
        self.session.push();
        self.named.push(FxHashSet::default());
    }

    fn pop(&mut self) {
        self.forget();
        self.session.pop();
        self.named.pop();
    }

    fn ask(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        self.forget();
        self.conflict.clear();
        let literals = given.iter().map(|id| self.literal(terms, *id)).collect::<Result<Vec<_>, _>>()?;
        self.given = given.to_vec();
        match self.session.check(&literals) {
            session::Answer::Sat => {
                self.exists = true;
                Ok(Answer::Exists)
            }
            session::Answer::Unsat => {
                let core = self.session.core().map_err(unreadable)?;
                self.conflict = core.iter().filter_map(|index| given.get(*index).copied()).collect();
                Ok(Answer::None)
            }
            session::Answer::Unknown(reason) => Ok(Answer::Undecided(reason)),
        }
    }

    fn keep(&mut self, _terms: &Terms) -> Result<(), EngineError> {
        self.kept = None;
        if !self.exists {
            return Err(EngineError("no situation to keep".into()));
        }
        self.kept = Some(match self.found.take() {
            Some(found) => found,
            None => self.session.model().map_err(unreadable)?,
        });
        Ok(())
    }

    fn conflict(&mut self, _terms: &Terms) -> Vec<TermId> {
        self.conflict.clone()
    }

    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        self.kept()?.truth(var)
    }

    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        self.kept()?.number(number)
    }

    fn example(&self) -> Result<Option<Box<dyn Example + '_>>, EngineError> {
        let situation = match self.found.get() {
            Some(found) => found,
            None => {
                let found = self.session.model().map_err(unreadable)?;
                self.found.get_or_init(|| found)
            }
        };
        Ok(Some(Box::new(Seen { question: self, situation })))
    }
}

/// A situation with the names that its question has for variables and numbers.
struct Seen<'q> {
    question: &'q SmtQuestion,
    situation: &'q session::Situation,
}

impl Example for Seen<'_> {
    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        match self.question.facts.get(&var) {
            Some(term) => self.situation.bool(term).map_err(unreadable),
            None => Ok(false),
        }
    }

    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        match self.question.numbers.get(&number) {
            Some(term) => self.situation.real(term).map_err(unreadable),
            None => Ok(Exact::zero()),
        }
    }
}
