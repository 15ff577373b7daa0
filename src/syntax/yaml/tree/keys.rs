//! What a key of a mapping may be: one plain text, written out, once, after no `?`.

use std::collections::BTreeMap;

use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::gather::Gather;

use super::{Id, Tree, What};

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

    /// Refuses keys that are no text, repeated by alias, missing, merge keys, or given twice.
    pub(super) fn check_keys(&self, pairs: &[(Id, Id)], gather: &mut Gather) {
        let mut seen: BTreeMap<&str, Span> = BTreeMap::new();
        for item in pairs.iter().filter_map(|(key, _)| self.items.get(*key)) {
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
