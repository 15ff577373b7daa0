//! Laws that hold between two models whatever they are: over random models, the engine is asked twice and must agree
//! with itself. Our own laws, from the definitions in docs/meaning.md; no published source.
//! `TRIPPROOF_LAWS=N` tries N models instead of some hundred.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "oracle/generate.rs"]
mod generate;
#[path = "oracle/random.rs"]
mod random;

use std::collections::BTreeMap;

use tripproof::assess::{Assessment, assess};
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::Model;
use tripproof::outcome::{Paths, Tolerance};
use tripproof::source::Source;

/// Models for each law.
const MODELS: u64 = 150;

fn texts() -> impl Iterator<Item = (u64, String)> {
    let models = std::env::var("TRIPPROOF_LAWS").ok().and_then(|text| text.parse().ok()).unwrap_or(MODELS);
    // Other models than those of the oracle.
    let models = (0..models).map(|seed| (seed, generate::generate(1_000_000 + seed)));
    models.inspect(|(_, model)| assert!(!model.options.is_empty())).map(|(seed, model)| (seed, model.text))
}

fn decide(text: &str) -> (Model, Assessment) {
    let model = load(&Source::new("m.yaml", text)).unwrap_or_else(|problems| panic!("{problems:#?}\n{text}"));
    let assessment = assess(&model, &Smt::new(50_000_000).unwrap()).unwrap();
    assert!(assessment.disputes.is_empty(), "{text}");
    (model, assessment)
}

/// Every claim in words with its verdict, and the cut sets of every hazard and mode.
fn told(text: &str) -> BTreeMap<String, String> {
    told_as(text, &|tag| tag.to_string())
}

/// As [`told`], with the tags in the cut sets called otherwise.
fn told_as(text: &str, call: &dyn Fn(&str) -> String) -> BTreeMap<String, String> {
    let (model, assessment) = decide(text);
    let mut told = BTreeMap::new();
    for found in &assessment.hazards {
        let Some(numbers) = &found.numbers else { continue };
        let mut cuts: Vec<Vec<String>> = numbers
            .cuts
            .iter()
            .map(|cut| {
                let mut tags: Vec<String> =
                    cut.iter().map(|source| call(&model.source_tag(*source))).collect();
                tags.sort();
                tags
            })
            .collect();
        cuts.sort();
        let about =
            format!("{} in {}", model.hazards[found.hazard].name.tag, model.modes[found.mode].name.tag);
        let paths = (numbers.tolerance, numbers.paths);
        told.insert(format!("cut sets of {about}"), format!("{paths:?} {cuts:?}"));
    }
    let source = Source::new("m.yaml", text);
    let outcome = conclude(source, model, &assessment, Smt::new(1).unwrap().name());
    for judged in &outcome.claims {
        told.insert(judged.statement.clone(), judged.verdict.word().to_string());
    }
    told
}

fn same(seed: u64, first: &BTreeMap<String, String>, second: &BTreeMap<String, String>, text: &str) {
    for (what, verdict) in first {
        assert_eq!(second.get(what), Some(verdict), "seed {seed}: {what}\n{text}");
    }
    assert_eq!(first.len(), second.len(), "seed {seed}\n{text}");
}

/// The text with the entries of each section in the opposite order.
fn turned(text: &str) -> String {
    let mut turned = String::new();
    let mut entries: Vec<&str> = Vec::new();
    for line in text.lines() {
        if line.starts_with("  ") {
            entries.push(line);
            continue;
        }
        entries.drain(..).rev().for_each(|entry| turned += &format!("{entry}\n"));
        turned += &format!("{line}\n");
    }
    entries.into_iter().rev().for_each(|entry| turned += &format!("{entry}\n"));
    turned
}

#[test]
fn the_order_of_declarations_decides_nothing() {
    for (seed, text) in texts() {
        same(seed, &told(&text), &told(&turned(&text)), &text);
    }
}

/// Tags of generated models, and others that sort the other way round.
const NAMES: &[(&str, &str)] = &[
    ("X1", "QZ9"),
    ("X2", "QZ8"),
    ("X3", "QZ7"),
    ("A1", "QY9"),
    ("A2", "QY8"),
    ("S1", "QX9"),
    ("S2", "QX8"),
    ("C1", "QW9"),
    ("C2", "QW8"),
    ("C3", "QW7"),
    ("U1", "QV9"),
    ("U2", "QV8"),
    ("U3", "QV7"),
];

/// Replaces whole tags.
fn renamed(text: &str, names: &[(&str, &str)]) -> String {
    let mut result = String::new();
    let mut word = String::new();
    let of_tag = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    for c in text.chars().chain(['\n']) {
        if of_tag(c) {
            word.push(c);
            continue;
        }
        // The effects are named for their actuators.
        let stem = word.strip_prefix("TRIP-").unwrap_or(&word);
        match names.iter().find(|(old, _)| *old == stem) {
            Some((_, new)) => result += &word.replace(stem, new),
            None => result += &word,
        }
        word.clear();
        result.push(c);
    }
    result.pop();
    result
}

#[test]
fn names_decide_nothing() {
    let back: Vec<(&str, &str)> = NAMES.iter().map(|(old, new)| (*new, *old)).collect();
    let call = |tag: &str| renamed(tag, &back);
    // Within a sentence the order of tags follows their names: its words are compared, whatever their order.
    let words = |sentence: &str| {
        let mut words: Vec<&str> = sentence.split([' ', ',', '.']).collect();
        words.sort_unstable();
        words.join(" ")
    };
    for (seed, text) in texts() {
        let by_words = |told: BTreeMap<String, String>| -> Vec<(String, String)> {
            let mut all: Vec<(String, String)> =
                told.into_iter().map(|(what, verdict)| (words(&call(&what)), verdict)).collect();
            all.sort();
            all
        };
        let others = by_words(told_as(&renamed(&text, NAMES), &call));
        assert_eq!(by_words(told(&text)), others, "seed {seed}\n{text}");
    }
}

#[test]
fn a_new_mode_adds_only_its_own_results() {
    for (seed, text) in texts() {
        let first = told(&text);
        let mut wider =
            text.replacen("run: { people: never", "more: { people: never }, run: { people: never", 1);
        wider = match wider.contains("not_in: {") {
            true => wider.replacen("not_in: {", "not_in: { more: nothing moves,", 1),
            false => wider.replacen(", safe_state:", ", not_in: { more: nothing moves }, safe_state:", 1),
        };
        let second = told(&wider);
        for (what, verdict) in &first {
            // A claim over all situations may be broken in the new mode; what is broken stays broken, and what can
            // happen still can.
            let Some(now) = second.get(what) else {
                // Single marks are asked only where not all marks of a cause matter at once; now they may.
                assert!(what.starts_with("In some situation only"), "seed {seed}: {what}\n{text}");
                continue;
            };
            let in_mode = what.starts_with("cut sets") || what.contains(" in mode ");
            if in_mode || verdict != "proved" {
                let can = verdict == "refuted" && now == "proved" && !in_mode;
                let arises = verdict == "not applicable" && !in_mode;
                assert!(
                    now == verdict || can || arises,
                    "seed {seed}: {what}: {verdict}, then {now}\n{text}"
                );
            }
        }
    }
}

#[test]
fn one_more_trip_that_nothing_opposes_never_makes_it_worse() {
    for (seed, text) in texts() {
        let theme = text.contains("when: hot,");
        let (sensor, atom) = match theme {
            true => ("detects: hot", "X9"),
            false => ("measures: p, range: 0 .. 10 bar, accuracy: 0 bar", "X9 >= 1 bar"),
        };
        let mut better = text
            .replacen("logic_solvers:\n", "logic_solvers:\n  S9: { title: S9 }\n", 1)
            .replacen("sensors:\n", &format!("sensors:\n  X9: {{ {sensor}, wired_to: [S9] }}\n"), 1)
            .replacen(
                "actuators:\n",
                "actuators:\n  A9: { positions: [off, on], without_energy: off, operated_by: process, drivers: [S9] }\n",
                1,
            )
            .replacen("effects:\n", "effects:\n  TRIP-A9: { set: [A9 = off] }\n", 1);
        let cause = format!(
            "causes:\n  C9: {{ when: {atom}, solver: S9, latched: false, credited_for: [H], demands: [TRIP-A9] }}"
        );
        better = match better.contains("causes: {}") {
            true => better.replacen("causes: {}", &cause, 1),
            false => better.replacen("causes:", &cause, 1),
        };
        let start = better.find("safe_state: \"").unwrap() + 13;
        let end = start + better[start..].find('"').unwrap();
        better.replace_range(start..end, &format!("({}) OR A9 = off", &text_between(&text)));
        let ((_, first), (_, second)) = (decide(&text), decide(&better));
        for (before, after) in first.hazards.iter().zip(&second.hazards) {
            let rank = |tolerance| match tolerance {
                Tolerance::None => 0,
                Tolerance::Exactly(faults) | Tolerance::AtLeast(faults) => faults + 1,
            };
            let (Some(before), Some(after)) = (&before.numbers, &after.numbers) else { continue };
            assert!(rank(after.tolerance) >= rank(before.tolerance), "seed {seed}\n{text}\n{better}");
            if let (Paths::Exactly(before), Paths::Exactly(after)) = (before.paths, after.paths) {
                assert!(after >= before, "seed {seed}\n{text}\n{better}");
            }
        }
    }
}

/// The safe state of the only hazard.
fn text_between(text: &str) -> &str {
    let start = text.find("safe_state: \"").unwrap() + 13;
    &text[start..start + text[start..].find('"').unwrap()]
}

#[test]
fn the_same_model_is_told_in_the_same_words_every_time() {
    // Several faults would do here, and which one is told must not depend on chance.
    let cell = include_str!("../models/drying-cell.yaml")
        .replacen("inputs: [GD-1, GD-2, GD-3]", "inputs: [TT-1, TS-2]", 1)
        .replacen("  fault_tolerance: 1\n", "  fault_tolerance: 1\n  under_overrides: 1\n", 1);
    let report = || {
        let (model, assessment) = decide(&cell);
        let outcome = conclude(Source::new("m.yaml", cell.as_str()), model, &assessment, String::new());
        format!("{:?}", outcome.findings)
    };
    let first = report();
    assert!(first.contains("OverrideRemovesProtection"));
    for _ in 0..8 {
        assert!(report() == first);
    }
}

/// In general splitting a supply can make things worse: conformance case 6, kept as a model.
#[test]
fn splitting_a_supply_can_make_things_worse() {
    let cell = |sensors: &str, others: &str, supplies: &str| {
        format!(
            "language: 1\nsystem: {{ title: Split, revision: A }}\npolicy: {{ disjoint_paths: 1, fault_tolerance: 0 }}\n\
             modes: {{ bay: {{ run: {{ people: never }} }} }}\nquantities: {{ p: {{ range: 0 .. 10 bar }} }}\n\
             supplies: {supplies}\nlogic_solvers:\n  S1: {{ supply: {others} }}\n  S2: {{ supply: {others} }}\n\
             sensors:\n  X1: {{ measures: p, range: 0 .. 10 bar, accuracy: 0 bar, wired_to: [S1], supply: {sensors}, on_loss: low }}\n  \
             X2: {{ measures: p, range: 0 .. 10 bar, accuracy: 0 bar, wired_to: [S2], supply: {sensors}, on_loss: low }}\n\
             actuators:\n  A1: {{ positions: [off, on], without_energy: off, operated_by: process, drivers: [S1], supply: {others} }}\n  \
             A2: {{ positions: [off, on], without_energy: off, operated_by: process, drivers: [S2], supply: {others} }}\n\
             effects: {{ T1: {{ set: [A1 = off] }}, T2: {{ set: [A2 = off] }} }}\ncauses:\n  \
             C1: {{ when: X1 >= 5 bar, solver: S1, latched: false, credited_for: [H], demands: [T1] }}\n  \
             C2: {{ when: X2 >= 5 bar, solver: S2, latched: false, credited_for: [H], demands: [T2] }}\n\
             hazards: {{ H: {{ when: p >= 6 bar, exists_in: {{ bay: [run] }}, safe_state: A1 = off OR A2 = off }} }}\n"
        )
    };
    let tolerance = |text: &str| decide(text).1.hazards[0].numbers.as_ref().unwrap().tolerance;
    assert_eq!(tolerance(&cell("U1", "U1", "{ U1: {} }")), Tolerance::Exactly(1));
    assert_eq!(tolerance(&cell("U1", "U2", "{ U1: {}, U2: {} }")), Tolerance::Exactly(0));
}
