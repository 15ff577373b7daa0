//! The YAML reader: the text of one file to a tree of [`Node`]s with exact places, or all its problems.
//!
//! Refused, each with a message of its own: whatever lets a file mean something else than a reviewer sees in it
//! (duplicate and merge keys, tags, second documents, directives, keys that are blocks or repeated by alias) and
//! whatever tries to exhaust the machine ([`Limits`]). Anchors that save typing are allowed. No value gets a type:
//! `no`, `017`, `~` and `12:30` stay the text they are. What keys and values mean is not known here.

mod bytes;
mod events;
mod slips;
mod tree;

use std::collections::BTreeSet;

use crate::problem::Problem;
use crate::source::{Source, Span};
use crate::syntax::agree;
use crate::syntax::gather::Gather;
use crate::syntax::node::{Node, NodeKind};

pub use bytes::{Refused, characters, from_bytes};

/// What a file may cost. The defaults are far above any plant and far below what hurts.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Bytes of text; default 16 MiB.
    pub bytes: usize,
    /// Nesting of lists and blocks, aliases followed; default 64. Reading, decoding and dropping a tree recurse
    /// this deep, and the second reader stops at 128, so set it no higher than 100.
    pub depth: usize,
    /// Keys, values, lists and blocks together, every alias counted as what it stands for; default 2,000,000.
    pub nodes: usize,
    /// Bytes of one key or value; default 64 KiB.
    pub scalar_bytes: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { bytes: 16 << 20, depth: 64, nodes: 2_000_000, scalar_bytes: 64 << 10 }
    }
}

/// How many places that are no YAML one run tries to report.
const MOST_SLIPS: usize = 50;

/// Reads the one document of `source`.
///
/// # Errors
/// All problems found, sorted by place. After a place that is no YAML the search goes on at the next line that
/// starts a top-level section. Only when nothing was found does a second, independent reader read the text, and
/// any difference between the two is a problem.
pub fn read(source: &Source, limits: &Limits) -> Result<Node, Vec<Problem>> {
    let text = source.text();
    if let Some(problem) = bytes::too_large(text.len(), limits) {
        return Err(vec![problem]);
    }
    let hidden = characters(text);
    if !hidden.is_empty() {
        return Err(hidden);
    }
    let mut gather = Gather::default();
    let tree = tree::Tree::build(text, 0, limits, &mut gather);
    if let Some((offset, slip)) = &tree.slip {
        gather.push(slips::word(source, 0, slip, *offset, &tree));
        go_on(source, *offset, slip, tree.innermost_bracket(), limits, &mut gather);
    } else {
        tree.finish(&mut gather);
    }
    if !gather.is_empty() {
        return Err(gather.finish());
    }
    let Some(node) = tree.node() else {
        return Err(vec![
            Problem::new("empty-file", Span::default(), "the file says nothing", "empty")
                .help("a model starts with a section such as `system:`"),
        ]);
    };
    drop(tree);
    let mut gather = Gather::default();
    escaped(&node, &mut gather);
    if !gather.is_empty() {
        return Err(gather.finish());
    }
    let problems = agree::check(source, &node);
    if problems.is_empty() { Ok(node) } else { Err(problems) }
}

/// What could hide something must not come in as an escape either (`"\x07"`): it would be printed in reports.
fn escaped(node: &Node, gather: &mut Gather) {
    match &node.kind {
        NodeKind::Scalar { text, .. } => {
            let first = characters(text).into_iter().next();
            if let Some(hidden) = first.and_then(|at| text.get(at.span.start..)?.chars().next()) {
                let number = u32::from(hidden);
                let message =
                    format!("an escape stands for a character that cannot be seen (U+{number:04X})");
                gather.push(
                    Problem::new("hidden-character", node.span, message, "has such an escape")
                        .help("leave the escape out: only what can be seen is printed"),
                );
            }
        }
        NodeKind::Sequence(items) => items.iter().for_each(|item| escaped(item, gather)),
        NodeKind::Mapping(entries) => entries.iter().for_each(|(key, value)| {
            escaped(key, gather);
            escaped(value, gather);
        }),
    }
}

/// Looks for further problems after the first place that is no YAML, section by section.
fn go_on(
    source: &Source,
    offset: usize,
    slip: &events::Slip,
    bracket: Option<usize>,
    limits: &Limits,
    gather: &mut Gather,
) {
    let (mut offset, mut slip, mut bracket) = (offset, slip.clone(), bracket);
    let anchors = anchor_names(source.text());
    for _ in 1..MOST_SLIPS {
        if slip == events::Slip::Deep {
            return;
        }
        let Some(base) = next_section(source, offset, bracket) else { return };
        let Some(rest) = source.text().get(base..) else { return };
        let mut found = Gather::default();
        let tree = tree::Tree::build(rest, base, limits, &mut found);
        for problem in found.finish() {
            // The anchor may stand in the part before.
            let name = source.slice(problem.span).trim_start_matches('*');
            if problem.code != "unknown-alias" || !anchors.contains(name) {
                gather.push(problem);
            }
        }
        let Some((at, next)) = &tree.slip else { return };
        gather.push(slips::word(source, base, next, *at, &tree));
        (offset, slip, bracket) = (base + at, next.clone(), tree.innermost_bracket());
    }
    let message = format!("the search ended after {MOST_SLIPS} places that are no YAML");
    let mark = Span::new(offset, offset);
    gather.push(
        Problem::new("more-problems", mark, message, "the last one")
            .help("correct these first; the next run lists what follows"),
    );
}

/// Whatever looks like the name of an anchor.
fn anchor_names(text: &str) -> BTreeSet<&str> {
    let word =
        |rest: &'_ str| rest.find(|c: char| c.is_whitespace() || ",[]{}".contains(c)).unwrap_or(rest.len());
    text.split('&').skip(1).filter_map(|rest| rest.get(..word(rest))).collect()
}

/// The start of the next line that begins a top-level section: of the line of `offset` itself if a bracket from an
/// earlier line swallowed it, otherwise of a later one.
fn next_section(source: &Source, offset: usize, bracket: Option<usize>) -> Option<usize> {
    let here = source.place(offset).line;
    let swallowed = bracket.is_some_and(|at| source.place(at).line < here);
    let mut line = if swallowed { here } else { here + 1 };
    while let Some(span) = source.line_span(line) {
        let text = source.slice(span);
        let starts_key = text.chars().next().is_some_and(|c| c.is_alphanumeric() || c == '"' || c == '\'');
        if starts_key && text.contains(':') {
            return Some(span.start);
        }
        line += 1;
    }
    None
}

#[cfg(test)]
mod tests;
