//! A bad signal of a trip counts as healthy.
//!
//! # What it checks
//! No input that a credited protecting cause reads is declared `on_bad: no_trip`.
//!
//! # Why it matters
//! A value that is known to be bad and still counts as good is a trip that is out and that nobody has taken out.
//!
//! # How it is decided
//! By reading: the input can be bad (by its own fault, by its reaction to loss, or by what its signal goes
//! through), `on_bad` is `no_trip`, and a cause with the purpose protection and with credit reads it. Exempt are
//! inputs that only release fire suppression, and a cause that itself trips on `BAD(…)` of the input.
//!
//! # What it does not see
//! Whether the hazard is averted all the same: its own claims decide that. Whether a bad signal is announced and
//! mended in time.
//!
//! # Example
//! A bus value turns invalid, and the trip goes on with "no vote" until somebody looks.
//!
//! # How to resolve
//! Declare `on_bad: trips`, or `degrades_vote` with the rule of the vote; if a bad signal must not trip, accept
//! the finding with the alarm and the time within which it is mended.
//!
//! # References
//! IEC 61511-1 on behaviour on detection of a fault: recalled, not verified.

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element};
use crate::syntax::kind::{OnBad, Purpose};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter() {
        let counts = input.on_bad == Some(OnBad::NoTrip) && reading::can_be_bad(input);
        if !counts || reading::only_releases(model, id) {
            continue;
        }
        let relies = |cause: &CauseId| {
            let cause = &model.causes[*cause];
            let credited = cause.purpose == Purpose::Protection && !cause.credited_for.is_empty();
            credited && !reading::asks_for_bad(cause, id)
        };
        let causes: Vec<CauseId> = reading::protecting(model, id).into_iter().filter(relies).collect();
        if causes.is_empty() {
            continue;
        }
        let tag = &input.name.tag;
        let place = model.written(tag, "on_bad").unwrap_or(input.name.span);
        let mut finding = about_element(
            model,
            Check::BadSignalCountsAsHealthy,
            Severity::Warning,
            Element::Input(id),
            place,
        );
        let names: Vec<String> = causes.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
        finding.sentence = format!(
            "A bad signal of {tag} does not vote to trip: to {} it is as good as healthy.",
            words::list(&names)
        );
        finding.also =
            causes.iter().map(|cause| (model.causes[*cause].when_span, "reads it".to_string())).collect();
        found.push(finding);
    }
    found
}
