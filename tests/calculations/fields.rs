//! What fields make of a calculated value: the side that each takes, and what `check` decides with it.

use tripproof::exact::Exact;
use tripproof::model::{Model, Side, Time};
use tripproof::outcome::Verdict;

use super::support::examined::examine;
use super::support::text::model;
use super::{loaded, plant};

fn discharge(ohm: u32, more: &str) -> String {
    format!(
        "calculations:\n  X: {{ title: discharge, owner: electrical engineer, {more}discharge: {{ voltage: 800 V, to: 60 V, capacitance: 1 mF, resistance: {ohm} ohm }} }}\n"
    )
}

fn moves_in(model: &Model) -> Exact {
    match &model.actuators.iter().next().unwrap().1.moves_in {
        Time::Known(time) => time.clone(),
        Time::Unknown => panic!("unknown"),
    }
}

/// IEC 60204-1, 6.2.4 (memory): 60 V within 5 s. 2,000 ohm take 5.181 s and are too slow, 1,900 ohm 4.922 s (calc).
#[test]
fn a_discharge_that_takes_too_long_makes_the_trip_late() {
    for (ohm, in_time) in [(1900, true), (2000, false)] {
        let found = examine(&plant(&discharge(ohm, ""), "from X", "5 s"));
        let outcome = found.outcome();
        let of_time: Vec<bool> = outcome
            .claims
            .iter()
            .filter(|claim| claim.claim == "in-time")
            .map(|claim| claim.verdict == Verdict::Proved)
            .collect();
        assert_eq!(of_time, [in_time], "{ohm} ohm: {:#?}", outcome.claims);
        let slow = outcome.findings.iter().any(|f| f.check.name() == "trip-too-slow");
        assert_eq!(slow, !in_time, "{ohm} ohm");
    }
}

#[test]
fn a_time_that_passes_takes_the_upper_bound_and_one_that_is_left_the_lower() {
    let text = plant(&discharge(2000, ""), "from X", "from X");
    let model = loaded(&text);
    let done = &model.calculations[0];
    let (low, high) = (done.result.low.value(), done.result.high.value());
    assert!(low < high);
    assert_eq!(&moves_in(&model), high);
    let hazard = model.hazards.iter().next().unwrap().1;
    assert_eq!(hazard.within, Time::Known(low.clone()));
    let taken: Vec<(&str, &str, Side)> =
        done.taken_by.iter().map(|taken| (taken.tag.as_str(), taken.field, taken.side)).collect();
    assert_eq!(taken, [("K1", "moves_in", Side::High), ("H", "within", Side::Low)]);
}

#[test]
fn a_rounded_value_is_used_where_it_is_on_the_safe_side() {
    let found = loaded(&plant(&discharge(2000, "taken_as: 5.2 s, "), "from X", "6 s"));
    assert_eq!(moves_in(&found), Exact::parse_decimal("5.2").unwrap());
    let found = loaded(&plant(&discharge(2000, "taken_as: 5.1 s, "), "1 s", "from X"));
    let hazard = found.hazards.iter().next().unwrap().1;
    assert_eq!(hazard.within, Time::Known(Exact::parse_decimal("5.1").unwrap()));
}

#[test]
fn the_bound_itself_may_be_taken_and_a_little_less_may_not() {
    let bound = loaded(&plant(&discharge(2000, ""), "from X", "6 s")).calculations[0].result.clone();
    let at = |text: &str| plant(&discharge(2000, &format!("taken_as: {text} s, ")), "from X", "6 s");
    let high = bound.high.value().clone();
    assert_eq!(moves_in(&loaded(&at(&high.to_string()))), high);
    let less = &high - &Exact::parse_decimal("0.000000000001").unwrap();
    let problems = super::refused(&at(&less.to_string()));
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert_eq!(problems[0].code, "taken-on-the-wrong-side");
}

/// Rates, demands and capacities, through a model that uses all of them.
#[test]
fn rates_and_demands_are_high_and_capacities_low() {
    let text = model(&[
        "quantities: { gas: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL, rises: from RISE } }",
        "logic_solvers: { C1: {} }",
        "sensors: { S1: { $GAS, wired_to: [C1] } }",
        "actuators: { P1: { positions: [stopped, running], without_energy: stopped, operated_by: protection, rest: stopped, drivers: [C1] } }",
        "effects: { RUN: { set: [P1 = running] } }",
        "causes: { C-1: { when: S1 >= 20 %LFL, solver: C1, latched: false, credited_for: [H], demands: [RUN] } }",
        "hazards: { H: { when: gas >= 60 %LFL, $HERE, safe_state: P1 = running } }",
        "suppression: { Z1: { released_by: [C-1], discharges: [P1 = running], demand: from DRAW, capacity: { P1: from DRAW } } }",
        "calculations:
  RISE: { title: rise, owner: test engineer, ventilated_room: { volume: 3 m3, source: 1 L/s, lower_flammable_limit: 7 %vol, gives: rise } }
  DRAW: { title: time, owner: test engineer, discharge: { voltage: 2 V, to: 1 V, capacitance: 1 F, resistance: 1 ohm } }",
    ]);
    let found = loaded(&text);
    let gas = found.quantities.iter().next().unwrap().1;
    assert_eq!(gas.rises.as_ref(), Some(found.calculations[0].result.high.value()));
    let sides: Vec<(&str, Side, &Exact)> =
        found.calculations[1].taken_by.iter().map(|t| (t.field, t.side, t.value.value())).collect();
    let result = &found.calculations[1].result;
    let wanted = [("demand", Side::High, result.high.value()), ("capacity", Side::Low, result.low.value())];
    assert_eq!(sides, wanted);
}

/// One field that is repeated by an alias of the text keeps its side.
#[test]
fn an_alias_of_the_text_takes_the_side_of_its_own_field() {
    let text = plant(&discharge(2000, ""), "&t from X", "*t");
    let Ok(found) = tripproof::load::load(&tripproof::source::Source::new("model.yaml", text.as_str()))
    else {
        // Aliases of single values are not read at all, which is as good.
        return;
    };
    let done = &found.calculations[0];
    assert_eq!(&moves_in(&found), done.result.high.value());
    let hazard = found.hazards.iter().next().unwrap().1;
    assert_eq!(hazard.within, Time::Known(done.result.low.value().clone()));
}
