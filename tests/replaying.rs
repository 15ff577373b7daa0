//! What a technician needs to replay a finding in the hall: what else moves, what comes along, what cannot be simulated,
//! where to look, and what must not happen in earnest.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::finding::Finding;
use tripproof::load::load;
use tripproof::outcome::Outcome;
use tripproof::report::{Entry, json, markdown, text};
use tripproof::source::Source;

fn outcome(text: &str) -> Outcome {
    let source = Source::new("shop.yaml", text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    assert!(assessment.disputes.is_empty(), "{:#?}", assessment.disputes);
    conclude(source, model, &assessment, engine.name())
}

fn finding<'o>(outcome: &'o Outcome, check: Check, element: &str) -> &'o Finding {
    let about = |finding: &&Finding| {
        let hazard = finding.hazard.map(|id| outcome.model.hazards[id].name.tag.as_str());
        finding.check == check
            && (finding.elements.iter().any(|tag| tag == element) || hazard == Some(element))
    };
    outcome.findings.iter().find(about).expect("the finding")
}

fn lines(finding: &Finding) -> &[String] {
    &finding.witness.as_ref().expect("a situation").lines
}

fn has(lines: &[String], line: &str) -> bool {
    let found = lines.iter().any(|other| other == line);
    assert!(found, "{line}\nis not among\n{lines:#?}");
    found
}

/// A paint shop: gas heads in a vote, a flame detector that stops the fan and opens the water, a door lock.
const SHOP: &str = "\
language: 1
system: { title: Paint shop, revision: A }
policy: { disjoint_paths: 1, fault_tolerance: 0, usable_fraction: 0.5, usable_fraction_reason: half the time is kept in reserve }
modes: { shop: { work: { people: expected } } }
quantities:
  gas: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, resolution: 1 %LFL }
  leak: { range: 0 .. 10 %vol, normal: 0 .. 0.3 %vol, resolution: 0.1 %vol }
  oxygen: { range: 0 .. 25 %vol, normal: 20.5 .. 21 %vol, resolution: 0.1 %vol }
conditions: { fire: {}, flame: {}, smoke: {}, door_1: {}, door_2: {} }
couplings:
  CP-FIRE: { if: fire, then: flame AND smoke, owner: fire engineer }
  CP-AIR: { if: leak >= 3 %vol, then: oxygen >= 19 %vol, owner: process engineer }
logic_solvers: { SL-1: {} }
sensors:
  GD-1: { measures: gas, range: 0 .. 100 %LFL, accuracy: 0 %LFL, wired_to: [SL-1], on_loss: high, on_bad: trips }
  GD-2: { measures: gas, range: 0 .. 100 %LFL, accuracy: 0 %LFL, wired_to: [SL-1], on_loss: high, on_bad: trips }
  GD-3: { measures: gas, range: 0 .. 100 %LFL, accuracy: 0 %LFL, wired_to: [SL-1], on_loss: high, on_bad: trips }
  OX-1: { measures: oxygen, range: 0 .. 25 %vol, accuracy: 0 %vol, wired_to: [SL-1], on_loss: low, on_bad: trips }
  FL-1: { detects: flame, wired_to: [SL-1], on_loss: detected, on_bad: trips }
loops:
  HL-1: { contacts: { ZS-1: { opens_on: door_1 }, ZS-2: { opens_on: door_2 } }, wired_to: [SL-1], on_loss: open, fault_detection: ends_only }
spaces:
  SHOP-1: { people_in: { shop: [work] }, doors: { DOOR-1: { held_by: DL-1 = locked } } }
actuators:
  FAN: { positions: [stopped, running], without_energy: stopped, operated_by: process, drivers: [SL-1] }
  K1: { positions: [open, closed], without_energy: open, operated_by: process, drivers: [SL-1] }
  DL-1: { positions: [free, locked], without_energy: free, operated_by: protection, rest: free, drivers: [SL-1] }
  WV-1: { positions: [shut, open], without_energy: shut, operated_by: protection, rest: shut, drivers: [SL-1] }
suppression:
  DEL-1: { released_by: [C-FIRE], discharges: [WV-1 = open], coincidence: 1, warning: 20 s }
overrides:
  MO-1: { device: key switch, inputs: [GD-1, GD-2, GD-3], at_most: 2, modes: { shop: [work] } }
effects:
  E-FAN: { set: [FAN = stopped] }
  E-WATER: { set: [WV-1 = open] }
  E-HEAT: { set: [K1 = open] }
  E-LOCK: { set: [DL-1 = locked] }
causes:
  C-GAS: { when: \"2oo3(GD-1 >= 25 %LFL, GD-2 >= 25 %LFL, GD-3 >= 25 %LFL)\", solver: SL-1, latched: false, credited_for: [H-GAS], demands: [E-HEAT, E-LOCK] }
  C-FIRE: { when: FL-1, solver: SL-1, latched: false, demands: [E-FAN, E-WATER] }
  C-AIR: { when: OX-1 <= 18.5 %vol, solver: SL-1, latched: false, credited_for: [H-LEAK], demands: [E-HEAT] }
  C-DOOR: { when: HL-1 = open, solver: SL-1, latched: false, demands: [E-HEAT] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, exists_in: { shop: [work] }, safe_state: K1 = open AND FAN = running, forbids: [FAN = stopped] }
  H-FIRE: { when: fire, exists_in: { shop: [work] }, safe_state: K1 = open AND FAN = stopped }
  H-LEAK: { when: leak >= 3 %vol, exists_in: { shop: [work] }, safe_state: K1 = open }
accepted:
  AC-1: { findings: [trip-cannot-fire/H-LEAK/C-AIR, hazard-not-covered/H-LEAK/C-AIR, fault-defeats-protection/H-GAS/K1, trip-always-on/-/C-GAS], modes: [work], reason: the shop moves next year, by: plant manager, expires: 2030-01-01 }
";

#[test]
fn what_a_cause_commands_besides_and_where_the_result_is_seen_is_told_of_a_harmful_command() {
    let outcome = outcome(SHOP);
    let told = lines(finding(&outcome, Check::HarmfulAction, "C-FIRE"));
    assert_eq!(
        told[told.len() - 3..],
        [
            "C-FIRE commands FAN stopped, which H-GAS forbids while it is present.",
            "To be seen then: FAN is stopped.",
            "C-FIRE also commands WV-1 open; that does not matter here.",
        ]
    );
}

#[test]
fn safe_states_that_exclude_each_other_name_the_device_at_which_it_is_seen() {
    let outcome = outcome(SHOP);
    let told = lines(finding(&outcome, Check::SafeStatesExclude, "H-GAS"));
    has(told, "It is seen at FAN: the safe states name it running for H-GAS and stopped for H-FIRE.");
}

#[test]
fn what_a_coupling_brings_with_it_is_told_and_only_that() {
    let outcome = outcome(SHOP);
    let brings =
        "Coupling CP-FIRE brings with it: flame is true (normally false) and smoke is true (normally false).";
    has(lines(finding(&outcome, Check::HazardNotCovered, "H-FIRE")), brings);
    // The leak of H-LEAK leaves the oxygen as it normally is: nothing comes along.
    let leak = lines(finding(&outcome, Check::HazardNotCovered, "H-LEAK"));
    assert!(leak.iter().all(|line| !line.contains("Coupling")), "{leak:#?}");
}

#[test]
fn a_quantity_that_a_coupling_takes_away_from_normal_is_told_with_its_value() {
    let colder = SHOP
        .replace("then: oxygen >= 19 %vol", "then: oxygen <= 19 %vol")
        .replace("wired_to: [SL-1], on_loss: low", "wired_to: [SL-1], on_loss: high");
    // Nothing that is told reads the oxygen any more.
    let colder = colder.replace("when: OX-1 <= 18.5 %vol", "when: GD-1 <= 0 %LFL");
    let outcome = outcome(&colder);
    let told = lines(finding(&outcome, Check::HazardNotCovered, "H-LEAK"));
    has(told, "Coupling CP-AIR brings with it: oxygen is at 19 %vol (normal 20.5 .. 21 %vol).");
}

#[test]
fn a_vote_that_cannot_trip_is_shown_in_a_situation_in_which_the_rest_asks_for_the_trip() {
    let outcome = outcome(SHOP);
    let found = finding(&outcome, Check::VoteCannotTrip, "C-GAS");
    assert_eq!(
        lines(found),
        [
            "gas is at 25 %LFL (normal 0 .. 5 %LFL).",
            "GD-2 is overridden with MO-1, so it does not count.",
            "GD-3 is overridden with MO-1, so it does not count.",
            "GD-1 shows 25 %LFL to SL-1.",
            "C-GAS (`2oo3(GD-1 >= 25 %LFL, GD-2 >= 25 %LFL, GD-3 >= 25 %LFL)`) is false.",
            "C-GAS is armed, and its 2oo3 vote does not trip.",
            "To be seen then: C-GAS does not command K1 open and DL-1 locked.",
        ]
    );
    let overrides = &found.witness.as_ref().unwrap().overrides;
    assert_eq!(overrides.len(), 2);
}

/// The sequence: door 1 opens with one channel stuck, lockout; door 1 shut, lockout stays; door 2 opens, cleared; door 2
/// shut, enabled again. Source: ISO/TR 24119 on fault masking, recalled, not verified.
#[test]
fn a_masked_fault_is_told_in_the_order_of_the_published_sequence() {
    let outcome = outcome(SHOP);
    let steps = &finding(&outcome, Check::LoopCanMask, "HL-1").steps;
    let order = [
        "ZS-1 opens (`door_1` becomes true)",
        "ZS-1 closes again",
        "ZS-2 opens (`door_2` becomes true)",
        "ZS-2 closes again",
    ];
    let places: Vec<usize> = order
        .iter()
        .map(|start| steps.iter().position(|step| step.starts_with(start)).expect("the step"))
        .collect();
    assert_eq!(places, [1, 2, 3, 4], "{steps:#?}");
    assert!(steps[1].contains("locked out") && steps[2].contains("still stands"), "{steps:#?}");
    assert!(steps[3].contains("may clear the lockout") && steps[4].contains("still stuck"), "{steps:#?}");
    assert!(steps[0].contains("Do not bridge it"), "{steps:#?}");
}

#[test]
fn contacts_that_open_together_are_not_told_as_opened_one_after_the_other() {
    let outcome = outcome(&SHOP.replace("opens_on: door_2", "opens_on: door_1"));
    let steps = &finding(&outcome, Check::LoopCanMask, "HL-1").steps;
    assert_eq!(steps.len(), 2, "{steps:#?}");
    assert!(steps[1].starts_with("ZS-1 and ZS-2 open together"), "{steps:#?}");
}

#[test]
fn a_trip_that_a_coupling_keeps_from_firing_names_the_coupling() {
    let with = outcome(SHOP);
    let sentence = &finding(&with, Check::TripCannotFire, "C-AIR").sentence;
    let end = "That follows from coupling CP-AIR (`IF leak >= 3 %vol THEN oxygen >= 19 %vol`): without it, it could fire.";
    assert!(sentence.ends_with(end), "{sentence}");
    // Here the armed mode is the reason, and the coupling excludes nothing that would be needed.
    let elsewhere = SHOP
        .replace(
            "shop: { work: { people: expected } }",
            "shop: { work: { people: expected }, rest: { people: never } }",
        )
        .replace("when: OX-1 <= 18.5 %vol,", "when: OX-1 <= 19.5 %vol, armed: { shop: [rest] },");
    let without = outcome(&elsewhere);
    let sentence = &finding(&without, Check::TripCannotFire, "C-AIR").sentence;
    assert!(!sentence.contains("coupling"), "{sentence}");
    assert!(
        sentence.ends_with("It is armed in none of the modes in which that hazard exists."),
        "{sentence}"
    );
}

#[test]
fn couplings_that_only_together_keep_a_trip_from_firing_are_named_together() {
    let two = SHOP.replace(
        "  CP-AIR: { if: leak >= 3 %vol, then: oxygen >= 19 %vol, owner: process engineer }\n",
        "  CP-AIR: { if: leak >= 3 %vol, then: smoke, owner: process engineer }\n  CP-SMOKE: { if: smoke, then: oxygen >= 19 %vol, owner: process engineer }\n",
    );
    let outcome = outcome(&two);
    let found = finding(&outcome, Check::TripCannotFire, "C-AIR");
    assert!(
        found.sentence.contains("from couplings CP-AIR (") && found.sentence.contains("and CP-SMOKE ("),
        "{}",
        found.sentence
    );
    assert!(found.sentence.ends_with("without any one of them it could fire."), "{}", found.sentence);
    assert_eq!(found.also.len(), 2);
}

#[test]
fn an_acceptance_without_finding_names_what_it_may_stand_behind() {
    let outcome =
        outcome(&SHOP.replace("hazard-not-covered/H-LEAK/C-AIR", "hazard-not-covered/H-LEAK/C-OLD"));
    let sentence = &finding(&outcome, Check::AcceptanceWithoutFinding, "AC-1").sentence;
    // The elements have changed.
    assert!(sentence.contains("Look at `hazard-not-covered/H-LEAK/C-AIR` first"), "{sentence}");
    // What is not met at all is not examined with faults.
    assert!(sentence.contains("Look at `hazard-not-covered/H-GAS/C-GAS` first"), "{sentence}");
    // Of the third nothing can be said.
    assert_eq!(sentence.matches("Look at").count(), 2, "{sentence}");
}

#[test]
fn a_discharge_and_a_door_that_holds_somebody_are_warned_of_before_a_replay() {
    let outcome = outcome(SHOP);
    let cautions = |check, element| {
        finding(&outcome, check, element).witness.as_ref().expect("a situation").cautions.as_slice()
    };
    let water = "Do not replay this with the real discharge of DEL-1 (WV-1 open): simulate at the inputs, with the outputs \
                 that discharge disconnected or inhibited under your site's permit.";
    let door = "DOOR-1 can hold SHOP-1 shut: nobody may be inside during the replay, and somebody outside must be able to \
                open it.";
    // No cause of this story is the flame's, and it discharges all the same.
    assert_eq!(cautions(Check::HazardNotCovered, "H-FIRE"), [water]);
    assert_eq!(cautions(Check::NobodyCanLeave, "SHOP-1"), [door]);
    assert_eq!(cautions(Check::HazardNotCovered, "H-GAS"), [door]);
    // The gas heads are not set here, so nothing locks the door.
    assert_eq!(cautions(Check::HarmfulAction, "C-FIRE"), [water]);
    assert!(cautions(Check::HazardNotCovered, "H-LEAK").is_empty());
}

#[test]
fn cautions_steps_and_one_reason_for_all_stand_in_every_report() {
    let outcome = outcome(SHOP);
    let accepted =
        outcome.findings.iter().filter(|finding| finding.accepted.as_deref() == Some("AC-1")).count();
    assert_eq!(accepted, 2);
    let entries = [Entry::Examined(Box::new(outcome))];
    let plain = text::render(&entries, false, true).split_whitespace().collect::<Vec<_>>().join(" ");
    let page = markdown::render(&entries);
    for report in [&plain, &page] {
        assert_eq!(report.matches("the shop moves next year").count(), 1, "{report}");
        assert!(report.contains("accepts the 2 findings that follow"), "{report}");
        assert!(
            report.contains("Before replaying it:") && report.contains("with the real discharge of"),
            "{report}"
        );
        assert!(report.contains("How it comes about, step by step"), "{report}");
        assert!(report.contains("follow your site's own procedure and permit"), "{report}");
    }
    let value: serde_json::Value = serde_json::from_str(&json::render(&entries, "Z3", 1)).unwrap();
    let of = |check: &str| {
        let findings = value["findings"].as_array().unwrap();
        findings.iter().find(|finding| finding["check"] == check).unwrap().clone()
    };
    assert_eq!(of("loop-can-mask")["steps"].as_array().unwrap().len(), 6);
    assert_eq!(of("harmful-action")["witness"]["cautions"].as_array().unwrap().len(), 1);
}
