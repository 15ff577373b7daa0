//! Comparisons of sums of quantities: `surface >= cell - 20 K`, `pack <= 256 * cell_voltage - 8 V`.
//!
//! Everything is brought to one side in base units, exactly. Temperatures and absolute pressures are *points* of a
//! scale: their sum means something only where the points cancel (a point compares with a point, a difference of
//! points with a difference). The rule: over both sides, with the right side subtracted, the coefficients of all
//! points, quantities and literals, add up to zero. A literal in `degC`, `degF` or an absolute pressure is a point;
//! one in `K` is a difference, and refused where it is alone against one temperature (`cell >= 350 K`).

use crate::exact::Exact;
use crate::model::lower::Lowering;
use crate::model::lower::expression::relation;
use crate::model::lower::tag::Class;
use crate::model::{Element, Id, PlantAtom, QuantityId};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::expr::{Comparison, Literal, Sum, Tag, Term, Value};
use crate::unit::{Kind, Measure, Unit, difference_kind};

/// One side brought over: signed coefficients of quantities, and literals with their sign.
#[derive(Default)]
struct Parts<'e> {
    quantities: Vec<(Exact, QuantityId, &'e Tag)>,
    /// Coefficient +1 or −1, whether the number itself has a minus sign, the literal.
    literals: Vec<(Exact, bool, &'e Literal)>,
}

impl Lowering<'_> {
    /// A comparison of two sums.
    pub(in crate::model::lower) fn linear(
        &mut self,
        comparison: &Comparison,
        span: Span,
        field: &str,
    ) -> Option<PlantAtom> {
        let mut parts = Parts::default();
        let left = self.side(&comparison.left, &Exact::int(1), field, &mut parts);
        let right = self.side(&comparison.right, &Exact::int(-1), field, &mut parts);
        if !(left && right) {
            return None;
        }
        let Some((_, first, first_tag)) = parts.quantities.first() else {
            let message = "no quantity stands in this comparison".to_string();
            self.incomplete(span, message, "compare a quantity of the plant: `gas >= 60 %LFL`".into());
            return None;
        };
        let kind = self.kind_of(*first)?;
        if !self.one_kind(&parts, kind, first_tag) {
            return None;
        }
        let constant = self.constant(&parts, span)?;
        let mut sum: Vec<(Exact, QuantityId)> = Vec::new();
        for (coefficient, id, _) in &parts.quantities {
            match sum.iter_mut().find(|(_, other)| other == id) {
                Some((own, _)) => *own = &*own + coefficient,
                None => sum.push((coefficient.clone(), *id)),
            }
        }
        sum.retain(|(coefficient, _)| !coefficient.is_zero());
        if sum.is_empty() {
            let message = "the quantities of this comparison cancel out".to_string();
            self.incomplete(span, message, "nothing that can vary is left: correct one side".into());
            return None;
        }
        Some(PlantAtom::Linear { sum, relation: relation(comparison.op), bound: -&constant })
    }

    /// Collects the terms of one side; false if a name in it is no quantity.
    fn side<'e>(&mut self, sum: &'e Sum, sign: &Exact, field: &str, parts: &mut Parts<'e>) -> bool {
        let mut good = true;
        for (number, term) in sum.terms.iter().enumerate() {
            let Term { negative, value, .. } = term;
            let signed = if *negative { -sign } else { sign.clone() };
            match value {
                Value::Literal(literal) if number == 0 => {
                    parts.literals.push((sign.clone(), *negative, literal))
                }
                Value::Literal(literal) => parts.literals.push((signed, false, literal)),
                Value::Name { factor, tag } => match self.quantity_named(tag, field) {
                    Some(id) => {
                        let factor = factor.clone().unwrap_or_else(|| Exact::int(1));
                        parts.quantities.push((&signed * &factor, id, tag));
                    }
                    None => good = false,
                },
            }
        }
        good
    }

    fn quantity_named(&mut self, tag: &Tag, field: &str) -> Option<QuantityId> {
        let Some(declared) = self.declared(&tag.text, &[Class::Quantity]) else {
            self.unknown_quantity(tag);
            return None;
        };
        match declared.class {
            Class::Quantity => {
                let id = QuantityId::from_index(declared.index);
                (!self.unsound.contains(&Element::Quantity(id))).then_some(id)
            }
            Class::Condition | Class::Group => {
                let message = format!("`{}` is {}, and no value to compare", tag.text, declared.class.one());
                self.incomplete(
                    tag.span,
                    message,
                    "compare quantities with values or with each other".into(),
                );
                None
            }
            _ => {
                self.not_about_the_plant(tag, declared, field);
                None
            }
        }
    }

    fn unknown_quantity(&mut self, tag: &Tag) {
        match crate::unit::looks_like_quantity(&tag.text) {
            Some(value) => {
                let message = format!("`{}` is neither a tag nor a value", tag.text);
                self.report(
                    Problem::new("unknown-tag", tag.span, message, "unknown tag")
                        .help(format!("write `{value}`")),
                );
            }
            None => self.unknown_tag(&tag.text, tag.span, &[Class::Quantity]),
        }
    }

    /// Whether every quantity is on the scale of the first, as a value or as a difference.
    fn one_kind(&mut self, parts: &Parts, kind: Kind, first: &Tag) -> bool {
        let mut good = true;
        for (_, id, tag) in &parts.quantities {
            let Some(other) = self.kind_of(*id) else { return false };
            if difference_kind(other) != difference_kind(kind) {
                good = false;
                let message = format!(
                    "`{}` is {}, `{}` is {}: they are neither added nor compared",
                    tag.text,
                    other.with_article(),
                    first.text,
                    kind.with_article()
                );
                self.report(
                    Problem::new("kinds-do-not-match", tag.span, message, "another kind of quantity")
                        .help("compare quantities of one kind only")
                        .also(first.span, "compared with this"),
                );
            }
        }
        good
    }

    /// The sum of the literals in base units, if units fit and the points of the scale cancel.
    fn constant(&mut self, parts: &Parts, span: Span) -> Option<Exact> {
        let kinds: Vec<Kind> = parts.quantities.iter().filter_map(|(_, id, _)| self.kind_of(*id)).collect();
        let point = kinds.iter().copied().find(|kind| difference_kind(*kind) != *kind);
        let difference = difference_kind(*kinds.first()?);
        let mut points = Exact::zero();
        for ((coefficient, ..), kind) in parts.quantities.iter().zip(&kinds) {
            if Some(*kind) == point {
                points = &points + coefficient;
            }
        }
        let alone = lone_point(parts);
        let mut constant = Exact::zero();
        let mut good = true;
        let mut marked = None;
        for (coefficient, negative, literal) in &parts.literals {
            let is_point = point.filter(|point| alone || written_as(literal, *point, difference));
            match literal.quantity(*negative, is_point.unwrap_or(difference)) {
                Ok(quantity) => constant = &constant + &(coefficient * quantity.value()),
                Err(problems) => {
                    good = false;
                    self.problems.extend(problems);
                }
            }
            if is_point.is_some() {
                points = &points + coefficient;
                marked = Some(literal.span);
            }
        }
        if !good {
            return None;
        }
        if !points.is_zero() {
            self.points_left(point.unwrap_or(difference), difference, marked.unwrap_or(span));
            return None;
        }
        Some(constant)
    }

    fn points_left(&mut self, point: Kind, difference: Kind, span: Span) {
        let (name, unit) = match point {
            Kind::Of(Measure::Temperature) => ("temperatures", "degC"),
            _ => ("absolute pressures", "bara"),
        };
        let apart = difference.units().first().map_or_else(String::new, Unit::to_string);
        let message = format!("these {name} add up neither to one of them nor to a difference");
        let help = format!(
            "one of the {name} compares with a value in `{unit}`, a difference of two with a value in `{apart}`: \
             `a >= 60 {unit}`, `a - b >= 20 {apart}`, `a >= b + 20 {apart}`"
        );
        self.report(
            Problem::new("points-do-not-cancel", span, message, "does not fit the other side").help(help),
        );
    }
}

/// One quantity with coefficient 1 against one literal: then the literal is on the scale of the quantity.
fn lone_point(parts: &Parts) -> bool {
    match (parts.quantities.as_slice(), parts.literals.as_slice()) {
        ([(a, ..)], [(b, ..)]) => (a + b).is_zero(),
        _ => false,
    }
}

/// Whether the unit of a literal can only be one of points.
fn written_as(literal: &Literal, point: Kind, difference: Kind) -> bool {
    let Some(unit) = &literal.unit else { return false };
    let found = Unit::find(&unit.text);
    found.iter().any(|unit| unit.kind() == point) && !found.iter().any(|unit| unit.kind() == difference)
}
