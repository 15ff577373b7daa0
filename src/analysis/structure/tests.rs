#![allow(clippy::unwrap_used, clippy::indexing_slicing)]
//! Against trying every state, and against published structures.

use super::*;
use num_bigint::BigUint;
use proptest::prelude::*;

fn set(sources: &[usize]) -> BTreeSet<usize> {
    sources.iter().copied().collect()
}

fn subsets(n: usize) -> impl Iterator<Item = BTreeSet<usize>> {
    (0..1usize << n).map(move |bits| (0..n).filter(|source| bits >> source & 1 == 1).collect())
}

fn minimal(n: usize, holds: impl Fn(&BTreeSet<usize>) -> bool) -> BTreeSet<BTreeSet<usize>> {
    let all: Vec<BTreeSet<usize>> = subsets(n).filter(|one| holds(one)).collect();
    all.iter().filter(|one| !all.iter().any(|other| other != *one && other.is_subset(one))).cloned().collect()
}

fn listed(family: &Family, n: usize) -> Vec<BTreeSet<usize>> {
    let (sets, all) = family.up_to(n, usize::MAX);
    assert!(all);
    sets
}

/// Everything that a structure tells, against trying every state.
fn agrees(n: usize, structure: &Structure, defeated: impl Fn(&BTreeSet<usize>) -> bool) {
    for faulty in subsets(n) {
        assert_eq!(structure.defeated(&faulty), defeated(&faulty), "{faulty:?}");
    }
    let all: BTreeSet<usize> = (0..n).collect();
    let cuts = minimal(n, &defeated);
    let paths = minimal(n, |path| !defeated(&all.difference(path).copied().collect()));
    let (families, tried) = ([structure.cut_sets(), structure.path_sets()], [&cuts, &paths]);
    for (family, tried) in families.iter().zip(tried) {
        let sets = listed(family, n);
        assert!(sets.windows(2).all(|pair| pair[0].len() <= pair[1].len()));
        assert_eq!(sets.len(), tried.len(), "each once");
        assert_eq!(&sets.into_iter().collect::<BTreeSet<_>>(), tried);
        let count = |fits: &dyn Fn(&BTreeSet<usize>) -> bool, size: usize| {
            BigUint::from(tried.iter().filter(|one| one.len() == size && fits(one)).count())
        };
        let at = |sizes: &[BigUint], size: usize| sizes.get(size).cloned().unwrap_or_default();
        let (sizes, each) = (family.sizes(), family.sizes_with_each());
        for size in 0..=n {
            assert_eq!(at(&sizes, size), count(&|_| true, size));
            for (source, sizes) in each.iter().enumerate() {
                assert_eq!(at(sizes, size), count(&|one| one.contains(&source), size));
            }
        }
    }
    for (source, importance) in structure.importance().into_iter().enumerate() {
        let critical = subsets(n)
            .filter(|faulty| !faulty.contains(&source))
            .filter(|faulty| {
                let mut more = faulty.clone();
                more.insert(source);
                defeated(&more) != defeated(faulty)
            })
            .count();
        assert_eq!(importance, Exact::ratio(critical as i64, 1 << (n - 1)).unwrap());
    }
    match structure.disjoint_paths().unwrap() {
        None => assert!(cuts.is_empty()),
        Some(found) => {
            for (number, path) in found.iter().enumerate() {
                assert!(paths.contains(path));
                assert!(found[number + 1..].iter().all(|other| other.is_disjoint(path)));
            }
            assert_eq!(found.len(), most_disjoint(&paths.iter().collect::<Vec<_>>()));
            let smallest = cuts.iter().map(BTreeSet::len).min().unwrap();
            assert!(found.len() <= smallest, "DP is at most FT + 1");
        }
    }
}

/// The largest number of sets that share nothing, by trying.
fn most_disjoint(sets: &[&BTreeSet<usize>]) -> usize {
    match sets.split_first() {
        None => 0,
        Some((first, others)) => {
            let apart: Vec<&BTreeSet<usize>> =
                others.iter().copied().filter(|other| other.is_disjoint(first)).collect();
            most_disjoint(others).max(1 + most_disjoint(&apart))
        }
    }
}

proptest! {
    #[test]
    fn a_function_of_cut_sets_is_what_trying_every_state_gives(
        cuts in proptest::collection::vec(proptest::collection::btree_set(0usize..7, 0..5), 0..7)
    ) {
        let structure = Structure::of_cut_sets(7, &cuts);
        agrees(7, &structure, |faulty| cuts.iter().any(|cut| cut.is_subset(faulty)));
    }

    #[test]
    fn the_least_monotone_function_is_taken(states in proptest::collection::btree_set(0usize..32, 0..6)) {
        // A diagram of exactly these states of five sources, most of which are not monotone.
        let mut nodes = Vec::new();
        let root = exactly(&states.iter().copied().collect::<Vec<_>>(), 0, &mut nodes);
        let structure = Structure::above(5, &nodes, root).unwrap();
        let of = |bits: usize| -> BTreeSet<usize> { (0..5).filter(|source| bits >> source & 1 == 1).collect() };
        agrees(5, &structure, |faulty| states.iter().any(|state| of(*state).is_subset(faulty)));
    }
}

/// A decision tree: true in exactly these states.
fn exactly(states: &[usize], variable: usize, nodes: &mut Vec<Node>) -> usize {
    if states.is_empty() || variable == 5 {
        return usize::from(!states.is_empty());
    }
    let (with, without): (Vec<usize>, Vec<usize>) =
        states.iter().copied().partition(|state| state >> variable & 1 == 1);
    let with = exactly(&with, variable + 1, nodes);
    let without = exactly(&without, variable + 1, nodes);
    nodes.push(Node { variable, without, with });
    nodes.len() + 1
}

#[test]
fn what_is_no_diagram_is_refused() {
    let node = |variable, without, with| Node { variable, without, with };
    assert!(Structure::above(2, &[node(0, 0, 1)], 2).is_some());
    // A source that there is none of, a child that comes later, one that asks an earlier source, a root that is missing.
    assert!(Structure::above(2, &[node(2, 0, 1)], 2).is_none());
    assert!(Structure::above(2, &[node(0, 0, 3), node(1, 0, 1)], 2).is_none());
    assert!(Structure::above(2, &[node(0, 0, 1), node(1, 0, 2)], 3).is_none());
    assert!(Structure::above(2, &[node(0, 0, 1)], 3).is_none());
}

#[test]
fn constants_have_the_sets_that_their_definitions_give() {
    let never = Structure::of_cut_sets(3, &[]);
    assert!(never.never() && !never.needs_no_fault());
    assert!(listed(&never.cut_sets(), 3).is_empty());
    assert_eq!(listed(&never.path_sets(), 3), [set(&[])]);
    assert_eq!(never.disjoint_paths(), Ok(None));
    let always = Structure::of_cut_sets(3, &[set(&[])]);
    assert!(always.needs_no_fault());
    assert_eq!(listed(&always.cut_sets(), 3), [set(&[])]);
    assert!(listed(&always.path_sets(), 3).is_empty());
    assert_eq!(always.disjoint_paths(), Ok(Some(Vec::new())));
}

#[test]
fn lists_end_where_they_are_told_to() {
    let pairs: Vec<BTreeSet<usize>> =
        (0..6).flat_map(|a| (a + 1..6).map(move |b| BTreeSet::from([a, b]))).collect();
    let structure = Structure::of_cut_sets(6, &pairs);
    let (some, all) = structure.cut_sets().up_to(6, 10);
    assert_eq!((some.len(), all), (10, false));
    let (none, all) = structure.cut_sets().up_to(1, 10);
    assert_eq!((none.len(), all), (0, true));
}

#[test]
fn functions_are_compared_as_functions() {
    let once = Structure::of_cut_sets(3, &[set(&[0]), set(&[1, 2])]);
    let again = Structure::of_cut_sets(3, &[set(&[1, 2]), set(&[0, 1]), set(&[0])]);
    assert!(once.equals(&again));
    assert!(!once.equals(&Structure::of_cut_sets(3, &[set(&[0])])));
    assert!(once.dual().dual().equals(&once));
}
