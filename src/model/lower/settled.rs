//! Refuses what says nothing: a safe state, an exclusion or an invariant that is true, or false, whatever the devices do.
//!
//! A claim about it would be proved without looking at the plant.

use super::Lowering;
use crate::model::{AtPosition, Device, Tree};
use crate::problem::Problem;
use crate::syntax::leaf::Scalar;

impl Lowering<'_> {
    /// A safe state that every position satisfies, or none.
    pub(super) fn safe_state_says_something(&mut self, tree: &Tree<AtPosition>, leaf: &Scalar) {
        match self.whatever_they_do(tree) {
            Some(true) => self.says_nothing(
                leaf,
                "the safe state is reached wherever its devices are, so that nothing would ever have to act".into(),
                "name only the positions that avert the hazard",
            ),
            Some(false) => self.says_nothing(
                leaf,
                "no positions of its devices satisfy the safe state".into(),
                "a device has one position at a time: join positions of one device with OR, or name the device that is \
                 meant",
            ),
            None => {}
        }
    }

    /// An exclusion that never holds, or always.
    pub(super) fn exclusion_says_something(&mut self, tree: &Tree<AtPosition>, leaf: &Scalar) {
        match self.whatever_they_do(tree) {
            Some(false) => self.says_nothing(
                leaf,
                "its devices can never be in this combination, so that nothing is excluded".into(),
                "name positions that the devices can have together; a device has one position at a time",
            ),
            Some(true) => self.says_nothing(
                leaf,
                "its devices are always in this combination, so that everything is excluded".into(),
                "name only the positions that must not occur together",
            ),
            None => {}
        }
    }

    /// An invariant that nothing can begin, or whose end is true whatever is demanded, or follows from its beginning. Demands
    /// for two positions of one actuator can stand at once, so each is taken by itself.
    pub(super) fn invariant_says_something(
        &mut self,
        (whenever, begins): (&Tree<AtPosition>, &Scalar),
        (then, ends): (&Tree<AtPosition>, &Scalar),
    ) {
        let follows = Tree::Or(vec![Tree::Not(Box::new(whenever.clone())), then.clone()]);
        if whatever_is_demanded(whenever) == Some(false) {
            self.says_nothing(begins, "no demands can be so".into(), "name demands that can stand at once");
        } else if whatever_is_demanded(then) == Some(true) {
            self.says_nothing(
                ends,
                "this is true whatever is demanded".into(),
                "name what has to be demanded when the rule begins",
            );
        } else if whatever_is_demanded(&follows) == Some(true) {
            self.says_nothing(
                ends,
                "this follows from `whenever` whatever is demanded".into(),
                "name under `then` what has to be demanded besides",
            );
        }
    }

    /// The value of a combination, if it has only one wherever its devices are.
    fn whatever_they_do(&self, tree: &Tree<AtPosition>) -> Option<bool> {
        let mut devices: Vec<Device> = tree.atoms().into_iter().map(|at| at.device).collect();
        devices.sort();
        devices.dedup();
        let positions: Option<Vec<usize>> =
            devices.iter().map(|device| self.known_positions(*device).map(|known| known.len())).collect();
        let variable = |at: &AtPosition| (devices.binary_search(&at.device).unwrap_or_default(), at.position);
        only_value(tree, &positions?, &variable)
    }

    fn says_nothing(&mut self, leaf: &Scalar, message: String, help: &str) {
        self.report(Problem::new("says-nothing", leaf.span, message, "decides nothing").help(help));
    }
}

/// The value of a combination of demands, if it has only one whatever is demanded.
fn whatever_is_demanded(tree: &Tree<AtPosition>) -> Option<bool> {
    let mut demands: Vec<AtPosition> = tree.atoms().into_iter().copied().collect();
    demands.sort();
    demands.dedup();
    let variable = |at: &AtPosition| (demands.binary_search(at).unwrap_or_default(), 1);
    only_value(tree, &vec![2; demands.len()], &variable)
}

/// Most combinations that are tried.
const MOST_STEPS: usize = 50_000;

/// The value of a combination, if it has only one. Variable `v` has the values `0 .. values[v]`; `variable` says of an
/// atom on which variable it depends, and for which value of it the atom is true.
///
/// Goes through the values of one variable after the other, leaves out what is settled before, and ends as soon as both
/// values were seen: what is not settled costs little, and only a combination that says nothing is gone through whole. One
/// that takes more than [`MOST_STEPS`] is taken to say something: the claims about it are decided all the same.
fn only_value<A>(tree: &Tree<A>, values: &[usize], variable: &impl Fn(&A) -> (usize, usize)) -> Option<bool> {
    let mut search = Search { tree, values, variable, chosen: Vec::new(), seen: [false, false], steps: 0 };
    search.go();
    match (search.steps > MOST_STEPS, search.seen) {
        (false, [false, true]) => Some(true),
        (false, [true, false]) => Some(false),
        _ => None,
    }
}

struct Search<'t, A, V> {
    tree: &'t Tree<A>,
    values: &'t [usize],
    variable: &'t V,
    /// The values of the first variables.
    chosen: Vec<usize>,
    /// Whether false and true were seen.
    seen: [bool; 2],
    steps: usize,
}

impl<A, V: Fn(&A) -> (usize, usize)> Search<'_, A, V> {
    fn go(&mut self) {
        self.steps += 1;
        let known = |atom: &A| {
            let (of, value) = (self.variable)(atom);
            self.chosen.get(of).map(|chosen| *chosen == value)
        };
        if let Some(value) = self.tree.settled(&known) {
            let [no, yes] = self.seen;
            self.seen = [no || !value, yes || value];
            return;
        }
        for value in 0..self.values.get(self.chosen.len()).copied().unwrap_or_default() {
            if self.seen == [true, true] || self.steps > MOST_STEPS {
                return;
            }
            self.chosen.push(value);
            self.go();
            self.chosen.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn atom(variable: usize, value: usize) -> Tree<(usize, usize)> {
        Tree::Atom((variable, value))
    }

    fn only(tree: &Tree<(usize, usize)>, values: &[usize]) -> Option<bool> {
        only_value(tree, values, &|atom| *atom)
    }

    #[test]
    fn every_position_or_none_is_one_value() {
        let both = vec![atom(0, 0), atom(0, 1)];
        assert_eq!(only(&Tree::Or(both.clone()), &[2]), Some(true));
        assert_eq!(only(&Tree::Or(both.clone()), &[3]), None);
        assert_eq!(only(&Tree::And(both), &[2]), Some(false));
        assert_eq!(only(&atom(0, 0), &[1]), Some(true));
    }

    #[test]
    fn votes_and_not_are_gone_through() {
        let three = vec![atom(0, 0), atom(1, 0), atom(2, 0)];
        assert_eq!(only(&Tree::Vote { m: 2, of: three.clone() }, &[2, 2, 2]), None);
        // Of three devices with two positions, two are alike.
        let not = |at: &Tree<(usize, usize)>| Tree::Not(Box::new(at.clone()));
        let others: Vec<_> = three.iter().map(not).collect();
        let alike =
            Tree::Or(vec![Tree::Vote { m: 2, of: three.clone() }, Tree::Vote { m: 2, of: others.clone() }]);
        assert_eq!(only(&alike, &[2, 2, 2]), Some(true));
        assert_eq!(
            only(&Tree::And(vec![Tree::And(three), Tree::Vote { m: 1, of: others }]), &[2, 2, 2]),
            Some(false)
        );
    }

    #[test]
    fn a_large_vote_that_says_something_is_settled_soon() {
        let many: Vec<_> = (0..60).map(|number| atom(number, 0)).collect();
        assert_eq!(only(&Tree::Vote { m: 30, of: many.clone() }, &[2; 60]), None);
        // Of sixty devices thirty are here or more than thirty are not: this says nothing, and is too large to be seen.
        let others: Vec<_> = (0..60).map(|number| atom(number, 1)).collect();
        let alike = Tree::Or(vec![Tree::Vote { m: 30, of: many }, Tree::Vote { m: 31, of: others }]);
        assert_eq!(only(&alike, &[2; 60]), None);
    }
}
