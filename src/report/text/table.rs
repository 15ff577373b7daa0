//! The hazard-by-mode table, one per mode group, split where it is wider than the page, with its legend.

use unicode_width::UnicodeWidthStr;

use super::section;
use super::wrap::{Paint, Tone, WIDTH, hanging, labelled};
use crate::model::{GroupId, HazardId, ModeId};
use crate::outcome::{Cell, Outcome};
use crate::report::cell;
use crate::report::content::{table, title};

/// Spaces between columns.
const GAP: usize = 2;

/// One column: its heading and a cell for every row.
struct Column {
    heading: String,
    cells: Vec<(String, Option<Tone>)>,
}

impl Column {
    fn width(&self) -> usize {
        let cells = self.cells.iter().map(|(text, _)| text.width());
        cells.chain([self.heading.width()]).max().unwrap_or(0)
    }
}

/// The tables of all groups that have hazards.
pub(super) fn tables(outcome: &Outcome, paint: Paint) -> String {
    let model = &outcome.model;
    let mut body = String::new();
    for (group, hazards) in table::groups(model) {
        if model.groups.len() > 1 {
            body.push_str(&format!("Modes of {}\n\n", model.groups[group].name.tag));
        }
        for block in blocks(&columns(outcome, group, &hazards)) {
            body.push_str(&draw(&block, paint));
            body.push('\n');
        }
        let titles = table::titles(model, &hazards);
        body.extend(titles.iter().map(|(tag, title)| labelled(&format!("{tag}:"), title, 0)));
        let reasons = table::reasons(outcome, &hazards);
        body.extend(reasons.iter().map(|(label, reason)| hanging(&format!("{label} {reason}"), "", 2)));
        body.push('\n');
    }
    if !body.is_empty() {
        body.push_str("How to read it:\n");
        let legend = table::legend(outcome);
        body.extend(legend.iter().map(|(sign, text)| hanging(text, &format!("  {sign:<10} "), 13)));
    }
    section(title::TABLE, &body, paint)
}

fn columns(outcome: &Outcome, group: GroupId, hazards: &[HazardId]) -> Vec<Column> {
    let model = &outcome.model;
    let of = |heading: &str, text: &dyn Fn(HazardId) -> (String, Option<Tone>)| Column {
        heading: heading.to_string(),
        cells: hazards.iter().map(|id| text(*id)).collect(),
    };
    let mut columns = vec![
        of("hazard", &|id| (model.hazards[id].name.tag.clone(), Some(Tone::Strong))),
        of("required", &|id| (table::required(model, id), None)),
    ];
    for mode in &model.groups[group].modes {
        columns.push(of(&model.modes[*mode].name.tag, &|id| entry(outcome, id, *mode)));
    }
    columns
}

fn entry(outcome: &Outcome, hazard: HazardId, mode: ModeId) -> (String, Option<Tone>) {
    let found = outcome.table.get(&(hazard, mode)).unwrap_or(&Cell::NotConsidered);
    let tone = match found {
        Cell::Examined { meets: true, .. } => Tone::Good,
        Cell::Examined { meets: false, .. } => Tone::Bad,
        Cell::Undecided | Cell::Impossible | Cell::NotConsidered => Tone::Doubt,
        Cell::Excluded(_) => Tone::Quiet,
    };
    (cell(found), Some(tone))
}

/// Splits a table that is too wide: every block has the first two columns and as many modes as fit, at least one.
fn blocks(columns: &[Column]) -> Vec<Vec<&Column>> {
    let (lead, modes) = columns.split_at(columns.len().min(2));
    let lead_width: usize = lead.iter().map(|column| column.width() + GAP).sum();
    let mut blocks: Vec<Vec<&Column>> = Vec::new();
    let mut used = WIDTH + 1;
    for mode in modes {
        if used + mode.width() > WIDTH || blocks.is_empty() {
            blocks.push(lead.iter().collect());
            used = lead_width;
        }
        used += mode.width() + GAP;
        if let Some(block) = blocks.last_mut() {
            block.push(mode);
        }
    }
    blocks
}

fn draw(block: &[&Column], paint: Paint) -> String {
    let line = |text: &dyn Fn(&Column) -> (String, Option<Tone>)| {
        let mut line = String::new();
        let mut owed = 0;
        for column in block {
            let (text, tone) = text(column);
            line.push_str(&" ".repeat(owed));
            owed = column.width() + GAP - text.width();
            line.push_str(&tone.map_or(text.clone(), |tone| paint.tone(tone, &text)));
        }
        line + "\n"
    };
    let mut all = line(&|column| (column.heading.clone(), None));
    all.push_str(&line(&|column| ("-".repeat(column.width()), None)));
    let rows = block.first().map_or(0, |column| column.cells.len());
    for row in 0..rows {
        all.push_str(&line(&|column| column.cells.get(row).cloned().unwrap_or_default()));
    }
    all
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::indexing_slicing)]
    use super::*;

    fn column(heading: &str, cells: &[&str]) -> Column {
        Column { heading: heading.into(), cells: cells.iter().map(|cell| (cell.to_string(), None)).collect() }
    }

    #[test]
    fn columns_stand_under_each_other() {
        let table = vec![
            column("hazard", &["H-1", "H-ÜBER"]),
            column("required", &["2/1", "1/0"]),
            column("run", &["1/0 !", "2/≥2"]),
        ];
        let drawn = draw(&blocks(&table)[0], Paint::default());
        assert_eq!(
            drawn,
            "hazard  required  run\n------  --------  -----\nH-1     2/1       1/0 !\nH-ÜBER  1/0       2/≥2\n"
        );
    }

    #[test]
    fn wide_tables_are_split_and_every_block_names_its_hazards() {
        let mut table = vec![column("hazard", &["H-GAS"]), column("required", &["2/1"])];
        table.extend((0..20).map(|n| column(&format!("mode-number-{n}"), &["2/1"])));
        let blocks = blocks(&table);
        assert!(blocks.len() > 3);
        assert_eq!(blocks.iter().map(|block| block.len() - 2).sum::<usize>(), 20);
        for block in &blocks {
            let drawn = draw(block, Paint::default());
            assert!(drawn.lines().all(|line| line.width() <= WIDTH), "{drawn}");
            assert!(drawn.lines().nth(2).unwrap().starts_with("H-GAS"), "{drawn}");
        }
    }

    #[test]
    fn a_mode_wider_than_the_page_still_gets_its_block() {
        let name = "m".repeat(100);
        let table = vec![column("hazard", &["H"]), column("required", &["1/0"]), column(&name, &["1/0"])];
        assert_eq!(blocks(&table).len(), 1);
    }
}
