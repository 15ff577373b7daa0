//! What has to end before a hazard is met in time, a device that has to come back, a T90, the modes of a stop, certain damage,
//! and a pulse that two causes read. Each was a wrong verdict once, which a reader found; the values are worked out by hand from
//! sections 6 and 7 of docs/meaning.md.

use tripproof::assess::{Decided, Subject};
use tripproof::exact::Exact;

use super::time::{NANOSECOND, in_time, number};
use crate::support::examined::{examine, holds, problems};
use crate::support::text::model;

const CONTROLLER: &str = "
logic_solvers: { C1: { reaction: 50 ms } }
effects: { OFF: { set: [K1 = open] }, ON: { set: [K1 = closed] } }
hazards: { H: { when: fire, $HERE, safe_state: K1 = open, within: 1 s } }
";

/// The longest response with which it is in time: exactly so long is, one nanosecond more is not.
fn longest(seconds: &str, met: impl Fn(&Exact) -> bool) {
    let longest = number(seconds);
    assert!(met(&longest), "{seconds} s are in time");
    assert!(!met(&(&longest + &number(NANOSECOND))), "a nanosecond more than {seconds} s is not");
}

/// A contactor that a run command keeps closed until its switch sees that the fire is there.
fn runs_until_seen(actuator: &str, trip: &str, response: &Exact) -> bool {
    in_time(&examine(&model(&[
        CONTROLLER,
        &format!(
            "
sensors:
  F1: {{ detects: NOT fire, response: {response} s, wired_to: [C1] }}
  F2: {{ detects: fire, response: 0 s, wired_to: [C1] }}
actuators: {{ K1: {{ positions: [open, closed], without_energy: open, {actuator}, drivers: [C1], moves_in: 60 ms }} }}
causes:
  RUN: {{ when: F1 = detected, solver: C1, latched: false, purpose: comfort, demands: [ON] }}
{trip}"
        ),
    ])))
}

const TRIP: &str = "  TRIP: { when: F2 = detected, solver: C1, latched: true, demands: [OFF] }";

// Common practice, no source: an enabling contact that drops out stops no sooner than it drops out.
#[test]
fn what_nothing_commands_any_more_takes_until_the_command_has_ended() {
    // 1 s − 50 ms − 60 ms.
    longest("0.89", |response| runs_until_seen("operated_by: protection, rest: open", "", response));
}

#[test]
fn a_trip_that_does_not_win_waits_for_the_command_to_end() {
    longest("0.89", |response| runs_until_seen("operated_by: process, winner: closed", TRIP, response));
    longest("0.89", |response| runs_until_seen("operated_by: process", TRIP, response));
    let slow = number("3600");
    assert!(
        runs_until_seen("operated_by: process, winner: open", TRIP, &slow),
        "a trip that wins does not wait"
    );
}

// The quantity has left the range of the command long before harm: the same head start as for a trip with that set point.
#[test]
fn a_command_at_a_low_value_has_ended_before_a_high_one() {
    let heats = |below: &str, response: &Exact| {
        in_time(&examine(&model(&[
            "quantities: { gas: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }",
            &format!(
                "
logic_solvers: {{ C1: {{ reaction: 50 ms }} }}
sensors: {{ S1: {{ $GAS, response: {response} s, deadband: 1 %LFL, wired_to: [C1] }} }}
actuators: {{ K1: {{ $CONTACTOR, drivers: [C1], moves_in: 60 ms }} }}
effects: {{ OFF: {{ set: [K1 = open] }}, ON: {{ set: [K1 = closed] }} }}
causes:
  FEED: {{ when: S1 <= {below} %LFL, solver: C1, latched: false, purpose: comfort, demands: [ON] }}
  TRIP: {{ when: S1 >= 25 %LFL, solver: C1, latched: true, demands: [OFF] }}
hazards: {{ H: {{ when: gas >= 40 %LFL, $HERE, safe_state: K1 = open, within: 0 s }} }}
"
            ),
        ])))
    };
    // The trip: (40 − 25 − 3) / 0.5 = 24 s. The feed clears at 10 + 1: (40 − 11 − 3) / 0.5 = 52 s.
    longest("23.89", |response| heats("10", response));
    // At 30 + 1: (40 − 31 − 3) / 0.5 = 12 s, which is less than the trip has.
    longest("11.89", |response| heats("30", response));
}

#[test]
fn a_passive_device_that_comes_back_takes_its_time() {
    let flap = |moves: &Exact| {
        in_time(&examine(&model(&[&format!(
            "
conditions: {{ blowing: {{ normal: true }} }}
logic_solvers: {{ C1: {{}} }}
passive: {{ FL: {{ positions: [shut, open], rest: shut, acts_when: blowing, to: open, moves_in: {moves} s }} }}
effects: {{}}
causes: {{}}
hazards: {{ H: {{ when: NOT blowing, $HERE, safe_state: FL = shut, within: 3 s }} }}
"
        )])))
    };
    longest("3", flap);
}

// A reading of first order lags behind a ramp by T90 / ln 10 at most, and by far more behind the last tenth of a step.
// Textbook of first-order systems, from memory; common practice.
#[test]
fn a_t90_counts_only_where_the_change_takes_as_long() {
    let heads = |response: &Exact| {
        in_time(&examine(&model(&[
            "quantities: { gas: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 2 %LFL/s } }",
            &format!(
                "
logic_solvers: {{ C1: {{ reaction: 50 ms }} }}
sensors: {{ S1: {{ $GAS, t90: {response} s, wired_to: [C1] }} }}
actuators: {{ K1: {{ $CONTACTOR, drivers: [C1], moves_in: 60 ms }} }}
effects: {{ OFF: {{ set: [K1 = open] }} }}
causes: {{ TRIP: {{ when: S1 >= 25 %LFL, solver: C1, latched: true, demands: [OFF] }} }}
hazards: {{ H: {{ when: gas >= 40 %LFL, $HERE, safe_state: K1 = open, within: 60 s }} }}
"
            ),
        ])))
    };
    // (40 − 25 − 3) / 2 = 6 s, however much time there is after harm begins.
    assert!(heads(&number("6")));
    let found = std::panic::catch_unwind(|| heads(&(&number("6") + &number(NANOSECOND))));
    assert!(found.is_err(), "it is neither in time nor late");
}

/// A stop whose cause is armed in these modes, in a plant of two bays.
fn stop(armed: &str) -> bool {
    let found = examine(&model(&[
        "modes:
  bay1: { running: { people: never }, standstill: { people: never } }
  bay2: { running: { people: never }, standstill: { people: never } }
  key: { normal: { people: never }, service: { people: never } }
",
        "
logic_solvers: { C1: {} }
sensors: { F1: { detects: fire, wired_to: [C1] } }
stops: { ES: { contacts: { ES-A: { wired_to: [C1] } }, brings: [K1 = open], stop_category: 0 } }
actuators: { K1: { $CONTACTOR, drivers: [C1] }, K2: { $CONTACTOR, drivers: [C1] } }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
",
        &format!(
            "
causes:
  C-1: {{ when: F1, solver: C1, latched: true, demands: [OFF-1, OFF-2] }}
  C-ES: {{ when: ES-A = pressed, solver: C1, latched: true, {armed}demands: [OFF-1] }}
hazards:
  H-1: {{ when: fire, exists_in: {{ bay1: [running] }}, not_in: {{ standstill: nothing moves }}, safe_state: K1 = open }}
  H-2: {{ when: fire, exists_in: {{ bay2: [running] }}, not_in: {{ standstill: nothing moves }}, safe_state: K2 = open }}
"
        ),
    ]));
    holds(found.single(|subject| matches!(subject, Subject::SpanReached(_))))
}

#[test]
fn a_stop_counts_in_every_mode_in_which_a_hazard_of_its_groups_exists() {
    assert!(stop(""));
    assert!(stop("armed: { bay1: [running] }, "));
    assert!(
        !stop("armed: { bay1: [running], bay2: [running] }, "),
        "with bay 2 at a standstill nothing reads it"
    );
    // No hazard belongs to the key, so it must work with the key in any position.
    assert!(!stop("armed: { key: [normal] }, "));
    assert!(stop("armed: { key: [normal, service] }, "));
}

// Damage that is certain costs no fault: it belongs to every budget (section 1 of docs/meaning.md).
#[test]
fn a_release_must_stop_what_certain_damage_leaves_to_one_fault() {
    let released = |certain: &str| {
        let found = examine(&model(&[
            "modes: { cell: { running: { people: expected } } }",
            "
logic_solvers: { C1: {}, C2: {} }
sensors:
  Z1: { detects: fire, wired_to: [C1], line: dynamic, on_loss: detected, on_bad: trips }
  Z2: { detects: fire, wired_to: [C2], line: dynamic, on_loss: detected, on_bad: trips }
spaces:
  ROOM:
    people_in: { cell: [running] }
    doors: { D-1: { position_sensors: [Z1, Z2], escape_release: { tag: ER, place: inside, mechanical: true, trips: [Z1, Z2] } } }
    hazards_behind_doors: [H]
actuators: { K1: { $CONTACTOR, drivers: [C1] }, K2: { $CONTACTOR, drivers: [C2] } }
effects: { OFF-1: { set: [K1 = open] }, OFF-2: { set: [K2 = open] } }
causes:
  C-1: { when: Z1 = detected, solver: C1, latched: true, demands: [OFF-1] }
  C-2: { when: Z2 = detected, solver: C2, latched: true, demands: [OFF-2] }
",
            &format!(
                "hazards: {{ H: {{ when: fire, $HERE, safe_state: K1 = open OR K2 = open, damages: {{ BLAST: [K1] }}{certain} }} }}"
            ),
        ]));
        let decided = found.single(|subject| matches!(subject, Subject::ReleaseStops(..)));
        assert!(matches!(decided, Decided::Holds | Decided::Broken(_)), "{decided:?}");
        holds(decided)
    };
    assert!(released(""), "one fault, the damage or another");
    assert!(!released(", damage_certain: true"), "the damage, and a fault of the other contactor");
}

// Two causes that read one pulse at one place see it begin at once, and only one of them may have it to its end.
#[test]
fn a_pulse_that_is_gone_before_the_leading_cause_has_it_leads_nothing() {
    let led = |lasts: &str| {
        let found = examine(&model(&[&format!(
            "
logic_solvers: {{ C1: {{ reaction: 20 ms }} }}
sensors: {{ F1: {{ detects: fire, response: 10 ms, {lasts}wired_to: [C1] }} }}
actuators:
  K1: {{ $CONTACTOR, drivers: [C1], moves_in: 60 ms }}
  WV: {{ positions: [shut, open], without_energy: shut, operated_by: protection, rest: shut, drivers: [C1], moves_in: 1 s }}
effects: {{ OFF: {{ set: [K1 = open] }}, WATER: {{ set: [WV = open], delay: 60 s, after: [OFF] }} }}
causes:
  C-WATER: {{ when: F1 = detected, solver: C1, latched: true, demands: [WATER] }}
  C-OFF: {{ when: F1 = detected, solver: C1, on_delay: 5 s, latched: true, demands: [OFF] }}
hazards: {{ H: {{ when: fire, $HERE, safe_state: WV = open, within: 120 s }} }}
"
        )]));
        found.assessment.singles.iter().any(|single| {
            matches!(single.subject, Subject::Preceded(..)) && matches!(single.decided, Decided::Holds)
        })
    };
    assert!(led(""));
    assert!(!led("signal_lasts: 1 s, "));
}

#[test]
fn a_release_that_discharges_nothing_is_refused() {
    let text = model(&["
logic_solvers: { C1: {} }
machines: { P: {} }
sensors: { F1: { detects: fire, wired_to: [C1] } }
actuators: { V1: { positions: [shut, open], without_energy: open, operated_by: process, drivers: [C1], needs: [P] } }
effects: { E: { set: [V1 = open] } }
causes: { C-1: { when: F1, solver: C1, latched: true, demands: [E] } }
suppression: { Z: { released_by: [C-1], discharges: [], demand: 10 L/s, capacity: { P: 15 L/s } } }
hazards: { H: { when: fire, $HERE, safe_state: V1 = open } }
"]);
    assert_eq!(problems(&text), [("empty-list", "[]".to_string())]);
}

// A claim over no situation says nothing: it does not arise, and is not proved.
#[test]
fn nobody_inside_and_no_release_used_prove_nothing() {
    let decided = |coupling: &str| {
        let found = examine(&model(&[
            "modes: { cell: { running: { people: expected }, idle: { people: never } } }",
            "
logic_solvers: { C1: {} }
sensors: { Z1: { detects: fire, wired_to: [C1], line: dynamic, on_loss: detected, on_bad: trips } }
spaces:
  ROOM:
    people_in: { cell: [running] }
    doors: { D-1: { position_sensors: [Z1], escape_release: { tag: ER, place: inside, mechanical: true, trips: [Z1] } } }
    hazards_behind_doors: [H]
actuators: { K1: { $CONTACTOR, drivers: [C1] } }
effects: { OFF: { set: [K1 = open] } }
causes: { C-1: { when: Z1, solver: C1, latched: true, demands: [OFF] } }
",
            "hazards: { H: { when: fire, exists_in: { cell: [running] }, not_in: { idle: nothing moves }, safe_state: K1 = open } }",
            coupling,
        ]));
        let word = |decided: &Decided| match decided {
            Decided::Holds => "holds",
            Decided::Broken(_) => "broken",
            Decided::NotApplicable(_) => "does not arise",
            other => panic!("{other:?}"),
        };
        let leave = word(found.single(|subject| matches!(subject, Subject::CanLeave(_))));
        (leave, word(found.single(|subject| matches!(subject, Subject::ReleaseStops(..)))))
    };
    assert_eq!(decided(""), ("holds", "broken"));
    let never_open =
        "couplings: { CPL: { always: NOT (cell = running) OR NOT fire, owner: safety engineer } }";
    assert_eq!(decided(never_open), ("holds", "does not arise"));
    let never_running = "couplings: { CPL: { always: NOT (cell = running), owner: safety engineer } }";
    assert_eq!(decided(never_running), ("does not arise", "does not arise"));
}
