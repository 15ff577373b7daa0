//! Every message about a calculated value, each at its place and with a way out.

use super::{plant, refused, shown};

/// The one problem of a formula: its code, and a word of its message.
fn one(formula: &str, code: &str, says: &str) {
    let text = plant(&shown(formula), "1 s", "5 s");
    let found = refused(&text);
    assert_eq!(found.len(), 1, "{formula}: {found:#?}");
    assert_eq!(found[0].code, code, "{formula}: {found:#?}");
    assert!(found[0].message.contains(says), "{formula}: {}", found[0].message);
    assert!(found[0].help.is_some() && found[0].span.end > found[0].span.start, "{formula}");
}

#[test]
fn numbers_that_make_no_sense_are_refused() {
    one(
        "time_at_rate: { from: 20 degC, to: 30 degC, rate: 0 K/min }",
        "out-of-range",
        "`rate` is above zero",
    );
    one(
        "time_at_rate: { from: 20 degC, to: 30 degC, rate: -1 K/min }",
        "out-of-range",
        "`rate` is above zero",
    );
    one("time_at_rate: { from: 20 degC, to: 3 bar, rate: 1 K/min }", "wrong-kind-of-unit", "bar");
    one("time_at_rate: { from: 20 s, to: 30 s, rate: 1 K/min }", "no-result", "has no rate of change");
    one("ramp: { power: 0 kW, heat_capacities: { chamber: 1 kJ/K } }", "out-of-range", "`power`");
    one("ramp: { power: 1 kW, heat_capacities: { chamber: 0 kJ/K } }", "out-of-range", "`heat_capacities`");
    one("ramp: { power: 1 kW, heat_capacities: {} }", "no-result", "heats nothing");
    one(
        "discharge: { voltage: 800 V, to: 0 V, capacitance: 1 mF, resistance: 1 ohm }",
        "out-of-range",
        "`to`",
    );
    one("pipe_filling: { volume: 1 L, flow: 0 L/s }", "out-of-range", "`flow`");
    one(
        "stopping: { speed: 1 m/s, reaction: 1 s, deceleration: 0 m/s2, gives: time }",
        "out-of-range",
        "`deceleration`",
    );
    one("endurance: { holds: 24 m3, draws: 0 L/s }", "out-of-range", "`draws`");
    one("endurance: { holds: 24 m3, draws: 3 kW }", "wrong-kind-of-unit", "kW");
    one("endurance: { holds: 3 m, draws: 3 m/s }", "no-result", "`holds`");
}

#[test]
fn a_room_without_an_answer_has_none() {
    let aired = "volume: 100 m3, source: 1 L/s, exhaust: 100 L/s";
    one(&format!("ventilated_room: {{ {aired}, gives: settled }}"), "missing-key", "`mixing`");
    one(&format!("ventilated_room: {{ {aired}, mixing: 0, gives: settled }}"), "out-of-range", "`mixing`");
    one(&format!("ventilated_room: {{ {aired}, mixing: 1.1, gives: settled }}"), "out-of-range", "`mixing`");
    one(
        &format!("ventilated_room: {{ {aired}, mixing: 1, start: 0 ppm, until: 2 %vol }}"),
        "no-result",
        "settles at 1 %vol",
    );
    one(
        &format!("ventilated_room: {{ {aired}, mixing: 1, start: 2 %vol, until: 3 %vol }}"),
        "no-result",
        "never reached",
    );
    one(
        &format!("ventilated_room: {{ {aired}, mixing: 1, start: 0 ppm, until: 30 %LFL }}"),
        "wrong-kind-of-unit",
        "%LFL",
    );
    one(
        &format!("ventilated_room: {{ {aired}, mixing: 1, start: 0 ppm, until: 2 ppm, after: 3 s }}"),
        "one-way-each",
        "asked for",
    );
    one(&format!("ventilated_room: {{ {aired}, mixing: 1, after: 3 s }}"), "missing-key", "`start`");
    one(&format!("ventilated_room: {{ {aired}, mixing: 1 }}"), "one-way-each", "asked for");
    one("ventilated_room: { volume: 100 m3, source: 1 L/s, gives: settled }", "no-result", "never settles");
    one(
        "ventilated_room: { volume: 100 m3, source: 1 L/s, mixing: 1, gives: rise }",
        "needless-key",
        "`mixing`",
    );
    one(
        "ventilated_room: { volume: 1 m3, source: 1 m3/s, start: 0 ppm, after: 2 s }",
        "no-result",
        "more of the substance",
    );
    one(
        "ventilated_room: { volume: 1 m3, source: 0 L/s, start: 0 ppm, until: 1 ppm }",
        "no-result",
        "stays there",
    );
    one(
        "ventilated_room: { volume: 1 m3, source: 1 L/s, start: 2 ppm, until: 1 ppm }",
        "no-result",
        "only rises",
    );
}

#[test]
fn an_approach_that_the_rule_does_not_know_is_refused() {
    one("approach: { detection_capability: 14 mm, distance: 90 mm }", "no-result", "as short as this");
    one("approach: { detection_capability: 50 mm, distance: 800 mm }", "no-result", "as short as this");
    one("approach: { detection_capability: 80 mm, time: 1 s }", "no-result", "70 mm");
    one("approach: { detection_capability: 14 mm }", "one-way-each", "asked for");
    one("approach: { speed: 1 m/s, time: 1 s }", "one-way-each", "how fast and how far");
    one("approach: { speed: 1 m/s, intrusion: 2 m, distance: 1 m }", "no-result", "before it is detected");
}

#[test]
fn a_calculation_has_one_formula() {
    one("taken_as: 1 s", "no-formula", "no formula");
    one(
        "endurance: { holds: 24 m3, draws: 1 L/s }, pipe_filling: { volume: 1 L, flow: 1 L/s }",
        "two-formulas",
        "two",
    );
    one("pipe_filling: { volume: 1 L, length: 1 m, flow: 1 L/s }", "one-way-each", "volume of the pipe");
    one("pipe_filling: { length: 1 m, flow: 1 L/s }", "one-way-each", "volume of the pipe");
    one("endurance: { holds: 24 m3, draws: 1 L/s }, taken_as: -1 s", "negative", "`taken_as`");
    one("endurance: { holds: 24 m3, draws: 1 L/s }, taken_as: 1 m", "wrong-kind-of-unit", "m");
}

const TIME: &str = "calculations:\n  X: { title: a value, owner: test engineer, taken_as: 2 s, pipe_filling: { volume: 1 L, flow: 1 L/s } }\n";

fn codes(text: &str) -> Vec<&'static str> {
    refused(text).into_iter().map(|problem| problem.code).collect()
}

#[test]
fn fields_that_take_a_calculated_value_wrongly_are_told() {
    assert_eq!(codes(&plant(TIME, "from X", "5 s")), [""; 0]);
    assert_eq!(codes(&plant(TIME, "1 s", "5 s")), ["unused-calculation"]);
    assert_eq!(codes(&plant(TIME, "from X", "from X")), ["taken-on-the-wrong-side"]);
    assert_eq!(codes(&plant(TIME, "from Y", "from X")), ["unknown-tag", "taken-on-the-wrong-side"]);
    assert_eq!(codes(&plant(TIME, "from K1", "5 s")), ["wrong-kind-of-tag", "unused-calculation"]);
    assert_eq!(codes(&plant(TIME, "from", "5 s")), ["value-missing", "unused-calculation"]);
    let length = TIME.replace(
        "taken_as: 2 s, pipe_filling: { volume: 1 L, flow: 1 L/s }",
        "stopping: { speed: 1 m/s, reaction: 1 s, deceleration: 1 m/s2, gives: distance }",
    );
    assert_eq!(codes(&plant(&length, "from X", "5 s")), ["wrong-kind-of-calculation"]);
    let found = refused(&plant(TIME, "from X", "from X"));
    assert!(found[0].message.contains("its result of 1 s"), "{}", found[0].message);
}

#[test]
fn a_rounded_value_that_no_field_takes_is_needless() {
    let text = TIME.replace("title: a value", "title: a value, used_for: a test");
    assert_eq!(codes(&plant(&text, "1 s", "5 s")), ["needless-key"]);
    assert_eq!(codes(&plant(&text, "from X", "5 s")), [""; 0]);
}

#[test]
fn a_field_without_a_safe_side_takes_no_calculated_value() {
    let text = plant(TIME, "from X", "5 s").replace(
        "quantities: { gas: { range: 0 .. 100 %LFL } }",
        "quantities: { gas: { range: 0 .. 100 %LFL, resolution: from X } }",
    );
    assert_eq!(codes(&text), ["value-not-calculated"]);
    let text = plant(TIME, "from X, proof_test: { interval: from X }", "5 s");
    assert_eq!(codes(&text), ["value-not-calculated"]);
}

#[test]
fn calculations_in_a_ring_are_told_once() {
    let text = "calculations:
  A: { title: a, owner: o, endurance: { holds: from B, draws: 1 L/s } }
  B: { title: b, owner: o, endurance: { holds: from A, draws: 1 L/s } }
  C: { title: c, owner: o, endurance: { holds: from A, draws: 1 L/s } }
";
    assert_eq!(codes(&plant(text, "from C", "5 s")), ["ring-of-calculations"]);
    let own = "calculations:\n  A: { title: a, owner: o, endurance: { holds: from A, draws: 1 L/s } }\n";
    assert_eq!(codes(&plant(own, "from A", "5 s")), ["ring-of-calculations"]);
}

/// A row of many calculations neither takes long nor fills the stack.
#[test]
fn a_long_row_of_calculations_is_worked_out() {
    let mut text = "calculations:\n".to_string();
    for number in 0..2000 {
        let next = number + 1;
        text += &format!(
            "  A{number}: {{ title: a, owner: o, time_at_rate: {{ from: 0 %LFL, to: 1 %LFL, rate: from B{number} }} }}\n"
        );
        text += &format!(
            "  B{number}: {{ title: b, owner: o, ventilated_room: {{ volume: 100 m3, source: 0.0001 L/s, lower_flammable_limit: 7 %vol, start: 0 %LFL, after: from A{next} }} }}\n"
        );
    }
    // The rate of a concentration is none: the row breaks at every second link, and each break is told.
    text += "  A2000: { title: a, owner: o, pipe_filling: { volume: 1 L, flow: 1 L/s } }\n";
    let found = codes(&plant(&text, "from A2000", "5 s"));
    assert!(found.contains(&"wrong-kind-of-calculation"), "{:?}", found.first());
    let mut text = "calculations:\n  R0: { title: r, owner: o, ramp: { power: 1.7 kW, heat_capacities: { a: 3 kJ/K } } }\n".to_string();
    for number in 0..300 {
        text += &format!(
            "  T{number}: {{ title: t, owner: o, time_at_rate: {{ from: 1.3 degC, to: 80.7 degC, rate: from R{number} }} }}\n"
        );
        text += &format!(
            "  U{number}: {{ title: s, owner: o, stopping: {{ speed: 1.1 m/s, reaction: from T{number}, deceleration: 0.7 m/s2, gives: time }} }}\n"
        );
        let next = number + 1;
        text += &format!(
            "  R{next}: {{ title: r, owner: o, ramp: {{ power: 1.7 kW, heat_capacities: {{ a: {next}.3 kJ/K }} }} }}\n"
        );
    }
    text = text.replace("owner: o,", "owner: o, used_for: a test,");
    assert_eq!(codes(&plant(&text, "from U299", "5 s")), [""; 0]);
}
