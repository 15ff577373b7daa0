//! With its line broken or its supply lost, an input reads healthy.
//!
//! # What it checks
//! With an open line or a lost supply, every input shows the protecting causes that read it the side on which
//! they trip, or is bad and counts as declared in `on_bad`.
//!
//! # Why it matters
//! A contact that closes to trip looks healthy for ever once its wire is cut. It is the oldest trap of all, and
//! the reason why contacts of protection open to trip.
//!
//! # How it is decided
//! By reading: `on_loss` (of a loop with an open line: open) put into each comparison of a protecting cause that reads
//! the input, without error or deadband. `holds` can read healthy; that is also what no `on_loss` means, which counts
//! where a route, a supply or a supplied conditioner is declared that can be lost. Exempt are inputs that only release
//! fire suppression, where a line fault is a fault signal and never a vote to discharge; a cause all of whose positions
//! are demanded by other causes that do trip on the loss; and a comparison that neither end of the instrument's range
//! meets, which is the matter of `trip-cannot-fire`.
//!
//! # What it does not see
//! Whether the hazard is averted all the same: its own claims decide that. How a bad signal counts is the matter
//! of `bad-signal-counts-as-healthy` and `bad-signal-not-declared`. Causes that read the input through another
//! cause.
//!
//! # Example
//! A pressure switch that closes at high pressure, with `on_loss: clear`.
//!
//! # How to resolve
//! Use the contact that opens to trip, a transmitter that fails towards the trip, or a monitored line that makes
//! the signal bad with `on_bad: trips`.
//!
//! # References
//! ISO 13849-2, IEC 60204-1 (de-energise to trip): recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading, words};
use crate::finding::{Finding, Severity};
use crate::model::{Cause, CauseId, Element, Input, InputAtom, InputId, Lost, Model, Observes};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, input) in model.inputs.iter().filter(|(id, _)| !reading::only_releases(model, *id)) {
        let mut healthy: BTreeSet<CauseId> = BTreeSet::new();
        let mut shown: Vec<&str> = Vec::new();
        for (lost, what) in losses(model, input) {
            let causes = not_tripped(model, id, lost);
            if !causes.is_empty() {
                shown.push(what);
                healthy.extend(causes);
            }
        }
        if healthy.is_empty() {
            continue;
        }
        let tag = &input.name.tag;
        let place = model.written(tag, "on_loss").unwrap_or(input.name.span);
        let mut finding =
            about_element(model, Check::BrokenLineReadsHealthy, Severity::Warning, Element::Input(id), place);
        let causes: Vec<String> = healthy.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
        finding.sentence = format!(
            "With {}, {tag} {} is healthy to {}.",
            shown.join(" or "),
            reads_then(input, &shown),
            words::list(&causes)
        );
        finding.also =
            healthy.iter().map(|cause| (model.causes[*cause].when_span, "reads it".to_string())).collect();
        found.push(finding);
    }
    found
}

const LINE: &str = "its line open";
const SUPPLY: &str = "its supply lost";

/// What the input shows in the losses that the model knows, or that the file speaks of.
fn losses(model: &Model, input: &Input) -> Vec<(Lost, &'static str)> {
    let is_loop = matches!(input.observes, Observes::Loop { .. });
    let said = model.written(&input.name.tag, "on_loss").is_some();
    let routed = input.readers.values().any(|path| !path.routes.is_empty());
    let supplied =
        |path: &crate::model::Path| path.through.iter().any(|id| model.conditioners[*id].supply.is_some());
    let fed = input.supply.is_some() || input.readers.values().any(supplied);
    let mut all = Vec::new();
    if is_loop {
        all.push((Lost::Asserted, LINE));
    } else if routed || said {
        all.push((input.on_loss, LINE));
    }
    if fed || (is_loop && said) {
        all.push((input.on_loss, SUPPLY));
    }
    all
}

/// The protecting causes that read the input and do not see a trip in what it then shows, unless others that do
/// demand the same.
fn not_tripped(model: &Model, input: InputId, lost: Lost) -> Vec<CauseId> {
    if lost == Lost::Bad {
        return Vec::new();
    }
    let (tripped, healthy): (Vec<CauseId>, Vec<CauseId>) = reading::protecting(model, input)
        .into_iter()
        .partition(|cause| trips(&model.causes[*cause], input, &model.inputs[input], lost));
    let demanded: BTreeSet<_> =
        tripped.iter().flat_map(|cause| reading::demanded(model, &model.causes[*cause])).collect();
    let covered = |cause: &CauseId| reading::demanded(model, &model.causes[*cause]).is_subset(&demanded);
    healthy.into_iter().filter(|cause| tripped.is_empty() || !covered(cause)).collect()
}

/// Every mention of the input in the cause is on its trip side. A comparison that neither end of the instrument's range
/// meets has no trip side that a loss could show; that is the matter of `trip-cannot-fire`.
fn trips(cause: &Cause, input: InputId, element: &Input, lost: Lost) -> bool {
    let mentions = reading::literals(&cause.when);
    mentions.iter().filter(|(atom, _)| reading::input_of(atom) == Some(input)).all(|(atom, negated)| {
        if let (InputAtom::Compare { relation, set_point, .. }, Observes::Quantity { range, .. }) =
            (atom, &element.observes)
        {
            let relation = if *negated { relation.negated() } else { *relation };
            if !relation.holds(&range.low, set_point) && !relation.holds(&range.high, set_point) {
                return true;
            }
        }
        let holds = match (atom, lost, &element.observes) {
            (InputAtom::Compare { relation, set_point, .. }, Lost::Low, Observes::Quantity { range, .. }) => {
                relation.holds(&range.low, set_point)
            }
            (
                InputAtom::Compare { relation, set_point, .. },
                Lost::High,
                Observes::Quantity { range, .. },
            ) => relation.holds(&range.high, set_point),
            (InputAtom::Is { asserted, .. }, Lost::Asserted, _) => *asserted,
            (InputAtom::Is { asserted, .. }, Lost::Cleared, _) => !asserted,
            _ => return false,
        };
        holds != *negated
    })
}

/// What it shows, in words. An open line of a loop and the loss of its supply can differ.
fn reads_then(input: &Input, shown: &[&str]) -> &'static str {
    let is_loop = matches!(input.observes, Observes::Loop { .. });
    let lost = if is_loop && !shown.contains(&SUPPLY) { Lost::Asserted } else { input.on_loss };
    match (lost, &input.observes) {
        (Lost::Low, _) => "reads the low end of its range, which",
        (Lost::High, _) => "reads the high end of its range, which",
        (Lost::Asserted, Observes::Loop { .. }) => "reads open, which",
        (Lost::Cleared, Observes::Loop { .. }) => "reads closed, which",
        (Lost::Asserted, Observes::Stop(_)) => "reads pressed, which",
        (Lost::Cleared, Observes::Stop(_)) => "reads released, which",
        (Lost::Asserted, _) => "reads detected, which",
        (Lost::Cleared, _) => "reads clear, which",
        (Lost::Holds | Lost::Bad, _) => "may read anything, also what",
    }
}
