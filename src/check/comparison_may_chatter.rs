//! Comparisons without a deadband that switch an actuator or an alarm to and fro.
//!
//! # What it checks
//! Every cause that is not latched, protects or warns and demands something at once: its comparisons read a sensor with a
//! deadband.
//!
//! # Why it matters
//! A reading at the set point moves a little all the time. Without a deadband the trip comes and goes with it: contactors
//! wear, motors start too often, and an alarm that chatters is switched off by the people who hear it.
//!
//! # How it is decided
//! Read off the model: `deadband` of the sensor is 0 or absent, the cause has no `latched: true`, an `on_delay` of 0 s, and
//! an effect. Not asked of `=` and `<>`. One finding names all.
//!
//! # What it does not see
//! Whether the reading ever stays near the set point. A filter that calms it. Deadbands of the controller that are not
//! declared at the sensor.
//!
//! # Example
//! A fan that starts at 45 degC and stops below 45 degC.
//!
//! # How to resolve
//! Give the sensor the `deadband` that the controller has; or latch the trip, or delay it.
//!
//! # References
//! IEC 62682 on chattering alarms and deadbands: recalled, not verified.

use super::words::list;
use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, InputAtom, Model, Observes, Relation, Time};
use crate::syntax::kind::Purpose;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let chattering = |cause: &Cause| -> Vec<String> {
        let mut tags: Vec<String> = Vec::new();
        for atom in cause.when.atoms() {
            let InputAtom::Compare { input, relation, .. } = atom else { continue };
            let Observes::Quantity { deadband, .. } = &model.inputs[*input].observes else { continue };
            let tag = &model.inputs[*input].name.tag;
            let either_way = matches!(relation, Relation::Equal | Relation::Differs);
            if deadband.is_zero() && !either_way && !tags.contains(tag) {
                tags.push(tag.clone());
            }
        }
        tags
    };
    let causes = model.causes.iter().filter(|(_, cause)| switches(model, cause));
    let all: Vec<_> =
        causes.map(|(id, cause)| (id, chattering(cause))).filter(|(_, tags)| !tags.is_empty()).collect();
    let Some((first, _)) = all.first() else { return Vec::new() };
    let mut finding = about_element(
        model,
        Check::ComparisonMayChatter,
        Severity::Note,
        Element::Cause(*first),
        model.causes[*first].when_span,
    );
    finding.elements = all.iter().map(|(id, _)| model.causes[*id].name.tag.clone()).collect();
    let each: Vec<String> = all
        .iter()
        .map(|(id, tags)| format!("{} ({})", model.causes[*id].name.tag, tags.join(", ")))
        .collect();
    let (come, go, compare) = match each.len() {
        1 => ("comes", "goes", "compares"),
        _ => ("come", "go", "compare"),
    };
    finding.sentence = format!(
        "{} {come} and {go} with a reading at the set point: without a latch, {} {compare} with a sensor that has no \
         deadband.",
        list(&each),
        if each.len() == 1 { "it" } else { "they" },
    );
    let places = all.iter().skip(1).map(|(id, _)| (model.causes[*id].when_span, "the same".to_string()));
    finding.also = places.collect();
    vec![finding]
}

/// Whether something is switched as soon as the cause is true, and back as soon as it is not.
fn switches(model: &Model, cause: &Cause) -> bool {
    let counts = reading::protects(cause) || cause.purpose == Purpose::Alarm;
    let at_once = cause.on_delay == Time::Known(crate::exact::Exact::zero());
    counts && !cause.latched && at_once && !reading::demanded(model, cause).is_empty()
}
