//! Small edits of the small model: each causes exactly the stated problems, each at its token.

use super::{CELL, shown};
use crate::load::load;
use crate::source::Source;

/// Replaces the first `from` by `to` and loads; the problems as `code @ marked text`.
pub(super) fn problems_after(from: &str, to: &str) -> String {
    assert!(CELL.contains(from), "not in the model: {from}");
    let source = Source::new("cell.yaml", CELL.replacen(from, to, 1));
    load(&source).err().map_or_else(String::new, |problems| shown(&source, &problems))
}

/// Checks a table of `from => to: problems`; all lines that differ are shown together.
pub(super) fn check(table: &[(&str, &str, &str)]) {
    let mut wrong = String::new();
    for (from, to, expected) in table {
        let found = problems_after(from, to);
        if found != *expected {
            wrong += &format!("{from}\n  => {to}\nexpected\n{expected}\nfound\n{found}\n\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn tags_are_unique_well_formed_and_of_the_right_kind() {
    check(&[
        ("24V-B: {}", "SL-1: {}\n  24V-B: {}", "duplicate-tag @ SL-1"),
        ("HLC-2: {", "GD-1: {", "duplicate-tag @ GD-1"),
        ("tag: ER-1", "tag: DL-1", "duplicate-tag @ DL-1\nunknown-tag @ ER-1"),
        ("  BAT: {}", "  BAT: {}\n  B T: {}", "tag-form @  "),
        ("supply: 24V-A, on_loss: high", "supply: 24V-X, on_loss: high", "unknown-tag @ 24V-X"),
        ("supply: 24V-A, on_loss: high", "supply: GD-1, on_loss: high", "wrong-kind-of-tag @ GD-1"),
        ("wired_to: [SL-1], route: [CR-1]", "wired_to: [SL-2], route: [CR-1]", "unknown-tag @ SL-2"),
        ("type: GT-100", "type: TANK", "wrong-kind-of-tag @ TANK"),
        ("needs: [LIMITS]", "needs: [GT-100]", "wrong-kind-of-tag @ GT-100"),
        ("drivers: [SL-1], feedback", "drivers: [SL-1, SL-1], feedback", "named-twice @ SL-1"),
        ("carries: [TT-1, C-TEMP]", "carries: [TT-1, C-TEMP, K1]", "wrong-kind-of-tag @ K1"),
        ("resets: [C-GAS-1, C-GAS-2]", "resets: [C-GAS-1, GD-2]", "wrong-kind-of-tag @ GD-2"),
        ("heads: [GD-1,", "heads: [solvent,", "wrong-kind-of-tag @ solvent"),
        ("leaves_alone: [FAN]", "leaves_alone: [K1]", "contradiction @ K1"),
        ("hazards:\n  H-IGN", "hazard:\n  H-IGN", "unknown-key @ hazard"),
    ]);
}

#[test]
fn plain_values_are_what_they_must_be() {
    check(&[
        ("language: 1", "language: 2", "unknown-language @ 2"),
        ("mechanical: true", "mechanical: yes", "not-a-flag @ yes"),
        ("latched: true", "latched: on", "not-a-flag @ on"),
        ("latched: true,", "latched: true, purpose: backup,", "contradiction @ [H-IGNITION]"),
        ("demand: 120 L/min", "demand: 120", "unit-missing @ 120"),
        ("{ FAN: 200 L/min }", "{ FAN: 200 kPa }", "wrong-kind-of-unit @ kPa"),
        ("{ FAN: 200 L/min }", "{ FAN: -200 }", "unit-missing @ -200"),
        ("{ FAN: 200 L/min }", "{ FAN: -200 L/min }", "negative @ -200 L/min"),
        ("{ FAN: 200 L/min }", "{ FAN: 200 L/min }, spare: 1", "out-of-range @ 1"),
        ("capacity: { FAN: 200 L/min }", "spare: 1", "contradiction @ 1"),
        (
            "{ FAN: 200 L/min } }",
            "{ FAN: 200 L/min } }\n  SUP-2: { released_by: [C-VOTE], discharges: [K1 = open], demand: 9 L/min, capacity: { FAN: 12.1 m3/h } }",
            "contradiction @ 12.1 m3/h",
        ),
        (
            "{ FAN: 200 L/min } }",
            "{ FAN: 200 L/min } }\n  SUP-2: { released_by: [C-VOTE], discharges: [K1 = open], capacity: { FAN: 12 m3/h, K1: 1 m3/h }, spare: 1 }",
            "contradiction @ { FAN: 12 m3/h, K1: 1 m3/h }",
        ),
        ("disjoint_paths: 2", "disjoint_paths: two", "not-a-count @ two"),
        ("disjoint_paths: 2", "disjoint_paths: 12", "out-of-range @ 12"),
        ("stop_category: 0", "stop_category: 3", "out-of-range @ 3"),
        ("at_most: 1", "at_most: 3", "out-of-range @ 3"),
        ("usable_fraction: 0.5", "usable_fraction: 1.5", "out-of-range @ 1.5"),
        ("  usable_fraction_reason: half the time is kept in reserve\n", "", "missing-key @ 0.5"),
        ("expires: 2027-03-31 }\n  COUP-2", "expires: 2027-02-29 }\n  COUP-2", "not-a-date @ 2027-02-29"),
        ("people: never", "people: nobody", "unknown-word @ nobody"),
        ("line: dynamic", "line: dynamc", "unknown-word @ dynamc"),
        ("leaves_out: { types:", "leaves_out: { type:", "unknown-word @ type"),
        ("certificate: number 12, ", "", "missing-key @ 1"),
        ("reason: inspected each year", "reason: \"\"", "empty-text @ \"\""),
        ("fire: false }", "fire: maybe }", "unknown-word @ maybe"),
        (
            "after_power_return: true }",
            "after_power_return: true }\n    third: { people: never, after_power_return: true }",
            "contradiction @ true",
        ),
    ]);
}

#[test]
fn values_have_units_of_the_right_kind() {
    check(&[
        ("accuracy: 3 %LFL, deadband", "accuracy: 3, deadband", "unit-missing @ 3"),
        ("accuracy: 2 K", "accuracy: 2 degC", "wrong-kind-of-unit @ degC"),
        ("range: 0 .. 150 degC", "range: 0 .. 150 %LFL", "wrong-kind-of-unit @ %LFL"),
        ("rises: 6 K/min", "rises: 6 degC", "wrong-kind-of-unit @ degC"),
        ("deadband: 1 %LFL", "deadband: -1 %LFL", "negative @ -1 %LFL"),
        ("reaction: 50 ms", "reaction: -50 ms", "negative @ -50 ms"),
        ("reaction: 50 ms", "reaction: unknown", ""),
        ("normal: 0 .. 5 %LFL", "normal: 0 .. 500 %LFL", "out-of-range @ 0 .. 500 %LFL"),
        (
            "normal: { solvent: 0 .. 4 %LFL",
            "normal: { solvent: 0 .. 400 %LFL",
            "out-of-range @ 0 .. 400 %LFL",
        ),
        ("voltage: { range: 0 .. 1200 V }", "voltage: { range: 0 .. 1200 }", "unit-missing @ 0 .. 1200"),
        ("resolution: 1 %LFL", "resolution: 0 %LFL", "out-of-range @ 0 %LFL"),
        ("resolution: 1 %LFL", "set_points_within: -1 %LFL", "negative @ -1 %LFL"),
        ("rises: 6 K/min", "set_points_within: 6 degC", "wrong-kind-of-unit @ degC"),
        ("rises: 6 K/min", "designed_for: 0 .. 5 bar", "wrong-kind-of-unit @ bar"),
        ("reaction: 50 ms", "reaction: 50 ms, scan: 5 bar", "wrong-kind-of-unit @ bar"),
        ("stores: { TANK: {} }", "stores: { TANK: { lasts: -1 min } }", "negative @ -1 min"),
        ("stores: { TANK: {} }", "stores: { TANK: { lasts: unknown } }", ""),
        ("GD-1 >= 25 %LFL", "GD-1 >= 25", "unit-missing @ 25"),
        ("GD-1 >= 25 %LFL", "GD-1 >= 25 bar", "wrong-kind-of-unit @ bar"),
        ("GD-1 >= 25 %LFL", "GD-1 >= 250 %LFL", ""),
        ("capacity: { FAN: 200 L/min }", "capacity: { FAN: 200 kg }", "wrong-kind-of-unit @ kg"),
        // A broken quantity is reported once, not again where it is used.
        ("solvent: { range: 0 .. 100 %LFL", "solvent: { range: 0 .. 100 furlong", "unknown-unit @ furlong"),
    ]);
}

#[test]
fn elements_have_what_they_need_and_nothing_meaningless() {
    check(&[
        ("GD-1: { measures: solvent,", "GD-1: {", "missing-key @ GD-1"),
        ("FL-1: { detects: fire,", "FL-1: { detects: fire, accuracy: 1 K,", "needless-key @ 1 K"),
        ("FL-1: { detects: fire,", "FL-1: { detects: fire, measures: solvent,", "contradiction @ fire"),
        (
            "FL-1: { detects: fire,",
            "FL-1: { detects: fire AND door_closed,",
            "not-one-condition @ fire AND door_closed",
        ),
        ("on_loss: detected", "on_loss: high", "word-does-not-fit @ high"),
        ("fails: [low, bad]", "fails: [detected]", "word-does-not-fit @ detected"),
        ("fails: [low, bad]", "fails: []", "empty-list @ []"),
        (
            "FL-1: { detects: fire,",
            "FL-1: { detects: fire, wiring: { SL-1: { range: 0 .. 5 bar } },",
            "needless-key @ 0 .. 5 bar",
        ),
        ("route: [CR-2] } }, on_bad", "range: 0 .. 50 %LFL } }, on_bad", "contradiction @ 0 .. 50 %LFL"),
        ("route: [CR-2] } }, on_bad", "range: 0 .. 100 %LFL } }, on_bad", ""),
        ("reaction: 50 ms", "reaction: 50 ms, scans_with_inputs: true", "needless-key @ true"),
        ("purpose: alarm, demands", "purpose: alarm, person_needs: 5 min, demands", ""),
        ("purpose: alarm, demands", "purpose: backup, person_needs: 5 min, demands", "needless-key @ 5 min"),
        ("discharges: [FAN = full],", "discharges: [FAN = full], into: [FAN],", "wrong-kind-of-tag @ FAN"),
        ("wiring: { RL-1:", "wiring: { RL-2:", "unknown-tag @ RL-2"),
        ("wired_to: [SL-1, RL-1], wiring: { RL-1:", "wired_to: [SL-1], wiring: { RL-1:", "not-wired @ RL-1"),
        ("connects: [SL-1, RL-1]", "connects: [SL-1]", "too-few @ [SL-1]"),
        ("with_energy: full, ", "", "missing-key @ FAN"),
        ("without_energy: stopped", "without_energy: full", "contradiction @ full"),
        ("rest: full, ", "", "missing-key @ FAN"),
        (
            "operated_by: process, moves_in: 60 ms, drivers: [RL-1]",
            "operated_by: process, rest: open, drivers: [RL-1]",
            "needless-key @ open",
        ),
        ("wiring: series, ", "", "missing-key @ K3"),
        ("wiring: series", "wiring: SL-1", "forgotten-driver @ SL-1"),
        ("wiring: series", "wiring: SL-1 AND NOT RL-1", "operator-not-allowed @ NOT RL-1"),
        ("wiring: series", "wiring: serie", "unknown-tag @ serie"),
        ("wiring: series, winner: open", "wiring: series, winner: closed", "impossible-winner @ closed"),
        ("wiring: series, winner: open", "wiring: parallel, winner: open", "impossible-winner @ open"),
        (
            "drivers: [SL-1, RL-1], wiring: series, winner: open",
            "drivers: [SL-1, RL-1, SL-1], wiring: series",
            "named-twice @ SL-1",
        ),
        (
            "drivers: [SL-1, RL-1], wiring: series, winner: open",
            "drivers: [SL-1, RL-1, PN-1], wiring: SL-1 AND (RL-1 OR PN-1), winner: open",
            "unknown-tag @ PN-1",
        ),
        ("relays: { RL-1: [KR-1] }", "relays: { SL-1: [KR-1] }", "not-a-driver @ SL-1"),
        ("positions: [shut, blowing]", "positions: [shut]", "too-few @ [shut]"),
        (", accuracy: 5 %LFL }", " }", "missing-key @ RV-1"),
        (
            "acts_when: solvent >= 80 %LFL",
            "acts_when: solvent >= 80 %LFL OR fire",
            "too-much-for-a-passive-device @ solvent >= 80 %LFL OR fire",
        ),
        ("to: blowing", "to: shut", "contradiction @ shut"),
        (
            "MS-1: { group: cell, tells: [SL-1] }",
            "MS-1: { group: cell, tells: [SL-1] }\n  MS-2: { group: cell, tells: [SL-1] }",
            "two-mode-inputs @ SL-1",
        ),
        ("then: door_closed, ", "", "missing-key @ COUP-2"),
        ("delays: { E-OFF-1:", "delays: { E-FAN:", "no-mark @ E-FAN"),
    ]);
}

#[test]
fn facts_about_the_plant_name_no_reading_and_add_up() {
    check(&[
        ("when: solvent >= 40 %LFL", "when: GD-1 >= 40 %LFL", "not-about-the-plant @ GD-1"),
        ("when: solvent >= 40 %LFL", "when: FL-1", "not-about-the-plant @ FL-1"),
        ("when: solvent >= 40 %LFL", "when: solvnt >= 40 %LFL", "unknown-tag @ solvnt"),
        ("when: solvent >= 40 %LFL", "when: solvent", "incomplete-condition @ solvent"),
        ("when: solvent >= 40 %LFL", "when: fire = closed", "incomplete-condition @ fire = closed"),
        ("when: solvent >= 40 %LFL", "when: solvent >= voltage", "kinds-do-not-match @ voltage"),
        ("when: solvent >= 40 %LFL", "when: solvent >= solvent", "incomplete-condition @ solvent >= solvent"),
        ("when: solvent >= 40 %LFL", "when: running", ""),
        ("bay = active", "bay = busy", "unknown-mode @ busy"),
        ("when: surface - core > 30 K", "when: surface - core > 30 degC", "points-do-not-cancel @ 30 degC"),
        (
            "when: surface - core > 30 K",
            "when: surface + core > 30 K",
            "points-do-not-cancel @ surface + core > 30 K",
        ),
        ("when: surface - core > 30 K", "when: surface > 80 degC", ""),
        ("when: surface - core > 30 K", "when: surface > 350 K", "temperature-in-kelvin @ K"),
        ("when: surface - core > 30 K", "when: 350 K < surface", "temperature-in-kelvin @ K"),
        ("when: surface - core > 30 K", "when: surface > core + 30 K", ""),
        ("when: surface - core > 30 K", "when: 256 * voltage - 8 V > 900 V", ""),
        ("always: surface >= core - 20 K", "always: K1 = open", "not-about-the-plant @ K1"),
    ]);
}

#[test]
fn causes_name_only_what_a_device_reports() {
    check(&[
        ("when: TT-1 >= 85 degC", "when: surface >= 85 degC", "no-device-reports-it @ surface"),
        ("when: TT-1 >= 85 degC", "when: fire", "no-device-reports-it @ fire"),
        ("when: TT-1 >= 85 degC", "when: K1 = open", "no-device-reports-it @ K1"),
        ("when: TT-1 >= 85 degC", "when: cell = running", "no-device-reports-it @ cell"),
        ("when: TT-1 >= 85 degC", "when: TT-1", "incomplete-condition @ TT-1"),
        ("when: TT-1 >= 85 degC", "when: TT-1 >= GD-1", "no-set-point @ GD-1"),
        (
            "when: TT-1 >= 85 degC",
            "when: TT-1 - 5 K >= 85 degC",
            "incomplete-condition @ TT-1 - 5 K >= 85 degC",
        ),
        ("when: TT-1 >= 85 degC", "when: FL-1 = detectd", "unknown-word @ detectd"),
        ("when: TT-1 >= 85 degC", "when: 85 degC <= TT-1", ""),
        ("OR HL-1 = open", "OR HL-1", "incomplete-condition @ HL-1"),
        ("OR HL-1 = open", "OR HLC-1", "wrong-kind-of-tag @ HLC-1"),
        ("OR ES-1A = pressed", "OR ES-1A", "incomplete-condition @ ES-1A"),
        ("OR ES-1A = pressed", "OR ES-1 = pressed", "wrong-kind-of-tag @ ES-1"),
        ("MS-1 = running", "MS-1 = runing", "unknown-mode @ runing"),
        ("NOT BAD(TT-1)", "NOT BAT(TT-1)", "unknown-function @ BAT"),
        ("LOST(BUS-1)", "LOST(SL-1)", "wrong-kind-of-tag @ SL-1"),
        ("OR OV-1", "OR OV-2", "unknown-tag @ OV-2"),
        ("GD-1 >= 25 %LFL OR ES-1A", "GD-2 >= 25 %LFL OR ES-1A", "not-known-to-solver @ GD-2"),
        ("OR C-TEMP OR", "OR C-VOTE OR", "not-known-to-solver @ C-VOTE"),
        ("degraded_vote: [1oo2, trip]", "degraded_vote: [1oo3, trip]", "degraded-vote @ 1oo3"),
        ("degraded_vote: [1oo2, trip]", "degraded_vote: [trip, 1oo1]", "degraded-vote @ 1oo1"),
        ("\"2oo3(GD-1", "\"NOT 2oo3(GD-1", "degraded-vote @ [1oo2, trip]"),
        ("armed: { cell: [running] }", "armed: { cell: [idle] }", "unknown-mode @ idle"),
    ]);
}

#[test]
fn positions_exist_and_do_not_contradict_each_other() {
    check(&[
        ("safe_state: K1 = open OR", "safe_state: K1 = opn OR", "unknown-position @ opn"),
        (
            "safe_state: K1 = open OR",
            "safe_state: NOT (K1 = closed) OR",
            "operator-not-allowed @ NOT (K1 = closed)",
        ),
        ("safe_state: K1 = open OR", "safe_state: K1 <> closed OR", "operator-not-allowed @ K1 <> closed"),
        ("safe_state: K1 = open OR", "safe_state: K1 OR", "incomplete-condition @ K1"),
        ("safe_state: K1 = open OR", "safe_state: GD-1 = open OR", "wrong-kind-of-tag @ GD-1"),
        ("set: [K1 = open, K3 = open]", "set: [K1 = open, K1 = closed]", "two-positions @ K1 = closed"),
        ("set: [FAN = full]", "set: [FAN = low]", "impossible-demand @ low"),
        ("set: [FAN = full]", "set: [RV-1 = blowing]", "wrong-kind-of-tag @ RV-1"),
        ("set: [FAN = full]", "set: [DL-1 = free]", "mark-without-way @ E-FAN"),
        ("needs: [K1 = closed", "needs: [K1 = shut", "unknown-position @ shut"),
        ("held_by: DL-1 = locked", "held_by: DL-1", "incomplete-condition @ DL-1"),
        ("whenever: K1 = open", "whenever: RV-1 = shut", "wrong-kind-of-tag @ RV-1"),
        ("demands: [E-OFF-1, E-FAN]", "demands: [E-OFF-2]", "mark-without-way @ E-OFF-2"),
    ]);
}

#[test]
fn hazards_and_what_claims_rest_on_are_consistent() {
    check(&[
        (
            "exists_in: { cell: [running] }",
            "exists_in: { cell: [running], bay: [active] }",
            "two-groups @ bay",
        ),
        ("exists_in: { cell: [running] }", "exists_in: { cell: [runing] }", "unknown-mode @ runing"),
        ("not_in: { access:", "not_in: { running:", "contradiction @ running"),
        ("never_together: [H-HEAT]", "never_together: [H-IGNITION]", "contradiction @ H-IGNITION"),
        ("source: CAB-2", "source: ES-1", "wrong-kind-of-tag @ ES-1"),
        ("direction: high", "direction: clear", "unknown-word @ clear"),
        ("source: CAB-2,", "source: CAB-2, direction: low,", "needless-key @ low"),
        ("by: plant manager, expires: 2027-03-31", "by: plant manager, expires: soon", "not-a-date @ soon"),
    ]);
}

#[test]
fn what_holds_wherever_its_devices_are_says_nothing() {
    check(&[
        (
            "safe_state: K1 = open OR",
            "safe_state: K1 = open OR K1 = closed OR",
            "says-nothing @ K1 = open OR K1 = closed OR K2 = open",
        ),
        (
            "safe_state: K1 = open OR",
            "safe_state: K1 = open AND K1 = closed AND",
            "says-nothing @ K1 = open AND K1 = closed AND K2 = open",
        ),
        (
            "never: FAN = stopped AND NOT (K1 = open)",
            "never: FAN = stopped AND FAN = full",
            "says-nothing @ FAN = stopped AND FAN = full",
        ),
        (
            "never: FAN = stopped AND NOT (K1 = open)",
            "never: K1 = open OR K1 <> open",
            "says-nothing @ K1 = open OR K1 <> open",
        ),
        ("never: FAN = stopped AND NOT (K1 = open)", "never: FAN = stopped AND NOT (FAN = full)", ""),
        ("then: FAN = full", "then: FAN = full OR K1 = open", "says-nothing @ FAN = full OR K1 = open"),
        ("then: FAN = full", "then: FAN = full OR FAN <> full", "says-nothing @ FAN = full OR FAN <> full"),
        (
            "whenever: K1 = open",
            "whenever: K1 = open AND K1 <> open",
            "says-nothing @ K1 = open AND K1 <> open",
        ),
        // Demands for two positions of one actuator can stand at once.
        ("then: FAN = full", "then: NOT (K1 = closed)", ""),
    ]);
}
