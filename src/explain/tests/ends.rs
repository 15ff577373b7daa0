//! One story for each kind of claim, and of what nobody broke.

use super::bench::*;
use crate::claim::Breach;
use crate::finding::Story;
use crate::model::*;
use crate::situation::{FactChoice, NumberChoice};

pub(super) fn accuracy(m: &Model) -> Story {
    let sit = sit(m).is("solvent", "40").gives("K2").number(NumberChoice::Error(input(m, "GD-2")), "-3");
    sit.not_met("H-TWO")
}
pub(super) fn not_armed(m: &Model) -> Story {
    sit(m).is("solvent", "40").gives("K1").in_mode("access").not_met("H-ONE")
}
pub(super) fn overridden(m: &Model) -> Story {
    let Some(Element::Override(id)) = m.element_by_tag("OV-1") else { panic!() };
    let overridden = FactChoice::Overridden(id, input(m, "GD-2"));
    sit(m).is("solvent", "45").gives("K2").yes(overridden).not_met("H-TWO")
}
pub(super) fn opposed(m: &Model) -> Story {
    sit(m).is("solvent", "30").holds("fire").breaks(Breach::Opposed(actuator(m, "K1")))
}
pub(super) fn torn(m: &Model) -> Story {
    sit(m).is("solvent", "40").holds("fire").gives("K1").not_met("H-ONE")
}
pub(super) fn occurs(m: &Model) -> Story {
    let Some(Element::Exclusion(id)) = m.element_by_tag("X-1") else { panic!() };
    sit(m).gives("K1").breaks(Breach::Occurs(id))
}
pub(super) fn broken(m: &Model) -> Story {
    let Some(Element::Invariant(id)) = m.element_by_tag("I-1") else { panic!() };
    let Some(Element::Stop(stop)) = m.element_by_tag("ES-1") else { panic!() };
    sit(m).yes(FactChoice::Pressed(stop)).breaks(Breach::Broken(id))
}
pub(super) fn locked_in(m: &Model) -> Story {
    let Some(Element::Space(id)) = m.element_by_tag("ROOM") else { panic!() };
    sit(m).in_mode("access").breaks(Breach::LockedIn(id))
}
pub(super) fn fires(m: &Model) -> Story {
    sit(m).is("solvent", "26").breaks(Breach::Fires(cause(m, "C-GAS-1")))
}
pub(super) fn latched(m: &Model) -> Story {
    let fire = cause(m, "C-FIRE");
    let sit = sit(m).yes(FactChoice::AlreadySet(fire)).yes(FactChoice::Condition(condition(m, "fire")));
    sit.gives("K3").faulty("SL-2").not_met("H-FIRE")
}
pub(super) fn relief_valve(m: &Model) -> Story {
    let Some(Element::Passive(id)) = m.element_by_tag("RV-2") else { panic!() };
    sit(m).is("pressure", "6.2").number(NumberChoice::Tolerance(id), "-25000").not_met("H-SURGE")
}
/// Pressure at two thirds of ten bar, which has no finite decimal.
pub(super) fn exists(m: &Model) -> Story {
    let mut sit = sit(m);
    let value = crate::exact::Exact::ratio(2_000_000, 3).unwrap();
    sit.s.numbers.insert(NumberChoice::Quantity(quantity(m, "pressure")), value);
    sit.breaks(Breach::Exists { hazard: hazard(m, "H-BURST"), onset: 0 })
}

pub(super) const ALL: [fn(&Model) -> Story; 12] = [
    accuracy,
    not_armed,
    overridden,
    opposed,
    torn,
    occurs,
    broken,
    locked_in,
    fires,
    latched,
    relief_valve,
    exists,
];

#[test]
fn an_accuracy_that_makes_the_difference_is_told() {
    reads(
        accuracy,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "GD-2 shows 37 %LFL to SL-2 (3 %LFL too low, within its accuracy).",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_trip_that_is_not_armed_is_told_with_the_mode() {
    reads(
        not_armed,
        &[
            "cell is in mode access.",
            "solvent is at 40 %LFL (normal 0 .. 2 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "C-GAS-1 is not armed in mode access.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_permitted_override_is_told_with_its_device() {
    reads(
        overridden,
        &[
            "cell is in mode running.",
            "solvent is at 45 %LFL (normal 0 .. 5 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "GD-2 is overridden with OV-1, so it does not count.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn opposing_commands_are_told_with_who_commands_what() {
    reads(
        opposed,
        &[
            "cell is in mode running.",
            "solvent is at 30 %LFL (normal 0 .. 5 %LFL).",
            "fire is true (normally false).",
            "GD-1 (gas head north) shows 30 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "FL-1 shows detected to SL-1.",
            "C-HOLD (`FL-1`) is true and demands K1 closed.",
            "C-FIRE, which reads the same signals, is true too and commands K3 open; that does not matter here.",
            "K1 is commanded open and closed at once, and nothing says which wins.",
            "It is seen at K1: wherever it goes, a command is not obeyed.",
        ],
    );
}

#[test]
fn commands_without_winner_are_told_where_they_keep_a_hazard_unmet() {
    reads(
        torn,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "fire is true (normally false).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "GD-1 (gas head north) shows 40 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "FL-1 shows detected to SL-1.",
            "C-HOLD (`FL-1`) is true and demands K1 closed.",
            "C-FIRE, which reads the same signals, is true too and commands K3 open; that does not matter here.",
            "SL-1 commands K1 open and closed at once, and nothing says which wins.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn an_excluded_combination_is_told_with_its_positions() {
    reads(
        occurs,
        &[
            "cell is in mode running.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "Nothing commands FAN, so it is in position stop.",
            "FAN is in position stop and K1 is closed, so `FAN = stop AND K1 = closed` occurs, which X-1 rules out.",
            "It is seen at FAN and K1, which stand so at the same time.",
        ],
    );
}

#[test]
fn a_missing_companion_of_a_demand_is_told() {
    reads(
        broken,
        &[
            "cell is in mode running.",
            "solvent is at 0 %LFL (normal 0 .. 5 %LFL).",
            "ES-1 is pressed.",
            "GD-1 (gas head north) shows 0 %LFL to SL-1.",
            "ES-1A shows pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "To be seen then: K1 open is commanded; FAN run is not commanded.",
            "So `WHENEVER K1 = open THEN FAN = run` of I-1 does not hold.",
        ],
    );
}

#[test]
fn every_door_is_told_with_what_holds_it_and_why_its_release_does_not_count() {
    reads(
        locked_in,
        &[
            "cell is in mode access.",
            "The process control holds DL-1 locked, and nothing commands it otherwise.",
            "DOOR-1 is held: DL-1 is locked.",
            "Its escape release ER-1 does not count: it is not mechanical and needs power.",
            "DOOR-2 is held: DL-1 is locked.",
            "DOOR-2 has no escape release.",
            "Somebody inside ROOM has no way out.",
        ],
    );
}

#[test]
fn a_trip_that_fires_is_told_with_its_reading() {
    reads(
        fires,
        &[
            "cell is in mode running.",
            "solvent is at 26 %LFL (normal 0 .. 5 %LFL).",
            "GD-1 (gas head north) shows 26 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true.",
            "C-GAS-1 commands K1 open; that does not matter here.",
            "So C-GAS-1 fires.",
        ],
    );
}

#[test]
fn a_latch_from_before_is_told() {
    reads(
        latched,
        &[
            "cell is in mode running.",
            "fire is true (normally false).",
            "H-FIRE is present: `fire`.",
            "SL-2 is faulty and keeps giving energy to K3.",
            "The latch of C-FIRE is still set from before.",
            "FL-1 shows detected to SL-1.",
            "C-FIRE (`FL-1`) is true and demands K3 open.",
            "C-HOLD, which reads the same signals, is true too and commands K1 closed; that does not matter here.",
            "K3 is closed, so the safe state `K3 = open` is not reached.",
        ],
    );
}

#[test]
fn a_valve_that_feels_too_little_is_told_with_its_tolerance() {
    reads(
        relief_valve,
        &[
            "cell is in mode running.",
            "pressure is at 6.2 bar (normal 0 .. 3 bar).",
            "H-SURGE is present: `pressure >= 6 bar`.",
            "RV-2 does not act: it acts at >= 6.1 bar and feels 5.95 bar (0.25 bar too low, within its accuracy).",
            "RV-2 cannot be simulated by signals: assume that it is as told, and look at that on paper or by inspection, never by bringing on what makes it act.",
            "RV-2 is shut, so the safe state `RV-2 = blowing` is not reached.",
        ],
    );
}

#[test]
fn a_value_without_finite_decimal_is_told_as_about() {
    reads(
        exists,
        &[
            "cell is in mode running.",
            "pressure is at about 6.7 bar (normal 0 .. 3 bar).",
            "H-BURST is present: `pressure >= 6 bar`.",
        ],
    );
}
