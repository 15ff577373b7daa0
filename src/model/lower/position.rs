//! Reads positions: `K1 = open` alone, in lists, and in expressions such as safe states.

use std::collections::BTreeMap;

use super::Lowering;
use super::expression::{Allowed, literal, word};
use super::tag::Class;
use crate::model::{AtPosition, Device, Id, Tree};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::expr::{Comparison, Expr, ExprKind, Op};
use crate::syntax::kind::Expression;
use crate::syntax::leaf::{List, Scalar};

/// A position with its places in the file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    /// The device at its position.
    pub(super) at: AtPosition,
    /// All of it.
    pub(super) span: Span,
    /// The tag of the device.
    pub(super) device_span: Span,
    /// The name of the position.
    pub(super) position_span: Span,
}

const NO_NOT: &str = "a safe state says where the actuators are, not where they are not: name the positions that avert the harm";

impl Lowering<'_> {
    /// One position.
    pub(super) fn position(&mut self, leaf: &Scalar, field: &str) -> Option<Placed> {
        let expr = self.parsed(leaf)?;
        match &expr.kind {
            ExprKind::Compare(comparison) if comparison.op == Op::Equal => self.placed(comparison, expr.span, field),
            ExprKind::Name(_) => {
                self.position_atom(&expr, field);
                None
            }
            _ => {
                self.report(
                    Problem::new("not-one-position", expr.span, format!("`{field}` wants one position here"), "not one position")
                        .help("write for example `K1 = open`; several positions are several items of the list"),
                );
                None
            }
        }
    }

    /// The positions of a list.
    pub(super) fn positions(&mut self, list: Option<&List<Expression>>, field: &str) -> Vec<Placed> {
        let mut found = Vec::new();
        for leaf in list.iter().flat_map(|list| &list.items) {
            found.extend(self.position(leaf, field));
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
                ("named-twice", format!("`{}` stands here twice", self.model.at_text(item.at)), "remove one of the two")
            } else {
                (
                    "two-positions",
                    format!("`{tag}` cannot be in two positions at once"),
                    "keep the position that is meant",
                )
            };
            self.report(
                Problem::new(code, item.span, message, "a second time here").help(help).also(first.span, "first here"),
            );
        }
        found
    }

    /// A safe state: AND, OR and votes over positions.
    pub(super) fn position_tree(&mut self, leaf: &Scalar, field: &str) -> Option<Tree<AtPosition>> {
        self.position_expression(leaf, field, Allowed { not: Err(NO_NOT), votes: Ok(()) })
    }

    /// A combination of positions with any operator.
    pub(super) fn position_tree_with_not(&mut self, leaf: &Scalar, field: &str) -> Option<Tree<AtPosition>> {
        self.position_expression(leaf, field, Allowed::ALL)
    }

    fn position_expression(&mut self, leaf: &Scalar, field: &str, allowed: Allowed) -> Option<Tree<AtPosition>> {
        let expr = self.parsed(leaf)?;
        self.tree(&expr, allowed, &mut |this, part| {
            let (at, negated) = this.position_atom(part, field)?;
            if negated {
                this.permitted(allowed.not, part.span, "`<>`")?;
            }
            Some(literal(at, negated))
        })
    }

    /// `K1 = open`, or `K1 <> open` (negated).
    fn position_atom(&mut self, expr: &Expr, field: &str) -> Option<(AtPosition, bool)> {
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
                Some((self.placed(comparison, expr.span, field)?.at, negated))
            }
            ExprKind::Name(tag) => {
                let declared = self.find(&word(tag), Class::DEVICES, field)?;
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

    fn placed(&mut self, comparison: &Comparison, span: Span, field: &str) -> Option<Placed> {
        let (Some(tag), Some(position)) = (comparison.left.as_name(), comparison.right.as_name()) else {
            let message = "this is no position of a device".to_string();
            self.incomplete(span, message, "write the device and its position: `K1 = open`".into());
            return None;
        };
        let declared = self.find(&word(tag), Class::DEVICES, field)?;
        let device = device(declared.class, declared.index);
        let positions = self.known_positions(device)?;
        let Some(number) = positions.iter().position(|name| *name == position.text) else {
            self.unknown_position(&position.text, position.span, &tag.text, &positions);
            return None;
        };
        let at = AtPosition { device, position: number };
        Some(Placed { at, span, device_span: tag.span, position_span: position.span })
    }
}

fn device(class: Class, index: usize) -> Device {
    match class {
        Class::Passive => Device::Passive(Id::from_index(index)),
        _ => Device::Actuator(Id::from_index(index)),
    }
}
