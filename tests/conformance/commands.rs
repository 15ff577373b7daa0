//! Cases 11–13 and 29: commands that oppose each other, memory, and combinations of positions that never occur.

use tripproof::assess::{Decided, Subject};
use tripproof::outcome::Verdict;
use tripproof::situation::FactChoice;

use crate::support::examined::{examine, holds, sets};
use crate::support::text::model;

/// One solver: gas opens the contactor, fire closes it. `{…}` is filled in by the cases.
fn gas_and_fire(winner: &str, latched: bool, together: &str) -> String {
    model(&[&"
logic_solvers: { C1: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  F1: { detects: fire, wired_to: [C1] }
actuators: { K1: { $CONTACTOR, drivers: [C1] WINNER } }
effects: { OFF: { set: [K1 = open] }, ON: { set: [K1 = closed] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C1, latched: LATCHED, demands: [OFF] }
  C-FIRE: { when: F1, solver: C1, latched: LATCHED, demands: [ON] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open TOGETHER }
  H-FIRE: { when: fire, $HERE, safe_state: K1 = closed }
"
    .replace("WINNER", winner)
    .replace("LATCHED", if latched { "true" } else { "false" })
    .replace("TOGETHER", together)])
}

#[test]
fn case_11_opposing_commands_without_a_winner_are_a_conflict_and_leave_the_hazard_uncovered() {
    let found = examine(&gas_and_fire("", false, ""));
    assert!(!holds(found.not_opposed("K1")));
    assert!(!holds(&found.of("H-GAS").covered));
    assert!(!found.met_without_faults("H-GAS"));
    // Without fire nothing opposes.
    let apart = examine(&gas_and_fire("", false, ", never_together: [H-FIRE]"));
    assert!(holds(&apart.of("H-GAS").covered));
    assert!(apart.met_without_faults("H-GAS"));
}

#[test]
fn case_12_series_wiring_decides_a_conflict_for_the_position_without_energy() {
    let found = examine(&model(&["
logic_solvers: { C1: {}, C2: {}, C3: {} }
sensors:
  G1: { $GAS, wired_to: [C1] }
  G2: { $GAS, wired_to: [C2] }
  F1: { detects: fire, wired_to: [C3] }
actuators:
  K1: { $CONTACTOR, drivers: [C1, C3], wiring: series }
  K2: { $CONTACTOR, drivers: [C2, C3], wiring: series }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] }, ON: { set: [K1 = closed, K2 = closed] } }
causes:
  C-GAS-1: { when: G1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF-1] }
  C-GAS-2: { when: G2 >= 25 %LFL, solver: C2, latched: false, demands: [OFF-2] }
  C-FIRE: { when: F1, solver: C3, latched: false, demands: [ON] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open OR K2 = open }
"]));
    assert!(!holds(found.not_opposed("K1")));
    assert!(!holds(found.not_opposed("K2")));
    found.has_numbers("H-GAS", 2, 1);
    let cuts = sets(["G1 G2", "G1 C2", "G1 K2", "C1 G2", "C1 C2", "C1 K2", "K1 G2", "K1 C2", "K1 K2"]);
    assert_eq!(found.cuts("H-GAS"), cuts);
    found.confirm("H-GAS", &cuts);
}

#[test]
fn case_13_a_fire_that_is_over_still_wins_by_its_latch() {
    let found = examine(&gas_and_fire(", winner: closed", true, ", never_together: [H-FIRE]"));
    assert!(holds(found.not_opposed("K1")));
    let covered = &found.of("H-GAS").covered;
    assert!(!holds(covered));
    assert!(!found.met_without_faults("H-GAS"));
    let fire = found.model.causes.iter().find(|(_, cause)| cause.name.tag == "C-FIRE").unwrap().0;
    assert!(covered.witness().unwrap().situation.fact(FactChoice::AlreadySet(fire)));
    // Without the latches there is no memory, and the same design covers the hazard.
    let forgetful = examine(&gas_and_fire(", winner: closed", false, ", never_together: [H-FIRE]"));
    assert!(holds(&forgetful.of("H-GAS").covered));
    assert!(forgetful.met_without_faults("H-GAS"));
}

/// Water and power: the water valve never opens on a closed contactor. The second cause lacks the mark or has it.
fn water(second: &str) -> String {
    model(&[&"
logic_solvers: { C1: {} }
sensors:
  F1: { detects: fire, wired_to: [C1] }
  F2: { detects: fire, wired_to: [C1] }
actuators:
  WZ: { positions: [closed, open], without_energy: closed, operated_by: protection, rest: closed, drivers: [C1] }
  KD: { $CONTACTOR, drivers: [C1] }
effects: { WATER: { set: [WZ = open] }, POWER-OFF: { set: [KD = open] } }
causes:
  C-FIRE-1: { when: F1, solver: C1, latched: false, demands: [WATER, POWER-OFF] }
  C-FIRE-2: { when: F2, solver: C1, latched: false, demands: [SECOND] }
hazards:
  H: { when: fire, $HERE, safe_state: WZ = open }
exclusions: { X: { never: WZ = open AND KD = closed } }
invariants: { I: { whenever: WZ = open, then: KD = open } }
"
    .replace("SECOND", second)])
}

#[test]
fn case_29_a_missing_mark_refutes_the_exclusion_and_the_cause_shows_it() {
    // One switch sees the fire later than the other: the text gives each its own condition.
    let apart = |text: String| {
        text.replace("conditions: { fire: {} }", "conditions: { fire: {}, smoke: {} }")
            .replace("F2: { detects: fire", "F2: { detects: smoke")
    };
    let found = examine(&apart(water("WATER")));
    let decided = found.single(|subject| matches!(subject, Subject::NeverOccurs(_)));
    let witness = decided.witness().unwrap();
    let second = found.model.causes.iter().find(|(_, cause)| cause.name.tag == "C-FIRE-2").unwrap().0;
    assert!(witness.replay.causes[&second]);
    assert!(witness.replay.causes.iter().all(|(cause, value)| *cause == second || !value));
    assert!(!holds(found.single(|subject| matches!(subject, Subject::AlwaysHolds(_)))));

    let marked = examine(&apart(water("WATER, POWER-OFF")));
    assert!(holds(marked.single(|subject| matches!(subject, Subject::NeverOccurs(_)))));
    assert!(holds(marked.single(|subject| matches!(subject, Subject::AlwaysHolds(_)))));
    let outcome = marked.outcome();
    let of_x = outcome.claims.iter().filter(|claim| claim.about.as_deref() == Some("X"));
    assert!(of_x.map(|claim| &claim.verdict).all(|verdict| *verdict == Verdict::Proved));
}

// Semantics, section 6: a proof counts only if its situations exist.
#[test]
fn an_invariant_that_nothing_begins_is_not_proved() {
    let of = |text: &str| {
        let found = examine(text);
        found.single(|subject| matches!(subject, Subject::AlwaysHolds(_))).clone()
    };
    let text = water("POWER-OFF");
    assert!(matches!(of(&text), Decided::Holds));
    let idle = text.replace("whenever: WZ = open", "whenever: WZ = closed");
    assert!(matches!(of(&idle), Decided::NotApplicable(_)), "nothing demands it");
}
