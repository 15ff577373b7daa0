//! Reads a situation off the diagrams: what was quantified last is chosen first, and the numbers are substituted back
//! through the elimination. The situation is then worked out in the terms, so that a wrong one is never given.

use std::collections::BTreeMap;

use super::bdd::{Diagrams, Edge, Level, Table};
use super::build::{Built, Record, Variables};
use super::linear::{AtomId, Atoms, Sign};
use super::shape::Key;
use crate::engine::EngineError;
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

    /// Whether a term holds.
    pub(super) fn hold(&self, terms: &Terms, id: TermId, known: &mut Table<usize, bool>) -> bool {
        if let Some(known) = known.get(&id.index()) {
            return *known;
        }
        let value = match terms.get(id) {
            Term::Constant(value) => *value,
            Term::Var(var) => self.facts.get(var).copied().unwrap_or(false),
            Term::Not(part) => !self.hold(terms, *part, known),
            Term::And(parts) => parts.iter().all(|part| self.hold(terms, *part, known)),
            Term::Or(parts) => parts.iter().any(|part| self.hold(terms, *part, known)),
            Term::AtLeast(count, parts) => {
                parts.iter().filter(|part| self.hold(terms, **part, known)).count() >= *count
            }
            Term::Linear(linear) => {
                let parts = linear.sum.iter().map(|(c, number)| c * &self.number(*number));
                let sum = parts.fold(Exact::zero(), |sum, part| &sum + &part);
                if linear.inclusive { sum >= linear.bound } else { sum > linear.bound }
            }
        };
        known.insert(id.index(), value);
        value
    }
}

/// What is chosen so far.
pub(super) struct Reading<'a> {
    pub(super) diagrams: &'a mut Diagrams,
    pub(super) variables: &'a Variables,
    pub(super) atoms: &'a Atoms,
    pub(super) fixed: Table<Level, bool>,
    pub(super) values: Values,
}

impl Reading<'_> {
    /// Fixes the variables that are kept: those given, and the others on one way through the diagram.
    pub(super) fn kept(&mut self, edge: Edge, given: &BTreeMap<Var, bool>) -> Result<(), EngineError> {
        for (var, value) in given {
            self.values.facts.insert(*var, *value);
            if let Some(level) = self.variables.known(Key::Fact(*var)) {
                self.fixed.insert(level, *value);
            }
        }
        if !self.diagrams.pick(edge, &mut self.fixed) {
            return Err(EngineError("the diagrams have no way to the situation that they promised".into()));
        }
        Ok(())
    }

    /// Chooses what was quantified away in one part.
    pub(super) fn part(&mut self, built: &Built) -> Result<(), EngineError> {
        // What the part does not say anything about is false.
        for var in built.shape.facts.keys() {
            let value = built.shape.facts.get(var).copied().unwrap_or(false);
            self.values.facts.insert(*var, value);
        }
        let (kept, _) = self.diagrams.support(built.edge);
        for level in kept {
            self.fixed.entry(level).or_insert(false);
        }
        for record in built.records.iter().rev() {
            self.record(built, record)?;
        }
        // Numbers of which everything is decided already are placed nowhere.
        for number in (0..built.shape.numbers.len()).rev() {
            self.number(built, number)?;
        }
        Ok(())
    }

    fn record(&mut self, built: &Built, record: &Record) -> Result<(), EngineError> {
        let held = record.alternatives.iter().find(|(edge, _)| self.diagrams.possible(*edge, &self.fixed));
        for step in held.iter().flat_map(|(_, steps)| steps.iter().rev()) {
            self.step(&step.factors)?;
        }
        for number in record.placed.numbers.iter().rev() {
            self.number(built, *number)?;
        }
        for var in &record.placed.facts {
            if let Some(level) = self.variables.known(Key::Fact(*var)) {
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

    fn sign(&self, built: &Built, id: AtomId) -> Option<Sign> {
        let decided = built.shape.atoms.get(&id).copied();
        let chosen = || self.fixed.get(&self.variables.known(Key::Atom(id))?).copied();
        decided.or_else(chosen).map(|value| (id, value))
    }

    /// Gives a number a value that its comparisons leave, and works out those that were left open.
    fn number(&mut self, built: &Built, number: usize) -> Result<(), EngineError> {
        let Some(eliminated) = built.shape.numbers.get(number) else { return Ok(()) };
        if self.values.numbers.contains_key(&eliminated.number) {
            return Ok(());
        }
        let signs: Vec<Sign> = eliminated.every.iter().filter_map(|id| self.sign(built, *id)).collect();
        let room = self.atoms.room(eliminated.number, signs, |other| self.values.number(other));
        let value = room.value().ok_or_else(|| {
            EngineError("the elimination left no value for a number that it said has one".into())
        })?;
        self.values.numbers.insert(eliminated.number, value);
        for id in &eliminated.atoms {
            let holds = self.atoms.holds(*id, |other| self.values.number(other));
            if let Some(level) = self.variables.known(Key::Atom(*id)) {
                self.fixed.entry(level).or_insert(holds);
            }
        }
        Ok(())
    }

    /// The situation, with every variable that was chosen.
    pub(super) fn done(mut self) -> Values {
        for (key, level) in self.variables.all() {
            if let (Key::Fact(var), Some(value)) = (key, self.fixed.get(&level)) {
                self.values.facts.entry(var).or_insert(*value);
            }
        }
        self.values
    }
}
