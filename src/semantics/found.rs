//! A set that remembers in which order things were found, so that two bays that are built alike give terms alike,
//! whichever of them the file declares first.

use std::collections::HashSet;
use std::hash::Hash;

/// What was found, each once, in order.
#[derive(Debug)]
pub(super) struct Found<T> {
    order: Vec<T>,
    known: HashSet<T>,
}

impl<T> Default for Found<T> {
    fn default() -> Self {
        Found { order: Vec::new(), known: HashSet::new() }
    }
}

impl<T: Copy + Eq + Hash> Found<T> {
    /// Adds one, unless it was found before.
    pub(super) fn insert(&mut self, one: T) {
        if self.known.insert(one) {
            self.order.push(one);
        }
    }

    /// Whether it was found.
    pub(super) fn contains(&self, one: &T) -> bool {
        self.known.contains(one)
    }

    /// Everything found, in order.
    pub(super) fn in_order(&self) -> Vec<T> {
        self.order.clone()
    }
}
