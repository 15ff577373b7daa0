//! The errors that `tests/on-purpose/run` puts into the program still apply: each text stands exactly once in its file.
//!
//! Whether each is caught takes hours of building; the script sees to that.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

#[derive(Default)]
struct Entry {
    head: String,
    file: String,
    before: Vec<String>,
    after: Vec<String>,
}

/// The entries, read as the script reads them.
fn entries() -> Vec<Entry> {
    let (mut found, mut part): (Vec<Entry>, char) = (Vec::new(), ' ');
    for line in include_str!("on-purpose/errors.txt").lines() {
        if let Some(head) = line.strip_prefix("== ") {
            found.push(Entry { head: head.into(), ..Entry::default() });
            part = 'f';
            continue;
        }
        let Some(entry) = found.last_mut() else { continue };
        match (line, line.strip_prefix("| ")) {
            ("<", _) => part = '<',
            (">", _) => part = '>',
            (_, Some(text)) if part == '<' => entry.before.push(text.into()),
            (_, Some(text)) if part == '>' => entry.after.push(text.into()),
            (text, None) if part == 'f' && !text.is_empty() && !text.starts_with('#') => {
                entry.file = text.into()
            }
            _ => {}
        }
    }
    found
}

#[test]
fn every_error_on_purpose_still_applies() {
    let mut wrong = Vec::new();
    for Entry { head, file, before, after } in entries() {
        let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(&file)).unwrap_or_default();
        let (before, after) = (before.join("\n"), after.join("\n"));
        if before.is_empty() || before == after || text.matches(&before).count() != 1 {
            wrong.push(format!("{head}: stands {} times in {file}", text.matches(&before).count()));
        }
    }
    assert!(wrong.is_empty(), "tests/on-purpose/errors.txt:\n{}", wrong.join("\n"));
}

#[test]
fn every_part_of_the_program_has_errors_put_into_it() {
    let mut sections: BTreeMap<String, usize> = BTreeMap::new();
    for entry in entries() {
        *sections.entry(entry.head.split(": ").next().unwrap().to_string()).or_default() += 1;
    }
    for section in ["encoding", "simulator", "reader", "diagram", "carrying over"] {
        assert!(sections.get(section).is_some_and(|count| *count >= 5), "{section}: {sections:?}");
    }
}
