//! The page of planted defects: how many were planted, and what became of them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use tripproof::check::Check;

use super::judge::Verdict;
use super::operators::OPERATORS;
use super::text::Text;
use super::{MODELS, Places, Tried};

pub const COMMAND: &str = "TRIPPROOF_WRITE_DOCS=1 TRIPPROOF_PLANTED=all cargo test --release --test planted";

/// How many mutants of one kind had which verdict.
#[derive(Default, Clone, Copy)]
struct Counts {
    tried: usize,
    refused: usize,
    expected: usize,
    other: usize,
    harmless: usize,
    as_required: usize,
    survivors: usize,
}

impl Counts {
    fn add(&mut self, verdict: &Verdict) {
        self.tried += 1;
        match verdict {
            Verdict::Refused(_) => self.refused += 1,
            Verdict::Expected(_) => self.expected += 1,
            Verdict::Other(_) => self.other += 1,
            Verdict::Harmless { .. } => self.harmless += 1,
            Verdict::AsRequired { .. } => self.as_required += 1,
            Verdict::Survivor(_) => self.survivors += 1,
        }
    }

    fn cells(&self) -> String {
        let Counts { tried, refused, expected, other, harmless, as_required, survivors } = self;
        format!("{tried} | {refused} | {expected} | {other} | {harmless} | {as_required} | {survivors}")
    }
}

fn counts<'t>(tried: impl Iterator<Item = &'t Tried>) -> Counts {
    tried.fold(Counts::default(), |mut counts, tried| {
        counts.add(&tried.verdict);
        counts
    })
}

/// A table for the terminal.
pub fn summary(tried: &[Tried], places: &Places) -> String {
    let mut text =
        String::from("places | tried | refused | expected | other | harmless | as required | survivors\n");
    for (number, operator) in OPERATORS.iter().enumerate() {
        let own: Vec<&Tried> = tried.iter().filter(|tried| tried.operator == number).collect();
        let all: usize = places.iter().filter(|((_, of), _)| *of == number).map(|(_, count)| count).sum();
        let cells = counts(own.iter().copied()).cells();
        let _ = writeln!(text, "{}: {all} | {cells}", operator.name);
    }
    let _ = writeln!(text, "all: {} | {}", places.values().sum::<usize>(), counts(tried.iter()).cells());
    for (model, (name, ..)) in MODELS.iter().enumerate() {
        let own = tried.iter().filter(|tried| tried.model == model);
        let _ = writeln!(text, "{name}: {}", counts(own).cells());
    }
    text
}

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/trust/planted.md")
}

/// The page as it stands.
pub fn read() -> String {
    fs::read_to_string(path()).unwrap_or_default()
}

fn row_start(operator: usize, places: usize) -> String {
    format!("| {} | {places} |", OPERATORS[operator].name)
}

/// How each row begins, for a page written by an earlier run.
pub fn rows_without_results(places: &Places) -> Vec<String> {
    let with_places = places.iter().filter(|(_, count)| **count > 0);
    with_places.map(|((_, operator), count)| row_start(*operator, *count)).collect()
}

const HEAD: &str = "# Planted defects

<!-- Written by TRIPPROOF_WRITE_DOCS=1 TRIPPROOF_PLANTED=all (or a number) cargo test --release --test planted -->

Every good shipped model is spoilt in its places, one defect at a time, and examined. The tables say how many places
there are, and how many of them were tried. The kinds of defect are common practice, no source. Each mutant is one of
these:

* **refused**: the loader does not accept it as a model.
* **expected**: told by a finding that the model itself has not, of a check that this kind of defect must lead to.
* **other**: told, but only by another check; listed below.
* **harmless**: not told, and no weaker. For each hazard in each mode the questions before and after were compared. Where
  they differ, the engine was asked for a set of faults that defeats the mutant and holds no minimal cut set of the model,
  with initiators and under overrides. There is none, of any size.
* **as required**: not told, and weaker: some set of faults defeats it that did not defeat the model. Three questions of
  their own show that the requirements of each such hazard still hold: the tolerated faults, with and without overrides,
  and disjoint paths of which each alone protects. A tool that compares with the requirement has nothing to say here.
* **survivors**: none of these. There must be none.

The comparison uses the same encoding as the checks. An error there can hide in both; the simulator, the walk through
small models and the conformance cases look for those.
";

/// Writes the page.
pub fn write(models: &[Text], tried: &[Tried], places: &Places) {
    let mut page = String::from(HEAD);
    const COLUMNS: &str =
        "places | tried | refused | expected | other | harmless | as required | survivors |\n";
    const LINE: &str = "---:|---:|---:|---:|---:|---:|---:|---:|\n";
    let _ = write!(page, "\n## All models\n\n| model | {COLUMNS}|---|{LINE}");
    for (model, text) in models.iter().enumerate() {
        let own = tried.iter().filter(|tried| tried.model == model);
        let all: usize = places.iter().filter(|((of, _), _)| *of == model).map(|(_, count)| count).sum();
        let _ = writeln!(page, "| {} | {all} | {} |", text.name, counts(own).cells());
    }
    let _ = writeln!(page, "| all | {} | {} |", places.values().sum::<usize>(), counts(tried.iter()).cells());
    for (model, text) in models.iter().enumerate() {
        let _ = write!(page, "\n## {}\n\n| defect | {COLUMNS}|---|{LINE}", text.name);
        for operator in 0..OPERATORS.len() {
            let count = places[&(model, operator)];
            if count > 0 {
                let own = tried.iter().filter(|tried| tried.model == model && tried.operator == operator);
                let _ = writeln!(page, "{} {} |", row_start(operator, count), counts(own).cells());
            }
        }
    }
    page.push_str(&survivors(tried));
    page.push_str(&others(tried));
    page.push_str(&harmless(tried));
    page.push_str(&as_required(tried));
    fs::create_dir_all(path().parent().unwrap()).unwrap();
    fs::write(path(), page).unwrap();
}

fn places_of(tried: &[&Tried]) -> String {
    let places: Vec<String> = tried.iter().map(|tried| format!("`{}`", tried.place)).collect();
    places.join(", ")
}

/// The mutants for which `key` gives something, by operator, model and that.
fn grouped<K: Ord>(
    tried: &[Tried],
    key: impl Fn(&Tried) -> Option<K>,
) -> BTreeMap<(usize, usize, K), Vec<&Tried>> {
    let mut groups: BTreeMap<(usize, usize, K), Vec<&Tried>> = BTreeMap::new();
    for one in tried {
        if let Some(key) = key(one) {
            groups.entry((one.operator, one.model, key)).or_default().push(one);
        }
    }
    groups
}

fn survivors(tried: &[Tried]) -> String {
    let mut text = String::from("\n## Survivors\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Survivor(why) => Some(why.clone()),
        _ => None,
    };
    let groups = grouped(tried, key);
    if groups.is_empty() {
        text.push_str("None.\n");
    }
    for ((operator, model, why), group) in groups {
        let (operator, model) = (OPERATORS[operator].name, MODELS[model].0);
        let _ = writeln!(text, "* {operator}, {model}: {why}: {}", places_of(&group));
    }
    text
}

fn others(tried: &[Tried]) -> String {
    let mut text = String::from("\n## Told by other checks only\n\n");
    let names =
        |checks: &BTreeSet<Check>| checks.iter().map(|check| check.name()).collect::<Vec<_>>().join(", ");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Other(checks) => Some(names(checks)),
        _ => None,
    };
    for ((operator, model, checks), group) in grouped(tried, key) {
        let (operator, model) = (OPERATORS[operator].name, MODELS[model].0);
        let _ = writeln!(text, "* {operator}, {model}: by {checks}: {}", places_of(&group));
    }
    text
}

fn harmless(tried: &[Tried]) -> String {
    let mut text = String::from("\n## Harmless\n\n");
    text.push_str("Compared are all hazards in all modes of the model, over all sets of faults.\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Harmless { changed: 0, .. } => Some("no question about a hazard changes".to_string()),
        Verdict::Harmless { changed, of } => {
            Some(format!("{changed} of {of} questions change, and no set of faults defeats more"))
        }
        _ => None,
    };
    for ((operator, model, proof), group) in grouped(tried, key) {
        let (operator, model) = (OPERATORS[operator].name, MODELS[model].0);
        let _ = writeln!(text, "* {operator}, {model}: {proof}: {}", places_of(&group));
    }
    text
}

fn as_required(tried: &[Tried]) -> String {
    let mut text = String::from("\n## Weaker, and still as required\n\n");
    text.push_str("The first hazard that more faults defeat than before is named.\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::AsRequired { hazard } => Some(hazard.clone()),
        _ => None,
    };
    for ((operator, model, hazard), group) in grouped(tried, key) {
        let (operator, model) = (OPERATORS[operator].name, MODELS[model].0);
        let _ = writeln!(text, "* {operator}, {model}: {hazard}: {}", places_of(&group));
    }
    text
}
