//! Prints expressions in their one canonical form, which reads back as the same expression.
//!
//! Responsible for spaces and parentheses: one space around operators, parentheses only where the structure needs
//! them.

use std::fmt::{self, Display, Formatter};

use super::{Comparison, Expr, ExprKind, Literal, Op, Sum, Tag, Value, Vote};

/// An operand, in parentheses if it would not stay together without them.
struct Operand<'a> {
    expr: &'a Expr,
    wrap: bool,
}

impl Display for Operand<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        if self.wrap { write!(f, "({})", self.expr) } else { write!(f, "{}", self.expr) }
    }
}

fn separated<T: Display>(
    f: &mut Formatter<'_>,
    items: impl Iterator<Item = T>,
    between: &str,
) -> fmt::Result {
    for (i, item) in items.enumerate() {
        if i > 0 {
            f.write_str(between)?;
        }
        write!(f, "{item}")?;
    }
    Ok(())
}

impl Display for Expr {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.kind {
            ExprKind::Or(operands) => {
                let wrap = |expr: &Expr| matches!(expr.kind, ExprKind::Or(_));
                separated(f, operands.iter().map(|expr| Operand { expr, wrap: wrap(expr) }), " OR ")
            }
            ExprKind::And(operands) => {
                let wrap = |expr: &Expr| matches!(expr.kind, ExprKind::Or(_) | ExprKind::And(_));
                separated(f, operands.iter().map(|expr| Operand { expr, wrap: wrap(expr) }), " AND ")
            }
            ExprKind::Not(expr) => {
                let wrap = matches!(expr.kind, ExprKind::Or(_) | ExprKind::And(_) | ExprKind::Compare(_));
                write!(f, "NOT {}", Operand { expr, wrap })
            }
            ExprKind::Vote(Vote { m, n, operands, .. }) => {
                write!(f, "{m}oo{n}(")?;
                separated(f, operands.iter(), ", ")?;
                f.write_str(")")
            }
            ExprKind::Compare(comparison) => comparison.fmt(f),
            ExprKind::Name(tag) => tag.fmt(f),
            ExprKind::Call { function, argument } => write!(f, "{function}({argument})"),
        }
    }
}

impl Display for Comparison {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.left, self.op, self.right)
    }
}

impl Display for Op {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Op::Equal => "=",
            Op::NotEqual => "<>",
            Op::AtLeast => ">=",
            Op::Above => ">",
            Op::AtMost => "<=",
            Op::Below => "<",
        })
    }
}

impl Display for Sum {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        for (i, term) in self.terms.iter().enumerate() {
            f.write_str(match (i, term.negative) {
                (0, false) => "",
                (0, true) => "-",
                (_, false) => " + ",
                (_, true) => " - ",
            })?;
            write!(f, "{}", term.value)?;
        }
        Ok(())
    }
}

impl Display for Value {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Value::Name { factor: Some(factor), tag } => write!(f, "{factor} * {tag}"),
            Value::Name { factor: None, tag } => tag.fmt(f),
            Value::Literal(literal) => literal.fmt(f),
        }
    }
}

impl Display for Literal {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.unit {
            Some(unit) => write!(f, "{} {unit}", self.number),
            None => write!(f, "{}", self.number),
        }
    }
}

impl Display for Tag {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}
