//! The series against the machine's own floating point, an independent route, and the formulas against worked figures.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use proptest::prelude::*;

use super::*;
use crate::exact::Exact;

fn n(text: &str) -> Exact {
    Exact::parse_decimal(text).expect(text)
}

fn b(text: &str) -> Bounds {
    Bounds::exactly(n(text))
}

/// To floating point, by its decimal digits.
fn f(value: &Exact) -> f64 {
    value.rounded(17).parse().unwrap()
}

/// The bounds are in order, nearly one value, and that of the machine to its accuracy.
fn near(bounds: &Bounds, machine: f64) {
    assert!(bounds.low() <= bounds.high());
    let (low, high) = (f(bounds.low()), f(bounds.high()));
    let room = machine.abs() * 1e-13 + 1e-300;
    assert!(low - room <= machine && machine <= high + room, "{low} .. {high}: {machine}");
    assert!(high - low <= room, "{low} .. {high} is wide");
}

fn narrow(bounds: &Bounds) -> bool {
    let width = bounds.high() - bounds.low();
    let part = Exact::parse_decimal("0.0000000000000000000000000001").unwrap();
    width <= &part * &bounds.high().abs().max(part.clone())
}

/// 3.14159265358979323846264338327950288: known to every table of constants.
#[test]
fn pi_has_the_digits_of_every_table() {
    let pi = pi();
    assert!(
        n("3.1415926535897932384626433832") < *pi.low() && *pi.high() < n("3.1415926535897932384626433833")
    );
    assert!(narrow(&pi));
}

/// ln 2 = 0.693147180559945309417232121458, e = 2.718281828459045235360287471352: any table of constants.
#[test]
fn the_logarithm_of_two_and_e_have_the_digits_of_every_table() {
    let two = ln(&b("2")).unwrap();
    assert!(n("0.6931471805599453094172321214") < *two.low());
    assert!(*two.high() < n("0.6931471805599453094172321215"));
    let inverse = exp_of_negative(&b("1"));
    let e = Bounds::int(1).over(&inverse).unwrap();
    assert!(
        n("2.7182818284590452353602874713") < *e.low() && *e.high() < n("2.7182818284590452353602874714")
    );
}

#[test]
fn what_has_no_value_has_none() {
    assert_eq!(ln(&b("0")), None);
    assert_eq!(ln(&b("-1")), None);
    assert_eq!(b("1").over(&b("0")), None);
    assert_eq!(b("1").over(&Bounds::between(n("-1"), n("1"))), None);
    assert_eq!(quotient(&b("1"), &b("-2")), None);
    assert_eq!(ln(&b("1")), Some(Bounds::int(0)));
    assert_eq!(exp_of_negative(&b("0")), Bounds::int(1));
}

#[test]
fn a_very_small_weight_is_still_bounded() {
    let small = exp_of_negative(&b("100000000000000000000000000000"));
    assert!(small.low().is_zero() && small.high() < &n("0.0000000001"));
    near(&exp_of_negative(&b("200")), (-200f64).exp());
}

#[test]
fn long_fractions_are_rounded_outwards_and_short_ones_stay() {
    let third = Bounds::exactly(Exact::ratio(1, 3).unwrap());
    assert_eq!(third.tidy(), third);
    let mut long = third.clone();
    for _ in 0..8 {
        long = &long * &long;
    }
    let tidy = long.tidy();
    assert!(tidy.low() < long.low() && long.high() < tidy.high() && !tidy.is_exact());
}

fn room(source: &str, exhaust: Option<&str>, start: &str) -> Room {
    let (volume, source, start) = (b("100"), b(source), b(start));
    Room { volume, source, exhaust: exhaust.map(b), start }
}

#[test]
fn a_part_that_is_never_reached_has_no_time() {
    // It settles at 0.02.
    let rising = room("1", Some("50"), "0");
    assert!(rising.until(&b("0.0199")).is_some());
    assert_eq!(rising.until(&b("0.02")), None);
    assert_eq!(rising.until(&b("0.03")), None);
    let falling = room("1", Some("50"), "0.5");
    assert!(falling.until(&b("0.021")).is_some());
    assert_eq!(falling.until(&b("0.02")), None);
    assert_eq!(falling.until(&b("0.6")), None);
    assert_eq!(falling.until(&b("0.5")), Some(Bounds::int(0)));
    assert_eq!(room("0", None, "0").until(&b("0.1")), None);
    assert_eq!(room("1", None, "0.2").until(&b("0.1")), None);
    assert_eq!(room("1", None, "0").settled(), None);
}

#[test]
fn the_time_until_a_part_leads_to_that_part() {
    for (start, part) in [("0", "0.015"), ("0.5", "0.1")] {
        let room = room("1", Some("50"), start);
        let back = room.after(&room.until(&b(part)).unwrap()).unwrap();
        assert!(back.low() <= &n(part) && &n(part) <= back.high() && narrow(&back));
    }
    let open = room("1", None, "0.1");
    assert_eq!(open.after(&open.until(&b("0.3")).unwrap()), Some(b("0.3")));
}

/// Fractions above zero of very different sizes.
fn positive() -> impl Strategy<Value = (i64, i64)> {
    let part = prop_oneof![1i64..50, 1i64..1_000_000_000];
    (part.clone(), part)
}

proptest! {
    #[test]
    fn the_logarithm_is_between_close_bounds(x in positive()) {
        let bounds = ln(&Bounds::exactly(Exact::ratio(x.0, x.1).unwrap())).unwrap();
        let machine = (x.0 as f64).ln() - (x.1 as f64).ln();
        prop_assert!(bounds.low() <= bounds.high() && narrow(&bounds));
        let (low, high) = (f(bounds.low()), f(bounds.high()));
        prop_assert!((low - machine).abs() < 1e-13 * 30.0 && (high - machine).abs() < 1e-13 * 30.0);
    }

    #[test]
    fn the_logarithm_grows(x in positive(), y in positive()) {
        let (x, y) = (Exact::ratio(x.0, x.1).unwrap(), Exact::ratio(y.0, y.1).unwrap());
        let of = |value: &Exact| ln(&Bounds::exactly(value.clone())).unwrap();
        if x < y {
            prop_assert!(of(&x).low() <= of(&y).high());
            // The bounds of a range hold those of its ends.
            let both = ln(&Bounds::between(x.clone(), y.clone())).unwrap();
            prop_assert!(both.low() <= of(&x).low() && of(&y).high() <= both.high());
        }
    }

    #[test]
    fn the_logarithm_of_a_product_is_the_sum(x in positive(), y in positive()) {
        let (x, y) = (Exact::ratio(x.0, x.1).unwrap(), Exact::ratio(y.0, y.1).unwrap());
        let of = |value: &Exact| ln(&Bounds::exactly(value.clone())).unwrap();
        let (product, sum) = (of(&(&x * &y)), &of(&x) + &of(&y));
        prop_assert!(product.low() <= sum.high() && sum.low() <= product.high());
    }

    #[test]
    fn the_exponential_is_between_close_bounds(top in 0i64..2_000_000, bottom in 10_000i64..100_000) {
        let bounds = exp_of_negative(&Bounds::exactly(Exact::ratio(top, bottom).unwrap()));
        let machine = (-(top as f64) / bottom as f64).exp();
        prop_assert!(bounds.low() <= bounds.high() && !bounds.low().is_negative() && *bounds.high() <= Exact::int(1));
        let (low, high) = (f(bounds.low()), f(bounds.high()));
        prop_assert!((low - machine).abs() <= machine * 1e-12 && (high - machine).abs() <= machine * 1e-12);
    }

    #[test]
    fn exponential_and_logarithm_undo_each_other(x in positive()) {
        let value = Exact::ratio(x.0.max(x.1), x.0.min(x.1)).unwrap();
        let back = exp_of_negative(&ln(&Bounds::exactly(value.clone())).unwrap());
        let inverse = Exact::int(1).checked_div(&value).unwrap();
        prop_assert!(back.low() <= &inverse && &inverse <= back.high());
    }

    #[test]
    fn arithmetic_keeps_the_true_value_between_the_bounds(
        a in positive(), b in positive(), c in positive(), d in positive(), minus in any::<(bool, bool)>()
    ) {
        let of = |x: (i64, i64), minus: bool| {
            let x = Exact::ratio(x.0, x.1).unwrap();
            if minus { -&x } else { x }
        };
        let (a, b, c, d) = (of(a, minus.0), of(b, minus.1), of(c, minus.1), of(d, false));
        let (x, y) = (Bounds::between(a.clone(), b.clone()), Bounds::between(c.clone(), d.clone()));
        let holds = |all: &Bounds, value: &Exact| all.low() <= value && value <= all.high();
        for p in [&a, &b] {
            for q in [&c, &d] {
                prop_assert!(holds(&(&x + &y), &(p + q)));
                prop_assert!(holds(&(&x - &y), &(p - q)));
                prop_assert!(holds(&(&x * &y), &(p * q)));
                if let Some(quotient) = x.over(&y) {
                    prop_assert!(holds(&quotient, &p.checked_div(q).unwrap()));
                }
            }
            prop_assert!(holds(&x.abs(), &p.abs()));
            prop_assert!(holds(&x.tidy(), p));
        }
    }

    /// ISO 13855: a distance for a time leads back to a time that is not shorter, and a little more time is too much.
    #[test]
    fn the_time_of_a_distance_is_the_longest_that_keeps_it(distance in 100i64..2000, capability in 1i64..70) {
        let (distance, capability) = (Exact::int(distance), Exact::int(capability));
        let curtain = Curtain::of(&capability).unwrap();
        let Some(time) = curtain.time(&distance) else {
            prop_assert!(curtain.distance(&Exact::zero()) > distance);
            return Ok(());
        };
        prop_assert!(curtain.distance(&time) <= distance);
        let more = &time + &n("0.000001");
        prop_assert!(curtain.distance(&more) > distance);
    }
}
