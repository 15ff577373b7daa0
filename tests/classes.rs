//! Classes of design errors: each file of `tests/classes` plants one in a model that is otherwise in order, and names
//! the check that must complain. The classes are those of the catalogue of logic-design errors (V6, D1, …): common
//! practice unless a file names a source.
//!
//! A file has `class`, `shows` (one line for `docs/coverage.md`), `base` (a model of `models/`, or of
//! `tests/classes/base/`), `change` (a list of `from` and `to`; every `from` occurs exactly once in the base) and
//! * `check` and `finds`: the check that must complain, and the ids of all findings that the base has not; or
//! * `finds: []` alone: it looks like the class and is none, and no check complains; or
//! * `refused`: words of the problem with which the model is refused.
//!
//! With `marks`, the text of the model at which the finding stands. `TRIPPROOF_WRITE_DOCS=1` writes the page anew.
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

#[path = "classes/catalogue.rs"]
mod catalogue;
#[path = "classes/coverage.rs"]
mod coverage;
#[path = "support/keep.rs"]
mod keep;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Planted {
    class: String,
    shows: String,
    check: Option<String>,
    base: String,
    change: Vec<Change>,
    #[serde(default)]
    finds: BTreeSet<String>,
    refused: Option<String>,
    marks: Option<String>,
}

impl Planted {
    /// Whether something must complain.
    fn complains(&self) -> bool {
        self.check.is_some() || self.refused.is_some()
    }
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

/// What is wrong with a file that must be refused.
fn wrongly_accepted(name: &str, text: &str, words: &str) -> Option<String> {
    match load(&Source::new(name, text)) {
        Ok(_) => Some(format!("{name}: not refused")),
        Err(problems) => {
            let told = problems.iter().any(|problem| problem.message.contains(words));
            (!told).then(|| format!("{name}: refused, but not with `{words}`: {problems:#?}"))
        }
    }
}

/// What is wrong with the findings of a file.
fn wrongly_found(
    name: &str,
    planted: &Planted,
    new: &BTreeMap<String, (Check, String, String)>,
) -> Vec<String> {
    let mut wrong = Vec::new();
    let found: BTreeSet<&String> = new.keys().collect();
    let expected: BTreeSet<&String> = planted.finds.iter().collect();
    for id in expected.difference(&found) {
        wrong.push(format!("{name}: {id} is not found"));
    }
    for id in found.difference(&expected) {
        wrong.push(format!("{name}: nobody expects {id}: {}", new[*id].2));
    }
    let Some(check) = &planted.check else {
        if !planted.finds.is_empty() {
            wrong.push(format!("{name}: `finds` without `check`"));
        }
        return wrong;
    };
    let check = Check::by_name(check).unwrap_or_else(|| panic!("{name}: no check `{check}`"));
    let marked: Vec<&String> =
        new.values().filter(|(other, ..)| *other == check).map(|(_, marked, _)| marked).collect();
    if marked.is_empty() {
        wrong.push(format!("{name}: {} does not complain", check.name()));
    }
    if let Some(marks) = &planted.marks
        && !marked.contains(&marks)
    {
        wrong.push(format!("{name}: marks {marked:?}, not `{marks}`"));
    }
    wrong
}

#[test]
fn every_planted_error_is_found_and_nothing_else() {
    let mut bases: BTreeMap<String, BTreeMap<String, (Check, String, String)>> = BTreeMap::new();
    let mut wrong = Vec::new();
    for (name, planted) in planted() {
        assert!(name.starts_with(&format!("{}-", planted.class)), "{name} is of class {}", planted.class);
        let text = base(&planted.base);
        let changed = applied(&name, &text, &planted.change);
        if let Some(words) = &planted.refused {
            wrong.extend(wrongly_accepted(&name, &changed, words));
            continue;
        }
        let before =
            bases.entry(planted.base.clone()).or_insert_with(|| findings(&outcome(&planted.base, &text)));
        let mut new = findings(&outcome(&name, &changed));
        new.retain(|id, _| !before.contains_key(id));
        wrong.extend(wrongly_found(&name, &planted, &new));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What the day or an acceptance decides is shown in `tests/expiry.rs`.
#[test]
fn every_check_has_a_model_that_complains() {
    let told: BTreeSet<String> = planted().into_iter().filter_map(|(_, planted)| planted.check).collect();
    let elsewhere = [Check::AssumptionExpired, Check::AcceptanceExpired, Check::AcceptanceWithoutFinding];
    for check in Check::ALL.iter().filter(|check| !elsewhere.contains(check)) {
        assert!(told.contains(check.name()), "no file in tests/classes for {}", check.name());
    }
}

#[test]
fn every_class_of_the_catalogue_is_shown_or_open() {
    assert_eq!(coverage::number(), 143);
    let wrong = coverage::contradictions(&planted());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_page_of_coverage_is_current() {
    keep::keep("docs/coverage.md", &coverage::page(&planted()));
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
