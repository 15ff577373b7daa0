//! What a key of a mapping may be: one plain text, written out, once, after no `?`.

use std::collections::BTreeMap;

use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::gather::Gather;

use super::{Id, Tree, What};

/// A value that commas cut into pieces.
struct Cut {
    /// The piece that was read as the value.
    value: Span,
    /// The first comma.
    comma: Span,
    /// The piece behind it.
    rest: Span,
    /// The last piece.
    last: Span,
}

impl<'t> Tree<'t> {
    /// The words between two places that hold no content: indicators, anchors and tags, comments left out.
    pub(super) fn tokens(&self, from: usize, to: usize) -> impl Iterator<Item = (usize, &'t str)> + use<'t> {
        let mut at = from;
        let gap = self.slice(Span::new(from, to));
        let lines = gap.split_inclusive('\n').map(move |line| {
            let start = at;
            at += line.len();
            (start, line.split('#').next().unwrap_or(""))
        });
        lines.flat_map(|(start, line)| {
            let mut rest = 0;
            line.split([' ', '\t', '\r', '\n']).filter_map(move |word| {
                let here = start + rest;
                rest += word.len() + 1;
                (!word.is_empty()).then_some((here, word))
            })
        })
    }

    /// Refuses `? key` when the node at `start` begins a key.
    pub(super) fn explicit_key(&self, start: usize, gather: &mut Gather) {
        if !self.open.last().is_some_and(|f| !f.sequence && f.children.len().is_multiple_of(2)) {
            return;
        }
        if let Some((at, _)) = self.tokens(self.last_end, start).find(|(_, word)| *word == "?") {
            gather.push(
                Problem::new(
                    "complex-key",
                    Span::new(at, at + 1),
                    "`?` before a key is not used here",
                    "leave it out",
                )
                .help("write `key: value`"),
            );
        }
    }

    /// Refuses an anchor on a key; `item` has just been added and is the last node.
    pub(super) fn anchored_key(&self, item: Id, anchor: Span, gather: &mut Gather) {
        let around = self.open.iter().rev().find(|frame| frame.id != item);
        let key = around
            .is_some_and(|f| !f.sequence && f.children.last() == Some(&item) && f.children.len() % 2 == 1);
        if key {
            gather.push(
                Problem::new("anchored-key", anchor, "an anchor stands before a key", "marks only the key")
                    .help("to repeat the value, write the anchor after the colon"),
            );
        }
    }

    /// Refuses a comma inside `{ }` that cut a value in two: what follows it is then a key without a colon.
    ///
    /// Returns the keys that are such rests of a value; nothing else is to be said about them.
    fn cut_values(&self, pairs: &[(Id, Id)], gather: &mut Gather) -> Vec<Id> {
        let written = |what: &What| matches!(what, What::Text(text, false) if !text.is_empty());
        let (mut rests, mut cuts): (Vec<Id>, Vec<Cut>) = (Vec::new(), Vec::new());
        // The last value that was written without quotes, and whether its rests are being gathered.
        let (mut value, mut going_on): (Option<Span>, bool) = (None, false);
        for (key, item) in pairs {
            let (Some(word), Some(next)) = (self.items.get(*key), self.items.get(*item)) else { continue };
            // `response:5 ms` lacks a space, and is no rest of a text.
            let glued = matches!(&word.what, What::Text(text, _) if glued(text));
            let rest = written(&word.what) && !glued && !self.colon_after(word.span.end);
            let comma = value.filter(|_| rest).and_then(|value| self.comma(value.end, word.span.start));
            match (comma, value, cuts.last_mut()) {
                (Some(_), _, Some(cut)) if going_on => cut.last = word.span,
                (Some(comma), Some(value), _) => {
                    cuts.push(Cut { value, comma, rest: word.span, last: word.span });
                    going_on = true;
                }
                _ => {
                    value = written(&next.what).then_some(next.span);
                    going_on = false;
                    continue;
                }
            }
            rests.push(*key);
        }
        for cut in &cuts {
            gather.push(self.cut_value(cut));
        }
        rests
    }

    /// The first comma between two places.
    fn comma(&self, from: usize, to: usize) -> Option<Span> {
        let at = from + self.slice(Span::new(from, to)).find(',')?;
        Some(Span::new(at, at + 1))
    }

    fn colon_after(&self, end: usize) -> bool {
        let rest = self.text.get(end.saturating_sub(self.base)..).unwrap_or("");
        rest.trim_start().starts_with(':')
    }

    fn cut_value(&self, cut: &Cut) -> Problem {
        let whole = self.slice(Span::new(cut.value.start, cut.last.end));
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let decimal = cut.rest.start == cut.comma.end
            && digit(self.slice(cut.value).chars().next_back())
            && digit(self.slice(cut.rest).chars().next());
        let help = if decimal {
            let point = cut.comma.start.saturating_sub(cut.value.start);
            let (before, after) = whole.split_at_checked(point).unwrap_or((whole, ""));
            format!("write a decimal point: `{before}.{}`", after.trim_start_matches(','))
        } else {
            let shown = whole.split_whitespace().collect::<Vec<_>>().join(" ");
            format!("put the text in quotation marks: `\"{}\"`", shown.replace('"', "\\\""))
        };
        Problem::new(
            "comma-in-value",
            cut.comma,
            "inside `{ }` a comma ends the value",
            "the value ends here",
        )
        .also(cut.rest, "read as a key, and no colon follows it")
        .help(help)
    }

    /// Refuses keys that are no text, repeated by alias, missing, merge keys, or given twice.
    pub(super) fn check_keys(&self, pairs: &[(Id, Id)], gather: &mut Gather) {
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        let rests = self.cut_values(pairs, gather);
        let keys = pairs.iter().map(|(key, _)| key).filter(|key| !rests.contains(key));
        for item in keys.filter_map(|key| self.items.get(*key)) {
            let span = item.span;
            match &item.what {
                What::Sequence(_) | What::Mapping(_) | What::Open => gather.push(
                    Problem::new("complex-key", span, "a list or block stands where a key belongs", "not a key")
                        .help("a key is one text; put it in quotes if the brackets belong to it"),
                ),
                What::Alias(_) => gather.push(
                    Problem::new("alias-key", span, "a key is repeated by an alias", "write the key out")
                        .help("aliases may stand for values, not for keys"),
                ),
                What::Text(text, false) if text.is_empty() => gather.push(
                    Problem::new("no-key", span, "a key is missing before the colon", "no key")
                        .help("write `key: value`; if the colon belongs to a text, put the text in quotes"),
                ),
                What::Text(text, false) if text == "<<" => gather.push(
                    Problem::new("merge-key", span, "`<<` takes over keys from another block", "merge key").help(
                        "a reviewer cannot see which value applies: write the keys out, or give the whole block \
                         an anchor",
                    ),
                ),
                What::Text(text, _) => match seen.get(text.as_ref()) {
                    Some(first) => gather.push(duplicate(text, span, *first)),
                    None => {
                        seen.insert(text, span);
                    }
                },
            }
        }
    }
}

/// Whether this is a field, a colon and a value without a space between.
fn glued(text: &str) -> bool {
    let field = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c == '_');
    text.split_once(':').is_some_and(|(word, _)| field(word))
}

fn duplicate(text: &str, span: Span, first: Span) -> Problem {
    Problem::new(
        "duplicate-key",
        span,
        format!("`{text}` stands twice in the same block"),
        "given again here",
    )
    .also(first, "first given here")
    .help("delete one of them, or correct its name")
}
