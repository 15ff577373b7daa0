//! The whole verdict of the hall and of its flawed twin: findings, table, exclusions.

use std::collections::{BTreeMap, BTreeSet};

use tripproof::model::Excluded;
use tripproof::outcome::{Cell, Outcome, Paths, Tolerance};

use super::alone::{difference, expected};
use super::hall::{FLAWED_OUTCOME, GOOD_OUTCOME, LETTERS, facts};
use super::planted::PLANTED;

/// Hazards of each bay and the modes in which they exist.
const HAZARDS: &[(&str, &str)] = &[
    ("H01", "RTSQ"),
    ("H02", "UERTSQ"),
    ("H03", "UE"),
    ("H04", "UE"),
    ("H05", "RTSQ"),
    ("H06", "T"),
    ("H07", "T"),
    ("H08", "T"),
    ("H09", "RTS"),
    ("H11", "UE"),
    ("H13", "RTSQ"),
    ("H14", "T"),
    ("H15", "RTS"),
    ("H16", "T"),
];

/// Cells of the flawed twin that are not 2/1. Only timely paths count: B2-H03 has 2/1 as long as it takes.
const FLAWED_CELLS: &[(&str, &str, &str)] = &[
    ("B1-H03", "U", "none"),
    ("B1-H04", "U", "none"),
    ("B1-H05", "RTSQ", "1/0"),
    ("B1-H06", "T", "1/0"),
    ("B1-H08", "T", "1/0"),
    ("B2-H03", "UE", "1/0"),
    ("B2-H04", "UE", "1/0"),
    ("B2-H13", "RTSQ", "1/0"),
];

/// Findings that the design accepts, each with its acceptance.
const ACCEPTED: &[(&str, &str)] = &[
    ("harmful-action/B1-H01/C125+CP-1", "AC-1"),
    ("harmful-action/B1-H01/C127+CP-1", "AC-1"),
    ("harmful-action/B2-H01/C225+CP-2", "AC-1"),
    ("harmful-action/B2-H01/C227+CP-2", "AC-1"),
    ("loss-forces-forbidden-position/B1-H01/CAB-S+CP-1+R-1+SC-1+U24-A", "AC-2"),
    ("loss-forces-forbidden-position/B2-H01/CAB-S+CP-2+R-1+SC-1+U24-A", "AC-2"),
];

fn accepted(outcome: &Outcome) -> BTreeMap<String, String> {
    let accepted = outcome.findings.iter().filter_map(|finding| Some((finding, finding.accepted.clone()?)));
    accepted.map(|(finding, by)| (outcome.finding_id(finding), by)).collect()
}

/// Every cell as `paths/tolerance`, `none`, or what else it is; cells of hazards that do not exist are left out.
fn cells(outcome: &Outcome) -> BTreeMap<(String, char), String> {
    let model = &outcome.model;
    let mut cells = BTreeMap::new();
    for ((hazard, mode), cell) in &outcome.table {
        let text = match cell {
            Cell::Excluded(_) => continue,
            Cell::Examined { tolerance: Tolerance::None, .. } => "none".to_string(),
            Cell::Examined {
                paths: Paths::Exactly(paths), tolerance: Tolerance::Exactly(faults), ..
            } => {
                format!("{paths}/{faults}")
            }
            other => format!("{other:?}"),
        };
        let name = &model.modes[*mode].name.tag;
        let letter = LETTERS.iter().find(|(_, mode)| mode == name).map_or('?', |(letter, _)| *letter);
        cells.insert((model.hazards[*hazard].name.tag.clone(), letter), text);
    }
    cells
}

fn table(exceptions: &[(&str, &str, &str)]) -> BTreeMap<(String, char), String> {
    let mut table = BTreeMap::new();
    for bay in ["B1", "B2"] {
        for (hazard, modes) in HAZARDS {
            for letter in modes.chars() {
                table.insert((format!("{bay}-{hazard}"), letter), "2/1".to_string());
            }
        }
    }
    for (hazard, modes, text) in exceptions {
        for letter in modes.chars() {
            assert!(table.insert(((*hazard).to_string(), letter), (*text).to_string()).is_some());
        }
    }
    table
}

#[test]
fn the_hall_has_nothing_open_and_nothing_undecided() {
    let outcome = &*GOOD_OUTCOME;
    assert_eq!(facts(outcome), BTreeMap::new());
    assert!(outcome.disagreements.is_empty());
    assert_eq!(outcome.counts().undecided, 0);
    assert_eq!(outcome.exit_code(), 0);
}

#[test]
fn the_hall_accepts_three_findings_in_each_bay_and_no_others() {
    let wanted = ACCEPTED.iter().map(|(id, by)| ((*id).to_string(), (*by).to_string())).collect();
    assert_eq!(accepted(&GOOD_OUTCOME), wanted);
}

#[test]
fn the_hall_excludes_faults_of_tank_limit_sheet_and_escape_releases_only() {
    let model = &GOOD_OUTCOME.model;
    let excluded: BTreeSet<String> = model
        .fault_exclusions
        .iter()
        .map(|exclusion| {
            assert!(
                !exclusion.reason.is_empty() && !exclusion.owner.is_empty() && exclusion.expires.is_some()
            );
            match &exclusion.what {
                Excluded::Source(source) => model.source_tag(*source),
                Excluded::Release(tag) => tag.clone(),
                Excluded::Direction(source, direction) => {
                    format!("{} {direction}", model.source_tag(*source))
                }
            }
        })
        .collect();
    assert_eq!(excluded, ["ER-1", "ER-2", "PSRC", "TK-0"].map(String::from).into());
    assert_eq!(model.left_out.iter().map(|(kind, _)| kind.word()).collect::<Vec<_>>(), ["types"]);
}

#[test]
fn every_hazard_of_the_hall_has_two_paths_in_each_of_its_modes() {
    assert_eq!(cells(&GOOD_OUTCOME), table(&[]));
}

#[test]
fn the_table_of_the_flawed_twin_differs_where_the_description_says() {
    assert_eq!(cells(&FLAWED_OUTCOME), table(FLAWED_CELLS));
}

#[test]
fn the_flawed_twin_has_the_findings_of_what_was_planted_and_no_others() {
    let all: Vec<&str> = PLANTED.iter().map(|planted| planted.name).collect();
    let wrong = difference(&facts(&FLAWED_OUTCOME), &expected(&all));
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(FLAWED_OUTCOME.counts().undecided, 0);
    assert!(FLAWED_OUTCOME.disagreements.is_empty());
}

#[test]
fn the_acceptances_of_the_hall_stand_in_the_flawed_twin_but_for_the_one_that_lost_its_finding() {
    let hidden = "loss-forces-forbidden-position/B2-H01/CAB-S+CP-2+R-1+SC-1+U24-A";
    let wanted = ACCEPTED.iter().filter(|(id, _)| *id != hidden);
    assert_eq!(accepted(&FLAWED_OUTCOME), wanted.map(|(id, by)| (id.to_string(), by.to_string())).collect());
}
