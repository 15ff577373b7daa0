//! Title, what was examined, and with what result.

use super::inline::Inline;
use super::page::Page;
use crate::outcome::Outcome;
use crate::report::content::{head, title};

/// The head.
pub(super) fn head(page: &mut Page, outcome: &Outcome) {
    page.heading(1, Inline::new().text(title::REPORT).text(": ").text(&outcome.model.system.title));
    let facts = head::facts(outcome);
    let mut rows = facts.iter().map(|(label, text)| {
        let value = match *label {
            head::STATUS => Inline::new().strong(text),
            "SHA-256" | "File" => Inline::new().code(text),
            _ => Inline::new().text(text),
        };
        vec![Inline::new().strong(label), value]
    });
    // The first fact is the design itself, and heads the table.
    if let Some(design) = rows.next() {
        page.table(&design, &rows.collect::<Vec<_>>());
    }
    page.paragraph(Inline::new().text(head::VERDICTS));
}
