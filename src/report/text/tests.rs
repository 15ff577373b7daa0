//! The whole text report of a small, loaded model, put together by hand so that every section has something to say.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use crate::report::{Entry, samples};

fn report(color: bool) -> String {
    super::render(&[Entry::Examined(Box::new(samples::outcome()))], color, false)
}

#[test]
fn the_first_lines_say_what_was_examined_and_with_what_result() {
    let text = report(false);
    let head: Vec<&str> = text.lines().take(16).collect();
    let head = head.join("\n");
    for part in [
        "Drying cell 4, guarded access, revision B",
        "cell.yaml",
        "SHA-256:",
        "tripproof 0.",
        "Claims about time say so",
        "with open findings; incomplete (1 claim undecided)",
        "1 proved, 2 refuted, 1 accepted, 1 undecided, 1 not applicable",
        "2 open (1 serious, 1 warning), 1 accepted",
        "3 fault exclusions",
    ] {
        assert!(head.contains(part), "{part} in\n{head}");
    }
}

#[test]
fn every_part_has_its_place() {
    let text = report(false);
    let order = [
        "HAZARDS BY MODE",
        "FINDINGS, WORST FIRST",
        "ACCEPTED FINDINGS",
        "UNDECIDED CLAIMS",
        "CLAIMS THAT DO NOT ARISE",
        "WHAT THE PROVED CLAIMS REST ON",
        "DECLARED, NOT EXAMINED",
        "WHAT THIS REPORT DOES NOT SHOW",
    ];
    let places: Vec<usize> = order.iter().map(|title| text.find(title).expect(title)).collect();
    assert!(places.is_sorted(), "{text}");
}

#[test]
fn a_finding_below_a_structural_one_is_told_below_it_and_pulls_it_up() {
    let text = report(false);
    let above = text.find("1. WARNING  trips-share-an-input").expect("the structural finding comes first");
    let below = text.find("    1a. SERIOUS  too-few-disjoint-paths").expect("the hazard finding is below");
    assert!(above < below, "{text}");
}

#[test]
fn an_accepted_finding_shows_who_and_why() {
    let text = report(false);
    let part = &text[text.find("ACCEPTED FINDINGS").unwrap()..];
    for words in ["ACC-1:", "replaced next year", "plant manager", "2027-03-31", "expiry not judged"] {
        assert!(part.contains(words), "{words}");
    }
}

#[test]
fn the_report_fits_80_columns_with_and_without_colour() {
    for color in [false, true] {
        for line in report(color).lines() {
            // A long id or path is never torn.
            let single = line.split_whitespace().count() <= 2;
            assert!(single || textwrap::core::display_width(line) <= super::wrap::WIDTH, "{line}");
        }
    }
    assert!(!report(false).contains('\u{1b}') && report(true).contains('\u{1b}'));
}

#[test]
fn a_hash_and_an_id_stand_whole_or_are_broken_between_elements() {
    let text = report(false);
    assert!(text.contains(&format!("SHA-256:\n  {}\n", "0".repeat(64))), "{text}");
    let mut outcome = samples::outcome();
    for finding in &mut outcome.findings {
        finding.elements = (1..=7).map(|number| format!("GAS-{number}")).collect();
    }
    let text = super::render(&[Entry::Examined(Box::new(outcome))], false, false);
    let id = "   Id: too-few-disjoint-paths/H-IGNITION/\n     GAS-1+GAS-2+GAS-3+GAS-4+GAS-5+GAS-6+GAS-7\n";
    assert!(text.replace("       Id:", "   Id:").replace("         GAS", "     GAS").contains(id), "{text}");
    assert!(text.lines().all(|line| textwrap::core::display_width(line) <= super::wrap::WIDTH), "{text}");
}

#[test]
fn figures_that_hold_with_an_initiator_are_marked_and_explained() {
    let text = report(false);
    assert!(text.contains("1/0* !"), "{text}");
    assert!(text.contains("  *          the figures hold while a declared initiator"), "{text}");
    assert!(text.contains("  any/≥2     nothing that can fail"), "{text}");
}

#[test]
fn refuted_claims_and_findings_are_brought_together() {
    let text = report(false);
    assert!(text.contains("Refuted:          2 refuted claims, told in 2 findings\n"), "{text}");
}

#[test]
fn colour_changes_nothing_but_colour() {
    let colored = report(true);
    let mut plain = String::new();
    for (number, part) in colored.split('\u{1b}').enumerate() {
        plain.push_str(if number == 0 { part } else { part.split_once('m').map_or("", |(_, rest)| rest) });
    }
    assert_eq!(plain, report(false));
}

#[test]
fn no_report_promises_what_no_report_may_promise() {
    let mut texts = vec![report(false), crate::report::json::render(&samples::entries(), "solver", 1)];
    texts.extend(crate::check::Check::ALL.iter().map(|check| check.manual()));
    for text in texts {
        let lower = text.to_lowercase();
        for word in ["certified", "compliant", "sil ", "is safe", "are safe", "safe design", "guarantee"] {
            assert!(!lower.contains(word), "`{word}` in\n{text}");
        }
    }
}

#[test]
fn the_same_outcome_gives_the_same_bytes() {
    assert_eq!(report(false), report(false));
}
