//! One supply, route, cabinet, solver or other shared part takes all protection of a hazard with it.
//!
//! # What it checks
//! For every hazard: no single supply, cable route, cabinet, logic solver, link, relay, mode input, override
//! device, type, parameter source, store or machine defeats its protection by its own fault.
//!
//! # Why it matters
//! Two trips drawn in two columns look independent. What they share stands on other drawings: the tray, the
//! cabinet, the 24 V.
//!
//! # How it is decided
//! The minimal cut sets of one source of every hazard and mode, of which the source is such a part. Parts that take
//! the same hazards with them are told together; what the hazard itself lacks is listed under this finding.
//!
//! # What it does not see
//! Parts that are not in the model. Sensors and what their signals go through are told by `trips-share-an-input`,
//! final elements by the hazard's own findings.
//!
//! # Example
//! Both zone valves of the water mist on one 24 V supply that must be there to open them.
//!
//! # How to resolve
//! Give one of the paths a part of its own; for an energise-to-trip path that means a supply and a route of its
//! own.
//!
//! # References
//! IEC 61511-1 on common cause, IEC 61508-6 Annex D: recalled, not verified.

use std::collections::{BTreeMap, BTreeSet};

use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{HazardId, ModeId, Source};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut taken: BTreeMap<Source, BTreeMap<HazardId, BTreeSet<ModeId>>> = BTreeMap::new();
    for examined in &seen.assessment.hazards {
        let required = model.hazards[examined.hazard].required;
        let Some(numbers) = &examined.numbers else { continue };
        // Where one fault may defeat it by what is required, it is no defect.
        if !words::needs_two(required) {
            continue;
        }
        for cut in numbers.cuts.iter().filter(|cut| cut.len() == 1) {
            let shared = cut.iter().copied().filter(|source| is_shared(*source));
            for source in shared {
                let hazards = taken.entry(source).or_default();
                hazards.entry(examined.hazard).or_default().insert(examined.mode);
            }
        }
    }
    let mut alike: BTreeMap<BTreeMap<HazardId, BTreeSet<ModeId>>, Vec<Source>> = BTreeMap::new();
    for (source, hazards) in taken {
        alike.entry(hazards).or_default().push(source);
    }
    let mut found = Vec::new();
    for (hazards, sources) in alike {
        let Some(first) = sources.first().and_then(|source| model.source_element(*source)) else { continue };
        let place = model.name(first).span;
        let mut finding =
            about_element(model, Check::SharedPartDefeatsProtection, Severity::Serious, first, place);
        finding.elements = sources.iter().map(|source| model.source_tag(*source)).collect();
        finding.elements.sort();
        let modes: BTreeSet<ModeId> = hazards.values().flatten().copied().collect();
        finding.modes = modes.into_iter().collect();
        let tags: Vec<String> = hazards.keys().map(|id| model.hazards[*id].name.tag.clone()).collect();
        let each = if sources.len() == 1 { "" } else { " Each of them is enough." };
        finding.sentence = format!(
            "All protection against {} can be lost with {}.{each}",
            words::list(&tags),
            words::alternatives(&finding.elements)
        );
        let mut also: Vec<_> =
            sources.iter().skip(1).filter_map(|source| words::place(model, *source)).collect();
        also.extend(
            hazards.keys().map(|id| (model.hazards[*id].name.span, "a hazard that loses it".to_string())),
        );
        finding.also = also;
        found.push(finding);
    }
    found
}

fn is_shared(source: Source) -> bool {
    match source {
        Source::Supply(_)
        | Source::Route(_)
        | Source::Cabinet(_)
        | Source::Solver(_)
        | Source::Link(_)
        | Source::Relay(_)
        | Source::ModeInput(_)
        | Source::Override(_)
        | Source::Shared(_) => true,
        Source::Input(_)
        | Source::Contact(_)
        | Source::LoopLine(_)
        | Source::Conditioner(_)
        | Source::Actuator(_)
        | Source::Passive(_)
        | Source::Damage(..) => false,
    }
}
