//! Classes of design errors: each file of `tests/classes` plants one in a model that is otherwise in order, and names
//! the check that must complain. The classes are those of the catalogue of logic-design errors (V6, D1, …): common
//! practice unless a file names a source.
//!
//! A file has `class`, `check`, `base` (a model of `models/`, or of `tests/classes/base/`), `change` (a list of `from`
//! and `to`; every `from` occurs exactly once in the base) and, where they apply, `also` (other checks that must
//! complain too) and `marks` (the text of the model at which the finding stands).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;

use serde::Deserialize;
use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::Outcome;
use tripproof::source::Source;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Planted {
    class: String,
    check: String,
    base: String,
    change: Vec<Change>,
    #[serde(default)]
    also: Vec<String>,
    marks: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Change {
    from: String,
    to: String,
}

fn root(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn yaml_in(folder: &str) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(root(folder)).unwrap().map(|e| e.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "yaml"));
    paths.sort();
    paths
}

fn planted() -> Vec<(String, Planted)> {
    let read = |path: PathBuf| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(&path).unwrap();
        let planted = serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
        (name, planted)
    };
    yaml_in("tests/classes").into_iter().map(read).collect()
}

fn base(name: &str) -> String {
    let places = [root("models").join(name), root("tests/classes/base").join(name)];
    let found = places.iter().find(|path| path.exists()).unwrap_or_else(|| panic!("no base `{name}`"));
    fs::read_to_string(found).unwrap()
}

fn outcome(name: &str, text: &str) -> Outcome {
    let source = Source::new(name, text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{name}: {problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    let outcome = conclude(source, model, &assessment, engine.name());
    assert!(outcome.disagreements.is_empty(), "{name}");
    outcome
}

/// The findings by id: check, marked text and sentence.
fn findings(outcome: &Outcome) -> BTreeMap<String, (Check, String, String)> {
    let of = |finding: &tripproof::finding::Finding| {
        let marked = outcome.source.slice(finding.place).to_string();
        (outcome.finding_id(finding), (finding.check, marked, finding.sentence.clone()))
    };
    outcome.findings.iter().map(of).collect()
}

fn applied(name: &str, text: &str, changes: &[Change]) -> String {
    let mut text = text.to_string();
    for Change { from, to } in changes {
        assert_eq!(text.matches(from.as_str()).count(), 1, "{name}: `{from}` must occur exactly once");
        text = text.replacen(from.as_str(), to, 1);
    }
    text
}

#[test]
fn every_planted_error_is_found_and_nothing_else() {
    let mut bases: BTreeMap<String, BTreeMap<String, (Check, String, String)>> = BTreeMap::new();
    let mut wrong = String::new();
    for (name, planted) in planted() {
        assert!(name.starts_with(&format!("{}-", planted.class)), "{name} is of class {}", planted.class);
        let check = |name: &String| Check::by_name(name).unwrap_or_else(|| panic!("no check `{name}`"));
        let expected: BTreeSet<Check> = planted.also.iter().chain([&planted.check]).map(check).collect();
        let text = base(&planted.base);
        let before =
            bases.entry(planted.base.clone()).or_insert_with(|| findings(&outcome(&planted.base, &text)));
        let after = outcome(&name, &applied(&name, &text, &planted.change));
        let mut new = findings(&after);
        new.retain(|id, _| !before.contains_key(id));
        let found: BTreeSet<Check> = new.values().map(|(check, ..)| *check).collect();
        // A finding of the base whose elements have changed has another id and is no new kind of finding.
        let known: BTreeSet<Check> = before.values().map(|(check, ..)| *check).collect();
        let beyond =
            |checks: &BTreeSet<Check>| checks.difference(&known).copied().collect::<BTreeSet<Check>>();
        if beyond(&found) != beyond(&expected) || !found.contains(&check(&planted.check)) {
            wrong += &format!("{name}: expected {expected:?}\nfound {new:#?}\n");
        }
        if let Some(marks) = planted.marks {
            let own = check(&planted.check);
            let marked: Vec<&String> =
                new.values().filter(|(check, ..)| *check == own).map(|(_, marked, _)| marked).collect();
            if !marked.contains(&&marks) {
                wrong += &format!("{name}: marks {marked:?}, not `{marks}`\n");
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn every_check_about_structure_has_a_model_that_complains() {
    let told: BTreeSet<String> = planted().into_iter().map(|(_, planted)| planted.check).collect();
    let names = [
        "release-without-warning",
        "no-rescue-from-outside",
        "broken-line-reads-healthy",
        "bad-signal-counts-as-healthy",
        "energise-to-trip-line-not-monitored",
        "energise-to-trip-supply-not-secured",
        "set-points-differ-in-vote",
        "vote-degradation-not-declared",
        "override-without-limit",
        "override-with-people-inside",
        "one-key-over-two-trips",
        "cause-without-effect",
        "cause-without-credit",
        "input-not-read",
        "actuator-not-moved",
        "assumption-not-owned",
    ];
    for name in names {
        assert!(told.contains(name), "no file in tests/classes for {name}");
    }
}

#[test]
fn the_small_bases_are_in_order() {
    for path in yaml_in("tests/classes/base") {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let outcome = outcome(&name, &fs::read_to_string(&path).unwrap());
        assert!(outcome.findings.is_empty(), "{name}: {:#?}", findings(&outcome));
    }
}

/// What looks like a class and is none: no check complains.
#[test]
fn what_is_in_order_stays_silent() {
    let cell = "drying-cell.yaml";
    let cases = [
        // Two feeds are as good as one that says it is secured (DE-D3: not one supply).
        (
            cell,
            "fed_by: MAINS OR GEN-1, change_over: 15 s, secured: true, monitored: true }\n  400V-B",
            "fed_by: MAINS OR GEN-1, change_over: 15 s, monitored: true }\n  400V-B",
        ),
        // A secured feed is handed down.
        (
            cell,
            "fed_by: MAINS OR GEN-1, change_over: 15 s, secured: true, monitored: true }\n  400V-B",
            "fed_by: GEN-1 OR 24V-A, monitored: true }\n  400V-B",
        ),
        // A signal that is bad when its line is open, and trips when it is bad.
        (cell, "type: HEAD-Y, supply: 24V-B, on_loss: high,", "type: HEAD-Y, supply: 24V-B, on_loss: bad,"),
        // No automatic path, and nothing that counts on it.
        (cell, "latched: false, purpose: alarm,", "latched: false, purpose: backup,"),
        // Equal after all: NOT turns the relation round.
        (cell, "GD-2 >= 25 %LFL, GD-3 >= 25 %LFL)", "GD-2 >= 25 %LFL, NOT (GD-3 < 25 %LFL))"),
        // What the process alone moves, and no hazard counts on, is its own matter.
        (
            cell,
            "  DL-1: { title: door lock,",
            "  LP-1: { title: lamp, positions: [dark, lit], without_energy: dark, operated_by: process, drivers: [SL-1] }\n  DL-1: { title: door lock,",
        ),
        // A release that is armed only where nobody is needs no warning.
        (
            "mist.yaml",
            "warning: 20 s, warned_by: [HN-1], demand: unknown",
            "warning: 20 s, warned_by: [HN-1]",
        ),
    ];
    for (name, from, to) in cases {
        let change = [Change { from: from.into(), to: to.into() }];
        let outcome = outcome(name, &applied(name, &base(name), &change));
        let before = findings(&self::outcome(name, &base(name)));
        let mut new = findings(&outcome);
        new.retain(|id, _| !before.contains_key(id));
        assert!(new.is_empty(), "{to}: {new:#?}");
    }
}
