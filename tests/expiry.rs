//! Acceptances of several findings, and what changes when a day is given for which expiries are judged.
//! Common practice, no source: a register entry is valid up to and including its last day.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude_on;
use tripproof::date::Date;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::Outcome;
use tripproof::report::{Entry, json, text};
use tripproof::source::Source;

const FLAWED: &str = include_str!("../models/first-guard-flawed.yaml");
const CELL: &str = include_str!("../models/drying-cell.yaml");

fn outcome(model: &str, day: Option<&str>) -> Outcome {
    let source = Source::new("model.yaml", model);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    conclude_on(source, model, &assessment, engine.name(), day.map(|day| Date::parse(day).unwrap()))
}

/// The flawed guard with one acceptance for all its findings, valid until the end of March 2027.
fn accepted(more: &str) -> String {
    let plain = outcome(FLAWED, None);
    let ids: Vec<String> = plain.findings.iter().map(|finding| plain.finding_id(finding)).collect();
    assert!(ids.len() > 2, "{ids:?}");
    format!(
        "{FLAWED}\naccepted:\n  ACC-1: {{ findings: [\"{}\"], modes: [running, standstill, cleaning], reason: new guard in April, by: plant manager, expires: 2027-03-31 }}\n{more}",
        ids.join("\", \"")
    )
}

/// The text report with single spaces, so that where its lines break does not matter.
fn in_words(entries: &[Entry]) -> String {
    text::render(entries, false, true).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn found(outcome: &Outcome, check: Check) -> Vec<&str> {
    let of = outcome.findings.iter().filter(|finding| finding.check == check);
    of.map(|finding| finding.sentence.as_str()).collect()
}

fn marked(outcome: &Outcome, check: Check) -> &str {
    let finding = outcome.findings.iter().find(|finding| finding.check == check).unwrap();
    outcome.source.slice(finding.place)
}

#[test]
fn one_acceptance_covers_several_findings_which_stay_listed_and_counted() {
    let before = outcome(FLAWED, None);
    let after = outcome(&accepted(""), None);
    assert_eq!(after.findings.len(), before.findings.len());
    assert_eq!(after.open_findings().count(), 0);
    assert_eq!(after.exit_code(), 0);
    assert_eq!(after.counts().accepted, before.counts().refuted);
    let findings = after.findings.len();
    let sentence = after.findings[0].sentence.clone();
    let report = in_words(&[Entry::Examined(Box::new(after))]);
    assert!(
        report.contains(&format!("0 open, {findings} accepted")) && report.contains(&sentence),
        "{report}"
    );
    assert!(report.contains("until 2027-03-31 (expiry not judged: no date given)"), "{report}");
}

#[test]
fn an_id_that_matches_nothing_is_named_at_its_place() {
    let text = accepted("").replace("findings: [", "findings: [no-such/-/X, \"other/-/Y\", ");
    let outcome = outcome(&text, None);
    let sentences = found(&outcome, Check::AcceptanceWithoutFinding);
    assert_eq!(sentences, ["ACC-1 accepts `no-such/-/X` and `other/-/Y`, and there are no such findings."]);
    assert_eq!(marked(&outcome, Check::AcceptanceWithoutFinding), "no-such/-/X");
}

#[test]
fn the_last_day_still_counts_and_the_next_one_opens_what_was_accepted() {
    let text = accepted("");
    let last = outcome(&text, Some("2027-03-31"));
    assert_eq!((last.open_findings().count(), last.exit_code()), (0, 0));
    let next = outcome(&text, Some("2027-04-01"));
    assert!(next.findings.iter().all(|finding| finding.accepted.is_none()));
    assert_eq!(next.exit_code(), 1);
    let sentences = found(&next, Check::AcceptanceExpired);
    assert_eq!(sentences.len(), 1);
    assert!(
        sentences[0].starts_with("ACC-1 counts until 2027-03-31, and that day has passed; `"),
        "{sentences:?}"
    );
    assert!(sentences[0].ends_with(" are open again."), "{sentences:?}");
    assert_eq!(marked(&next, Check::AcceptanceExpired), "2027-03-31");
    // It still matches its findings.
    assert!(found(&next, Check::AcceptanceWithoutFinding).is_empty());
}

#[test]
fn another_acceptance_that_is_valid_keeps_a_finding_accepted() {
    let one = "fault-defeats-protection/H-CRUSH/ZS-1";
    let text = accepted(&format!(
        "  ACC-2: {{ finding: {one}, modes: [running, standstill, cleaning], reason: watched by a second person, by: plant manager, expires: 2027-12-31 }}\n"
    ));
    let outcome = outcome(&text, Some("2027-04-01"));
    let id =
        |id: &str| outcome.findings.iter().find(|f| outcome.finding_id(f) == id).unwrap().accepted.clone();
    assert_eq!(id(one).as_deref(), Some("ACC-2"));
    assert!(!found(&outcome, Check::AcceptanceExpired)[0].contains(one));
}

#[test]
fn what_results_rest_on_is_judged_only_with_a_day() {
    let text = CELL.replace(
        "evidence: heat only enters through the heater",
        "evidence: heat only enters through the heater\n    expires: 2026-12-31",
    );
    let plain = outcome(&text, None);
    assert!(found(&plain, Check::AssumptionExpired).is_empty());
    let report = in_words(&[Entry::Examined(Box::new(plain))]);
    for day in ["until 2026-12-31", "until 2027-06-30", "not judged: no date was given"] {
        assert!(report.contains(day), "{day} in {report}");
    }
    let on_the_day = outcome(&text, Some("2026-12-31"));
    assert!(found(&on_the_day, Check::AssumptionExpired).is_empty());
    let later = outcome(&text, Some("2027-07-01"));
    assert_eq!(
        found(&later, Check::AssumptionExpired),
        [
            "The assumption A-1 may be relied on until 2027-06-30, and that day has passed.",
            "The coupling CPL-1 may be relied on until 2026-12-31, and that day has passed.",
            "The fault exclusion FX-1 may be relied on until 2027-06-30, and that day has passed.",
        ]
    );
    assert_eq!(marked(&later, Check::AssumptionExpired), "2027-06-30");
    let entries = [Entry::Examined(Box::new(later))];
    let report = in_words(&entries);
    assert!(report.contains("2027-07-01; expiries are judged for this day"), "{report}");
    assert!(!report.contains("not judged"), "{report}");
    let report: serde_json::Value = serde_json::from_str(&json::render(&entries, "solver", 1)).unwrap();
    assert_eq!(report["models"][0]["date"], "2027-07-01");
}

#[test]
fn an_acceptance_names_findings_in_exactly_one_way() {
    let problems = |fields: &str| {
        let text =
            format!("{FLAWED}\naccepted:\n  ACC-1: {{ {fields}reason: r, by: b, expires: 2027-03-31 }}\n");
        let source = Source::new("model.yaml", text);
        let found = load(&source).err().unwrap_or_default();
        assert!(found.iter().all(|problem| problem.help.is_some()));
        found.iter().map(|p| format!("{} @ {}", p.code, source.slice(p.span))).collect::<Vec<_>>()
    };
    assert_eq!(problems("finding: a, "), [""; 0]);
    assert_eq!(problems("findings: [a, b], "), [""; 0]);
    assert_eq!(problems(""), ["missing-key @ ACC-1"]);
    assert_eq!(problems("finding: a, findings: [b], "), ["contradiction @ a"]);
    assert_eq!(problems("findings: [], "), ["empty-list @ []"]);
    assert_eq!(problems("findings: [a, a], "), ["named-twice @ a"]);
}
