//! A time from the set point to harm that the limit and the rate do not leave.
//!
//! # What it checks
//! For every hazard with `harm_after_set_point` and every cause credited for it that compares a quantity with a declared
//! worst rate: limit and rate leave at least that time between the set point and harm. And that the causes credited for it
//! have one set point for each quantity, since one time cannot run from two.
//!
//! # Why it matters
//! A time that was counted from the fault, or from another set point, and is written as if it ran from this one, makes every
//! trip look quicker than it is. Here the model says two things about the same time.
//!
//! # How it is decided
//! The head start of the comparison (meaning.md §7): from the moment when, with its accuracy, it is surely true to the
//! beginning of harm, at the worst rate. Refuted if it is less than `harm_after_set_point`; `within` comes on top of either.
//! Set points are compared as written, of comparisons that go the same way.
//!
//! # What it does not see
//! Quantities without a rate, without a normal range, or that the hazard does not depend on: there is nothing to compare.
//!
//! # Example
//! Harm at 60 %LFL, set point 25 %LFL, 0.5 %LFL/s and 3 %LFL of accuracy leave 64 s, and the model declares 90 s.
//!
//! # How to resolve
//! Find out from which moment the time was counted. Correct it, the rate or the limit; or leave `harm_after_set_point` out,
//! so that limit and rate decide. Of several set points: give limit and rate, or one set point to all.
//!
//! # References
//! Common practice, no source.

use super::compared::{Comparison, comparisons};
use super::{Check, Seen, about_element, about_hazard, reading, words};
use crate::assess::InTime;
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, InputAtom, Model, Observes, Time};
use crate::semantics::{Compared, Onset, head_start};
use crate::source::Span;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for timed in &seen.assessment.timed {
        let hazard = &model.hazards[timed.hazard];
        let Some(Time::Known(declared)) = &hazard.after_set_point else { continue };
        found.extend(from_several(model, timed, declared));
        for id in words::credited(model, timed.hazard) {
            let cause = &model.causes[id];
            let Some((start, text, span)) = shortest(model, timed, cause) else { continue };
            if start >= *declared {
                continue;
            }
            let element = Element::Cause(id);
            let tag = &hazard.name.tag;
            let place = model.written(tag, "harm_after_set_point").unwrap_or(hazard.name.span);
            let mut finding =
                about_element(model, Check::ClocksContradict, Severity::Serious, element, place);
            finding.hazard = Some(timed.hazard);
            finding.modes = vec![timed.mode];
            finding.sentence = format!(
                "{tag} is said to harm {declared} s after the set point of {}, and from `{text}`, with the accuracy of its \
                 sensor, limit and rate leave {start} s.",
                cause.name.tag
            );
            finding.also = vec![(span, "the set point".to_string())];
            found.push(finding);
        }
    }
    found
}

/// The finding that one time is said to run from several set points of one quantity.
fn from_several(model: &Model, timed: &InTime, declared: &Exact) -> Option<Finding> {
    let hazard = &model.hazards[timed.hazard];
    let mut seen: Vec<(Comparison<'_>, String)> = Vec::new();
    for id in words::credited(model, timed.hazard) {
        let cause = &model.causes[id];
        for one in comparisons(model, cause) {
            let same =
                |other: &Comparison<'_>| one.quantity == other.quantity && one.rising() == other.rising();
            let differs =
                |(other, _): &&(Comparison<'_>, String)| same(other) && one.set_point != other.set_point;
            if let Some((other, before)) = seen.iter().find(differs) {
                let said = |one: &Comparison<'_>, tag: &str| {
                    let at = super::compared::value(model, one.quantity, one.set_point);
                    format!("{at} of {tag}")
                };
                let tag = &hazard.name.tag;
                let place = model.written(tag, "harm_after_set_point").unwrap_or(hazard.name.span);
                let mut finding = about_hazard(model, Check::ClocksContradict, timed.hazard, timed.mode);
                finding.place = place;
                finding.sentence = format!(
                    "{tag} is said to harm {declared} s after the set point, and the causes credited for it have several on {}: \
                     {} and {}. One time cannot run from both.",
                    model.quantities[one.quantity].name.tag,
                    said(other, before),
                    said(&one, &cause.name.tag)
                );
                finding.also =
                    vec![(other.span, "one set point".to_string()), (one.span, "another one".to_string())];
                return Some(finding);
            }
            seen.push((one, cause.name.tag.clone()));
        }
    }
    None
}

/// The shortest head start of a comparison of the cause, with the comparison as written.
fn shortest(model: &Model, timed: &InTime, cause: &Cause) -> Option<(Exact, String, Span)> {
    let mut shortest: Option<(Exact, String, Span)> = None;
    for (atom, negated) in reading::literals(&cause.when) {
        let InputAtom::Compare { input, relation, set_point, span, .. } = atom else { continue };
        let Observes::Quantity { quantity, accuracy, .. } = &model.inputs[*input].observes else { continue };
        if negated {
            continue;
        }
        for number in 0..model.hazards[timed.hazard].onset.len() {
            let onset = Onset { hazard: timed.hazard, number, timing: &timed.timing };
            let compared = Compared { quantity: *quantity, relation: *relation, set_point, accuracy };
            let Some(start) = head_start(model, compared, onset, Some(timed.mode)) else { continue };
            if shortest.as_ref().is_none_or(|(least, ..)| start < *least) {
                let at = super::compared::value(model, *quantity, set_point);
                let text = format!("{} {} {at}", model.inputs[*input].name.tag, relation.text());
                shortest = Some((start, text, *span));
            }
        }
    }
    shortest
}
