//! Reads a situation off the diagrams: what was quantified last is chosen first, and the numbers are substituted back
//! through the elimination. The situation is then worked out in the terms, so that a wrong one is never given.

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashMap;

use super::bdd::{Diagrams, Edge, Level};
use super::build::{Built, Record};
use super::linear::{AtomId, Sign};
use super::shape::Key;
use crate::engine::{EngineError, Example};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Term, TermId, Terms, Var};

/// A situation.
#[derive(Debug, Clone, Default)]
pub(super) struct Values {
    pub(super) facts: BTreeMap<Var, bool>,
    pub(super) numbers: BTreeMap<NumberChoice, Exact>,
}

impl Values {
    fn number(&self, number: NumberChoice) -> Exact {
        self.numbers.get(&number).cloned().unwrap_or_else(Exact::zero)
    }
}

impl Example for Values {
    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        Ok(self.facts.get(&var).copied().unwrap_or(false))
    }

    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        Ok(Values::number(self, number))
    }
}

/// Works out terms in one situation, each once.
pub(super) struct Worked<'a> {
    terms: &'a Terms,
    example: &'a dyn Example,
    /// By the numbers of the terms.
    known: Vec<Option<bool>>,
}

impl<'a> Worked<'a> {
    pub(super) fn out(terms: &'a Terms, example: &'a dyn Example) -> Self {
        Worked { terms, example, known: vec![None; terms.len()] }
    }

    /// Whether all of these hold.
    pub(super) fn all(&mut self, ids: &[TermId]) -> Result<bool, EngineError> {
        for id in ids {
            if !self.one(*id)? {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Whether one of these is as wanted.
    fn any(&mut self, ids: &[TermId], wanted: bool) -> Result<bool, EngineError> {
        for id in ids {
            if self.one(*id)? == wanted {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn one(&mut self, id: TermId) -> Result<bool, EngineError> {
        if let Some(Some(known)) = self.known.get(id.index()) {
            return Ok(*known);
        }
        let value = match self.terms.get(id) {
            Term::Constant(value) => *value,
            Term::Var(var) => self.example.truth(*var)?,
            Term::Not(part) => !self.one(*part)?,
            Term::And(parts) => !self.any(parts, false)?,
            Term::Or(parts) => self.any(parts, true)?,
            Term::AtLeast(count, parts) => {
                let mut held = 0;
                for part in parts {
                    held += usize::from(self.one(*part)?);
                }
                held >= *count
            }
            Term::Linear(linear) => {
                let mut sum = Exact::zero();
                for (coefficient, number) in &linear.sum {
                    sum = &sum + &(coefficient * &self.example.number(*number)?);
                }
                if linear.inclusive { sum >= linear.bound } else { sum > linear.bound }
            }
        };
        if let Some(place) = self.known.get_mut(id.index()) {
            *place = Some(value);
        }
        Ok(value)
    }
}

/// Reads what was quantified away in one part.
pub(super) struct Reading<'a> {
    built: &'a Built,
    diagrams: Diagrams,
    fixed: FxHashMap<Level, bool>,
    values: Values,
}

impl<'a> Reading<'a> {
    /// Begins with the variables that are kept.
    pub(super) fn of(built: &'a Built, kept: &BTreeSet<Var>, mut values: Values) -> Self {
        values.facts.extend(&built.shape.facts);
        let ends = built.shape.ends.iter();
        values.numbers.extend(ends.map(|(number, value)| (*number, value.clone())));
        let mut fixed = FxHashMap::default();
        for (key, level) in built.variables.all() {
            let Key::Fact(var) = key else { continue };
            match values.facts.get(&var) {
                Some(value) => {
                    fixed.insert(level, *value);
                }
                // What is kept and was not chosen does not matter for the whole, but it must not change any more.
                None if kept.contains(&var) => {
                    fixed.insert(level, false);
                }
                None => {}
            }
        }
        Reading { built, diagrams: built.diagrams.clone(), fixed, values }
    }

    /// Chooses all the others, what was quantified last first.
    pub(super) fn read(mut self) -> Result<Values, EngineError> {
        for record in self.built.records.iter().rev() {
            self.record(record)?;
        }
        // Numbers of which everything is decided already are placed nowhere.
        for number in (0..self.built.shape.numbers.len()).rev() {
            self.number(number)?;
        }
        for (key, level) in self.built.variables.all() {
            if let (Key::Fact(var), Some(value)) = (key, self.fixed.get(&level)) {
                self.values.facts.entry(var).or_insert(*value);
            }
        }
        // Of several of which exactly one holds: the first that was taken, or the last.
        for of in &self.built.shape.one_of {
            let taken = |var: &&Var| {
                let level = self.built.variables.known(Key::Fact(**var));
                level.and_then(|level| self.fixed.get(&level)).copied().unwrap_or(false)
            };
            let but_last = of.len().saturating_sub(1);
            let chosen = of.iter().take(but_last).find(taken).or(of.last()).copied();
            self.values.facts.extend(of.iter().map(|var| (*var, Some(*var) == chosen)));
        }
        Ok(self.values)
    }

    fn record(&mut self, record: &Record) -> Result<(), EngineError> {
        let held = record.alternatives.iter().find(|(edge, _)| self.diagrams.possible(*edge, &self.fixed));
        for step in held.iter().flat_map(|(_, steps)| steps.iter().rev()) {
            self.step(&step.factors)?;
        }
        for number in record.placed.numbers.iter().rev() {
            self.number(*number)?;
        }
        for var in &record.placed.facts {
            if let Some(level) = self.built.variables.known(Key::Fact(*var)) {
                self.fixed.entry(level).or_insert(false);
            }
        }
        Ok(())
    }

    /// Chooses the variables that were quantified in these factors.
    fn step(&mut self, factors: &[Edge]) -> Result<(), EngineError> {
        let full = |_| EngineError("the diagrams have no room left to read a situation".into());
        let mut product = Edge::TRUE;
        for factor in factors {
            let left = self.diagrams.restrict(*factor, &self.fixed).map_err(full)?;
            product = self.diagrams.and(product, left).map_err(full)?;
        }
        if !self.diagrams.pick(product, &mut self.fixed) {
            return Err(EngineError("the diagrams cannot choose what they said can be chosen".into()));
        }
        for factor in factors {
            let (support, _) = self.diagrams.support(*factor);
            for level in support {
                self.fixed.entry(level).or_insert(false);
            }
        }
        Ok(())
    }

    fn sign(&self, id: AtomId) -> Option<Sign> {
        let decided = self.built.shape.atoms.get(&id).copied();
        let chosen = || self.fixed.get(&self.built.variables.known(Key::Atom(id))?).copied();
        decided.or_else(chosen).map(|value| (id, value))
    }

    /// Gives a number a value that its comparisons leave, and works out those that were left open.
    fn number(&mut self, number: usize) -> Result<(), EngineError> {
        let Some(eliminated) = self.built.shape.numbers.get(number) else { return Ok(()) };
        if self.values.numbers.contains_key(&eliminated.number) {
            return Ok(());
        }
        let signs: Vec<Sign> = eliminated.every.iter().filter_map(|id| self.sign(*id)).collect();
        let room =
            self.built.shape.comparisons.room(eliminated.number, signs, |other| self.values.number(other));
        let value = room.value().ok_or_else(|| {
            EngineError("the elimination left no value for a number that it said has one".into())
        })?;
        self.values.numbers.insert(eliminated.number, value);
        for id in &eliminated.atoms {
            let holds = self.built.shape.comparisons.holds(*id, |other| self.values.number(other));
            if let Some(level) = self.built.variables.known(Key::Atom(*id)) {
                self.fixed.entry(level).or_insert(holds);
            }
        }
        Ok(())
    }
}
