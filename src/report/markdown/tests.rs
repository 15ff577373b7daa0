//! The whole Markdown report of a loaded model, put together by hand so that every section has something to say, read
//! back by a Markdown parser: nothing of the text report is lost, and no word of a model changes the structure.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use proptest::prelude::*;

use crate::outcome::{Cell, Disagreement, Outcome, Verdict};
use crate::problem::Problem;
use crate::report::{Entry, samples, text};
use crate::source::{Source, Span};

#[path = "../../../tests/support/markdown.rs"]
mod read;

/// The sample, with a disagreement and a refuted claim without a finding besides.
fn outcome() -> Outcome {
    let mut outcome = samples::outcome();
    outcome.disagreements.push(Disagreement {
        claim: "H-IGNITION reaches its safe state in mode running of cell with no fault".into(),
        engine: vec![("solvent".into(), "60 %LFL".into())],
        simulator: "the safe state is reached".into(),
    });
    let mut untold = outcome.claims[2].clone();
    untold.finding = None;
    outcome.claims.push(untold);
    outcome
}

fn examined(outcome: Outcome) -> [Entry; 1] {
    [Entry::Examined(Box::new(outcome))]
}

fn report() -> String {
    super::render(&examined(outcome()))
}

#[test]
fn every_line_of_the_text_report_is_there() {
    let entries = examined(outcome());
    let missing = read::missing(&text::render(&entries, false, true), &super::render(&entries));
    // The only sentence of the text report that is about the text report.
    assert_eq!(missing.len(), 2, "{missing:#?}");
    assert!(missing[0].starts_with("This form of the report counts"), "{missing:#?}");
    assert!(missing[1].starts_with("list every claim") || missing[1].ends_with("verdict."), "{missing:#?}");
}

#[test]
fn every_claim_has_a_row_with_its_verdict() {
    let outcome = outcome();
    let shown = read::shown(&super::render(&examined(outcome.clone())));
    let from = shown.rfind("\nClaims\n").expect("the claims have a heading");
    for heading in [
        "Refuted claims (2)",
        "Refuted claims without a finding (1)",
        "Refuted claims that are accepted (1)",
        "Undecided claims (1)",
        "Proved claims (1)",
        "Claims that do not arise (1)",
    ] {
        assert!(shown[from..].contains(heading), "{heading} in\n{shown}");
    }
    for claim in &outcome.claims {
        let statement = claim.statement.replace('`', "");
        let rows = shown[from..].lines().filter(|line| **line == *statement).count();
        let same = outcome.claims.iter().filter(|other| other.statement == claim.statement).count();
        assert_eq!(rows, same, "{statement}");
    }
}

#[test]
fn what_a_finding_says_beyond_the_text_report_is_there_for_accepted_ones_too() {
    let shown = read::shown(&report());
    let accepted = &shown[shown.find("Accepted findings").unwrap()..shown.rfind("\nClaims\n").unwrap()];
    for words in [
        "ACC-1: Warning: loop-can-mask",
        "Reason: ",
        "Accepted by: plant manager",
        "2027-03-31",
        "cell.yaml:",
    ] {
        assert!(accepted.contains(words), "{words} in\n{accepted}");
    }
    let mut none = outcome();
    none.findings.retain(|finding| finding.accepted.is_none());
    assert!(super::render(&examined(none)).contains("No finding is accepted."));
}

#[test]
fn a_report_without_findings_or_claims_says_so() {
    let mut empty = outcome();
    empty.findings.clear();
    empty.claims.clear();
    let report = super::render(&examined(empty));
    assert!(report.contains("\n\nNo open finding.\n\n"), "{report}");
    assert!(report.contains("\n\nThe model gives rise to no claim.\n\n"), "{report}");
}

#[test]
fn models_that_could_not_be_examined_are_told_in_full() {
    let shown = read::shown(&super::render(&samples::entries()));
    for words in
        ["No report on wrong.yaml", "1 error in wrong.yaml; nothing was examined.", "name is no section"]
    {
        assert!(shown.contains(words), "{words} in\n{shown}");
    }
    for words in ["wrong.yaml:1:1", "Way out: remove it", "No report on gone.yaml", "no-such-file"] {
        assert!(shown.contains(words), "{words} in\n{shown}");
    }
}

#[test]
fn the_same_outcome_gives_the_same_bytes_without_trailing_spaces() {
    assert_eq!(report(), report());
    assert!(report().lines().all(|line| line == line.trim_end()));
    assert!(report().ends_with(".\n"));
}

/// Puts a text wherever a model, or a file's name, can put one.
fn filled(text: &str) -> [Entry; 3] {
    let mut outcome = outcome();
    let own = || text.to_string();
    let whole = outcome.source.text().to_string();
    outcome.source = Source::new(own(), whole);
    let system = &mut outcome.model.system;
    (system.title, system.revision, system.scope) = (own(), own(), Some(own()));
    (system.standards, system.limits_of_use) = (vec![own(), own()], vec![own()]);
    for id in outcome.model.hazards.ids().collect::<Vec<_>>() {
        outcome.model.hazards.get_mut(id).unwrap().name.tag = own();
        outcome.model.hazards.get_mut(id).unwrap().name.title = Some(own());
    }
    for id in outcome.model.modes.ids().collect::<Vec<_>>() {
        outcome.model.modes.get_mut(id).unwrap().name.tag = own();
    }
    for id in outcome.model.groups.ids().collect::<Vec<_>>() {
        outcome.model.groups.get_mut(id).unwrap().name.tag = own();
    }
    for acceptance in &mut outcome.model.accepted {
        acceptance.name.tag = own();
        (acceptance.reason, acceptance.by) = (own(), own());
    }
    for finding in &mut outcome.findings {
        (finding.sentence, finding.requirement) = (own(), Some(own()));
        finding.elements = vec![own(), own()];
        finding.accepted = finding.accepted.as_ref().map(|_| own());
        // Otherwise the ids, which are made of tags, decide which finding is told below which.
        finding.under = None;
        finding.witness.as_mut().unwrap().lines = vec![own(), own()];
        finding.also.iter_mut().for_each(|(_, label)| *label = own());
    }
    for claim in &mut outcome.claims {
        (claim.statement, claim.about) = (own(), Some(own()));
        claim.finding = claim.finding.as_ref().map(|_| own());
        claim.accepted = claim.accepted.as_ref().map(|_| own());
        if let Verdict::Undecided(reason) | Verdict::NotApplicable(reason) = &mut claim.verdict {
            *reason = own();
        }
    }
    for cell in outcome.table.values_mut() {
        if let Cell::Excluded(reason) = cell {
            *reason = own();
        }
    }
    for premise in &mut outcome.premises {
        (premise.tag, premise.text) = (Some(own()), own());
        (premise.owner, premise.expires) = (Some(own()), crate::date::Date::parse("2027-03-31").ok());
    }
    outcome.not_examined = vec![own(), own()];
    for dispute in &mut outcome.disagreements {
        (dispute.claim, dispute.simulator) = (own(), own());
        dispute.engine = vec![(own(), own())];
    }
    let problem = Problem::new("x", Span::new(0, 1), own(), own()).help(own()).also(Span::new(0, 1), own());
    [
        Entry::Examined(Box::new(outcome)),
        Entry::Refused { source: Source::new(own(), "x\n"), problems: vec![problem] },
        Entry::Failed { file: own(), code: "x", message: own() },
    ]
}

/// What Markdown, HTML and their dialects give a meaning to, and the characters that readers count as space.
const PIECES: &[&str] = &[
    "|",
    "||",
    "\\",
    "\\|",
    "`",
    "``",
    "```",
    "~~~",
    "*",
    "**",
    "_",
    "__",
    "~~",
    "#",
    "## ",
    "{#id}",
    "- ",
    "+ ",
    "* ",
    "1. ",
    "2) ",
    "> ",
    "===",
    "---",
    "***",
    "|---|",
    "[x](y)",
    "[ ] ",
    "[^1]",
    "[^1]: ",
    "[x]: y",
    "![",
    "](",
    "]",
    "<script>",
    "</td>",
    "<!--",
    "-->",
    "<br>",
    "<https://x.test>",
    "https://x.test",
    "&lt;",
    "&#124;",
    "$",
    "$$",
    "\n",
    "\n\n",
    "\r\n",
    "\t",
    "    ",
    "  \n",
    "\u{a0}",
    "\u{2028}",
    "\u{202e}",
    "\0",
    ":",
    ": ",
    "!",
    "a",
    "B",
    "7",
    "ü",
    " ",
    "@",
    "^",
    "%",
    "'",
    "\"",
];

fn hostile() -> impl Strategy<Value = String> {
    prop::collection::vec(prop::sample::select(PIECES), 1..10).prop_map(|pieces| pieces.concat())
}

/// The words as they should be shown.
fn expected(text: &str) -> String {
    crate::report::terminal::visible(&text.split_whitespace().collect::<Vec<_>>().join(" "))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_of_a_model_changes_the_structure(text in hostile()) {
        let plain = super::render(&filled("x"));
        let report = super::render(&filled(&text));
        prop_assert_eq!(read::structure(&report), read::structure(&plain), "{}", report);
    }

    #[test]
    fn every_text_of_a_model_is_shown_as_it_is(text in hostile()) {
        let words = expected(&text);
        prop_assume!(!words.is_empty());
        let shown = read::shown(&super::render(&filled(&text)));
        let title = format!("Report of findings on the interlock logic: {words}");
        prop_assert!(shown.lines().any(|line| line == title), "{}", shown);
        let reason = format!("Reason: {words}");
        prop_assert!(shown.lines().any(|line| line == reason), "{}", shown);
        // In cells: the heading of a mode, a tag, an owner.
        prop_assert!(shown.lines().filter(|line| **line == *words).count() > 5, "{}", shown);
        // A place is a code span, a sentence may hold some.
        let place = format!("Place: {words}");
        prop_assert!(shown.lines().any(|line| line.starts_with(&place)), "{}", shown);
    }
}

#[test]
fn the_structure_is_that_of_the_report() {
    let structure = read::structure(&report());
    let count = |word: &str| structure.iter().filter(|part| *part == word).count();
    assert_eq!(count("h1"), 1);
    assert_eq!(count("h4"), outcome().open_findings().count());
    assert!(structure.iter().all(|part| !part.contains("Html") && !part.contains("Link")), "{structure:?}");
}
