//! Cases 4–8 and 28: what a lost supply does to inputs, solvers and final elements.

use tripproof::assess::{Single, Subject};

use crate::support::examined::{Examined, TagSets, examine, sets};
use crate::support::text::model;

/// Case 5 without its supplies: two sensors, each read by both solvers as 1oo2.
const CROSSED: &str = "
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-GAS-1: { when: '1oo2(G1 >= 25 %LFL, G2 >= 25 %LFL)', solver: C1, latched: false, demands: [OFF-1] }
  C-GAS-2: { when: '1oo2(G1 >= 25 %LFL, G2 >= 25 %LFL)', solver: C2, latched: false, demands: [OFF-2] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
";

fn never_in_a_cut(found: &Examined, tag: &str, cuts: &TagSets) {
    assert_eq!(found.all_cuts("H"), *cuts);
    assert!(cuts.iter().flatten().all(|part| part != tag));
    found.confirm("H", cuts);
}

#[test]
fn case_4_a_supply_whose_loss_trips_sensors_and_solvers_is_in_no_cut_set() {
    let found = examine(&model(&["
supplies: { S: {} }
logic_solvers: { C1: { supply: S }, C2: { supply: S } }
sensors:
  G1: { $GAS, wired_to: [C1], supply: S, on_loss: high }
  G2: { $GAS, wired_to: [C2], supply: S, on_loss: high }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  K2: { $CONTACTOR, drivers: [C2] }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-GAS-1: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF-1] }
  C-GAS-2: { when: G2 >= 25 %LFL, solver: C2, latched: false, demands: [OFF-2] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
"]));
    found.has_numbers("H", 2, 1);
    let cuts = sets(["G1 G2", "G1 C2", "G1 K2", "C1 G2", "C1 C2", "C1 K2", "K1 G2", "K1 C2", "K1 K2"]);
    never_in_a_cut(&found, "S", &cuts);
}

#[test]
fn case_5_one_supply_for_everything_is_in_no_cut_set_although_the_sensors_go_low() {
    let found = examine(&model(&[
        "
supplies: { S: {} }
logic_solvers: { C1: { supply: S }, C2: { supply: S } }
sensors:
  G1: { $GAS, wired_to: [C1, C2], supply: S, on_loss: low }
  G2: { $GAS, wired_to: [C1, C2], supply: S, on_loss: low }
actuators:
  K1: { $CONTACTOR, drivers: [C1], supply: S }
  K2: { $CONTACTOR, drivers: [C2], supply: S }
",
        CROSSED,
    ]));
    found.has_numbers("H", 2, 1);
    never_in_a_cut(&found, "S", &sets(["G1 G2", "C1 C2", "C1 K2", "K1 C2", "K1 K2"]));
}

#[test]
fn case_6_splitting_the_supply_makes_the_supply_of_the_sensors_a_cut_set() {
    let found = examine(&model(&[
        "
supplies: { S1: {}, S2: {} }
logic_solvers: { C1: { supply: S2 }, C2: { supply: S2 } }
sensors:
  G1: { $GAS, wired_to: [C1, C2], supply: S1, on_loss: low }
  G2: { $GAS, wired_to: [C1, C2], supply: S1, on_loss: low }
actuators:
  K1: { $CONTACTOR, drivers: [C1], supply: S2 }
  K2: { $CONTACTOR, drivers: [C2], supply: S2 }
",
        CROSSED,
    ]));
    found.has_numbers("H", 1, 0);
    never_in_a_cut(&found, "S2", &sets(["S1", "G1 G2", "C1 C2", "C1 K2", "K1 C2", "K1 K2"]));
}

#[test]
fn case_7_the_supply_of_two_horns_is_a_cut_set() {
    let found = examine(&model(&["
supplies: { S: {} }
logic_solvers: { C1: {}, C2: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C2] }
actuators:
  HO1: { $HORN, drivers: [C1], supply: S }
  HO2: { $HORN, drivers: [C2], supply: S }
effects: { ON-1: { set: [HO1 = sounding] }, ON-2: { set: [HO2 = sounding] } }
causes:
  C-GAS-1: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [ON-1] }
  C-GAS-2: { when: G2 >= 25 %LFL, solver: C2, latched: false, demands: [ON-2] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: HO1 = sounding OR HO2 = sounding }
"]));
    found.has_numbers("H", 1, 0);
    let pairs = ["G1 G2", "G1 C2", "G1 HO2", "C1 G2", "C1 C2", "C1 HO2", "HO1 G2", "HO1 C2", "HO1 HO2"];
    let mut cuts = sets(pairs);
    cuts.insert(0, vec!["S".to_string()]);
    assert_eq!(found.cuts("H"), cuts);
    found.confirm("H", &cuts);
}

#[test]
fn case_8_a_safe_state_that_needs_energy_and_its_absence_falls_with_the_supply() {
    let found = examine(&model(&["
supplies: { S: {} }
logic_solvers: { C1: {} }
sensors: { G1: { $GAS, wired_to: [C1] } }
actuators:
  K1: { $CONTACTOR, drivers: [C1], supply: S }
  HO1: { $HORN, drivers: [C1], supply: S }
effects: { TRIP: { set: [K1 = open, HO1 = sounding] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [TRIP] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open AND HO1 = sounding }
"]));
    found.has_numbers("H", 1, 0);
    let cuts = sets(["S", "C1", "G1", "HO1", "K1"]);
    assert_eq!(found.cuts("H"), cuts);
    found.confirm("H", &cuts);
}

#[test]
fn case_28_a_supply_with_two_feeds_falls_only_with_both() {
    let found = examine(&model(&["
supplies: { MAINS: {}, GENERATOR: {}, B: { fed_by: MAINS OR GENERATOR } }
logic_solvers: { C1: {} }
sensors: { G1: { $GAS, wired_to: [C1] } }
actuators: { HO1: { $HORN, drivers: [C1], supply: B } }
effects: { ON: { set: [HO1 = sounding] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [ON] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: HO1 = sounding }
"]));
    let cuts = sets(["B", "C1", "G1", "HO1", "GENERATOR MAINS"]);
    assert_eq!(found.cuts("H"), cuts);
    assert_eq!(found.all_cuts("H"), cuts);
    found.confirm("H", &cuts);
}

/// A solver that falls silent looks like a lost link to the other one, whose cause then opens the contactor: its loss
/// alone does what the hazard forbids. Our own case, from docs/meaning.md, sections 3 and 6.
#[test]
fn the_loss_of_a_solver_at_the_other_end_of_a_link_forces_what_the_link_alarm_commands() {
    let found = examine(&model(&[
        "logic_solvers: { C1: {}, C2: {} }",
        "sensors: { X1: { detects: fire, wired_to: [C1] } }",
        "links: { LK: { connects: [C1, C2], carries: [X1] } }",
        "actuators: { K1: { $CONTACTOR, drivers: [C2] } }",
        "effects: { OFF: { set: [K1 = open] } }",
        "causes: { ALARM: { when: LOST(LK), solver: C2, latched: false, demands: [OFF] } }",
        "hazards: { H: { when: fire, $HERE, safe_state: K1 = closed, forbids: [K1 = open] } }",
    ]));
    let forced = |single: &&Single| matches!(single.subject, Subject::NotForced(..));
    let single = found.assessment.singles.iter().find(forced).unwrap();
    let alone: Vec<String> = single.alone.iter().map(|source| found.model.source_tag(*source)).collect();
    assert_eq!(alone, ["C1", "C2"]);
}
