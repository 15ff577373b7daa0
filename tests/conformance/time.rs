//! Cases 23, 24 and 26: claims about time. A head start shows in the longest response with which the trip is still in
//! time: exactly so long is in time, one nanosecond more is not. Walking through the simulator must say the same.

use tripproof::assess::{Decided, Timed};
use tripproof::claim::Breach;
use tripproof::exact::Exact;

use crate::support::enumerate::{NOBODY, Walk};
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
        seconds: "24",
    },
    HeadStart {
        plant: "quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }",
        sensor: "measures: q, range: 0 .. 100 %LFL, accuracy: 1 %LFL",
        trips: "S1 >= 1 %LFL",
        harm: "q >= 40 %LFL",
        seconds: "70",
    },
    HeadStart {
        plant: "quantities: { q: { range: 0 .. 25 %vol, normal: 20.5 .. 21 %vol, falls: 0.025 %vol/s } }",
        sensor: "measures: q, range: 0 .. 25 %vol, accuracy: 0.3 %vol",
        trips: "S1 <= 19.5 %vol",
        harm: "q <= 17 %vol",
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
        seconds: "27.5",
    },
];

const BEHIND: &str = "
logic_solvers: { C1: { reaction: 50 ms } }
actuators: { K1: { $CONTACTOR, drivers: [C1], moves_in: 60 ms } }
effects: { OFF: { set: [K1 = open] } }
";

pub fn number(text: &str) -> Exact {
    Exact::parse_decimal(text).unwrap()
}

/// What C1 and K1 take: 50 ms and 60 ms.
const BEHIND_TAKES: &str = "0.11";
pub const NANOSECOND: &str = "0.000000001";

/// Whether the hazard H is met in time without a fault, by the engine and by walking through the simulator.
pub fn in_time(found: &Examined) -> bool {
    let timed = &found.assessment.timed[0];
    let ever = &found.of("H").covered;
    assert!(holds(ever), "it is met as long as it takes");
    let decided = match &timed.decided {
        Timed::Quick => true,
        Timed::Decided(own) => match &own.covered {
            Decided::Holds => true,
            Decided::Broken(_) => false,
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    };
    let breach = Breach::Late { hazard: timed.hazard, timing: timed.timing.clone() };
    let mut walk = Walk::new(&found.model, breach, Some(timed.mode), 100_000);
    assert_eq!(walk.defeated(&[].into(), NOBODY), Some(!decided), "walked");
    decided
}

fn timed(plant: &str, sensor: &str, trips: &str, harm: &str, response: &Exact) -> String {
    model(&[
        plant,
        &format!("sensors: {{ S1: {{ {sensor}, response: {response} s, wired_to: [C1] }} }}"),
        &format!("causes: {{ C-1: {{ when: {trips}, solver: C1, latched: false, demands: [OFF] }} }}"),
        &format!("hazards: {{ H: {{ when: {harm}, $HERE, safe_state: K1 = open, within: 0 s }} }}"),
        BEHIND,
    ])
}

#[test]
fn case_23_head_starts_are_exact() {
    for case in &HEAD_STARTS {
        let longest = &number(case.seconds) - &number(BEHIND_TAKES);
        let examined = |response: &Exact| {
            in_time(&examine(&timed(case.plant, case.sensor, case.trips, case.harm, response)))
        };
        assert!(examined(&longest), "{}: exactly the head start is in time", case.harm);
        let later = &longest + &number(NANOSECOND);
        assert!(!examined(&later), "{}: a nanosecond more is not", case.harm);
    }
}

#[test]
fn case_24_a_vote_is_in_time_with_the_second_fastest() {
    // (40 − SP − 3) / 0.5: 34 s, 34 s and 24 s for the set points 20, 20 and 25. Two of three are there after 34 s.
    let second_fastest = &number("34") - &number(BEHIND_TAKES);
    let examined = |response: &Exact| {
        let heads: String = (1..=3)
            .map(|n| format!("  S{n}: {{ measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: {response} s, wired_to: [C1] }}\n"))
            .collect();
        in_time(&examine(&model(&[
            "
quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }
",
            &format!("sensors:\n{heads}"),
            "
causes:
  C-1: { when: '2oo3(S1 >= 20 %LFL, S2 >= 20 %LFL, S3 >= 25 %LFL)', solver: C1, latched: false, demands: [OFF] }
hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 0 s } }
",
            BEHIND,
        ])))
    };
    assert!(examined(&second_fastest));
    assert!(!examined(&(&second_fastest + &number(NANOSECOND))));
}

#[test]
fn the_usable_fraction_takes_its_part_of_head_start_and_of_time() {
    // 0.5 · (24 + 10 − 4) = 15 s, evacuation of 4 s taken off first.
    let longest = &number("15") - &number(BEHIND_TAKES);
    let examined = |response: &Exact| {
        in_time(&examine(&model(&[
            "
quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }
",
            &format!("sensors: {{ S1: {{ measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: {response} s, wired_to: [C1] }} }}"),
            "
causes: { C-1: { when: S1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF] } }
hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 10 s, evacuation: 4 s, usable_fraction: 0.5 } }
",
            BEHIND,
        ])))
    };
    assert!(examined(&longest));
    assert!(!examined(&(&longest + &number(NANOSECOND))));
}

#[test]
fn an_unknown_time_is_neither_in_time_nor_late() {
    let found = examine(&model(&[
        "
quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }
sensors: { S1: { measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: unknown, wired_to: [C1] } }
causes: { C-1: { when: S1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF] } }
hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 0 s } }
",
        BEHIND,
    ]));
    let Timed::Decided(own) = &found.assessment.timed[0].decided else { panic!("decided") };
    assert!(matches!(own.covered, Decided::Undecided(_)), "{:?}", own.covered);
    let outcome = found.outcome();
    let claim = outcome.claims.iter().find(|claim| claim.claim == "in-time").unwrap();
    let tripproof::outcome::Verdict::Undecided(reason) = &claim.verdict else {
        panic!("{:?}", claim.verdict)
    };
    assert!(reason.contains("S1 (line "), "{reason}");
    assert_eq!(outcome.exit_code(), 1, "a hazard without redundancy has findings of its own");
}

// 90 % of a step say nothing of the rest, unless it is known how fast the quantity can go that way. Common practice, no source.
#[test]
fn a_t90_counts_only_with_a_rate_in_the_way_in_which_the_reading_goes() {
    let decided = |rate: &str, trips: &str| {
        let found = examine(&model(&[
            &format!("quantities: {{ q: {{ range: 0 .. 100 %LFL, {rate}: 0.5 %LFL/s }} }}"),
            "sensors: { S1: { measures: q, range: 0 .. 100 %LFL, accuracy: 1 %LFL, t90: 3 s, wired_to: [C1] } }",
            &format!("causes: {{ C-1: {{ when: '{trips}', solver: C1, latched: false, demands: [OFF] }} }}"),
            "hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 10 s } }",
            BEHIND,
        ]));
        match &found.assessment.timed[0].decided {
            Timed::Quick => true,
            Timed::Decided(own) => matches!(own.covered, Decided::Holds),
            other => panic!("{other:?}"),
        }
    };
    assert!(decided("rises", "S1 >= 25 %LFL"));
    assert!(!decided("falls", "S1 >= 25 %LFL"));
    assert!(decided("rises", "NOT (S1 <= 25 %LFL)"));
    assert!(!decided("falls", "NOT (S1 <= 25 %LFL)"));
}

// What does not depend on the unknown time is decided all the same.
#[test]
fn what_is_late_with_0_s_is_late() {
    let found = examine(&model(&[
        "
quantities: { q: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: 0.5 %LFL/s } }
sensors: { S1: { measures: q, range: 0 .. 100 %LFL, accuracy: 3 %LFL, response: unknown, confirmation: 25 s, wired_to: [C1] } }
causes: { C-1: { when: S1 >= 25 %LFL, solver: C1, latched: false, demands: [OFF] } }
hazards: { H: { when: q >= 40 %LFL, $HERE, safe_state: K1 = open, within: 0 s } }
",
        BEHIND,
    ]));
    let Timed::Decided(own) = &found.assessment.timed[0].decided else { panic!("decided") };
    assert!(matches!(own.covered, Decided::Broken(_)), "{:?}", own.covered);
}

// Being met at 12 s and lost at 40 s is not met: the safe state must be kept.
#[test]
fn case_26_a_command_that_wins_later_keeps_the_hazard_from_being_met() {
    let found = examine(&model(&["
logic_solvers: { C1: { reaction: 0 s } }
sensors:
  G1: { $GAS, wired_to: [C1], response: 0 s }
  F1: { detects: fire, wired_to: [C1], response: 0 s }
actuators: { K1: { $CONTACTOR, drivers: [C1], winner: closed, moves_in: 0 s } }
effects: { OFF: { set: [K1 = open] }, ON: { set: [K1 = closed] } }
causes:
  C-GAS: { when: G1 >= 25 %LFL, solver: C1, latched: false, on_delay: 12 s, demands: [OFF] }
  C-FIRE: { when: F1, solver: C1, latched: false, on_delay: 40 s, demands: [ON] }
hazards:
  H-GAS: { when: gas >= 40 %LFL, $HERE, safe_state: K1 = open, within: 20 s }
"]));
    assert!(!holds(&found.of("H-GAS").covered));
    assert!(!found.met_without_faults("H-GAS"));
    let outcome = found.outcome();
    let claim = outcome.claims.iter().find(|claim| claim.claim == "in-time").unwrap();
    assert_eq!(claim.verdict.word(), "not applicable", "it is not met even as long as it takes");
}

/// A hazard that a fire begins, whose detector gives a signal of so many seconds.
fn fleeting(lasts: &Exact, latched: bool, on_delay: &str, when: &str) -> Examined {
    examine(&model(&[
        &format!(
            "
sensors:
  F1: {{ detects: fire, response: 0.25 s, filter: 0.5 s, confirmation: 1 s, transport_delay: 9 s, signal_lasts: {lasts} s, wired_to: [C1] }}
  F2: {{ detects: fire, response: 0 s, wired_to: [C1] }}
causes: {{ C-1: {{ when: \"{when}\", solver: C1, latched: {latched}, on_delay: {on_delay} s, demands: [OFF] }} }}
hazards: {{ H: {{ when: fire, $HERE, safe_state: K1 = open, within: 60 s }} }}
"
        ),
        BEHIND,
    ]))
}

// IEC 61131-3, on-delay timer: it starts anew when its input is false, so that a shorter pulse never ends it.
#[test]
fn a_signal_must_stay_until_a_latch_has_it() {
    // Response, filter and confirmation, the on-delay, and the reaction of C1; not the tube, which only brings it later.
    let enough = number("3.8");
    let less = &enough - &number(NANOSECOND);
    assert!(in_time(&fleeting(&enough, true, "2", "F1 = detected")), "latched just before it ends");
    assert!(!in_time(&fleeting(&less, true, "2", "F1 = detected")), "gone a nanosecond before");
    assert!(
        !in_time(&fleeting(&number("50"), false, "0", "F1 = detected")),
        "without a latch it lets go again"
    );
    assert!(in_time(&fleeting(&enough, true, "2", "1oo2(F1 = detected, F2 = detected)")));
    assert!(
        !in_time(&fleeting(&number("50"), true, "2", "2oo2(F1 = detected, F2 = detected)")),
        "it may be gone before the other is there"
    );
    assert!(!in_time(&fleeting(&number("50"), true, "2", "F1 = detected AND F2 = detected")));
}

// A cause without a latch passes on what is left of the pulse.
#[test]
fn a_signal_is_kept_by_the_first_latch_on_its_way() {
    let examined = |lasts: &Exact| {
        in_time(&examine(&model(&[
            &format!(
                "sensors: {{ F1: {{ detects: fire, response: 0 s, signal_lasts: {lasts} s, wired_to: [C1] }} }}"
            ),
            "
causes:
  C-SEEN: { when: F1 = detected, solver: C1, latched: false, on_delay: 1 s, demands: [] }
  C-1: { when: C-SEEN, solver: C1, latched: true, on_delay: 2 s, demands: [OFF] }
hazards: { H: { when: fire, $HERE, safe_state: K1 = open, within: 60 s } }
",
            BEHIND,
        ])))
    };
    // Both on-delays, and C1 twice.
    assert!(examined(&number("3.1")));
    assert!(!examined(&(&number("3.1") - &number(NANOSECOND))));
}
