//! The report of `tripproof paths`: the cut sets and path sets of every protection, as text and as JSON.
//!
//! Here is what both say; `text` and `json` are the forms.

pub mod json;
pub mod text;

use crate::model::{ModeId, Model};
use crate::outcome::structure::{Sets, Structures};

/// What the words mean, a paragraph each.
pub(super) const WORDS: &[&str] = &[
    "A cut set of a hazard is a set of fault sources that together can keep it from its safe state; it is minimal if none \
     of them can be left out. Its order is the number of its sources.",
    "A path set is a set of fault sources that, all working, bring the hazard to its safe state whatever all others do; \
     it is minimal if none of them can be left out. Disjoint path sets share no source.",
    "The structural importance of a source (Birnbaum) is the part of all states of the other sources in which this one \
     decides whether the hazard is met. It counts states. It says nothing about how likely a fault is.",
    "Permitted overrides are not active here. Where a hazard has initiators, any one of them may misbehave besides the \
     sources of a set.",
];

/// What this report does not show, beside what no report shows.
pub(super) const ORDER: &str = "A list of cut sets is complete only where it says so.";

/// Whether the listed cut sets are all there are, as a sentence.
pub(super) fn completeness(sets: &Sets) -> String {
    let order = sets.order;
    if sets.cuts.iter().any(|cut| cut.is_empty()) {
        return "The hazard is not met even without a fault: the only minimal cut set is the empty one."
            .into();
    }
    if sets.whole.is_none() {
        return format!(
            "Complete to order {order} only: there are more minimal cut sets than are sought, so nothing is said about \
             larger ones, about all path sets and about importance."
        );
    }
    if sets.complete() {
        return match sets.cuts.len() {
            0 => "Complete: no set of faults keeps the hazard from its safe state.".into(),
            _ => "Complete: there are no other minimal cut sets, of any order.".into(),
        };
    }
    format!(
        "Complete to order {order}; {} of a higher order, up to {}, {} not listed (`--order` lists them).",
        match sets.larger().to_string().as_str() {
            "1" => "1 minimal cut set".to_string(),
            number => format!("{number} minimal cut sets"),
        },
        sets.sizes.len().saturating_sub(1),
        if sets.larger() == 1u32.into() { "is" } else { "are" },
    )
}

/// The tags of a set, in the order of tags.
pub(super) fn tags(model: &Model, set: &std::collections::BTreeSet<crate::model::Source>) -> Vec<String> {
    let mut tags: Vec<String> = set.iter().map(|source| model.source_tag(*source)).collect();
    tags.sort();
    tags
}

/// The modes of one entry.
pub(super) fn modes(structures: &Structures, modes: &[ModeId]) -> Vec<String> {
    super::modes(&structures.model, modes)
}
