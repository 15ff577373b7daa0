//! Random terms against every engine: a situation that is given makes true what was asked for, what is said to be
//! impossible is impossible by trying everything, and a conflict conflicts.
//!
//! Trying everything is complete where each number is only compared by itself: then the bounds and what lies between and
//! beyond them are all that can differ. Sums of two numbers are asked for too; there only answers that exist are judged.

use std::collections::BTreeSet;

use tripproof::engine::both::Both;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::engine::{Answer, Engine, Question};
use tripproof::exact::Exact;
use tripproof::model::{ConditionId, Id, QuantityId, Relation};
use tripproof::situation::{FactChoice, NumberChoice};
use tripproof::term::{Term, TermId, Terms, Var};

use crate::random::Random;

const FACTS: usize = 5;
const NUMBERS: usize = 2;

pub fn make(random: &mut Random) -> Vec<u8> {
    (0..40 + random.below(160)).map(|_| random.below(256) as u8).collect()
}

/// Choices taken from the input, byte by byte; zero when it has ended.
struct Bytes<'i>(std::slice::Iter<'i, u8>);

impl Bytes<'_> {
    fn below(&mut self, limit: usize) -> usize {
        usize::from(self.0.next().copied().unwrap_or(0)) % limit
    }
}

/// One way in which everything may be.
#[derive(Clone, Default)]
struct Point {
    facts: Vec<bool>,
    numbers: Vec<Exact>,
}

fn fact(number: usize) -> Var {
    Var::Fact(FactChoice::Condition(ConditionId::from_index(number)))
}

fn number(number: usize) -> NumberChoice {
    NumberChoice::Quantity(QuantityId::from_index(number))
}

fn holds(terms: &Terms, id: TermId, at: &Point) -> bool {
    let all = |parts: &[TermId]| parts.iter().filter(|part| holds(terms, **part, at)).count();
    match terms.get(id) {
        Term::Constant(value) => *value,
        Term::Var(var) => (0..FACTS).any(|i| fact(i) == *var && at.facts[i]),
        Term::Not(part) => !holds(terms, *part, at),
        Term::And(parts) => all(parts) == parts.len(),
        Term::Or(parts) => all(parts) > 0,
        Term::AtLeast(count, parts) => all(parts) >= *count,
        Term::Linear(linear) => {
            let value = |choice: &NumberChoice| (0..NUMBERS).find(|i| number(*i) == *choice).unwrap();
            let sum = linear
                .sum
                .iter()
                .fold(Exact::zero(), |sum, (factor, choice)| &sum + &(factor * &at.numbers[value(choice)]));
            if linear.inclusive { sum >= linear.bound } else { sum > linear.bound }
        }
    }
}

/// Terms built one from the other, and whether any adds two numbers.
fn build(bytes: &mut Bytes<'_>, terms: &mut Terms) -> (Vec<TermId>, bool) {
    let mut stack: Vec<TermId> = (0..FACTS).map(|i| terms.var(fact(i))).collect();
    let mut sums = false;
    let relations = [
        Relation::AtLeast,
        Relation::Above,
        Relation::AtMost,
        Relation::Below,
        Relation::Equal,
        Relation::Differs,
    ];
    for _ in 0..6 + bytes.below(24) {
        let count = 1 + bytes.below(4);
        let parts: Vec<TermId> = (0..count).map(|_| stack[bytes.below(stack.len())]).collect();
        let (a, b) = (parts[0], parts[count - 1]);
        let new = match bytes.below(11) {
            0 => terms.not(a),
            1 => terms.and(parts),
            2 => terms.or(parts),
            3 => terms.at_least(bytes.below(count + 2), parts),
            4 => terms.choose(a, b, parts[count / 2]),
            5 => terms.implies(a, b),
            6 => terms.exactly_one(&parts),
            7 => {
                sums = true;
                let one = (small(bytes), number(0));
                let other = (small(bytes), number(1));
                terms.compare(&[one, other], relations[bytes.below(6)], &small(bytes))
            }
            _ => {
                let which = number(bytes.below(NUMBERS));
                terms.compare(&[(small(bytes), which)], relations[bytes.below(6)], &small(bytes))
            }
        };
        stack.push(new);
    }
    (stack, sums)
}

/// A small number, a fraction now and then, and a very small or large one seldom.
fn small(bytes: &mut Bytes<'_>) -> Exact {
    let top = i64::try_from(bytes.below(9)).unwrap() - 4;
    match bytes.below(12) {
        0 => Exact::ratio(top, 3).unwrap(),
        1 => Exact::ratio(top, 1_000_000_007).unwrap(),
        2 => &Exact::int(top) * &Exact::int(1_000_000_000_000),
        _ => Exact::int(top),
    }
}

/// Every way that can make a difference, if each number is only compared by itself.
fn points(terms: &Terms) -> Vec<Point> {
    let mut values: Vec<BTreeSet<Exact>> = vec![BTreeSet::from([Exact::zero()]); NUMBERS];
    for term in terms.all() {
        if let Term::Linear(linear) = term
            && let [(factor, choice)] = linear.sum.as_slice()
        {
            let which = (0..NUMBERS).find(|i| number(*i) == *choice).unwrap();
            values[which].insert(linear.bound.checked_div(factor).unwrap());
        }
    }
    let mut all = vec![Point::default()];
    for _ in 0..FACTS {
        all = all
            .into_iter()
            .flat_map(|point| {
                [false, true]
                    .map(|value| Point { facts: [&point.facts[..], &[value]].concat(), ..point.clone() })
            })
            .collect();
    }
    for of_one in values {
        let sorted: Vec<Exact> = of_one.into_iter().collect();
        let half = Exact::ratio(1, 2).unwrap();
        let mut tried: Vec<Exact> = sorted.windows(2).map(|pair| &(&pair[0] + &pair[1]) * &half).collect();
        tried.push(&sorted[0] - &Exact::int(1));
        tried.push(&sorted[sorted.len() - 1] + &Exact::int(1));
        tried.extend(sorted);
        all = all
            .into_iter()
            .flat_map(|point| {
                tried
                    .iter()
                    .map(move |value| Point {
                        numbers: [&point.numbers[..], std::slice::from_ref(value)].concat(),
                        ..point.clone()
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    all
}

fn engines() -> Vec<Box<dyn Engine>> {
    let (solver, diagrams) = (|| Smt::new(20_000_000).unwrap(), || Diagram::new(1_000_000));
    vec![
        Box::new(solver()),
        Box::new(diagrams()),
        // Both as one: where they differ, the answer is a dispute.
        Box::new(Both { first: solver(), second: diagrams() }),
    ]
}

/// The situation that the engine keeps.
fn kept(question: &dyn Question) -> Result<Point, String> {
    let facts = (0..FACTS).map(|i| question.truth(fact(i))).collect::<Result<_, _>>().map_err(|e| e.0)?;
    let numbers =
        (0..NUMBERS).map(|i| question.number(number(i))).collect::<Result<_, _>>().map_err(|e| e.0)?;
    Ok(Point { facts, numbers })
}

pub fn one(input: &[u8]) -> Result<&'static str, String> {
    let mut told = "possible";
    for engine in engines() {
        told = with(engine.as_ref(), input).map_err(|message| format!("{}: {message}", engine.name()))?;
    }
    Ok(told)
}

fn with(engine: &dyn Engine, input: &[u8]) -> Result<&'static str, String> {
    let mut bytes = Bytes(input.iter());
    let mut terms = Terms::default();
    let (stack, sums) = build(&mut bytes, &mut terms);
    let all = if sums { Vec::new() } else { points(&terms) };
    let mut pick = |most: usize| -> Vec<TermId> {
        (0..bytes.below(most + 1)).map(|_| stack[bytes.below(stack.len())]).collect()
    };
    let possible = pick(2);
    let mut question = engine.open(&terms, &possible, &[]).map_err(|error| error.0)?;
    let (mut told, mut kept_before): (_, Option<Point>) = ("possible", None);
    for round in 0..4 {
        let required = pick(2);
        question.push();
        for term in &required {
            question.require(&terms, *term).map_err(|error| error.0)?;
        }
        let given = pick(4);
        let asked: Vec<TermId> = [&possible[..], &required, &given].concat();
        match question.ask(&terms, &given).map_err(|error| error.0)? {
            Answer::Undecided(reason) => return Err(format!("undecided: {reason}")),
            Answer::Disputed(contradiction) => {
                return Err(format!("round {round}: the engines differ: {:?}", contradiction.answers));
            }
            Answer::Exists => {
                question.keep(&terms).map_err(|error| error.0)?;
                let at = kept(question.as_ref())?;
                if let Some(term) = asked.iter().find(|term| !holds(&terms, **term, &at)) {
                    return Err(format!("round {round}: the situation breaks {term:?}"));
                }
                kept_before = Some(at);
            }
            Answer::None => {
                told = "impossible";
                let conflict = question.conflict(&terms);
                if conflict.iter().any(|term| !given.contains(term)) {
                    return Err(format!("round {round}: a conflict with what was not given"));
                }
                let of = |given: &[TermId]| [&possible[..], &required, given].concat();
                for asked in [of(&given), of(&conflict)] {
                    let somewhere = all.iter().any(|at| asked.iter().all(|term| holds(&terms, *term, at)));
                    if somewhere {
                        return Err(format!("round {round}: said to be impossible, and possible"));
                    }
                }
                let again = question.ask(&terms, &conflict).map_err(|error| error.0)?;
                if again != Answer::None {
                    return Err(format!("round {round}: the conflict alone is {again:?}"));
                }
                // What was kept stays readable, whatever is asked in between.
                if let Some(before) = &kept_before {
                    let now = kept(question.as_ref())?;
                    if now.facts != before.facts || now.numbers != before.numbers {
                        return Err(format!("round {round}: the kept situation has changed"));
                    }
                }
            }
        }
        question.pop();
    }
    Ok(told)
}
