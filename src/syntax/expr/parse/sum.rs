//! Comparisons, sums and terms: the part of an expression that calculates.
//!
//! Responsible for what stands on both sides of a comparison operator.

use super::{Complaint, Expr, ExprKind, Parser, Tag, TokenKind, shown, syntax};
use crate::exact::Exact;
use crate::source::Span;
use crate::syntax::expr::tag::vote_parts;
use crate::syntax::expr::{Comparison, Literal, Op, Sum, Term, Value};

impl Parser<'_> {
    /// A comparison, or a name alone.
    pub(super) fn condition(&mut self) -> Option<Expr> {
        let left = self.sum()?;
        let TokenKind::Op(op) = *self.kind() else { return self.name_alone(left) };
        let op_span = self.here();
        self.advance();
        let right = self.sum()?;
        if let TokenKind::Op(second) = *self.kind() {
            return self.chained(&left, op, &right, second);
        }
        let span = left.span.to(right.span);
        Some(Expr { kind: ExprKind::Compare(Comparison { left, op, op_span, right }), span })
    }

    fn name_alone(&mut self, sum: Sum) -> Option<Expr> {
        if let Some(tag) = sum.as_name() {
            if vote_parts(&tag.text).is_some() {
                let complaint = syntax(
                    format!("{} is a vote without its conditions", shown(&tag.text)),
                    "conditions missing",
                );
                self.problem(complaint.help(format!("write `{}(...)`", tag.text)), tag.span);
                return None;
            }
            return Some(Expr { kind: ExprKind::Name(tag.clone()), span: tag.span });
        }
        if *self.kind() != TokenKind::Bad {
            let message = format!("{} is a value, and a condition is due", shown(&sum.to_string()));
            let complaint = syntax(message, "not a condition");
            self.problem(
                complaint.help("compare it with another value, using >=, >, <=, <, = or <>"),
                sum.span,
            );
        }
        None
    }

    /// `10 < q < 20`.
    fn chained(&mut self, left: &Sum, op: Op, middle: &Sum, second: Op) -> Option<Expr> {
        let second_span = self.here();
        self.advance();
        let right = self.sum()?;
        let first = match left.is_literal() {
            true => format!("{middle} {} {left}", op.mirrored()),
            false => format!("{left} {op} {middle}"),
        };
        let complaint = syntax("two comparisons in one", "a second comparison")
            .help(format!("write `{first} AND {middle} {second} {right}`"));
        self.problem(complaint, second_span);
        None
    }

    fn sum(&mut self) -> Option<Sum> {
        let mut terms = vec![self.signed()?];
        loop {
            let negative = match *self.kind() {
                TokenKind::Plus => false,
                TokenKind::Minus { spaced } => {
                    if !spaced {
                        self.tight_minus();
                    }
                    true
                }
                TokenKind::Star => {
                    self.late_factor(terms.last());
                    return None;
                }
                _ => break,
            };
            self.advance();
            let (value, span) = self.value()?;
            terms.push(Term { negative, value, span });
        }
        let span = terms.iter().map(|t| t.span).reduce(Span::to)?;
        Some(Sum { terms, span })
    }

    /// The first term, which may have a sign of its own.
    fn signed(&mut self) -> Option<Term> {
        let (start, _) = self.bounds();
        let sign = matches!(self.kind(), TokenKind::Plus | TokenKind::Minus { .. });
        let negative = matches!(self.kind(), TokenKind::Minus { .. });
        if sign {
            self.advance();
        }
        let (value, _) = self.value()?;
        Some(Term { negative, value, span: self.span(start, self.read_to()) })
    }

    fn tight_minus(&mut self) {
        let (start, end) = self.bounds();
        let before = self
            .at
            .checked_sub(1)
            .and_then(|i| self.tokens.get(i))
            .map_or("", |t| self.text_of(t.start, t.end));
        let after = self.token(1).map_or("", |t| self.text_of(t.start, t.end));
        let complaint =
            syntax("a minus has a space on both sides: a hyphen belongs to a tag", "space missing");
        self.problem(complaint.help(format!("write `{before} - {after}`")), self.span(start, end));
    }

    /// `cell * 2`, `2 bar * cell`.
    fn late_factor(&mut self, before: Option<&Term>) {
        let after = self.token(1).map_or("", |t| self.text_of(t.start, t.end));
        let complaint = syntax("a factor is a number, and stands before a name", "not a factor");
        let complaint = match before.map(|term| &term.value) {
            Some(Value::Name { factor: None, tag }) if Exact::parse_decimal(after).is_some() => {
                complaint.help(format!("write `{after} * {tag}`"))
            }
            Some(Value::Literal(_)) => complaint.help("a factor has no unit: write it as `2 * cell`"),
            _ => complaint.help("write it as `2 * cell`; names are not multiplied with each other"),
        };
        self.problem(complaint, self.here());
    }

    /// A term without its sign.
    fn value(&mut self) -> Option<(Value, Span)> {
        let (start, _) = self.bounds();
        let value = match self.kind().clone() {
            TokenKind::Word if self.next_is(1, &TokenKind::Open) => {
                let word = shown(self.word_here());
                let complaint =
                    syntax(format!("{word} with parentheses is a condition, and a value is due"), "no value");
                let help = "it is true or false: write it alone, or with NOT";
                self.problem(complaint.help(help), self.here());
                return None;
            }
            TokenKind::Word => Value::Name { factor: None, tag: self.tag() },
            TokenKind::Number(number) => self.number(number)?,
            TokenKind::Bad => return None,
            _ => {
                self.no_value();
                return None;
            }
        };
        Some((value, self.span(start, self.read_to())))
    }

    fn number(&mut self, number: Exact) -> Option<Value> {
        let (start, _) = self.bounds();
        self.advance();
        if *self.kind() == TokenKind::Star {
            self.advance();
            return self.times(number);
        }
        let unit: Option<Tag> = (*self.kind() == TokenKind::Unit).then(|| self.tag());
        Some(Value::Literal(Literal { number, unit, span: self.span(start, self.read_to()) }))
    }

    /// What a factor stands before.
    fn times(&mut self, factor: Exact) -> Option<Value> {
        match self.kind() {
            TokenKind::Word if !self.next_is(1, &TokenKind::Open) => {
                Some(Value::Name { factor: Some(factor), tag: self.tag() })
            }
            TokenKind::Number(second) => {
                let product = &factor * second;
                let unit = self.token(1).filter(|t| t.kind == TokenKind::Unit);
                let unit = unit.map(|t| format!(" {}", self.text_of(t.start, t.end))).unwrap_or_default();
                let complaint = syntax("a factor stands before a name, not before a number", "not a name");
                self.problem(complaint.help(format!("write the product, `{product}{unit}`")), self.here());
                None
            }
            TokenKind::Open => {
                let complaint = syntax("sums have no parentheses", "not here");
                let help = format!("write each term with its factor: `{factor} * a + {factor} * b`");
                self.problem(complaint.help(help), self.here());
                None
            }
            TokenKind::Bad => None,
            _ => {
                self.no_value();
                None
            }
        }
    }

    /// A value is due and something else, or nothing, stands here.
    fn no_value(&mut self) {
        let before = self.at.checked_sub(1).and_then(|i| self.tokens.get(i)).map(|t| (t.start, t.end));
        let here = shown(self.word_here());
        let complaint: Complaint = match self.kind() {
            TokenKind::End
            | TokenKind::And
            | TokenKind::Or
            | TokenKind::Xor
            | TokenKind::Close
            | TokenKind::Comma => {
                if let Some((start, end)) = before {
                    let message = format!("nothing follows {}", shown(self.text_of(start, end)));
                    let complaint = syntax(message, "a value is missing after it");
                    let help = "write a value such as `25 %LFL`, or a name, after it";
                    self.problem(complaint.help(help), self.span(start, end));
                    return;
                }
                syntax("a value is missing", "a value is due").help("write a tag, or a number with its unit")
            }
            TokenKind::Open => syntax("a side of a comparison has no parentheses", "not here")
                .help("write the sum without parentheses"),
            TokenKind::Not => syntax("`NOT` is for conditions, and a value is due", "no value")
                .help("write `NOT` before the whole comparison: `NOT (a = b)`"),
            TokenKind::Op(_) => syntax(format!("{here} follows an operator"), "a value is due")
                .help("write one operator of >=, >, <=, <, = and <>"),
            _ => syntax(format!("{here} is no value"), "a value is due")
                .help("write a tag, or a number with its unit"),
        };
        self.problem(complaint, self.here());
    }
}
