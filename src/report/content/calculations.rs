//! Calculated values, each with its formula, the numbers put in, its result and the fields that take it.

use crate::model::{Calculation, Side, Taken};
use crate::outcome::Outcome;

/// Above the calculated values.
pub(in crate::report) const CALCULATIONS: &str = "These values are calculated from the numbers that the model puts in; nobody has measured them here. Each formula \
     assumes something, and whoever answers for it is named. Where a result is not exact, the true value lies between \
     two bounds, and a field has the bound on its safe side.";

/// A calculated value in words.
pub(in crate::report) struct Told {
    /// Its tag and title.
    pub heading: String,
    /// Each a label with its text.
    pub lines: Vec<(&'static str, String)>,
}

/// The calculated values in the order of the file.
pub(in crate::report) fn told(outcome: &Outcome) -> Vec<Told> {
    outcome.model.calculations.iter().map(one).collect()
}

fn one(done: &Calculation) -> Told {
    let title = done.name.title.as_deref().unwrap_or_default();
    let mut lines = vec![("Formula", done.formula.symbols())];
    let operands = done.formula.operands.iter().map(|operand| {
        let from = operand.from.as_ref().map_or(String::new(), |tag| format!(" (from {tag})"));
        format!("{} = {}{from}, {}", operand.symbol, operand.value, operand.meaning)
    });
    lines.push(("With", operands.collect::<Vec<_>>().join("; ")));
    lines.push(("Put in", done.formula.numbers()));
    lines.extend(done.formula.remarks.iter().map(|remark| ("Note", remark.clone())));
    lines.push(("Result", result(done)));
    if let Some(taken) = &done.taken_as {
        lines.push(("Taken as", taken.to_string()));
    }
    lines.extend(takers(done).into_iter().map(|line| ("Used", line)));
    if !done.goes_into.is_empty() {
        lines.push(("Goes into", format!("{}, with the result itself", done.goes_into.join(", "))));
    }
    if let Some(purpose) = &done.used_for {
        lines.push(("For", purpose.clone()));
    }
    lines.push(("Assumes", done.formula.assumes.to_string()));
    lines.push(("Source", done.formula.source.to_string()));
    lines.push(("Owner", done.owner.clone()));
    if let Some(evidence) = &done.evidence {
        lines.push(("Evidence", evidence.clone()));
    }
    Told { heading: format!("{}: {title}", done.name.tag), lines }
}

fn result(done: &Calculation) -> String {
    let result = &done.result;
    let (short, whole) = result.short();
    if whole {
        return format!("{short}, exact");
    }
    if result.is_exact() {
        return format!("about {short}, exactly {}", result.low);
    }
    format!(
        "about {short}; not exact: between {} and {}, each rounded outwards",
        result.decimal(Side::Low),
        result.decimal(Side::High)
    )
}

/// Fields that take it alike in one line.
fn takers(done: &Calculation) -> Vec<String> {
    let mut groups: Vec<(&Taken, Vec<&str>)> = Vec::new();
    for taken in &done.taken_by {
        let alike = |other: &Taken| {
            (other.field, other.side, &other.value) == (taken.field, taken.side, &taken.value)
        };
        match groups.iter_mut().find(|(first, _)| alike(first)) {
            Some((_, tags)) => tags.push(&taken.tag),
            None => groups.push((taken, vec![&taken.tag])),
        }
    }
    let line = |(taken, tags): (&Taken, Vec<&str>)| {
        let (side, bound) = match taken.side {
            Side::High => ("greater", "upper"),
            Side::Low => ("smaller", "lower"),
        };
        let value = match &done.taken_as {
            Some(taken) => taken.to_string(),
            None => done.result.decimal(taken.side),
        };
        let which = match done.taken_as.is_none() && !done.result.is_exact() {
            true => format!(", the {bound} bound,"),
            false => String::new(),
        };
        format!(
            "{value}{which} as `{}` of {}, where a {side} value is the safe one",
            taken.field,
            tags.join(", ")
        )
    };
    groups.into_iter().map(line).collect()
}
