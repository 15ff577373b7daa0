//! How each kind of part that misbehaves is told.

use super::bench::reads;
use super::faults::*;

#[test]
fn a_faulty_sensor_is_told_with_what_it_shows_and_what_is_true() {
    reads(
        stuck_sensor,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "GD-1 (gas head north) is faulty and shows 24.9 %LFL to SL-1, while solvent is at 40 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_bad_signal_is_told_with_how_it_counts() {
    reads(
        bad_sensor,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "GD-1 (gas head north) is faulty and shows a bad signal to SL-1, while solvent is at 40 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "The bad signal of GD-1 does not count as a vote to trip.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_contact_that_stays_closed_is_told_with_what_should_open_it() {
    reads(
        contact_closed,
        &[
            "cell is in mode running.",
            "plug_out (a plug is out) is true (normally false).",
            "H-PLUG is present: `plug_out`.",
            "HLC-1 is faulty and stays closed, while plug_out is true.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "HL-1 shows closed to SL-2.",
            "C-PLUG (`HL-1 = open`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-GAS-2, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_bridged_loop_is_told_with_what_the_solver_sees() {
    reads(
        bridged_line,
        &[
            "cell is in mode running.",
            "plug_out (a plug is out) is true (normally false).",
            "H-PLUG is present: `plug_out`.",
            "The line of HL-1 is bridged, so SL-2 sees it closed.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "C-PLUG (`HL-1 = open`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-GAS-2, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn an_isolator_is_told_with_what_it_passes_on() {
    reads(
        isolator,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "ISO-1 is faulty and passes GD-1 on to SL-1 as 3 %LFL, while solvent is at 40 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_lost_supply_is_told_with_what_it_feeds_and_who_cannot_act() {
    reads(
        lost_supply,
        &[
            "cell is in mode running.",
            "fire is true (normally false).",
            "H-FIRE is present: `fire`.",
            "MAINS is lost.",
            "24V-A is lost with what feeds it.",
            "The process control holds K3 closed, and nothing commands it otherwise.",
            "SL-1 is without supply, so C-FIRE cannot act.",
            "K3 is closed, so the safe state `K3 = open` is not reached.",
        ],
    );
}

#[test]
fn a_damaged_route_is_told_with_the_line_that_is_open() {
    reads(
        damaged_route,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "Cable route CR-1 is damaged: the line from GD-1 to SL-1 is open, so SL-1 reads 0 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_damaged_route_is_told_with_the_line_that_holds_energy() {
    reads(
        actuator_line,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "Cable route CR-2 is damaged: the line to K1 is held with energy.",
            "GD-1 (gas head north) shows 40 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_cabinet_is_told_with_what_it_takes_along() {
    reads(
        cabinet,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "Cabinet CAB-1 (bay cabinet) fails, and with it SL-1.",
            "SL-1 keeps giving energy to K1.",
            "C-GAS-1 is true, but its solver SL-1 misbehaves, so its demand does not count.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_faulty_solver_is_told_with_what_it_keeps_on() {
    reads(
        faulty_solver,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "SL-1 is faulty and keeps giving energy to K1.",
            "C-GAS-1 is true, but its solver SL-1 misbehaves, so its demand does not count.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_link_is_told_with_what_does_not_arrive() {
    reads(
        silent_link,
        &[
            "cell is in mode running.",
            "fire is true (normally false).",
            "H-FIRE is present: `fire`.",
            "BUS-1 is faulty: nothing of C-FIRE arrives at SL-2 over BUS-1.",
            "The process control holds K3 closed, and nothing commands it otherwise.",
            "FL-1 shows detected to SL-1.",
            "C-FIRE (`FL-1`) is true and demands K3 open.",
            "SL-2 hears nothing of C-FIRE and does not act on it.",
            "C-HOLD, which reads the same signals, is true too and commands K1 closed; that does not matter here.",
            "K3 is closed, so the safe state `K3 = open` is not reached.",
        ],
    );
}

#[test]
fn a_relay_is_told_with_what_it_keeps_on() {
    reads(
        relay,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "KR-1 is faulty and keeps giving energy to K2.",
            "GD-2 shows 40 %LFL to SL-2.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is true and demands K2 open.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_stuck_contactor_is_told_although_the_trip_is_true() {
    reads(
        stuck_contactor,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "K1 (heater contactor) is stuck closed.",
            "GD-1 (gas head north) shows 40 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_passive_device_that_does_not_act_is_told() {
    reads(
        passive,
        &[
            "cell is in mode running.",
            "pressure is at 6.5 bar (normal 0 .. 3 bar).",
            "H-BURST is present: `pressure >= 6 bar`.",
            "RV-1 (relief valve) is faulty and does not act on pressure: it is shut, not blowing.",
            "RV-1 cannot be simulated by signals: assume that it is as told, and look at that on paper or by inspection, never by bringing on what makes it act.",
            "RV-1 is shut, so the safe state `RV-1 = blowing` is not reached.",
        ],
    );
}

#[test]
fn a_mode_input_is_told_with_the_trip_that_it_disarms() {
    reads(
        mode_input,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-ONE is present: `solvent >= 40 %LFL`.",
            "MS-1 is faulty and shows mode access to SL-1.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "C-GAS-1 is not armed, because SL-1 takes cell to be in mode access.",
            "The one other cause that could act here, C-HOLD, is false or not armed.",
            "K1 is closed, so the safe state `K1 = open` is not reached.",
        ],
    );
}

#[test]
fn a_faulty_override_device_is_told_with_what_it_takes_out() {
    reads(
        faulty_override,
        &[
            "cell is in mode access.",
            "solvent is at 40 %LFL (normal 0 .. 2 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "OV-1 is faulty and overrides GD-2.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "GD-2 is overridden and does not count.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_type_is_told_with_its_members_and_what_they_do() {
    reads(
        type_in_common,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-GAS is present: `solvent >= 40 %LFL`.",
            "Type GT-100 has a fault in its make, and with it GD-1 and GD-2.",
            "GD-1 shows 0 %LFL to SL-1, while solvent is at 40 %LFL.",
            "GD-2 shows 12.5 %LFL to SL-2, while solvent is at 40 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The 2 other causes that could act here are false or not armed: C-PLUG and C-HOLD.",
            "K1 is closed and K2 is closed, so the safe state `K1 = open OR K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_parameter_source_is_told_with_what_needs_it() {
    reads(
        parameter_source,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "Parameter source LIMITS is wrong, and with it SL-2.",
            "SL-2 keeps giving energy to K2.",
            "C-GAS-2 is true, but its solver SL-2 misbehaves, so its demand does not count.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_damage_group_is_told_with_its_hazard_and_members() {
    reads(
        damage,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-GAS is present: `solvent >= 40 %LFL`.",
            "H-GAS damages its group bay, and with it K1.",
            "K1 is stuck closed.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "GD-1 (gas head north) shows 40 %LFL to SL-1.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is true and demands K1 open.",
            "GD-2 shows 37 %LFL to SL-2 (3 %LFL too low, within its accuracy).",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The 2 other causes that could act here are false or not armed: C-PLUG and C-HOLD.",
            "K1 is closed and K2 is closed, so the safe state `K1 = open OR K2 = open` is not reached.",
        ],
    );
}

#[test]
fn an_initiator_group_is_told_with_its_hazard_and_members() {
    reads(
        initiator,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-GAS is present: `solvent >= 40 %LFL`.",
            "Initiator group heads of H-GAS misbehaves, and with it GD-1 and GD-2.",
            "GD-1 shows 0 %LFL to SL-1, while solvent is at 40 %LFL.",
            "GD-2 shows a bad signal to SL-2, while solvent is at 40 %LFL.",
            "The process control holds K1 (heater contactor) closed, and nothing commands it otherwise.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "ES-1A shows not pressed to SL-1.",
            "C-GAS-1 (`GD-1 >= 25 %LFL OR ES-1A = pressed`) is false, so it does not demand K1 open.",
            "The bad signal of GD-2 does not count as a vote to trip.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The 2 other causes that could act here are false or not armed: C-PLUG and C-HOLD.",
            "K1 is closed and K2 is closed, so the safe state `K1 = open OR K2 = open` is not reached.",
        ],
    );
}

#[test]
fn a_sensor_without_supply_is_told_with_what_it_shows() {
    reads(
        head_without_supply,
        &[
            "cell is in mode running.",
            "solvent is at 40 %LFL (normal 0 .. 5 %LFL).",
            "H-TWO is present: `solvent >= 40 %LFL`.",
            "24V-B is lost.",
            "The process control holds K2 closed, and nothing commands it otherwise.",
            "GD-2 has no supply and shows 0 %LFL to SL-2.",
            "C-GAS-2 (`GD-2 >= 39 %LFL`) is false, so it does not demand K2 open.",
            "The one other cause that could act here, C-PLUG, is false or not armed.",
            "K2 is closed, so the safe state `K2 = open` is not reached.",
        ],
    );
}
