//! What the proofs rest on, what was declared and not examined, and what the report does not show.

use super::inline::Inline;
use super::page::{Page, capital};
use crate::outcome::Outcome;
use crate::report::content::{basis, calculations, times, title, why};

/// Stands in a cell where the model names nobody or no date.
const NOT_NAMED: &str = "not named";

/// The premises, kind by kind, each with its owner and until when it holds.
pub(super) fn premises(page: &mut Page, outcome: &Outcome) {
    let kinds = basis::kinds(&outcome.premises);
    if kinds.is_empty() {
        return;
    }
    page.title(2, title::PREMISES);
    page.paragraph(Inline::new().text(&basis::premises(outcome)));
    for kind in kinds {
        page.title(3, kind.title);
        page.paragraph(Inline::new().text(&format!("{}.", capital(kind.meaning))));
        let owned = kind.premises.iter().any(|premise| premise.owner.is_some());
        let dated = kind.premises.iter().any(|premise| premise.expires.is_some());
        let shown = [("tag", true), ("what is taken to be so", true), ("owner", owned), ("until", dated)];
        let heading = shown.iter().filter(|(_, is)| *is).map(|(text, _)| Inline::new().text(text));
        let rows = kind.premises.iter().map(|premise| {
            let or = |text: &Option<String>| Inline::new().text(text.as_deref().unwrap_or(NOT_NAMED));
            let mut row = vec![
                Inline::new().strong(premise.tag.as_deref().unwrap_or("-")),
                Inline::new().sentence(&premise.text),
            ];
            row.extend(owned.then(|| or(&premise.owner)));
            row.extend(dated.then(|| or(&premise.expires.map(|day| day.to_string()))));
            row
        });
        page.table(&heading.collect::<Vec<_>>(), &rows.collect::<Vec<_>>());
    }
}

/// Calculated values with their working, where the model has any.
pub(super) fn calculations(page: &mut Page, outcome: &Outcome) {
    let all = calculations::told(outcome);
    if all.is_empty() {
        return;
    }
    page.title(2, title::CALCULATIONS);
    page.paragraph(Inline::new().text(calculations::CALCULATIONS));
    for told in all {
        page.heading(3, Inline::new().sentence(&told.heading));
        let lines = told.lines.iter();
        page.list(lines.map(|(label, text)| Inline::new().sentence(&format!("{label}: {text}"))));
    }
}

/// Response times and margins, where they were asked for.
pub(super) fn times(page: &mut Page, outcome: &Outcome) {
    if !outcome.tells_margins || outcome.margins.is_empty() {
        return;
    }
    page.title(2, title::TIMES);
    page.paragraph(Inline::new().text(times::TIMES));
    for hazard in times::rows(outcome) {
        page.title(3, &hazard.hazard);
        let heading = ["trip", "modes", "needs", "available", "left", "used", "stages"]
            .map(|word| Inline::new().text(word));
        let rows = hazard.rows.iter().map(|row| {
            let figure = |text: &str| match row.doubtful {
                true => Inline::new().strong(text),
                false => Inline::new().text(text),
            };
            vec![
                Inline::new().code(&row.trip),
                Inline::new().text(&row.modes),
                figure(&row.needs),
                figure(&row.available),
                figure(&row.left),
                Inline::new().code(&row.bar),
                Inline::new().sentence(&row.stages),
            ]
        });
        page.table(&heading, &rows.collect::<Vec<_>>());
    }
}

/// Why the proved claims hold, where that was asked.
pub(super) fn reasons(page: &mut Page, outcome: &Outcome) {
    let reasons = why::reasons(outcome);
    if reasons.is_empty() {
        return;
    }
    page.title(2, title::WHY);
    page.paragraph(Inline::new().text(why::WHY));
    for reason in reasons {
        page.paragraph(Inline::new().strong(&reason.claims));
        page.list(reason.lines.iter().map(|line| Inline::new().sentence(line)));
    }
}

/// What the model declares and this version does not examine.
pub(super) fn not_examined(page: &mut Page, outcome: &Outcome) {
    if !outcome.not_examined.is_empty() {
        page.title(2, title::NOT_EXAMINED);
        page.list(outcome.not_examined.iter().map(|line| Inline::new().sentence(line)));
    }
}

/// What the report does not show.
pub(super) fn limits(page: &mut Page) {
    page.title(2, title::LIMITS);
    for text in basis::LIMITS {
        page.paragraph(Inline::new().text(text));
    }
}
