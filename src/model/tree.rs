//! Boolean combinations of atoms of one kind: conditions of causes, predicates of hazards, safe states, feeds, wiring.

/// A Boolean combination of atoms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tree<A> {
    /// One atom.
    Atom(A),
    /// All of them; true when there are none.
    And(Vec<Tree<A>>),
    /// Any of them; false when there are none.
    Or(Vec<Tree<A>>),
    /// Not it.
    Not(Box<Tree<A>>),
    /// At least `m` of them, 1 ≤ m ≤ number of operands.
    Vote {
        /// How many must agree, to trip.
        m: usize,
        /// The operands.
        of: Vec<Tree<A>>,
    },
}

impl<A> Tree<A> {
    /// Every atom, from left to right.
    pub fn atoms(&self) -> Vec<&A> {
        let mut found = Vec::new();
        self.collect(&mut found);
        found
    }

    fn collect<'a>(&'a self, found: &mut Vec<&'a A>) {
        match self {
            Tree::Atom(atom) => found.push(atom),
            Tree::And(parts) | Tree::Or(parts) | Tree::Vote { of: parts, .. } => {
                parts.iter().for_each(|part| part.collect(found));
            }
            Tree::Not(part) => part.collect(found),
        }
    }

    /// Every vote that does not stand under NOT, an outer one before those inside it.
    pub fn trip_votes(&self) -> Vec<&Tree<A>> {
        match self {
            Tree::Atom(_) | Tree::Not(_) => Vec::new(),
            Tree::And(parts) | Tree::Or(parts) => parts.iter().flat_map(Tree::trip_votes).collect(),
            Tree::Vote { of, .. } => {
                std::iter::once(self).chain(of.iter().flat_map(Tree::trip_votes)).collect()
            }
        }
    }

    /// Whether a NOT stands anywhere in it.
    pub fn has_not(&self) -> bool {
        match self {
            Tree::Atom(_) => false,
            Tree::And(parts) | Tree::Or(parts) | Tree::Vote { of: parts, .. } => {
                parts.iter().any(Tree::has_not)
            }
            Tree::Not(_) => true,
        }
    }

    /// The votes in it, outermost first, as (M, N).
    pub fn votes(&self) -> Vec<(usize, usize)> {
        match self {
            Tree::Atom(_) => Vec::new(),
            Tree::And(parts) | Tree::Or(parts) => parts.iter().flat_map(Tree::votes).collect(),
            Tree::Not(part) => part.votes(),
            Tree::Vote { m, of } => {
                let mut votes = vec![(*m, of.len())];
                votes.extend(of.iter().flat_map(Tree::votes));
                votes
            }
        }
    }

    /// Its value where `known` says that of some atoms; `None` as long as the others can make a difference.
    pub fn settled(&self, known: &impl Fn(&A) -> Option<bool>) -> Option<bool> {
        let count = |parts: &[Tree<A>]| {
            let values: Vec<Option<bool>> = parts.iter().map(|part| part.settled(known)).collect();
            let yes = values.iter().filter(|value| **value == Some(true)).count();
            (yes, yes + values.iter().filter(|value| value.is_none()).count())
        };
        let at_least = |m: usize, (surely, at_most): (usize, usize)| match surely >= m {
            true => Some(true),
            false => (at_most < m).then_some(false),
        };
        match self {
            Tree::Atom(atom) => known(atom),
            Tree::And(parts) => at_least(parts.len(), count(parts)),
            Tree::Or(parts) => at_least(1, count(parts)),
            Tree::Not(part) => part.settled(known).map(|value| !value),
            Tree::Vote { m, of } => at_least(*m, count(of)),
        }
    }

    /// The same combination of other atoms.
    pub fn map<B>(&self, atom: &mut impl FnMut(&A) -> B) -> Tree<B> {
        match self {
            Tree::Atom(a) => Tree::Atom(atom(a)),
            Tree::And(parts) => Tree::And(parts.iter().map(|p| p.map(atom)).collect()),
            Tree::Or(parts) => Tree::Or(parts.iter().map(|p| p.map(atom)).collect()),
            Tree::Not(part) => Tree::Not(Box::new(part.map(atom))),
            Tree::Vote { m, of } => Tree::Vote { m: *m, of: of.iter().map(|p| p.map(atom)).collect() },
        }
    }
}
