//! An alarm that may come no earlier than the trip that it announces.
//!
//! # What it checks
//! For every cause with `purpose: alarm` and every protecting cause that compares the same quantity in the same direction
//! in a common mode: the alarm is surely true before the trip can be.
//!
//! # Why it matters
//! An alarm is there so that somebody can act before the plant trips. One that comes with the trip only tells what everybody
//! hears.
//!
//! # How it is decided
//! Read off the model, with both accuracies: rising, set point of the alarm + its accuracy <= set point of the trip − its
//! accuracy; falling, the other way round.
//!
//! # What it does not see
//! Whether there is time enough between them for the person who must act: `alarm-leaves-no-time` tells that. Alarms that ask for a bad signal or a lost link
//! tell of a fault, and are not compared. Conditions of several comparisons are compared one
//! by one.
//!
//! # Example
//! Alarm at 24 %LFL, trip at 25 %LFL, both heads within 3 %LFL.
//!
//! # How to resolve
//! Move the alarm further from the trip, or take a better head for it.
//!
//! # References
//! IEC 62682 on alarm set points: recalled, not verified.

use super::compared::apart;
use super::{Check, Seen, about_element, reading};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, InputAtom, Model, Observes, QuantityId, Relation};
use crate::source::Span;
use crate::syntax::kind::Purpose;

/// A comparison of a cause.
struct Compared<'m> {
    quantity: QuantityId,
    rising: bool,
    set_point: &'m Exact,
    accuracy: &'m Exact,
    span: Span,
}

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, alarm) in model.causes.iter().filter(|(_, cause)| cause.purpose == Purpose::Alarm) {
        for (_, trip) in model.causes.iter().filter(|(_, cause)| reading::protects(cause)) {
            if apart(alarm, trip) || diagnoses(alarm) {
                continue;
            }
            let trips = comparisons(model, trip);
            let early = |announces: &Compared<'_>, trips: &Compared<'_>| match announces.rising {
                true => announces.set_point + announces.accuracy <= trips.set_point - trips.accuracy,
                false => announces.set_point - announces.accuracy >= trips.set_point + trips.accuracy,
            };
            let late = comparisons(model, alarm).into_iter().find(|announces| {
                let same = |trips: &&Compared<'_>| {
                    (trips.quantity, trips.rising) == (announces.quantity, announces.rising)
                };
                trips.iter().filter(same).any(|trips| !early(announces, trips))
            });
            let Some(late) = late else { continue };
            let mut finding = about_element(
                model,
                Check::AlarmNotBeforeTrip,
                Severity::Warning,
                Element::Cause(id),
                late.span,
            );
            finding.elements.push(trip.name.tag.clone());
            finding.sentence = format!(
                "With the accuracies of their sensors, the alarm {} (`{}`) may come no earlier than the trip {} (`{}`).",
                alarm.name.tag, alarm.text, trip.name.tag, trip.text
            );
            finding.also = vec![(trip.when_span, "the trip".to_string())];
            found.push(finding);
        }
    }
    found
}

/// The alarm asks for a bad signal or a lost link: it tells of a fault, and need not come before a trip.
fn diagnoses(alarm: &Cause) -> bool {
    alarm.when.atoms().into_iter().any(|atom| matches!(atom, InputAtom::Bad(_) | InputAtom::LinkLost(_)))
}

/// The comparisons of a condition that do not stand under NOT.
fn comparisons<'m>(model: &'m Model, cause: &'m Cause) -> Vec<Compared<'m>> {
    let mut all = Vec::new();
    for (atom, negated) in reading::literals(&cause.when) {
        let InputAtom::Compare { input, relation, set_point, span, .. } = atom else { continue };
        let Observes::Quantity { quantity, accuracy, .. } = &model.inputs[*input].observes else { continue };
        let rising = match relation {
            Relation::AtLeast | Relation::Above => true,
            Relation::AtMost | Relation::Below => false,
            Relation::Equal | Relation::Differs => continue,
        };
        if !negated {
            all.push(Compared { quantity: *quantity, rising, set_point, accuracy, span: *span });
        }
    }
    all
}
