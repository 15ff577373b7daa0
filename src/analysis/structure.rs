//! The structure of a protection: which sets of misbehaving sources defeat it, as one function.
//!
//! A [`Structure`] is a Boolean function φ(x₁ … xₙ) of n sources, xᵢ true where source i misbehaves, φ true where some
//! situation with these faults defeats the protection. φ is monotone: more faults never defeat less. It is held as an
//! ordered decision diagram, from which everything asked here is read off without asking an engine again:
//!
//! * minimal cut sets: smallest sets C with φ(C);
//! * minimal path sets: smallest sets P with not φ(all but P), the minimal cut sets of the dual φᵈ(x) = ¬φ(¬x);
//! * structural importance (Birnbaum 1969) of source i: of the 2ⁿ⁻¹ states of the other sources, the part in which
//!   φ changes with xᵢ;
//! * disjoint paths: the largest number of path sets that share no source.
//!
//! The minimal sets of a diagram are found by the recursion of Rauzy (Reliability Engineering and System Safety 40,
//! 1993; recalled): of `if x then h else l`, those of l, and x with each of those of h that l does not already defeat.

mod sets;

use std::collections::{BTreeSet, HashMap};

use num_bigint::BigInt;
use num_rational::BigRational;

use super::colouring::{self, Colouring};
use crate::exact::Exact;
pub use sets::Family;

/// One node of a diagram: `if variable then with else without`. Numbers 0 and 1 of a table are *never* and *always*;
/// node k of a list has the number k + 2, and its children come before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Node {
    /// The source asked, by its place in the order of the diagram; children ask later ones.
    pub variable: usize,
    /// The function where it works.
    pub without: usize,
    /// The function where it misbehaves.
    pub with: usize,
}

/// Number of the function that is never true.
pub const NEVER: usize = 0;
/// Number of the function that is always true.
pub const ALWAYS: usize = 1;
/// Variable of the two constants: after every other.
const LAST: usize = usize::MAX;

/// A monotone function of sources.
#[derive(Debug, Clone)]
pub struct Structure {
    sources: usize,
    nodes: Vec<Node>,
    unique: HashMap<Node, usize>,
    root: usize,
}

impl Structure {
    /// The least monotone function above a diagram: true where the diagram is true with some of the same faults.
    ///
    /// `sources` is n; `nodes` the diagram as told at [`Node`], `root` its number. `None` if it is no such diagram: a child
    /// that does not come before its parent or asks no later variable, or a variable that is none of the n.
    pub fn above(sources: usize, nodes: &[Node], root: usize) -> Option<Structure> {
        let mut structure = Structure { sources, nodes: Vec::new(), unique: HashMap::new(), root: NEVER };
        let mut numbers = vec![NEVER, ALWAYS];
        for node in nodes {
            let (without, with) = (*numbers.get(node.without)?, *numbers.get(node.with)?);
            let later = |child| structure.variable(child) > node.variable;
            if node.variable >= sources || !later(without) || !later(with) {
                return None;
            }
            // Where it misbehaves, it may also do what it should.
            let either = structure.either(without, with);
            numbers.push(structure.node(node.variable, without, either));
        }
        structure.root = *numbers.get(root)?;
        Some(structure)
    }

    /// The function that is true where all of one of these sets misbehaves.
    pub fn of_cut_sets(sources: usize, cuts: &[BTreeSet<usize>]) -> Structure {
        let mut structure = Structure { sources, nodes: Vec::new(), unique: HashMap::new(), root: NEVER };
        for cut in cuts {
            let together = cut.iter().rev().fold(ALWAYS, |rest, source| structure.node(*source, NEVER, rest));
            structure.root = structure.either(structure.root, together);
        }
        structure
    }

    /// n.
    pub fn sources(&self) -> usize {
        self.sources
    }

    /// Whether it is defeated without any fault.
    pub fn needs_no_fault(&self) -> bool {
        self.root == ALWAYS
    }

    /// Whether no set of faults defeats it.
    pub fn never(&self) -> bool {
        self.root == NEVER
    }

    /// φ, the sources in `faulty` misbehaving.
    pub fn defeated(&self, faulty: &BTreeSet<usize>) -> bool {
        let mut at = self.root;
        while let Some(node) = self.get(at) {
            at = if faulty.contains(&node.variable) { node.with } else { node.without };
        }
        at == ALWAYS
    }

    /// Whether both are the same function.
    pub fn equals(&self, other: &Structure) -> bool {
        let mut joint = self.clone();
        let there = other.moved_into(&mut joint);
        self.sources == other.sources && there == self.root
    }

    fn moved_into(&self, target: &mut Structure) -> usize {
        let mut numbers = vec![NEVER, ALWAYS];
        for node in &self.nodes {
            let of = |child: usize| numbers.get(child).copied().unwrap_or(NEVER);
            let moved = target.node(node.variable, of(node.without), of(node.with));
            numbers.push(moved);
        }
        numbers.get(self.root).copied().unwrap_or(NEVER)
    }

    /// φᵈ(x) = ¬φ(¬x): true where too little is left to protect when all but x misbehave.
    pub fn dual(&self) -> Structure {
        let mut dual =
            Structure { sources: self.sources, nodes: Vec::new(), unique: HashMap::new(), root: NEVER };
        let mut numbers = vec![ALWAYS, NEVER];
        for node in &self.nodes {
            let of = |child: usize| numbers.get(child).copied().unwrap_or(NEVER);
            let turned = dual.node(node.variable, of(node.with), of(node.without));
            numbers.push(turned);
        }
        dual.root = numbers.get(self.root).copied().unwrap_or(NEVER);
        dual
    }

    /// All minimal cut sets, of every size.
    pub fn cut_sets(&self) -> Family {
        Family::minimal(self)
    }

    /// All minimal path sets, of every size.
    pub fn path_sets(&self) -> Family {
        Family::minimal(&self.dual())
    }

    /// Structural importance of each source, exact: 0 for one that never matters, 1 for one that alone decides.
    pub fn importance(&self) -> Vec<Exact> {
        let half = BigRational::new(BigInt::from(1), BigInt::from(2));
        let zero = BigRational::from_integer(BigInt::from(0));
        // Part of all states in which a function is true, by its number.
        let mut part = vec![zero.clone(), BigRational::from_integer(BigInt::from(1))];
        for node in &self.nodes {
            let of = |child: usize| part.get(child).cloned().unwrap_or_else(|| zero.clone());
            part.push((of(node.without) + of(node.with)) * &half);
        }
        // Part of all states whose way from the root passes a node.
        let mut passes = vec![zero.clone(); part.len()];
        if let Some(root) = passes.get_mut(self.root) {
            *root = BigRational::from_integer(BigInt::from(1));
        }
        let mut importance = vec![zero.clone(); self.sources];
        for (place, node) in self.nodes.iter().enumerate().rev() {
            let through = passes.get(place + 2).cloned().unwrap_or_else(|| zero.clone());
            let of = |child: usize| part.get(child).cloned().unwrap_or_else(|| zero.clone());
            if let Some(sum) = importance.get_mut(node.variable) {
                *sum += &through * (of(node.with) - of(node.without));
            }
            for child in [node.without, node.with] {
                if let Some(sum) = passes.get_mut(child) {
                    *sum += &through * &half;
                }
            }
        }
        importance.into_iter().map(Exact::from).collect()
    }

    /// The largest number of path sets that share no source, one minimal path set each; `Err` with a number that is
    /// surely reached, if the colouring gives up. With a path set that needs nothing there is no largest number: `None`.
    ///
    /// # Errors
    /// If the bound on steps of the colouring is reached.
    pub fn disjoint_paths(&self) -> Result<Option<Vec<BTreeSet<usize>>>, usize> {
        if self.never() {
            return Ok(None);
        }
        let mut paths: Vec<BTreeSet<usize>> = Vec::new();
        let mut cuts: BTreeSet<(usize, BTreeSet<usize>)> = BTreeSet::new();
        'more: loop {
            let wanted = paths.len() + 1;
            loop {
                // Small cut sets first, which leave least to choose.
                let list: Vec<BTreeSet<usize>> = cuts.iter().map(|(_, cut)| cut.clone()).collect();
                let colours = match colouring::colour(self.sources, &list, wanted) {
                    Colouring::Found(colours) => colours,
                    Colouring::Impossible => return Ok(Some(paths)),
                    Colouring::Undecided => return Err(paths.len()),
                };
                let class = |colour: usize| -> BTreeSet<usize> {
                    (0..self.sources).filter(|source| colours.get(*source) == Some(&colour)).collect()
                };
                let classes: Vec<BTreeSet<usize>> = (0..wanted).map(class).collect();
                let broken = classes.iter().find(|class| self.defeated(&self.all_but(class)));
                match broken {
                    Some(class) => {
                        let cut = self.shrunk(self.all_but(class));
                        cuts.insert((cut.len(), cut));
                    }
                    None => {
                        paths = classes.into_iter().map(|class| self.shrunk_path(class)).collect();
                        continue 'more;
                    }
                }
            }
        }
    }

    fn all_but(&self, class: &BTreeSet<usize>) -> BTreeSet<usize> {
        (0..self.sources).filter(|source| !class.contains(source)).collect()
    }

    /// A minimal cut set within a cut set.
    fn shrunk(&self, mut cut: BTreeSet<usize>) -> BTreeSet<usize> {
        for source in cut.clone() {
            cut.remove(&source);
            if !self.defeated(&cut) {
                cut.insert(source);
            }
        }
        cut
    }

    /// A minimal path set within a path set.
    fn shrunk_path(&self, mut path: BTreeSet<usize>) -> BTreeSet<usize> {
        for source in path.clone() {
            path.remove(&source);
            if self.defeated(&self.all_but(&path)) {
                path.insert(source);
            }
        }
        path
    }

    fn get(&self, number: usize) -> Option<&Node> {
        number.checked_sub(2).and_then(|place| self.nodes.get(place))
    }

    fn variable(&self, number: usize) -> usize {
        self.get(number).map_or(LAST, |node| node.variable)
    }

    fn node(&mut self, variable: usize, without: usize, with: usize) -> usize {
        if without == with {
            return with;
        }
        let node = Node { variable, without, with };
        let next = self.nodes.len() + 2;
        let number = *self.unique.entry(node).or_insert(next);
        if number == next {
            self.nodes.push(node);
        }
        number
    }

    fn either(&mut self, a: usize, b: usize) -> usize {
        let mut known = HashMap::new();
        self.either_known(a, b, &mut known)
    }

    fn either_known(&mut self, a: usize, b: usize, known: &mut HashMap<(usize, usize), usize>) -> usize {
        if a == ALWAYS || b == ALWAYS {
            return ALWAYS;
        }
        if a == NEVER || a == b {
            return b;
        }
        if b == NEVER {
            return a;
        }
        let key = (a.min(b), a.max(b));
        if let Some(number) = known.get(&key) {
            return *number;
        }
        let top = self.variable(a).min(self.variable(b));
        let parts = |number: usize| match self.get(number) {
            Some(node) if node.variable == top => (node.without, node.with),
            _ => (number, number),
        };
        let ((a_without, a_with), (b_without, b_with)) = (parts(a), parts(b));
        let without = self.either_known(a_without, b_without, known);
        let with = self.either_known(a_with, b_with, known);
        let number = self.node(top, without, with);
        known.insert(key, number);
        number
    }
}

#[cfg(test)]
mod tests;
