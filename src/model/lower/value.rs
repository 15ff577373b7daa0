//! Reads values with units where the kind is known: times, ranges, accuracies, rates.
//!
//! Numbers and units themselves are read in `unit`; here it is decided which kind is due and whether the value is
//! sensible (a time is not negative).

use super::Lowering;
use super::calculation::field::Of;
use super::calculation::tag_behind_from;
use crate::exact::Exact;
use crate::model::{Element, Interval, QuantityId, Time};
use crate::problem::Problem;
use crate::syntax::kind::{StatedOrUnknown, Value, ValueOrUnknown};
use crate::syntax::leaf::Scalar;
use crate::unit::spelling::{Complaint, unknown};
use crate::unit::{
    Kind, Measure, Quantity, Range, Unit, difference_kind, parse_quantity, parse_range, parse_span, rate_kind,
};

impl Lowering<'_> {
    /// A time of 0 s or more; `None` where the key is absent or wrong.
    pub(super) fn time(&mut self, value: Option<&ValueOrUnknown>, of: Of) -> Option<Time> {
        let value = value.filter(|value| !value.broken)?;
        if value.text.trim() == "unknown" {
            return Some(Time::Unknown);
        }
        let quantity = self.figure(value, Some(Measure::Time.into()), of);
        self.without_sign(value, quantity?, "a time").map(Time::Known)
    }

    /// A time that is written and never calculated; `None` where it is wrong.
    pub(super) fn stated_time(&mut self, value: &StatedOrUnknown) -> Option<Time> {
        if value.text.trim() == "unknown" && !value.broken {
            return Some(Time::Unknown);
        }
        self.not_negative(value, Measure::Time.into(), "a time").map(Time::Known)
    }

    /// A time that is 0 s where the key is absent.
    pub(super) fn time_or_zero(&mut self, value: Option<&ValueOrUnknown>, of: Of) -> Time {
        match value {
            None => Time::Known(Exact::zero()),
            Some(_) => self.time(value, of).unwrap_or(Time::Unknown),
        }
    }

    /// A time that is unknown where the key is absent.
    pub(super) fn time_or_unknown(&mut self, value: Option<&ValueOrUnknown>, of: Of) -> Time {
        self.time(value, of).unwrap_or(Time::Unknown)
    }

    /// A value of a kind that is written and never calculated; `None` where it is wrong.
    pub(super) fn value_of(&mut self, leaf: &Scalar, kind: Kind) -> Option<Quantity> {
        if leaf.broken {
            return None;
        }
        if let Some(tag) = tag_behind_from(leaf) {
            self.takes_no_calculation(leaf, &tag);
            return None;
        }
        parse_quantity(leaf, kind).map_err(|problems| self.problems.extend(problems)).ok()
    }

    /// A value of a kind that is 0 or more; `None` where it is wrong.
    pub(super) fn not_negative(&mut self, leaf: &Scalar, kind: Kind, what: &str) -> Option<Exact> {
        let quantity = self.value_of(leaf, kind)?;
        self.without_sign(leaf, quantity, what)
    }

    /// The value, if it is not negative.
    fn without_sign(&mut self, leaf: &Scalar, quantity: Quantity, what: &str) -> Option<Exact> {
        if !quantity.value().is_negative() {
            return Some(quantity.value().clone());
        }
        let problem = Problem::new(
            "negative",
            leaf.span,
            format!("{what} is not negative: `{quantity}`"),
            "below zero",
        )
        .help(format!(
            "write it without the sign: `{}`",
            Quantity::from_base(quantity.value().abs(), quantity.unit())
        ));
        self.report(problem);
        None
    }

    /// A difference between two values of a quantity (accuracy, deadband, resolution), 0 or more.
    pub(super) fn difference_of(
        &mut self,
        value: &Value,
        quantity: QuantityId,
        field: &str,
    ) -> Option<Exact> {
        let kind = self.kind_of(quantity)?;
        self.not_negative(value, difference_kind(kind), &format!("`{field}`"))
    }

    /// A rate of change of a quantity per second, 0 or more; `None` where it is absent, `unknown` or wrong.
    pub(super) fn rate(&mut self, value: Option<&ValueOrUnknown>, kind: Kind, of: Of) -> Option<Exact> {
        let field = of.1.name();
        let value = value.filter(|value| !value.broken && value.text.trim() != "unknown")?;
        let Some(kind) = rate_kind(kind) else {
            self.needless_key(value.span, field, format!("{} has no rate of change", kind.with_article()));
            return None;
        };
        let quantity = self.figure(value, Some(kind), of)?;
        self.without_sign(value, quantity, &format!("`{field}`"))
    }

    /// A range of values of a quantity.
    pub(super) fn range_of(&mut self, leaf: &Scalar, quantity: QuantityId) -> Option<Interval> {
        let kind = self.kind_of(quantity)?;
        self.range(leaf, kind).map(interval)
    }

    /// A range of values of a kind.
    pub(super) fn range(&mut self, leaf: &Scalar, kind: Kind) -> Option<Range> {
        if leaf.broken {
            return None;
        }
        parse_range(leaf, kind).map_err(|problems| self.problems.extend(problems)).ok()
    }

    /// What is normal for a value of a kind: a range that may be a single value.
    pub(super) fn normal_range(&mut self, leaf: &Scalar, kind: Kind) -> Option<Interval> {
        if leaf.broken {
            return None;
        }
        parse_span(leaf, kind).map_err(|problems| self.problems.extend(problems)).ok().map(interval)
    }

    /// The kind of a quantity; `None` if its own declaration went wrong.
    pub(super) fn kind_of(&self, quantity: QuantityId) -> Option<Kind> {
        if self.unsound.contains(&Element::Quantity(quantity)) {
            return None;
        }
        Some(self.model.quantities[quantity].kind)
    }

    /// A range whose unit decides its kind. A range in `K` alone is one of temperature differences.
    pub(super) fn range_of_any_kind(&mut self, leaf: &Scalar) -> Option<Range> {
        if leaf.broken {
            return None;
        }
        let kinds: Vec<Kind> = leaf.text.split("..").filter_map(|end| kind_written(end.trim())).collect();
        let point = kinds.iter().copied().find(|kind| *kind == Measure::Temperature.into());
        match point.or(kinds.last().copied()) {
            Some(kind) => self.range(leaf, kind),
            None => {
                let problem = match (
                    leaf.text.contains(".."),
                    unit_text(leaf.text.rsplit("..").next().unwrap_or("")),
                ) {
                    (true, Some(unit)) => not_a_unit(unit).at(part_of(leaf, unit)),
                    (true, None) => Problem::new(
                        "unit-missing",
                        leaf.span,
                        format!("the range `{}` has no unit", leaf.text),
                        "unit missing",
                    )
                    .help("write the unit behind the upper end: `0 .. 100 %LFL`"),
                    (false, _) => Problem::new(
                        "range-form",
                        leaf.span,
                        format!("`{}` is not a range", leaf.text),
                        "not a range",
                    )
                    .help("write both ends and the unit: `0 .. 100 %LFL`"),
                };
                self.report(problem);
                None
            }
        }
    }

    /// A value whose unit decides its kind.
    pub(super) fn value_of_any_kind(&mut self, leaf: &Scalar) -> Option<Quantity> {
        if leaf.broken {
            return None;
        }
        if let Some(kind) = kind_written(leaf.text.trim()) {
            return self.value_of(leaf, kind);
        }
        let problem = match unit_text(&leaf.text) {
            Some(unit) => not_a_unit(unit).at(part_of(leaf, unit)),
            None => Problem::new(
                "unit-missing",
                leaf.span,
                format!("`{}` has no unit", leaf.text),
                "unit missing",
            )
            .help("write the unit behind the number: `120 L/min`"),
        };
        self.report(problem);
        None
    }

    /// The part of the dangerous faults that a proof test reveals: from 0 % to 100 %, or unknown.
    pub(super) fn coverage(&mut self, leaf: &StatedOrUnknown) {
        if leaf.broken || leaf.text.trim() == "unknown" {
            return;
        }
        let Some(share) = self.not_negative(leaf, Measure::Percent.into(), "`coverage`") else { return };
        if share > Exact::int(100) {
            self.report(
                Problem::new(
                    "out-of-range",
                    leaf.span,
                    "`coverage` is at most 100 %",
                    "more than everything",
                )
                .help("it is the part of the dangerous faults that the test reveals"),
            );
        }
    }
}

/// Both ends in the base unit.
pub(super) fn interval(range: Range) -> Interval {
    Interval { low: range.low.value().clone(), high: range.high.value().clone() }
}

/// What stands behind the number.
fn unit_text(value: &str) -> Option<&str> {
    let (_, unit) = value.trim().split_once(char::is_whitespace)?;
    Some(unit.trim())
}

/// The kind of the unit behind a number; `K` counts as a difference.
fn kind_written(value: &str) -> Option<Kind> {
    let found: Vec<Unit> = Unit::find(unit_text(value)?);
    found.last().map(|unit| unit.kind())
}

fn part_of(leaf: &Scalar, word: &str) -> crate::source::Span {
    match leaf.text.rfind(word) {
        Some(start) => leaf.part(start, start + word.len()),
        None => leaf.span,
    }
}

/// A unit that is none, with a way out in any case.
fn not_a_unit(text: &str) -> Complaint {
    let complaint = unknown(text, None);
    match complaint.help {
        Some(_) => complaint,
        None => complaint.help(
            "after a number and a space stands its unit: `12.5 bar`; the language reference lists all units",
        ),
    }
}
