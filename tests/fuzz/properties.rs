//! Expressions, numbers and units by properties, with a smallest counter-example where one fails.

use proptest::prelude::*;
use tripproof::exact::Exact;
use tripproof::source::Span;
use tripproof::syntax::expr::{Expr, parse};
use tripproof::syntax::leaf::Scalar;
use tripproof::unit::{Kind, Unit, parse_quantity, parse_range};

fn scalar(text: &str) -> Scalar {
    Scalar { text: text.into(), span: Span::new(0, text.len()), quoted: false, broken: false }
}

/// What conditions are made of, in any order.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "A-1", "24V-A", "x", "2oo3(", "1oo2(", "0oo0(", "BAD(", "LOST(", "(", ")", ",", "AND", "OR", "NOT",
        "XOR", "TRUE", "=", "<>", ">=", ">", "<=", "<", "+", "-", "*", "25 %LFL", "6bar", "-40 degC", "0.5",
        "1/h", "open", "unknown", "detected", "'", "\"", "°", "\u{202e}", "日", " ", "  ", "\t", "\n",
    ]);
    prop::collection::vec(piece, 0..14).prop_map(|pieces| pieces.join(" "))
}

/// Conditions that are well formed.
fn conditions() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        "[A-Z]{1,3}-[0-9]{1,2}",
        ("[a-z]{1,6}", -999..999_i32, 0..1000_u32)
            .prop_map(|(tag, whole, part)| { format!("{tag}_q >= {whole}.{part:03} bar") }),
        "K[0-9] = open",
        "BAD\\(GD-[0-9]\\)",
    ];
    leaf.prop_recursive(4, 24, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 2..4).prop_map(|all| format!("({})", all.join(" AND "))),
            prop::collection::vec(inner.clone(), 2..4).prop_map(|all| format!("({})", all.join(" OR "))),
            inner.clone().prop_map(|one| format!("NOT ({one})")),
            prop::collection::vec(inner, 2..4).prop_map(|all| format!(
                "{}oo{}({})",
                all.len() - 1,
                all.len(),
                all.join(", ")
            )),
        ]
    })
}

/// The same expression whatever its places are.
fn shape(expr: &Expr) -> String {
    expr.to_string()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any row of pieces is read or refused; a problem stands inside the text.
    #[test]
    fn pieces_of_conditions_are_read_or_refused(text in pieces()) {
        match parse(&scalar(&text)) {
            Ok(expr) => {
                let again = parse(&scalar(&expr.to_string())).expect("what is printed reads back");
                prop_assert_eq!(shape(&expr), shape(&again));
            }
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for problem in problems {
                    prop_assert!(problem.span.end <= text.len() && text.get(problem.span.start..problem.span.end).is_some());
                }
            }
        }
    }

    /// A well-formed condition is read, and what is printed of it reads back as the same.
    #[test]
    fn conditions_read_back_as_they_are_printed(text in conditions()) {
        let expr = parse(&scalar(&text)).map_err(|problems| TestCaseError::fail(format!("{text}: {problems:?}")))?;
        let printed = expr.to_string();
        let again = parse(&scalar(&printed)).expect("what is printed reads back");
        prop_assert_eq!(shape(&again), printed);
        prop_assert_eq!(again.tags().len(), expr.tags().len());
    }

    /// Writing a value in another unit of its kind and back changes nothing, and keeps the order.
    #[test]
    fn units_convert_there_and_back(kind in 0..64_usize, from in 0..8_usize, to in 0..8_usize, a in -10_000..10_000_i64, b in -10_000..10_000_i64, low in 1..1000_i64) {
        let kinds = Kind::all();
        let units: Vec<Unit> = kinds[kind % kinds.len()].units();
        // A number without a unit has none.
        prop_assume!(!units.is_empty());
        let (from, to) = (units[from % units.len()], units[to % units.len()]);
        let (x, y) = (Exact::ratio(a, low).unwrap(), Exact::ratio(b, low).unwrap());
        let there = |value: &Exact| to.from_base(&from.to_base(value));
        prop_assert_eq!(from.from_base(&to.to_base(&there(&x))), x.clone());
        prop_assert_eq!(there(&x).cmp(&there(&y)), x.cmp(&y));
    }

    /// Digits are read as the number they write: checked against integers of the machine.
    #[test]
    fn decimals_are_read_exactly(whole in 0..1_000_000_u32, part in 0..10_000_u32, negative: bool) {
        let sign = if negative { "-" } else { "" };
        let text = format!("{sign}{whole}.{part:04}");
        let read = Exact::parse_decimal(&text).expect("a number");
        let scaled = i64::from(whole) * 10_000 + i64::from(part);
        let expected = Exact::ratio(if negative { -scaled } else { scaled }, 10_000).unwrap();
        prop_assert_eq!(&read, &expected);
        prop_assert_eq!(Exact::parse_decimal(&read.to_string()), Some(read));
    }

    /// Whatever is written where a value or a range belongs is read or refused, with the problem inside the text.
    #[test]
    fn values_and_ranges_are_read_or_refused(text in "[-+0-9.,eE ]{0,12}( ?(bar|mbar|%LFL|degC|K|m3/h|°C|x))?( ?\\.\\. ?[-0-9.]{0,6}( bar| degC)?)?") {
        for kind in Kind::all() {
            let problems = [
                parse_quantity(&scalar(&text), kind).err(),
                parse_range(&scalar(&text), kind).err(),
            ];
            for problem in problems.into_iter().flatten().flatten() {
                prop_assert!(problem.span.end <= text.len() && text.get(problem.span.start..problem.span.end).is_some());
                prop_assert!(!problem.message.is_empty());
            }
        }
    }
}
