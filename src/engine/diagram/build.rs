//! Makes the diagram of one connected part of a question, with all that questions do not assume quantified away.
//!
//! Each variable is quantified at its node, and there as soon as no other factor speaks of it: the variable first whose
//! factors are smallest together. What was quantified is recorded, so that a situation can be read off later.

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashMap;

use super::bdd::{Diagrams, Edge, Full, Level};
use super::linear::{AtomId, Sign};
use super::shape::{Key, Node, NodeId, Placed, Shape};
use crate::term::Var;

/// Variables by what they stand for.
#[derive(Debug, Clone, Default)]
pub(super) struct Variables {
    levels: BTreeMap<Key, Level>,
}

impl Variables {
    /// The level of a variable; the next one, if it is new.
    pub(super) fn level(&mut self, key: Key) -> Level {
        let next = Level::try_from(self.levels.len()).unwrap_or(Level::MAX - 1);
        *self.levels.entry(key).or_insert(next)
    }

    /// The level of a variable that has one.
    pub(super) fn known(&self, key: Key) -> Option<Level> {
        self.levels.get(&key).copied()
    }

    /// Every variable with its level.
    pub(super) fn all(&self) -> impl Iterator<Item = (Key, Level)> + '_ {
        self.levels.iter().map(|(key, level)| (*key, *level))
    }
}

/// Some variables quantified away in the product of some factors.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub(super) factors: Vec<Edge>,
}

/// What was quantified at one node.
#[derive(Debug, Clone)]
pub(super) struct Record {
    /// One of these holds where the node does, each with how it came about.
    pub(super) alternatives: Vec<(Edge, Vec<Step>)>,
    pub(super) placed: Placed,
}

/// The diagram of one part, over the variables that are kept, with what is needed to read a situation off.
#[derive(Debug, Clone)]
pub(super) struct Built {
    pub(super) edge: Edge,
    pub(super) diagrams: Diagrams,
    pub(super) variables: Variables,
    pub(super) shape: Shape,
    pub(super) records: Vec<Record>,
}

/// Builds the diagram of a shape, with at most so many nodes.
pub(super) fn build(shape: Shape, most: usize) -> Result<Built, Full> {
    let (mut diagrams, mut variables) = (Diagrams::new(most), Variables::default());
    let numbers = number_of(&shape);
    Order { shape: &shape, variables: &mut variables, numbers, seen: BTreeSet::new() }.run();
    let mut builder = Builder {
        shape: &shape,
        diagrams: &mut diagrams,
        variables: &mut variables,
        done: FxHashMap::default(),
        records: Vec::new(),
    };
    let mut factors = Vec::new();
    for root in &shape.roots {
        factors.push(builder.node(*root)?);
    }
    let edge = builder.quantify(shape.nodes.len(), vec![factors])?;
    let records = builder.records;
    Ok(Built { edge, diagrams, variables, shape, records })
}

/// Which number's elimination each open comparison belongs to.
fn number_of(shape: &Shape) -> BTreeMap<AtomId, usize> {
    let numbers = shape.numbers.iter().enumerate();
    numbers.flat_map(|(number, eliminated)| eliminated.atoms.iter().map(move |id| (*id, number))).collect()
}

/// Gives every variable its level by walking through the graph: what stands together there, stands together in the order.
struct Order<'a> {
    shape: &'a Shape,
    variables: &'a mut Variables,
    numbers: BTreeMap<AtomId, usize>,
    seen: BTreeSet<NodeId>,
}

impl Order<'_> {
    fn run(&mut self) {
        for root in &self.shape.roots {
            self.walk(*root);
        }
    }

    fn walk(&mut self, node: NodeId) {
        if !self.seen.insert(node) {
            return;
        }
        match self.shape.nodes.get(node) {
            Some(Node::Literal(Key::Atom(id), _)) => self.number(*id),
            Some(Node::Literal(Key::Fact(var), _)) => {
                let of_one = self.shape.one_of.iter().find(|of| of.contains(var));
                for var in of_one.map_or(std::slice::from_ref(var), Vec::as_slice) {
                    self.variables.level(Key::Fact(*var));
                }
            }
            Some(Node::All(parts) | Node::Any(parts) | Node::AtLeast(_, parts)) => {
                parts.iter().for_each(|part| self.walk(*part));
            }
            Some(Node::Constant(_)) | None => {}
        }
    }

    /// All comparisons of one number, weakest first; before them those that follow from them.
    fn number(&mut self, id: AtomId) {
        let shape = self.shape;
        if self.variables.known(Key::Atom(id)).is_some() {
            return;
        }
        let Some(eliminated) = self.numbers.get(&id).and_then(|number| shape.numbers.get(*number)) else {
            self.variables.level(Key::Atom(id));
            return;
        };
        for (other, _) in eliminated.clauses.iter().flatten() {
            if !eliminated.atoms.contains(other) && !shape.atoms.contains_key(other) {
                self.number(*other);
            }
        }
        for atom in &eliminated.atoms {
            self.variables.level(Key::Atom(*atom));
        }
    }
}

struct Builder<'a> {
    shape: &'a Shape,
    diagrams: &'a mut Diagrams,
    variables: &'a mut Variables,
    done: FxHashMap<NodeId, Edge>,
    records: Vec<Record>,
}

impl Builder<'_> {
    fn literal(&mut self, key: Key, value: bool) -> Result<Edge, Full> {
        if let Key::Atom(id) = key
            && let Some(decided) = self.shape.atoms.get(&id)
        {
            return Ok(if *decided == value { Edge::TRUE } else { Edge::FALSE });
        }
        let edge = match key {
            Key::Fact(var) => self.fact(var)?,
            Key::Atom(_) => {
                let level = self.variables.level(key);
                self.diagrams.variable(level)?
            }
        };
        Ok(if value { edge } else { !edge })
    }

    /// A variable. Of several of which exactly one holds, each holds where its own choice is taken and none before it; the
    /// last one where none is: so the diagrams never see two of them, nor none.
    fn fact(&mut self, var: Var) -> Result<Edge, Full> {
        let shape = self.shape;
        let of_one = shape.one_of.iter().find(|of| of.contains(&var));
        let Some(of) = of_one else {
            let level = self.variables.level(Key::Fact(var));
            return self.diagrams.variable(level);
        };
        let mut edge = Edge::TRUE;
        for (number, other) in of.iter().enumerate() {
            if number + 1 == of.len() {
                break;
            }
            let level = self.variables.level(Key::Fact(*other));
            let taken = self.diagrams.variable(level)?;
            if *other == var {
                return self.diagrams.and(edge, taken);
            }
            edge = self.diagrams.and(edge, !taken)?;
        }
        Ok(edge)
    }

    fn node(&mut self, id: NodeId) -> Result<Edge, Full> {
        if let Some(known) = self.done.get(&id) {
            return Ok(*known);
        }
        let shape = self.shape;
        let edge = match shape.nodes.get(id) {
            None | Some(Node::Constant(false)) => Edge::FALSE,
            Some(Node::Constant(true)) => Edge::TRUE,
            Some(Node::Literal(key, value)) => self.literal(*key, *value)?,
            Some(Node::All(parts)) => {
                let factors = self.nodes(parts)?;
                self.quantify(id, vec![factors])?
            }
            Some(Node::Any(parts)) => {
                let factors = self.nodes(parts)?;
                self.quantify(id, factors.into_iter().map(|factor| vec![factor]).collect())?
            }
            Some(Node::AtLeast(count, parts)) => {
                let parts = self.nodes(parts)?;
                let edge = self.diagrams.at_least(*count, &parts)?;
                self.quantify(id, vec![vec![edge]])?
            }
        };
        self.done.insert(id, edge);
        Ok(edge)
    }

    fn nodes(&mut self, parts: &[NodeId]) -> Result<Vec<Edge>, Full> {
        parts.iter().map(|part| self.node(*part)).collect()
    }

    /// Any of the alternatives, each the product of its factors, with what is placed at the node quantified away.
    fn quantify(&mut self, id: NodeId, alternatives: Vec<Vec<Edge>>) -> Result<Edge, Full> {
        let placed = self.shape.placed.get(&id).cloned().unwrap_or_default();
        let open = !placed.facts.is_empty() || !placed.numbers.is_empty();
        let mut recorded = Vec::new();
        let mut any = Edge::FALSE;
        for factors in alternatives {
            let (edge, steps) = match open {
                true => self.eliminate(factors, &placed)?,
                false => (self.diagrams.all(factors)?, Vec::new()),
            };
            any = self.diagrams.or(any, edge)?;
            recorded.push((edge, steps));
        }
        if open {
            self.records.push(Record { alternatives: recorded, placed });
        }
        Ok(any)
    }

    fn clause(&mut self, clause: &[Sign]) -> Result<Edge, Full> {
        let mut any = Edge::FALSE;
        for (id, value) in clause {
            let literal = self.literal(Key::Atom(*id), *value)?;
            any = self.diagrams.or(any, literal)?;
        }
        Ok(any)
    }

    /// The product of the factors and of the clauses of the numbers placed here, without the variables placed here.
    fn eliminate(&mut self, factors: Vec<Edge>, placed: &Placed) -> Result<(Edge, Vec<Step>), Full> {
        let mut pool = Pool::default();
        for factor in factors {
            pool.add(self.diagrams, factor);
        }
        let mut levels: BTreeSet<Level> =
            placed.facts.iter().filter_map(|var| self.variables.known(Key::Fact(*var))).collect();
        // Numbers come after those whose clauses lead to them.
        for number in &placed.numbers {
            let Some(eliminated) = self.shape.numbers.get(*number) else { continue };
            let own: Vec<Level> =
                eliminated.atoms.iter().filter_map(|id| self.variables.known(Key::Atom(*id))).collect();
            if !own.iter().any(|level| pool.speaks_of(*level)) {
                continue;
            }
            levels.extend(own);
            for clause in &eliminated.clauses {
                let clause = self.clause(clause)?;
                pool.add(self.diagrams, clause);
            }
        }
        let mut steps = Vec::new();
        while let Some(level) = pool.cheapest(&levels) {
            let factors = pool.take(level);
            let mut gone: Vec<Level> = Vec::new();
            for (_, support, _) in &factors {
                let here = support.iter().filter(|l| levels.contains(l) && !pool.speaks_of(**l));
                gone.extend(here.copied());
            }
            let cube = self.diagrams.cube(&gone)?;
            gone.iter().for_each(|level| {
                levels.remove(level);
            });
            let edges: Vec<Edge> = factors.iter().map(|(edge, _, _)| *edge).collect();
            let product = match edges.split_last() {
                Some((last, others)) => {
                    let others = self.diagrams.all(others.iter().copied())?;
                    self.diagrams.and_without(others, *last, cube)?
                }
                None => Edge::TRUE,
            };
            pool.add(self.diagrams, product);
            steps.push(Step { factors: edges });
        }
        let mut rest: Vec<(usize, Edge)> =
            pool.factors.iter().map(|(edge, _, size)| (*size, *edge)).collect();
        rest.sort_unstable();
        let edge = self.diagrams.all(rest.into_iter().map(|(_, edge)| edge))?;
        Ok((edge, steps))
    }
}

/// Factors with their variables and sizes.
#[derive(Debug, Default)]
struct Pool {
    factors: Vec<(Edge, Vec<Level>, usize)>,
    /// By variable: how many factors speak of it.
    uses: BTreeMap<Level, usize>,
}

impl Pool {
    fn add(&mut self, diagrams: &Diagrams, edge: Edge) {
        if edge == Edge::TRUE {
            return;
        }
        let (support, size) = diagrams.support(edge);
        for level in &support {
            *self.uses.entry(*level).or_default() += 1;
        }
        self.factors.push((edge, support, size));
    }

    fn speaks_of(&self, level: Level) -> bool {
        self.uses.get(&level).is_some_and(|count| *count > 0)
    }

    /// The variable whose factors are smallest together.
    fn cheapest(&self, levels: &BTreeSet<Level>) -> Option<Level> {
        let mut sizes: BTreeMap<Level, usize> = BTreeMap::new();
        for (_, support, size) in &self.factors {
            for level in support.iter().filter(|level| levels.contains(level)) {
                *sizes.entry(*level).or_default() += size;
            }
        }
        sizes
            .into_iter()
            .min_by_key(|(level, size)| (*size, std::cmp::Reverse(*level)))
            .map(|(level, _)| level)
    }

    /// Takes out the factors that speak of a variable, small ones first.
    fn take(&mut self, level: Level) -> Vec<(Edge, Vec<Level>, usize)> {
        let (mut taken, left): (Vec<_>, Vec<_>) = std::mem::take(&mut self.factors)
            .into_iter()
            .partition(|(_, support, _)| support.binary_search(&level).is_ok());
        self.factors = left;
        for (_, support, _) in &taken {
            for level in support {
                if let Some(count) = self.uses.get_mut(level) {
                    *count = count.saturating_sub(1);
                }
            }
        }
        taken.sort_by_key(|(edge, _, size)| (*size, *edge));
        taken
    }
}
