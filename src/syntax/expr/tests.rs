//! Tests of reading and printing expressions.
//!
//! The order of operators is that of IEC 61131-3 structured text (recalled); everything else is this project's
//! own definition.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fmt::Write;

use proptest::prelude::*;

use super::*;
use crate::unit::Measure;

fn scalar(text: &str) -> Scalar {
    Scalar { text: text.into(), span: Span::new(0, text.len()), quoted: false, broken: false }
}

fn read(text: &str) -> Expr {
    parse(&scalar(text)).unwrap_or_else(|problems| panic!("{text}: {problems:#?}"))
}

fn wrong(text: &str) -> Vec<Problem> {
    parse(&scalar(text)).expect_err(text)
}

/// Takes all places away, so that two readings of different texts can be compared.
fn bare(expr: &Expr) -> Expr {
    let tag = |tag: &Tag| Tag { text: tag.text.clone(), span: Span::default() };
    let sum = |sum: &Sum| Sum {
        terms: sum
            .terms
            .iter()
            .map(|term| Term {
                negative: term.negative,
                value: match &term.value {
                    Value::Name { factor, tag: name } => {
                        Value::Name { factor: factor.clone(), tag: tag(name) }
                    }
                    Value::Literal(l) => Value::Literal(Literal {
                        number: l.number.clone(),
                        unit: l.unit.as_ref().map(tag),
                        span: Span::default(),
                    }),
                },
                span: Span::default(),
            })
            .collect(),
        span: Span::default(),
    };
    let all = |exprs: &[Expr]| exprs.iter().map(bare).collect::<Vec<_>>();
    let kind = match &expr.kind {
        ExprKind::Or(o) => ExprKind::Or(all(o)),
        ExprKind::And(o) => ExprKind::And(all(o)),
        ExprKind::Not(o) => ExprKind::Not(Box::new(bare(o))),
        ExprKind::Vote(v) => {
            ExprKind::Vote(Vote { m: v.m, n: v.n, word: Span::default(), operands: all(&v.operands) })
        }
        ExprKind::Compare(c) => ExprKind::Compare(Comparison {
            left: sum(&c.left),
            op: c.op,
            op_span: Span::default(),
            right: sum(&c.right),
        }),
        ExprKind::Name(name) => ExprKind::Name(tag(name)),
        ExprKind::Call { function, argument } => {
            ExprKind::Call { function: tag(function), argument: tag(argument) }
        }
    };
    Expr { kind, span: Span::default() }
}

#[test]
fn good_expressions_print_in_canonical_form() {
    for text in [
        "GD-1 >= 25 %LFL",
        "K1 = open OR K2 = open",
        "surface >= cell - 20 K",
        "pack >= 256 * cell - 8 V",
        "q + 2 * r <= 5 bar",
        "MS-1 = test",
        "HV-1A",
        "NOT ZD-1A AND (KS-1 OR SB-1)",
        "NOT (K1 = open)",
        "2oo3(TE-11 >= 75 degC, TE-12 >= 75 degC, TE-13 >= 75 degC)",
        "1oo2(2oo2(a, b), NOT c)",
        "BAD(GD-1) OR LOST(LK-1)",
        "TL-1 <= -20 degC",
        "-cell + 3 K < -0.5 * air",
        "FT-1 <= 5400 m3/h",
        "ach < 10 1/h",
        "(a AND b) AND c OR d",
        "24V-A <> 0 V",
    ] {
        assert_eq!(read(text).to_string(), text);
    }
    assert_eq!(read(" a  AND( ( b))OR 2oo2 ( c,d )").to_string(), "a AND b OR 2oo2(c, d)");
    assert_eq!(read("q+2*r<=5 bar").to_string(), "q + 2 * r <= 5 bar");
}

#[test]
fn and_binds_tighter_than_or_and_not_tightest() {
    let ExprKind::Or(parts) = read("NOT a AND b OR c AND d").kind else { panic!() };
    assert!(matches!(&parts[0].kind, ExprKind::And(p) if matches!(p[0].kind, ExprKind::Not(_))));
    assert!(matches!(&parts[1].kind, ExprKind::And(_)));
}

#[test]
fn a_hyphen_belongs_to_the_tag_and_a_spaced_minus_subtracts() {
    let ExprKind::Compare(joined) = read("x >= cell-20").kind else { panic!() };
    assert_eq!(joined.right.as_name().map(|t| t.text.as_str()), Some("cell-20"));
    let ExprKind::Compare(apart) = read("x >= cell - 20 K").kind else { panic!() };
    assert_eq!(apart.right.terms.len(), 2);
}

#[test]
fn every_part_knows_its_place() {
    let text = "  a OR 2oo2(BAD(x), pack >= 256 * cell - 8 V) ";
    let expr = read(text);
    let at = |span: Span| &text[span.start..span.end];
    assert_eq!(at(expr.span), text.trim());
    let tags: Vec<&str> = expr.tags().into_iter().map(|t| at(t.span)).collect();
    assert_eq!(tags, ["a", "x", "pack", "cell"]);
    let mut seen = Vec::new();
    expr.walk(&mut |e| {
        seen.push(at(e.span));
        if let ExprKind::Vote(vote) = &e.kind {
            assert_eq!(at(vote.word), "2oo2");
        }
        if let ExprKind::Compare(c) = &e.kind {
            assert_eq!(at(c.op_span), ">=");
            let terms: Vec<&str> = c.right.terms.iter().map(|t| at(t.span)).collect();
            assert_eq!(terms, ["256 * cell", "8 V"]);
        }
    });
    let compare = "pack >= 256 * cell - 8 V";
    assert_eq!(seen, [text.trim(), "a", "2oo2(BAD(x), pack >= 256 * cell - 8 V)", "BAD(x)", compare]);
}

#[test]
fn literals_become_quantities_of_the_kind_that_is_due() {
    let ExprKind::Compare(c) = read("t >= -20 degC").kind else { panic!() };
    let Value::Literal(literal) = &c.right.terms[0].value else { panic!() };
    let quantity = literal.quantity(true, Measure::Temperature.into()).unwrap();
    assert_eq!(quantity.to_string(), "-20 degC");
    let problem = literal.quantity(false, Measure::Voltage.into()).unwrap_err().remove(0);
    assert_eq!(problem.span, Span::new(9, 13));
}

/// Every problem under its expression, as a reader would see it.
fn drawn(text: &str) -> String {
    let mut out = format!("{text}\n");
    for problem in wrong(text) {
        let before = text[..problem.span.start].chars().count();
        let width = text[problem.span.start..problem.span.end].chars().count().max(1);
        writeln!(out, "{}{} {}", " ".repeat(before), "^".repeat(width), problem.label).unwrap();
        writeln!(out, "    {}", problem.message).unwrap();
        if let Some(help) = problem.help {
            writeln!(out, "    help: {help}").unwrap();
        }
    }
    out
}

#[test]
fn malformed_expressions_are_explained_at_the_exact_token() {
    let table = [
        "",
        "GD-1 >= 25%LFL",
        "GD-1 >= 25 % LFL",
        "GD-1 >= 25 %LEL",
        "GD-1 => 25 %LFL",
        "GD-1 ≥ 25 %LFL && GD-2 == 5,5 %LFL",
        "K1 = open and K2 != open Or !K3",
        "a XOR b",
        "10 bar < q < 20 bar",
        "a < b < c",
        "a AND",
        "OR a",
        "a AND OR b",
        "a AND (b OR ",
        "a AND b) OR c",
        "()",
        "a AND ()",
        "a b",
        "a, b",
        "(a, b)",
        "3oo2(a, b)",
        "0oo2(a, b)",
        "2oo3(a, b)",
        "3oo3(a, b)",
        "2oo3()",
        "2oo3(a, , c)",
        "2oo3",
        "2OO3(a, b, c)",
        "2003(a, b, c)",
        "2oo3(GD-1, GD-2, GD-3) >= 25 %LFL",
        "2oo3(a and b, c == 5 bar, d e)",
        "BAD()",
        "BAD(a, b)",
        "BAD(a) = 1",
        "x >= BAD(a)",
        "NOT K1 = open",
        "K1 = NOT open",
        "cell -20 K >= x",
        "x >= cell- 20 K",
        "x >= 2026-01-03",
        "cell * 2 >= x",
        "x >= 2 * 3 K",
        "x >= 2 * (a + b)",
        "x >= 20 cell",
        "x >= 2 bar * cell",
        "a + b",
        "x >=",
        "x >= > 5 bar",
        "x = (a)",
        "(x) = a",
        "HV = TRUE",
        "x >= 5m3/h",
        "x >= .5 bar",
        "x >= 5. bar",
        "x >= 1,090 V",
        "x >= 1234567890123456789012345678901 V",
        "Tür-1 = zu",
        "\"K1\" = open",
        "a\u{a0}AND b",
        "a / b > 2",
        "-GD AND _x",
        "x > 5 K / min",
        "x >= 20-3 K",
    ];
    let all: Vec<String> = table.iter().map(|text| drawn(text)).collect();
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn independent_problems_are_all_reported() {
    assert_eq!(wrong("2oo3(a and b, c == 5 bar, d e)").len(), 3);
    assert_eq!(wrong("(a b) OR (c AND) OR @").len(), 3);
}

#[test]
fn deep_and_long_expressions_get_a_message() {
    for text in [
        "(".repeat(3000),
        "NOT ".repeat(1000) + "a",
        "1oo1(".repeat(800),
        format!("{}a{}", "(".repeat(65), ")".repeat(65)),
    ] {
        let problems = wrong(&text);
        assert_eq!(problems.len(), 1);
        assert_eq!(problems[0].message, "this expression is nested too deeply");
    }
    read(&format!("{}a{}", "(".repeat(64), ")".repeat(64)));
    assert_eq!(wrong(&"(".repeat(10_000))[0].message, "this expression is too long");
}

#[test]
fn a_quoted_expression_with_escapes_is_marked_whole() {
    let scalar = Scalar { text: "a AND".into(), span: Span::new(7, 20), quoted: true, broken: false };
    assert_eq!(parse(&scalar).unwrap_err()[0].span, Span::new(7, 20));
}

fn any_tag() -> impl Strategy<Value = Tag> {
    "[A-Z][A-Z0-9]{0,3}(-[0-9]{1,3}[AB]?)?|[0-9]{2}V-[AB]|[a-z][a-z_]{0,6}"
        .prop_filter("reserved", |text| tag::reserved(text).is_none())
        .prop_map(|text| Tag { text, span: Span::default() })
}

fn any_number() -> impl Strategy<Value = Exact> {
    "[0-9]{1,6}(\\.[0-9]{1,4})?".prop_map(|text| Exact::parse_decimal(&text).unwrap())
}

fn any_term() -> impl Strategy<Value = Term> {
    let unit = proptest::option::of(proptest::sample::select(vec![
        "%LFL", "degC", "K/min", "1/h", "m3/h", "%", "V",
    ]));
    let literal = (any_number(), unit).prop_map(|(number, unit)| {
        let unit = unit.map(|u| Tag { text: u.into(), span: Span::default() });
        Value::Literal(Literal { number, unit, span: Span::default() })
    });
    let name =
        (proptest::option::of(any_number()), any_tag()).prop_map(|(factor, tag)| Value::Name { factor, tag });
    (any::<bool>(), prop_oneof![literal, name]).prop_map(|(negative, value)| Term {
        negative,
        value,
        span: Span::default(),
    })
}

fn any_sum() -> impl Strategy<Value = Sum> {
    proptest::collection::vec(any_term(), 1..4).prop_map(|terms| Sum { terms, span: Span::default() })
}

fn any_expr() -> impl Strategy<Value = Expr> {
    let expr = |kind| Expr { kind, span: Span::default() };
    let ops = vec![Op::Equal, Op::NotEqual, Op::AtLeast, Op::Above, Op::AtMost, Op::Below];
    let leaf = prop_oneof![
        any_tag().prop_map(ExprKind::Name),
        (any_tag(), any_tag()).prop_map(|(function, argument)| ExprKind::Call { function, argument }),
        (any_sum(), proptest::sample::select(ops), any_sum()).prop_map(|(left, op, right)| {
            ExprKind::Compare(Comparison { left, op, op_span: Span::default(), right })
        }),
    ]
    .prop_map(expr);
    leaf.prop_recursive(4, 24, 4, move |inner| {
        let many = |low| proptest::collection::vec(inner.clone(), low..4);
        prop_oneof![
            many(2).prop_map(ExprKind::Or),
            many(2).prop_map(ExprKind::And),
            inner.clone().prop_map(|e| ExprKind::Not(Box::new(e))),
            (many(1), any::<proptest::sample::Index>()).prop_map(|(operands, m)| {
                let n = u32::try_from(operands.len()).unwrap();
                let m = u32::try_from(m.index(operands.len())).unwrap() + 1;
                ExprKind::Vote(Vote { m, n, word: Span::default(), operands })
            }),
        ]
        .prop_map(expr)
    })
}

proptest! {
    #[test]
    fn what_is_printed_reads_back_the_same(expr in any_expr()) {
        let text = expr.to_string();
        prop_assume!(text.len() <= LONGEST);
        let again = parse(&scalar(&text)).map_err(|p| TestCaseError::fail(format!("{text}: {p:?}")))?;
        prop_assert_eq!(bare(&again), expr);
    }

    #[test]
    fn any_text_is_read_or_refused_with_places_in_it(
        text in "\\PC{0,60}|([ab(),.=<>*+-]|AND|OR| |NOT|2oo3\\(|[0-9]|%LFL|bar|°){0,40}"
    ) {
        match parse(&scalar(&text)) {
            Ok(expr) => prop_assert_eq!(bare(&read(&expr.to_string())), bare(&expr)),
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for problem in problems {
                    prop_assert!(text.get(problem.span.start..problem.span.end).is_some());
                }
            }
        }
        check_tag(&scalar(&text));
    }
}
