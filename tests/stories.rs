//! What small models are told about: the situation that is chosen to show a defect, and its story.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::Outcome;
use tripproof::source::Source;

fn outcome(text: &str) -> Outcome {
    let source = Source::new("small.yaml", text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    conclude(source, model, &assessment, engine.name())
}

fn lines(outcome: &Outcome, check: Check) -> Vec<String> {
    let finding = outcome.findings.iter().find(|finding| finding.check == check).expect("the finding");
    finding.witness.as_ref().expect("a situation").lines.clone()
}

/// A warm tank: what is normal depends on the mode, and the invariant names none.
const TANK: &str = "\
language: 1
system: { title: Warm tank, revision: A }
policy: { disjoint_paths: 1, fault_tolerance: 0, usable_fraction: 0.5, usable_fraction_reason: half the time is kept in reserve }
modes: { m: { cold: { people: never, normal: { t: 5 .. 80 degC } }, hot: { people: never } } }
quantities: { t: { range: 0 .. 200 degC, normal: 70 .. 90 degC, resolution: 1 K } }
logic_solvers: { SL-1: {} }
sensors:
  TT-1: { measures: t, range: 0 .. 200 degC, accuracy: 2 K, wired_to: [SL-1], on_loss: high, on_bad: trips }
actuators:
  V-1: { positions: [shut, open], without_energy: shut, operated_by: process, drivers: [SL-1] }
  V-2: { positions: [shut, open], without_energy: shut, operated_by: process, drivers: [SL-1] }
effects: { E-1: { set: [V-1 = shut] } }
causes:
  C-1: { when: TT-1 >= 90 degC, solver: SL-1, latched: false, credited_for: [H-1], demands: [E-1] }
hazards:
  H-1: { when: t >= 100 degC, exists_in: { m: [cold, hot] }, safe_state: V-1 = shut }
invariants:
  I-1: { whenever: V-1 = shut, then: V-2 = shut }
";

#[test]
fn a_situation_is_normal_for_the_mode_that_it_names() {
    assert_eq!(
        lines(&outcome(TANK), Check::InvariantBroken),
        [
            "m is in mode hot.",
            "t is at 90 degC (normal 70 .. 90 degC).",
            "TT-1 shows 90 degC to SL-1.",
            "C-1 (`TT-1 >= 90 degC`) is true and demands V-1 shut.",
            "To be seen then: V-1 shut is commanded; V-2 shut is not commanded.",
            "So `WHENEVER V-1 = shut THEN V-2 = shut` of I-1 does not hold.",
        ]
    );
}

/// Two heads trip one contactor, and the damage by the hazard takes it.
const BAY: &str = "\
language: 1
system: { title: Bay, revision: A }
policy: { disjoint_paths: 2, fault_tolerance: 1, usable_fraction: 0.5, usable_fraction_reason: half the time is kept in reserve }
modes: { bay: { test: { people: never } } }
quantities: { gas: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL } }
supplies: { 24V-A: { title: control supply A } }
logic_solvers: { SL-1: { supply: 24V-A }, SL-2: {} }
sensors:
  GD-1: { measures: gas, range: 0 .. 100 %LFL, accuracy: 3 %LFL, wired_to: [SL-1], on_loss: high, on_bad: trips }
  GD-2: { measures: gas, range: 0 .. 100 %LFL, accuracy: 3 %LFL, wired_to: [SL-2], on_loss: high, on_bad: trips }
actuators:
  K1: { positions: [open, closed], without_energy: open, operated_by: process, drivers: [SL-1, SL-2], wiring: series }
effects: { E-1: { set: [K1 = open] } }
causes:
  C-1: { when: GD-1 >= 25 %LFL, solver: SL-1, latched: false, credited_for: [H-GAS], demands: [E-1] }
  C-2: { when: GD-2 >= 25 %LFL, solver: SL-2, latched: false, credited_for: [H-GAS], demands: [E-1] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, exists_in: { bay: [test] }, safe_state: K1 = open, damages: { inside: [K1] } }
";

#[test]
fn each_fault_that_is_enough_alone_is_told_and_damage_has_words_of_its_own() {
    let outcome = outcome(BAY);
    let finding =
        |check| outcome.findings.iter().find(|finding| finding.check == check).expect("the finding");
    let faults = finding(Check::FaultDefeatsProtection);
    assert_eq!(
        faults.sentence,
        "A fault of K1, or damage by H-GAS to its group inside, can keep H-GAS from its safe state `K1 = open`; one \
         fault must be tolerated."
    );
    assert_eq!(
        faults.each,
        ["K1 is stuck closed.", "H-GAS damages its group inside, and with it K1. K1 is stuck closed."]
    );
    assert_eq!(
        finding(Check::TooFewDisjointPaths).sentence,
        "H-GAS has only one trip path where 2 are required that share nothing: a fault of K1, or damage by H-GAS to its \
         group inside, defeats every path."
    );
}

#[test]
fn every_sentence_starts_with_a_capital_letter_or_a_tag() {
    for outcome in [outcome(TANK), outcome(BAY)] {
        let told = outcome.findings.iter().flat_map(|finding| {
            let lines = finding.witness.iter().flat_map(|story| story.lines.iter());
            std::iter::once(&finding.sentence).chain(&finding.each).chain(lines)
        });
        for sentence in told {
            let first = sentence.split([' ', ',', ':']).next().unwrap();
            let capital = first.starts_with(|letter: char| letter.is_uppercase() || letter.is_numeric());
            assert!(capital || outcome.model.element_by_tag(first).is_some(), "{sentence}");
        }
    }
}
