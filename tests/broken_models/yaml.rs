//! The traps of YAML.

use tripproof::source::Span;
use tripproof::syntax::node::NodeKind;

use crate::mutant::{Mutant, inserted, replaced};
use crate::places::{Kind, Place, Shipped};
use crate::shape::in_block_scalar;

fn leaves(m: &Shipped) -> Vec<&Place> {
    m.leaves(|_| true).collect()
}

/// Starts of lines with their indentation.
fn lines(m: &Shipped) -> Vec<(usize, usize)> {
    let mut at = 0;
    let mut out = Vec::new();
    for line in m.text().split_inclusive('\n') {
        if !line.trim().is_empty() && !line.trim_start().starts_with('#') {
            out.push((at, line.len() - line.trim_start().len()));
        }
        at += line.len();
    }
    out
}

fn line_of(text: &str, at: usize) -> Span {
    let start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let end = text[at..].find('\n').map_or(text.len(), |i| at + i);
    Span::new(start, end)
}

pub fn tab_indentation(m: &Shipped) -> Vec<Mutant> {
    let indented = lines(m).into_iter().filter(|(_, indent)| *indent > 0);
    indented
        .map(|(at, indent)| replaced(m.text(), Span::new(at, at + indent), "\t", format!("byte {at}")))
        .collect()
}

pub fn wrong_indentation(m: &Shipped) -> Vec<Mutant> {
    // The only line of its block may be indented by any number of spaces.
    lines(m).into_iter().map(|(at, _)| inserted(m.text(), at, " ", format!("byte {at}")).survive()).collect()
}

pub fn no_space_after_colon(m: &Shipped) -> Vec<Mutant> {
    let keyed = m.places.iter().filter(|p| p.keyed && m.text()[p.key.end..].starts_with(": "));
    keyed
        .map(|p| {
            let mutant = replaced(m.text(), Span::new(p.key.end + 1, p.key.end + 2), "", &p.path);
            // The only line of a block is then one value, and marked whole.
            mutant.or_at(Span::new(p.key.start, p.key.end + 2)).or_at(p.key.to(p.node.span))
        })
        .collect()
}

pub fn unclosed_quote(m: &Shipped) -> Vec<Mutant> {
    let plain = leaves(m).into_iter().filter(|p| !m.text()[p.node.span.start..].starts_with('"'));
    plain
        .flat_map(|p| {
            // In a block scalar a quote is text like any other.
            let text = in_block_scalar(m, p);
            ["\"", "'"].map(|q| inserted(m.text(), p.node.span.start, q, &p.path).may_stand(text))
        })
        .collect()
}

fn brackets(m: &Shipped) -> Vec<&Place> {
    let flow = |p: &&Place| m.text()[p.node.span.start..].starts_with(['[', '{']);
    m.places.iter().filter(|p| !matches!(p.node.kind, NodeKind::Scalar { .. })).filter(flow).collect()
}

/// Start of the outermost bracket on the line: an inner one that is not closed is closed by an outer one.
fn outer(m: &Shipped, p: &Place) -> Vec<Span> {
    let line = line_of(m.text(), p.node.span.start);
    let open = m.text()[line.start..p.node.span.start].match_indices(['[', '{']);
    open.map(|(i, _)| Span::new(line.start + i, line.start + i + 1)).collect()
}

pub fn bracket_not_closed(m: &Shipped) -> Vec<Mutant> {
    brackets(m)
        .into_iter()
        .map(|p| {
            let end = p.node.span.end;
            let mut mutant = replaced(m.text(), Span::new(end - 1, end), "", &p.path);
            mutant.near.push(Span::new(p.node.span.start, p.node.span.start + 1));
            mutant.near.extend(outer(m, p));
            // Closed by another bracket of the line.
            mutant.near.push(Span::new(end - 1, line_of(&mutant.text, end - 1).end));
            mutant
        })
        .collect()
}

pub fn bracket_not_opened(m: &Shipped) -> Vec<Mutant> {
    brackets(m)
        .into_iter()
        .map(|p| {
            let at = p.node.span.start;
            let mut mutant = replaced(m.text(), Span::new(at, at + 1), "", &p.path);
            mutant.near.push(Span::new(p.key.start, line_of(&mutant.text, p.key.start).end));
            mutant
        })
        .collect()
}

pub fn comma_doubled(m: &Shipped) -> Vec<Mutant> {
    let flow = m.places.iter().filter(|p| p.flow && p.next.is_some());
    flow.map(|p| {
        let end = p.key.to(p.node.span).end;
        inserted(m.text(), end, ",", &p.path).or_at(Span::new(end, end + 2))
    })
    .collect()
}

pub fn comma_removed(m: &Shipped) -> Vec<Mutant> {
    let flow = m.places.iter().filter(|p| p.flow && p.next.is_some());
    flow.map(|p| {
        let end = p.key.to(p.node.span).end;
        let mutant = replaced(m.text(), Span::new(end, end + 1), "", &p.path);
        let line = line_of(&mutant.text, end);
        mutant.may_stand(p.kind == Kind::Words && !p.keyed).or_at(Span::new(p.key.start, line.end))
    })
    .collect()
}

pub fn second_document(m: &Shipped) -> Vec<Mutant> {
    let sections = lines(m).into_iter().filter(|(_, indent)| *indent == 0).skip(1);
    sections.map(|(at, _)| inserted(m.text(), at, "---\n", format!("byte {at}"))).collect()
}

pub fn merge_key(m: &Shipped) -> Vec<Mutant> {
    let mut out = Vec::new();
    for p in m.places.iter().filter(|p| p.keyed && p.before.is_none()) {
        let at = p.key.start;
        let indent = at - line_of(m.text(), at).start;
        let end = if p.flow { ", ".into() } else { format!("\n{}", " ".repeat(indent)) };
        out.push(inserted(m.text(), at, &format!("<<: {{ x: 1 }}{end}"), &p.path));
    }
    out
}

fn before_leaf(m: &Shipped, what: &str) -> Vec<Mutant> {
    leaves(m).into_iter().map(|p| inserted(m.text(), p.node.span.start, what, &p.path)).collect()
}

pub fn explicit_tag(m: &Shipped) -> Vec<Mutant> {
    before_leaf(m, "!!str ")
}

pub fn unused_anchor(m: &Shipped) -> Vec<Mutant> {
    before_leaf(m, "&base ")
}

pub fn undefined_alias(m: &Shipped) -> Vec<Mutant> {
    leaves(m).into_iter().map(|p| replaced(m.text(), p.node.span, "*base", &p.path)).collect()
}

pub fn alias_inside_itself(m: &Shipped) -> Vec<Mutant> {
    leaves(m).into_iter().map(|p| replaced(m.text(), p.node.span, "&a [x, *a, *a]", &p.path)).collect()
}

pub fn anchor_bomb_piece(m: &Shipped) -> Vec<Mutant> {
    let bomb = "[&a [x, x, x], &b [*a, *a, *a], *b, *b]";
    leaves(m).into_iter().map(|p| replaced(m.text(), p.node.span, bomb, &p.path)).collect()
}

pub fn byte_order_mark_inside(m: &Shipped) -> Vec<Mutant> {
    before_leaf(m, "\u{FEFF}")
}

pub fn nul_character(m: &Shipped) -> Vec<Mutant> {
    before_leaf(m, "\0")
}

pub fn cut_short(m: &Shipped) -> Vec<Mutant> {
    let ends = (0..m.text().len()).step_by(7).filter(|at| m.text().is_char_boundary(*at));
    ends.map(|at| {
        let rest = Span::new(at, m.text().len());
        replaced(m.text(), rest, "", format!("cut at byte {at}")).survive()
    })
    .collect()
}
