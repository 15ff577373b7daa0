//! One direction of flow: what each part of the program may know, and the one home of each outside library.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The parts in the order of the flow: each may use only those in lines above its own (and itself).
/// `finding` and `check` are one step: a finding carries the name of its check.
const LAYERS: &[&[&str]] = &[
    &["date", "exact", "source"],
    &["problem", "graph", "physics"],
    &["unit"],
    &["syntax"],
    &["reference"],
    &["model"],
    &["load", "situation", "claim", "dependencies"],
    &["term", "replay"],
    &["semantics", "engine"],
    &["analysis"],
    &["witness"],
    &["outcome", "finding", "check", "explain", "assess", "conclude"],
    &["report"],
    &["cli"],
    &["run"],
];

/// Within the last steps of telling, who may use whom.
const TELLING: &[(&str, &[&str])] = &[
    ("finding", &["check"]),
    ("outcome", &["finding"]),
    ("assess", &["outcome"]),
    ("explain", &["assess", "finding", "outcome"]),
    ("check", &["assess", "explain", "finding", "outcome"]),
    ("conclude", &["assess", "check", "explain", "finding", "outcome"]),
];

/// Meaning is written twice: neither side may see the other.
const APART: &[(&str, &str)] = &[
    ("semantics", "replay"),
    ("replay", "semantics"),
    ("replay", "engine"),
    ("replay", "term"),
    ("semantics", "engine"),
    ("check", "engine"),
    ("check", "report"),
    ("report", "assess"),
    ("report", "engine"),
];

/// Each outside library and the only places that may name it.
const HOMES: &[(&str, &[&str])] = &[
    ("granit_parser", &["src/syntax"]),
    ("serde_yaml", &["src/syntax"]),
    ("petgraph", &["src/graph"]),
    ("z3", &["src/engine"]),
    ("miette", &["src/report/terminal"]),
    ("clap", &["src/cli"]),
];

fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => walk(&path, found),
                false if path.extension().is_some_and(|e| e == "rs") => found.push(path),
                false => {}
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    walk(&root.join("src"), &mut paths);
    paths.sort();
    let relative = |path: &Path| path.strip_prefix(root).unwrap().to_path_buf();
    paths.iter().map(|path| (relative(path), fs::read_to_string(path).unwrap())).collect()
}

/// The text without its test module and without comments. Test files of a part may use what they need.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or("");
    text.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

fn part(path: &Path) -> String {
    let first = path.components().nth(1).unwrap().as_os_str().to_string_lossy().into_owned();
    first.trim_end_matches(".rs").to_string()
}

fn is_test(path: &Path) -> bool {
    path.components()
        .any(|c| c.as_os_str() == "tests" || c.as_os_str() == "tests.rs" || c.as_os_str() == "samples.rs")
}

/// The parts that a file names as `crate::part`.
fn used(text: &str) -> BTreeSet<String> {
    code(text)
        .split("crate::")
        .skip(1)
        .map(|rest| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>())
        .filter(|name| !name.is_empty())
        .collect()
}

fn layer(part: &str) -> usize {
    let found = LAYERS.iter().position(|layer| layer.contains(&part));
    found.unwrap_or_else(|| panic!("`{part}` has no place in LAYERS"))
}

#[test]
fn every_part_uses_only_what_stands_before_it() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let part = part(&path);
        if is_test(&path) || part == "main" || part == "lib" {
            continue;
        }
        for other in used(&text).into_iter().filter(|other| *other != part) {
            let telling = TELLING.iter().any(|(from, to)| *from == part && to.contains(&other.as_str()));
            if layer(&other) >= layer(&part) && !telling {
                wrong.push(format!("{} uses `{other}`", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn what_must_not_see_each_other_does_not() {
    for (path, text) in sources().into_iter().filter(|(path, _)| !is_test(path)) {
        for (from, to) in APART {
            assert!(!(part(&path) == *from && used(&text).contains(*to)), "{} uses `{to}`", path.display());
        }
    }
}

#[test]
fn each_outside_library_has_one_home() {
    for (path, text) in sources() {
        for (library, homes) in HOMES {
            let named = code(&text).contains(&format!("{library}::"))
                || code(&text).contains(&format!("use {library}"));
            let home =
                homes.iter().any(|home| path.starts_with(home) || path == Path::new(&format!("{home}.rs")));
            assert!(!named || home, "{} names {library}", path.display());
        }
    }
}

#[test]
fn the_core_reads_no_clock_and_no_environment_and_prints_nothing() {
    for (path, text) in sources().into_iter().filter(|(path, _)| !is_test(path)) {
        if ["run", "main", "cli"].contains(&part(&path).as_str()) {
            continue;
        }
        for word in ["std::time", "SystemTime", "Instant::", "std::env", "println!", "eprintln!", "std::fs"] {
            assert!(!code(&text).contains(word), "{} uses {word}", path.display());
        }
    }
}
