//! Capacity of what spaces share, and modes of two spaces at once: edits of one small model, each with its verdicts.
//!
//! Demands and capacities are small whole numbers, added up by hand beside each case. Common practice, no source.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fs;
use std::path::PathBuf;

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::{Outcome, Verdict};
use tripproof::source::Source;

const SHARED: &str = "capacity: *pumps, spare: *spare";
const SOUTH: &str = "demand: 219 L/min, capacity: *pumps, spare: *spare";
const DOOR: (&str, &str) = ("demands: [E-KS] }", "demands: [E-KN, E-KS] }");

fn examined(edits: &[(&str, &str)]) -> Outcome {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/classes/base/two-bays.yaml");
    let mut text = fs::read_to_string(path).unwrap();
    for (from, to) in edits {
        assert!(text.contains(from), "not in the model: {from}");
        text = text.replace(from, to);
    }
    let source = Source::new("two-bays.yaml", text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    let outcome = conclude(source, model, &assessment, engine.name());
    assert!(outcome.disagreements.is_empty(), "{edits:?}");
    outcome
}

/// Each verdict of the claim, a proved one as `proved`, a refuted one as the sentence of its finding.
fn told(outcome: &Outcome, claim: &str) -> Vec<String> {
    let of = |judged: &tripproof::outcome::Judged| match &judged.verdict {
        Verdict::Refuted => {
            let id = judged.finding.as_ref().unwrap();
            let found = outcome.findings.iter().find(|finding| outcome.finding_id(finding) == *id);
            found.unwrap().sentence.clone()
        }
        Verdict::Undecided(reason) | Verdict::NotApplicable(reason) => {
            format!("{}: {reason}", judged.verdict.word())
        }
        Verdict::Proved => "proved".to_string(),
    };
    outcome.claims.iter().filter(|judged| judged.claim == claim).map(of).collect()
}

fn capacity(edits: &[(&str, &str)]) -> Vec<String> {
    told(&examined(edits), "capacity")
}

#[test]
fn the_model_that_is_edited_has_no_finding() {
    let outcome = examined(&[]);
    let sentences: Vec<&String> = outcome.findings.iter().map(|finding| &finding.sentence).collect();
    assert!(sentences.is_empty(), "{sentences:#?}");
}

#[test]
fn the_capacity_that_is_just_enough_is_enough_and_one_litre_less_is_not() {
    // 220 + 219 = 439; the manual release of the north bay opens what the automatic one opens.
    assert_eq!(capacity(&[("480 L/min", "439 L/min")]), ["proved"]);
    assert_eq!(
        capacity(&[("WP-2: 480 L/min", "WP-2: 438 L/min")]),
        [
            "With WP-1 lost, WP-2 can give 438 L/min; MIST-N and MIST-S can be released at once and draw 439 L/min."
        ]
    );
}

#[test]
fn the_same_amounts_in_other_units_give_the_same_verdicts() {
    // 439 L/min = 26.34 m3/h.
    assert_eq!(capacity(&[("480 L/min", "26.34 m3/h")]), ["proved"]);
    assert_ne!(capacity(&[("480 L/min", "26.33 m3/h")]), ["proved"]);
}

#[test]
fn machines_that_stand_in_for_each_other_give_together_what_is_left_of_them() {
    let without_spare = [("spare: &spare 1", "spare: &spare 0"), ("480 L/min", "220 L/min")];
    // 220 + 220 = 440 ≥ 439 with both.
    assert_eq!(capacity(&without_spare), ["proved"]);
    let less = [("spare: &spare 1", "spare: &spare 0"), ("480 L/min", "219 L/min")];
    assert_eq!(
        capacity(&less),
        [
            "MIST-N and MIST-S can be released at once and draw 439 L/min; WP-1 and WP-2 can give 438 L/min together."
        ]
    );
}

#[test]
fn without_a_word_about_spare_machines_each_carries_the_demand_alone() {
    let none = [(", spare: &spare 1", ""), (", spare: *spare", "")];
    assert_eq!(capacity(&none), ["proved", "proved"]);
    let mut smaller = none.to_vec();
    smaller.push(("WP-2: 480 L/min", "WP-2: 438 L/min"));
    assert_eq!(
        capacity(&smaller),
        ["proved", "MIST-N and MIST-S can be released at once and draw 439 L/min; WP-2 can give 438 L/min."]
    );
}

#[test]
fn a_machine_that_is_excluded_from_failing_is_not_lost() {
    let exclusions = "fault_exclusions:\n  FX-1: { source: WP-1, reason: two motors on one shaft, owner: fire engineer, expires: 2099-12-31 }\n\neffects:\n";
    let edits = [("WP-2: 480 L/min", "WP-2: 100 L/min"), ("effects:\n", exclusions)];
    assert_eq!(capacity(&edits), ["proved"]);
}

#[test]
fn what_nobody_knows_is_never_taken_for_nothing() {
    let unknown = "demand: unknown, capacity: *pumps, spare: *spare";
    assert_eq!(capacity(&[(SOUTH, unknown)]), ["undecided: it is not known what MIST-S draws"]);
    assert_eq!(capacity(&[(SOUTH, SHARED)]), ["undecided: it is not known what MIST-S draws"]);
    assert_eq!(
        capacity(&[("WP-2: 480 L/min", "WP-2: unknown")]),
        ["undecided: MIST-N does not know what WP-2 can give"]
    );
    // What is known is too much already.
    let small = [(SOUTH, unknown), ("480 L/min", "219 L/min")];
    assert_eq!(capacity(&small), ["With WP-1 lost, WP-2 can give 219 L/min; MIST-N draws 220 L/min."]);
}

#[test]
fn a_release_that_holds_the_other_back_does_not_draw_beside_it() {
    let small = ("480 L/min", "220 L/min");
    assert_ne!(capacity(&[small]), ["proved"]);
    let held = "when: FD-S = detected AND NOT C-FIRE-N AND NOT C-PULL-N";
    assert_eq!(capacity(&[small, ("when: FD-S = detected", held)]), ["proved"]);
    // A latch may still be set from before: holding back at the moment of release is not enough.
    let from = "when: FD-S = detected, solver: FP-1, armed: { south: [running] }, latched: false";
    let latched = format!("{held}, solver: FP-1, armed: {{ south: [running] }}, latched: true, reset: PB-1");
    let reset = "resets:\n  PB-1: { place: at the panel, in_sight: true, acts_on: release, resets: [C-FIRE-S] }\n\neffects:\n";
    assert_ne!(capacity(&[small, (from, &latched), ("effects:\n", reset)]), ["proved"]);
}

#[test]
fn modes_that_never_hold_at_once_do_not_draw_at_once() {
    let small = ("480 L/min", "220 L/min");
    let manual = (
        "when: MR-N = detected, solver: FP-1,",
        "when: MR-N = detected, solver: FP-1, armed: { north: [running] },",
    );
    let apart = (
        "conditions:\n",
        "couplings:\n  CPL-1: { always: NOT (north = running AND south = running), owner: test engineer, evidence: one power supply }\n\nconditions:\n",
    );
    assert_ne!(capacity(&[small, manual]), ["proved"]);
    assert_eq!(capacity(&[small, manual, apart]), ["proved"]);
}

#[test]
fn what_two_releases_open_in_common_counts_once() {
    let all = |demand: &str| {
        format!(
            "  MIST-A: {{ title: mist in all zones, released_by: [C-PULL-N], discharges: [WZ-N = open, WZ-S = open], warning: 20 s, warned_by: [HN-1], demand: {demand}, capacity: *pumps, spare: *spare }}\n\neffects:\n"
        )
    };
    assert_eq!(capacity(&[("effects:\n", &all("439 L/min"))]), ["proved"]);
    assert_eq!(
        capacity(&[("effects:\n", &all("500 L/min"))]),
        ["With WP-1 lost, WP-2 can give 480 L/min; MIST-A draws 500 L/min."]
    );
}

#[test]
fn a_permitted_override_can_make_a_release_draw() {
    // While the other release draws, the south bay is held back unless somebody works its key.
    let small = ("480 L/min", "220 L/min");
    let held = "when: FD-S = detected AND NOT C-FIRE-N AND NOT C-PULL-N";
    let keyed = "when: FD-S = detected AND (MO-1 OR NOT C-FIRE-N AND NOT C-PULL-N)";
    let key = "overrides:\n  MO-1: { title: key, device: key switch, inputs: [ZS-S], modes: { south: [running] }, at_most: 1, time_limit: 8 h, announces: lamp at the panel }\n\neffects:\n";
    assert_eq!(capacity(&[small, ("when: FD-S = detected", held), ("effects:\n", key)]), ["proved"]);
    assert_eq!(
        capacity(&[small, ("when: FD-S = detected", keyed), ("effects:\n", key)]),
        [
            "With WP-1 lost, WP-2 can give 220 L/min; MIST-N and MIST-S can be released at once and draw 439 L/min."
        ]
    );
}

#[test]
fn modes_of_two_bays_that_share_nothing_in_the_way_are_not_examined() {
    assert!(told(&examined(&[]), "run-together").is_empty());
}

#[test]
fn a_trip_by_the_normal_state_of_the_other_bay_keeps_both_from_working() {
    assert_eq!(
        told(&examined(&[DOOR]), "run-together"),
        [
            "Modes of north and south can hold at once and not work at once, because each is in the way of what the \
             other needs: running with rigging."
        ]
    );
}

#[test]
fn modes_that_a_coupling_keeps_apart_do_not_clash() {
    let apart = (
        "conditions:\n",
        "couplings:\n  CPL-1: { always: NOT (north = running AND south = rigging), owner: test engineer, evidence: one crew }\n\nconditions:\n",
    );
    let outcome = examined(&[DOOR, apart]);
    assert!(outcome.findings.iter().all(|finding| finding.check != Check::ModesExcludeEachOther));
    assert_eq!(
        told(&outcome, "run-together")[0],
        "not applicable: in no normal situation do both modes hold at once"
    );
}
