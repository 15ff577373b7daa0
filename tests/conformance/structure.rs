//! Cases 1–3, 9, 10, 20, 22, 27: votes, crossed and separate channels, what stands in series or parallel with them.

use crate::support::examined::{Examined, examine, sets};
use crate::support::text::{ideal, model, switches};

/// G1 → C1 → K1 beside G2 → C2 → K2, with the contactors in series in the heater's circuit.
const CHANNELS: &str = "
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C2] }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-GAS-1: { when: G1 >= 25 %LFL, solver: C1, latched: false, credited_for: [H], demands: [OFF-1] }
  C-GAS-2: { when: G2 >= 25 %LFL, solver: C2, latched: false, credited_for: [H], demands: [OFF-2] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
";

/// Every pair of one element of the first channel and one of the second.
const ONE_OF_EACH: [&str; 9] =
    ["G1 G2", "G1 C2", "G1 K2", "C1 G2", "C1 C2", "C1 K2", "K1 G2", "K1 C2", "K1 K2"];

fn confirmed<const N: usize>(found: &Examined, cuts: [&str; N]) {
    assert_eq!(found.cuts("H"), sets(cuts));
    found.confirm("H", &sets(cuts));
}

#[test]
fn case_1_a_2oo3_vote_tolerates_one_fault_and_is_one_path() {
    let found = examine(&model(&[
        "
logic_solvers: { C1: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C1] }
  G3: { $GAS, wired_to: [C1] }
actuators: { K1: { $CONTACTOR, drivers: [C1] } }
effects: { OFF: { set: [K1 = open] } }
causes:
  C-GAS: { when: '2oo3(G1 >= 25 %LFL, G2 >= 25 %LFL, G3 >= 25 %LFL)', solver: C1, latched: false, demands: [OFF] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open }
",
        &ideal(&["C1", "K1"]),
    ]));
    found.has_numbers("H", 1, 1);
    confirmed(&found, ["G1 G2", "G1 G3", "G2 G3"]);
}

#[test]
fn case_2_a_2oo3_vote_crossed_with_two_solvers_and_two_contactors_has_five_cut_sets_of_two() {
    let found = examine(&model(&["
logic_solvers: { C1: {}, C2: {} }
sensors:
  G1: { $GAS, wired_to: [C1, C2] }
  G2: { $GAS, wired_to: [C1, C2] }
  G3: { $GAS, wired_to: [C1, C2] }
actuators:
  K1: { $CONTACTOR, drivers: [C1, C2], wiring: series }
  K2: { $CONTACTOR, drivers: [C1, C2], wiring: series }
effects: { OFF: { set: [K1 = open, K2 = open] } }
causes:
  C-GAS-1: { when: '2oo3(G1 >= 25 %LFL, G2 >= 25 %LFL, G3 >= 25 %LFL)', solver: C1, latched: false, demands: [OFF] }
  C-GAS-2: { when: '2oo3(G1 >= 25 %LFL, G2 >= 25 %LFL, G3 >= 25 %LFL)', solver: C2, latched: false, demands: [OFF] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
"]));
    found.has_numbers("H", 1, 1);
    confirmed(&found, ["G1 G2", "G1 G3", "G2 G3", "C1 C2", "K1 K2"]);
}

#[test]
fn case_3_two_separate_channels_are_two_paths_and_tolerate_one_fault() {
    let found = examine(&model(&[
        "
logic_solvers: { C1: {}, C2: {} }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  K2: { $CONTACTOR, drivers: [C2] }
",
        CHANNELS,
    ]));
    found.has_numbers("H", 2, 1);
    confirmed(&found, ONE_OF_EACH);
}

#[test]
fn case_9_a_third_solver_in_series_changes_nothing() {
    let found = examine(&model(&[
        "
logic_solvers: { C1: {}, C2: {}, C3: {} }
actuators:
  K1: { $CONTACTOR, drivers: [C1, C3], wiring: series }
  K2: { $CONTACTOR, drivers: [C2] }
",
        CHANNELS,
    ]));
    found.has_numbers("H", 2, 1);
    confirmed(&found, ONE_OF_EACH);
}

#[test]
fn case_10_a_third_solver_in_parallel_holds_the_contactor() {
    let found = examine(&model(&[
        "
logic_solvers: { C1: {}, C2: {}, C3: {} }
actuators:
  K1: { $CONTACTOR, drivers: [C1, C3], wiring: parallel }
  K2: { $CONTACTOR, drivers: [C2] }
",
        CHANNELS,
    ]));
    found.has_numbers("H", 1, 0);
    confirmed(&found, ["G2", "C2", "K2"]);
    assert_eq!(found.tags(&found.numbers("H").path_sets), sets(["C2 G2 K2"]));
}

#[test]
fn case_20_a_certified_solver_in_both_channels_is_one_path_and_weighs_two() {
    let found = examine(&model(&["
logic_solvers: { C1: { certified_fault_tolerance: 1, certificate: number 12 } }
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C1] }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  K2: { $CONTACTOR, drivers: [C1] }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-GAS-1: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF-1] }
  C-GAS-2: { when: G2 >= 25 %LFL, solver: C1, latched: false, demands: [OFF-2] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
"]));
    found.has_numbers("H", 1, 1);
    confirmed(&found, ["C1", "G1 G2", "G1 K2", "K1 G2", "K1 K2"]);
}

#[test]
fn case_22_where_each_sensor_sees_one_half_of_the_hazard_both_are_in_every_path() {
    let found = examine(&model(&["
conditions: { a: {}, b: {} }
logic_solvers: { C1: {}, C2: {} }
sensors:
  G1: { detects: a, wired_to: [C1] }
  G2: { detects: b, wired_to: [C2] }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  K2: { $CONTACTOR, drivers: [C2] }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-A: { when: G1, solver: C1, latched: false, demands: [OFF-1] }
  C-B: { when: G2, solver: C2, latched: false, demands: [OFF-2] }
hazards:
  H: { when: a OR b, $HERE, safe_state: K1 = open OR K2 = open }
"]));
    found.has_numbers("H", 1, 0);
    confirmed(&found, ["G1", "C1", "K1", "G2", "C2", "K2"]);
    assert_eq!(found.tags(&found.numbers("H").path_sets), sets(["C1 C2 G1 G2 K1 K2"]));
}

/// The sets are those of the bridge network in any text on reliability; the value is known from memory and calculated
/// again by enumeration.
#[test]
fn case_27_a_bridge_has_its_four_cut_sets_and_two_disjoint_paths() {
    let bridge = "X1 AND X4 OR X2 AND X5 OR X1 AND X3 AND X5 OR X2 AND X3 AND X4";
    let found = examine(&switches(5, bridge));
    found.has_numbers("H", 2, 1);
    assert_eq!(found.cuts("H"), sets(["X1 X2", "X4 X5"]));
    let all = sets(["X1 X2", "X4 X5", "X1 X3 X5", "X2 X3 X4"]);
    assert_eq!(found.all_cuts("H"), all);
    found.confirm("H", &all);
    assert_eq!(found.tags(&found.numbers("H").path_sets), sets(["X1 X4", "X2 X5"]));
}
