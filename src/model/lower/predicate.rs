//! Reads facts about the plant: predicates of hazards, couplings, what a passive device acts on.
//!
//! Their atoms are comparisons of sums of quantities, conditions, and modes. A reading or a position has no place.

use super::Lowering;
use super::expression::{Allowed, literal, word};
use super::tag::{Class, Declared, all_declared};
use crate::model::{GroupId, Id, InputId, ModeId, Observes, PlantAtom, Tree};
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::expr::{self, Comparison, Expr, ExprKind, Op};
use crate::syntax::leaf::Scalar;

mod linear;

const PLANT: &[Class] = &[Class::Quantity, Class::Condition, Class::Group];

impl Lowering<'_> {
    /// A fact about the plant. `field` is the key under which it stands.
    pub(super) fn predicate(&mut self, leaf: &Scalar, field: &str) -> Option<Tree<PlantAtom>> {
        let expr = self.parsed(leaf)?;
        self.tree(&expr, Allowed::ALL, &mut |this, part| this.plant_atom(part, field))
    }

    fn plant_atom(&mut self, expr: &Expr, field: &str) -> Option<Tree<PlantAtom>> {
        match &expr.kind {
            ExprKind::Name(tag) => self.plant_name(tag, field).map(Tree::Atom),
            ExprKind::Compare(comparison) => self.plant_comparison(comparison, expr.span, field),
            ExprKind::Call { function, .. } => {
                let message = format!("`{}` speaks of a signal; {}", function.text, about(field));
                self.report(
                    Problem::new("not-about-the-plant", expr.span, message, "not a fact about the plant")
                        .help("name quantities, conditions and modes only"),
                );
                None
            }
            _ => None,
        }
    }

    fn plant_name(&mut self, tag: &expr::Tag, field: &str) -> Option<PlantAtom> {
        let modes = self.modes_named(&tag.text);
        match (self.declared(&tag.text, PLANT), modes.as_slice()) {
            (Some(declared), [_, ..]) => {
                let help = format!(
                    "write {} for the mode, or give one of the two another name",
                    self.mode_texts(&modes)
                );
                self.report(
                    Problem::new(
                        "ambiguous-name",
                        tag.span,
                        format!("`{}` is {} and a mode", tag.text, declared.class.one()),
                        "which one?",
                    )
                    .help(help)
                    .also(declared.span, format!("declared here as {}", declared.class.one())),
                );
                None
            }
            (Some(declared), []) => self.plant_fact(tag, declared, field),
            (None, [mode]) => Some(PlantAtom::Mode(*mode)),
            (None, [_, _, ..]) => {
                let help = format!("write {}", self.mode_texts(&modes));
                let message = format!("several groups have a mode `{}`", tag.text);
                self.report(Problem::new("ambiguous-name", tag.span, message, "of which group?").help(help));
                None
            }
            (None, []) => {
                self.unknown_fact(tag);
                None
            }
        }
    }

    fn plant_fact(&mut self, tag: &expr::Tag, declared: Declared, field: &str) -> Option<PlantAtom> {
        match declared.class {
            Class::Condition => Some(PlantAtom::Condition(Id::from_index(declared.index))),
            Class::Quantity => {
                let message = format!("`{}` is a quantity, and a quantity alone is no condition", tag.text);
                self.incomplete(tag.span, message, format!("compare it: `{} >= …`", tag.text));
                None
            }
            Class::Group => {
                let group = GroupId::from_index(declared.index);
                let first = self.model.groups[group]
                    .modes
                    .first()
                    .map_or("…", |m| self.model.modes[*m].name.tag.as_str());
                let help = format!("write for example `{} = {first}`", tag.text);
                self.incomplete(tag.span, format!("`{}` is a mode group; say which mode", tag.text), help);
                None
            }
            _ => {
                self.not_about_the_plant(tag, declared, field);
                None
            }
        }
    }

    /// Records a reading, position or anything else of the protection in a fact about the plant.
    pub(super) fn not_about_the_plant(&mut self, tag: &expr::Tag, declared: Declared, field: &str) {
        let message = format!("`{}` is {}; {}", tag.text, declared.class.one(), about(field));
        let observed = match declared.class {
            Class::Sensor | Class::Switch => self.observed_by(InputId::from_index(declared.index)),
            _ => None,
        };
        let help = match observed {
            Some(what) => format!("name what it observes: `{what}`"),
            None => "name quantities, conditions and modes only".to_string(),
        };
        self.report(
            Problem::new("not-about-the-plant", tag.span, message, "not a fact about the plant")
                .help(help)
                .also(declared.span, format!("declared here as {}", declared.class.one())),
        );
    }

    /// The tag of the quantity or condition that the document lets an input observe.
    fn observed_by(&self, id: InputId) -> Option<String> {
        if id.index() < self.model.inputs.len() {
            return match self.model.inputs[id].observes {
                Observes::Quantity { quantity, .. } => Some(self.model.quantities[quantity].name.tag.clone()),
                Observes::Condition { condition, .. } => {
                    Some(self.model.conditions[condition].name.tag.clone())
                }
                Observes::Loop { .. } | Observes::Stop(_) => None,
            };
        }
        let (_, sensor) = self.doc.sensors.as_ref()?.entries.get(id.index())?;
        sensor.measures.as_ref().map(|tag| tag.text.clone())
    }

    fn unknown_fact(&mut self, tag: &expr::Tag) {
        if let Some(value) = crate::unit::looks_like_quantity(&tag.text) {
            let message = format!("`{}` is neither a tag nor a value", tag.text);
            self.report(
                Problem::new("unknown-tag", tag.span, message, "unknown tag")
                    .help(format!("write `{value}`")),
            );
            return;
        }
        let modes: Vec<&str> = self.model.modes.iter().map(|(_, mode)| mode.name.tag.as_str()).collect();
        let mut options = self.tags_of(PLANT);
        options.extend(modes);
        let help = match nearest(&tag.text, options.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => all_declared(&options),
        };
        let message = format!("no quantity, condition or mode has the name `{}`", tag.text);
        self.report(Problem::new("unknown-tag", tag.span, message, "unknown tag").help(help));
    }

    /// Every mode with a name, of any group.
    fn modes_named(&self, name: &str) -> Vec<ModeId> {
        self.model.modes.iter().filter(|(_, mode)| mode.name.tag == name).map(|(id, _)| id).collect()
    }

    fn mode_texts(&self, modes: &[ModeId]) -> String {
        let text = |mode: &ModeId| {
            let mode = &self.model.modes[*mode];
            format!("`{} = {}`", self.model.groups[mode.group].name.tag, mode.name.tag)
        };
        modes.iter().map(text).collect::<Vec<_>>().join(" or ")
    }

    fn plant_comparison(
        &mut self,
        comparison: &Comparison,
        span: Span,
        field: &str,
    ) -> Option<Tree<PlantAtom>> {
        let declared =
            comparison.left.as_name().and_then(|tag| Some((tag, self.declared(&tag.text, PLANT)?)));
        match declared {
            Some((_, declared)) if declared.class == Class::Group => {
                let group = GroupId::from_index(declared.index);
                self.mode_comparison(comparison, span, group)
                    .map(|(mode, negated)| literal(PlantAtom::Mode(mode), negated))
            }
            Some((tag, declared)) if declared.class == Class::Condition => {
                let message = format!("`{}` is a condition; it is true or not, and stands alone", tag.text);
                self.incomplete(span, message, format!("write `{0}` or `NOT {0}`", tag.text));
                None
            }
            Some((tag, declared)) if declared.class != Class::Quantity => {
                self.not_about_the_plant(tag, declared, field);
                None
            }
            _ => self.linear(comparison, span, field).map(Tree::Atom),
        }
    }

    /// `cell = running`, or `cell <> running` (negated).
    pub(super) fn mode_comparison(
        &mut self,
        comparison: &Comparison,
        span: Span,
        group: GroupId,
    ) -> Option<(ModeId, bool)> {
        let negated = match comparison.op {
            Op::Equal => false,
            Op::NotEqual => true,
            _ => {
                self.incomplete(comparison.op_span, "modes have no order".into(), "write `=` or `<>`".into());
                return None;
            }
        };
        let Some(mode) = comparison.right.as_name() else {
            self.incomplete(span, "this names no mode".into(), "write for example `cell = running`".into());
            return None;
        };
        let mode = word(mode);
        Some((self.mode_of(group, &mode.text, mode.span)?, negated))
    }
}

/// What an expression under a key speaks of.
fn about(field: &str) -> &'static str {
    match field {
        "when" => "a hazard is about the plant, not about a reading or a position",
        "acts_when" => "a passive device acts on the plant itself",
        _ => "a coupling ties facts of the plant, never a reading or a position",
    }
}
