//! Trips of one hazard compare the same quantity with set points that differ by more than the model allows.
//!
//! # What it checks
//! For every quantity with `set_points_within`: the trips that are credited for one hazard and compare the quantity in the
//! same direction have set points that differ by no more than that.
//!
//! # Why it matters
//! Where the controller holds 4.25 V, the station 4.35 V and the pack's own unit 4.30 V, somebody forgot two of them when
//! the limit was changed. Only the first trip acts when it should.
//!
//! # How it is decided
//! Read off the model: every two comparisons of different trips that can be armed together; a comparison under NOT counts
//! as the opposite one. Exactly the difference that is allowed is in order.
//!
//! # What it does not see
//! Quantities without `set_points_within`: their set points may differ on purpose. Set points within one vote, of which
//! `set-points-differ-in-vote` tells. Trips that measure different quantities.
//!
//! # Example
//! One trip at 4.25 V and one at 4.35 V for the same hazard, where 0.02 V are allowed.
//!
//! # How to resolve
//! Give both the same set point from one source; or, if they differ on purpose, say how much under `set_points_within`.
//!
//! # References
//! Common practice, no source.

use super::compared::{Comparison, apart, comparisons, difference, value};
use super::{Check, Seen, about_element, words};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, HazardId, Model, QuantityId};

/// A comparison and the trip that makes it.
type Compared<'m> = (&'m Cause, Comparison<'m>);

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for hazard in model.hazards.ids() {
        for (id, quantity) in model.quantities.iter() {
            let Some(allowed) = &quantity.set_points_within else { continue };
            found.extend(differing(model, hazard, id, allowed));
        }
    }
    found
}

fn differing(model: &Model, hazard: HazardId, quantity: QuantityId, allowed: &Exact) -> Option<Finding> {
    let mut all: Vec<Compared<'_>> = Vec::new();
    for cause in words::credited(model, hazard) {
        let cause = &model.causes[cause];
        let own = comparisons(model, cause).into_iter().filter(|one| one.quantity == quantity);
        all.extend(own.map(|one| (cause, one)));
    }
    let far = |one: &Compared<'_>, other: &Compared<'_>| {
        let comparable = one.0.name != other.0.name && one.1.rising() == other.1.rising();
        comparable && !apart(one.0, other.0) && distance(one, other) > *allowed
    };
    let differ: Vec<&Compared<'_>> =
        all.iter().filter(|one| all.iter().any(|other| far(one, other))).collect();
    let pairs = differ.iter().flat_map(|one| differ.iter().map(move |other| (*one, *other)));
    let widest =
        pairs.filter(|(one, other)| far(one, other)).map(|(one, other)| distance(one, other)).max()?;
    let first = differ.first()?;
    let tag = &model.quantities[quantity].name.tag;
    let check = Check::SetPointsDifferBetweenTrips;
    let mut finding =
        about_element(model, check, Severity::Warning, Element::Quantity(quantity), first.1.span);
    finding.hazard = Some(hazard);
    finding.elements.extend(differ.iter().map(|(cause, _)| cause.name.tag.clone()));
    let mut texts: Vec<String> = differ
        .iter()
        .map(|(cause, one)| {
            let set_point = value(model, quantity, one.set_point);
            let input = &model.inputs[one.input].name.tag;
            format!("{} (`{input} {} {set_point}`)", cause.name.tag, one.relation.text())
        })
        .collect();
    texts.dedup();
    finding.sentence = format!(
        "For {}, {} compare {tag} with set points up to {} apart, and {} are allowed.",
        model.hazards[hazard].name.tag,
        words::list(&texts),
        difference(model, quantity, &widest),
        difference(model, quantity, allowed)
    );
    let rest = differ.iter().skip(1).filter(|(_, one)| one.set_point != first.1.set_point);
    finding.also = rest.map(|(_, one)| (one.span, "differs from it".to_string())).collect();
    if let Some(span) = model.written(tag, "set_points_within") {
        finding.also.push((span, "what is allowed".to_string()));
    }
    Some(finding)
}

fn distance(one: &Compared<'_>, other: &Compared<'_>) -> Exact {
    (one.1.set_point - other.1.set_point).abs()
}
