//! Expressions: conditions in one line, with the operators of IEC 61131-3 structured text and the votes of
//! IEC 61508 (`2oo3(...)`, always the number that must agree *to trip*).
//!
//! Responsible for the form of an expression: reading it (`lex`, `parse`), printing it (`print`), the rule for
//! tags (`tag`), and this file for its parts. What a name stands for, whether a function exists and whether a
//! unit fits is decided by whoever resolves the tree.
//!
//! # Lexical rule
//!
//! - A *tag* is the longest run of the letters A to Z and a to z, digits, `_`, and of `-` and `.` that are
//!   followed by a letter, a digit or `_`. It starts with a letter or digit and has at least one letter:
//!   `GD-11`, `24V-A`, `ZS-31A`, `cell.top`. It therefore never ends with `-` or `.`, and a hyphen inside
//!   belongs to the tag: `cell-20` is one tag.
//! - A *minus* between two values has a space on both sides: `cell - 20 K`. A sign before a first value needs
//!   none: `-20 degC`.
//! - A *number* is a run without a letter: digits, at most one point with digits on both sides. A tag may start
//!   with digits, so `6bar` is a tag; see `unit::looks_like_quantity`.
//! - A *unit* follows a number and a space, and only there: `25 %LFL`, `5400 m3/h`, `10 1/h`.
//! - `MooN` followed by `(` is a vote, any other tag followed by `(` is a call: `2oo3(...)`, `BAD(GD-1)`.
//! - `AND`, `OR`, `NOT` are upper case. `XOR`, `TRUE`, `FALSE` and `unknown` are reserved and mean nothing.
//!
//! # Precedence
//!
//! `NOT`, then `*`, then `+` and `-`, then comparison, then `AND`, then `OR`, as in IEC 61131-3 (recalled, not
//! checked against the text of the standard). `NOT K1 = open`, which that order would read as `(NOT K1) = open`,
//! is refused, since readers take it the other way.

mod lex;
mod parse;
mod print;
pub mod tag;

use crate::exact::Exact;
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::leaf::Scalar;
use crate::unit::{self, Kind, Quantity};

pub use parse::{LONGEST, MOST_NESTED, parse, parse_with_bare_not};
pub use tag::check_tag;

/// A condition: something that is true, false or unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Its place in the file, parentheses around it included.
    pub span: Span,
}

/// The forms of a condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ExprKind {
    /// `a OR b OR c`; two operands or more.
    Or(Vec<Expr>),
    /// `a AND b AND c`; two operands or more.
    And(Vec<Expr>),
    /// `NOT a`.
    Not(Box<Expr>),
    /// `2oo3(a, b, c)`.
    Vote(Vote),
    /// `q + 2 * r <= 5 bar`, `K1 = open`.
    Compare(Comparison),
    /// A name alone: a yes/no fact, a contact.
    Name(Tag),
    /// `BAD(GD-1)`.
    Call {
        /// The word before the parenthesis.
        function: Tag,
        /// What stands in it.
        argument: Tag,
    },
}

/// A vote: true when at least `m` of the operands are. `1 <= m <= n`, and `n` is the number of operands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vote {
    /// How many must agree.
    pub m: u32,
    /// Of how many.
    pub n: u32,
    /// The place of the word `MooN`.
    pub word: Span,
    /// The conditions.
    pub operands: Vec<Expr>,
}

/// A word of the expression: a tag, a position, the name of a function.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Tag {
    /// As written.
    pub text: String,
    /// Its place in the file.
    pub span: Span,
}

/// Two sums and what must hold between them. Whether `K1 = open` names a position is not decided here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// What stands before the operator.
    pub left: Sum,
    /// The operator.
    pub op: Op,
    /// Its place.
    pub op_span: Span,
    /// What stands after it.
    pub right: Sum,
}

/// A comparison operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Op {
    /// `=`
    Equal,
    /// `<>`
    NotEqual,
    /// `>=`
    AtLeast,
    /// `>`
    Above,
    /// `<=`
    AtMost,
    /// `<`
    Below,
}

impl Op {
    /// The operator that says the same with the sides exchanged.
    pub fn mirrored(self) -> Op {
        match self {
            Op::Equal | Op::NotEqual => self,
            Op::AtLeast => Op::AtMost,
            Op::Above => Op::Below,
            Op::AtMost => Op::AtLeast,
            Op::Below => Op::Above,
        }
    }
}

/// Signed terms added up; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// The terms in their order.
    pub terms: Vec<Term>,
    /// The place of all of them.
    pub span: Span,
}

impl Sum {
    /// The word, if the sum is a single one with neither sign nor factor: the only sum that may be a position.
    pub fn as_name(&self) -> Option<&Tag> {
        match self.terms.as_slice() {
            [Term { negative: false, value: Value::Name { factor: None, tag }, .. }] => Some(tag),
            _ => None,
        }
    }

    /// Whether it is a single literal, signed or not.
    pub fn is_literal(&self) -> bool {
        matches!(self.terms.as_slice(), [Term { value: Value::Literal(_), .. }])
    }
}

/// One term of a sum.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// Whether it is subtracted, or has a minus sign in front.
    pub negative: bool,
    /// What is added or subtracted.
    pub value: Value,
    /// Its place, a leading sign included but not the operator between two terms.
    pub span: Span,
}

/// What a term consists of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// `cell`, `256 * cell`.
    Name {
        /// The number before `*`: not negative, without unit.
        factor: Option<Exact>,
        /// The word.
        tag: Tag,
    },
    /// `25 %LFL`.
    Literal(Literal),
}

/// A number with or without unit, not negative: the sign belongs to the [`Term`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Literal {
    /// The number.
    pub number: Exact,
    /// The unit as written, known to `unit` but of any kind, with its place.
    pub unit: Option<Tag>,
    /// The place of number and unit.
    pub span: Span,
}

impl Literal {
    /// The value as one of the kind that is due, negated if its term is.
    ///
    /// Errors, one: the unit is missing or of another kind; the part that is wrong is marked.
    pub fn quantity(&self, negative: bool, kind: Kind) -> Result<Quantity, Vec<Problem>> {
        let number = if negative { -&self.number } else { self.number.clone() };
        unit::quantity(&number, self.unit.as_ref().map(|u| u.text.as_str()), kind).map_err(|complaint| {
            let span = match (&self.unit, complaint.code) {
                (Some(unit), code) if code != "below-zero" => unit.span,
                _ => self.span,
            };
            vec![complaint.at(span)]
        })
    }
}

impl Expr {
    /// Calls `visit` on this condition and every condition in it, outer ones first, in the order of the text.
    pub fn walk<'a>(&'a self, visit: &mut impl FnMut(&'a Expr)) {
        visit(self);
        match &self.kind {
            ExprKind::Or(operands) | ExprKind::And(operands) => operands.iter().for_each(|o| o.walk(visit)),
            ExprKind::Vote(vote) => vote.operands.iter().for_each(|o| o.walk(visit)),
            ExprKind::Not(operand) => operand.walk(visit),
            ExprKind::Compare(_) | ExprKind::Name(_) | ExprKind::Call { .. } => {}
        }
    }

    /// Every word that names something, positions and arguments of calls included, in the order of the text;
    /// not the names of functions, not units.
    pub fn tags(&self) -> Vec<&Tag> {
        let mut tags = Vec::new();
        self.walk(&mut |expr| match &expr.kind {
            ExprKind::Name(tag) | ExprKind::Call { argument: tag, .. } => tags.push(tag),
            ExprKind::Compare(comparison) => {
                let terms = comparison.left.terms.iter().chain(&comparison.right.terms);
                tags.extend(terms.filter_map(|term| match &term.value {
                    Value::Name { tag, .. } => Some(tag),
                    Value::Literal(_) => None,
                }));
            }
            _ => {}
        });
        tags
    }
}

/// Reads the expression that stands in a scalar (which must not be `broken`).
///
/// Errors: everything that is wrong with it and can be told apart, in the order of the text.
impl TryFrom<&Scalar> for Expr {
    type Error = Vec<Problem>;

    fn try_from(scalar: &Scalar) -> Result<Expr, Vec<Problem>> {
        parse(scalar)
    }
}

#[cfg(test)]
mod tests;
