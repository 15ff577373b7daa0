//! A set that remembers in which order things were found, so that two bays that are built alike give terms alike,
//! whichever of them the file declares first.

use std::hash::Hash;

use rustc_hash::FxHashMap;

/// What was found, each once, in order.
#[derive(Debug)]
pub(super) struct Found<T> {
    order: Vec<T>,
    known: FxHashMap<T, usize>,
}

impl<T> Default for Found<T> {
    fn default() -> Self {
        Found { order: Vec::new(), known: FxHashMap::default() }
    }
}

impl<T: Copy + Eq + Hash> Found<T> {
    /// Adds one, unless it was found before.
    pub(super) fn insert(&mut self, one: T) {
        let next = self.order.len();
        if *self.known.entry(one).or_insert(next) == next {
            self.order.push(one);
        }
    }

    /// The how manieth it was, if it was found.
    pub(super) fn place(&self, one: &T) -> Option<usize> {
        self.known.get(one).copied()
    }

    /// Everything found, in order.
    pub(super) fn in_order(&self) -> Vec<T> {
        self.order.clone()
    }
}
