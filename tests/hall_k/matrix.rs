//! The cause-and-effect matrix of the hall, row by row: inputs and vote, set point, solver, modes, marks, credit.

use std::collections::{BTreeMap, BTreeSet};

use tripproof::model::{ActsOn, Cause, Device, InputAtom, ModeId, Model, Tree};

use super::hall::{GOOD_OUTCOME, LETTERS, base, both_bays};

/// HV off by side A and by side B.
const HV_A: &str = "KD-#1 open, KX-#1 open, RD-#A connected, PS-# stopped";
const HV_B: &str = "KD-#2 open, KX-#2 open, RD-#B connected";

/// Cause; inputs; how many of them must agree; condition; solver (HW is the hard-wired chain); modes; marks; credit.
type Row =
    (&'static str, &'static str, usize, &'static str, &'static str, &'static str, &'static str, &'static str);

const ALL: &str = "UERTSQ";

#[rustfmt::skip]
const ROWS: &[Row] = &[
    ("C#01", "TE-#1 TE-#2 TE-#3", 2, ">= 75 degC", "SC-1", ALL, "HV-A, HE-#A open, FD-#A open, EF-1 running, HN-# sounding", "H01"),
    ("C#02", "CT-#", 1, ">= 65 degC", "LC-#", ALL, "HV-B, FD-#B open, EF-2 running, HX-# sounding", "H01"),
    ("C#03", "CV-#", 1, ">= 4.25 V", "LC-#", "T", "HV-B", "H08"),
    ("C#04", "UT-#", 1, ">= 1090 V", "SC-1", "T", "HV-A", "H08"),
    ("C#06", "GF-#1 GF-#2 GF-#3", 2, ">= 20 %LFL", "SC-1", ALL, "HV-A, HE-#A open, RC-# stopped, FD-#A open, EF-1 running, HN-# sounding", "H02"),
    ("C#07", "GE-#", 1, ">= 20 %LFL", "LC-#", ALL, "HV-B, FD-#B open, EF-2 running, HX-# sounding", "H02"),
    ("C#08", "GC-#1", 1, ">= 100 ppm", "SC-1", ALL, "HN-# sounding, FD-#A open, EF-1 running", "H03"),
    ("C#09", "GC-#2", 1, ">= 100 ppm", "LC-#", ALL, "HX-# sounding, FD-#B open, EF-2 running", "H03"),
    ("C#10", "GR-#1", 1, ">= 1 %vol", "SC-1", ALL, "HN-# sounding, RC-# stopped, XR-# closed, FD-#A open, EF-1 running", "H04"),
    ("C#11", "GR-#2", 1, ">= 1 %vol", "LC-#", ALL, "HX-# sounding, FD-#B open, EF-2 running", "H04"),
    ("C#12", "OX-#", 1, "<= 19.5 %vol", "LC-#", ALL, "HX-# sounding", ""),
    ("C#13", "PT-#1", 1, ">= 2 kPa", "SC-1", ALL, "HV-A, FD-#A open", "H05"),
    ("C#14", "PANEL-#", 1, ">= 5 kPa", "passive", ALL, "PANEL-# open", "H05"),
    ("C#15", "FL-# SD-#", 2, "true", "FP-0", "RTSQ", "HV-A, HV-B, WZ-#A open, WP-1 running, HN-# sounding, HE-#A open", "H13"),
    ("C#16", "HD-#", 1, ">= 95 degC", "LC-#", "RTSQ", "HV-A, HV-B, WZ-#B open, WP-2 running, HX-# sounding", "H13"),
    ("C#17", "MR-#", 1, "true", "FP-0", ALL, "HV-A, HV-B, WZ-#A open, WP-1 running, HN-# sounding", ""),
    ("C#18", "HV-#A", 1, "true", "SC-1", ALL, "HV-A", "H06"),
    ("C#19", "HV-#B", 1, "true", "HW-#", ALL, "HV-B", "H06"),
    ("C#20", "ZD-#A", 1, "true", "SC-1", ALL, "HV-A", "H11"),
    ("C#21", "ZD-#B", 1, "true", "HW-#", ALL, "HV-B", "H11"),
    ("C#22", "KS-#", 1, "true", "SC-1", ALL, "HV-A", "H11"),
    ("C#23", "ES-#A", 1, "true", "SC-1", ALL, "HV-A, HE-#A open, RC-# stopped", ""),
    ("C#24", "ES-#B", 1, "true", "HW-#", ALL, "HV-B, HE-#B open", ""),
    ("C#25", "PC-#", 1, ">= 4 bar", "SC-1", ALL, "CP-# stopped, XC-# closed", "H09"),
    ("C#26", "VALVE-#", 1, ">= 5 bar", "passive", ALL, "VALVE-# open", "H09"),
    ("C#27", "LK-#", 1, "true", "SC-1", ALL, "HV-A, CP-# stopped, XC-# closed", ""),
    ("C#28", "TL-#", 1, ">= 82 degC", "SC-1", ALL, "HE-#A open", "H15"),
    ("C#29", "TA-#", 1, ">= 85 degC", "HW-#", ALL, "HE-#B open", "H15"),
    ("C#30", "IM-#", 1, "<= 110000 ohm", "LC-#", "T", "HV-B", "H07"),
    ("C#31", "RM-#", 1, ">= 30 mA", "SC-1", "T", "HV-A", "H07"),
    ("C#32", "FT-#", 1, "<= 5400 m3/h", "SC-1", "T", "HV-A", "H14"),
    ("C#33", "DP-#", 1, "<= 120 Pa", "LC-#", "T", "HV-B", "H14"),
    ("C#34", "HB-#S", 1, "true", "SC-1", "T", "HV-A", "H16"),
    ("C#35", "HB-#L", 1, "true", "LC-#", "T", "HV-B", "H16"),
    ("C#36", "SB-#", 1, "true", "LC-#", ALL, "HV-B", "H11"),
];

/// One row for one bay.
struct Line {
    bay: &'static str,
    cause: String,
    inputs: BTreeSet<String>,
    agree: usize,
    condition: &'static str,
    solver: String,
    modes: &'static str,
    marks: BTreeSet<String>,
    credit: Option<String>,
}

fn lines() -> Vec<Line> {
    let mut lines = Vec::new();
    for (cause, inputs, agree, condition, solver, modes, marks, credit) in ROWS {
        let marks = marks.replace("HV-A", HV_A).replace("HV-B", HV_B);
        for (index, bay) in ["1", "2"].into_iter().enumerate() {
            let of = |text: &str| both_bays(text)[index].clone();
            lines.push(Line {
                bay,
                cause: of(cause),
                inputs: of(inputs).split_whitespace().map(String::from).collect(),
                agree: *agree,
                condition,
                solver: of(solver),
                modes,
                marks: of(&marks).split(", ").map(String::from).collect(),
                credit: (!credit.is_empty()).then(|| format!("B{bay}-{credit}")),
            });
        }
    }
    lines
}

#[test]
fn the_matrix_has_seventy_causes_and_302_marks() {
    let lines = lines();
    assert_eq!(lines.len(), 70);
    assert_eq!(lines.iter().filter(|line| line.solver == "passive").count(), 4);
    assert_eq!(lines.iter().map(|line| line.marks.len()).sum::<usize>(), 302);
}

#[test]
fn every_cause_of_the_model_stands_in_the_matrix_and_every_row_in_the_model() {
    let model = &GOOD_OUTCOME.model;
    let active = |line: &&Line| line.solver != "passive";
    let wanted: BTreeSet<String> = lines().iter().filter(active).map(|line| line.cause.clone()).collect();
    let found: BTreeSet<String> = model.causes.iter().map(|(_, cause)| cause.name.tag.clone()).collect();
    assert_eq!(found, wanted);
    let wanted: BTreeSet<String> =
        lines().iter().filter(|line| !active(line)).flat_map(|line| line.inputs.clone()).collect();
    let found: BTreeSet<String> = model.passive.iter().map(|(_, device)| device.name.tag.clone()).collect();
    assert_eq!(found, wanted);
}

#[test]
fn every_row_says_in_the_model_what_it_says_in_the_matrix() {
    let model = &GOOD_OUTCOME.model;
    let lines = lines();
    for line in lines.iter().filter(|line| line.solver != "passive") {
        let (_, cause) = model.causes.iter().find(|(_, cause)| cause.name.tag == line.cause).unwrap();
        let row = &line.cause;
        assert_eq!(model.solvers[cause.solver].name.tag, line.solver, "{row}: solver");
        assert_eq!(armed(model, cause), [(line.bay_group(), modes(line.modes))].into(), "{row}: modes");
        assert_eq!(marks(model, cause), line.marks, "{row}: marks");
        let credit: Vec<&str> =
            cause.credited_for.iter().map(|hazard| model.hazards[*hazard].name.tag.as_str()).collect();
        assert_eq!(credit, line.credit.as_deref().into_iter().collect::<Vec<_>>(), "{row}: credit");
        let (inputs, agree) = votes(model, &cause.when, line.condition);
        assert_eq!(inputs, line.inputs, "{row}: inputs");
        assert_eq!(agree, line.agree, "{row}: vote");
        assert!(cause.latched, "{row}: every cause latches");
        let reset = cause.reset.map(|reset| model.resets[reset].name.tag.as_str());
        assert_eq!(reset, Some(format!("RS-{}", line.bay).as_str()), "{row}: reset");
    }
}

#[test]
fn the_passive_rows_are_devices_that_count_for_their_hazard() {
    let model = &GOOD_OUTCOME.model;
    for line in lines().iter().filter(|line| line.solver == "passive") {
        let (id, device) =
            model.passive.iter().find(|(_, device)| line.inputs.contains(&device.name.tag)).unwrap();
        let (acts, to) = device.acts.as_ref().unwrap();
        let ActsOn::Quantity { relation, bound, .. } = acts else { panic!("{}: no quantity", line.cause) };
        let (wanted, set_point) = line.condition.split_once(' ').unwrap();
        assert_eq!((relation.text(), bound), (wanted, &base(set_point)), "{}: condition", line.cause);
        let mark = format!("{} {}", device.name.tag, device.positions[*to]);
        assert_eq!(line.marks, [mark].into(), "{}: mark", line.cause);
        let (_, hazard) =
            model.hazards.iter().find(|(_, hazard)| Some(&hazard.name.tag) == line.credit.as_ref()).unwrap();
        let counts =
            |at: &&tripproof::model::AtPosition| at.device == Device::Passive(id) && at.position == *to;
        assert!(hazard.safe_state.atoms().iter().any(counts), "{}: credit", line.cause);
    }
}

impl Line {
    fn bay_group(&self) -> String {
        format!("B{}", self.bay)
    }
}

fn modes(letters: &str) -> BTreeSet<String> {
    LETTERS
        .iter()
        .filter(|(letter, _)| letters.contains(*letter))
        .map(|(_, name)| (*name).to_string())
        .collect()
}

fn armed(model: &Model, cause: &Cause) -> BTreeMap<String, BTreeSet<String>> {
    let names =
        |modes: &BTreeSet<ModeId>| modes.iter().map(|mode| model.modes[*mode].name.tag.clone()).collect();
    cause.armed.iter().map(|(group, modes)| (model.groups[*group].name.tag.clone(), names(modes))).collect()
}

/// The marks of a cause as "TAG position"; a mark twice is an error of the model.
fn marks(model: &Model, cause: &Cause) -> BTreeSet<String> {
    let mut marks = BTreeSet::new();
    for (actuator, position) in cause.demands.iter().flat_map(|effect| &model.effects[*effect].set) {
        let actuator = &model.actuators[*actuator];
        let mark = format!("{} {}", actuator.name.tag, actuator.positions[*position]);
        assert!(marks.insert(mark.clone()), "{}: {mark} twice", cause.name.tag);
    }
    marks
}

/// The inputs of a condition and how many must agree; each must say `condition`.
fn votes(model: &Model, when: &Tree<InputAtom>, condition: &str) -> (BTreeSet<String>, usize) {
    let inputs = when.atoms().into_iter().map(|atom| input(model, atom, condition)).collect();
    let agree = match when {
        Tree::Atom(_) => 1,
        Tree::Vote { m, of } if of.iter().all(|part| matches!(part, Tree::Atom(_))) => *m,
        Tree::And(of) if of.iter().all(|part| matches!(part, Tree::Atom(_))) => of.len(),
        other => panic!("neither a single input nor a vote: {other:?}"),
    };
    (inputs, agree)
}

fn input(model: &Model, atom: &InputAtom, condition: &str) -> String {
    let input = match atom {
        InputAtom::Compare { input, relation, set_point, .. } => {
            let (wanted, value) = condition.split_once(' ').unwrap();
            assert_eq!(
                (relation.text(), set_point),
                (wanted, &base(value)),
                "{}",
                model.inputs[*input].name.tag
            );
            input
        }
        InputAtom::Is { input, asserted: true, .. } if condition == "true" => input,
        other => panic!("not `{condition}`: {other:?}"),
    };
    model.inputs[*input].name.tag.clone()
}
