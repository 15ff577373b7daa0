//! Cuts the text of an expression into tokens, by the lexical rule that stands in `expr`.
//!
//! Responsible for single tokens: numbers, units, words, operators, and for what is said about a wrong one. Where
//! the meaning of a wrong token is plain (`==`, `and`, `≥`), it records the problem and hands on the token that
//! was meant, so that the rest is read as well; else it hands on [`TokenKind::Bad`].

use super::Op;
use super::tag::{reserved, word_end};
use crate::exact::Exact;
use crate::unit::number::read_number;
use crate::unit::spelling::{Complaint, shown, spelling_of, unknown};
use crate::unit::{Unit, looks_like_quantity};

/// What a token is. Problems with it are recorded already where it is `Bad`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum TokenKind {
    Word,
    Number(Exact),
    Unit,
    Op(Op),
    Plus,
    Minus { spaced: bool },
    Star,
    Open,
    Close,
    Comma,
    And,
    Or,
    Xor,
    Not,
    Bad,
    End,
}

/// A token and its bytes in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token {
    pub(super) kind: TokenKind,
    pub(super) start: usize,
    pub(super) end: usize,
}

/// A complaint and the bytes of the text that it concerns.
pub(super) type Placed = (Complaint, usize, usize);

/// Signs and what they are read as, longer ones first; the third column is how it is to be written.
const SIGNS: &[(&str, TokenKind, Option<&str>)] = &[
    ("==", TokenKind::Op(Op::Equal), Some("=")),
    (":=", TokenKind::Op(Op::Equal), Some("=")),
    ("!=", TokenKind::Op(Op::NotEqual), Some("<>")),
    ("><", TokenKind::Op(Op::NotEqual), Some("<>")),
    ("=>", TokenKind::Op(Op::AtLeast), Some(">=")),
    ("=<", TokenKind::Op(Op::AtMost), Some("<=")),
    ("&&", TokenKind::And, Some("AND")),
    ("||", TokenKind::Or, Some("OR")),
    (">=", TokenKind::Op(Op::AtLeast), None),
    ("<=", TokenKind::Op(Op::AtMost), None),
    ("<>", TokenKind::Op(Op::NotEqual), None),
    ("=", TokenKind::Op(Op::Equal), None),
    (">", TokenKind::Op(Op::Above), None),
    ("<", TokenKind::Op(Op::Below), None),
    ("≥", TokenKind::Op(Op::AtLeast), Some(">=")),
    ("≤", TokenKind::Op(Op::AtMost), Some("<=")),
    ("≠", TokenKind::Op(Op::NotEqual), Some("<>")),
    ("&", TokenKind::And, Some("AND")),
    ("∧", TokenKind::And, Some("AND")),
    ("|", TokenKind::Or, Some("OR")),
    ("∨", TokenKind::Or, Some("OR")),
    ("!", TokenKind::Not, Some("NOT")),
    ("¬", TokenKind::Not, Some("NOT")),
    ("×", TokenKind::Star, Some("*")),
    ("·", TokenKind::Star, Some("*")),
    ("*", TokenKind::Star, None),
    ("+", TokenKind::Plus, None),
    ("(", TokenKind::Open, None),
    (")", TokenKind::Close, None),
    ("[", TokenKind::Open, Some("(")),
    ("]", TokenKind::Close, Some(")")),
    (",", TokenKind::Comma, None),
];

/// All tokens of the text, closed by an `End` without width, and the problems found.
pub(super) fn tokens(text: &str) -> (Vec<Token>, Vec<Placed>) {
    let mut lexer = Lexer { text, at: 0, tokens: Vec::new(), problems: Vec::new() };
    while lexer.at < text.len() {
        lexer.token();
    }
    lexer.push(TokenKind::End, text.len());
    (lexer.tokens, lexer.problems)
}

struct Lexer<'a> {
    text: &'a str,
    at: usize,
    tokens: Vec<Token>,
    problems: Vec<Placed>,
}

impl<'a> Lexer<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn slice(&self, start: usize, end: usize) -> &'a str {
        self.text.get(start..end).unwrap_or("")
    }

    /// Adds the token from where the lexer stands up to `end`, and moves there.
    fn push(&mut self, kind: TokenKind, end: usize) {
        self.tokens.push(Token { kind, start: self.at, end });
        self.at = end;
    }

    fn complain(&mut self, complaint: Complaint, end: usize) {
        self.problems.push((complaint, self.at, end));
    }

    /// One token, or blanks. Always moves on by at least one character.
    fn token(&mut self) {
        let rest = self.rest();
        let Some(first) = rest.chars().next() else { return };
        if matches!(first, ' ' | '\t' | '\n' | '\r') {
            self.at += 1;
        } else if first.is_ascii_digit()
            || (first == '.' && rest.as_bytes().get(1).is_some_and(u8::is_ascii_digit))
        {
            self.digits();
        } else if first.is_ascii_alphabetic() {
            self.word(word_end(self.text, self.at));
        } else if matches!(first, '-' | '−' | '–') {
            self.minus(first);
        } else if let Some((sign, kind, right)) = SIGNS.iter().find(|(sign, ..)| rest.starts_with(sign)) {
            let end = self.at + sign.len();
            if let Some(right) = right {
                self.complain(wrong_sign(sign, right), end);
            }
            self.push(kind.clone(), end);
        } else {
            self.stray(first);
        }
    }

    fn minus(&mut self, sign: char) {
        let end = self.at + sign.len_utf8();
        if sign != '-' {
            self.complain(wrong_sign(&sign.to_string(), "-"), end);
        }
        let blank = |c: Option<char>| c.is_none_or(char::is_whitespace);
        let before = self.slice(0, self.at).chars().next_back();
        let spaced = blank(before) && blank(self.slice(end, self.text.len()).chars().next());
        self.push(TokenKind::Minus { spaced }, end);
    }

    /// A word that starts with a digit: a number, a tag, or something between.
    fn digits(&mut self) {
        let end = word_end(self.text, self.at).max(self.at + 1);
        if self.slice(self.at, end).bytes().any(|b| b.is_ascii_alphabetic()) {
            return if self.rest().starts_with('.') { self.not_a_tag() } else { self.word(end) };
        }
        let end = self.number_end(end);
        let word = self.slice(self.at, end);
        let number = read_number(word).map_err(|complaint| match word.split_once('-') {
            Some((left, right)) if !left.is_empty() => {
                let message = format!("{} is neither a number nor a tag", shown(word));
                let help = match Exact::parse_decimal(right) {
                    Some(_) => {
                        format!("a tag has at least one letter; a difference is written `{left} - {right}`")
                    }
                    None => "a tag has at least one letter".into(),
                };
                Complaint::new("expression-syntax", message, "neither number nor tag").help(help)
            }
            _ => complaint,
        });
        match number {
            Ok(number) => {
                self.push(TokenKind::Number(number), end);
                self.unit_joined();
            }
            Err(complaint) => {
                self.complain(complaint, end);
                let meant = looks_like_quantity(word).and_then(|text| Exact::parse_decimal(&text));
                // A number that is too long has a meaning too, but none that fits: any will do to read on.
                self.push(TokenKind::Number(meant.unwrap_or_else(Exact::zero)), end);
            }
        }
        self.unit();
    }

    /// Takes in a decimal comma and a last point, so that the whole slip is marked.
    fn number_end(&self, mut end: usize) -> usize {
        let bytes = self.text.as_bytes();
        let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
        while matches!(bytes.get(end), Some(b',' | b'.')) && digit(end + 1) {
            end = word_end(self.text, end + 1);
        }
        if bytes.get(end) == Some(&b'.') { end + 1 } else { end }
    }

    /// `25%LFL`: a unit without a space before it.
    fn unit_joined(&mut self) {
        let rest = self.rest();
        if !rest.starts_with(['%', '°', 'º', '℃', 'µ', 'μ', 'Ω', '/']) {
            return;
        }
        let end = self.at + run(rest);
        let number = self.tokens.last().map_or("", |t| self.slice(t.start, t.end));
        let Some(unit) = spelling_of(self.slice(self.at, end)) else { return };
        let message =
            format!("{} is not a number and a unit", shown(&format!("{number}{}", self.slice(self.at, end))));
        let complaint =
            Complaint::new("number-form", message, "space missing").help(format!("write `{number} {unit}`"));
        let start = self.tokens.last().map_or(self.at, |t| t.start);
        self.problems.push((complaint, start, end));
        self.push(TokenKind::Unit, end);
    }

    /// The unit after a number, if one stands there.
    fn unit(&mut self) {
        let rest = self.rest();
        let start = self.at + rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let rest = self.text.get(start..).unwrap_or("");
        let first_fits = rest.starts_with(|c: char| c.is_alphabetic() || "%°º℃µμΩ‰".contains(c));
        if start == self.at || !(first_fits || rest.starts_with("1/")) {
            return;
        }
        let mut end = start + run(rest);
        let word = self.slice(start, end);
        if matches!(reserved(word), Some("AND" | "OR" | "NOT" | "XOR")) {
            return;
        }
        self.at = start;
        if let Some(apart) = self.unit_apart(start, end) {
            end = apart;
        } else if Unit::find(word).is_empty() {
            let complaint = unknown(word, None);
            let number = self.tokens.last().map_or("", |t| self.slice(t.start, t.end));
            let is_word = word_end(self.text, start) == end;
            let complaint = match complaint.help {
                None if is_word => {
                    complaint.help(format!("a factor is written with `*`: `{number} * {word}`"))
                }
                None => complaint.help("a unit follows a number and a space: `12.5 bar`"),
                Some(_) => complaint,
            };
            self.complain(complaint, end);
        }
        self.push(TokenKind::Unit, end);
    }

    /// `% LFL`, `K / min`: a unit in two or three pieces. Records the problem and returns where it ends.
    fn unit_apart(&mut self, start: usize, mut end: usize) -> Option<usize> {
        for _ in 0..2 {
            let next = end + 1;
            let width = run(self.text.get(next..)?);
            let piece = self.slice(next, next + width);
            if width == 0 || !self.slice(end, next).starts_with(' ') || reserved(piece).is_some() {
                return None;
            }
            end = next + width;
            let apart = self.slice(start, end);
            if let Some(right) = spelling_of(apart) {
                let message = format!("{} is not a unit", shown(apart));
                let complaint = Complaint::new("unknown-unit", message, "unknown unit");
                self.complain(complaint.help(format!("write {right}")), end);
                return Some(end);
            }
        }
        None
    }

    /// A word with a letter in it: a keyword, a tag, or a value written without its space (`5m3/h`).
    fn word(&mut self, end: usize) {
        let word = self.slice(self.at, end);
        let kind = match reserved(word) {
            Some("AND") => TokenKind::And,
            Some("OR") => TokenKind::Or,
            Some("NOT") => TokenKind::Not,
            Some("XOR") => TokenKind::Xor,
            Some(constant) => {
                self.complain(constant_used(word, constant), end);
                return self.push(TokenKind::Bad, end);
            }
            None if self.slice(end, end + 1) == "/" => return self.not_a_tag(),
            None => return self.push(TokenKind::Word, end),
        };
        let upper = word.to_ascii_uppercase();
        if word != upper {
            let message = format!("operators are written in capital letters, `{word}` is not");
            let complaint = Complaint::new("expression-syntax", message, "not in capitals");
            self.complain(complaint.help(format!("write `{upper}`")), end);
        }
        self.push(kind, end);
    }

    /// `5m3/h`, `.5bar`, `A/B`: more than a tag and no number.
    fn not_a_tag(&mut self) {
        let end = self.at + run(self.rest());
        let word = self.slice(self.at, end);
        let help = match looks_like_quantity(word) {
            Some(right) => format!("write `{right}`"),
            None if word.contains('/') => "there is no division, and `/` cannot be in a tag".into(),
            None => "a tag starts with a letter or a digit".into(),
        };
        let message = format!("{} is not a tag", shown(word));
        self.complain(Complaint::new("expression-syntax", message, "not a tag").help(help), end);
        self.push(TokenKind::Bad, end);
    }

    fn stray(&mut self, first: char) {
        let end = self.at + first.len_utf8();
        let help = match first {
            '"' | '\'' | '`' | '“' | '”' | '„' => {
                "tags and positions are written without quotes".to_string()
            }
            '\u{a0}' | '\u{2007}' | '\u{202f}' => {
                "it looks like a space but is none; type a plain space".into()
            }
            '/' | '÷' => "there is no division; write the factor first, such as `0.5 * cell`".into(),
            '{' | '}' => "write parentheses, `(` and `)`".into(),
            '%' | '°' => "a unit stands after a number and a space".into(),
            c if c.is_alphabetic() => "tags have the letters A to Z, digits, `_`, `-` and `.`".into(),
            '-' | '.' | '_' => "a tag starts with a letter or a digit".into(),
            _ => "conditions are joined with AND, OR, NOT and votes, values are compared".into(),
        };
        let name = match first {
            c if c.is_control() || c.is_whitespace() => format!("the character U+{:04X}", u32::from(c)),
            c => format!("`{c}`"),
        };
        let message = format!("{name} has no meaning in an expression");
        self.complain(Complaint::new("expression-syntax", message, "not understood").help(help), end);
        // Letters and digits behind a foreign letter belong to the same slip.
        let end = if first.is_alphabetic() { self.at + run(self.rest()) } else { end };
        self.push(TokenKind::Bad, end);
    }
}

/// Length of the run that a unit, or a slip in place of one, may take: up to a blank or an operator.
fn run(rest: &str) -> usize {
    rest.find(|c: char| c.is_whitespace() || "()<>=,+*!&|\"".contains(c)).unwrap_or(rest.len())
}

fn wrong_sign(sign: &str, right: &str) -> Complaint {
    let message = format!("`{sign}` is not an operator of these expressions");
    Complaint::new("expression-syntax", message, "another sign").help(format!("write `{right}`"))
}

fn constant_used(word: &str, constant: &str) -> Complaint {
    let help = match constant {
        "UNKNOWN" => "leave the condition out where it is not known, or name a fact that is",
        _ => "write the name alone where it must be true (`HV-1A`), and `NOT HV-1A` where it must be false",
    };
    let message = format!("`{word}` cannot stand in an expression");
    Complaint::new("expression-syntax", message, "no condition and no value").help(help)
}
