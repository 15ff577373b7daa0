//! The findings report as a Markdown document (CommonMark with the tables of GFM), for code reviews and wikis.
//!
//! It says all that the text report says, and lists every claim with its verdict besides. It holds no HTML and no
//! links, and no word of a model can change its structure: `inline` escapes them, `page` puts them into blocks.

mod basis;
mod claims;
mod findings;
mod head;
mod inline;
mod page;
mod refused;
mod table;

use super::Entry;
use crate::outcome::Outcome;
use page::Page;

/// The reports of all models, one after the other, with a rule between them. The same outcomes give the same bytes.
///
/// Models that could not be examined are there too, with everything that is wrong with them.
pub fn render(entries: &[Entry]) -> String {
    let mut page = Page::default();
    for (number, entry) in entries.iter().enumerate() {
        if number > 0 {
            page.rule();
        }
        match entry {
            Entry::Examined(outcome) => examined(&mut page, outcome),
            Entry::Refused { source, problems } => refused::problems(&mut page, source, problems),
            Entry::Failed { file, code, message } => refused::failure(&mut page, file, code, message),
        }
    }
    page.finish()
}

fn examined(page: &mut Page, outcome: &Outcome) {
    head::head(page, outcome);
    claims::disagreements(page, outcome);
    table::tables(page, outcome);
    findings::open(page, outcome);
    findings::accepted(page, outcome);
    claims::claims(page, outcome);
    basis::premises(page, outcome);
    basis::calculations(page, outcome);
    basis::times(page, outcome);
    basis::reasons(page, outcome);
    basis::not_examined(page, outcome);
    basis::limits(page);
}

#[cfg(test)]
mod tests;
