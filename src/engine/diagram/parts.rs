//! Which terms of a question have something to do with each other.
//!
//! Terms are connected by the variables that are not kept and by the numbers in them. What is not connected is decided
//! apart, and what was decided before need not be decided again.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use rustc_hash::FxHashMap;

use crate::situation::NumberChoice;
use crate::term::{Term, TermId, Terms, Var};

/// Something that connects terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Thing {
    Fact(Var),
    Number(NumberChoice),
}

/// What terms speak of, worked out once.
#[derive(Debug, Default)]
pub(super) struct Parts {
    known: FxHashMap<usize, Rc<[usize]>>,
    numbers: BTreeMap<Thing, usize>,
}

impl Parts {
    /// What a term speaks of, but for the variables that are kept: each with its number.
    pub(super) fn of(&mut self, terms: &Terms, id: TermId, kept: &BTreeSet<Var>) -> Rc<[usize]> {
        if let Some(known) = self.known.get(&id.index()) {
            return known.clone();
        }
        let mut things = BTreeSet::new();
        let mut seen: FxHashMap<usize, ()> = FxHashMap::default();
        let mut open = vec![id];
        while let Some(id) = open.pop() {
            if seen.insert(id.index(), ()).is_some() {
                continue;
            }
            match terms.get(id) {
                Term::Constant(_) => {}
                Term::Var(var) if kept.contains(var) => {}
                Term::Var(var) => {
                    things.insert(self.number(Thing::Fact(*var)));
                }
                Term::Linear(linear) => {
                    for (_, number) in &linear.sum {
                        things.insert(self.number(Thing::Number(*number)));
                    }
                }
                Term::Not(part) => open.push(*part),
                Term::And(parts) | Term::Or(parts) | Term::AtLeast(_, parts) => open.extend(parts),
            }
        }
        let things: Rc<[usize]> = things.into_iter().collect();
        self.known.insert(id.index(), things.clone());
        things
    }

    fn number(&mut self, thing: Thing) -> usize {
        let next = self.numbers.len();
        *self.numbers.entry(thing).or_insert(next)
    }

    /// Groups of terms that have nothing to do with each other, in the order of their first terms.
    pub(super) fn connected(
        &mut self,
        terms: &Terms,
        all: &[TermId],
        kept: &BTreeSet<Var>,
    ) -> Vec<Vec<TermId>> {
        let each: Vec<Rc<[usize]>> = all.iter().map(|id| self.of(terms, *id, kept)).collect();
        let mut above: Vec<usize> = (0..self.numbers.len()).collect();
        for things in &each {
            if let Some(first) = things.first() {
                for thing in things.iter().skip(1) {
                    let (a, b) = (root(&mut above, *first), root(&mut above, *thing));
                    if let Some(place) = above.get_mut(a.max(b)) {
                        *place = a.min(b);
                    }
                }
            }
        }
        let mut groups: Vec<Vec<TermId>> = Vec::new();
        let mut of_root: BTreeMap<usize, usize> = BTreeMap::new();
        for (id, things) in all.iter().zip(&each) {
            let Some(first) = things.first() else { continue };
            let root = root(&mut above, *first);
            let group = *of_root.entry(root).or_insert_with(|| {
                groups.push(Vec::new());
                groups.len() - 1
            });
            if let Some(group) = groups.get_mut(group)
                && !group.contains(id)
            {
                group.push(*id);
            }
        }
        groups
    }
}

fn root(above: &mut [usize], thing: usize) -> usize {
    let mut thing = thing;
    loop {
        let next = above.get(thing).copied().unwrap_or(thing);
        if next == thing {
            return thing;
        }
        let over = above.get(next).copied().unwrap_or(next);
        if let Some(place) = above.get_mut(thing) {
            *place = over;
        }
        thing = next;
    }
}
