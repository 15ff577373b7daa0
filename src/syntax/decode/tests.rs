#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
//! Tests of decoding: all mistakes of a file in one run, each at its place and in words.

use std::collections::BTreeMap;

use proptest::prelude::*;
use serde::Deserialize;

use super::*;
use crate::source::{Source, Span};
use crate::syntax::leaf::{At, List, Scalar, Table};
use crate::syntax::yaml::{Limits, read};

#[derive(Debug, Deserialize)]
struct Model {
    system: System,
    sensors: Option<Table<Sensor>>,
    stops: Option<Table<At<Stop>>>,
    notes: Option<Vec<String>>,
}

#[derive(Debug, Deserialize)]
struct System {
    title: Scalar,
    revision: Option<Scalar>,
}

#[derive(Debug, Deserialize)]
struct Sensor {
    range: Scalar,
    supply: Scalar,
    wired_to: List<Scalar>,
    on_loss: Option<Loss>,
    test: Option<Test>,
    steps: Option<List<Step>>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Loss {
    High,
    Low,
    Hold(Scalar),
}

#[derive(Debug, Deserialize)]
struct Test {
    every: Scalar,
}

#[derive(Debug, Deserialize)]
struct Step {
    go: Scalar,
    after: At<Scalar>,
}

#[derive(Debug, Deserialize)]
struct Stop {
    contacts: u8,
    dual: Option<bool>,
    pair: Option<(Scalar, Scalar)>,
    free: Option<BTreeMap<String, i64>>,
}

fn all(text: &str) -> (Source, Model, Vec<Problem>) {
    let source = Source::new("m", text);
    let node = read(&source, &Limits::default()).unwrap();
    let mut problems = Vec::new();
    let model = decode(&node, &mut problems).unwrap();
    (source, model, problems)
}

/// Code, marked text and message of every problem.
fn listed(text: &str) -> Vec<(&'static str, String, String)> {
    let (source, _, problems) = all(text);
    problems.into_iter().map(|p| (p.code, source.slice(p.span).to_string(), p.message)).collect()
}

fn check(text: &str, expected: &[(&str, &str, &str)]) {
    let got = listed(text);
    let got: Vec<_> = got.iter().map(|(c, s, m)| (*c, s.as_str(), m.as_str())).collect();
    assert_eq!(got, expected);
}

#[test]
fn a_correct_file_is_read_with_places() {
    let text =
        "system: { title: Prüfhalle, revision: \"B\" }\nsensors:\n  GD-1:\n    range: 0 .. 100 %LFL\n    \
                supply: 24V-A\n    wired_to: [SL-1, SL-2]\n    on_loss: hold: 3 s\n"
            .replace("on_loss: hold: 3 s", "on_loss: { hold: 3 s }");
    let (source, model, problems) =
        all(&format!("{text}stops: {{ES-1: {{contacts: 2, dual: true, pair: [a, b], free: {{x: -1}}}}}}\n"));
    assert_eq!(problems, []);
    assert_eq!(model.system.title.text, "Prüfhalle");
    assert!(model.system.revision.as_ref().unwrap().quoted);
    let sensors = model.sensors.unwrap();
    assert!(source.slice(sensors.span).starts_with("GD-1:\n"));
    let (tag, sensor) = &sensors.entries[0];
    assert_eq!((tag.text.as_str(), source.slice(tag.span)), ("GD-1", "GD-1"));
    assert_eq!(source.slice(sensor.wired_to.span), "[SL-1, SL-2]");
    assert_eq!(source.slice(sensor.wired_to.items[1].span), "SL-2");
    assert!(matches!(&sensor.on_loss, Some(Loss::Hold(s)) if s.text == "3 s" && !s.broken));
    assert!(sensor.test.is_none() && sensor.steps.is_none() && model.notes.is_none());
    let stop = &model.stops.unwrap().entries[0].1;
    assert_eq!(source.slice(stop.span), "{contacts: 2, dual: true, pair: [a, b], free: {x: -1}}");
    assert_eq!((stop.value.contacts, stop.value.dual), (2, Some(true)));
    assert_eq!(stop.value.pair.as_ref().unwrap().1.text, "b");
    assert_eq!(stop.value.free.as_ref().unwrap()["x"], -1);
}

#[test]
fn all_mistakes_of_a_file_show_in_one_run() {
    let text = "systm: x\nsensors:\n  GD-1: { rnge: 1, supply: [24V-A], wired_to: SL-1 }\n  GD-2:\n    range:\n    \
                supply: {a: b}\n    wired_to: [[x], '']\n    on_loss: hihg\n    test: yes\n    steps:\n    \
                - go: ü\n    - {after: 1 s}\n  GD-3:\n  GD-4: []\n";
    check(
        text,
        &[
            ("unknown-key", "systm", "the file takes no key `systm`"),
            ("wrong-shape", "x", "`system` takes a block of keys, but one value stands here"),
            ("unknown-key", "rnge", "`GD-1` takes no key `rnge`"),
            ("wrong-shape", "[24V-A]", "`supply` of `GD-1` takes one value, but a list stands here"),
            ("wrong-shape", "SL-1", "`wired_to` of `GD-1` takes a list, but one value stands here"),
            ("empty-value", "range", "`range` of `GD-2` is empty"),
            ("wrong-shape", "{a: b}", "`supply` of `GD-2` takes one value, but a block of keys stands here"),
            ("wrong-shape", "[x]", "item 1 of `wired_to` takes one value, but a list stands here"),
            ("unknown-word", "hihg", "`on_loss` of `GD-2` cannot be `hihg`"),
            ("wrong-shape", "yes", "`test` of `GD-2` takes a block of keys, but one value stands here"),
            ("missing-key", "", "item 1 of `steps` has no `after`"),
            ("missing-key", "", "item 2 of `steps` has no `go`"),
            ("empty-value", "GD-3", "`GD-3` of `sensors` is empty"),
            ("wrong-shape", "[]", "`GD-4` of `sensors` takes a block of keys, but a list stands here"),
        ],
    );
    let (_, model, _) = all(text);
    assert!(model.system.title.broken && model.system.revision.is_none());
    let sensors = model.sensors.unwrap().entries;
    assert_eq!(sensors.len(), 4);
    assert!(
        sensors[0].1.range.text == "1"
            && sensors[0].1.supply.broken
            && sensors[0].1.wired_to.items.is_empty()
    );
    assert!(matches!(sensors[1].1.on_loss, Some(Loss::High)));
    assert!(sensors[1].1.test.as_ref().unwrap().every.broken);
    let steps = &sensors[1].1.steps.as_ref().unwrap().items;
    assert!(steps[0].after.value.broken && !steps[0].go.broken && steps[1].go.broken);
    assert!(sensors[2].1.range.broken);
    assert!(!sensors[1].1.wired_to.items[1].broken);
}

#[test]
fn a_misspelt_field_is_read_as_the_one_it_is_nearest_to() {
    let found = |sensor: &str| {
        let text = format!("system: {{title: x}}\nsensors: {{ GD-1: {sensor} }}\n");
        let (_, model, problems) = all(&text);
        let range = model.sensors.unwrap().entries[0].1.range.clone();
        let codes: Vec<_> = problems.iter().map(|p| p.code).collect();
        (codes, range.text)
    };
    let rest = "supply: 24V-A, wired_to: [SL-1]";
    assert_eq!(found(&format!("{{ rnge: 1, {rest} }}")), (vec!["unknown-key"], "1".into()));
    assert_eq!(found(&format!("{{ range:1, {rest} }}")), (vec!["unknown-key"], String::new()));
    // The right name counts, wherever it stands; only one of two misspelt ones is taken.
    assert_eq!(found(&format!("{{ rnge: 1, range: 2, {rest} }}")), (vec!["unknown-key"], "2".into()));
    assert_eq!(found(&format!("{{ rnge: 1, ramge: 2, {rest} }}")), (vec!["unknown-key"; 2], "1".into()));
    // A key that is near to none leaves the field missing.
    assert_eq!(found(&format!("{{ colour: 1, {rest} }}")).0, ["missing-key", "unknown-key"]);
}

#[test]
fn help_names_the_way_out() {
    let text = "systm: x\nsensors:\n  GD-1: { rnge: 1, supply: [24V-A], wired_to: SL-1, colour: x, on_loss: hihg,\n    \
                test: 7, range:1 }\n";
    let (source, _, problems) = all(text);
    let help = |mark: &str| {
        problems
            .iter()
            .find(|p| source.slice(p.span) == mark && p.code != "missing-key")
            .unwrap()
            .help
            .clone()
            .unwrap()
    };
    assert_eq!(help("systm"), "did you mean `system`?");
    assert_eq!(help("rnge"), "did you mean `range`?");
    assert_eq!(help("[24V-A]"), "write one value, such as `supply: 24V-A`");
    assert_eq!(help("SL-1"), "write `wired_to: [SL-1]`");
    assert_eq!(help("colour"), "possible keys: `range`, `supply`, `wired_to`, `on_loss`, `test`, `steps`");
    assert_eq!(help("hihg"), "did you mean `high`?");
    assert_eq!(help("7"), "write `test: { key: value }`, or `key: value` in lines below");
    assert_eq!(help("range:1"), "a space is missing after the colon: write `range: 1`");
}

#[test]
fn an_empty_optional_value_is_a_problem_at_its_key() {
    let text = "system: {title: x}\nsensors:\nnotes:\n  -\n  - y\n";
    check(
        text,
        &[
            ("empty-value", "sensors", "`sensors` is empty"),
            ("empty-value", "", "item 1 of `notes` is empty"),
        ],
    );
    assert_eq!(all(text).1.notes.unwrap(), ["", "y"]);
}

#[test]
fn numbers_answers_and_counts_are_checked() {
    let text = "system: {title: x}\nstops:\n  A: {contacts: 300, dual: maybe, pair: [a], free: {x: 1, y: z}}\n  \
                B: {contacts: '-'}\n  C: {contacts: 2, pair: [a, b, c]}\n";
    check(
        text,
        &[
            ("wrong-value", "300", "`contacts` of `A` takes a whole number, and `300` is none"),
            ("wrong-value", "maybe", "`dual` of `A` takes `true` or `false`, and `maybe` is none"),
            ("wrong-shape", "[a]", "`pair` of `A` takes 2 items, and 1 stand here"),
            ("wrong-value", "z", "`y` of `free` takes a whole number, and `z` is none"),
            ("wrong-value", "'-'", "`contacts` of `B` takes a whole number, and `-` is none"),
            ("wrong-shape", "[a, b, c]", "`pair` of `C` takes 2 items, and 3 stand here"),
        ],
    );
}

#[test]
fn enums_with_a_value_are_checked() {
    let sensor = |loss: &str| {
        format!(
            "system: {{title: x}}\nsensors: {{A: {{range: 1, supply: b, wired_to: [], on_loss: {loss}}}}}\n"
        )
    };
    check(&sensor("hold"), &[("missing-key", "hold", "`on_loss` has no `hold`")]);
    check(&sensor("{high: 1}"), &[("wrong-shape", "1", "`high` takes no value")]);
    check(&sensor("{hlod: 1}"), &[("unknown-word", "hlod", "`on_loss` of `A` cannot be `hlod`")]);
    check(
        &sensor("{a: 1, b: 2}"),
        &[(
            "wrong-shape",
            "{a: 1, b: 2}",
            "`on_loss` of `A` takes one word, but a block of keys stands here",
        )],
    );
    assert!(listed(&sensor("low")).is_empty());
}

#[test]
fn a_root_of_another_shape_is_one_problem() {
    check("[a]\n", &[("wrong-shape", "[a]", "the file takes a block of keys, but a list stands here")]);
    check("text\n", &[("wrong-shape", "text", "the file takes a block of keys, but one value stands here")]);
}

#[test]
fn problems_already_there_stay_and_all_are_sorted() {
    let source = Source::new("m", "system: {title: x}\nnots: 1\n");
    let node = read(&source, &Limits::default()).unwrap();
    let mut problems = vec![Problem::new("x", Span::new(27, 28), "late", "here")];
    let _: Option<Model> = decode(&node, &mut problems);
    assert_eq!(problems.iter().map(|p| p.code).collect::<Vec<_>>(), ["unknown-key", "wrong-shape", "x"]);
}

#[test]
fn mistakes_in_an_anchored_block_are_reported_once_where_they_stand() {
    let text =
        "system: {title: x}\nsensors:\n  A: &a {range: 1, supply: b, wired_to: [], colour: c}\n  B: *a\n";
    check(text, &[("unknown-key", "colour", "`A` takes no key `colour`")]);
}

const SAMPLE: &str = "system: { title: Prüfhalle, revision: \"B\" }\nsensors:\n  GD-1: &a\n    range: 0 .. 100 %LFL\n    \
    supply: 24V-A\n    wired_to: [SL-1, 'x: y']\n    on_loss: { hold: 3 s }\n    steps:\n      - { go: x, after: 1 s }\n      \
    - go: |\n          y\n        after: 2\n  GD-2: *a\nstops:\n  ES: { contacts: 2, free: {a: 1} }\nnotes: [a, b]\n";

fn never_panics(text: &str) -> Result<(), TestCaseError> {
    let source = Source::new("m", text);
    let problems = match read(&source, &Limits::default()) {
        Err(problems) => {
            prop_assert!(!problems.is_empty());
            problems
        }
        Ok(node) => {
            let mut problems = Vec::new();
            prop_assert!(decode::<Model>(&node, &mut problems).is_some(), "{problems:?}");
            problems
        }
    };
    for problem in problems {
        prop_assert!(text.get(problem.span.start..problem.span.end).is_some(), "{problem:?}");
        prop_assert!(problem.help.is_some() && !problem.label.is_empty());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn mutated_models_never_panic(cuts in prop::collection::vec((0usize..420, 0usize..6, "[-:?&*!|>'\"%@,\\[\\]{}# \na0\u{e9}\t]{0,3}"), 1..4)) {
        let mut text: Vec<char> = SAMPLE.chars().collect();
        for (at, length, insert) in cuts {
            let at = at.min(text.len());
            let end = (at + length).min(text.len());
            text.splice(at..end, insert.chars());
        }
        never_panics(&text.into_iter().collect::<String>())?;
    }

    #[test]
    fn swapped_lines_never_panic(order in Just((0..16usize).collect::<Vec<_>>()).prop_shuffle(), indent in 0usize..6) {
        let lines: Vec<&str> = SAMPLE.lines().collect();
        let text: String = order.iter().map(|i| format!("{}{}\n", " ".repeat((i * indent) % 5), lines[i % lines.len()].trim_start())).collect();
        never_panics(&text)?;
    }

    #[test]
    fn arbitrary_text_never_panics(text in "\\PC{0,60}") {
        never_panics(&text)?;
    }
}
