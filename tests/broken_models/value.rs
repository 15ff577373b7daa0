//! Operators on single values: tags, quantities, words of closed lists, flags, counts, dates.

use tripproof::source::Span;

use crate::mutant::{Mutant, inserted, replaced};
use crate::places::{Kind, Place, Shipped};
use crate::shape::misspell;

fn text<'m>(m: &'m Shipped, p: &Place) -> &'m str {
    &m.text()[p.node.span.start..p.node.span.end]
}

fn each(
    m: &Shipped,
    want: impl Fn(&Kind) -> bool,
    words: &[&str],
    may_stand: impl Fn(&Place, &str) -> bool,
) -> Vec<Mutant> {
    let mut out = Vec::new();
    for p in m.leaves(want) {
        for word in words {
            out.push(replaced(m.text(), p.node.span, word, &p.path).may_stand(may_stand(p, word)));
        }
    }
    out
}

/// Leaves that have a number with a unit.
fn quantities(m: &Shipped) -> Vec<(&Place, usize)> {
    let kinds = |k: &Kind| matches!(k, Kind::Value | Kind::Range | Kind::Normal);
    let leaves = m.leaves(kinds).filter(|p| text(m, p).starts_with(|c: char| c == '-' || c.is_ascii_digit()));
    leaves.filter_map(|p| Some((p, text(m, p).rfind(' ')?))).collect()
}

fn unit_span(p: &Place, blank: usize) -> Span {
    Span::new(p.node.span.start + blank + 1, p.node.span.end)
}

pub fn missing_unit(m: &Shipped) -> Vec<Mutant> {
    let all = quantities(m).into_iter();
    all.map(|(p, blank)| {
        let number = &text(m, p)[..blank];
        replaced(m.text(), p.node.span, number, &p.path)
    })
    .collect()
}

pub fn wrong_kind_of_unit(m: &Shipped) -> Vec<Mutant> {
    let all = quantities(m).into_iter();
    all.map(|(p, blank)| {
        let mutant = replaced(m.text(), unit_span(p, blank), "kg", &p.path);
        // The range says what a quantity is measured in: the other values of the quantity disagree with it.
        let own = p.path.starts_with("quantities.") && p.path.ends_with(".range");
        if own { mutant.or_at(p.around) } else { mutant }
    })
    .collect()
}

pub fn misspelt_unit(m: &Shipped) -> Vec<Mutant> {
    let all = quantities(m).into_iter();
    all.map(|(p, blank)| inserted(m.text(), unit_span(p, blank).end, "q", &p.path)).collect()
}

pub fn unit_without_space(m: &Shipped) -> Vec<Mutant> {
    let all = quantities(m).into_iter();
    all.map(|(p, blank)| {
        let unit = unit_span(p, blank);
        replaced(m.text(), Span::new(unit.start - 1, unit.start), "", &p.path)
    })
    .collect()
}

pub fn decimal_comma(m: &Shipped) -> Vec<Mutant> {
    let all = quantities(m).into_iter().filter(|(p, _)| !p.flow);
    let quoted = all.map(|(p, blank)| {
        let value = format!("{},5{}", &text(m, p)[..blank], &text(m, p)[blank..]);
        replaced(m.text(), p.node.span, &value, &p.path)
    });
    let flow = quantities(m).into_iter().filter(|(p, _)| p.flow);
    quoted
        .chain(flow.map(|(p, blank)| {
            let value = format!("\"{},5{}\"", &text(m, p)[..blank], &text(m, p)[blank..]);
            replaced(m.text(), p.node.span, &value, &p.path)
        }))
        .collect()
}

pub fn negative_value(m: &Shipped) -> Vec<Mutant> {
    let kinds = |k: &Kind| *k == Kind::Value;
    let leaves = m.leaves(kinds).filter(|p| text(m, p).starts_with(|c: char| c.is_ascii_digit()));
    leaves.map(|p| inserted(m.text(), p.node.span.start, "-", &p.path).or_at(p.node.span)).collect()
}

pub fn ends_of_range_swapped(m: &Shipped) -> Vec<Mutant> {
    let kinds = |k: &Kind| matches!(k, Kind::Range | Kind::Normal);
    let mut out = Vec::new();
    for p in m.leaves(kinds) {
        let Some((low, rest)) = text(m, p).split_once(" .. ") else { continue };
        let (high, unit) = rest.split_once(' ').unwrap();
        out.push(replaced(m.text(), p.node.span, &format!("{high} .. {low} {unit}"), &p.path));
    }
    out
}

pub fn range_with_a_dash(m: &Shipped) -> Vec<Mutant> {
    let kinds = |k: &Kind| matches!(k, Kind::Range | Kind::Normal);
    let leaves = m.leaves(kinds).filter(|p| text(m, p).contains(" .. "));
    leaves.map(|p| replaced(m.text(), p.node.span, &text(m, p).replace("..", "-"), &p.path)).collect()
}

/// Tags that name something; the tag of a release declares itself.
fn naming(m: &Shipped) -> impl Iterator<Item = &Place> {
    m.leaves(|k| *k == Kind::Tag).filter(|p| !p.path.ends_with(".tag") && !p.path.contains(".positions."))
}

pub fn unknown_tag(m: &Shipped) -> Vec<Mutant> {
    naming(m).map(|p| replaced(m.text(), p.node.span, "NO-SUCH-1", &p.path)).collect()
}

pub fn misspelt_tag(m: &Shipped) -> Vec<Mutant> {
    naming(m)
        .map(|p| {
            let wrong = misspell(text(m, p));
            replaced(m.text(), p.node.span, &wrong, &p.path).may_stand(m.names.contains(&wrong))
        })
        .collect()
}

pub fn wrong_kind_of_tag(m: &Shipped) -> Vec<Mutant> {
    let first = |section: &str| {
        let place = m.places.iter().find(|p| p.free_key && p.path.starts_with(section)).unwrap();
        m.text()[place.key.start..place.key.end].to_string()
    };
    let (hazard, solver) = (first("hazards."), first("logic_solvers."));
    let hazards: Vec<&str> = m
        .places
        .iter()
        .filter(|p| p.free_key && p.path.starts_with("hazards."))
        .map(|p| &m.text()[p.key.start..p.key.end])
        .collect();
    naming(m)
        .map(|p| {
            let with = if hazards.contains(&text(m, p)) { &solver } else { &hazard };
            replaced(m.text(), p.node.span, with, &p.path)
        })
        .collect()
}

pub fn tag_with_a_space(m: &Shipped) -> Vec<Mutant> {
    naming(m).map(|p| inserted(m.text(), p.node.span.start + 1, " ", &p.path).or_at(p.node.span)).collect()
}

pub fn bad_word(m: &Shipped) -> Vec<Mutant> {
    let mut out = Vec::new();
    for p in m.leaves(|k| matches!(k, Kind::Word(_))) {
        let word = text(m, p);
        for wrong in [misspell(word), "sometimes".into(), word.to_uppercase()] {
            out.push(replaced(m.text(), p.node.span, &wrong, &p.path));
        }
    }
    out
}

pub fn bad_flag(m: &Shipped) -> Vec<Mutant> {
    each(m, |k| *k == Kind::Flag, &["yes", "on", "no", "1", "TRUE", "True", "maybe", "\"yes\""], |_, _| false)
}

pub fn bad_count(m: &Shipped) -> Vec<Mutant> {
    let words = ["-1", "1.5", "two", "99999999999999999999999", "0x2", "1 oo 2", "1e3", "+-1"];
    each(m, |k| *k == Kind::Count, &words, |_, _| false)
}

pub fn bad_date(m: &Shipped) -> Vec<Mutant> {
    let words = ["2027-02-30", "31.03.2027", "2027-3-31", "next year", "2027-13-01", "2027-03"];
    each(m, |k| *k == Kind::Date, &words, |_, _| false)
}

pub fn bad_number(m: &Shipped) -> Vec<Mutant> {
    each(m, |k| *k == Kind::Number, &["half", "50 %", "1.5", "-0.5", "\"0,5\""], |_, _| false)
}

pub fn number_too_long(m: &Shipped) -> Vec<Mutant> {
    let long = "9".repeat(400);
    let all = quantities(m).into_iter();
    all.map(|(p, blank)| {
        let mut mutant = replaced(m.text(), p.node.span, &format!("{long}{}", &text(m, p)[blank..]), &p.path);
        mutant.what = format!("{}: 400 digits", p.path);
        mutant
    })
    .collect()
}
