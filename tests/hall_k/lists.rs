//! The lists of the hall: shared resources, inputs and final elements, with what each list says of them.

use std::collections::BTreeSet;

use tripproof::model::{
    DriverId, Id, Input, Model, Name, Observes, Path, Pool, SolverId, Time, Tree, WithoutEnergy,
};
use tripproof::syntax::kind::{LineKind, OnBad};

use super::hall::{GOOD_OUTCOME, base, both_bays, tags};

/// Supplies. The last four feed the two of 400 V: the mains at each feeder, and its own generator.
const SUPPLIES: &str = "U24-A U24-B M400-A M400-B MAINS-A GEN-A MAINS-B GEN-B";
/// The two trays, and the two cables of the interlock loops of each bay.
const ROUTES: &str = "R-1 R-2 HL-#A HL-#B";
/// Four fire compartments.
const CABINETS: &str = "CAB-S CAB-L1 CAB-L2 CAB-F";
/// Tank and limit sheet; and the makes that both sides share, which the policy leaves out.
const SHARED: &str = "TK-0 PSRC MAKE-GC MAKE-GR MAKE-K";
/// What signals go through.
const CONDITIONERS: &str = "BMS-# SI-#";
/// Two contacts of each mode selector.
const MODE_INPUTS: &str = "MS-#A MS-#B";

/// Solver; supply; cabinet; whether it reads the limit sheet.
const SOLVERS: &[(&str, &str, &str, bool)] = &[
    ("SC-1", "U24-A", "CAB-S", true),
    ("LC-#", "U24-B", "CAB-L#", true),
    ("HW-#", "U24-B", "CAB-L#", false),
    ("FP-0", "U24-A", "CAB-F", false),
];

/// Inputs; range; accuracy; side; solvers that read them; what the signal goes through. Empty: the list gives none.
#[rustfmt::skip]
const INPUTS: &[(&str, &str, &str, char, &str, &str)] = &[
    ("TE-#1 TE-#2 TE-#3", "-50 .. 150 degC", "2.5 K", 'A', "SC-1", ""),
    ("CT-#", "-30 .. 125 degC", "2 K", 'B', "LC-#", "BMS-#"),
    ("CV-#", "0 .. 5 V", "0.005 V", 'B', "LC-#", "BMS-#"),
    ("UT-#", "0 .. 1200 V", "6 V", 'A', "SC-1", "SI-#"),
    ("GF-#1 GF-#2 GF-#3", "0 .. 100 %LFL", "3 %LFL", 'A', "SC-1", ""),
    ("GE-#", "0 .. 100 %LFL", "3 %LFL", 'B', "LC-#", ""),
    ("GC-#1", "0 .. 500 ppm", "10 ppm", 'A', "SC-1", ""),
    ("GC-#2", "0 .. 500 ppm", "10 ppm", 'B', "LC-#", ""),
    ("GR-#1", "0 .. 5 %vol", "0.1 %vol", 'A', "SC-1", ""),
    ("GR-#2", "0 .. 5 %vol", "0.1 %vol", 'B', "LC-#", ""),
    ("OX-#", "0 .. 25 %vol", "0.3 %vol", 'B', "LC-#", ""),
    ("PT-#1", "-2 .. 10 kPa", "0.1 kPa", 'A', "SC-1", ""),
    ("FL-#", "", "", 'A', "SC-1 FP-0", ""),
    ("SD-#", "", "", 'A', "SC-1 FP-0", ""),
    ("HD-#", "0 .. 200 degC", "5 K", 'B', "LC-#", ""),
    ("MR-#", "", "", 'B', "LC-# FP-0", ""),
    ("HV-#A", "", "", 'A', "SC-1", ""),
    ("HV-#B", "", "", 'B', "HW-#", ""),
    ("ZD-#A", "", "", 'A', "SC-1", ""),
    ("ZD-#B", "", "", 'B', "HW-#", ""),
    ("KS-#", "", "", 'A', "SC-1", ""),
    ("SB-#", "", "", 'B', "LC-#", ""),
    ("ES-#A", "", "", 'A', "SC-1", ""),
    ("ES-#B", "", "", 'B', "HW-#", ""),
    ("PC-#", "0 .. 10 bar", "0.1 bar", 'A', "SC-1", ""),
    ("LK-#", "", "", 'A', "SC-1", ""),
    ("TL-#", "-60 .. 120 degC", "1.5 K", 'A', "SC-1", ""),
    ("TA-#", "0 .. 120 degC", "2 K", 'B', "HW-#", ""),
    ("IM-#", "0 .. 1000 kohm", "", 'B', "LC-#", ""),
    ("RM-#", "0 .. 300 mA", "", 'A', "SC-1", ""),
    ("FT-#", "0 .. 12000 m3/h", "200 m3/h", 'A', "SC-1", ""),
    ("DP-#", "0 .. 1000 Pa", "20 Pa", 'B', "LC-#", ""),
    ("HB-#S", "", "", 'A', "SC-1", ""),
    ("HB-#L", "", "", 'B', "LC-#", ""),
];

/// RP-n and PSV-n of the list of inputs are sensor, logic and final element in one: PANEL-n and VALVE-n.
const PASSIVE: &str = "PANEL-# VALVE-#";

/// A line fault of these is a fault signal, never a vote to discharge.
const RELEASES: &str = "FL-# SD-# HD-# MR-#";

/// Final element; position without energy; longest travel; supply; drivers (`&` in series, `|` in parallel).
///
/// A zone valve is open when there is water at the nozzles: the 2 s of the list are its own, 14 s those of the pump (6 s) and
/// of the dry pipes (8 s) one after the other. Who drives RC, XR, CP, XC follows from their causes, which are all SC-1's; who drives lock and lamps is not listed, and
/// the lamps have no driver and no travel in the model.
const FINAL_ELEMENTS: &[(&str, &str, &str, &str, &str)] = &[
    ("KD-#1", "open", "0.04 s", "U24-A", "SC-1 & LC-# & FP-0"),
    ("KD-#2", "open", "0.06 s", "U24-B", "LC-# & HW-# & FP-0"),
    ("KX-#1", "open", "0.06 s", "U24-A", "SC-1 & LC-# & FP-0"),
    ("KX-#2", "open", "0.06 s", "U24-B", "LC-# & HW-# & FP-0"),
    ("RD-#A", "connected", "3.5 s", "U24-A", "SC-1 & LC-# & FP-0"),
    ("RD-#B", "connected", "3.5 s", "U24-B", "LC-# & HW-# & FP-0"),
    ("PS-#", "stopped", "0.1 s", "U24-A", "SC-1 & LC-# & FP-0"),
    ("HE-#A", "open", "0.05 s", "U24-A", "SC-1 & FP-0"),
    ("HE-#B", "open", "0.05 s", "U24-B", "LC-# & HW-#"),
    ("RC-#", "stopped", "1 s", "U24-A", "SC-1"),
    ("XR-#", "closed", "1 s", "U24-B", "SC-1"),
    ("CP-#", "stopped", "1 s", "U24-A", "SC-1"),
    ("XC-#", "closed", "3 s", "U24-A", "SC-1"),
    ("FD-#A", "open", "12 s", "U24-A", "SC-1"),
    ("FD-#B", "open", "12 s", "U24-B", "LC-#"),
    ("EF-1", "stopped", "8 s", "M400-A", "SC-1"),
    ("EF-2", "stopped", "8 s", "M400-B", "LC-1 | LC-2"),
    ("WP-1", "stopped", "6 s", "M400-A", "FP-0"),
    ("WP-2", "stopped", "6 s", "M400-B", "LC-1 | LC-2"),
    ("WZ-#A", "closed", "14 s", "U24-A", "FP-0"),
    ("WZ-#B", "closed", "14 s", "U24-B", "LC-#"),
    ("HN-#", "silent", "0.1 s", "U24-A", "SC-1 | FP-0"),
    ("HX-#", "silent", "0.1 s", "U24-B", "LC-#"),
    ("DL-#", "locked_outside", "0.2 s", "U24-A", ""),
    ("BL-#", "dark", "", "U24-A", ""),
];

/// Only the protection operates these; everything else is operated by the process control.
const PROTECTION_ONLY: &str = "WZ-#A WZ-#B WP-1 WP-2 HN-# HX-#";

/// Elements whose line is monitored: those that must be energised to protect, and the lock.
const MONITORED: &str = "WZ-#A WZ-#B WP-1 WP-2 HN-# HX-# EF-1 EF-2 DL-#";

fn names<I: Id, T>(pool: &Pool<I, T>, name: impl Fn(&T) -> &Name) -> BTreeSet<String> {
    pool.iter().map(|(_, item)| name(item).tag.clone()).collect()
}

#[test]
fn the_shared_resources_are_those_of_the_list() {
    let model = &GOOD_OUTCOME.model;
    assert_eq!(names(&model.supplies, |supply| &supply.name), tags(SUPPLIES));
    assert_eq!(names(&model.routes, |route| &route.name), tags(ROUTES));
    assert_eq!(names(&model.cabinets, |cabinet| &cabinet.name), tags(CABINETS));
    assert_eq!(names(&model.shared, |shared| &shared.name), tags(SHARED));
    assert_eq!(names(&model.conditioners, |conditioner| &conditioner.name), tags(CONDITIONERS));
    assert_eq!(names(&model.mode_inputs, |input| &input.name), tags(MODE_INPUTS));
    assert!(model.relays.is_empty() && model.links.is_empty());
    let solvers: BTreeSet<String> = SOLVERS.iter().flat_map(|(tag, ..)| tags(tag)).collect();
    assert_eq!(names(&model.solvers, |solver| &solver.name), solvers);
    for (tag, supply, cabinet, limits) in rows(SOLVERS, |(tag, supply, cabinet, limits), bay| {
        (tag.replace('#', bay), *supply, cabinet.replace('#', bay), *limits)
    }) {
        let (_, solver) = model.solvers.iter().find(|(_, solver)| solver.name.tag == tag).unwrap();
        assert_eq!(solver.supply.map(|id| model.supplies[id].name.tag.as_str()), Some(supply), "{tag}");
        let stands = solver.parents.cabinet.map(|id| model.cabinets[id].name.tag.clone());
        assert_eq!(stands, Some(cabinet), "{tag}");
        let needs: Vec<&str> =
            solver.parents.shared.iter().map(|id| model.shared[*id].name.tag.as_str()).collect();
        assert_eq!(needs, if limits { vec!["PSRC"] } else { Vec::new() }, "{tag}");
    }
}

#[test]
fn the_eighty_inputs_are_those_of_the_list() {
    let model = &GOOD_OUTCOME.model;
    let listed: BTreeSet<String> = INPUTS.iter().flat_map(|(row, ..)| tags(row)).collect();
    assert_eq!(listed.len() + tags(PASSIVE).len(), 80);
    assert_eq!(names(&model.inputs, |input| &input.name), listed);
    for (row, range, accuracy, side, solvers, through) in INPUTS {
        for (index, bay) in ["1", "2"].into_iter().enumerate() {
            for tag in both_bays(row)[index].split_whitespace() {
                let (_, input) = model.inputs.iter().find(|(_, input)| input.name.tag == tag).unwrap();
                measures(input, range, accuracy);
                let supply = input.supply.map(|id| model.supplies[id].name.tag.clone());
                assert_eq!(supply, Some(format!("U24-{side}")), "{tag}: supply");
                let readers: BTreeSet<String> =
                    input.readers.keys().map(|id: &SolverId| model.solvers[*id].name.tag.clone()).collect();
                assert_eq!(readers, words(&solvers.replace('#', bay)), "{tag}: solvers");
                for path in input.readers.values() {
                    runs_on(model, tag, path, *side);
                    let goes: BTreeSet<String> =
                        path.through.iter().map(|id| model.conditioners[*id].name.tag.clone()).collect();
                    assert_eq!(goes, words(&through.replace('#', bay)), "{tag}: goes through");
                }
            }
        }
    }
}

#[test]
fn a_bad_signal_votes_to_trip_but_never_to_discharge() {
    let model = &GOOD_OUTCOME.model;
    let releases = tags(RELEASES);
    for (_, input) in model.inputs.iter() {
        let wanted = if releases.contains(&input.name.tag) { OnBad::NoTrip } else { OnBad::Trips };
        assert_eq!(input.on_bad, Some(wanted), "{}", input.name.tag);
    }
}

#[test]
fn the_final_elements_are_those_of_the_list() {
    let model = &GOOD_OUTCOME.model;
    let listed: BTreeSet<String> = FINAL_ELEMENTS.iter().flat_map(|(row, ..)| tags(row)).collect();
    assert_eq!(names(&model.actuators, |actuator| &actuator.name), listed);
    assert_eq!(names(&model.passive, |device| &device.name), tags(PASSIVE));
    let (protection, monitored) = (tags(PROTECTION_ONLY), tags(MONITORED));
    for (tag, lost, travel, supply, drivers) in
        rows(FINAL_ELEMENTS, |(tag, lost, travel, supply, drivers), bay| {
            (tag.replace('#', bay), *lost, *travel, *supply, drivers.replace('#', bay))
        })
    {
        let (_, actuator) = model.actuators.iter().find(|(_, actuator)| actuator.name.tag == tag).unwrap();
        let WithoutEnergy::Goes { off, .. } = actuator.without_energy else { panic!("{tag} stays") };
        assert_eq!(actuator.positions[off], lost, "{tag}: without energy");
        if !travel.is_empty() {
            assert_eq!(actuator.moves_in, Time::Known(base(travel)), "{tag}: travel");
        }
        assert_eq!(
            actuator.supply.map(|id| model.supplies[id].name.tag.as_str()),
            Some(supply),
            "{tag}: supply"
        );
        let route = if supply.ends_with('A') { "R-1" } else { "R-2" };
        let routes: Vec<&str> =
            actuator.routes.iter().map(|id| model.routes[*id].name.tag.as_str()).collect();
        assert_eq!(routes, [route], "{tag}: route");
        if !drivers.is_empty() {
            assert_eq!(wiring(model, actuator.wiring.as_ref().unwrap()), drivers, "{tag}: drivers");
        }
        assert_eq!(
            actuator.rest.is_some(),
            protection.contains(&tag),
            "{tag}: operated by the protection alone"
        );
        assert_eq!(actuator.line == LineKind::Monitored, monitored.contains(&tag), "{tag}: monitored");
    }
}

#[test]
fn each_door_has_a_release_inside_and_one_outside() {
    let model = &GOOD_OUTCOME.model;
    let doors = model.spaces.iter().flat_map(|(_, space)| &space.doors);
    let releases: Vec<(&str, &str)> = doors
        .map(|door| {
            let (inside, outside) =
                (door.escape_release.as_ref().unwrap(), door.emergency_release.as_ref().unwrap());
            assert!(
                inside.mechanical && inside.aids.is_empty() && outside.mechanical && outside.aids.is_empty()
            );
            (inside.name.tag.as_str(), outside.name.tag.as_str())
        })
        .collect();
    assert_eq!(releases, [("ER-1", "EO-1"), ("ER-2", "EO-2")]);
}

fn rows<R, T>(list: &[R], of: impl Fn(&R, &str) -> T) -> Vec<T> {
    list.iter().flat_map(|row| ["1", "2"].map(|bay| of(row, bay))).collect()
}

fn words(text: &str) -> BTreeSet<String> {
    text.split_whitespace().map(String::from).collect()
}

fn measures(input: &Input, range: &str, accuracy: &str) {
    let tag = &input.name.tag;
    let Observes::Quantity { range: found, accuracy: error, .. } = &input.observes else {
        assert!(range.is_empty(), "{tag} measures nothing");
        return;
    };
    let (low, high) = range.split_once(" .. ").unwrap();
    let unit = high.split_once(' ').unwrap().1;
    assert_eq!((&found.low, &found.high), (&base(&format!("{low} {unit}")), &base(high)), "{tag}: range");
    if !accuracy.is_empty() {
        assert_eq!(error, &base(accuracy), "{tag}: accuracy");
    }
}

/// The line of an input lies in the tray of its side; those of the interlock loops also in their own cable.
fn runs_on(model: &Model, tag: &str, path: &Path, side: char) {
    let tray = if side == 'A' { "R-1" } else { "R-2" };
    let mut wanted: BTreeSet<String> = [tray.to_string()].into();
    if let Some(of) = tag.strip_prefix("HV-") {
        wanted.insert(format!("HL-{of}"));
    }
    let found: BTreeSet<String> = path.routes.iter().map(|id| model.routes[*id].name.tag.clone()).collect();
    assert_eq!(found, wanted, "{tag}: routes");
}

fn wiring(model: &Model, tree: &Tree<DriverId>) -> String {
    let joined = |parts: &[Tree<DriverId>], with: &str| {
        parts.iter().map(|part| wiring(model, part)).collect::<Vec<_>>().join(with)
    };
    match tree {
        Tree::Atom(driver) => model.solvers[model.drivers[*driver].solver].name.tag.clone(),
        Tree::And(parts) => joined(parts, " & "),
        Tree::Or(parts) => joined(parts, " | "),
        other => panic!("{other:?}"),
    }
}
