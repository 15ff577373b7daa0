//! Case 25: what a vote becomes while inputs are overridden.

use tripproof::assess::Subject;

use crate::support::examined::{Examined, examine, holds};
use crate::support::text::{ideal, model};

/// Three heads in a 2oo3 vote with a rule for inputs that are out; everything behind the heads is ideal.
fn overridden(rule: &str, at_most: usize, faults: usize) -> Examined {
    let own = "
policy: { disjoint_paths: 1, fault_tolerance: 0, under_overrides: FAULTS }
logic_solvers: { C1: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C1] }
  G3: { $GAS, wired_to: [C1] }
actuators: { K1: { $CONTACTOR, drivers: [C1] } }
overrides: { OV: { device: key switch, inputs: [G1, G2, G3], at_most: MOST } }
effects: { OFF: { set: [K1 = open] } }
causes:
  C-GAS: { when: '2oo3(G1 >= 25 %LFL, G2 >= 25 %LFL, G3 >= 25 %LFL)', solver: C1, latched: false RULE, demands: [OFF] }
hazards:
  H: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open }
"
    .replace("RULE", rule)
    .replace("MOST", &at_most.to_string())
    .replace("FAULTS", &faults.to_string());
    examine(&model(&[&own, &ideal(&["C1", "K1", "OV"])]))
}

#[test]
fn case_25_with_one_head_out_a_vote_that_becomes_1oo2_tolerates_one_fault() {
    let rule = ", degraded_vote: [1oo2]";
    assert!(holds(&overridden(rule, 1, 1).of("H").overrides));
    assert!(!holds(&overridden(rule, 1, 2).of("H").overrides));
}

#[test]
fn case_25_with_one_head_out_a_vote_that_stays_at_two_tolerates_none() {
    assert!(holds(&overridden("", 1, 0).of("H").overrides));
    assert!(!holds(&overridden("", 1, 1).of("H").overrides));
}

#[test]
fn case_25_with_two_heads_out_a_vote_that_stays_at_two_cannot_trip() {
    let found = overridden("", 2, 0);
    assert!(!holds(&found.of("H").covered));
    assert!(holds(&found.of("H").unaided));
    let witness = found.of("H").covered.witness().unwrap();
    assert!(witness.replay.causes.values().all(|value| !value));
    // With a rule for two it still does.
    assert!(holds(&overridden(", degraded_vote: [1oo2, 1oo1]", 2, 0).of("H").covered));
}

/// Two of two, both wired to another solver: one that is bad there is bad at the end of the link too, and what is left
/// of the vote never trips. Our own case, from docs/meaning.md, sections 3 and 4.
#[test]
fn a_vote_over_a_link_is_stuck_when_an_input_is_bad_where_its_wire_ends() {
    let vote = |rule: &str| {
        examine(&model(&[
            "logic_solvers: { C1: {}, C2: {} }",
            "sensors:\n  X1: { detects: fire, wired_to: [C1], on_bad: degrades_vote }\n  \
             X2: { detects: fire, wired_to: [C1], on_bad: degrades_vote }",
            "links: { LK: { connects: [C1, C2], carries: [X1, X2], supervised: true, on_loss: trips } }",
            "actuators: { K1: { $CONTACTOR, drivers: [C2] } }",
            "effects: { OFF: { set: [K1 = open] } }",
            &format!(
                "causes:\n  TRIP: {{ when: \"2oo2(X1, X2)\", solver: C2, latched: false, {rule} credited_for: [H], demands: [OFF] }}"
            ),
            "hazards: { H: { when: fire, $HERE, safe_state: K1 = open } }",
        ]))
    };
    let can_trip =
        |rule: &str| holds(vote(rule).single(|subject| matches!(subject, Subject::VoteCanTrip(..))));
    assert!(!can_trip("degraded_vote: [no_trip],"));
    assert!(!can_trip(""));
    assert!(can_trip("degraded_vote: [1oo1, trip],"));
}
