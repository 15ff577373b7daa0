#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
//! Tests of the YAML reader: places, what is refused, limits, words for slips.

use proptest::prelude::*;

use super::*;
use crate::syntax::node::NodeKind;

/// Code and marked text of every problem.
fn found(text: &str) -> Vec<(&'static str, String)> {
    let source = Source::new("m", text);
    let problems = read(&source, &Limits::default()).err().unwrap_or_default();
    problems.iter().map(|p| (p.code, source.slice(p.span).to_string())).collect()
}

fn messages(text: &str) -> Vec<String> {
    let source = Source::new("m", text);
    read(&source, &Limits::default()).err().unwrap_or_default().into_iter().map(|p| p.message).collect()
}

fn tree(text: &str) -> Node {
    read(&Source::new("m", text), &Limits::default()).unwrap()
}

fn value<'a>(node: &'a Node, key: &str) -> &'a Node {
    let NodeKind::Mapping(entries) = &node.kind else { panic!("no mapping") };
    &entries.iter().find(|(k, _)| k.text() == Some(key)).unwrap().1
}

/// Every node's marked text in the order of the file.
fn slices(source: &Source, node: &Node, out: &mut Vec<String>) {
    out.push(source.slice(node.span).to_string());
    match &node.kind {
        NodeKind::Scalar { .. } => {}
        NodeKind::Sequence(items) => items.iter().for_each(|n| slices(source, n, out)),
        NodeKind::Mapping(entries) => entries.iter().for_each(|(k, v)| {
            slices(source, k, out);
            slices(source, v, out);
        }),
    }
}

#[test]
fn every_node_knows_its_bytes() {
    let text = "# ü\nü: °x\nl:\n- 'a'\n-\n- k: \"ö\"\n  e:\n\n# end\nf: {a: , b: [p: q, 2]} # c\n";
    let source = Source::new("m", text);
    let mut out = Vec::new();
    slices(&source, &read(&source, &Limits::default()).unwrap(), &mut out);
    let block = "- 'a'\n-\n- k: \"ö\"\n  e:";
    assert_eq!(out[0], text.trim_start_matches("# ü\n").trim_end_matches(" # c\n"));
    assert_eq!(out[1..5], ["ü", "°x", "l", block]);
    assert_eq!(out[5..12], ["'a'", "", "k: \"ö\"\n  e:", "k", "\"ö\"", "e", ""]);
    assert_eq!(out[12..], ["f", "{a: , b: [p: q, 2]}", "a", "", "b", "[p: q, 2]", "p: q", "p", "q", "2"]);
}

#[test]
fn an_empty_value_stands_after_its_colon_and_an_empty_item_after_its_dash() {
    let node = tree("a:   \nb: [{c: }]\nd:\n  -\n");
    assert_eq!(value(&node, "a").span, Span::new(2, 2));
    assert!(value(&node, "a").is_empty());
    let NodeKind::Sequence(items) = &value(&node, "b").kind else { panic!() };
    assert_eq!(value(&items[0], "c").span, Span::new(13, 13));
    let NodeKind::Sequence(items) = &value(&node, "d").kind else { panic!() };
    assert_eq!((items[0].span, items[0].is_empty()), (Span::new(23, 23), true));
}

#[test]
fn values_stay_the_text_they_are() {
    let text = "a: yes\nb: 017\nc: 1_000\nd: 12:30:00\ne: 40 %LFL\nf: NOT x\ng:  two  words  # note\nh: -1\n\
                i: 'no'\nj: \"a\\tb\"\nk: a\n  b\n\n  c\nl: |\n  x\n  y\n\nm: x:y\nn: a#b\n";
    let node = tree(text);
    let expected = [
        ("a", "yes"),
        ("b", "017"),
        ("c", "1_000"),
        ("d", "12:30:00"),
        ("e", "40 %LFL"),
        ("f", "NOT x"),
        ("g", "two  words"),
        ("h", "-1"),
        ("i", "no"),
        ("j", "a\tb"),
        ("k", "a b\nc"),
        ("l", "x\ny\n"),
        ("m", "x:y"),
        ("n", "a#b"),
    ];
    for (key, text) in expected {
        let NodeKind::Scalar { text: got, quoted } = &value(&node, key).kind else { panic!() };
        assert_eq!((got.as_str(), *quoted), (text, ["i", "j", "l"].contains(&key)), "{key}");
    }
    assert_eq!(Source::new("m", text).slice(value(&node, "l").span), "x\n  y");
}

#[test]
fn all_duplicate_keys_are_reported_with_the_first_place() {
    let text = "a: 1\nü:\n  x: 1\n  y: 2\n  \"x\": 3\na: 2\nb: [{c: 1, c: 2}]\na: 3\n";
    let source = Source::new("m", text);
    let problems = read(&source, &Limits::default()).unwrap_err();
    assert!(problems.iter().all(|p| p.code == "duplicate-key"));
    let places: Vec<_> =
        problems.iter().map(|p| (source.place(p.span.start), source.slice(p.span))).collect();
    let at = |line, column| crate::source::Place { line, column };
    assert_eq!(places, [(at(5, 3), "\"x\""), (at(6, 1), "a"), (at(7, 12), "c"), (at(8, 1), "a")]);
    assert!(problems.iter().all(|p| p.also.len() == 1 && p.also[0].0 < p.span));
    assert_eq!(problems[3].also[0].0, Span::new(0, 1));
}

#[test]
fn constructs_that_hide_things_are_refused_each_at_its_place() {
    for (text, code, mark) in [
        ("a: &x\n  k: 1\nb:\n  <<: *x\n", "merge-key", "<<"),
        ("a: 1\n---\nb: 2\n", "second-document", "---"),
        ("---\na: 1\n---\n", "second-document", "---"),
        ("a: !x y\n", "tag", "!x"),
        ("a: !!str\n  b: 1\n", "tag", "!!str"),
        ("a: ! y\n", "tag", "!"),
        ("%YAML 1.1\n---\na: 1\n", "directive", "%YAML 1.1"),
        ("%FOO x # y\n---\na: 1\n", "directive", "%FOO x # y"),
        ("%TAG ! tag:x,2000:\n---\na: 1\n", "directive", "%TAG ! tag:x,2000:"),
        ("[a, b]: c\n", "complex-key", "[a, b]"),
        ("{a: b}: c\n", "complex-key", "{a: b}"),
        ("a: 1\n? b\n: c\n", "complex-key", "?"),
        ("x: {? b : c}\n", "complex-key", "?"),
        (": x\n", "no-key", ""),
        ("&x a: 1\nb: *x\n", "anchored-key", "&x"),
        ("x: &a k\n*a : 1\n", "alias-key", "*a"),
        ("x: &a [*a]\n", "alias-cycle", "*a"),
        ("x: &a {b: [*a]}\n", "alias-cycle", "*a"),
        ("x: *nowhere\n", "unknown-alias", "*nowhere"),
        ("x: &lost text\n", "unused-anchor", "&lost"),
        ("x: &a 1\ny: &a 2\nz: *a\n", "duplicate-anchor", "&a"),
        ("", "empty-file", ""),
        ("# nothing\n", "empty-file", ""),
        ("a: \u{200B}x\n", "hidden-character", "\u{200B}"),
        ("a: \"x\\x07\"\n", "hidden-character", "\"x\\x07\""),
        ("a: [b, { \"\\u202E\": c }]\n", "hidden-character", "\"\\u202E\""),
    ] {
        let found = found(text);
        assert!(found.contains(&(code, mark.to_string())), "{text:?}: {found:?}");
    }
}

#[test]
fn what_is_harmless_is_read() {
    for text in [
        "%YAML 1.2\n---\na: 1\n...\n",
        "---\na: 1\n",
        "a: what ?\nb: 1\n",
        "a: 1 # why ? because\nb: 1\n",
        "a: x ? y\n",
        "'<<': 1\n",
        "a: &x {k: 1}\nb: 2\n",
        "a: '%LFL'\nb: 40 %LFL\n",
        "a: x & y * z ! @ `\n",
        "a: b\r\nc:\r\n  - d\r\n",
        "needs: [K1 = closed, K2 = closed]\n",
    ] {
        assert_eq!(found(text), [], "{text:?}");
    }
}

#[test]
fn an_alias_yields_a_copy_at_the_place_of_the_alias() {
    let text = "a: &x {k: [1, 2]}\nb: *x\nc: &y t\nd: [*y]\n";
    let source = Source::new("m", text);
    let node = read(&source, &Limits::default()).unwrap();
    let (a, b) = (value(&node, "a"), value(&node, "b"));
    assert_eq!(source.slice(b.span), "*x");
    assert_eq!(a.kind, b.kind);
    let NodeKind::Sequence(items) = &value(&node, "d").kind else { panic!() };
    assert_eq!((source.slice(items[0].span), items[0].text()), ("*y", Some("t")));
}

/// The problems of a text that must be refused, however large what it stands for is.
fn refused(text: String, limits: Limits) -> Vec<Problem> {
    read(&Source::new("m", text), &limits).unwrap_err()
}

#[test]
fn deep_nesting_is_refused_at_once() {
    let block: String = (0..1000).map(|i| format!("{}a:\n", " ".repeat(i))).collect();
    for text in
        ["[".repeat(10_000), "{a: ".repeat(10_000), "- ".repeat(10_000), block, "[{a: ".repeat(10_000)]
    {
        let problems = refused(text, Limits::default());
        assert_eq!(problems.len(), 1, "{problems:?}");
        assert!(problems[0].message.contains("nested"), "{problems:?}");
    }
    let at_limit = format!("{}{}", "[".repeat(64), "]".repeat(64));
    assert!(read(&Source::new("m", at_limit), &Limits::default()).is_ok());
    let above = format!("{}{}", "[".repeat(65), "]".repeat(65));
    assert!(read(&Source::new("m", above), &Limits::default()).is_err());
}

#[test]
fn alias_bombs_are_refused_at_once() {
    let mut text = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n".to_string();
    for i in 1..40 {
        let items = vec![format!("*a{}", i - 1); 9].join(", ");
        text += &format!("a{i}: &a{i} [{items}]\n");
    }
    let problems = refused(text, Limits::default());
    assert_eq!(problems[0].code, "too-many-nodes");
    let chain: String =
        (1..100).map(|i| format!("a{i}: &a{i} [*a{}]\n", i - 1)).fold("a0: &a0 [x]\n".into(), |a, b| a + &b);
    assert_eq!(refused(chain, Limits::default())[0].code, "too-deep");
}

#[test]
fn long_texts_and_many_nodes_are_refused_at_their_place() {
    let limits = Limits::default();
    let problems = refused(format!("a: 1\nb: {}\n", "a".repeat(100_000)), limits.clone());
    assert_eq!((problems[0].code, problems[0].span.start), ("too-long", 8));
    let problems = refused("a: 1\n".repeat(200), Limits { nodes: 100, ..limits.clone() });
    assert!(problems.iter().any(|p| p.code == "too-many-nodes"));
    let problems = refused("a".repeat(2000), Limits { bytes: 1000, ..limits.clone() });
    assert_eq!(problems[0].code, "too-large");
    let problems = refused("a: 1\n".repeat(5000), limits);
    assert_eq!(problems.last().map(|p| p.code), Some("more-problems"));
}

#[test]
fn a_comma_that_cuts_a_value_in_two_gets_one_message_at_its_place() {
    let told = |text: &str| {
        let source = Source::new("m", text);
        let problems = read(&source, &Limits::default()).err().unwrap_or_default();
        let one = |p: &Problem| {
            let (after, _) = p.also.first().map(|(span, _)| (source.slice(*span), ())).unwrap_or(("", ()));
            let at = p.span.start;
            format!(
                "{} {at} {} | {after} | {}",
                p.code,
                source.slice(p.span),
                p.help.as_deref().unwrap_or("")
            )
        };
        problems.iter().map(one).collect::<Vec<_>>().join("\n")
    };
    assert_eq!(
        told("C: { when: 2oo3(A >= 1 ppm, B >= 1 ppm, D >= 1 ppm), solver: S }\n"),
        "comma-in-value 26 , | B >= 1 ppm | put the text in quotation marks: `\"2oo3(A >= 1 ppm, B >= 1 ppm, D >= 1 ppm)\"`"
    );
    assert_eq!(
        told("C: { title: exhaust damper, spring return }\n"),
        "comma-in-value 26 , | spring return | put the text in quotation marks: `\"exhaust damper, spring return\"`"
    );
    assert_eq!(
        told("C: { range: 0 .. 10 K, accuracy: 1,5 K, x: y }\n"),
        "comma-in-value 34 , | 5 K | write a decimal point: `1.5 K`"
    );
    // Each value has its own message, and pieces that are alike are no keys given twice.
    assert_eq!(told("C: { a: x, y, y, b: z, w }\n").lines().count(), 2);
    // Commas that cut nothing: in quotes, outside brackets, in a list, before a key, after a block.
    assert_eq!(
        told("C: { title: \"a, b\", b: c }\nd: a, b\ne: [f, g]\nh: { i: {}, j: k, l: , m: [n], }\n"),
        ""
    );
    // Tags without a value are no rest of a text.
    assert!(!told("C: { CR-1, CR-2 }\n").contains("comma"));
    assert!(!told("C: { CR-1: {}, CR-2 }\n").contains("comma"));
    assert!(!told("C: { title: a, response:5 ms }\n").contains("comma"));
}

#[test]
fn common_slips_are_named_where_they_are() {
    for (text, words, mark) in [
        ("a:\n\tb: 1\n", "a tab", "\t"),
        ("a: 1\n\tb: 2\n", "a tab", "\t"),
        ("a:\n  b: 1\n \tc: 2\n", "a tab", "\t"),
        ("a:1\nb: 2\n", "space is missing after the colon", ":"),
        ("x:\n  a: 1\n  b:2\n  c: 3\n", "space is missing after the colon", ":"),
        ("a: \"x\nb: 2\n", "a quote is opened here and never closed", "\""),
        ("a: \"x\nb: \"y\"\n", "a quote is opened here and not closed on its line", "\""),
        ("a: [x, y\nb: 2\n", "a bracket is opened here and never closed", "["),
        ("a: {x: 1, y: 2\nb: 2\n", "a bracket is opened here and never closed", "{"),
        ("x: [a\n", "a bracket is opened here and never closed", "["),
        ("a: [x}\n", "the bracket `[` is closed by `}`", "["),
        (
            "a: { b: [x], c: y] }\n",
            "this `]` closes a list that was not opened: the last bracket opened is `{`",
            "]",
        ),
        ("a:\n  b:{ c: d, e: f }\n", "a space is missing after the colon", ":"),
        ("a:\n  b:{ c: [d] }\n", "a space is missing after the colon", ":"),
        ("a: ]\n", "never opened", "]"),
        ("a: b: c\n", "a value contains a colon followed by a space", ":"),
        ("a: %x\n", "cannot start with `%`", "%x"),
        ("a: @x\n", "cannot start with `@`", "@x"),
        ("a: `x`\n", "cannot start with ``", "`x`"),
        ("a: {x} y\n", "text follows after the end of the value", "y"),
        ("a: 'x' y\n", "text follows after the closing quote", "y"),
        ("a: 'the pack's own'\n", "closed by an apostrophe", "'"),
        ("a: { b: \"x, c: \"y\" }\n", "closed only by the quote of a later value", "\""),
        ("a: \"\\q\"\n", "backslash", "\""),
        ("a: 1\n  b: 2\n", "`b` is indented deeper", "b"),
        ("a:\n    b: 1\n  c: 2\n", "indented by 2 spaces, like nothing above it", "c:"),
        ("a: 1\nb\nc: 2\n", "`b` has no colon", "b"),
        ("a: - b\n", "a dash starts a list item", "-"),
        ("- a\nb: 1\n", "no item of it", "b:"),
        ("a: 1\n- b\n", "a list item stands among keys", "-"),
        ("k: {a: 1 b: 2}\n", "a comma or the closing bracket", ":"),
        ("[a, , b]", "nothing stands before this comma", ","),
        ("ü: °\nb: %y\n", "cannot start with `%`", "%y"),
    ] {
        let source = Source::new("m", text);
        let problems = read(&source, &Limits::default()).unwrap_err();
        assert!(
            problems.iter().any(|p| p.message.contains(words) && source.slice(p.span) == mark),
            "{text:?}: {:?}",
            problems.iter().map(|p| (&p.message, source.slice(p.span))).collect::<Vec<_>>()
        );
        assert!(problems.iter().all(|p| p.help.is_some()));
    }
}

#[test]
fn after_a_slip_the_search_goes_on_at_the_next_section() {
    let text = "a: %x\nb: 1\nb: 2\nc:\n  - @y\nd: [1, 2\ne: *gone\nf: !t x\n";
    assert_eq!(
        found(text),
        [
            ("not-yaml", "%x".to_string()),
            ("duplicate-key", "b".to_string()),
            ("not-yaml", "@y".to_string()),
            ("not-yaml", "[".to_string()),
            ("unknown-alias", "*gone".to_string()),
            ("tag", "!t".to_string()),
        ]
    );
}

#[test]
fn a_bounded_search_says_that_it_ended() {
    let problems = refused("a: %x\n".repeat(200), Limits::default());
    assert_eq!(problems.len(), MOST_SLIPS + 1);
    assert_eq!(problems.iter().filter(|p| p.code == "more-problems").count(), 1);
}

#[test]
fn an_anchor_before_a_slip_is_remembered_after_it() {
    assert_eq!(messages("a: &x {k: 1}\nb: %y\nc: *x\n").len(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn reading_never_panics_and_places_are_on_characters(text in "\\PC{0,80}|[-a-c:?&*!|>'\"%@`,\\[\\]{}# \n\t\u{e9}]{0,60}") {
        let source = Source::new("m", text.clone());
        match read(&source, &Limits::default()) {
            Ok(node) => {
                let mut out = Vec::new();
                slices(&source, &node, &mut out);
                prop_assert!(text.get(node.span.start..node.span.end).is_some());
            }
            Err(problems) => {
                prop_assert!(!problems.is_empty());
                for p in problems {
                    prop_assert!(text.get(p.span.start..p.span.end).is_some(), "{p:?}");
                }
            }
        }
    }
}
