//! The engine of decision diagrams: decides the same terms as Z3 by another way.
//!
//! Comparisons of numbers become variables; which signs of them can hold together is worked out by exact elimination
//! ([`linear`]), so that a quantity becomes the regions between its thresholds. What a question does not assume is
//! quantified away once, and every further question is answered on what is left. Shares with Z3 neither arithmetic nor the
//! code that reads an answer. Where a bound is reached the answer is undecided, never a guess.

mod bdd;
mod build;
mod linear;
mod parts;
mod shape;
#[cfg(test)]
mod tests;
mod values;
mod wishes;

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::{Answer, Engine, EngineError, Example, Question};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Term, TermId, Terms, Var};
use bdd::{Diagrams, Edge, Full, Level};
use build::{Built, Variables};
use parts::Parts;
use shape::{Key, NoShape, Shape};
use values::{Reading, Values, Worked};

/// Decision diagrams as an engine.
#[derive(Debug, Clone)]
pub struct Diagram {
    /// Most nodes of one opened question.
    pub nodes: usize,
}

impl Diagram {
    /// Decision diagrams with at most so many nodes for one opened question.
    pub fn new(nodes: usize) -> Self {
        Diagram { nodes }
    }
}

impl Engine for Diagram {
    fn name(&self) -> String {
        "decision diagrams".into()
    }

    fn open(
        &self,
        terms: &Terms,
        possible: &[TermId],
        assumed: &[TermId],
    ) -> Result<Box<dyn Question>, EngineError> {
        let variable = |id: &TermId| match terms.get(*id) {
            Term::Var(var) => Some(*var),
            _ => None,
        };
        Ok(Box::new(DiagramQuestion {
            most: self.nodes,
            kept: assumed.iter().filter_map(variable).collect(),
            required: vec![possible.to_vec()],
            parts: Parts::default(),
            desk: Desk::new(self.nodes),
            recent: FxHashMap::default(),
            too_large: BTreeSet::new(),
            last: Last::Nothing,
            read: None,
        }))
    }
}

/// What is left of the parts, over the variables that are kept; thrown away as a whole when it is full.
struct Desk {
    diagrams: Diagrams,
    variables: Variables,
    /// Diagrams of connected parts by their terms; never for one that cannot hold.
    built: FxHashMap<Vec<TermId>, Edge>,
    /// Diagrams of terms that speak only of variables that are kept.
    plain: FxHashMap<usize, Edge>,
}

impl Desk {
    fn new(most: usize) -> Self {
        Desk {
            diagrams: Diagrams::new(most),
            variables: Variables::default(),
            built: FxHashMap::default(),
            plain: FxHashMap::default(),
        }
    }
}

/// How the last question ended.
enum Last {
    Nothing,
    Exists(Box<Found>),
    /// With what was given.
    None(Vec<TermId>),
}

/// A situation that exists, not read yet.
struct Found {
    edge: Edge,
    given: BTreeMap<Var, bool>,
    groups: Vec<Vec<TermId>>,
    asked: Vec<TermId>,
}

struct DiagramQuestion {
    most: usize,
    /// Variables that questions assume.
    kept: BTreeSet<Var>,
    /// What holds, by level.
    required: Vec<Vec<TermId>>,
    parts: Parts,
    desk: Desk,
    /// Parts built for the last question.
    recent: FxHashMap<Vec<TermId>, Rc<Built>>,
    /// Parts that did not fit.
    too_large: BTreeSet<Vec<TermId>>,
    last: Last,
    read: Option<Values>,
}

/// Why a question was not answered at once.
enum Trouble {
    Full,
    TooMany,
}

impl From<Full> for Trouble {
    fn from(_: Full) -> Self {
        Trouble::Full
    }
}

/// What is asked, sorted by how it is dealt with.
#[derive(Default)]
struct Sorted {
    /// Values of variables that are kept.
    values: BTreeMap<Var, bool>,
    /// A variable is given both ways.
    torn: bool,
    /// Terms over variables that are kept.
    plain: Vec<TermId>,
    /// All others.
    others: Vec<TermId>,
}

impl DiagramQuestion {
    /// Sorts terms that hold, flattened.
    fn sort(&mut self, terms: &Terms, given: &[TermId], free_values: bool) -> Sorted {
        let mut sorted = Sorted::default();
        let mut open: Vec<TermId> = given.iter().rev().copied().collect();
        while let Some(id) = open.pop() {
            let literal = match terms.get(id) {
                Term::And(parts) => {
                    open.extend(parts.iter().rev().copied());
                    continue;
                }
                Term::Var(var) => Some((*var, true)),
                Term::Not(part) => match terms.get(*part) {
                    Term::Var(var) => Some((*var, false)),
                    _ => None,
                },
                _ => None,
            };
            match literal {
                Some((var, value)) if free_values && self.kept.contains(&var) => {
                    let before = sorted.values.insert(var, value);
                    sorted.torn |= before.is_some_and(|before| before != value);
                }
                _ if self.parts.of(terms, id, &self.kept).is_empty() => sorted.plain.push(id),
                _ => sorted.others.push(id),
            }
        }
        sorted
    }

    fn answer(&mut self, terms: &Terms, given: &[TermId]) -> Result<Option<Found>, Trouble> {
        let holding: Vec<TermId> = self.required.iter().flatten().copied().collect();
        let always = self.sort(terms, &holding, false);
        let asked = self.sort(terms, given, true);
        if asked.torn {
            return Ok(None);
        }
        // What is asked comes first: it orders the variables.
        let all: Vec<TermId> = asked.others.iter().chain(&always.others).copied().collect();
        let groups = self.parts.connected(terms, &all, &self.kept);
        self.recent.retain(|group, _| groups.contains(group));
        let mut parts = Vec::new();
        for group in &groups {
            match self.part(terms, group)? {
                Edge::FALSE => return Ok(None),
                part => parts.push(part),
            }
        }
        let desk = &mut self.desk;
        let mut fixed = FxHashMap::default();
        for (var, value) in &asked.values {
            fixed.insert(desk.variables.level(Key::Fact(*var)), *value);
        }
        let mut edge = Edge::TRUE;
        for part in parts {
            let part = desk.diagrams.restrict(part, &fixed)?;
            edge = desk.diagrams.and(edge, part)?;
        }
        for id in asked.plain.iter().chain(&always.plain) {
            if edge == Edge::FALSE {
                break;
            }
            let plain = desk.plain(terms, *id)?;
            let plain = desk.diagrams.restrict(plain, &fixed)?;
            edge = desk.diagrams.and(edge, plain)?;
        }
        if edge == Edge::FALSE {
            return Ok(None);
        }
        let asked_all = holding.iter().chain(given).copied().collect();
        Ok(Some(Found { edge, given: asked.values, groups, asked: asked_all }))
    }

    /// What is left of one connected part.
    fn part(&mut self, terms: &Terms, group: &[TermId]) -> Result<Edge, Trouble> {
        if let Some(known) = self.desk.built.get(group) {
            return Ok(*known);
        }
        let edge = match self.whole(terms, group)? {
            Some(built) => {
                let desk = &mut self.desk;
                transfer(&built, &mut desk.diagrams, &mut desk.variables)?
            }
            None => Edge::FALSE,
        };
        self.desk.built.insert(group.to_vec(), edge);
        Ok(edge)
    }

    /// One connected part with all that was quantified in it; `None` for one that cannot hold. It has diagrams of its own,
    /// so that the order of its variables and what it may cost do not depend on what was asked before.
    fn whole(&mut self, terms: &Terms, group: &[TermId]) -> Result<Option<Rc<Built>>, Trouble> {
        if let Some(known) = self.recent.get(group) {
            return Ok(Some(known.clone()));
        }
        if self.too_large.contains(group) {
            return Err(Trouble::TooMany);
        }
        let built = match Shape::of(terms, group, &self.kept) {
            Err(NoShape::Never) => return Ok(None),
            Err(NoShape::TooMany) => None,
            Ok(shape) => build::build(shape, self.most).ok(),
        };
        let Some(built) = built.map(Rc::new) else {
            self.too_large.insert(group.to_vec());
            return Err(Trouble::TooMany);
        };
        self.recent.insert(group.to_vec(), built.clone());
        Ok(Some(built))
    }

    /// Reads the situation found.
    fn values(&mut self, terms: &Terms) -> Result<Values, EngineError> {
        let Last::Exists(found) = std::mem::replace(&mut self.last, Last::Nothing) else {
            return Err(EngineError("no situation to keep".into()));
        };
        let mut chosen = FxHashMap::default();
        let desk = &mut self.desk;
        let mut values = Values { facts: found.given.clone(), ..Values::default() };
        for (var, value) in &found.given {
            if let Some(level) = desk.variables.known(Key::Fact(*var)) {
                chosen.insert(level, *value);
            }
        }
        if !desk.diagrams.pick(found.edge, &mut chosen) {
            return Err(EngineError("the diagrams have no way to the situation that they promised".into()));
        }
        for (key, level) in desk.variables.all() {
            if let (Key::Fact(var), Some(value)) = (key, chosen.get(&level)) {
                values.facts.insert(var, *value);
            }
        }
        for group in &found.groups {
            match self.whole(terms, group) {
                Ok(Some(built)) => values = Reading::of(&built, &self.kept, values).read()?,
                _ => return Err(EngineError("a part that was decided cannot be built again".into())),
            }
        }
        let right = Worked::out(terms, &values).all(&found.asked)?;
        self.last = Last::Exists(found);
        match right {
            true => Ok(values),
            false => {
                Err(EngineError("the situation read off the diagrams does not do what was asked".into()))
            }
        }
    }

    fn bound(&self) -> String {
        format!(
            "the bound of {} nodes or {} clauses of one question of the decision diagrams was reached",
            self.most,
            shape::CLAUSES
        )
    }

    /// The answer, with a new desk where the old one is full.
    fn decide(&mut self, terms: &Terms, given: &[TermId]) -> Result<Option<Found>, String> {
        if self.desk.diagrams.len() > self.most / 2 {
            self.desk = Desk::new(self.most);
        }
        let first = self.answer(terms, given);
        let second = match first {
            Err(Trouble::Full) => {
                self.desk = Desk::new(self.most);
                self.answer(terms, given)
            }
            other => other,
        };
        second.map_err(|_| self.bound())
    }
}

/// The same function of the variables that are kept, on another desk.
fn transfer(built: &Built, to: &mut Diagrams, variables: &mut Variables) -> Result<Edge, Full> {
    let from = &built.diagrams;
    let (support, _) = from.support(built.edge);
    let keys: BTreeMap<Level, Key> = built.variables.all().map(|(key, level)| (level, key)).collect();
    let new = |level: Level| keys.get(&level).map(|key| (level, variables.level(*key)));
    let levels: BTreeMap<Level, Level> = support.into_iter().filter_map(new).collect();
    copy(from, built.edge, to, &levels, &mut FxHashMap::default())
}

fn copy(
    from: &Diagrams,
    edge: Edge,
    to: &mut Diagrams,
    levels: &BTreeMap<Level, Level>,
    done: &mut FxHashMap<Edge, Edge>,
) -> Result<Edge, Full> {
    if edge.constant().is_some() {
        return Ok(edge);
    }
    if let Some(known) = done.get(&edge) {
        return Ok(*known);
    }
    let top = from.top(edge);
    let (low, high) = from.parts(edge, top);
    let low = copy(from, low, to, levels, done)?;
    let high = copy(from, high, to, levels, done)?;
    // Every variable of the diagram was given its level before.
    let variable = to.variable(levels.get(&top).copied().ok_or(Full)?)?;
    let value = to.choose(variable, high, low)?;
    done.insert(edge, value);
    Ok(value)
}

impl Desk {
    /// The diagram of a term over variables that are kept.
    fn plain(&mut self, terms: &Terms, id: TermId) -> Result<Edge, Full> {
        if let Some(known) = self.plain.get(&id.index()) {
            return Ok(*known);
        }
        let edge = match terms.get(id) {
            Term::Constant(true) => Edge::TRUE,
            // A comparison is never over variables that are kept only.
            Term::Constant(false) | Term::Linear(_) => Edge::FALSE,
            Term::Var(var) => {
                let level = self.variables.level(Key::Fact(*var));
                self.diagrams.variable(level)?
            }
            Term::Not(part) => !self.plain(terms, *part)?,
            Term::And(parts) => {
                let parts = self.plain_each(terms, parts)?;
                self.diagrams.all(parts)?
            }
            Term::Or(parts) => {
                let parts = self.plain_each(terms, parts)?;
                !self.diagrams.all(parts.into_iter().map(|part| !part))?
            }
            Term::AtLeast(count, parts) => {
                let parts = self.plain_each(terms, parts)?;
                self.diagrams.at_least(*count, &parts)?
            }
        };
        self.plain.insert(id.index(), edge);
        Ok(edge)
    }

    fn plain_each(&mut self, terms: &Terms, parts: &[TermId]) -> Result<Vec<Edge>, Full> {
        parts.iter().map(|part| self.plain(terms, *part)).collect()
    }
}

impl Question for DiagramQuestion {
    fn require(&mut self, _terms: &Terms, term: TermId) -> Result<(), EngineError> {
        self.last = Last::Nothing;
        if let Some(level) = self.required.last_mut() {
            level.push(term);
        }
        Ok(())
    }

    fn push(&mut self) {
        self.last = Last::Nothing;
        self.required.push(Vec::new());
    }

    fn pop(&mut self) {
        self.last = Last::Nothing;
        self.required.pop();
    }

    fn ask(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        self.last = Last::Nothing;
        Ok(match self.decide(terms, given) {
            Ok(Some(found)) => {
                self.last = Last::Exists(Box::new(found));
                Answer::Exists
            }
            Ok(None) => {
                self.last = Last::None(given.to_vec());
                Answer::None
            }
            Err(bound) => Answer::Undecided(bound),
        })
    }

    fn weigh(
        &mut self,
        terms: &Terms,
        given: &[TermId],
        example: &dyn Example,
    ) -> Result<Answer, EngineError> {
        self.last = Last::Nothing;
        let mut worked = Worked::out(terms, example);
        let mut holds = worked.all(given)?;
        for level in &self.required {
            holds = holds && worked.all(level)?;
        }
        if holds {
            return Ok(Answer::Exists);
        }
        match self.ask(terms, given)? {
            Answer::Exists => {
                Err(EngineError("the situation of the other engine does not do what was asked".into()))
            }
            answer => Ok(answer),
        }
    }

    fn conflict(&mut self, terms: &Terms) -> Vec<TermId> {
        let Last::None(given) = std::mem::replace(&mut self.last, Last::Nothing) else { return Vec::new() };
        let given = self.least(terms, given);
        self.last = Last::None(given.clone());
        given
    }

    fn keep(&mut self, terms: &Terms) -> Result<(), EngineError> {
        self.read = None;
        self.read = Some(self.values(terms)?);
        Ok(())
    }

    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        Ok(self.read()?.facts.get(&var).copied().unwrap_or(false))
    }

    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        Ok(self.read()?.numbers.get(&number).cloned().unwrap_or_else(Exact::zero))
    }
}

impl DiagramQuestion {
    fn read(&self) -> Result<&Values, EngineError> {
        self.read.as_ref().ok_or_else(|| EngineError("no situation to read".into()))
    }

    /// Fewer of the given terms that still cannot hold together: values of kept variables are left out on trial, many at
    /// a time while that goes well.
    fn least(&mut self, terms: &Terms, given: Vec<TermId>) -> Vec<TermId> {
        let kept = &self.kept;
        let is_value = |id: &TermId| match terms.get(*id) {
            Term::Var(var) => kept.contains(var),
            Term::Not(part) => matches!(terms.get(*part), Term::Var(var) if kept.contains(var)),
            _ => false,
        };
        let (values, mut needed): (Vec<TermId>, Vec<TermId>) = given.into_iter().partition(is_value);
        let mut open = values;
        let mut size = open.len().div_ceil(2).max(1);
        while !open.is_empty() {
            let tried: Vec<TermId> = open.iter().skip(size).chain(&needed).copied().collect();
            if matches!(self.decide(terms, &tried), Ok(None)) {
                open.drain(..size.min(open.len()));
                size = (size * 2).min(open.len()).max(1);
            } else if size == 1 {
                needed.push(open.remove(0));
            } else {
                size /= 2;
            }
        }
        needed
    }
}
