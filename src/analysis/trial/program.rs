//! Terms as a program over words of 64 trials: one slot for each term that the root needs, parts before wholes.
//!
//! Reads the choices of a situation out of a question, and works the terms out. What is worth trying is not its business.

use std::collections::{BTreeMap, BTreeSet};

use crate::engine::{EngineError, Question};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Linear, Term, TermId, Terms, Var};

/// What stands in a slot.
#[derive(Debug)]
pub(super) enum Step {
    /// A constant.
    Constant(bool),
    /// A variable: a choice.
    Var(Var),
    /// A comparison: taken for a choice here, worked out from the numbers when the situation is read.
    Linear(Linear),
    /// Not of a slot.
    Not(usize),
    /// All of these slots.
    And(Vec<usize>),
    /// Any of these slots.
    Or(Vec<usize>),
    /// At least so many of these slots.
    AtLeast(usize, Vec<usize>),
}

/// The terms that a root needs, in order; the root is the last.
#[derive(Debug)]
pub(super) struct Program {
    pub(super) steps: Vec<Step>,
    slots: BTreeMap<usize, usize>,
}

impl Program {
    pub(super) fn of(terms: &Terms, root: TermId) -> Program {
        let mut needed = BTreeSet::new();
        let mut open = vec![root];
        while let Some(id) = open.pop() {
            if !needed.insert(id.index()) {
                continue;
            }
            match terms.get(id) {
                Term::Not(part) => open.push(*part),
                Term::And(parts) | Term::Or(parts) | Term::AtLeast(_, parts) => open.extend(parts),
                Term::Constant(_) | Term::Var(_) | Term::Linear(_) => {}
            }
        }
        let slots: BTreeMap<usize, usize> =
            needed.iter().enumerate().map(|(slot, index)| (*index, slot)).collect();
        // Every part is needed and was made before its whole, so its slot is there.
        let of = |id: &TermId| slots.get(&id.index()).copied().unwrap_or(0);
        let all = |parts: &[TermId]| parts.iter().map(of).collect::<Vec<usize>>();
        let steps = needed
            .iter()
            .map(|index| match terms.at(*index) {
                Term::Constant(value) => Step::Constant(*value),
                Term::Var(var) => Step::Var(*var),
                Term::Linear(linear) => Step::Linear(linear.clone()),
                Term::Not(part) => Step::Not(of(part)),
                Term::And(parts) => Step::And(all(parts)),
                Term::Or(parts) => Step::Or(all(parts)),
                Term::AtLeast(count, parts) => Step::AtLeast(*count, all(parts)),
            })
            .collect();
        Program { steps, slots }
    }

    /// The slot of a term, if the root needs it.
    pub(super) fn slot(&self, term: TermId) -> Option<usize> {
        self.slots.get(&term.index()).copied()
    }

    /// The comparisons with their slots.
    pub(super) fn comparisons(&self) -> impl Iterator<Item = (usize, &Linear)> {
        self.steps.iter().enumerate().filter_map(|(slot, step)| match step {
            Step::Linear(linear) => Some((slot, linear)),
            _ => None,
        })
    }

    /// The numbers that occur, in the situation kept.
    pub(super) fn numbers(
        &self,
        question: &dyn Question,
    ) -> Result<BTreeMap<NumberChoice, Exact>, EngineError> {
        let mut numbers = BTreeMap::new();
        for (_, linear) in self.comparisons() {
            for (_, number) in &linear.sum {
                if !numbers.contains_key(number) {
                    numbers.insert(*number, question.number(*number)?);
                }
            }
        }
        Ok(numbers)
    }

    /// The choices in the situation kept; what is no choice is 0.
    pub(super) fn values(
        &self,
        question: &dyn Question,
        numbers: &BTreeMap<NumberChoice, Exact>,
    ) -> Result<Vec<u64>, EngineError> {
        let word = |value: bool| if value { u64::MAX } else { 0 };
        let value = |step: &Step| match step {
            Step::Var(var) => question.truth(*var).map(word),
            Step::Linear(linear) => Ok(word(holds(linear, numbers))),
            _ => Ok(0),
        };
        self.steps.iter().map(value).collect()
    }

    /// Works out everything from the choices; returns the word of the root.
    pub(super) fn run(&self, words: &mut [u64]) -> u64 {
        let mut reached: Vec<u64> = Vec::new();
        for (slot, step) in self.steps.iter().enumerate() {
            let word = |part: &usize| words.get(*part).copied().unwrap_or(0);
            let value = match step {
                Step::Constant(value) => {
                    if *value {
                        u64::MAX
                    } else {
                        0
                    }
                }
                Step::Var(_) | Step::Linear(_) => continue,
                Step::Not(part) => !word(part),
                Step::And(parts) => parts.iter().fold(u64::MAX, |all, part| all & word(part)),
                Step::Or(parts) => parts.iter().fold(0, |any, part| any | word(part)),
                Step::AtLeast(count, parts) => {
                    // reached[j]: at least j + 1 of the parts so far.
                    reached.clear();
                    reached.resize(*count, 0);
                    for part in parts {
                        let mut below = word(part);
                        for level in &mut reached {
                            let carried = *level & below;
                            *level |= below;
                            below = carried;
                        }
                    }
                    reached.last().copied().unwrap_or(u64::MAX)
                }
            };
            if let Some(place) = words.get_mut(slot) {
                *place = value;
            }
        }
        words.last().copied().unwrap_or(0)
    }
}

/// Whether a comparison holds with these numbers; a number that is not there is 0.
pub(super) fn holds(linear: &Linear, numbers: &BTreeMap<NumberChoice, Exact>) -> bool {
    let sum = linear.sum.iter().fold(Exact::zero(), |sum, (coefficient, number)| match numbers.get(number) {
        Some(value) => &sum + &(coefficient * value),
        None => sum,
    });
    if linear.inclusive { sum >= linear.bound } else { sum > linear.bound }
}
