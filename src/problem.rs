//! An error in the input: what is wrong with a model file, where, and the way out.
//!
//! A *problem* is in the text, a *fault* is in the plant, a *finding* is in the design.
//! This file only carries problems; each place that finds one words it, and `report/terminal` draws it.

use crate::source::Span;

/// One error in a model file.
///
/// `message` is one sentence in the trade's words, without a final full stop, starting lower-case or with a
/// quoted word of the file. `label` is the few words under the marked text. `help` is the way out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// The exact text that is wrong. Problems sort by it.
    pub span: Span,
    /// Kebab-case class of the error, stable for tests and machine readers (`unknown-key`).
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// A few words to stand under the marked text.
    pub label: String,
    /// What to do about it; may name the nearest valid spelling.
    pub help: Option<String>,
    /// Other places that belong to it ("first used here").
    pub also: Vec<(Span, String)>,
}

impl Problem {
    /// A problem with neither help nor further places.
    pub fn new(code: &'static str, span: Span, message: impl Into<String>, label: impl Into<String>) -> Self {
        Problem { span, code, message: message.into(), label: label.into(), help: None, also: Vec::new() }
    }

    /// Adds the way out.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds another place that belongs to it.
    pub fn also(mut self, span: Span, label: impl Into<String>) -> Self {
        self.also.push((span, label.into()));
        self
    }
}

/// The nearest of `options` to `word`, if one is near enough that a typing slip explains the difference.
///
/// Compares without regard to case; of equally near ones the first in alphabetical order is taken.
pub fn nearest<'a>(word: &str, options: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = word.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for option in options {
        let distance = strsim::damerau_levenshtein(&lower, &option.to_lowercase());
        let limit = (option.chars().count().max(word.chars().count()) / 3).max(1);
        if distance <= limit && best.is_none_or(|b| (distance, option) < b) {
            best = Some((distance, option));
        }
    }
    best.map(|(_, option)| option)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_finds_slips_and_nothing_far() {
        assert_eq!(nearest("suply", ["supply", "route"]), Some("supply"));
        assert_eq!(nearest("Supply", ["supply", "route"]), Some("supply"));
        assert_eq!(nearest("cabinet", ["supply", "route"]), None);
        assert_eq!(nearest("GD-3", ["GD-2", "GD-1"]), Some("GD-1"));
    }
}
