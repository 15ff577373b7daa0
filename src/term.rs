//! Solver-neutral terms: Boolean combinations of choices and of linear comparisons with exact coefficients.
//!
//! Terms live in one [`Terms`] table and are addressed by [`TermId`]; equal terms have equal ids, so that equal claims
//! of two modes are recognised. Terms are only made through constructors, which simplify.
//! Nothing here knows what a term means for a plant, and nothing here solves.

use rustc_hash::FxHashMap;

use crate::exact::Exact;
use crate::model::{Device, ModeId, Relation};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};

/// A Boolean variable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Var {
    /// A yes/no choice of the situation.
    Fact(FactChoice),
    /// A choice of a mode is this mode.
    ModeIs(ModeChoice, ModeId),
    /// The position chosen for a device is this one.
    PositionIs(Device, usize),
    /// Overrides may be active as permitted: belongs to the claim, not to the situation.
    OverridesPermitted,
}

/// A comparison of a linear sum with a bound, in normal form.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Linear {
    /// Coefficients (never 0) and numbers, in the order of the numbers; never empty.
    pub sum: Vec<(Exact, NumberChoice)>,
    /// Whether the bound itself counts (`>=`) or not (`>`).
    pub inclusive: bool,
    /// The bound below.
    pub bound: Exact,
}

/// A term.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Term {
    /// Always, or never.
    Constant(bool),
    /// A variable.
    Var(Var),
    /// Σ ≥ bound, or Σ > bound.
    Linear(Linear),
    /// Not. Never of a constant or of another Not.
    Not(TermId),
    /// All; two or more, sorted, distinct.
    And(Vec<TermId>),
    /// Any; two or more, sorted, distinct.
    Or(Vec<TermId>),
    /// At least so many, more than 1 and fewer than all.
    AtLeast(usize, Vec<TermId>),
}

/// The address of a term in its [`Terms`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TermId(u32);

impl TermId {
    /// Its number.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A table of terms.
#[derive(Debug, Clone)]
pub struct Terms {
    table: Vec<Term>,
    ids: FxHashMap<Term, TermId>,
}

impl Default for Terms {
    fn default() -> Self {
        let mut terms = Terms { table: Vec::new(), ids: FxHashMap::default() };
        terms.intern(Term::Constant(false));
        terms.intern(Term::Constant(true));
        terms
    }
}

impl Terms {
    fn intern(&mut self, term: Term) -> TermId {
        if let Some(id) = self.ids.get(&term) {
            return *id;
        }
        let id = TermId(u32::try_from(self.table.len()).unwrap_or(u32::MAX));
        self.table.push(term.clone());
        self.ids.insert(term, id);
        id
    }

    /// Number of terms.
    pub fn len(&self) -> usize {
        self.table.len()
    }

    /// Never true: the constants are always there.
    pub fn is_empty(&self) -> bool {
        self.table.is_empty()
    }

    /// The term of an id. Ids come from this table, which never shrinks.
    #[allow(clippy::indexing_slicing)]
    pub fn get(&self, id: TermId) -> &Term {
        &self.table[id.index()]
    }

    /// The term with this number; always-false for a number that no term has.
    pub fn at(&self, index: usize) -> &Term {
        self.table.get(index).unwrap_or(&Term::Constant(false))
    }

    /// Whether the other table holds the same terms in the same order.
    pub fn same(&self, other: &Terms) -> bool {
        self.table == other.table
    }

    /// Whether the other table holds the same terms in the same order up to names: the variable and the numbers of one
    /// stand where those of the other stand. A variable stands in one place only, so places say which is which.
    pub fn alike(&self, other: &Terms) -> bool {
        let mut there: FxHashMap<NumberChoice, NumberChoice> = FxHashMap::default();
        let mut back: FxHashMap<NumberChoice, NumberChoice> = FxHashMap::default();
        self.table.len() == other.table.len()
            && self.table.iter().zip(&other.table).all(|(mine, theirs)| match (mine, theirs) {
                (Term::Var(_), Term::Var(_)) => true,
                (Term::Linear(mine), Term::Linear(theirs)) => {
                    let mut pairs = mine.sum.iter().zip(&theirs.sum);
                    mine.inclusive == theirs.inclusive
                        && mine.bound == theirs.bound
                        && mine.sum.len() == theirs.sum.len()
                        && pairs.all(|((c, mine), (d, theirs))| {
                            c == d
                                && there.entry(*mine).or_insert(*theirs) == theirs
                                && back.entry(*theirs).or_insert(*mine) == mine
                        })
                }
                (mine, theirs) => mine == theirs,
            })
    }

    /// Every term, in the order in which they were made.
    pub fn all(&self) -> impl Iterator<Item = &Term> {
        self.table.iter()
    }

    /// Always.
    pub fn yes(&self) -> TermId {
        TermId(1)
    }

    /// Never.
    pub fn no(&self) -> TermId {
        TermId(0)
    }

    /// A constant.
    pub fn constant(&self, value: bool) -> TermId {
        if value { self.yes() } else { self.no() }
    }

    /// A variable.
    pub fn var(&mut self, var: Var) -> TermId {
        self.intern(Term::Var(var))
    }

    /// A yes/no choice.
    pub fn fact(&mut self, choice: FactChoice) -> TermId {
        self.var(Var::Fact(choice))
    }

    /// Not `a`.
    pub fn not(&mut self, a: TermId) -> TermId {
        match self.get(a) {
            Term::Constant(value) => self.constant(!value),
            Term::Not(inner) => *inner,
            _ => self.intern(Term::Not(a)),
        }
    }

    /// All of `parts`; yes if there are none.
    pub fn and(&mut self, parts: impl IntoIterator<Item = TermId>) -> TermId {
        self.join(parts, true)
    }

    /// Any of `parts`; no if there are none.
    pub fn or(&mut self, parts: impl IntoIterator<Item = TermId>) -> TermId {
        self.join(parts, false)
    }

    /// `a` and `b`.
    pub fn both(&mut self, a: TermId, b: TermId) -> TermId {
        self.and([a, b])
    }

    /// `a` or `b`.
    pub fn either(&mut self, a: TermId, b: TermId) -> TermId {
        self.or([a, b])
    }

    /// And (`all`) or Or: flattens, sorts, drops the neutral constant, and meets a part with its opposite.
    fn join(&mut self, parts: impl IntoIterator<Item = TermId>, all: bool) -> TermId {
        let (neutral, absorbing) = (self.constant(all), self.constant(!all));
        let mut flat = Vec::new();
        for part in parts {
            match self.get(part) {
                Term::And(inner) if all => flat.extend(inner.iter().copied()),
                Term::Or(inner) if !all => flat.extend(inner.iter().copied()),
                _ => flat.push(part),
            }
        }
        flat.retain(|part| *part != neutral);
        flat.sort_unstable();
        flat.dedup();
        let opposed = |terms: &Terms, part: &TermId| match terms.get(*part) {
            Term::Not(inner) => flat.binary_search(inner).is_ok(),
            _ => false,
        };
        if flat.contains(&absorbing) || flat.iter().any(|part| opposed(self, part)) {
            return absorbing;
        }
        match flat.as_slice() {
            [] => neutral,
            [one] => *one,
            _ if all => self.intern(Term::And(flat)),
            _ => self.intern(Term::Or(flat)),
        }
    }

    /// `then` if `condition`, else `other`.
    pub fn choose(&mut self, condition: TermId, then: TermId, other: TermId) -> TermId {
        if then == other {
            return then;
        }
        let not = self.not(condition);
        let yes = self.both(condition, then);
        let no = self.both(not, other);
        self.either(yes, no)
    }

    /// `a` only if `b`.
    pub fn implies(&mut self, a: TermId, b: TermId) -> TermId {
        let not = self.not(a);
        self.either(not, b)
    }

    /// At least `count` of `parts`, counted with their repetitions.
    pub fn at_least(&mut self, count: usize, parts: impl IntoIterator<Item = TermId>) -> TermId {
        let mut count = count;
        let mut open = Vec::new();
        for part in parts {
            match self.get(part) {
                Term::Constant(true) => count = count.saturating_sub(1),
                Term::Constant(false) => {}
                _ => open.push(part),
            }
        }
        open.sort_unstable();
        match count {
            0 => self.yes(),
            _ if count > open.len() => self.no(),
            1 => self.or(open),
            _ if count == open.len() => self.and(open),
            _ => self.intern(Term::AtLeast(count, open)),
        }
    }

    /// Exactly one of `parts`.
    pub fn exactly_one(&mut self, parts: &[TermId]) -> TermId {
        let some = self.or(parts.iter().copied());
        let two = self.at_least(2, parts.iter().copied());
        let not_two = self.not(two);
        self.both(some, not_two)
    }

    /// Σ coefficient · number `relation` bound. Numbers that occur twice are added up; an empty sum is decided.
    pub fn compare(&mut self, sum: &[(Exact, NumberChoice)], relation: Relation, bound: &Exact) -> TermId {
        let mut total: Vec<(Exact, NumberChoice)> = Vec::new();
        for (coefficient, number) in sum {
            match total.iter_mut().find(|(_, n)| n == number) {
                Some((c, _)) => *c = &*c + coefficient,
                None => total.push((coefficient.clone(), *number)),
            }
        }
        total.retain(|(c, _)| !c.is_zero());
        total.sort_by_key(|(_, n)| *n);
        if total.is_empty() {
            return self.constant(relation.holds(&Exact::zero(), bound));
        }
        match relation {
            Relation::AtLeast => self.linear(total, true, bound.clone()),
            Relation::Above => self.linear(total, false, bound.clone()),
            // Σ < b is not (Σ ≥ b): one atom for a comparison and its opposite keeps the solver's work small.
            Relation::Below => {
                let opposite = self.linear(total, true, bound.clone());
                self.not(opposite)
            }
            Relation::AtMost => {
                let opposite = self.linear(total, false, bound.clone());
                self.not(opposite)
            }
            Relation::Equal => {
                let low = self.linear(total.clone(), true, bound.clone());
                let above = self.linear(total, false, bound.clone());
                let not_above = self.not(above);
                self.both(low, not_above)
            }
            Relation::Differs => {
                let equal = self.compare(&total, Relation::Equal, bound);
                self.not(equal)
            }
        }
    }

    /// Divides by the size of the first coefficient, so that scaled copies of a comparison are one term.
    fn linear(&mut self, sum: Vec<(Exact, NumberChoice)>, inclusive: bool, bound: Exact) -> TermId {
        let Some(scale) = sum.first().map(|(c, _)| c.abs()) else {
            return self.constant(if inclusive { bound <= Exact::zero() } else { bound < Exact::zero() });
        };
        let by = |x: &Exact| x.checked_div(&scale).unwrap_or_else(|| x.clone());
        let sum = sum.iter().map(|(c, n)| (by(c), *n)).collect();
        self.intern(Term::Linear(Linear { sum, inclusive, bound: by(&bound) }))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;
    use crate::model::{ConditionId, Id, QuantityId};

    fn fact(terms: &mut Terms, n: usize) -> TermId {
        terms.fact(FactChoice::Condition(ConditionId::from_index(n)))
    }

    #[test]
    fn a_part_meets_its_opposite() {
        let mut t = Terms::default();
        let a = fact(&mut t, 0);
        let not_a = t.not(a);
        assert_eq!(t.both(a, not_a), t.no());
        assert_eq!(t.either(a, not_a), t.yes());
        assert_eq!(t.not(not_a), a);
    }

    #[test]
    fn votes_at_the_edges_become_and_or_and_constants() {
        let mut t = Terms::default();
        let parts = [fact(&mut t, 0), fact(&mut t, 1), fact(&mut t, 2)];
        assert_eq!(t.at_least(1, parts), t.clone().or(parts));
        assert_eq!(t.at_least(3, parts), t.clone().and(parts));
        assert_eq!(t.at_least(0, parts), t.yes());
        assert_eq!(t.at_least(4, parts), t.no());
        let yes = t.yes();
        assert_eq!(t.at_least(2, [yes, parts[0], parts[1]]), t.clone().or([parts[0], parts[1]]));
    }

    #[test]
    fn equal_comparisons_are_one_term_whatever_their_scale() {
        let mut t = Terms::default();
        let q = NumberChoice::Quantity(QuantityId::from_index(0));
        let a = t.compare(&[(Exact::int(2), q)], Relation::AtLeast, &Exact::int(10));
        let b = t.compare(&[(Exact::int(1), q)], Relation::AtLeast, &Exact::int(5));
        assert_eq!(a, b);
        let below = t.compare(&[(Exact::int(1), q)], Relation::Below, &Exact::int(5));
        assert_eq!(t.not(below), a);
        assert_eq!(
            t.compare(&[(Exact::int(1), q), (Exact::int(-1), q)], Relation::AtLeast, &Exact::zero()),
            t.yes()
        );
    }

    #[test]
    fn tables_are_alike_if_only_names_differ() {
        // (fact n AND q >= bound) OR fact n + 1, with q + r >= 1 beside it.
        let table = |n: usize, q: usize, r: usize, bound: i64| {
            let mut t = Terms::default();
            let (a, b) = (fact(&mut t, n), fact(&mut t, n + 1));
            let [q, r] = [q, r].map(|n| NumberChoice::Quantity(QuantityId::from_index(n)));
            let one = Exact::int(1);
            let above = t.compare(&[(one.clone(), q)], Relation::AtLeast, &Exact::int(bound));
            let both = t.both(a, above);
            t.either(both, b);
            t.compare(&[(one.clone(), q), (one.clone(), r)], Relation::AtLeast, &one);
            t
        };
        let first = table(0, 0, 1, 5);
        assert!(first.alike(&first));
        assert!(first.alike(&table(7, 3, 4, 5)), "other names");
        assert!(!first.same(&table(7, 3, 4, 5)));
        assert!(!first.alike(&table(0, 0, 1, 6)), "another bound");
        // Two numbers of one table never stand for one of the other.
        let mut apart = Terms::default();
        let mut joined = Terms::default();
        for (terms, second) in [(&mut apart, 1), (&mut joined, 0)] {
            for (n, bound) in [(0, 1), (second, 2)] {
                let number = NumberChoice::Quantity(QuantityId::from_index(n));
                terms.compare(&[(Exact::int(1), number)], Relation::AtLeast, &Exact::int(bound));
            }
        }
        assert!(!apart.alike(&joined) && !joined.alike(&apart));
        let mut shorter = Terms::default();
        fact(&mut shorter, 0);
        assert!(!first.alike(&shorter));
    }
}
