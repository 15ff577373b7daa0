//! A vote that cannot trip any more once inputs are overridden or bad.
//!
//! # What it checks
//! Every vote, under every combination of permitted overrides and bad inputs: some reading of what is left makes it
//! trip, or it trips already.
//!
//! # Why it matters
//! Two of three heads are taken out for calibration, and the vote still waits for two. Nobody sees it, since
//! nothing trips.
//!
//! # How it is decided
//! For every combination of inputs out of the vote (each working, bad, or overridden by a device that is
//! permitted): exists a situation in which the vote is true. Bad inputs that are declared never to vote to trip are
//! left out here; they are told by `bad-signal-counts-as-healthy`.
//!
//! # What it does not see
//! Whether another trip still covers the hazard: that is the hazard's own claim. Whether the vote that is left is
//! good enough.
//!
//! # Example
//! 2oo3 of gas heads, two of which may be overridden at once, and no `degraded_vote`: the one that is left can
//! never make two.
//!
//! # How to resolve
//! Permit fewer overrides at once, or say in `degraded_vote` what the vote becomes with 1, 2, … inputs out of it.
//!
//! # References
//! IEC 61511-1 on bypasses and on the response to detected faults: recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::assess::{Input, Stuck};
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{Element, Model, Tree};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    seen.assessment.stuck.iter().map(|stuck| told(model, stuck)).collect()
}

fn told(model: &Model, stuck: &Stuck) -> Finding {
    let element = &model.causes[stuck.cause];
    let mut finding = about_element(
        model,
        Check::VoteCannotTrip,
        Severity::Serious,
        Element::Cause(stuck.cause),
        element.when_span,
    );
    let tag_of = |input| model.inputs[input].name.tag.clone();
    let bad: Vec<String> =
        stuck.out.iter().filter(|(_, state)| *state == Input::Bad).map(|(input, _)| tag_of(*input)).collect();
    let mut parts = Vec::new();
    for (id, device) in model.overrides.iter() {
        let taken: Vec<String> = stuck
            .out
            .iter()
            .filter(|(_, state)| *state == Input::Overridden(id))
            .map(|(input, _)| tag_of(*input))
            .collect();
        if !taken.is_empty() {
            parts.push(format!("{} overridden with {}", words::list(&taken), device.name.tag));
            finding.elements.push(device.name.tag.clone());
            finding.also.push((device.name.span, "permits these overrides".to_string()));
        }
    }
    if !bad.is_empty() {
        let signals = if bad.len() == 1 { "a bad signal" } else { "bad signals" };
        parts.push(format!("{signals} from {}", words::list(&bad)));
    }
    let operands = match element.when.trip_votes().get(stuck.vote) {
        Some(Tree::Vote { m, of }) => format!("{m}oo{}", of.len()),
        _ => "vote".to_string(),
    };
    let others = match stuck.others {
        0 => String::new(),
        1 => " The same holds for one other such combination.".to_string(),
        n => format!(" The same holds for {n} other such combinations."),
    };
    let tag = &element.name.tag;
    finding.sentence = if parts.is_empty() {
        format!("The {operands} vote of {tag} can never trip, whatever its inputs read.")
    } else {
        let parts = words::list(&parts);
        format!(
            "With {parts} the {operands} vote of {tag} can no longer trip, whatever the others read.{others}"
        )
    };
    finding.witness =
        stuck.witness.as_ref().map(|witness| explain::stuck_vote(model, witness, stuck.cause, stuck.vote));
    finding
}
