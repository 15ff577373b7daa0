//! Operators on every token of every expression.

use tripproof::source::Span;

use crate::mutant::{Mutant, inserted, replaced};
use crate::places::{Kind, Place, Shipped};
use crate::shape::misspell;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Token {
    Word,
    Number,
    Unit,
    Sign,
    Compare,
    And,
    Or,
    Not,
    Vote,
    Open,
    Close,
    Comma,
}

/// Tokens by blanks, parentheses and commas: enough for models that are written correctly.
fn tokens(m: &Shipped, p: &Place) -> Vec<(Token, Span)> {
    let base = p.node.span.start;
    let text = &m.text()[base..p.node.span.end];
    let mut out: Vec<(Token, Span)> = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let rest = &text[at..];
        let first = rest.chars().next().unwrap();
        if first == ' ' || first == '"' {
            at += 1;
            continue;
        }
        let stop = |c: char| " (),\"".contains(c);
        let len = if "(),".contains(first) { 1 } else { rest.find(stop).unwrap_or(rest.len()) };
        let word = &rest[..len];
        let after_number = out.last().is_some_and(|(t, _)| *t == Token::Number);
        let token = match word {
            "(" => Token::Open,
            ")" => Token::Close,
            "," => Token::Comma,
            "AND" => Token::And,
            "OR" => Token::Or,
            "NOT" => Token::Not,
            "+" | "-" | "*" => Token::Sign,
            _ if word.starts_with(['<', '>', '=']) => Token::Compare,
            _ if word.contains("oo") && word.bytes().all(|b| b == b'o' || b.is_ascii_digit()) => Token::Vote,
            _ if word.bytes().all(|b| b.is_ascii_digit() || b == b'.') => Token::Number,
            _ if after_number => Token::Unit,
            _ => Token::Word,
        };
        out.push((token, Span::new(base + at, base + at + len)));
        at += len;
    }
    out
}

fn expressions(m: &Shipped) -> Vec<(&Place, Vec<(Token, Span)>)> {
    m.leaves(|k| *k == Kind::Expression).map(|p| (p, tokens(m, p))).collect()
}

/// One mutant for every token that `make` takes.
fn each(m: &Shipped, make: impl Fn(&Place, Token, Span) -> Vec<Mutant>) -> Vec<Mutant> {
    let mut out = Vec::new();
    for (p, tokens) in expressions(m) {
        for (i, (token, span)) in tokens.iter().enumerate() {
            let last = tokens.len() - 1;
            let (from, to) = (tokens[i.saturating_sub(1)].1, tokens[(i + 1).min(last)].1);
            for mut mutant in make(p, *token, *span) {
                // The neighbours: what follows has moved by what was added.
                let grown = mutant.text.len() as isize - m.text().len() as isize;
                let end = (to.end.max(span.end) as isize + grown).max(from.start as isize) as usize;
                mutant.near.push(Span::new(from.start.min(span.start), end));
                out.push(mutant);
            }
        }
    }
    out
}

pub fn token_removed(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Not => Vec::new(),
        _ => {
            let mut mutant = replaced(m.text(), span, "", &p.path);
            mutant.what = format!("{}: without `{}`", p.path, &m.text()[span.start..span.end]);
            // What a lone parenthesis or a list without its vote belongs to is only seen at its partner or a comma.
            match token {
                Token::Vote | Token::Open | Token::Close => vec![mutant.or_at(p.node.span)],
                _ => vec![mutant.or_at(p.key)],
            }
        }
    })
}

pub fn not_removed(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Not => vec![replaced(m.text(), span, "", &p.path).survive()],
        _ => Vec::new(),
    })
}

pub fn token_doubled(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Not | Token::Open | Token::Close => Vec::new(),
        _ => {
            let word = &m.text()[span.start..span.end];
            vec![replaced(m.text(), span, &format!("{word} {word}"), &p.path)]
        }
    })
}

pub fn operator_misspelt(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| {
        let wrong: &[&str] = match (token, &m.text()[span.start..span.end]) {
            (Token::Compare, ">=") => &["=>", "≥", "> =", ">>"],
            (Token::Compare, "<=") => &["=<", "≤", "< =", "<<"],
            (Token::Compare, "=") => &["==", ":=", "is"],
            (Token::And, _) => &["&&", "and", "&", "∧", "ADN"],
            (Token::Or, _) => &["||", "or", "|", "∨", "RO"],
            (Token::Not, _) => &["!", "not", "¬", "NOR"],
            _ => &[],
        };
        wrong.iter().map(|w| replaced(m.text(), span, w, &p.path)).collect()
    })
}

pub fn parenthesis_added(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, _, span| {
        vec![
            inserted(m.text(), span.start, "(", format!("{} {}", p.path, span.start)).or_at(p.node.span),
            inserted(m.text(), span.end, ")", format!("{} {}", p.path, span.start)).or_at(p.node.span),
        ]
    })
}

pub fn unknown_word(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Word => vec![replaced(m.text(), span, "NO-SUCH-1", &p.path)],
        _ => Vec::new(),
    })
}

pub fn misspelt_word(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Word => {
            let wrong = misspell(&m.text()[span.start..span.end]);
            // Of `-50` one letter less is another number: a value to be read by the reviewer, no misspelling.
            let number = wrong.trim_start_matches('-').chars().all(|c| c.is_ascii_digit());
            let stands = m.names.contains(&wrong) || (wrong.starts_with('-') && number);
            vec![replaced(m.text(), span, &wrong, &p.path).may_stand(stands)]
        }
        _ => Vec::new(),
    })
}

pub fn unit_wrong(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Unit => ["kg", "%%", "nosuch"].map(|w| replaced(m.text(), span, w, &p.path)).to_vec(),
        _ => Vec::new(),
    })
}

pub fn number_wrong(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Number => {
            ["1.2.3", "1e5", "many", "5."].map(|w| replaced(m.text(), span, w, &p.path)).to_vec()
        }
        _ => Vec::new(),
    })
}

pub fn vote_impossible(m: &Shipped) -> Vec<Mutant> {
    each(m, |p, token, span| match token {
        Token::Vote => ["4oo3", "0oo3", "2oo4", "2003", "oo3", "2OO3"]
            .map(|w| replaced(m.text(), span, w, &p.path))
            .to_vec(),
        _ => Vec::new(),
    })
}

pub fn vote_lacks_an_operand(m: &Shipped) -> Vec<Mutant> {
    let mut out = Vec::new();
    for (p, tokens) in expressions(m) {
        let Some(i) = tokens.iter().position(|(t, _)| *t == Token::Vote) else { continue };
        let commas: Vec<Span> =
            tokens[i..].iter().filter(|(t, _)| *t == Token::Comma).map(|(_, s)| *s).collect();
        let close = tokens.last().unwrap().1;
        let ends: Vec<Span> = commas.iter().skip(1).chain([&close]).copied().collect();
        for (from, to) in commas.iter().zip(ends) {
            let vote = tokens[i].1;
            let whole = Span::new(from.start, to.start);
            out.push(replaced(m.text(), whole, "", &p.path).or_at(vote));
            let hole = Span::new(from.end, to.start);
            out.push(replaced(m.text(), hole, "", &p.path).or_at(Span::new(from.start, from.end + 1)));
        }
    }
    out
}
