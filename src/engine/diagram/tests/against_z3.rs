//! Random questions: both engines answer alike, and what the diagrams read off is what was asked.

use proptest::prelude::*;

use super::*;
use crate::engine::Question;
use crate::engine::smt::Smt;

/// How a random term is put together; numbers choose among what there is.
#[derive(Debug, Clone)]
enum Plan {
    Fact(usize),
    /// Coefficients of three numbers, a relation, and a bound.
    Compare([i64; 3], u8, i64),
    Not(Box<Plan>),
    And(Vec<Plan>),
    Or(Vec<Plan>),
    Vote(usize, Vec<Plan>),
    One(Vec<usize>),
    Choose(Box<Plan>, Box<Plan>, Box<Plan>),
}

const FACTS: usize = 7;

fn plan() -> impl Strategy<Value = Plan> {
    // Single numbers mostly, as in plants; sometimes sums.
    let factor = prop_oneof![4 => Just(0i64), 2 => Just(1), 1 => Just(-1), 1 => -3i64..=3];
    let leaf = prop_oneof![
        3 => (0..FACTS).prop_map(Plan::Fact),
        4 => ([factor.clone(), factor.clone(), factor], 0u8..6, -4i64..=4)
            .prop_map(|(sum, relation, bound)| Plan::Compare(sum, relation, bound)),
        1 => prop::collection::vec(0..FACTS, 2..4).prop_map(Plan::One),
    ];
    leaf.prop_recursive(4, 24, 4, |inner| {
        let some = prop::collection::vec(inner.clone(), 1..4);
        let one = || inner.clone().prop_map(Box::new);
        prop_oneof![
            one().prop_map(Plan::Not),
            some.clone().prop_map(Plan::And),
            some.clone().prop_map(Plan::Or),
            (1usize..4, some).prop_map(|(count, parts)| Plan::Vote(count, parts)),
            (one(), one(), one()).prop_map(|(a, b, c)| Plan::Choose(a, b, c)),
        ]
    })
}

fn term(terms: &mut Terms, plan: &Plan) -> TermId {
    let many = |terms: &mut Terms, parts: &[Plan]| -> Vec<TermId> {
        parts.iter().map(|part| term(terms, part)).collect()
    };
    match plan {
        Plan::Fact(n) => fact(terms, *n),
        Plan::Compare(sum, relation, bound) => {
            let sum: Vec<(Exact, NumberChoice)> =
                sum.iter().enumerate().map(|(n, c)| (Exact::int(*c), q(n))).collect();
            let relation = match relation {
                0 => Relation::AtLeast,
                1 => Relation::Above,
                2 => Relation::AtMost,
                3 => Relation::Below,
                4 => Relation::Equal,
                _ => Relation::Differs,
            };
            terms.compare(&sum, relation, &Exact::int(*bound))
        }
        Plan::Not(part) => {
            let part = term(terms, part);
            terms.not(part)
        }
        Plan::And(parts) => {
            let parts = many(terms, parts);
            terms.and(parts)
        }
        Plan::Or(parts) => {
            let parts = many(terms, parts);
            terms.or(parts)
        }
        Plan::Vote(count, parts) => {
            let parts = many(terms, parts);
            terms.at_least(*count, parts)
        }
        Plan::One(facts) => {
            let facts: BTreeSet<usize> = facts.iter().copied().collect();
            let facts: Vec<TermId> = facts.into_iter().map(|n| fact(terms, n)).collect();
            terms.exactly_one(&facts)
        }
        Plan::Choose(a, b, c) => {
            let [a, b, c] = [a, b, c].map(|part| term(terms, part));
            terms.choose(a, b, c)
        }
    }
}

/// Asks both, reads the diagrams' situation, and has their conflict confirmed.
fn alike(
    terms: &Terms,
    diagrams: &mut dyn Question,
    z3: &mut dyn Question,
    given: &[TermId],
) -> Result<(), TestCaseError> {
    let (ours, theirs) = (diagrams.ask(terms, given).unwrap(), z3.ask(terms, given).unwrap());
    if let Answer::Undecided(_) = ours {
        // The bound is small here, and saying so is right.
        return Ok(());
    }
    prop_assert_eq!(&ours, &theirs);
    match ours {
        // Reading fails if the situation does not do what was asked.
        Answer::Exists => prop_assert_eq!(diagrams.keep(terms), Ok(())),
        Answer::None => {
            let conflict = diagrams.conflict(terms);
            prop_assert!(conflict.iter().all(|id| given.contains(id)));
            prop_assert_eq!(z3.ask(terms, &conflict).unwrap(), Answer::None, "the conflict does not suffice");
        }
        other => prop_assert!(false, "{:?}", other),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_questions_are_answered_as_by_z3(
        possible in prop::collection::vec(plan(), 1..5),
        asked in prop::collection::vec(plan(), 1..4),
        kept in 0..FACTS,
        assumed in prop::collection::vec(any::<bool>(), FACTS),
        ranges in any::<[bool; 3]>(),
    ) {
        let mut terms = Terms::default();
        let mut possible: Vec<TermId> = possible.iter().map(|plan| term(&mut terms, plan)).collect();
        for (n, _) in ranges.iter().enumerate().filter(|(_, ranged)| **ranged) {
            for (relation, bound) in [(Relation::AtLeast, -5), (Relation::AtMost, 5)] {
                possible.push(terms.compare(&[(Exact::int(1), q(n))], relation, &Exact::int(bound)));
            }
        }
        let asked: Vec<TermId> = asked.iter().map(|plan| term(&mut terms, plan)).collect();
        let parameters: Vec<TermId> = (0..kept).map(|n| fact(&mut terms, n)).collect();
        let literals: Vec<TermId> = parameters
            .iter()
            .zip(&assumed)
            .map(|(id, value)| if *value { *id } else { terms.not(*id) })
            .collect();
        let mut diagrams = Diagram::new(NODES).open(&terms, &possible, &parameters).unwrap();
        let mut z3 = Smt::new(10_000_000).unwrap().open(&terms, &possible, &parameters).unwrap();
        let (ours, theirs) = (diagrams.as_mut(), z3.as_mut());
        alike(&terms, ours, theirs, &[])?;
        alike(&terms, ours, theirs, &literals)?;
        for one in &asked {
            alike(&terms, ours, theirs, &[*one])?;
            let mut given = literals.clone();
            given.push(*one);
            alike(&terms, ours, theirs, &given)?;
        }
        ours.push();
        theirs.push();
        ours.require(&terms, asked[0]).unwrap();
        theirs.require(&terms, asked[0]).unwrap();
        alike(&terms, ours, theirs, &literals)?;
        ours.pop();
        theirs.pop();
        alike(&terms, ours, theirs, &asked)?;
    }
}
