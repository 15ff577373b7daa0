//! Puts a calculated value into a field: the bound on the safe side of the field, or the rounded value if it lies there.
//!
//! The only place where a field takes a calculated value.

use super::super::Lowering;
use super::super::tag::{Class, Declared};
use super::field::{Field, Of};
use super::tag_behind_from;
use crate::model::{Calculation, Side, Taken};
use crate::problem::Problem;
use crate::source::{Scalar, Span};
use crate::unit::{Kind, Quantity};

impl Lowering<'_> {
    /// The value of a field, written or calculated, of a kind or of whatever kind it is; `None` where it is wrong.
    pub(in crate::model::lower) fn figure(
        &mut self,
        leaf: &Scalar,
        kind: Option<Kind>,
        of: Of,
    ) -> Option<Quantity> {
        if leaf.broken {
            return None;
        }
        match (tag_behind_from(leaf), kind) {
            (Some(tag), kind) => self.take(leaf, &tag, kind, of),
            (None, Some(kind)) => self.value_of(leaf, kind),
            (None, None) => self.value_of_any_kind(leaf),
        }
    }

    fn take(&mut self, leaf: &Scalar, tag: &Scalar, kind: Option<Kind>, of: Of) -> Option<Quantity> {
        let (key, field) = of;
        let declared = self.named_behind_from(leaf, tag, field.name())?;
        let done = self.sheets.done.get(&declared.index)?;
        let found = done.result.low.kind();
        if let Some(kind) = kind.filter(|kind| *kind != found) {
            self.calculated_wrong_kind(leaf.span, &tag.text, found, kind, declared.span);
            self.note_taken(declared.index, leaf.span, None);
            return None;
        }
        let side = field.side();
        let bound = done.result.on(side).clone();
        let value = match &done.taken_as {
            None => bound,
            Some(taken) if safe(side, taken, &bound) => taken.clone(),
            Some(taken) => {
                let problem = wrong_side(done, taken, field, leaf.span, declared.span);
                self.report(problem);
                self.note_taken(declared.index, leaf.span, None);
                return None;
            }
        };
        let taken = Taken { tag: key.text.clone(), field: field.name(), side, value: value.clone() };
        self.note_taken(declared.index, leaf.span, Some(taken));
        Some(value)
    }

    /// Notes that a field takes a calculated value; without one, that it tried to.
    fn note_taken(&mut self, index: usize, span: Span, taken: Option<Taken>) {
        let Some(taken) = taken else {
            self.sheets.tried.insert(index);
            return;
        };
        let all = self.sheets.taken.entry(index).or_default();
        if !all.iter().any(|(at, other)| *at == span && *other == taken) {
            all.push((span, taken));
        }
    }

    /// The calculation behind `from`; otherwise a problem is recorded.
    pub(super) fn named_behind_from(&mut self, leaf: &Scalar, tag: &Scalar, field: &str) -> Option<Declared> {
        if tag.text.is_empty() {
            let problem = Problem::new("value-missing", leaf.span, "`from` what?", "a tag is missing");
            self.report(problem.help("write the tag of a calculation behind it, or a value with its unit"));
            return None;
        }
        self.find(tag, &[Class::Calculation], field)
    }

    /// The number of the calculation with this tag.
    pub(super) fn calculation_named(&self, tag: &str) -> Option<usize> {
        let declared = self.declared(tag, &[Class::Calculation])?;
        (declared.class == Class::Calculation).then_some(declared.index)
    }

    /// Records that a calculation gives something else than what is due.
    pub(super) fn calculated_wrong_kind(
        &mut self,
        span: Span,
        tag: &str,
        found: Kind,
        due: Kind,
        declared: Span,
    ) {
        let message = format!("`{tag}` gives {}, but {} is due", found.with_article(), due.with_article());
        let label = format!("{} is due", due.with_article());
        let problem = Problem::new("wrong-kind-of-calculation", span, message, label);
        self.report(
            problem
                .help(format!(
                    "write the value with its unit, or name a calculation that gives {}",
                    due.with_article()
                ))
                .also(declared, "the calculation"),
        );
    }

    /// Records that a field takes no calculated value.
    pub(in crate::model::lower) fn takes_no_calculation(&mut self, leaf: &Scalar, tag: &Scalar) {
        let problem = Problem::new(
            "value-not-calculated",
            leaf.span,
            format!(
                "`{}` cannot stand here: neither a greater nor a smaller value is always the safe one for this field",
                leaf.text.trim()
            ),
            "a written value is due",
        );
        let help = match tag.text.is_empty() {
            true => "write the value with its unit".to_string(),
            false => format!(
                "write the value with its unit; with `used_for`, the report still shows the result of `{}`",
                tag.text
            ),
        };
        self.report(problem.help(help));
        if let Some(index) = self.calculation_named(&tag.text) {
            self.note_taken(index, leaf.span, None);
        }
    }
}

fn safe(side: Side, taken: &Quantity, bound: &Quantity) -> bool {
    match side {
        Side::High => taken.value() >= bound.value(),
        Side::Low => taken.value() <= bound.value(),
    }
}

fn wrong_side(done: &Calculation, taken: &Quantity, field: Field, span: Span, declared: Span) -> Problem {
    let (least, side, than) = match field.side() {
        Side::High => ("at least", "greater", "less"),
        Side::Low => ("at most", "smaller", "more"),
    };
    let bound = done.result.decimal(field.side());
    let message = format!(
        "`{}` is taken as `{taken}`, which is {than} than its result of {bound}: not the safe side for `{}`",
        done.name.tag,
        field.name()
    );
    let label = format!("a {side} value is on the safe side here");
    Problem::new("taken-on-the-wrong-side", span, message, label)
        .help(format!("write under `taken_as` {least} {bound}, or leave `taken_as` out"))
        .also(declared, "the calculation")
}
