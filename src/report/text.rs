//! The findings report for people: plain text, 80 columns, with or without colour.
//!
//! The order of its parts is fixed: what was examined and with what result, the hazard-by-mode table, findings,
//! what is undecided, what the proofs rest on, and what the report does not show.

mod basis;
mod findings;
mod head;
mod open;
mod table;
pub mod wrap;

use super::{Entry, terminal};
use wrap::{Paint, paragraph};

/// The reports of all models, one after the other.
///
/// With `errors`, what is wrong with models that could not be examined is drawn in full; without, it is named in a
/// line each, because it was drawn elsewhere.
pub fn render(entries: &[Entry], color: bool, errors: bool) -> String {
    let paint = Paint { color };
    let mut parts: Vec<String> = Vec::new();
    for entry in entries {
        match entry {
            Entry::Examined(outcome) => parts.push(
                [
                    head::head(outcome, paint),
                    table::tables(outcome, paint),
                    findings::open(outcome, paint),
                    findings::accepted(outcome, paint),
                    open::refuted_only(outcome, paint),
                    open::undecided(outcome, paint),
                    open::disagreements(outcome, paint),
                    open::not_applicable(outcome, paint),
                    basis::premises(outcome, paint),
                    basis::calculations(outcome, paint),
                    basis::times(outcome, paint),
                    basis::reasons(outcome, paint),
                    basis::not_examined(outcome, paint),
                    basis::limits(paint),
                ]
                .concat(),
            ),
            Entry::Refused { source, problems } if errors => {
                parts.push(terminal::draw(source, problems, color))
            }
            Entry::Failed { message, .. } if errors => parts.push(paragraph(&format!("error: {message}"), 0)),
            // Alone, it has been said in full already.
            Entry::Refused { .. } | Entry::Failed { .. } if entries.len() == 1 => {}
            Entry::Refused { source, problems } => {
                parts.push(paragraph(&terminal::verdict(source, problems.len()), 0));
            }
            Entry::Failed { file, .. } => parts.push(paragraph(&format!("{file}: nothing was examined."), 0)),
        }
    }
    let line = format!("\n{}\n\n", "=".repeat(wrap::WIDTH));
    parts.join(&line)
}

/// A section with its heading, or nothing if its body is empty.
fn section(title: &str, body: &str, paint: Paint) -> String {
    if body.is_empty() {
        return String::new();
    }
    format!("\n{}\n\n{body}", paint.tone(wrap::Tone::Strong, &title.to_uppercase()))
}

#[cfg(test)]
mod tests;
