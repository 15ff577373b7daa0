//! What a story says of the trips that are credited, of the devices that decide, and what it leaves out.

use super::bench::*;
use crate::claim::Breach;
use crate::model::*;
use crate::situation::FactChoice;

/// Two fans and a lamp; channel A purges by fan 1, channel B was given the lamp instead of fan 2.
const PLANT: &str = "\
language: 1
system: { title: Purge, revision: A }
policy: { disjoint_paths: 1, fault_tolerance: 0, usable_fraction: 0.5, usable_fraction_reason: half the time is kept in reserve }
modes: { cell: { running: { people: never }, access: { people: expected, normal: { solvent: 0 .. 2 %LFL } } } }
quantities:
  solvent: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL }
  dust: { range: 0 .. 100 %, normal: 0 .. 5 % }
supplies: { 24V-A: {}, 24V-B: {} }
cabinets: { CAB-A: {} }
logic_solvers: { SL-A: { supply: 24V-A, cabinet: CAB-A }, SL-B: { supply: 24V-B } }
sensors:
  GD-A: { measures: solvent, range: 0 .. 100 %LFL, accuracy: 3 %LFL, wired_to: [SL-A], on_loss: low, on_bad: trips }
  GD-B: { measures: solvent, range: 0 .. 100 %LFL, accuracy: 3 %LFL, wired_to: [SL-B], on_loss: low, on_bad: trips }
  DD-A: { measures: dust, range: 0 .. 100 %, accuracy: 3 %, wired_to: [SL-A], on_loss: low, on_bad: trips }
actuators:
  EF-1: { positions: [stopped, running], without_energy: stopped, operated_by: process, drivers: [SL-A], cabinet: CAB-A }
  EF-2: { positions: [stopped, running], without_energy: stopped, operated_by: process, drivers: [SL-B] }
  LAMP: { positions: [dark, lit], without_energy: dark, operated_by: process, drivers: [SL-B] }
effects:
  E-FAN-1: { set: [EF-1 = running] }
  E-LAMP: { set: [LAMP = lit] }
  E-FAN-2-OFF: { set: [EF-2 = stopped] }
causes:
  C-GAS-A: { when: GD-A >= 25 %LFL, solver: SL-A, latched: false, credited_for: [H-EITHER, H-BOTH], demands: [E-FAN-1] }
  C-GAS-B: { when: GD-B >= 25 %LFL, solver: SL-B, latched: false, credited_for: [H-EITHER], demands: [E-LAMP] }
  C-DUST: { when: DD-A >= 50 %, solver: SL-A, latched: false, purpose: alarm, demands: [E-FAN-1] }
hazards:
  H-EITHER: { when: solvent >= 60 %LFL, exists_in: { cell: [running, access] }, safe_state: EF-1 = running OR EF-2 = running }
  H-BOTH: { when: solvent >= 60 %LFL, exists_in: { cell: [running, access] }, safe_state: EF-1 = running AND EF-2 = running }
exclusions:
  X-1: { never: EF-1 = stopped AND EF-2 = stopped }
";

fn lost<'m>(sit: Sit<'m>, tag: &str) -> Sit<'m> {
    let Some(Element::Supply(id)) = sit.m.element_by_tag(tag) else { panic!("{tag}") };
    sit.faulty(tag).yes(FactChoice::Lost(id))
}

#[test]
fn a_credited_trip_without_a_mark_on_what_decides_is_told_as_such() {
    let m = model(PLANT);
    told(
        &lost(sit(&m).is("solvent", "60"), "24V-A").not_met("H-EITHER"),
        &[
            "cell is in mode running.",
            "solvent is at 60 %LFL (normal 0 .. 5 %LFL).",
            "H-EITHER is present: `solvent >= 60 %LFL`.",
            "24V-A is lost.",
            "The process control holds EF-2 stopped, and nothing commands it otherwise.",
            "SL-A is without supply, so C-GAS-A and C-DUST cannot act.",
            "GD-B shows 60 %LFL to SL-B.",
            "C-GAS-B (`GD-B >= 25 %LFL`), credited for H-EITHER, is true, but commands neither EF-1 nor EF-2.",
            "C-GAS-B commands LAMP lit; that does not matter here.",
            "EF-1 gets no energy from SL-A.",
            "EF-1 is stopped and EF-2 is stopped, so the safe state `EF-1 = running OR EF-2 = running` is not reached.",
        ],
    );
}

#[test]
fn what_a_faulty_solver_does_to_a_stuck_device_is_not_told() {
    let m = model(PLANT);
    told(
        &sit(&m).is("solvent", "60").faulty("CAB-A").stuck("EF-1", 0).not_met("H-EITHER"),
        &[
            "cell is in mode running.",
            "solvent is at 60 %LFL (normal 0 .. 5 %LFL).",
            "H-EITHER is present: `solvent >= 60 %LFL`.",
            "Cabinet CAB-A fails, and with it SL-A and EF-1.",
            "EF-1 is stuck stopped.",
            "The process control holds EF-2 stopped, and nothing commands it otherwise.",
            "C-GAS-A is true, but its solver SL-A misbehaves, so its demand does not count.",
            "GD-B shows 60 %LFL to SL-B.",
            "C-GAS-B (`GD-B >= 25 %LFL`), credited for H-EITHER, is true, but commands neither EF-1 nor EF-2.",
            "C-GAS-B commands LAMP lit; that does not matter here.",
            "The one other cause that could act here, C-DUST, is false or not armed.",
            "EF-1 is stopped and EF-2 is stopped, so the safe state `EF-1 = running OR EF-2 = running` is not reached.",
        ],
    );
}

#[test]
fn of_devices_that_must_all_move_only_those_that_did_not_are_told() {
    let m = model(PLANT);
    told(
        &sit(&m).is("solvent", "60").not_met("H-BOTH"),
        &[
            "cell is in mode running.",
            "solvent is at 60 %LFL (normal 0 .. 5 %LFL).",
            "H-BOTH is present: `solvent >= 60 %LFL`.",
            "The process control holds EF-2 stopped, and nothing commands it otherwise.",
            "GD-A shows 60 %LFL to SL-A.",
            "C-GAS-A (`GD-A >= 25 %LFL`), credited for H-BOTH, is true, but does not command EF-2.",
            "C-GAS-A commands EF-1 running; that does not matter here.",
            "EF-2 is stopped, so the safe state `EF-1 = running AND EF-2 = running` is not reached.",
        ],
    );
}

#[test]
fn what_is_normal_and_moves_nothing_is_left_out() {
    let m = model(PLANT);
    let Some(Element::Exclusion(id)) = m.element_by_tag("X-1") else { panic!() };
    let story = sit(&m).breaks(Breach::Occurs(id));
    told(
        &story,
        &[
            "The process control holds EF-1 stopped, and nothing commands it otherwise.",
            "The process control holds EF-2 stopped, and nothing commands it otherwise.",
            "EF-1 is stopped and EF-2 is stopped, so `EF-1 = stopped AND EF-2 = stopped` occurs, which X-1 rules out.",
            "It is seen at EF-1 and EF-2, which stand so at the same time.",
        ],
    );
}

#[test]
fn values_are_those_that_take_effect() {
    let m = model(PLANT);
    // Where fan 1 would be put, and what channel A would give, does not matter: it is stuck.
    let story =
        sit(&m).is("solvent", "60").faulty("CAB-A").gives("EF-1").stuck("EF-1", 0).not_met("H-EITHER");
    let values: Vec<String> =
        story.values.into_iter().map(|(name, value)| format!("{name}: {value}")).collect();
    assert_eq!(
        values,
        ["CAB-A: misbehaves", "position of EF-1: stopped", "position of EF-2: stopped", "solvent: 60 %LFL"]
    );
}

#[test]
fn a_mode_whose_normal_range_is_told_is_named() {
    let m = model(PLANT);
    let story = sit(&m).is("solvent", "30").in_mode("access").breaks(Breach::Fires(cause(&m, "C-GAS-A")));
    told(
        &story,
        &[
            "cell is in mode access.",
            "solvent is at 30 %LFL (normal 0 .. 2 %LFL).",
            "GD-A shows 30 %LFL to SL-A.",
            "C-GAS-A (`GD-A >= 25 %LFL`) is true.",
            "C-GAS-A commands EF-1 running; that does not matter here.",
            "So C-GAS-A fires.",
        ],
    );
}

/// A stop whose second contact is missing, and a damper that two solvers drive in series.
const STOP: &str = "\
language: 1
system: { title: Stop, revision: A }
policy: { disjoint_paths: 1, fault_tolerance: 0, usable_fraction: 0.5, usable_fraction_reason: half the time is kept in reserve }
modes: { cell: { running: { people: never } } }
quantities: { solvent: { range: 0 .. 100 %LFL, normal: 0 .. 5 %LFL } }
logic_solvers: { SL-A: {}, SL-B: {} }
sensors:
  GD-A: { measures: solvent, range: 0 .. 100 %LFL, accuracy: 3 %LFL, wired_to: [SL-A], on_loss: low, on_bad: trips }
stops: { ES-1: { contacts: { ES-1A: { wired_to: [SL-A] } }, brings: [K1 = open, K2 = open], stop_category: 0 } }
actuators:
  K1: { positions: [open, closed], without_energy: open, operated_by: process, drivers: [SL-A] }
  K2: { positions: [open, closed], without_energy: open, operated_by: process, drivers: [SL-B] }
  FD: { positions: [open, closed], without_energy: open, operated_by: process, drivers: [SL-A, SL-B], wiring: series }
effects: { E-1: { set: [K1 = open] }, E-2: { set: [FD = closed] } }
causes:
  C-STOP: { when: ES-1A = pressed, solver: SL-A, latched: true, demands: [E-1] }
  C-GAS: { when: GD-A >= 25 %LFL, solver: SL-A, latched: true, credited_for: [H-1], demands: [E-1, E-2] }
hazards:
  H-1: { when: solvent >= 60 %LFL, exists_in: { cell: [running] }, safe_state: K1 = open }
";

#[test]
fn a_stop_that_misses_its_span_is_told_with_what_it_commands() {
    let m = model(STOP);
    let Some(Element::Stop(id)) = m.element_by_tag("ES-1") else { panic!() };
    told(
        &sit(&m).yes(FactChoice::Pressed(id)).gives("K2").breaks(Breach::SpanMissed(id)),
        &[
            "ES-1 is pressed.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "ES-1A shows pressed to SL-A.",
            "C-STOP (`ES-1A = pressed`) is true, but does not command K2.",
            "C-STOP commands K1 open; that does not matter here.",
            "K2 is closed, so not everything that ES-1 must bring to rest is there.",
        ],
    );
}

#[test]
fn energy_that_a_second_driver_withholds_is_told_and_the_readings_of_a_latch_are_not() {
    let m = model(STOP);
    told(
        &sit(&m)
            .yes(FactChoice::AlreadySet(cause(&m, "C-GAS")))
            .breaks(Breach::Overruled(actuator(&m, "FD"))),
        &[
            "The latch of C-GAS is still set from before.",
            "The process control gives FD no energy through SL-B, where nothing commands it otherwise.",
            "C-GAS is still set and demands FD closed.",
            "C-GAS also commands K1 open; that does not matter here.",
            "FD is open, so FD does not go where it is commanded.",
        ],
    );
}
