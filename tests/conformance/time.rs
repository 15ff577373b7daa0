//! Cases 23, 24 and 26: models with times. Their time is not examined yet: they must load with every value that the
//! time claims will need, and say that time is not examined. The values expected of the time claims stand beside them
//! as data, and are checked against the values that the model carries.

use tripproof::exact::Exact;
use tripproof::model::{InputAtom, Observes, PlantAtom, Time};

use crate::support::examined::{Examined, examine, holds};
use crate::support::text::model;

/// A head start with the part of the model that gives it.
struct HeadStart {
    /// Quantities and couplings.
    plant: &'static str,
    /// What the sensor measures and how well.
    sensor: &'static str,
    /// Comparison of the cause, and of the hazard.
    trips: &'static str,
    harm: &'static str,
    /// L: the value of the measured quantity from which on the hazard can be present.
    limit: &'static str,
    /// The head start, in seconds.
    seconds: &'static str,
}

/// Case 23.
const HEAD_STARTS: [HeadStart; 4] = [
    HeadStart {
        plant: "quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }",
        sensor: "measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL",
        trips: "S1 >= 25 %LFL",
        harm: "q >= 40 %LFL",
        limit: "40",
        seconds: "24",
    },
    HeadStart {
        plant: "quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }",
        sensor: "measures: q, range: 0 .. 100 %LFL, accuracy: 1 %LFL",
        trips: "S1 >= 1 %LFL",
        harm: "q >= 40 %LFL",
        limit: "40",
        seconds: "70",
    },
    HeadStart {
        plant: "quantities: { q: { range: 0 .. 25 %vol, normal: 20.5 .. 21 %vol, falls: 0.025 %vol/s } }",
        sensor: "measures: q, range: 0 .. 25 %vol, accuracy: 0.3 %vol",
        trips: "S1 <= 19.5 %vol",
        harm: "q <= 17 %vol",
        limit: "17",
        seconds: "88",
    },
    HeadStart {
        plant: "
quantities:
  core: { range: -20 .. 300 degC }
  q: { range: -20 .. 300 degC, normal: 20 .. 40 degC, rises: 1 K/s }
couplings: { COUP: { always: q >= core - 20 K, owner: process engineer } }",
        sensor: "measures: q, range: -20 .. 200 degC, accuracy: 2.5 K",
        trips: "S1 >= 75 degC",
        harm: "core >= 125 degC",
        limit: "105",
        seconds: "27.5",
    },
];

const BEHIND: &str = "
logic_solvers: { C1: { reaction: 50 ms } }
actuators: { K1: { $CONTACTOR, drivers: [C1], moves_in: 60 ms } }
effects: { OFF: { set: [K1 = open] } }
";

fn number(text: &str) -> Exact {
    Exact::parse_decimal(text).unwrap()
}

/// The head start by section 3 of the meaning, from the values of the model and L, in the unit of the file.
fn head_start(found: &Examined, limit: &Exact) -> Exact {
    let model = &found.model;
    let (_, sensor) = model.inputs.iter().next().unwrap();
    let Observes::Quantity { quantity, accuracy, .. } = &sensor.observes else { panic!("no sensor") };
    let quantity = &model.quantities[*quantity];
    let (_, cause) = model.causes.iter().next().unwrap();
    let atoms = cause.when.atoms();
    let [InputAtom::Compare { set_point, .. }] = atoms.as_slice() else { panic!("no comparison") };
    let normal = quantity.normal.as_ref().unwrap();
    let distance = match &quantity.falls {
        None => limit - &(set_point + accuracy).max(normal.high.clone()),
        Some(_) => &(set_point - accuracy).min(normal.low.clone()) - limit,
    };
    let rate = quantity.rises.as_ref().or(quantity.falls.as_ref()).unwrap();
    distance.checked_div(rate).unwrap().max(Exact::zero())
}

fn time_is_not_examined(found: Examined) {
    assert!(found.outcome().not_examined.iter().any(|line| line.starts_with("time:")));
}

/// The model's numbers are in the base unit of their kind: L is read the same way, as a set point.
fn in_base_unit(case: &HeadStart) -> Exact {
    let unit = case.trips.split(' ').next_back().unwrap();
    let (relation, plant) = (case.trips.split(' ').nth(1).unwrap(), case.plant);
    let trips = format!("S1 {relation} {} {unit}", case.limit);
    let text = timed(plant, case.sensor, &trips, case.harm);
    let found = examine(&text);
    let (_, cause) = found.model.causes.iter().next().unwrap();
    match cause.when.atoms().as_slice() {
        [InputAtom::Compare { set_point, .. }] => set_point.clone(),
        _ => panic!("no comparison"),
    }
}

fn timed(plant: &str, sensor: &str, trips: &str, harm: &str) -> String {
    model(&[
        plant,
        &format!("sensors: {{ S1: {{ {sensor}, response: 15 s, wired_to: [C1] }} }}"),
        &format!("causes: {{ C-1: {{ when: {trips}, solver: C1, latched: false, demands: [OFF] }} }}"),
        &format!("hazards: {{ H: {{ when: {harm}, $HERE, safe_state: K1 = open, within: 0 s }} }}"),
        BEHIND,
    ])
}

// When time is examined, the head start of the tool takes the place of the formula here.
#[test]
fn case_23_models_with_head_starts_load_and_carry_the_values_that_give_them() {
    for case in &HEAD_STARTS {
        let found = examine(&timed(case.plant, case.sensor, case.trips, case.harm));
        assert!(holds(&found.of("H").covered), "{}", case.harm);
        assert_eq!(head_start(&found, &in_base_unit(case)), number(case.seconds), "{}", case.harm);
        time_is_not_examined(found);
    }
}

// When time is examined, the vote is in time with the second fastest of its heads.
#[test]
fn case_24_a_vote_with_different_set_points_loads_with_all_of_them() {
    let head_starts = ["34", "34", "24"]; // (40 − SP − 3) / 0.5 for the set points 20, 20, 25
    let second_fastest = "34";
    let found = examine(&model(&[
        "
quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }
sensors:
  S1: { measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: 15 s, wired_to: [C1] }
  S2: { measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: 15 s, wired_to: [C1] }
  S3: { measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: 15 s, wired_to: [C1] }
causes:
  C-1: { when: '2oo3(S1 >= 20 %LFL, S2 >= 20 %LFL, S3 >= 25 %LFL)', solver: C1, latched: false, demands: [OFF] }
hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 0 s } }
",
        BEHIND,
    ]));
    let (_, cause) = found.model.causes.iter().next().unwrap();
    let (_, quantity) = found.model.quantities.iter().next().unwrap();
    let (_, hazard) = found.model.hazards.iter().next().unwrap();
    let [(PlantAtom::Linear { bound, .. }, true)] = hazard.onset[0].as_slice() else {
        panic!("one comparison")
    };
    let mut starts: Vec<Exact> = Vec::new();
    for atom in cause.when.atoms() {
        let InputAtom::Compare { set_point, input, .. } = atom else { panic!("a comparison") };
        let Observes::Quantity { accuracy, .. } = &found.model.inputs[*input].observes else {
            panic!("a sensor")
        };
        let distance = bound - &(set_point + accuracy);
        starts.push(distance.checked_div(quantity.rises.as_ref().unwrap()).unwrap());
    }
    assert_eq!(starts, head_starts.map(number));
    starts.sort();
    assert_eq!(starts[1], number(second_fastest));
    assert!(holds(&found.of("H").covered));
    time_is_not_examined(found);
}

// When time is examined, being met at 12 s and lost at 40 s is not met: the safe state must be kept.
#[test]
fn case_26_a_command_that_wins_later_keeps_the_hazard_from_being_met() {
    let (opens_after, closes_after) = ("12", "40");
    let found = examine(&model(&["
logic_solvers: { C1: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  F1: { detects: fire, wired_to: [C1] }
actuators: { K1: { $CONTACTOR, drivers: [C1], winner: closed } }
effects: { OFF: { set: [K1 = open] }, ON: { set: [K1 = closed] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C1, latched: false, on_delay: 12 s, demands: [OFF] }
  C-FIRE: { when: F1, solver: C1, latched: false, on_delay: 40 s, demands: [ON] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open, within: 20 s }
"]));
    let delays: Vec<Time> = found.model.causes.iter().map(|(_, cause)| cause.on_delay.clone()).collect();
    assert_eq!(delays, [opens_after, closes_after].map(|seconds| Time::Known(number(seconds))));
    assert!(!holds(&found.of("H-GAS").covered));
    assert!(!found.met_without_faults("H-GAS"));
    let outcome = found.outcome();
    assert!(
        outcome.not_examined.iter().any(|line| line == "2 delays: C-GAS, C-FIRE"),
        "{:?}",
        outcome.not_examined
    );
}
