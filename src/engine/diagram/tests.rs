//! The laws of diagrams, elimination worked by hand, and the engine against Z3 on random terms.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod against_z3;

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashMap;

use super::Diagram;
use super::bdd::{Diagrams, Edge, Full, Level};
use super::linear::{Atoms, Found, Sign};
use crate::engine::{Answer, Engine};
use crate::exact::Exact;
use crate::model::{ConditionId, Id, QuantityId, Relation};
use crate::situation::{FactChoice, NumberChoice};
use crate::term::{Linear, TermId, Terms};

const NODES: usize = 100_000;

/// Every function of three variables by its truth table, one bit for each of the eight rows.
fn of_table(diagrams: &mut Diagrams, table: u8) -> Edge {
    let mut any = Edge::FALSE;
    for row in 0..8u32 {
        if table >> row & 1 == 1 {
            let mut all = Edge::TRUE;
            for level in 0..3 {
                let variable = diagrams.variable(level).unwrap();
                all = diagrams.and(all, if row >> level & 1 == 1 { variable } else { !variable }).unwrap();
            }
            any = diagrams.or(any, all).unwrap();
        }
    }
    any
}

fn row(row: u32) -> FxHashMap<Level, bool> {
    (0..3).map(|level| (level, row >> level & 1 == 1)).collect()
}

fn table_of(diagrams: &Diagrams, edge: Edge) -> u8 {
    (0..8).filter(|r| diagrams.possible(edge, &row(*r))).map(|r| 1u8 << r).sum()
}

#[test]
fn every_operation_on_three_variables_gives_its_truth_table() {
    let mut diagrams = Diagrams::new(NODES);
    let all: Vec<Edge> = (0..=255).map(|table| of_table(&mut diagrams, table)).collect();
    let distinct: BTreeSet<Edge> = all.iter().copied().collect();
    assert_eq!(distinct.len(), 256, "equal functions are equal edges, and no others");
    let cube = diagrams.cube(&[1]).unwrap();
    for a in 0..=255u8 {
        assert_eq!(table_of(&diagrams, all[a as usize]), a);
        assert_eq!(!all[a as usize], all[!a as usize]);
        let without = diagrams.and_without(all[a as usize], Edge::TRUE, cube).unwrap();
        let (low, high) = (a & 0b0011_0011, a & 0b1100_1100);
        assert_eq!(
            table_of(&diagrams, without),
            low | low << 2 | high | high >> 2,
            "{a:08b} without the second"
        );
        for b in (0..=255u8).step_by(7) {
            let (x, y) = (all[a as usize], all[b as usize]);
            assert_eq!(diagrams.and(x, y).unwrap(), all[(a & b) as usize]);
            assert_eq!(diagrams.or(x, y).unwrap(), all[(a | b) as usize]);
            let both = diagrams.and(x, y).unwrap();
            let slowly = diagrams.and_without(both, Edge::TRUE, cube).unwrap();
            assert_eq!(diagrams.and_without(x, y, cube).unwrap(), slowly);
            let c = all[(a ^ 0b1010_0110) as usize];
            let chosen = diagrams.choose(x, y, c).unwrap();
            assert_eq!(table_of(&diagrams, chosen), (a & b) | (!a & (a ^ 0b1010_0110)));
        }
        let fixed: FxHashMap<Level, bool> = [(0, true)].into_iter().collect();
        let left = diagrams.restrict(all[a as usize], &fixed).unwrap();
        let odd = a & 0b1010_1010;
        assert_eq!(table_of(&diagrams, left), odd | odd >> 1);
    }
}

#[test]
fn a_vote_counts_with_repetitions() {
    let mut diagrams = Diagrams::new(NODES);
    let x: Vec<Edge> = (0..3).map(|level| diagrams.variable(level).unwrap()).collect();
    let edges = [x[0], x[0], x[1], !x[2]];
    for count in 0..=5 {
        let vote = diagrams.at_least(count, &edges).unwrap();
        for r in 0..8u32 {
            let bit = |n: u32| (r >> n & 1) as usize;
            let true_ones = 2 * bit(0) + bit(1) + (1 - bit(2));
            assert_eq!(diagrams.possible(vote, &row(r)), true_ones >= count, "{count} of row {r}");
        }
    }
}

#[test]
fn a_full_table_says_so() {
    let mut diagrams = Diagrams::new(4);
    let x: Vec<Edge> = (0..3).filter_map(|level| diagrams.variable(level).ok()).collect();
    assert_eq!(x.len(), 3);
    assert_eq!(diagrams.and(x[0], x[1]), Err(Full));
}

#[test]
fn a_situation_is_picked_with_as_few_true_as_its_way_allows() {
    let mut diagrams = Diagrams::new(NODES);
    let x: Vec<Edge> = (0..3).map(|level| diagrams.variable(level).unwrap()).collect();
    let either = diagrams.or(x[0], x[2]).unwrap();
    let mut fixed = FxHashMap::default();
    assert!(diagrams.pick(either, &mut fixed));
    assert_eq!((fixed.get(&0), fixed.get(&2)), (Some(&false), Some(&true)));
    assert!(!diagrams.pick(Edge::FALSE, &mut fixed));
}

fn q(n: usize) -> NumberChoice {
    NumberChoice::Quantity(QuantityId::from_index(n))
}

/// Σ ≥ bound (or >) over quantities by their numbers.
fn sign(atoms: &mut Atoms, sum: &[(i64, usize)], inclusive: bool, bound: i64) -> Sign {
    let sum = sum.iter().map(|(c, n)| (Exact::int(*c), q(*n))).collect();
    atoms.sign(&Linear { sum, inclusive, bound: Exact::int(bound) }, &BTreeMap::new()).unwrap()
}

/// Whether these comparisons can have these signs together.
fn together(atoms: &mut Atoms, signs: &[Sign]) -> bool {
    let decided: BTreeMap<usize, bool> = signs.iter().copied().collect();
    let all: BTreeSet<usize> = decided.keys().copied().collect();
    match atoms.eliminate(&all, &decided, 10_000) {
        Found::Contradiction => false,
        Found::Numbers(numbers, _) => {
            assert!(numbers.iter().all(|n| n.clauses.is_empty()), "nothing is left open");
            true
        }
        Found::TooMany => panic!("too many"),
    }
}

#[test]
fn open_and_closed_ends_are_told_apart() {
    let mut atoms = Atoms::default();
    let from_5 = sign(&mut atoms, &[(1, 0)], true, 5);
    let above_5 = sign(&mut atoms, &[(1, 0)], false, 5);
    let not = |sign: Sign| (sign.0, !sign.1);
    assert!(together(&mut atoms, &[from_5, not(above_5)]), "q = 5");
    assert!(!together(&mut atoms, &[above_5, not(from_5)]));
    assert!(together(&mut atoms, &[from_5, above_5]));
    // −q ≥ −5 is not q > 5.
    assert_eq!(sign(&mut atoms, &[(-1, 0)], true, -5), not(above_5));
    assert_eq!(sign(&mut atoms, &[(-2, 0)], false, -10), not(from_5));
}

#[test]
fn two_numbers_are_eliminated_as_by_hand() {
    let not = |sign: Sign| (sign.0, !sign.1);
    let mut atoms = Atoms::default();
    // q + e ≥ 60 with −2 ≤ e ≤ 2 needs q ≥ 58, and not q + e ≥ 60 needs q < 62.
    let trips = sign(&mut atoms, &[(1, 0), (1, 1)], true, 60);
    let error = [sign(&mut atoms, &[(1, 1)], true, -2), sign(&mut atoms, &[(-1, 1)], true, -2)];
    let at_58 = sign(&mut atoms, &[(1, 0)], true, 58);
    let at_62 = sign(&mut atoms, &[(1, 0)], true, 62);
    let with = |signs: &[Sign]| [signs, &error[..]].concat();
    assert!(together(&mut atoms, &with(&[trips, at_58, not(at_62)])));
    assert!(!together(&mut atoms, &with(&[trips, not(at_58)])));
    assert!(!together(&mut atoms, &with(&[not(trips), at_62])));
    // q0 − q1 ≤ 5, q1 ≤ 3, q0 > 8 cannot be; q0 ≥ 8 can.
    let coupling = not(sign(&mut atoms, &[(1, 0), (-1, 1)], false, 5));
    let low = not(sign(&mut atoms, &[(1, 1)], false, 3));
    let above_8 = sign(&mut atoms, &[(1, 0)], false, 8);
    let from_8 = sign(&mut atoms, &[(1, 0)], true, 8);
    assert!(!together(&mut atoms, &[coupling, low, above_8]));
    assert!(together(&mut atoms, &[coupling, low, from_8]));
    // Three in a ring: a > b, b ≥ c, c ≥ a.
    let ring = [
        sign(&mut atoms, &[(1, 0), (-1, 1)], false, 0),
        sign(&mut atoms, &[(1, 1), (-1, 2)], true, 0),
        sign(&mut atoms, &[(1, 2), (-1, 0)], true, 0),
    ];
    assert!(!together(&mut atoms, &ring));
    assert!(together(&mut atoms, &ring[1..]));
}

#[test]
fn what_is_left_open_is_said_in_clauses() {
    let mut atoms = Atoms::default();
    let weak = sign(&mut atoms, &[(1, 0)], true, 5);
    let strong = sign(&mut atoms, &[(1, 0)], false, 5);
    let all = BTreeSet::from([weak.0, strong.0]);
    let Found::Numbers(numbers, decided) = atoms.eliminate(&all, &BTreeMap::new(), 100) else { panic!() };
    assert!(decided.is_empty());
    assert_eq!(numbers[0].clauses, [vec![(strong.0, false), (weak.0, true)]], "q > 5 only if q >= 5");
}

fn fact(terms: &mut Terms, n: usize) -> TermId {
    terms.fact(FactChoice::Condition(ConditionId::from_index(n)))
}

#[test]
fn boundaries_of_a_range_are_found_and_read() {
    let mut terms = Terms::default();
    let one = [(Exact::int(1), q(0))];
    let from = terms.compare(&one, Relation::AtLeast, &Exact::int(5));
    let to = terms.compare(&one, Relation::AtMost, &Exact::int(5));
    let above = terms.compare(&one, Relation::Above, &Exact::int(5));
    let below = terms.compare(&one, Relation::Below, &Exact::int(5));
    let differs = terms.compare(&one, Relation::Differs, &Exact::int(5));
    let mut question = Diagram::new(NODES).open(&terms, &[from, to], &[]).unwrap();
    assert_eq!(question.ask(&terms, &[]), Ok(Answer::Exists));
    question.keep(&terms).unwrap();
    assert_eq!(question.number(q(0)), Ok(Exact::int(5)));
    for impossible in [above, below, differs] {
        assert_eq!(question.ask(&terms, &[impossible]), Ok(Answer::None));
        assert!(question.keep(&terms).is_err());
    }
    let mut empty = Diagram::new(NODES).open(&terms, &[above, below], &[]).unwrap();
    assert_eq!(empty.ask(&terms, &[]), Ok(Answer::None));
}

// More of y helps the second comparison and harms the first, so it is put to neither end.
#[test]
fn a_number_that_helps_one_comparison_and_harms_another_is_left_open() {
    let mut terms = Terms::default();
    let (x, y, z) = (q(0), q(1), q(2));
    let mut required = Vec::new();
    for number in [x, y, z] {
        let one = [(Exact::int(1), number)];
        required.push(terms.compare(&one, Relation::AtLeast, &Exact::int(0)));
        required.push(terms.compare(&one, Relation::AtMost, &Exact::int(10)));
    }
    for (left, sign, right, least) in [(x, -1, y, 1), (y, 1, z, 15)] {
        let sum = [(Exact::int(1), left), (Exact::int(sign), right)];
        required.push(terms.compare(&sum, Relation::AtLeast, &Exact::int(least)));
    }
    let mut question = Diagram::new(NODES).open(&terms, &required, &[]).unwrap();
    assert_eq!(question.ask(&terms, &[]), Ok(Answer::Exists), "x = 10, y = 5, z = 10");
    question.keep(&terms).unwrap();
    let [x, y, z] = [x, y, z].map(|number| question.number(number).unwrap());
    assert!(&x - &y >= Exact::int(1) && &y + &z >= Exact::int(15));
}

#[test]
fn exactly_one_of_several_is_chosen_whatever_asks_for_it() {
    let mut terms = Terms::default();
    let modes: Vec<TermId> = (0..4).map(|n| fact(&mut terms, n)).collect();
    let one = terms.exactly_one(&modes);
    let not_first = terms.not(modes[0]);
    let later = terms.either(modes[2], modes[3]);
    let mut question = Diagram::new(NODES).open(&terms, &[one, not_first], &[]).unwrap();
    for (given, answer) in [
        (vec![], Answer::Exists),
        (vec![later], Answer::Exists),
        (vec![modes[1], modes[2]], Answer::None),
        (vec![modes[0]], Answer::None),
        (vec![modes[3]], Answer::Exists),
    ] {
        assert_eq!(question.ask(&terms, &given), Ok(answer.clone()), "{given:?}");
        if answer == Answer::Exists {
            question.keep(&terms).unwrap();
        }
    }
}

#[test]
fn the_conflict_is_small_and_suffices() {
    let mut terms = Terms::default();
    let [fault, other, free, breach] = [0, 1, 2, 3].map(|n| fact(&mut terms, n));
    let both = terms.both(fault, free);
    let rule = terms.implies(breach, both);
    let [no_fault, no_other] = [fault, other].map(|f| terms.not(f));
    let mut question = Diagram::new(NODES).open(&terms, &[rule], &[fault, other]).unwrap();
    assert_eq!(question.ask(&terms, &[breach, no_other]), Ok(Answer::Exists));
    assert_eq!(question.ask(&terms, &[breach, no_other, no_fault]), Ok(Answer::None));
    let conflict: BTreeSet<TermId> = question.conflict(&terms).into_iter().collect();
    assert_eq!(conflict, BTreeSet::from([breach, no_fault]));
    question.push();
    question.require(&terms, no_fault).unwrap();
    assert_eq!(question.ask(&terms, &[breach]), Ok(Answer::None));
    question.pop();
    assert_eq!(question.ask(&terms, &[breach]), Ok(Answer::Exists));
}

#[test]
fn a_bound_that_is_reached_is_no_answer() {
    let mut terms = Terms::default();
    let all: Vec<TermId> = (0..12).map(|n| fact(&mut terms, n)).collect();
    let vote = terms.at_least(6, all.iter().copied());
    let mut question = Diagram::new(10).open(&terms, &[vote], &all).unwrap();
    assert!(
        matches!(question.ask(&terms, &[]), Ok(Answer::Undecided(why)) if why.contains("bound of 10 nodes"))
    );
    assert!(question.keep(&terms).is_err());
}
