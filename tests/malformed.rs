//! What an engineer reads after a realistic slip: every file of `tests/malformed` with its problems as plain text.
//!
//! The snapshots are read by people: would an engineer without a programming background know what to do? To write
//! them anew after reading: `INSTA_UPDATE=always cargo test --test malformed`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fmt::Write;
use std::fs;

use tripproof::load::load;
use tripproof::source::{Source, Span};

/// Line, column and the marked text, cut to one line.
fn place(source: &Source, span: Span) -> String {
    let at = source.place(span.start);
    let marked: String = source.slice(span).chars().take(60).collect();
    format!("{}:{} `{}`", at.line, at.column, marked.replace('\n', "⏎"))
}

#[test]
fn every_slip_is_explained() {
    let files = fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/malformed")).unwrap();
    let yaml = |e: &fs::DirEntry| e.path().extension().is_some_and(|x| x == "yaml");
    assert!(files.filter(|e| yaml(e.as_ref().unwrap())).count() >= 40);
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::glob!("malformed/*.yaml", |path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let source = Source::new(name.as_str(), fs::read_to_string(path).unwrap());
            let problems = load(&source).err().unwrap_or_default();
            assert!(!problems.is_empty(), "{name} is a model");
            let mut text = String::new();
            for p in &problems {
                let _ = writeln!(text, "{name}:{} [{}]", place(&source, p.span), p.code);
                let _ = writeln!(text, "  {}", p.message);
                let _ = writeln!(text, "  mark: {}", p.label);
                for (span, label) in &p.also {
                    let _ = writeln!(text, "  also: {} {label}", place(&source, *span));
                }
                let _ = writeln!(text, "  help: {}\n", p.help.as_deref().unwrap_or("(none)"));
            }
            insta::assert_snapshot!(text);
        });
    });
}
