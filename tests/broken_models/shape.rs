//! Operators on keys, lists and blocks.

use tripproof::source::Span;
use tripproof::syntax::node::NodeKind;

use crate::mutant::{Mutant, inserted, replaced};
use crate::places::{Kind, Place, Shipped};

fn indent(text: &str, at: usize) -> String {
    let line = text[..at].rfind('\n').map_or(0, |i| i + 1);
    " ".repeat(at - line)
}

/// A key directly before another entry, in the style of the block.
fn entry_before(m: &Shipped, at: usize, flow: bool, entry: &str) -> String {
    if flow { format!("{entry}, ") } else { format!("{entry}\n{}", indent(m.text(), at)) }
}

pub fn unknown_key(m: &Shipped) -> Vec<Mutant> {
    let mut out = Vec::new();
    for (node, _, owner) in m.structs() {
        let NodeKind::Mapping(entries) = &node.kind else { continue };
        let flow = m.text()[node.span.start..].starts_with('{');
        let Some((key, _)) = entries.first() else { continue };
        let with = entry_before(m, key.span.start, flow, "colour: red");
        let mut mutant = inserted(m.text(), key.span.start, &with, format!("at {}", owner.start));
        mutant.near = vec![Span::new(key.span.start, key.span.start + 6)];
        out.push(mutant);
    }
    out
}

/// Drops the last letter but one.
pub fn misspell(word: &str) -> String {
    let mut chars: Vec<char> = word.chars().collect();
    match chars.len() {
        0 | 1 => chars.push('q'),
        n => {
            chars.remove(n - 2);
        }
    }
    chars.into_iter().collect()
}

pub fn misspelt_key(m: &Shipped) -> Vec<Mutant> {
    let keys = m.places.iter().filter(|p| p.keyed && !p.free_key);
    keys.map(|p| {
        let word = &m.text()[p.key.start..p.key.end];
        replaced(m.text(), p.key, &misspell(word), &p.path)
    })
    .collect()
}

/// A tag misspelt where it is declared: whatever names it is then wrong, if anything does.
pub fn misspelt_declaration(m: &Shipped) -> Vec<Mutant> {
    let keys = m.places.iter().filter(|p| p.keyed && p.free_key);
    keys.map(|p| {
        let word = &m.text()[p.key.start..p.key.end];
        let mut mutant = replaced(m.text(), p.key, &format!("{word}X"), &p.path).may_stand(true);
        let places: Vec<Span> =
            mutant.text.match_indices(word).map(|(i, w)| Span::new(i, i + w.len())).collect();
        mutant.near.extend(places);
        // A mode that is named differently is a new mode: hazards that do not mention it are incomplete.
        if p.path.starts_with("modes.") {
            mutant = mutant.survive();
        }
        mutant
    })
    .collect()
}

pub fn duplicate_key(m: &Shipped) -> Vec<Mutant> {
    let keys = m.places.iter().filter(|p| p.keyed);
    keys.map(|p| {
        let word = &m.text()[p.key.start..p.key.end];
        let with = entry_before(m, p.key.start, p.flow, &format!("{word}: x"));
        let at = p.key.start;
        let shift = at + with.len();
        let mut mutant = inserted(m.text(), at, &with, &p.path);
        mutant.near = vec![Span::new(at, at + word.len()), Span::new(shift, shift + word.len())];
        mutant
    })
    .collect()
}

/// The bytes to take away so that an entry or item is gone.
fn whole_entry(m: &Shipped, p: &Place) -> Span {
    let end = p.key.to(p.node.span).end;
    match (p.next, p.before) {
        (Some(next), _) => Span::new(p.key.start, next),
        (None, Some(before)) if p.flow => Span::new(before, end),
        (None, Some(_)) => {
            let line = m.text()[..p.key.start].rfind('\n').unwrap_or(0);
            Span::new(line, end)
        }
        _ => Span::new(p.key.start, end),
    }
}

fn removed(m: &Shipped, p: &Place) -> Mutant {
    let mut mutant = replaced(m.text(), whole_entry(m, p), "", &p.path);
    mutant.near.push(p.owner);
    mutant
}

pub fn missing_required_key(m: &Shipped) -> Vec<Mutant> {
    m.places.iter().filter(|p| p.required).map(|p| removed(m, p)).collect()
}

pub fn missing_other_key(m: &Shipped) -> Vec<Mutant> {
    m.places.iter().filter(|p| p.keyed && !p.required).map(|p| removed(m, p).survive()).collect()
}

/// The value is the text below `>` or `|`.
pub fn in_block_scalar(m: &Shipped, p: &Place) -> bool {
    let before = m.text()[..p.node.span.start].trim_end();
    [">", "|", ">-", "|-"].iter().any(|indicator| before.ends_with(indicator))
}

pub fn empty_value(m: &Shipped) -> Vec<Mutant> {
    let places = m.places.iter().filter(|p| p.keyed && !p.node.is_empty());
    places
        .map(|p| {
            // Together with the comma of flow style nothing is left between colon and comma.
            let mutant = replaced(m.text(), p.node.span, "", &p.path).or_at(p.key);
            // Of a block scalar the indicator stays, where the value is now missing.
            if in_block_scalar(m, p) { mutant.or_at(Span::new(p.key.end, p.node.span.start)) } else { mutant }
        })
        .collect()
}

pub fn list_for_value(m: &Shipped) -> Vec<Mutant> {
    let leaves = m.leaves(|_| true);
    leaves
        .map(|p| {
            let text = &m.text()[p.node.span.start..p.node.span.end];
            replaced(m.text(), p.node.span, &format!("[{text}]"), &p.path)
        })
        .collect()
}

pub fn block_for_value(m: &Shipped) -> Vec<Mutant> {
    let leaves = m.leaves(|_| true);
    leaves
        .map(|p| {
            // In a block scalar it is text like any other.
            replaced(m.text(), p.node.span, "{ value: 1 }", &p.path).may_stand(in_block_scalar(m, p))
        })
        .collect()
}

pub fn value_for_list(m: &Shipped) -> Vec<Mutant> {
    let lists = m.places.iter().filter(|p| matches!(p.kind, Kind::List(_)));
    lists.map(|p| replaced(m.text(), p.node.span, "GD-1", &p.path).or_at(p.key)).collect()
}

pub fn value_for_block(m: &Shipped) -> Vec<Mutant> {
    let blocks = m.places.iter().filter(|p| matches!(p.kind, Kind::Table | Kind::Struct { .. }));
    blocks
        .map(|p| {
            let text = &m.text()[p.node.span.start..];
            let with = if text.starts_with('{') { "yes".to_string() } else { "yes\n".to_string() };
            // A block stands on its own lines: the value goes directly behind the colon.
            let span =
                if text.starts_with('{') { p.node.span } else { Span::new(p.key.end + 1, p.node.span.end) };
            let with = if text.starts_with('{') { with } else { format!(" {}", with.trim_end()) };
            replaced(m.text(), span, &with, &p.path).or_at(p.key)
        })
        .collect()
}

pub fn list_for_block(m: &Shipped) -> Vec<Mutant> {
    let blocks = m.places.iter().filter(|p| matches!(p.kind, Kind::Table | Kind::Struct { .. }));
    blocks
        .filter(|p| m.text()[p.node.span.start..].starts_with('{'))
        .map(|p| replaced(m.text(), p.node.span, "[a, b]", &p.path).or_at(p.key))
        .collect()
}
