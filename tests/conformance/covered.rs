//! Cases 14–19: accuracy, the ends of ranges, and what a cause may name.

use crate::support::examined::{examine, holds, problems};
use crate::support::text::model;

/// One sensor, one cause, one contactor.
fn single(quantity: &str, sensor: &str, set_point: &str, harm: &str) -> String {
    model(&[
        &format!("quantities: {{ gas: {{ range: {quantity} }} }}"),
        &format!("sensors: {{ G1: {{ measures: gas, {sensor}, wired_to: [C1] }} }}"),
        &format!(
            "causes: {{ C-GAS: {{ when: G1 >= {set_point}, solver: C1, latched: false, demands: [OFF] }} }}"
        ),
        &format!("hazards: {{ H: {{ when: gas >= {harm}, $HERE, safe_state: K1 = open }} }}"),
        "
logic_solvers: { C1: {} }
actuators: { K1: { $CONTACTOR, drivers: [C1] } }
effects: { OFF: { set: [K1 = open] } }
",
    ])
}

const HEAD: &str = "range: 0 .. 100 %LFL, accuracy: 3 %LFL";

#[test]
fn case_14_a_set_point_at_the_beginning_of_harm_is_too_late_by_the_accuracy() {
    let found = examine(&single("0 .. 100 %LFL", HEAD, "20 %LFL", "20 %LFL"));
    assert!(!holds(&found.of("H").covered));
    assert!(!found.met_without_faults("H"));
}

#[test]
fn case_15_a_set_point_below_harm_by_just_the_accuracy_covers() {
    let found = examine(&single("0 .. 100 %LFL", HEAD, "20 %LFL", "23 %LFL"));
    assert!(holds(&found.of("H").covered));
    assert!(found.met_without_faults("H"));
    // A hair less is not enough.
    let less = examine(&single("0 .. 100 %LFL", HEAD, "20 %LFL", "22.999 %LFL"));
    assert!(!holds(&less.of("H").covered));
    assert!(!less.met_without_faults("H"));
}

#[test]
fn case_16_a_set_point_at_the_end_of_the_range_can_fire_and_just_above_cannot() {
    let at = examine(&single("0 .. 100 %LFL", HEAD, "100 %LFL", "40 %LFL"));
    assert!(holds(at.can_fire("C-GAS")));
    let above = examine(&single("0 .. 100 %LFL", HEAD, "100.001 %LFL", "40 %LFL"));
    assert!(!holds(above.can_fire("C-GAS")));
}

#[test]
fn case_17_a_saturated_transmitter_is_not_bad_and_never_reaches_a_set_point_above_its_range() {
    let found = examine(&single(
        "0 .. 200 %LFL",
        "range: 0 .. 100 %LFL, accuracy: 3 %LFL, on_bad: trips",
        "110 %LFL",
        "120 %LFL",
    ));
    assert!(!holds(found.can_fire("C-GAS")));
    assert!(!holds(&found.of("H").covered));
    assert!(!found.met_without_faults("H"));
}

#[test]
fn case_18_a_cause_on_a_condition_of_the_plant_is_an_error_of_the_model() {
    let text =
        single("0 .. 100 %LFL", HEAD, "25 %LFL", "40 %LFL").replace("when: G1 >= 25 %LFL", "when: fire");
    assert_eq!(problems(&text), [("no-device-reports-it", "fire".to_string())]);
    let text =
        single("0 .. 100 %LFL", HEAD, "25 %LFL", "40 %LFL").replace("when: G1 >= 25", "when: gas >= 25");
    assert_eq!(problems(&text), [("no-device-reports-it", "gas".to_string())]);
}

#[test]
fn case_19_a_cause_on_a_sensor_of_another_solver_needs_a_link() {
    let text = model(&["
logic_solvers: { C1: {}, C2: {} }
sensors: { G1: { $GAS, wired_to: [C1] } }
actuators: { K1: { $CONTACTOR, drivers: [C2] } }
effects: { OFF: { set: [K1 = open] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C2, latched: false, demands: [OFF] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open }
"]);
    assert_eq!(problems(&text), [("not-known-to-solver", "G1".to_string())]);
    let linked = text + "links: { L: { connects: [C1, C2], carries: [G1] } }\n";
    let found = examine(&linked);
    found.has_numbers("H", 1, 0);
}
