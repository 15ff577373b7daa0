//! Every constructor against its meaning written out in Rust, over all Boolean inputs; numbers, cores, limits.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use super::term::*;
use super::*;

const NO_LIMIT: u32 = 0;

fn exact(text: &str) -> Exact {
    Exact::parse_decimal(text).unwrap()
}

fn num(text: &str) -> Real {
    number(&exact(text))
}

fn bools(n: usize) -> Vec<Bool> {
    (0..n).map(|i| bool_const(&format!("b{i}"))).collect()
}

/// That `term` over `inputs` is true exactly where `meaning` is: proved by the solver, and read back from models.
fn means(term: &Bool, inputs: &[Bool], meaning: impl Fn(&[bool]) -> bool) {
    let mut session = Session::new(NO_LIMIT);
    for row in 0..1u32 << inputs.len() {
        let values: Vec<bool> = (0..inputs.len()).map(|i| row >> i & 1 == 1).collect();
        let mut given: Vec<Bool> =
            inputs.iter().zip(&values).map(|(b, v)| if *v { b.clone() } else { not(b) }).collect();
        let expected = meaning(&values);
        assert_eq!(session.check(&given), Answer::Sat);
        assert_eq!(session.model().unwrap().bool(term), Ok(expected), "{term} at {values:?}");
        given.push(if expected { not(term) } else { term.clone() });
        assert_eq!(session.check(&given), Answer::Unsat, "{term} at {values:?}");
    }
}

#[test]
fn boolean_terms_mean_what_their_names_say() {
    let b = bools(4);
    means(&and(&b), &b, |v| v.iter().all(|x| *x));
    means(&or(&b), &b, |v| v.iter().any(|x| *x));
    means(&not(&b[0]), &b[..1], |v| !v[0]);
    means(&implies(&b[0], &b[1]), &b[..2], |v| !v[0] || v[1]);
    means(&iff(&b[0], &b[1]), &b[..2], |v| v[0] == v[1]);
    means(&ite_bool(&b[0], &b[1], &b[2]), &b[..3], |v| if v[0] { v[1] } else { v[2] });
    means(&and(&[]), &b[..1], |_| true);
    means(&or(&[]), &b[..1], |_| false);
    means(&and(&b[..1]), &b[..1], |v| v[0]);
    means(&or(&b[..1]), &b[..1], |v| v[0]);
}

#[test]
fn votes_count() {
    let b = bools(5);
    for k in 0..7 {
        means(&at_least(k, &b).unwrap(), &b, |v| v.iter().filter(|x| **x).count() >= k);
        let mixed = [b[0].clone(), b[0].clone(), not(&b[1]), b[2].clone()];
        means(&at_least(k, &mixed).unwrap(), &b[..3], |v| {
            2 * usize::from(v[0]) + usize::from(!v[1]) + usize::from(v[2]) >= k
        });
    }
    means(&at_least(0, &[]).unwrap(), &b[..1], |_| true);
    means(&at_least(1, &[]).unwrap(), &b[..1], |_| false);
    means(&at_least(usize::MAX, &b).unwrap(), &b, |_| false);
}

#[test]
fn weights_sum_up() {
    let b = bools(4);
    let weights = [1, 3, 0, 3];
    let weighted: Vec<(Bool, u32)> = b.iter().cloned().zip(weights).collect();
    for limit in 0..9 {
        means(&at_most_weight(limit, &weighted).unwrap(), &b, |v| {
            v.iter().zip(weights).map(|(x, w)| if *x { w } else { 0 }).sum::<u32>() <= limit
        });
    }
    means(&at_most_weight(0, &[]).unwrap(), &b[..1], |_| true);
    let big = i32::MAX as u32;
    means(&at_most_weight(big - 1, &[(b[0].clone(), big)]).unwrap(), &b[..1], |v| !v[0]);
    assert_eq!(at_most_weight(u32::MAX, &weighted), Err(TooLarge));
    assert_eq!(at_most_weight(1, &[(b[0].clone(), u32::MAX)]), Err(TooLarge));
    assert_eq!(at_most_weight(1, &[(b[0].clone(), big), (b[1].clone(), 1)]), Err(TooLarge));
}

#[test]
fn comparisons_are_exact_at_the_boundary() {
    let x = real_const("x");
    let third = fraction("1", "3").unwrap();
    let just_below =
        fraction("33333333333333333333333333333333", "100000000000000000000000000000000").unwrap();
    let mut session = Session::new(NO_LIMIT);
    session.assert(&equal(&x, &third));
    for (term, holds) in [
        (ge(&x, &third), true),
        (gt(&x, &third), false),
        (ge(&x, &just_below), true),
        (gt(&x, &just_below), true),
        (ge(&just_below, &x), false),
        (equal(&x, &just_below), false),
    ] {
        assert_eq!(session.check(std::slice::from_ref(&term)) == Answer::Sat, holds, "{term}");
        assert_eq!(session.check(&[not(&term)]) == Answer::Unsat, holds, "{term}");
    }
}

#[test]
fn linear_sums_and_choices_have_exact_values() {
    let (x, y, b) = (real_const("x"), real_const("y"), bool_const("b"));
    let sum = linear(
        &[(exact("0.1"), x.clone()), (exact("-2.5"), y.clone()), (exact("0"), x.clone())],
        &exact("0.3"),
    );
    let mut session = Session::new(NO_LIMIT);
    session.assert(&equal(&x, &num("7")));
    session.assert(&equal(&y, &ite_real(&b, &num("0.4"), &num("-1"))));
    for (choice, value) in [(b.clone(), "0"), (not(&b), "3.5")] {
        assert_eq!(session.check(&[choice]), Answer::Sat);
        assert_eq!(session.model().unwrap().real(&sum), Ok(exact(value)));
    }
    assert_eq!(linear(&[], &exact("0")), num("0"));
    assert_eq!(linear(&[(exact("1"), x.clone())], &exact("0")), x);
    assert_eq!(linear(&[(exact("0"), x.clone())], &exact("2")), num("2"));
    let double = linear(&[(exact("1"), x.clone()), (exact("1"), x.clone())], &exact("0"));
    assert_eq!(session.check(&[equal(&double, &num("14"))]), Answer::Sat);
}

#[test]
fn numbers_of_any_size_survive_the_solver() {
    let x = real_const("x");
    let long = "9".repeat(2_000);
    for (numerator, denominator) in [
        ("0", "1"),
        ("-1", "3"),
        ("9223372036854775808", "1"),
        ("-9223372036854775809", "18446744073709551617"),
        (long.as_str(), "7"),
        ("-1", long.as_str()),
    ] {
        let mut session = Session::new(NO_LIMIT);
        session.assert(&equal(&x, &fraction(numerator, denominator).unwrap()));
        assert_eq!(session.check(&[]), Answer::Sat);
        let expected = Exact::from_fraction_text(numerator, denominator).unwrap();
        assert_eq!(session.model().unwrap().real(&x), Ok(expected));
    }
}

#[test]
fn text_that_is_no_fraction_makes_no_number() {
    for (numerator, denominator) in
        [("1", "0"), ("", "1"), ("1", ""), ("1-2", "3"), ("1/2", "3"), ("0x1", "1"), ("1\0", "1")]
    {
        assert!(fraction(numerator, denominator).is_none(), "{numerator:?}/{denominator:?}");
    }
}

#[test]
fn a_root_is_no_fraction() {
    let x = real_const("x");
    let mut session = Session::new(NO_LIMIT);
    session.assert(&equal(&Real::mul(&[x.clone(), x.clone()]), &num("2")));
    assert_eq!(session.check(&[]), Answer::Sat);
    assert!(matches!(session.model().unwrap().real(&x), Err(ReadError::NotRational(_))));
}

#[test]
fn what_a_question_leaves_open_still_has_a_value() {
    let mut session = Session::new(NO_LIMIT);
    assert_eq!(session.check(&[]), Answer::Sat);
    let model = session.model().unwrap();
    assert!(model.bool(&bool_const("never_mentioned")).is_ok());
    assert!(model.real(&real_const("never_mentioned")).is_ok());
}

#[test]
fn votes_and_readings_work_together() {
    // Two of three readings above 50, all within 1 of each other: then all are above 49.
    let readings: Vec<Real> = (0..3).map(|i| real_const(&format!("r{i}"))).collect();
    let highs: Vec<Bool> = readings.iter().map(|r| gt(r, &num("50"))).collect();
    let mut session = Session::new(NO_LIMIT);
    for a in &readings {
        for b in &readings {
            session.assert(&ge(
                &num("1"),
                &linear(&[(exact("1"), a.clone()), (exact("-1"), b.clone())], &exact("0")),
            ));
        }
    }
    session.assert(&at_least(2, &highs).unwrap());
    assert_eq!(session.check(&[ge(&num("49"), &readings[2])]), Answer::Unsat);
    assert_eq!(session.check(&[ge(&num("49.01"), &readings[2])]), Answer::Sat);
    let model = session.model().unwrap();
    let values: Vec<Exact> = readings.iter().map(|r| model.real(r).unwrap()).collect();
    assert!(values[2] <= exact("49.01") && values[2] > exact("49"), "{values:?}");
    assert!(values.iter().filter(|v| **v > exact("50")).count() >= 2, "{values:?}");
}

#[test]
fn a_core_names_assumptions_by_position() {
    let (b, x) = (bools(4), real_const("x"));
    let mut session = Session::new(NO_LIMIT);
    session.assert(&not(&and(&[b[1].clone(), b[3].clone()])));
    assert_eq!(session.check(&b), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[1, 3][..]));
    // Of two equal ones the first is named; terms that are no literals are named as well.
    assert_eq!(session.check(&[b[3].clone(), b[0].clone(), b[3].clone(), b[1].clone()]), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[0, 3][..]));
    let compound = [b[0].clone(), gt(&x, &num("2")), or(&[b[2].clone(), b[0].clone()]), gt(&num("1"), &x)];
    assert_eq!(session.check(&compound), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[1, 3][..]));
    assert_eq!(session.check(&[b[0].clone(), not(&b[0])]), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[0, 1][..]));
    assert_eq!(session.check(&[b[0].clone(), truth(false)]), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[1][..]));
    session.assert(&and(&[b[1].clone(), b[3].clone()]));
    assert_eq!(session.check(&b), Answer::Unsat);
    assert_eq!(session.core(), Ok(&[][..]));
}

#[test]
fn only_the_last_answer_can_be_read() {
    let b = bools(1);
    let mut session = Session::new(NO_LIMIT);
    assert_eq!(session.model().err(), Some(ReadError::NoModel));
    assert_eq!(session.core(), Err(ReadError::NoCore));
    assert_eq!(session.check(&[b[0].clone()]), Answer::Sat);
    assert_eq!(session.core(), Err(ReadError::NoCore));
    let kept = session.model().unwrap();
    session.assert(&not(&b[0]));
    assert_eq!(session.model().err(), Some(ReadError::NoModel));
    assert_eq!(session.check(&b), Answer::Unsat);
    assert_eq!(session.model().err(), Some(ReadError::NoModel));
    session.assert(&truth(true));
    assert_eq!(session.core(), Err(ReadError::NoCore));
    assert_eq!(kept.bool(&b[0]), Ok(true));
}

/// `pigeons` pigeons in one hole fewer, each hole for one: never possible, and long to refute by cases.
fn pigeonhole(pigeons: usize) -> Vec<Bool> {
    let sits = |p: usize, h: usize| bool_const(&format!("p{p}h{h}"));
    let mut terms: Vec<Bool> =
        (0..pigeons).map(|p| or(&(1..pigeons).map(|h| sits(p, h)).collect::<Vec<_>>())).collect();
    for h in 1..pigeons {
        for p in 0..pigeons {
            terms.extend((0..p).map(|q| not(&and(&[sits(p, h), sits(q, h)]))));
        }
    }
    terms
}

#[test]
fn work_beyond_the_limit_is_undecided_and_repeatably_so() {
    let ask = |limit: u32| {
        isolated(|| {
            let mut session = Session::new(limit);
            pigeonhole(7).iter().for_each(|term| session.assert(term));
            let answer = session.check(&[]);
            let readable = session.model().is_ok() || session.core().is_ok();
            // An easy question after it is still answered: the limit is for each check.
            let easy = session.check(&[truth(false)]);
            (answer, readable, easy)
        })
    };
    let (answer, readable, easy) = ask(5_000);
    let Answer::Unknown(reason) = &answer else { panic!("{answer:?}") };
    assert_eq!(reason, "the limit of 5000 units of work was reached");
    assert!(!readable);
    assert_eq!(easy, Answer::Unsat);
    assert_eq!(ask(5_000).0, answer);
    assert_eq!(ask(NO_LIMIT).0, Answer::Unsat);
    // The least limit that suffices is one and the same number each time.
    let least = || (0..30).map(|i| 1u32 << i).find(|limit| ask(*limit).0 == Answer::Unsat);
    assert_eq!(least(), least());
}

#[test]
fn an_isolated_question_has_the_same_situation_whatever_ran_before() {
    let ask = || {
        isolated(|| {
            let names: Vec<Real> = (0..6).map(|i| real_const(&format!("v{i}"))).collect();
            let mut session = Session::new(NO_LIMIT);
            for pair in names.windows(2) {
                session.assert(&or(&[gt(&pair[0], &pair[1]), gt(&pair[1], &num("3.7"))]));
            }
            assert_eq!(session.check(&[]), Answer::Sat);
            let model = session.model().unwrap();
            names.iter().map(|n| model.real(n).unwrap()).collect::<Vec<_>>()
        })
    };
    let first = ask();
    // History: the same names the other way round, and other questions.
    let _earlier: Vec<Real> = (0..6).rev().map(|i| real_const(&format!("v{i}"))).collect();
    let mut session = Session::new(NO_LIMIT);
    bools(50).iter().for_each(|b| session.assert(b));
    assert_eq!(session.check(&[]), Answer::Sat);
    assert_eq!(ask(), first);
    assert_eq!(std::thread::spawn(ask).join().unwrap(), first);
    assert_eq!(isolated(ask), first, "nested");
    assert_eq!(session.check(&[]), Answer::Sat, "the outer session goes on");
}

#[test]
fn no_two_names_meet() {
    let names = ["a", "a\0", "a\\0", "a\\", "a\\\\0", "a\0b", "", " ", "ä", "|", "true", "k!0", "\\e", "e"];
    for (i, a) in names.iter().enumerate() {
        for (j, b) in names.iter().enumerate() {
            assert_eq!(bool_const(a) == bool_const(b), i == j, "{a:?} {b:?}");
        }
    }
    let mut session = Session::new(NO_LIMIT);
    session.assert(&bool_const("same"));
    session.assert(&equal(&real_const("same"), &num("2")));
    assert_eq!(session.check(&[]), Answer::Sat);
}
