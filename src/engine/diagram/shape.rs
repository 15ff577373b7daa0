//! One connected part of a question, as a graph without negations in which everything decided is left out.
//!
//! Negations are pushed down to variables and comparisons, so that every node helps the whole to be true. Then a variable
//! may be quantified at the lowest node through which all ways to it lead: what lies above only asks whether that node can
//! be true. Which node that is, is found here; [`super::build`] makes the diagrams.

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashMap;

use super::linear::{AtomId, Atoms, Eliminated, Found};
use super::wishes;
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Term, TermId, Terms, Var};

/// What a variable of a diagram stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Key {
    Fact(Var),
    Atom(AtomId),
}

/// The address of a node; those of parts are smaller than that of the whole.
pub(super) type NodeId = usize;

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Node {
    Constant(bool),
    Literal(Key, bool),
    All(Vec<NodeId>),
    Any(Vec<NodeId>),
    AtLeast(usize, Vec<NodeId>),
}

/// What is quantified at one node.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Placed {
    pub(super) facts: Vec<Var>,
    /// Numbers, by their place among those eliminated.
    pub(super) numbers: Vec<usize>,
}

/// One connected part of a question.
#[derive(Debug, Clone, Default)]
pub(super) struct Shape {
    pub(super) nodes: Vec<Node>,
    /// All of these hold.
    pub(super) roots: Vec<NodeId>,
    /// The comparisons met.
    pub(super) comparisons: Atoms,
    /// Variables that are decided.
    pub(super) facts: BTreeMap<Var, bool>,
    /// Comparisons that are decided.
    pub(super) atoms: BTreeMap<AtomId, bool>,
    /// Numbers that stand at an end of their range, since everything only gains by it.
    pub(super) ends: BTreeMap<NumberChoice, Exact>,
    /// The numbers, in the order in which they were eliminated.
    pub(super) numbers: Vec<Eliminated>,
    /// Variables of which exactly one holds.
    pub(super) one_of: Vec<Vec<Var>>,
    /// What is quantified where; the node behind the last one stands for the whole.
    pub(super) placed: BTreeMap<NodeId, Placed>,
}

/// Why there is no shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoShape {
    /// The part cannot hold.
    Never,
    /// Too many comparisons follow from those in it.
    TooMany,
}

/// Most clauses that arithmetic may give in one part.
pub(super) const CLAUSES: usize = 20_000;

impl Shape {
    /// The shape of some terms of which all hold; `kept` are the variables that are never quantified.
    pub(super) fn of(terms: &Terms, parts: &[TermId], kept: &BTreeSet<Var>) -> Result<Shape, NoShape> {
        let mut shape = Shape::default();
        let atoms = &mut Atoms::default();
        loop {
            shape.fold(terms, parts, atoms);
            if shape.units(kept)? {
                continue;
            }
            shape.take_choices(kept);
            if wishes::grant(&mut shape, kept, atoms)? {
                continue;
            }
            let used: BTreeSet<AtomId> = shape.used_atoms().chain(shape.atoms.keys().copied()).collect();
            match atoms.eliminate(&used, &shape.atoms, CLAUSES) {
                Found::Contradiction => return Err(NoShape::Never),
                Found::TooMany => return Err(NoShape::TooMany),
                Found::Numbers(numbers, decided) => {
                    shape.numbers = numbers;
                    let folds = shape.used_atoms().any(|id| decided.contains_key(&id));
                    shape.atoms = decided;
                    if !folds {
                        break;
                    }
                }
            }
        }
        shape.comparisons = std::mem::take(atoms);
        shape.place(kept);
        Ok(shape)
    }

    /// Comparisons that stand in the graph.
    fn used_atoms(&self) -> impl Iterator<Item = AtomId> + '_ {
        self.literals().filter_map(|(key, _)| match key {
            Key::Atom(id) => Some(id),
            Key::Fact(_) => None,
        })
    }

    /// Variables and comparisons that stand in the graph, each with the values that help.
    pub(super) fn literals(&self) -> impl Iterator<Item = (Key, bool)> + '_ {
        self.nodes.iter().filter_map(|node| match node {
            Node::Literal(key, value) => Some((*key, *value)),
            _ => None,
        })
    }

    /// Builds the graph anew with what is decided by now.
    fn fold(&mut self, terms: &Terms, parts: &[TermId], atoms: &mut Atoms) {
        self.nodes = vec![Node::Constant(false), Node::Constant(true)];
        let mut folding =
            Folding { terms, atoms, shape: self, known: FxHashMap::default(), literals: BTreeMap::new() };
        let mut roots = Vec::new();
        for part in parts {
            let root = folding.node(*part, true);
            roots.push(root);
        }
        let mut flat = Vec::new();
        let mut seen = BTreeSet::new();
        roots.reverse();
        while let Some(root) = roots.pop() {
            match self.nodes.get(root) {
                Some(Node::All(parts)) => roots.extend(parts.iter().rev().copied()),
                Some(Node::Constant(true)) | None => {}
                Some(_) if seen.insert(root) => flat.push(root),
                Some(_) => {}
            }
        }
        self.roots = flat;
        self.forget_unused();
    }

    /// What no root leads to any more is nothing.
    fn forget_unused(&mut self) {
        let mut used = vec![false; self.nodes.len()];
        let mut open = self.roots.clone();
        while let Some(id) = open.pop() {
            let Some(place) = used.get_mut(id) else { continue };
            if std::mem::replace(place, true) {
                continue;
            }
            if let Some(Node::All(parts) | Node::Any(parts) | Node::AtLeast(_, parts)) = self.nodes.get(id) {
                open.extend(parts);
            }
        }
        for (node, used) in self.nodes.iter_mut().zip(used) {
            if !used {
                *node = Node::Constant(false);
            }
        }
    }

    /// Takes what is decided by standing alone; whether anything new was.
    fn units(&mut self, kept: &BTreeSet<Var>) -> Result<bool, NoShape> {
        let mut new = false;
        for root in &self.roots {
            let before = match self.nodes.get(*root) {
                Some(Node::Constant(false)) => return Err(NoShape::Never),
                Some(Node::Literal(Key::Fact(var), value)) if !kept.contains(var) => {
                    new = true;
                    self.facts.insert(*var, *value).filter(|before| before != value)
                }
                Some(Node::Literal(Key::Atom(id), value)) => {
                    new = true;
                    self.atoms.insert(*id, *value).filter(|before| before != value)
                }
                _ => None,
            };
            if before.is_some() {
                return Err(NoShape::Never);
            }
        }
        Ok(new)
    }

    /// Recognises "exactly one of these": some root says any of them, another that no two are. Both are left out of the
    /// roots, since [`super::build`] cannot choose otherwise.
    fn take_choices(&mut self, kept: &BTreeSet<Var>) {
        self.one_of.clear();
        let facts = |parts: &[NodeId], wanted: bool| -> Option<Vec<Var>> {
            let each = parts.iter().map(|part| match self.nodes.get(*part) {
                Some(Node::Literal(Key::Fact(var), value)) if *value == wanted && !kept.contains(var) => {
                    Some(*var)
                }
                _ => None,
            });
            let mut vars = each.collect::<Option<Vec<Var>>>()?;
            vars.sort_unstable();
            Some(vars)
        };
        let mut any: BTreeMap<Vec<Var>, NodeId> = BTreeMap::new();
        let mut not_two: BTreeMap<Vec<Var>, NodeId> = BTreeMap::new();
        for root in &self.roots {
            match self.nodes.get(*root) {
                Some(Node::Any(parts)) => {
                    if let Some(vars) = facts(parts, true) {
                        any.insert(vars, *root);
                    } else if let Some(vars) = facts(parts, false).filter(|vars| vars.len() == 2) {
                        not_two.insert(vars, *root);
                    }
                }
                Some(Node::AtLeast(count, parts)) if *count + 1 == parts.len() => {
                    if let Some(vars) = facts(parts, false) {
                        not_two.insert(vars, *root);
                    }
                }
                _ => {}
            }
        }
        let mut taken: BTreeSet<NodeId> = BTreeSet::new();
        let mut seen: BTreeSet<Var> = BTreeSet::new();
        for (vars, root) in any {
            let Some(other) = not_two.get(&vars) else { continue };
            if vars.iter().all(|var| !seen.contains(var)) {
                seen.extend(vars.iter().copied());
                taken.extend([root, *other]);
                self.one_of.push(vars);
            }
        }
        self.roots.retain(|root| !taken.contains(root));
        self.forget_unused();
    }

    /// Finds the node at which each variable and each number is quantified.
    fn place(&mut self, kept: &BTreeSet<Var>) {
        let mut tree = Dominators::of(self);
        let mut at: BTreeMap<Key, NodeId> = BTreeMap::new();
        for (id, node) in self.nodes.iter().enumerate() {
            if let Node::Literal(key, _) = node
                && let Some(place) = tree.above(id)
            {
                tree.meet(&mut at, *key, place);
            }
        }
        let mut placed: BTreeMap<NodeId, Placed> = BTreeMap::new();
        // Numbers that must have their values before others have theirs are not placed below these.
        let mut before: BTreeMap<NumberChoice, NodeId> = BTreeMap::new();
        for (number, eliminated) in self.numbers.iter().enumerate() {
            let places = eliminated.atoms.iter().filter_map(|id| at.get(&Key::Atom(*id)).copied());
            let places = places.chain(before.get(&eliminated.number).copied());
            let Some(place) = places.reduce(|a, b| tree.common(a, b)) else { continue };
            for id in &eliminated.every {
                let others = self.comparisons.get(*id).into_iter().flat_map(|atom| &atom.form);
                for (_, other) in others.filter(|(_, other)| *other != eliminated.number) {
                    let met = before.get(other).map_or(place, |known| tree.common(*known, place));
                    before.insert(*other, met);
                }
            }
            for (id, _) in eliminated.clauses.iter().flatten() {
                if !self.atoms.contains_key(id) {
                    tree.meet(&mut at, Key::Atom(*id), place);
                }
            }
            placed.entry(place).or_default().numbers.push(number);
        }
        for of in &self.one_of {
            let places = of.iter().filter_map(|var| at.remove(&Key::Fact(*var)));
            // Where none of them matters, any may be chosen at the end.
            let place = places.reduce(|a, b| tree.common(a, b)).unwrap_or(self.nodes.len());
            placed.entry(place).or_default().facts.extend(of);
        }
        for (key, place) in at {
            if let Key::Fact(var) = key
                && !kept.contains(&var)
            {
                placed.entry(place).or_default().facts.push(var);
            }
        }
        self.placed = placed;
    }
}

struct Folding<'a> {
    terms: &'a Terms,
    atoms: &'a mut Atoms,
    shape: &'a mut Shape,
    known: FxHashMap<(usize, bool), NodeId>,
    literals: BTreeMap<(Key, bool), NodeId>,
}

impl Folding<'_> {
    fn add(&mut self, node: Node) -> NodeId {
        self.shape.nodes.push(node);
        self.shape.nodes.len() - 1
    }

    fn literal(&mut self, key: Key, value: bool) -> NodeId {
        let decided = match key {
            Key::Fact(var) => self.shape.facts.get(&var),
            Key::Atom(id) => self.shape.atoms.get(&id),
        };
        if let Some(decided) = decided {
            return usize::from(*decided == value);
        }
        if let Some(known) = self.literals.get(&(key, value)) {
            return *known;
        }
        let node = self.add(Node::Literal(key, value));
        self.literals.insert((key, value), node);
        node
    }

    /// The node of a term, or of its opposite.
    fn node(&mut self, id: TermId, value: bool) -> NodeId {
        if let Some(known) = self.known.get(&(id.index(), value)) {
            return *known;
        }
        let node = match self.terms.get(id) {
            Term::Constant(truth) => usize::from(*truth == value),
            Term::Var(var) => self.literal(Key::Fact(*var), value),
            Term::Linear(linear) => match self.atoms.sign(linear, &self.shape.ends) {
                Ok((atom, sign)) => self.literal(Key::Atom(atom), sign == value),
                Err(truth) => usize::from(truth == value),
            },
            Term::Not(part) => self.node(*part, !value),
            Term::And(parts) => self.many(parts, value, value),
            Term::Or(parts) => self.many(parts, value, !value),
            // Not at least m of n: at least n − m + 1 of the opposites.
            Term::AtLeast(count, parts) => {
                let needed = if value { *count } else { (parts.len() + 1).saturating_sub(*count) };
                let parts: Vec<NodeId> = parts.iter().map(|part| self.node(*part, value)).collect();
                self.at_least(needed, parts)
            }
        };
        self.known.insert((id.index(), value), node);
        node
    }

    fn many(&mut self, parts: &[TermId], value: bool, all: bool) -> NodeId {
        let nodes: Vec<NodeId> = parts.iter().map(|part| self.node(*part, value)).collect();
        self.join(nodes, all)
    }

    fn join(&mut self, mut nodes: Vec<NodeId>, all: bool) -> NodeId {
        let (neutral, absorbing) = (usize::from(all), usize::from(!all));
        if nodes.contains(&absorbing) {
            return absorbing;
        }
        nodes.retain(|node| *node != neutral);
        let mut seen = BTreeSet::new();
        nodes.retain(|node| seen.insert(*node));
        match nodes.as_slice() {
            [] => neutral,
            [one] => *one,
            _ if all => self.add(Node::All(nodes)),
            _ => self.add(Node::Any(nodes)),
        }
    }

    fn at_least(&mut self, count: usize, parts: Vec<NodeId>) -> NodeId {
        let surely = parts.iter().filter(|part| **part == 1).count();
        let open: Vec<NodeId> = parts.into_iter().filter(|part| *part > 1).collect();
        match count.saturating_sub(surely) {
            0 => 1,
            needed if needed > open.len() => 0,
            1 => self.join(open, false),
            needed if needed == open.len() => self.join(open, true),
            needed => self.add(Node::AtLeast(needed, open)),
        }
    }
}

/// Through which nodes every way from the whole to a node leads.
struct Dominators {
    /// The lowest such node above each node; the whole stands above the roots.
    above: Vec<Option<NodeId>>,
    depth: Vec<usize>,
}

impl Dominators {
    fn of(shape: &Shape) -> Self {
        let whole = shape.nodes.len();
        let mut tree = Dominators { above: vec![None; whole + 1], depth: vec![0; whole + 1] };
        for root in &shape.roots {
            tree.reach(*root, whole);
        }
        for (id, node) in shape.nodes.iter().enumerate().rev() {
            let Some(above) = tree.above(id) else { continue };
            let depth = tree.depth.get(above).copied().unwrap_or(0) + 1;
            if let Some(place) = tree.depth.get_mut(id) {
                *place = depth;
            }
            match node {
                Node::All(parts) | Node::Any(parts) | Node::AtLeast(_, parts) => {
                    parts.iter().for_each(|part| tree.reach(*part, id));
                }
                Node::Constant(_) | Node::Literal(..) => {}
            }
        }
        tree
    }

    fn above(&self, node: NodeId) -> Option<NodeId> {
        self.above.get(node).copied().flatten()
    }

    /// A way leads to this node from that one.
    fn reach(&mut self, node: NodeId, from: NodeId) {
        let place = match self.above(node) {
            Some(before) => self.common(before, from),
            None => from,
        };
        if let Some(above) = self.above.get_mut(node) {
            *above = Some(place);
        }
    }

    /// The lowest node through which all ways to both lead.
    fn common(&self, a: NodeId, b: NodeId) -> NodeId {
        let (mut a, mut b) = (a, b);
        let depth = |node: NodeId| self.depth.get(node).copied().unwrap_or(0);
        while a != b {
            let lower = if depth(a) >= depth(b) { &mut a } else { &mut b };
            match self.above(*lower) {
                Some(above) => *lower = above,
                None => return *lower,
            }
        }
        a
    }

    fn meet(&mut self, at: &mut BTreeMap<Key, NodeId>, key: Key, place: NodeId) {
        let place = at.get(&key).map_or(place, |before| self.common(*before, place));
        at.insert(key, place);
    }
}
