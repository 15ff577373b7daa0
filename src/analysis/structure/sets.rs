//! Families of sets as diagrams: `if source in the set then with else without`, a source that is not asked being in none.

use std::collections::{BTreeSet, HashMap};

use num_bigint::BigUint;

use super::{ALWAYS, NEVER, Node, Structure};

/// A family of sets of sources. 0 is the family without any set, 1 that of the empty set alone.
#[derive(Debug, Clone)]
pub struct Family {
    nodes: Vec<Node>,
    unique: HashMap<Node, usize>,
    root: usize,
    sources: usize,
}

/// How many sets of each size: at place k those of k sources.
pub type Sizes = Vec<BigUint>;

impl Family {
    /// The minimal sets of a monotone function.
    pub(super) fn minimal(function: &Structure) -> Family {
        let mut family =
            Family { nodes: Vec::new(), unique: HashMap::new(), root: NEVER, sources: function.sources };
        let mut known = HashMap::new();
        // Children first, as they stand in the table.
        let mut minimal = vec![NEVER, ALWAYS];
        for node in &function.nodes {
            let of = |child: usize| minimal.get(child).copied().unwrap_or(NEVER);
            let (without, with) = (of(node.without), of(node.with));
            let with = family.left(function, with, node.without, &mut known);
            minimal.push(family.node(node.variable, without, with));
        }
        family.root = minimal.get(function.root).copied().unwrap_or(NEVER);
        family
    }

    /// The sets of a family for which a function is not true already.
    fn left(
        &mut self,
        function: &Structure,
        sets: usize,
        already: usize,
        known: &mut HashMap<(usize, usize), usize>,
    ) -> usize {
        if sets == NEVER || already == ALWAYS {
            return NEVER;
        }
        if already == NEVER {
            return sets;
        }
        if let Some(number) = known.get(&(sets, already)) {
            return *number;
        }
        let (of_set, of_function) = (self.get(sets).copied(), function.get(already).copied());
        let number = match (of_set, of_function) {
            (Some(set), Some(asked)) if set.variable == asked.variable => {
                let without = self.left(function, set.without, asked.without, known);
                let with = self.left(function, set.with, asked.with, known);
                self.node(set.variable, without, with)
            }
            (Some(set), Some(asked)) if set.variable < asked.variable => {
                let without = self.left(function, set.without, already, known);
                let with = self.left(function, set.with, already, known);
                self.node(set.variable, without, with)
            }
            // The sets do not have the source that the function asks for.
            (_, Some(asked)) => self.left(function, sets, asked.without, known),
            (_, None) => sets,
        };
        known.insert((sets, already), number);
        number
    }

    fn get(&self, number: usize) -> Option<&Node> {
        number.checked_sub(2).and_then(|place| self.nodes.get(place))
    }

    fn node(&mut self, variable: usize, without: usize, with: usize) -> usize {
        if with == NEVER {
            return without;
        }
        let node = Node { variable, without, with };
        let next = self.nodes.len() + 2;
        let number = *self.unique.entry(node).or_insert(next);
        if number == next {
            self.nodes.push(node);
        }
        number
    }

    /// How many sets there are of each size, up to the largest.
    pub fn sizes(&self) -> Sizes {
        self.sizes_of_all().get(self.root).cloned().unwrap_or_default()
    }

    fn sizes_of_all(&self) -> Vec<Sizes> {
        let mut all: Vec<Sizes> = vec![Vec::new(), vec![BigUint::from(1u32)]];
        for node in &self.nodes {
            let of = |child: usize| all.get(child).cloned().unwrap_or_default();
            let sizes = sum(of(node.without), &longer(&of(node.with)));
            all.push(sizes);
        }
        all
    }

    /// For each source, how many of the sets with it there are of each size.
    pub fn sizes_with_each(&self) -> Vec<Sizes> {
        let below = self.sizes_of_all();
        let mut above: Vec<Sizes> = vec![Vec::new(); below.len()];
        if let Some(root) = above.get_mut(self.root) {
            *root = vec![BigUint::from(1u32)];
        }
        let mut each = vec![Vec::new(); self.sources];
        for (place, node) in self.nodes.iter().enumerate().rev() {
            let here = above.get(place + 2).cloned().unwrap_or_default();
            let with = longer(&here);
            if let (Some(count), Some(rest)) = (each.get_mut(node.variable), below.get(node.with)) {
                *count = sum(std::mem::take(count), &product(&with, rest));
            }
            for (child, ways) in [(node.without, &here), (node.with, &with)] {
                if let Some(known) = above.get_mut(child) {
                    *known = sum(std::mem::take(known), ways);
                }
            }
        }
        each
    }

    /// The sets with at most so many sources, at most `most` of them: by size, then in the order of the sources. The
    /// second value tells whether these are all of that size.
    pub fn up_to(&self, order: usize, most: usize) -> (Vec<BTreeSet<usize>>, bool) {
        let mut found = Vec::new();
        let shortest = self.shortest();
        for size in 0..=order.min(self.sources) {
            let mut chosen = Vec::new();
            if !self.list(self.root, size, &shortest, &mut chosen, &mut found, most) {
                return (found, false);
            }
        }
        (found, true)
    }

    /// Least number of sources of a set of each function of the table.
    fn shortest(&self) -> Vec<usize> {
        let mut all = vec![usize::MAX, 0];
        for node in &self.nodes {
            let of = |child: usize| all.get(child).copied().unwrap_or(usize::MAX);
            all.push(of(node.without).min(of(node.with).saturating_add(1)));
        }
        all
    }

    /// Lists the sets with exactly `left` more sources; false if there is no room for one.
    fn list(
        &self,
        at: usize,
        left: usize,
        shortest: &[usize],
        chosen: &mut Vec<usize>,
        found: &mut Vec<BTreeSet<usize>>,
        most: usize,
    ) -> bool {
        if shortest.get(at).is_none_or(|least| *least > left) {
            return true;
        }
        let Some(node) = self.get(at) else {
            if left > 0 {
                return true;
            }
            if found.len() >= most {
                return false;
            }
            found.push(chosen.iter().copied().collect());
            return true;
        };
        if let Some(fewer) = left.checked_sub(1) {
            chosen.push(node.variable);
            let room = self.list(node.with, fewer, shortest, chosen, found, most);
            chosen.pop();
            if !room {
                return false;
            }
        }
        self.list(node.without, left, shortest, chosen, found, most)
    }
}

/// The sizes of sets that get one source more.
fn longer(sizes: &Sizes) -> Sizes {
    match sizes.is_empty() {
        true => Vec::new(),
        false => std::iter::once(BigUint::from(0u32)).chain(sizes.iter().cloned()).collect(),
    }
}

fn sum(mut a: Sizes, b: &Sizes) -> Sizes {
    if a.len() < b.len() {
        a.resize(b.len(), BigUint::from(0u32));
    }
    a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
    a
}

fn product(a: &Sizes, b: &Sizes) -> Sizes {
    if a.is_empty() || b.is_empty() {
        return Vec::new();
    }
    let mut all = vec![BigUint::from(0u32); a.len() + b.len() - 1];
    for (i, x) in a.iter().enumerate() {
        for (y, slot) in b.iter().zip(all.iter_mut().skip(i)) {
            *slot += x * y;
        }
    }
    all
}
