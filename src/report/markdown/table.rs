//! The hazard-by-mode table, one per mode group, with its legend.

use super::inline::Inline;
use super::page::Page;
use crate::model::{GroupId, HazardId, ModeId};
use crate::outcome::{Cell, Outcome};
use crate::report::cell;
use crate::report::content::{table, title};

/// The tables of all groups that have hazards.
pub(super) fn tables(page: &mut Page, outcome: &Outcome) {
    let model = &outcome.model;
    let groups = table::groups(model);
    if groups.is_empty() {
        return;
    }
    page.title(2, title::TABLE);
    for (group, hazards) in groups {
        if model.groups.len() > 1 {
            page.heading(3, Inline::new().text("Modes of ").text(&model.groups[group].name.tag));
        }
        one(page, outcome, group, &hazards);
        let titles = table::titles(model, &hazards).into_iter();
        let titles =
            titles.map(|(tag, title)| Inline::new().strong(&format!("{tag}:")).text(" ").text(title));
        let reasons = table::reasons(outcome, &hazards);
        let reasons = reasons.iter().map(|(label, reason)| Inline::new().text(label).text(" ").text(reason));
        page.list(titles.chain(reasons));
    }
    page.paragraph(Inline::new().text("How to read it:"));
    let legend = table::legend(outcome);
    page.list(legend.iter().map(|(sign, text)| Inline::new().code(sign).text(": ").sentence(text)));
}

fn one(page: &mut Page, outcome: &Outcome, group: GroupId, hazards: &[HazardId]) {
    let model = &outcome.model;
    let modes = &model.groups[group].modes;
    let mut heading = vec![Inline::new().text("hazard"), Inline::new().text("required")];
    heading.extend(modes.iter().map(|mode| Inline::new().text(&model.modes[*mode].name.tag)));
    let rows: Vec<Vec<Inline>> = hazards
        .iter()
        .map(|id| {
            let mut row = vec![
                Inline::new().strong(&model.hazards[*id].name.tag),
                Inline::new().text(&table::required(model, *id)),
            ];
            row.extend(modes.iter().map(|mode| entry(outcome, *id, *mode)));
            row
        })
        .collect();
    page.table(&heading, &rows);
}

/// A cell; strong where something is open.
fn entry(outcome: &Outcome, hazard: HazardId, mode: ModeId) -> Inline {
    let found = outcome.table.get(&(hazard, mode)).unwrap_or(&Cell::NotConsidered);
    let text = cell(found);
    match found {
        Cell::Examined { meets: true, .. } | Cell::Excluded(_) => Inline::new().text(&text),
        _ => Inline::new().strong(&text),
    }
}
