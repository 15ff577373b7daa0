//! The pages of planted defects, one for each model and one for defects in time: how many were planted, and what became of
//! them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::path::PathBuf;

use tripproof::check::Check;

use super::judge::Verdict;
use super::operators::OPERATORS;
use super::{MODELS, Places, Tried};

/// The page of the defects in time.
pub const TIMES: &str = "times";

/// Every page.
pub fn names() -> impl Iterator<Item = &'static str> {
    MODELS.iter().map(|(name, ..)| *name).chain([TIMES])
}

/// Whether an operator in a model belongs to a page.
fn belongs(page: &str, model: usize, operator: usize) -> bool {
    match OPERATORS[operator].of_time {
        true => page == TIMES,
        false => page == MODELS[model].0,
    }
}

/// The command that writes a page.
pub fn command(model: &str) -> String {
    format!(
        "TRIPPROOF_WRITE_DOCS=1 TRIPPROOF_PLANTED=all TRIPPROOF_PLANTED_ONLY={model} cargo test --release --test planted"
    )
}

/// How many mutants of one kind had which verdict.
#[derive(Default, Clone, Copy)]
struct Counts {
    tried: usize,
    refused: usize,
    expected: usize,
    other: usize,
    undecided: usize,
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
            Verdict::Undecided => self.undecided += 1,
            Verdict::Harmless { .. } => self.harmless += 1,
            Verdict::AsRequired { .. } => self.as_required += 1,
            Verdict::Survivor(_) => self.survivors += 1,
        }
    }

    fn cells(&self) -> String {
        let Counts { tried, refused, expected, other, undecided, harmless, as_required, survivors } = self;
        format!(
            "{tried} | {refused} | {expected} | {other} | {undecided} | {harmless} | {as_required} | {survivors}"
        )
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
    let mut text = String::from(
        "places | tried | refused | expected | other | undecided | no weaker | as required | survivors\n",
    );
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

fn path(model: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(format!("docs/trust/planted/{model}.md"))
}

/// The page of a model as it stands.
pub fn read(model: &str) -> String {
    fs::read_to_string(path(model)).unwrap_or_default()
}

fn row_start(operator: usize, places: usize) -> String {
    format!("| {} | {places} |", OPERATORS[operator].name)
}

/// How many places each operator of a page has.
fn counted(page: &str, places: &Places) -> BTreeMap<usize, usize> {
    let mut all = BTreeMap::new();
    for ((model, operator), count) in places {
        if *count > 0 && belongs(page, *model, *operator) {
            *all.entry(*operator).or_default() += count;
        }
    }
    all
}

/// How each row of a page begins, for one that an earlier run wrote.
pub fn rows_without_results(page: &str, places: &Places) -> Vec<String> {
    counted(page, places).into_iter().map(|(operator, count)| row_start(operator, count)).collect()
}

const HEAD: &str = "
One defect at a time in every place, and each mutant examined. What the columns mean, and how each is shown:
[planted defects](../planted.md).

| defect | places | tried | refused | expected | other | undecided | harmless: no weaker | harmless: as required | survivors |
|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|
";

/// Writes the pages of which every mutant was tried.
pub fn write(tried: &[Tried], places: &Places) {
    for name in names() {
        let own: Vec<&Tried> =
            tried.iter().filter(|tried| belongs(name, tried.model, tried.operator)).collect();
        let counted = counted(name, places);
        let all: usize = counted.values().sum();
        if own.len() != all {
            continue;
        }
        let of = if name == TIMES { "the times of all models" } else { name };
        let mut page = format!("# Defects planted in {of}\n\n<!-- Written by {} -->\n", command(name));
        page.push_str(HEAD);
        for (operator, count) in counted {
            let own = own.iter().copied().filter(|tried| tried.operator == operator);
            let _ = writeln!(page, "{} {} |", row_start(operator, count), counts(own).cells());
        }
        let _ = writeln!(page, "| all | {all} | {} |", counts(own.iter().copied()).cells());
        page.push_str(&survivors(&own));
        page.push_str(&others(&own));
        page.push_str(&no_weaker(&own));
        page.push_str(&as_required(&own));
        fs::create_dir_all(path(name).parent().unwrap()).unwrap();
        fs::write(path(name), page).unwrap();
    }
}

fn places_of(tried: &[&Tried]) -> String {
    let places: Vec<String> = tried.iter().map(|tried| format!("`{}`", tried.place)).collect();
    places.join(", ")
}

/// The mutants for which `key` gives something, by operator and that.
fn grouped<'t, K: Ord>(
    tried: &[&'t Tried],
    key: impl Fn(&Tried) -> Option<K>,
) -> BTreeMap<(usize, K), Vec<&'t Tried>> {
    let mut groups: BTreeMap<(usize, K), Vec<&Tried>> = BTreeMap::new();
    for one in tried {
        if let Some(key) = key(one) {
            groups.entry((one.operator, key)).or_default().push(one);
        }
    }
    groups
}

fn survivors(tried: &[&Tried]) -> String {
    let mut text = String::from("\n## Survivors\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Survivor(why) => Some(why.clone()),
        _ => None,
    };
    let groups = grouped(tried, key);
    if groups.is_empty() {
        text.push_str("None.\n");
    }
    for ((operator, why), group) in groups {
        let operator = OPERATORS[operator].name;
        let _ = writeln!(text, "* {operator}: {why}: {}", places_of(&group));
    }
    text
}

fn others(tried: &[&Tried]) -> String {
    let mut text = String::from("\n## Told by other checks only\n\n");
    let undecided: Vec<&Tried> =
        tried.iter().copied().filter(|one| one.verdict == Verdict::Undecided).collect();
    let names =
        |checks: &BTreeSet<Check>| checks.iter().map(|check| check.name()).collect::<Vec<_>>().join(", ");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Other(checks) => Some(names(checks)),
        _ => None,
    };
    for ((operator, checks), group) in grouped(tried, key) {
        let operator = OPERATORS[operator].name;
        let _ = writeln!(text, "* {operator}: by {checks}: {}", places_of(&group));
    }
    if !undecided.is_empty() {
        text.push_str("\n## Told as undecided\n\n");
        let _ = writeln!(
            text,
            "The claims are undecided, and the report says of what: {}",
            places_of(&undecided)
        );
    }
    text
}

fn no_weaker(tried: &[&Tried]) -> String {
    let mut text = String::from("\n## Harmless: no weaker\n\n");
    text.push_str("Compared are all hazards in all modes of the model, over all sets of faults.\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::Harmless { changed: 0, .. } => Some("no question about a hazard changes".to_string()),
        Verdict::Harmless { changed, of } => {
            Some(format!("{changed} of {of} questions change, and no set of faults defeats more"))
        }
        _ => None,
    };
    for ((operator, proof), group) in grouped(tried, key) {
        let operator = OPERATORS[operator].name;
        let _ = writeln!(text, "* {operator}: {proof}: {}", places_of(&group));
    }
    text
}

fn as_required(tried: &[&Tried]) -> String {
    let mut text = String::from("\n## Harmless: as required\n\n");
    text.push_str("The first hazard that more faults defeat than before is named.\n\n");
    let key = |one: &Tried| match &one.verdict {
        Verdict::AsRequired { hazard } => Some(hazard.clone()),
        _ => None,
    };
    for ((operator, hazard), group) in grouped(tried, key) {
        let operator = OPERATORS[operator].name;
        let _ = writeln!(text, "* {operator}: {hazard}: {}", places_of(&group));
    }
    text
}
