//! Response times and times available of the hall against table H.9 of its description, and what depends on which time.
//!
//! Every figure is a sum or a quotient of what the description declares, recomputed exactly; where the table rounds, the
//! sum stands here. Passive devices: the table has the time to open twice (0.04 s and 0.2 s), the model once.

use std::collections::{BTreeMap, BTreeSet};

use tripproof::assess::time::{margin, margin_of_device, times};
use tripproof::engine::smt::Smt;
use tripproof::exact::Exact;
use tripproof::load::load;
use tripproof::model::{Device, InputAtom, Model};
use tripproof::source::Source;

use super::hall::GOOD;

/// Hazard, trip, needs, available; `#` is the bay.
const TABLE: &[(&str, &str, &str, &str)] = &[
    ("H01", "C#01", "9.29", "13.75"),
    ("H01", "C#02", "0.45", "29"),
    // (60 − 23) / 0.254 · 0.5
    ("H02", "C#06", "35.25", "37/0.508"),
    ("H02", "C#07", "35.09", "37/0.508"),
    // ((1200 − 110) / 9 − 30) · 0.5
    ("H03", "C#08", "33.35", "820/18"),
    ("H03", "C#09", "33.19", "820/18"),
    ("H04", "C#10", "20.35", "23"),
    ("H04", "C#11", "20.19", "23"),
    ("H05", "C#13", "12.45", "14.75"),
    ("H05", "PANEL-#", "0.02", "6.25"),
    ("H06", "C#18", "3.8", "4"),
    ("H06", "C#19", "3.55", "4"),
    ("H07", "C#31", "0.79", "10"),
    ("H07", "C#30", "5.15", "10"),
    ("H08", "C#03", "0.45", "9.5"),
    ("H08", "C#04", "0.84", "3.75"),
    ("H09", "C#25", "1.45", "4.8"),
    ("H09", "VALVE-#", "0.1", "2.5"),
    ("H11", "C#22", "0.36", "1"),
    ("H11", "C#20", "0.36", "1"),
    ("H11", "C#36", "0.2", "1"),
    ("H11", "C#21", "0.11", "1"),
    ("H13", "C#15", "36.05", "90"),
    ("H13", "C#16", "39.09", "90"),
    ("H14", "C#32", "7.29", "60"),
    ("H14", "C#33", "6.15", "60"),
    ("H15", "C#28", "15.3", "11.5/0.108"),
    ("H15", "C#29", "15.05", "8/0.108"),
    ("H16", "C#34", "0.79", "2"),
    ("H16", "C#35", "0.65", "2"),
];

fn number(text: &str) -> Exact {
    match text.split_once('/') {
        Some((top, bottom)) => number(top).checked_div(&number(bottom)).unwrap(),
        None => Exact::parse_decimal(text).unwrap(),
    }
}

/// Hazard, mode and trip, with what it needs and has; nobody knows what it needs where a T90 says nothing.
type Rows = BTreeMap<(String, String, String), (Option<Exact>, Exact)>;

fn rows(text: &str) -> Option<Rows> {
    let model = load(&Source::new("hall.yaml", text)).ok()?;
    let engine = Smt::new(50_000_000).unwrap();
    let mut rows = Rows::new();
    for timed in times(&model, &engine).unwrap() {
        let hazard = &model.hazards[timed.hazard];
        let mode = model.modes[timed.mode].name.tag.clone();
        let mut add = |trip: &str, found: tripproof::assess::time::Margin| {
            let key = (hazard.name.tag.clone(), mode.clone(), trip.to_string());
            rows.insert(key, (found.needs(), found.available().unwrap()));
        };
        for cause in timed.acts.keys() {
            add(&model.causes[*cause].name.tag, margin(&model, &timed, *cause).unwrap());
        }
        for at in hazard.safe_state.atoms() {
            if let Device::Passive(id) = at.device {
                add(&model.passive[id].name.tag, margin_of_device(&model, &timed, id).unwrap());
            }
        }
    }
    Some(rows)
}

#[test]
fn every_time_of_the_hall_is_that_of_the_description() {
    let found: BTreeMap<(String, String), BTreeSet<(Exact, Exact)>> =
        rows(GOOD).unwrap().into_iter().fold(BTreeMap::new(), |mut all, ((hazard, _, trip), figures)| {
            let (needs, available) = figures;
            all.entry((hazard, trip)).or_insert_with(BTreeSet::new).insert((needs.unwrap(), available));
            all
        });
    let mut wanted = BTreeMap::new();
    for bay in ["1", "2"] {
        for (hazard, trip, needs, available) in TABLE {
            let key = (format!("B{bay}-{hazard}"), trip.replace('#', bay));
            wanted.insert(key, BTreeSet::from([(number(needs), number(available))]));
        }
    }
    assert_eq!(found, wanted);
}

/// Every time that the hall declares, as its place in the text with the elements that have it; those of stops and of
/// overrides are no part of a trip. Where elements take a calculated time, the rounded value of the calculation is the
/// declared time of all of them.
fn declared() -> Vec<(usize, usize, BTreeSet<String>)> {
    let mut found = BTreeMap::new();
    let fields = [
        "reaction: ",
        "t90: ",
        "response: ",
        "confirmation: ",
        "moves_in: ",
        "within: ",
        "evacuation: ",
        "harm_after_set_point: ",
    ];
    for field in fields {
        for (at, _) in GOOD.match_indices(field) {
            let line = GOOD[..at].rfind('\n').map_or(0, |end| end + 1);
            let start = at + field.len();
            let end = start + GOOD[start..].find([',', '\n', ' ', '}']).unwrap();
            let end = end + GOOD[end..].find([',', '\n', '}', '#']).unwrap();
            let end = start + GOOD[start..end].trim_end().len();
            let tag = match GOOD[line..at].trim_start().split_once(':') {
                // On a line of its own it belongs to the element above.
                Some((tag, _)) if !tag.is_empty() => tag.to_string(),
                _ => owner(line),
            };
            if GOOD[line..at].trim_start().starts_with("ES-") {
                continue;
            }
            let (start, end) = match GOOD[start..end].strip_prefix("from ") {
                Some(calculation) => taken_as(calculation),
                None => (start, end),
            };
            found.entry((start, end)).or_insert_with(BTreeSet::new).insert(tag);
        }
    }
    found.into_iter().map(|((start, end), tags)| (start, end, tags)).collect()
}

/// The place of the rounded value of a calculation.
fn taken_as(calculation: &str) -> (usize, usize) {
    let entry = GOOD.find(&format!("\n  {calculation}:\n")).unwrap();
    let start = entry + GOOD[entry..].find("taken_as: ").unwrap() + "taken_as: ".len();
    (start, start + GOOD[start..].find('\n').unwrap())
}

/// The tag of the element that a line belongs to.
fn owner(line: usize) -> String {
    let above = GOOD[..line].lines().rev().find(|above| above.starts_with("  ") && !above.starts_with("   "));
    above.unwrap().trim().trim_end_matches(':').to_string()
}

/// Changing one time changes exactly the rows whose chain it is in, by exactly as much; a time of the hazard those of the hazard.
#[test]
fn each_declared_time_counts_where_it_belongs_and_nowhere_else() {
    let before = rows(GOOD).unwrap();
    let model = load(&Source::new("hall.yaml", GOOD)).unwrap();
    let engine = Smt::new(50_000_000).unwrap();
    // Of each row the elements of all its stages, with the slowest of equal ones left out of the comparison.
    let mut chains: BTreeMap<(String, String, String), BTreeSet<String>> = BTreeMap::new();
    for timed in times(&model, &engine).unwrap() {
        for cause in timed.acts.keys() {
            let found = margin(&model, &timed, *cause).unwrap();
            let key = (
                model.hazards[timed.hazard].name.tag.clone(),
                model.modes[timed.mode].name.tag.clone(),
                model.causes[*cause].name.tag.clone(),
            );
            let tags = found.stages.iter().map(|stage| model.name(stage.element).tag.clone());
            chains.insert(key, tags.collect());
        }
    }
    let places = declared();
    assert!(places.len() > 170, "{}", places.len());
    let (mut changed_rows, mut quiet) = (0, Vec::new());
    assert!(places.iter().any(|(_, _, tags)| tags.len() == 4), "the discharge units share one calculation");
    for (start, end, tags) in places {
        let tag = &tags;
        // 100 s more: it is then the slowest of all that run side by side.
        let value = GOOD[start..end].trim().to_string();
        let (figure, unit) = value.split_once(' ').unwrap();
        let more = match unit {
            "s" => number(figure) + Exact::int(100),
            "ms" => number(figure) + Exact::int(100_000),
            other => panic!("{other}"),
        };
        let text = format!("{}{more} {unit}{}", &GOOD[..start], &GOOD[end..]);
        let after = rows(&text).unwrap_or_else(|| panic!("{tag:?}: {value}"));
        let mut any = false;
        for (key, (needs, available)) in &after {
            let (needed, had) = &before[key];
            let of_hazard = tags.contains(&key.0);
            if of_hazard {
                assert!(available != had && needs == needed, "{tag:?} {value}: {key:?}");
                any = true;
            } else {
                assert_eq!(available, had, "{tag:?} {value}: {key:?}");
            }
            let (Some(needs), Some(needed)) = (needs, needed) else {
                // With 100 s more a T90 is longer than the change of its quantity takes, and says nothing.
                assert!(GOOD[..start].ends_with("t90: "), "{tag:?} {value}: {key:?}");
                assert!(tags.iter().any(|tag| part_of(&model, key, tag)), "{tag:?} {value}: {key:?}");
                any = true;
                changed_rows += 1;
                continue;
            };
            let in_chain: Vec<&String> =
                chains.get(key).into_iter().flat_map(|chain| chain.intersection(&tags)).collect();
            if needs != needed {
                any = true;
                changed_rows += 1;
                assert!(needs > needed, "{tag:?} {value}: {key:?}");
                assert!(tags.iter().any(|tag| part_of(&model, key, tag)), "{tag:?} {value}: {key:?}");
            }
            // What decides the row counts in full; what runs beside it may only become the slowest.
            if !in_chain.is_empty() && in_chain.iter().all(|tag| alone(tag)) {
                assert_eq!(needs - needed, Exact::int(100), "{tag:?} {value}: {key:?}");
            }
        }
        if !any {
            quiet.extend(tags);
        }
    }
    assert!(changed_rows > 400, "{changed_rows}");
    // Elements that no credited trip needs, and heads of which a vote needs two of three: one slow one changes nothing.
    let quiet: BTreeSet<&str> = quiet.iter().map(String::as_str).collect();
    insta::assert_debug_snapshot!("times-that-no-trip-needs", quiet);
}

/// Whether an element can take part in a row: the inputs that the cause reads, its solver, and the elements of the safe
/// state of the hazard; or the passive device itself.
fn part_of(model: &Model, (hazard, _, trip): &(String, String, String), tag: &str) -> bool {
    let Some((_, cause)) = model.causes.iter().find(|(_, cause)| cause.name.tag == *trip) else {
        return trip == tag;
    };
    let (_, hazard) = model.hazards.iter().find(|(_, other)| other.name.tag == *hazard).unwrap();
    let inputs = cause.when.atoms().into_iter().filter_map(|atom| match atom {
        InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => {
            Some(&model.inputs[*input].name.tag)
        }
        _ => None,
    });
    let elements = hazard.safe_state.atoms().into_iter().map(|at| model.tag(model.device_element(at.device)));
    inputs
        .map(String::as_str)
        .chain(elements)
        .chain([model.solvers[cause.solver].name.tag.as_str()])
        .any(|part| part == tag)
}

/// Whether a time counts in full wherever it is in a chain: no other input or element runs beside it.
fn alone(tag: &str) -> bool {
    // One of three heads is never alone in its vote, nor one of two detectors that must agree.
    !["TE-", "GF-", "FL-", "SD-"].iter().any(|head| tag.starts_with(head))
}
