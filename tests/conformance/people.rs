//! Case 30: a room that people must be able to leave.

use tripproof::assess::Subject;
use tripproof::outcome::Verdict;

use crate::support::examined::{examine, holds};
use crate::support::text::model;

/// One door, held by a lock that needs power to open.
fn room(release: &str, exclusion: &str) -> String {
    model(&[
        "
modes: { cell: { running: { people: never }, access: { people: expected } } }
supplies: { S: {} }
logic_solvers: { C1: {} }
sensors: { F1: { detects: fire, wired_to: [C1] } }
actuators:
  K1: { $CONTACTOR, drivers: [C1] }
  DL: { positions: [locked, free], without_energy: locked, operated_by: process, drivers: [C1], supply: S }
effects: { OFF: { set: [K1 = open, DL = free] } }
causes: { C-FIRE: { when: F1, solver: C1, latched: false, demands: [OFF] } }
hazards:
  H: { when: fire, exists_in: { cell: [running, access] }, safe_state: K1 = open }
",
        &format!(
            "spaces: {{ ROOM: {{ people_in: {{ cell: [access] }}, doors: {{ DOOR: {{ held_by: DL = locked{release} }} }} }} }}"
        ),
        exclusion,
    ])
}

#[test]
fn case_30_a_lock_that_needs_power_without_escape_release_locks_people_in() {
    let found = examine(&room("", ""));
    let decided = found.single(|subject| matches!(subject, Subject::CanLeave(_)));
    assert!(!holds(decided));
}

#[test]
fn case_30_with_an_escape_release_people_can_leave_and_its_exclusion_is_listed() {
    let release = ", escape_release: { tag: ER, place: inside, mechanical: true }";
    let exclusion = "fault_exclusions:
  FX-ER: { source: ER, reason: mechanical and inspected every quarter, owner: safety engineer, expires: 2027-03-31 }";
    let found = examine(&room(release, exclusion));
    assert!(holds(found.single(|subject| matches!(subject, Subject::CanLeave(_)))));
    let outcome = found.outcome();
    let leave = outcome.claims.iter().find(|claim| claim.about.as_deref() == Some("ROOM")).unwrap();
    assert_eq!(leave.verdict, Verdict::Proved);
    let listed = |premise: &&tripproof::outcome::Premise| {
        premise.kind == "fault exclusion" && premise.tag.as_deref() == Some("FX-ER")
    };
    assert_eq!(outcome.premises.iter().filter(listed).count(), 1);
}

#[test]
fn case_30_a_release_that_needs_power_does_not_count() {
    let release = ", escape_release: { tag: ER, place: inside, mechanical: true, aids: [power] }";
    assert!(!holds(examine(&room(release, "")).single(|subject| matches!(subject, Subject::CanLeave(_)))));
}
