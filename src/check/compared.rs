//! Comparisons of causes with set points, and when causes can be true together: facts of structure that several checks use.
//!
//! Nothing here decides a claim. References from one cause to another are not followed.

use super::reading;
use crate::exact::Exact;
use crate::model::{
    Cause, InputAtom, InputId, Interval, ModeId, Model, NormalIn, Observes, QuantityId, Relation, Tree,
};
use crate::source::Span;
use crate::unit::{Quantity, difference_kind};

/// A comparison of a cause with NOT resolved into the opposite relation.
#[derive(Debug, Clone, Copy)]
pub struct Comparison<'m> {
    /// The sensor.
    pub input: InputId,
    /// What it measures.
    pub quantity: QuantityId,
    /// How it compares; never `=` or `<>`.
    pub relation: Relation,
    /// With what.
    pub set_point: &'m Exact,
    /// Largest error of the sensor.
    pub accuracy: &'m Exact,
    /// Its place in the file.
    pub span: Span,
}

impl Comparison<'_> {
    /// Whether it becomes true while the quantity rises.
    pub fn rising(&self) -> bool {
        matches!(self.relation, Relation::AtLeast | Relation::Above)
    }
}

/// An atom as a comparison; `None` if it is none, or asks for `=` or `<>`.
pub fn comparison<'m>(model: &'m Model, atom: &'m InputAtom, negated: bool) -> Option<Comparison<'m>> {
    let InputAtom::Compare { input, relation, set_point, span, .. } = atom else { return None };
    let Observes::Quantity { quantity, accuracy, .. } = &model.inputs[*input].observes else { return None };
    let relation = if negated { relation.negated() } else { *relation };
    let (input, quantity, span) = (*input, *quantity, *span);
    let ordered = !matches!(relation, Relation::Equal | Relation::Differs);
    ordered.then_some(Comparison { input, quantity, relation, set_point, accuracy, span })
}

/// All comparisons of a condition.
pub fn comparisons<'m>(model: &'m Model, cause: &'m Cause) -> Vec<Comparison<'m>> {
    let literals = reading::literals(&cause.when).into_iter();
    literals.filter_map(|(atom, negated)| comparison(model, atom, negated)).collect()
}

/// The comparisons of which each alone makes the condition true: those that stand in it only behind OR and 1ooN.
pub fn enough_alone<'m>(model: &'m Model, cause: &'m Cause) -> Vec<Comparison<'m>> {
    fn walk<'m>(model: &'m Model, tree: &'m Tree<InputAtom>, negated: bool, found: &mut Vec<Comparison<'m>>) {
        let any = match tree {
            Tree::Atom(atom) => return found.extend(comparison(model, atom, negated)),
            Tree::Not(part) => return walk(model, part, !negated, found),
            Tree::Or(parts) if !negated => parts,
            Tree::And(parts) if negated => parts,
            Tree::And(parts) | Tree::Or(parts) if parts.len() == 1 => parts,
            Tree::Vote { m, of } if !negated && *m == 1 => of,
            Tree::Vote { m, of } if negated && *m == of.len() => of,
            Tree::And(_) | Tree::Or(_) | Tree::Vote { .. } => return,
        };
        any.iter().for_each(|part| walk(model, part, negated, found));
    }
    let mut found = Vec::new();
    walk(model, &cause.when, false, &mut found);
    found
}

/// Whether two causes are never armed together.
pub fn apart(one: &Cause, other: &Cause) -> bool {
    one.armed
        .iter()
        .any(|(group, modes)| other.armed.get(group).is_some_and(|others| modes.is_disjoint(others)))
}

/// What a mode says of a quantity: nothing, that it is free, or a range.
pub enum Said<'m> {
    /// Nothing.
    Nothing,
    /// It may be anywhere.
    Free,
    /// It is in this range.
    Range(&'m Interval),
}

/// What a mode says of a quantity.
pub fn said(model: &Model, mode: ModeId, quantity: QuantityId) -> Said<'_> {
    let about = model.modes[mode].normal.iter().find_map(|normal| match normal {
        NormalIn::Range(of, range) if *of == quantity => Some(Said::Range(range)),
        NormalIn::FreeQuantity(of) if *of == quantity => Some(Said::Free),
        _ => None,
    });
    about.unwrap_or(Said::Nothing)
}

/// A value of a quantity in its unit.
pub fn value(model: &Model, quantity: QuantityId, value: &Exact) -> String {
    Quantity::from_base(value.clone(), model.quantities[quantity].unit).to_string()
}

/// A difference between two values of a quantity, in a unit for differences.
pub fn difference(model: &Model, quantity: QuantityId, value: &Exact) -> String {
    let element = &model.quantities[quantity];
    let kind = difference_kind(element.kind);
    let unit = if kind == element.kind { Some(element.unit) } else { kind.units().first().copied() };
    match unit {
        Some(unit) => Quantity::from_base(value.clone(), unit).to_string(),
        None => value.to_string(),
    }
}
