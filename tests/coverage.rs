//! docs/coverage.md: for each class of the catalogue of logic-design errors the check that finds it and the model that
//! shows it, or why it is open. Made from tests/classes; `TRIPPROOF_WRITE_DOCS=1` writes it anew.
//!
//! That the models show what they say is what `tests/classes.rs` and `tests/hall_k` test.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "coverage/catalogue.rs"]
mod catalogue;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use catalogue::{CATALOGUE, Group, OPEN, REFUSED};
use serde::Deserialize;
use tripproof::check::Check;
use tripproof::load::load;
use tripproof::source::Source;

#[derive(Deserialize)]
struct Planted {
    class: String,
    check: String,
    #[serde(default)]
    also: Vec<String>,
    base: String,
}

fn root(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The models of tests/classes, by class: name of the file and what it says.
fn shown() -> BTreeMap<String, Vec<(String, Planted)>> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(root("tests/classes")).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "yaml"));
    paths.sort();
    let mut shown: BTreeMap<String, Vec<(String, Planted)>> = BTreeMap::new();
    for path in paths {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let planted: Planted = serde_yaml::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        shown.entry(planted.class.clone()).or_default().push((name, planted));
    }
    shown
}

fn classes() -> impl Iterator<Item = (&'static str, &'static str)> {
    CATALOGUE.iter().flat_map(|group: &Group| group.classes.iter().copied())
}

/// Checks that are of themselves about the class come first, then what follows from it.
fn row(id: &str, what: &str, shown: &BTreeMap<String, Vec<(String, Planted)>>) -> String {
    let empty = Vec::new();
    let models = shown.get(id).unwrap_or(&empty);
    let mut checks: Vec<&str> = Vec::new();
    for (_, planted) in models {
        if !checks.contains(&planted.check.as_str()) {
            checks.push(&planted.check);
        }
    }
    let link = |check: &&str| format!("[{check}](checks/{check}.md)");
    let mut found: Vec<String> = checks.iter().map(link).collect();
    let mut where_: Vec<String> =
        models.iter().map(|(name, _)| format!("[{name}](../tests/classes/{name})")).collect();
    if let Some((_, code, _)) = REFUSED.iter().find(|(class, ..)| *class == id) {
        found.push(format!("refused when the model is read (`{code}`)"));
        where_.push("tests/coverage.rs".into());
    }
    if let Some((_, reason)) = OPEN.iter().find(|(class, _)| *class == id) {
        found.push(format!("open: {reason}"));
    }
    let dash = |list: Vec<String>| if list.is_empty() { "–".to_string() } else { list.join(", ") };
    format!("| {id} | {what} | {} | {} |\n", dash(found), dash(where_))
}

fn page() -> String {
    let shown = shown();
    let decided = classes()
        .filter(|(id, _)| shown.contains_key(*id) || REFUSED.iter().any(|(class, ..)| class == id))
        .count();
    let all = classes().count();
    let mut text = format!(
        "# What is found\n\n<!-- Made from tests/classes by tests/coverage.rs; TRIPPROOF_WRITE_DOCS=1 writes it anew. -->\n\n\
         Classes of errors in interlock logic, {all} in {} groups, common practice unless a test names a source. For each \
         class: the checks that find it and a model that shows it, which is a change to a model that is in order; or why \
         it is open. {decided} are found today, {} are open. A class counts as found if the test model is found; no list \
         of classes is complete, and no class is found in every shape that it can take.\n",
        CATALOGUE.len(),
        all - decided
    );
    for Group { title, classes } in CATALOGUE {
        write!(text, "\n## {title}\n\n| class | error | found by | shown by |\n|---|---|---|---|\n").unwrap();
        for (id, what) in *classes {
            text.push_str(&row(id, what, &shown));
        }
    }
    text
}

#[test]
fn the_page_of_what_is_found_is_current() {
    let path = root("docs/coverage.md");
    let text = page();
    if std::env::var_os("TRIPPROOF_WRITE_DOCS").is_some() {
        fs::write(&path, &text).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap_or_default() == text,
        "docs/coverage.md is not current; run: TRIPPROOF_WRITE_DOCS=1 cargo test --test coverage"
    );
}

#[test]
fn every_class_is_found_or_open_for_a_reason() {
    let shown = shown();
    let ids: BTreeSet<&str> = classes().map(|(id, _)| id).collect();
    assert_eq!(ids.len(), 143);
    assert_eq!(classes().count(), 143);
    for id in &ids {
        let found = shown.contains_key(*id) || REFUSED.iter().any(|(class, ..)| class == id);
        let open = OPEN.iter().any(|(class, _)| class == id);
        assert!(found != open, "{id}: found {found}, open {open}");
    }
    for id in shown.keys().map(String::as_str).chain(OPEN.iter().map(|(id, _)| *id)) {
        assert!(ids.contains(id), "{id} is no class");
    }
    for (name, planted) in shown.values().flatten() {
        for check in planted.also.iter().chain([&planted.check]) {
            assert!(Check::by_name(check).is_some(), "{name}: no check `{check}`");
        }
        assert!(!planted.base.is_empty());
    }
}

#[test]
fn classes_that_the_language_refuses_are_refused() {
    for (id, code, change) in REFUSED {
        let (from, to) = change;
        let cell = fs::read_to_string(root("models/drying-cell.yaml")).unwrap();
        assert_eq!(cell.matches(from).count(), 1, "{id}");
        let problems = load(&Source::new("cell.yaml", cell.replacen(from, to, 1))).unwrap_err();
        assert!(problems.iter().any(|problem| problem.code == *code), "{id}: {problems:?}");
    }
}

/// The classes that must be decided by claims, as the issue lists them.
#[test]
fn the_classes_that_a_review_must_find_are_found() {
    let shown = shown();
    let wanted = "R1 R3 R5 R6 R7 R8 R10 I1 I2 I3 I4 I5 I6 I7 I9 I11 I16 K1 K2 K3 K5 K6 K7 K8 D1 D2 D4 D5 D6 \
                  V1 V2 V3 V4 O1 O2 O6 O8 O9 M1 M5 S1 H1 H2 H3 E1 E2 E3 E5 E6 P1";
    for id in wanted.split_whitespace() {
        assert!(shown.contains_key(id), "{id} has no model in tests/classes");
    }
}
