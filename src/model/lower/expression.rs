//! Reads expressions and walks their AND, OR, NOT and votes; what their parts mean is said by the caller.

use super::Lowering;
use crate::model::{ConditionId, Relation, Tree};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::expr::{self, Expr, ExprKind, Op};
use crate::syntax::leaf::Scalar;

/// Which operators an expression may have.
#[derive(Debug, Clone, Copy)]
pub(super) struct Allowed {
    /// NOT (and `<>`); otherwise why not.
    pub(super) not: Result<(), &'static str>,
    /// Votes; otherwise why not.
    pub(super) votes: Result<(), &'static str>,
}

impl Allowed {
    /// AND, OR, NOT and votes.
    pub(super) const ALL: Allowed = Allowed { not: Ok(()), votes: Ok(()) };
}

impl Lowering<'_> {
    /// Checks the spelling of a tag or name where it is declared.
    pub(super) fn well_formed(&mut self, key: &Scalar) {
        if !key.broken {
            self.problems.extend(expr::check_tag(key));
        }
    }

    /// The expression in a leaf.
    pub(super) fn parsed(&mut self, leaf: &Scalar) -> Option<Expr> {
        if leaf.broken {
            return None;
        }
        expr::parse(leaf).map_err(|problems| self.problems.extend(problems)).ok()
    }

    /// The tree of an expression. Every part is read, even after one that is wrong.
    pub(super) fn tree<A>(
        &mut self,
        expr: &Expr,
        allowed: Allowed,
        leaf: &mut dyn FnMut(&mut Self, &Expr) -> Option<Tree<A>>,
    ) -> Option<Tree<A>> {
        match &expr.kind {
            ExprKind::And(parts) => self.trees(parts, allowed, leaf).map(Tree::And),
            ExprKind::Or(parts) => self.trees(parts, allowed, leaf).map(Tree::Or),
            ExprKind::Not(part) => {
                let tree = self.tree(part, allowed, leaf);
                self.permitted(allowed.not, expr.span, "NOT")?;
                Some(Tree::Not(Box::new(tree?)))
            }
            ExprKind::Vote(vote) => {
                let of = self.trees(&vote.operands, allowed, leaf);
                self.permitted(allowed.votes, vote.word, "a vote")?;
                Some(Tree::Vote { m: usize::try_from(vote.m).ok()?, of: of? })
            }
            ExprKind::Compare(_) | ExprKind::Name(_) | ExprKind::Call { .. } => leaf(self, expr),
        }
    }

    fn trees<A>(
        &mut self,
        parts: &[Expr],
        allowed: Allowed,
        leaf: &mut dyn FnMut(&mut Self, &Expr) -> Option<Tree<A>>,
    ) -> Option<Vec<Tree<A>>> {
        let mut found = Vec::new();
        for part in parts {
            found.push(self.tree(part, allowed, leaf));
        }
        found.into_iter().collect()
    }

    /// Records an operator that has no place in this expression.
    pub(super) fn permitted(&mut self, rule: Result<(), &'static str>, span: Span, what: &str) -> Option<()> {
        let Err(why) = rule else { return Some(()) };
        self.report(
            Problem::new("operator-not-allowed", span, format!("{what} has no place here"), "not here").help(why),
        );
        None
    }

    /// Records a part that is no condition as it stands.
    pub(super) fn incomplete(&mut self, span: Span, message: String, help: String) {
        self.report(Problem::new("incomplete-condition", span, message, "not a condition").help(help));
    }

    /// A condition of the plant or its absence: `fire`, `NOT door_closed`.
    pub(super) fn condition_literal(&mut self, leaf: &Scalar, field: &str) -> Option<(ConditionId, bool)> {
        let expr = self.parsed(leaf)?;
        let (inner, negated) = match &expr.kind {
            ExprKind::Not(inner) => (inner.as_ref(), true),
            _ => (&expr, false),
        };
        if let ExprKind::Name(tag) = &inner.kind {
            let scalar = Scalar { text: tag.text.clone(), span: tag.span, quoted: false, broken: false };
            let id = self.id::<ConditionId>(&scalar, &[super::tag::Class::Condition], field)?;
            return Some((id, negated));
        }
        self.report(
            Problem::new(
                "not-one-condition",
                expr.span,
                format!("`{field}` wants one condition of the plant, or NOT and one condition"),
                "more than one condition",
            )
            .help("write for example `fire` or `NOT door_closed`; declare a condition for what it sees"),
        );
        None
    }
}

/// The relation that an operator writes.
pub(super) fn relation(op: Op) -> Relation {
    match op {
        Op::Equal => Relation::Equal,
        Op::NotEqual => Relation::Differs,
        Op::AtLeast => Relation::AtLeast,
        Op::Above => Relation::Above,
        Op::AtMost => Relation::AtMost,
        Op::Below => Relation::Below,
    }
}

/// An atom, or its negation.
pub(super) fn literal<A>(atom: A, negated: bool) -> Tree<A> {
    if negated { Tree::Not(Box::new(Tree::Atom(atom))) } else { Tree::Atom(atom) }
}

/// The word of an expression as a leaf of the document.
pub(super) fn word(tag: &expr::Tag) -> Scalar {
    Scalar { text: tag.text.clone(), span: tag.span, quoted: false, broken: false }
}
