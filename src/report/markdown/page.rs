//! A document block by block, with one empty line between two blocks and every item on one line.

use super::inline::{Inline, Place};

/// The blocks so far.
#[derive(Debug, Default)]
pub(super) struct Page(Vec<String>);

impl Page {
    /// A heading, from level 1.
    pub fn heading(&mut self, level: usize, text: Inline) {
        self.0.push(format!("{} {}", "#".repeat(level), text.written(Place::Heading)));
    }

    /// A heading of the program's own words.
    pub fn title(&mut self, level: usize, text: &str) {
        self.heading(level, Inline::new().text(text));
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: Inline) {
        self.0.push(text.written(Place::Start));
    }

    /// A list with bullets, or nothing.
    pub fn list(&mut self, items: impl IntoIterator<Item = Inline>) {
        let lines = items.into_iter().map(|item| format!("- {}", item.written(Place::Start)));
        self.block(lines.collect());
    }

    /// A numbered list, or nothing.
    pub fn steps(&mut self, items: impl IntoIterator<Item = Inline>) {
        let lines = items
            .into_iter()
            .enumerate()
            .map(|(n, item)| format!("{}. {}", n + 1, item.written(Place::Start)));
        self.block(lines.collect());
    }

    /// A table; every row is as long as the heading.
    pub fn table(&mut self, heading: &[Inline], rows: &[Vec<Inline>]) {
        let line = |cells: &[Inline]| {
            let cells: Vec<String> = cells.iter().map(|cell| cell.written(Place::Cell)).collect();
            format!("| {} |", cells.join(" | "))
        };
        let mut lines = vec![line(heading), format!("|{}", "---|".repeat(heading.len()))];
        lines.extend(rows.iter().map(|row| line(row)));
        self.block(lines);
    }

    /// A rule across the page.
    pub fn rule(&mut self) {
        self.0.push("---".into());
    }

    fn block(&mut self, lines: Vec<String>) {
        if !lines.is_empty() {
            self.0.push(lines.join("\n"));
        }
    }

    /// The document, with a line feed at the end.
    pub fn finish(self) -> String {
        self.0.join("\n\n") + "\n"
    }
}

/// With a capital letter at the start.
pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
