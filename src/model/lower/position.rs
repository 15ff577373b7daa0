//! Reads positions: `K1 = open` alone, in lists, and in expressions such as safe states.

use std::collections::BTreeMap;

use super::Lowering;
use super::expression::{Allowed, literal, word};
use super::tag::{Class, any_of};
use crate::model::{AtPosition, Device, Id, Tree};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::expr::{self, Comparison, Expr, ExprKind, Op};
use crate::syntax::kind::Expression;
use crate::syntax::leaf::{List, Scalar};

/// A position with its places in the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    /// The device at its position.
    pub(super) at: AtPosition,
    /// All of it.
    pub(super) span: Span,
    /// The name of the position.
    pub(super) position_span: Span,
}

/// Why a safe state has no NOT.
const NO_NOT: &str =
    "it says where the actuators are, not where they are not: name the positions that avert the harm";

impl Lowering<'_> {
    /// One position.
    pub(super) fn position(&mut self, leaf: &Scalar, field: &str, wanted: &[Class]) -> Option<Placed> {
        let expr = self.parsed(leaf)?;
        match &expr.kind {
            ExprKind::Compare(comparison) if comparison.op == Op::Equal => {
                self.placed(comparison, expr.span, field, wanted)
            }
            ExprKind::Name(_) => {
                self.position_atom(&expr, field, wanted);
                None
            }
            _ => {
                self.report(
                    Problem::new(
                        "not-one-position",
                        expr.span,
                        format!("`{field}` wants one position here"),
                        "not one position",
                    )
                    .help("write for example `K1 = open`; several positions are several items of the list"),
                );
                None
            }
        }
    }

    /// The positions of a list; `wanted` says of which kinds of device.
    pub(super) fn positions(
        &mut self,
        list: Option<&List<Expression>>,
        field: &str,
        wanted: &[Class],
    ) -> Vec<Placed> {
        let mut found = Vec::new();
        for leaf in list.iter().flat_map(|list| &list.items) {
            found.extend(self.position(leaf, field, wanted));
        }
        found
    }

    /// Positions that hold together: each device at most once.
    pub(super) fn consistent(&mut self, placed: Vec<Placed>) -> Vec<AtPosition> {
        let mut seen: BTreeMap<Device, Placed> = BTreeMap::new();
        let mut found = Vec::new();
        for item in placed {
            let Some(first) = seen.get(&item.at.device).copied() else {
                seen.insert(item.at.device, item);
                found.push(item.at);
                continue;
            };
            let tag = self.model.tag(self.model.device_element(item.at.device)).to_string();
            let (code, message, help) = if first.at == item.at {
                (
                    "named-twice",
                    format!("`{}` stands here twice", self.model.at_text(item.at)),
                    "remove one of the two",
                )
            } else {
                (
                    "two-positions",
                    format!("`{tag}` cannot be in two positions at once"),
                    "keep the position that is meant",
                )
            };
            self.report(
                Problem::new(code, item.span, message, "a second time here")
                    .help(help)
                    .also(first.span, "first here"),
            );
        }
        found
    }

    /// A safe state: AND, OR and votes over positions.
    pub(super) fn position_tree(&mut self, leaf: &Scalar, field: &str) -> Option<Tree<AtPosition>> {
        if leaf.broken {
            return None;
        }
        let expr = expr::parse_with_bare_not(leaf).map_err(|problems| self.problems.extend(problems)).ok()?;
        let before = self.problems.len();
        expr.walk(&mut |part| self.no_not(part));
        let refused = self.problems.len() > before;
        self.position_expression(&expr, field, Class::DEVICES).filter(|_| !refused)
    }

    /// Refuses NOT and `<>` in a safe state, and names the other positions of the device.
    fn no_not(&mut self, expr: &Expr) {
        let (what, inner) = match &expr.kind {
            ExprKind::Not(inner) => ("NOT", inner.as_ref()),
            ExprKind::Compare(Comparison { op: Op::NotEqual, .. }) => ("`<>`", expr),
            _ => return,
        };
        let help = match &inner.kind {
            ExprKind::Compare(comparison) => self.other_positions(comparison),
            _ => None,
        };
        self.report(
            Problem::new(
                "operator-not-allowed",
                expr.span,
                format!("a safe state has no {what}"),
                "not here",
            )
            .help(help.unwrap_or_else(|| NO_NOT.to_string())),
        );
    }

    fn other_positions(&self, comparison: &Comparison) -> Option<String> {
        let (tag, position) = (comparison.left.as_name()?, comparison.right.as_name()?);
        let declared =
            self.declared(&tag.text, Class::DEVICES).filter(|d| Class::DEVICES.contains(&d.class))?;
        let positions = self.known_positions(device(declared.class, declared.index))?;
        let others: Vec<String> = positions
            .iter()
            .filter(|other| **other != position.text)
            .map(|other| format!("`{} = {other}`", tag.text))
            .collect();
        let named = others.len() < positions.len() && !others.is_empty();
        named.then(|| {
            format!("name the position that is wanted: {}", any_of(others.iter().map(String::as_str)))
        })
    }

    /// A combination of positions with any operator; `wanted` says of which kinds of device.
    pub(super) fn position_tree_with_not(
        &mut self,
        leaf: &Scalar,
        field: &str,
        wanted: &[Class],
    ) -> Option<Tree<AtPosition>> {
        let expr = self.parsed(leaf)?;
        self.position_expression(&expr, field, wanted)
    }

    fn position_expression(
        &mut self,
        expr: &Expr,
        field: &str,
        wanted: &[Class],
    ) -> Option<Tree<AtPosition>> {
        self.tree(expr, Allowed::ALL, &mut |this, part| {
            let (at, negated) = this.position_atom(part, field, wanted)?;
            Some(literal(at, negated))
        })
    }

    /// `K1 = open`, or `K1 <> open` (negated).
    fn position_atom(&mut self, expr: &Expr, field: &str, wanted: &[Class]) -> Option<(AtPosition, bool)> {
        match &expr.kind {
            ExprKind::Compare(comparison) => {
                let negated = match comparison.op {
                    Op::Equal => false,
                    Op::NotEqual => true,
                    _ => {
                        let message = "positions have no order".to_string();
                        let help = "write `=` between a device and its position".to_string();
                        self.incomplete(comparison.op_span, message, help);
                        return None;
                    }
                };
                Some((self.placed(comparison, expr.span, field, wanted)?.at, negated))
            }
            ExprKind::Name(tag) => {
                let declared = self.find(&word(tag), wanted, field)?;
                let device = device(declared.class, declared.index);
                let positions = self.known_positions(device)?;
                let first = positions.first().map_or("", String::as_str);
                let message = format!("`{}` alone does not say at which position", tag.text);
                self.incomplete(tag.span, message, format!("write for example `{} = {first}`", tag.text));
                None
            }
            _ => {
                let message = format!("`{field}` speaks of positions only");
                self.incomplete(expr.span, message, "write for example `K1 = open`".into());
                None
            }
        }
    }

    fn placed(
        &mut self,
        comparison: &Comparison,
        span: Span,
        field: &str,
        wanted: &[Class],
    ) -> Option<Placed> {
        let (Some(tag), Some(position)) = (comparison.left.as_name(), comparison.right.as_name()) else {
            let message = "this is no position of a device".to_string();
            self.incomplete(span, message, "write the device and its position: `K1 = open`".into());
            return None;
        };
        let declared = self.find(&word(tag), wanted, field)?;
        let device = device(declared.class, declared.index);
        let positions = self.known_positions(device)?;
        let Some(number) = positions.iter().position(|name| *name == position.text) else {
            self.unknown_position(&position.text, position.span, &tag.text, &positions);
            return None;
        };
        let at = AtPosition { device, position: number };
        Some(Placed { at, span, position_span: position.span })
    }
}

fn device(class: Class, index: usize) -> Device {
    match class {
        Class::Passive => Device::Passive(Id::from_index(index)),
        _ => Device::Actuator(Id::from_index(index)),
    }
}
