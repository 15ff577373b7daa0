//! Case 21: what a hazard damages while it is present.

use crate::support::examined::{examine, sets};
use crate::support::text::model;

/// Two channels, the line of each in its own tray; a fire takes one tray or the other.
fn trays(certain: &str) -> String {
    model(&[&"
routes: { R-1: {}, R-2: {} }
logic_solvers: { C1: {}, C2: {} }
sensors:
  F1: { detects: fire, wired_to: [C1], route: [R-1] }
  F2: { detects: fire, wired_to: [C2], route: [R-2] }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  K2: { $CONTACTOR, drivers: [C2] }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-FIRE-1: { when: F1, solver: C1, latched: false, demands: [OFF-1] }
  C-FIRE-2: { when: F2, solver: C2, latched: false, demands: [OFF-2] }
hazards:
  H:
    when: fire
    exists_in: { cell: [running] }
    safe_state: K1 = open OR K2 = open
    damages: { TRAY-1: [R-1], TRAY-2: [R-2] }
    damage_certain: CERTAIN
"
    .replace("CERTAIN", certain)])
}

#[test]
fn case_21_damage_that_costs_a_fault_leaves_two_paths() {
    let found = examine(&trays("false"));
    found.has_numbers("H", 2, 1);
    let cuts = found.cuts("H");
    assert!(cuts.iter().all(|cut| cut.len() == 2), "{cuts:?}");
    let damage = |n: usize| format!("damage group TRAY-{n} of H");
    // Both trays never burn at once, so the two groups together are no cut set; each takes the place of its tray.
    assert!(!cuts.contains(&vec![damage(1), damage(2)]));
    assert!(cuts.contains(&vec!["F2".to_string(), damage(1)]));
    found.confirm("H", &cuts);
}

#[test]
fn case_21_damage_that_is_certain_leaves_one_path_without_tolerance() {
    let found = examine(&trays("true"));
    found.has_numbers("H", 1, 0);
    let cuts = sets(["F1", "F2", "C1", "C2", "K1", "K2", "R-1", "R-2"]);
    assert_eq!(found.cuts("H"), cuts);
    found.confirm("H", &cuts);
}
