//! Reduced ordered decision diagrams with complemented edges, and a bound on their nodes.
//!
//! The order of the variables is the order of their numbers. Nodes are never given back: a diagram lives as long as its
//! [`Diagrams`]. Every operation that may need new nodes says [`Full`] when the bound is reached, and never guesses.
//! Knows nothing of terms or numbers.

use std::hash::BuildHasher;
use std::ops::Not;

use rustc_hash::{FxBuildHasher, FxHashMap};

/// The bound on nodes was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Full;

/// A diagram: a node, or its opposite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Edge(u32);

impl Edge {
    /// Always.
    pub(super) const TRUE: Edge = Edge(0);
    /// Never.
    pub(super) const FALSE: Edge = Edge(1);

    fn node(self) -> usize {
        (self.0 >> 1) as usize
    }

    fn opposite(self) -> bool {
        self.0 & 1 == 1
    }

    /// Whether it is a constant.
    pub(super) fn constant(self) -> Option<bool> {
        match self {
            Edge::TRUE => Some(true),
            Edge::FALSE => Some(false),
            _ => None,
        }
    }

    fn turned(self, turn: bool) -> Edge {
        Edge(self.0 ^ u32::from(turn))
    }
}

impl Not for Edge {
    type Output = Edge;
    fn not(self) -> Edge {
        Edge(self.0 ^ 1)
    }
}

/// A number of a variable; also its place in the order.
pub(super) type Level = u32;

/// `low` and `high` differ, and `high` is never turned: so equal functions have one node.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Node {
    level: Level,
    low: Edge,
    high: Edge,
}

/// What was worked out before; an entry may be lost, and is then worked out again.
#[derive(Debug, Clone, Copy)]
struct Known {
    key: (u32, u32, u32),
    value: Edge,
}

const NOTHING: Known = Known { key: (u32::MAX, u32::MAX, u32::MAX), value: Edge::FALSE };
/// Smallest and largest number of places for what was worked out, as powers of two.
const PLACES: (u32, u32) = (12, 20);

/// A table of nodes.
#[derive(Debug, Clone)]
pub(super) struct Diagrams {
    nodes: Vec<Node>,
    unique: FxHashMap<Node, u32>,
    known: Vec<Known>,
    most: usize,
}

/// A node's level, where the terminal stands below all others.
const TERMINAL: Level = Level::MAX;

impl Diagrams {
    /// No diagrams but the constants; at most so many nodes.
    pub(super) fn new(most: usize) -> Self {
        let terminal = Node { level: TERMINAL, low: Edge::TRUE, high: Edge::TRUE };
        Diagrams {
            nodes: vec![terminal],
            unique: FxHashMap::default(),
            known: vec![NOTHING; 1 << PLACES.0],
            most: most.min(u32::MAX as usize >> 1),
        }
    }

    /// Number of nodes.
    pub(super) fn len(&self) -> usize {
        self.nodes.len()
    }

    fn at(&self, edge: Edge) -> Node {
        self.nodes.get(edge.node()).copied().unwrap_or(Node {
            level: TERMINAL,
            low: Edge::TRUE,
            high: Edge::TRUE,
        })
    }

    /// The variable on which it turns first.
    pub(super) fn top(&self, edge: Edge) -> Level {
        self.at(edge).level
    }

    /// Its two parts, without and with the variable at `level`, which is at or above its top.
    pub(super) fn parts(&self, edge: Edge, level: Level) -> (Edge, Edge) {
        let node = self.at(edge);
        if node.level != level {
            return (edge, edge);
        }
        (node.low.turned(edge.opposite()), node.high.turned(edge.opposite()))
    }

    /// The node that is `high` where the variable is true and `low` where it is false; both stand below it.
    fn join(&mut self, level: Level, low: Edge, high: Edge) -> Result<Edge, Full> {
        if low == high {
            return Ok(low);
        }
        let turn = high.opposite();
        let node = Node { level, low: low.turned(turn), high: high.turned(turn) };
        if let Some(known) = self.unique.get(&node) {
            return Ok(Edge(known << 1).turned(turn));
        }
        if self.nodes.len() >= self.most {
            return Err(Full);
        }
        let number = u32::try_from(self.nodes.len()).map_err(|_| Full)?;
        self.nodes.push(node);
        self.unique.insert(node, number);
        if self.nodes.len() > self.known.len() && self.known.len() < 1 << PLACES.1 {
            self.known = vec![NOTHING; self.known.len() * 4];
        }
        Ok(Edge(number << 1).turned(turn))
    }

    /// The variable itself.
    pub(super) fn variable(&mut self, level: Level) -> Result<Edge, Full> {
        self.join(level, Edge::FALSE, Edge::TRUE)
    }

    fn place(&self, key: (u32, u32, u32)) -> usize {
        (FxBuildHasher.hash_one(key) >> 7) as usize & (self.known.len() - 1)
    }

    fn recall(&self, key: (u32, u32, u32)) -> Option<Edge> {
        self.known.get(self.place(key)).filter(|known| known.key == key).map(|known| known.value)
    }

    fn remember(&mut self, key: (u32, u32, u32), value: Edge) {
        let place = self.place(key);
        if let Some(known) = self.known.get_mut(place) {
            *known = Known { key, value };
        }
    }

    /// Both.
    pub(super) fn and(&mut self, a: Edge, b: Edge) -> Result<Edge, Full> {
        self.and_without(a, b, Edge::TRUE)
    }

    /// Either.
    pub(super) fn or(&mut self, a: Edge, b: Edge) -> Result<Edge, Full> {
        Ok(!self.and(!a, !b)?)
    }

    /// `then` where `condition`, else `other`.
    pub(super) fn choose(&mut self, condition: Edge, then: Edge, other: Edge) -> Result<Edge, Full> {
        let node = self.at(condition);
        let literal = node.low == Edge::FALSE && node.high == Edge::TRUE;
        if literal && node.level < self.top(then) && node.level < self.top(other) {
            return match condition.opposite() {
                false => self.join(node.level, other, then),
                true => self.join(node.level, then, other),
            };
        }
        let yes = self.and(condition, then)?;
        let no = self.and(!condition, other)?;
        self.or(yes, no)
    }

    /// All of these variables.
    pub(super) fn cube(&mut self, levels: &[Level]) -> Result<Edge, Full> {
        let mut sorted = levels.to_vec();
        sorted.sort_unstable();
        sorted.dedup();
        let mut cube = Edge::TRUE;
        for level in sorted.into_iter().rev() {
            cube = self.join(level, Edge::FALSE, cube)?;
        }
        Ok(cube)
    }

    /// Both, for some values of the variables of the cube.
    pub(super) fn and_without(&mut self, a: Edge, b: Edge, cube: Edge) -> Result<Edge, Full> {
        if a == Edge::FALSE || b == Edge::FALSE || a == !b {
            return Ok(Edge::FALSE);
        }
        // One without the other is the smaller question.
        let (a, b) = if a == b { (a, Edge::TRUE) } else { (a, b) };
        let (a, b) = if b.node() > a.node() { (a, b) } else { (b, a) };
        let (a, b) = if a == Edge::TRUE { (b, a) } else { (a, b) };
        if a == Edge::TRUE || (b == Edge::TRUE && cube == Edge::TRUE) {
            return Ok(a);
        }
        let level = self.top(a).min(self.top(b));
        let mut cube = cube;
        while cube != Edge::TRUE && self.top(cube) < level {
            cube = self.at(cube).high;
        }
        if b == Edge::TRUE && cube == Edge::TRUE {
            return Ok(a);
        }
        let key = (a.0, b.0, cube.0);
        if let Some(known) = self.recall(key) {
            return Ok(known);
        }
        let ((a_low, a_high), (b_low, b_high)) = (self.parts(a, level), self.parts(b, level));
        let here = cube != Edge::TRUE && self.top(cube) == level;
        let value = if here {
            let rest = self.at(cube).high;
            let low = self.and_without(a_low, b_low, rest)?;
            if low == Edge::TRUE {
                low
            } else {
                let high = self.and_without(a_high, b_high, rest)?;
                self.or(low, high)?
            }
        } else {
            let low = self.and_without(a_low, b_low, cube)?;
            let high = self.and_without(a_high, b_high, cube)?;
            self.join(level, low, high)?
        };
        self.remember(key, value);
        Ok(value)
    }

    /// All of them.
    pub(super) fn all(&mut self, edges: impl IntoIterator<Item = Edge>) -> Result<Edge, Full> {
        let mut result = Edge::TRUE;
        for edge in edges {
            result = self.and(result, edge)?;
        }
        Ok(result)
    }

    /// At least so many of them, counted with their repetitions.
    pub(super) fn at_least(&mut self, count: usize, edges: &[Edge]) -> Result<Edge, Full> {
        let mut sorted = edges.to_vec();
        sorted.sort_by_key(|edge| (std::cmp::Reverse(self.top(*edge)), *edge));
        // `row[n]`: at least n of those looked at so far.
        let mut row = vec![Edge::FALSE; count + 1];
        if let Some(none) = row.first_mut() {
            *none = Edge::TRUE;
        }
        for edge in sorted {
            for needed in (1..=count).rev() {
                let (Some(fewer), Some(same)) = (row.get(needed - 1).copied(), row.get(needed).copied())
                else {
                    continue;
                };
                let value = self.choose(edge, fewer, same)?;
                if let Some(place) = row.get_mut(needed) {
                    *place = value;
                }
            }
        }
        Ok(row.last().copied().unwrap_or(Edge::TRUE))
    }

    /// With some variables fixed.
    pub(super) fn restrict(&mut self, edge: Edge, fixed: &FxHashMap<Level, bool>) -> Result<Edge, Full> {
        let mut done = FxHashMap::default();
        self.restricted(edge, fixed, &mut done)
    }

    fn restricted(
        &mut self,
        edge: Edge,
        fixed: &FxHashMap<Level, bool>,
        done: &mut FxHashMap<u32, Edge>,
    ) -> Result<Edge, Full> {
        if edge.constant().is_some() {
            return Ok(edge);
        }
        let turn = edge.opposite();
        let plain = edge.turned(turn);
        if let Some(known) = done.get(&plain.0) {
            return Ok(known.turned(turn));
        }
        let node = self.at(plain);
        let value = match fixed.get(&node.level) {
            Some(true) => self.restricted(node.high, fixed, done)?,
            Some(false) => self.restricted(node.low, fixed, done)?,
            None => {
                let low = self.restricted(node.low, fixed, done)?;
                let high = self.restricted(node.high, fixed, done)?;
                self.join(node.level, low, high)?
            }
        };
        done.insert(plain.0, value);
        Ok(value.turned(turn))
    }

    /// Whether it can be true with these variables fixed. Needs no new nodes.
    pub(super) fn possible(&self, edge: Edge, fixed: &FxHashMap<Level, bool>) -> bool {
        let mut seen: FxHashMap<u32, ()> = FxHashMap::default();
        let mut open = vec![edge];
        while let Some(edge) = open.pop() {
            match edge.constant() {
                Some(true) => return true,
                Some(false) => continue,
                None => {}
            }
            if seen.insert(edge.0, ()).is_some() {
                continue;
            }
            let (low, high) = self.parts(edge, self.top(edge));
            match fixed.get(&self.top(edge)) {
                Some(true) => open.push(high),
                Some(false) => open.push(low),
                None => open.extend([high, low]),
            }
        }
        false
    }

    /// Fixes the variables on one way to true, each false where it can be; `false` if there is no way.
    pub(super) fn pick(&self, edge: Edge, fixed: &mut FxHashMap<Level, bool>) -> bool {
        let mut edge = edge;
        if !self.possible(edge, fixed) {
            return false;
        }
        while edge.constant().is_none() {
            let level = self.top(edge);
            let (low, high) = self.parts(edge, level);
            let value = match fixed.get(&level) {
                Some(value) => *value,
                None => !self.possible(low, fixed),
            };
            fixed.insert(level, value);
            edge = if value { high } else { low };
        }
        true
    }

    /// Its variables in their order, and its number of nodes.
    pub(super) fn support(&self, edge: Edge) -> (Vec<Level>, usize) {
        let mut seen: FxHashMap<usize, ()> = FxHashMap::default();
        let mut levels = Vec::new();
        let mut open = vec![edge];
        while let Some(edge) = open.pop() {
            if edge.constant().is_some() || seen.insert(edge.node(), ()).is_some() {
                continue;
            }
            let node = self.at(edge);
            levels.push(node.level);
            open.extend([node.low, node.high]);
        }
        levels.sort_unstable();
        levels.dedup();
        (levels, seen.len())
    }
}
