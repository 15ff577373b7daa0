//! Reads the numbers that are put into a formula, and makes values with units of what comes out.

use super::super::Lowering;
use super::tag_behind_from;
use crate::exact::Exact;
use crate::model::{Calculated, Formula, Operand};
use crate::physics::Bounds;
use crate::problem::Problem;
use crate::source::Scalar;
use crate::unit::{Kind, Measure, Quantity, Unit};

/// A number that was put in.
pub(super) struct Put {
    /// Its bounds, in the base unit.
    pub bounds: Bounds,
    /// What sort of quantity it is.
    pub kind: Kind,
}

/// Which numbers make sense.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    /// Every number.
    Any,
    /// 0 or more.
    NotNegative,
    /// More than 0.
    Positive,
}

/// What a number is called: its symbol, the key under which it stands, what it is.
pub(super) type Called<'a> = (&'a str, &'a str, &'a str);

/// What a formula takes to be so, and where it comes from.
pub(super) struct Basis {
    pub assumes: &'static str,
    pub source: &'static str,
}

/// The numbers put into one formula, so far.
#[derive(Default)]
pub(super) struct Sheet {
    pub operands: Vec<Operand>,
    pub remarks: Vec<String>,
}

impl Sheet {
    /// A number that no key of the model holds.
    pub fn constant(&mut self, symbol: &str, meaning: &str, value: impl Into<String>) {
        let operand =
            Operand { symbol: symbol.into(), meaning: meaning.into(), value: value.into(), from: None };
        self.operands.push(operand);
    }

    /// Something that was decided on the way.
    pub fn remark(&mut self, text: impl Into<String>) {
        self.remarks.push(text.into());
    }

    /// The formula with these numbers.
    pub fn formula(self, kind: &'static str, text: impl Into<String>, basis: &Basis) -> Formula {
        let Basis { assumes, source } = *basis;
        Formula { kind, text: text.into(), operands: self.operands, remarks: self.remarks, assumes, source }
    }
}

/// A result in a unit of its kind; every number that is no short fraction is rounded outwards.
pub(super) fn calculated(bounds: &Bounds, unit: &str, kind: Kind) -> Calculated {
    let units = Unit::find(unit);
    let unit = units.into_iter().find(|unit| unit.kind() == kind).or_else(|| kind.units().into_iter().next());
    let unit = unit.unwrap_or_else(Unit::none);
    let bounds = bounds.tidy();
    Calculated {
        low: Quantity::from_base(bounds.low().clone(), unit),
        high: Quantity::from_base(bounds.high().clone(), unit),
    }
}

/// A time, in the unit in which people say it.
pub(super) fn time(bounds: &Bounds) -> Calculated {
    let unit = match bounds.high() {
        seconds if *seconds < Exact::int(300) => "s",
        seconds if *seconds < Exact::int(3 * 3600) => "min",
        _ => "h",
    };
    calculated(bounds, unit, Measure::Time.into())
}

impl Lowering<'_> {
    /// A number put in; of the kind if one is due, otherwise of the kind that its unit says. `None` where it is wrong.
    pub(super) fn put(
        &mut self,
        sheet: &mut Sheet,
        leaf: &Scalar,
        kind: Option<Kind>,
        sign: Sign,
        called: Called,
    ) -> Option<Put> {
        if leaf.broken {
            return None;
        }
        let (symbol, field, meaning) = called;
        let (put, value, from) = match tag_behind_from(leaf) {
            Some(tag) => self.put_from(leaf, &tag, kind, field)?,
            None => {
                let quantity = match kind {
                    Some(kind) => self.value_of(leaf, kind),
                    None => self.value_of_any_kind(leaf),
                }?;
                let bounds = Bounds::exactly(quantity.value().clone());
                (Put { bounds, kind: quantity.kind() }, quantity.to_string(), None)
            }
        };
        let low = put.bounds.low();
        let wrong = match sign {
            Sign::Any => false,
            Sign::NotNegative => low.is_negative(),
            Sign::Positive => low.is_negative() || low.is_zero(),
        };
        if wrong {
            let least = if sign == Sign::Positive { "above zero" } else { "zero or more" };
            let message = format!("`{field}` is {least}: `{value}`");
            let problem = Problem::new("out-of-range", leaf.span, message, format!("not {least}"));
            self.report(problem.help(
                "the formula counts with amounts, not with directions: correct the number or its sign",
            ));
            return None;
        }
        let operand = Operand { symbol: symbol.into(), meaning: meaning.into(), value, from };
        sheet.operands.push(operand);
        Some(put)
    }

    fn put_from(
        &mut self,
        leaf: &Scalar,
        tag: &Scalar,
        kind: Option<Kind>,
        field: &str,
    ) -> Option<(Put, String, Option<String>)> {
        let declared = self.named_behind_from(leaf, tag, field)?;
        let other = self.sheets.done.get(&declared.index)?;
        let result = &other.result;
        let (low, high) = (result.low.value().clone(), result.high.value().clone());
        let found = result.low.kind();
        let shown = result.put_in();
        if let Some(kind) = kind.filter(|kind| *kind != found) {
            self.calculated_wrong_kind(leaf.span, &tag.text, found, kind, declared.span);
            return None;
        }
        Some((Put { bounds: Bounds::between(low, high), kind: found }, shown, Some(tag.text.clone())))
    }
}
