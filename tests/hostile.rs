//! Files made to exhaust the machine end with a message, or are read; they never overflow the stack or run on.
//!
//! No test measures time: that it ends is what is asserted.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fmt::Write;
use std::fs::{self, File};
use std::path::Path;

use tripproof::load::load;
use tripproof::problem::Problem;
use tripproof::source::Source;
use tripproof::syntax::yaml::{Limits, from_bytes};

const GUARD: &str = include_str!("../models/first-guard.yaml");

fn problems(text: String) -> Vec<Problem> {
    load(&Source::new("hostile.yaml", text)).err().unwrap_or_default()
}

/// That some problem has this code, and that all have words.
fn refused(text: String, code: &str) {
    let found = problems(text);
    let codes: Vec<_> = found.iter().take(10).map(|p| (p.code, p.message.as_str())).collect();
    assert!(found.iter().any(|p| p.code == code), "{codes:?}");
    assert!(found.iter().all(|p| !p.message.is_empty() && p.message.len() < 2000 && p.help.is_some()));
}

/// The guard model with another condition for its first cause.
fn condition(when: &str) -> String {
    let line = "  C-GUARD-A: { title: guard not closed, when: ZS-1A = detected, solver: SC-1, latched: true, \
                reset: PB-1, credited_for: [H-CRUSH], demands: [E-STOP-A] }";
    assert!(GUARD.contains(line));
    let block = format!(
        "  C-GUARD-A:\n    title: guard not closed\n    when: {when}\n    solver: SC-1\n    latched: true\n    \
         reset: PB-1\n    credited_for: [H-CRUSH]\n    demands: [E-STOP-A]"
    );
    GUARD.replace(line, &block)
}

#[test]
fn the_changed_condition_itself_is_right() {
    let found = problems(condition("ZS-1A = detected"));
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn an_alias_bomb_is_counted_as_what_it_stands_for() {
    let mut text = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for level in 1..30 {
        let part = format!("*a{}", level - 1);
        let parts = vec![part; 10].join(", ");
        let _ = writeln!(text, "a{level}: &a{level} [{parts}]");
    }
    refused(text, "too-many-nodes");
}

#[test]
fn ten_thousand_brackets_in_brackets_are_too_deep() {
    refused(format!("language: {}{}\n", "[".repeat(10_000), "]".repeat(10_000)), "too-deep");
    refused(format!("language: {}", "[".repeat(10_000)), "too-deep");
    refused(format!("language: {}1", "{ a: ".repeat(10_000)), "too-deep");
}

#[test]
fn ten_thousand_blocks_in_blocks_are_too_deep() {
    // Deeper than the limit is enough; every level costs its indentation, so the file stays below the size limit.
    let mut text = String::new();
    for level in 0..5_000 {
        let _ = writeln!(text, "{}a:", " ".repeat(level));
    }
    refused(text, "too-deep");
    refused(format!("language:\n  {}x\n", "- ".repeat(10_000)), "too-deep");
}

#[test]
fn two_hundred_megabytes_of_one_value_on_disk_are_refused_by_their_size() {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("two-hundred-megabytes.yaml");
    File::create(&path).unwrap().set_len(200 << 20).unwrap();
    let bytes = fs::read(&path).unwrap();
    fs::remove_file(&path).unwrap();
    let refused = from_bytes("large.yaml", &bytes, &Limits::default()).unwrap_err();
    assert_eq!(refused.problems.len(), 1);
    assert_eq!(refused.problems[0].code, "too-large");
    assert_eq!(refused.source.text(), "");
}

#[test]
fn a_value_of_fifteen_megabytes_is_too_long() {
    refused(format!("language: {}\n", "9".repeat(15 << 20)), "too-long");
}

#[test]
fn gigantic_numbers_are_refused_where_they_stand() {
    for number in ["9".repeat(60_000), format!("0.{}1", "0".repeat(60_000)), "1e999999999".to_string()] {
        let text = GUARD.replace("within: 300 ms", &format!("within: {number} ms"));
        let at = text.find(&number).unwrap();
        let found = problems(text);
        assert!(found.iter().any(|p| p.span.start == at), "{:?}", found.first().map(|p| p.code));
    }
    let text = GUARD.replace("disjoint_paths: 2", &format!("disjoint_paths: {}", "9".repeat(60_000)));
    assert!(!problems(text).is_empty());
    assert!(!problems(condition(&format!("ZS-1A >= {} mm", "7".repeat(60_000)))).is_empty());
    assert!(!problems(condition(&format!("{0}oo{0}(ZS-1A)", "7".repeat(20_000)))).is_empty());
}

#[test]
fn ten_thousand_parentheses_are_too_deep() {
    let when = format!("{}ZS-1A = detected{}", "(".repeat(10_000), ")".repeat(10_000));
    refused(condition(&when), "expression-syntax");
    refused(condition(&format!("{}ZS-1A", "NOT ".repeat(10_000))), "expression-syntax");
    refused(condition(&"(".repeat(10_000)), "expression-syntax");
    refused(condition(&")".repeat(10_000)), "expression-syntax");
}

#[test]
fn a_vote_over_a_hundred_thousand_conditions_is_refused_as_too_long() {
    let operands = vec!["ZS-1A"; 100_000].join(", ");
    refused(condition(&format!("2oo100000({operands})")), "too-long");
}

#[test]
fn a_vote_over_six_thousand_conditions_ends() {
    let operands = vec!["ZS-1A"; 6_000].join(", ");
    let _ = problems(condition(&format!("2oo6000({operands})")));
    let _ = problems(condition(&vec!["ZS-1A = detected"; 3_000].join(" AND ")));
}

/// The guard model with `count` causes of which each names the one before.
fn chain(count: usize) -> String {
    let mut causes = String::from("\ncauses:\n");
    for i in 1..=count {
        let when = if i == 1 { "ZS-1A = detected".to_string() } else { format!("C-{}", i - 1) };
        let _ = writeln!(
            causes,
            "  C-{i}: {{ title: step, when: {when}, solver: SC-1, latched: false, credited_for: [H-CRUSH], demands: [E-STOP-A] }}"
        );
    }
    GUARD.replace("\ncauses:\n", &causes)
}

#[test]
fn a_hundred_causes_in_a_row_are_a_model() {
    let found = problems(chain(101));
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn two_thousand_causes_in_a_row_are_too_many_and_marked_where_they_become_so() {
    let text = chain(2_000);
    let source = Source::new("chain.yaml", text.as_str());
    let found = load(&source).unwrap_err();
    assert_eq!(found.len(), 1, "{:?}", found.first());
    assert_eq!((found[0].code, source.slice(found[0].span)), ("row-too-long", "C-101"));
}

#[test]
fn eight_thousand_causes_in_a_ring_or_a_row_do_not_exhaust_the_stack() {
    let row = chain(8_000);
    refused(row.clone(), "row-too-long");
    refused(row.replacen("when: ZS-1A = detected", "when: C-8000", 1), "ring-of-causes");
}
