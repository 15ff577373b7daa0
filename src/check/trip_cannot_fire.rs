//! A trip that no situation can ever fire, or not for the hazard it is credited for.
//!
//! # What it checks
//! For every cause: some situation without faults makes its condition true in a mode in which it is armed. For every
//! hazard it is credited for: some such situation in which the hazard is present.
//!
//! # Why it matters
//! A trip that is correct on paper and cannot fire is counted by everybody and protects nobody.
//!
//! # How it is decided
//! Exists a situation, fault-free (with any one fault, where the condition asks for a bad signal or a lost link), memory
//! not counted, with armed(c) AND when(c) — and, for a hazard, with one of its
//! onset cases. A saturated transmitter reads the end of its range, validly. Where it could fire without some couplings,
//! those are named of which none can be left out; there may be other such couplings.
//!
//! # What it does not see
//! Whether another trip always acts before it. How long it takes: `trip-too-slow` does.
//!
//! # Example
//! A pressure trip set to 12 kPa on a transmitter that ends at 10 kPa. An oxygen trip at 18.5 %vol credited for a leak
//! that can only lower the room to 19 %vol.
//!
//! # How to resolve
//! Correct set point or range; arm the cause in the modes of its hazard; or credit it with what it can see.
//!
//! # References
//! IEC 61511-1 on trip points: recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::assess::{Decided, Subject};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, CouplingId, Element, HazardId, InputAtom, Model, Observes};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (cause, hazard) = match (single.subject, &single.decided) {
            (Subject::CanFire(cause), Decided::Never(_)) => (cause, None),
            (Subject::CanFireFor(cause, hazard), Decided::Never(_)) => (cause, Some(hazard)),
            _ => continue,
        };
        let element = &model.causes[cause];
        let mut finding = about_element(
            model,
            Check::TripCannotFire,
            Severity::Serious,
            Element::Cause(cause),
            element.when_span,
        );
        finding.hazard = hazard;
        finding.sentence = match hazard {
            None => format!(
                "As long as nothing is faulty, {} (`{}`) cannot fire in any situation.",
                element.name.tag, element.text
            ),
            Some(hazard) => format!(
                "{} (`{}`) is credited for {}, and as long as nothing is faulty it cannot fire in any situation of that hazard (`{}`).",
                element.name.tag, element.text, model.hazards[hazard].name.tag, model.hazards[hazard].text
            ),
        };
        let mut reason = out_of_range(model, cause);
        if let Some(hazard) = hazard
            && reason.is_empty()
        {
            reason = never_armed(model, cause, hazard);
        }
        let barred = seen.assessment.barred.get(&single.subject).filter(|_| reason.is_empty());
        finding.sentence.push_str(&reason);
        if let Some(couplings) = barred {
            finding.sentence.push_str(&by_couplings(model, couplings));
            let spans = couplings.iter().map(|id| model.couplings[*id].name.span);
            finding
                .also
                .extend(spans.map(|span| (span, "the coupling that keeps it from firing".to_string())));
        }
        found.push(finding);
    }
    found
}

/// That the modes of the hazard are none in which the cause is armed.
fn never_armed(model: &Model, cause: CauseId, hazard: HazardId) -> String {
    let element = &model.hazards[hazard];
    let armed = model.causes[cause].armed.get(&element.group);
    let exists = !element.exists_in.is_empty();
    match exists && armed.is_some_and(|armed| element.exists_in.iter().all(|mode| !armed.contains(mode))) {
        true => " It is armed in none of the modes in which that hazard exists.".to_string(),
        false => String::new(),
    }
}

/// The couplings without which it could fire.
fn by_couplings(model: &Model, couplings: &[CouplingId]) -> String {
    let named: Vec<String> = couplings
        .iter()
        .map(|id| {
            let coupling = &model.couplings[*id];
            format!("{} (`{}`)", coupling.name.tag, coupling.text)
        })
        .collect();
    match named.as_slice() {
        [] => String::new(),
        [one] => format!(" That follows from coupling {one}: without it, it could fire."),
        many => format!(
            " That follows from couplings {} together: without any one of them it could fire.",
            words::list(many)
        ),
    }
}

/// The commonest reason, if it is that: a set point beyond the end of the instrument.
fn out_of_range(model: &Model, cause: CauseId) -> String {
    for atom in model.causes[cause].when.atoms() {
        let InputAtom::Compare { input, relation, set_point, .. } = atom else { continue };
        let Observes::Quantity { range, .. } = &model.inputs[*input].observes else { continue };
        if !relation.holds(&range.low, set_point) && !relation.holds(&range.high, set_point) {
            return format!(" The set point lies outside the range of {}.", model.inputs[*input].name.tag);
        }
    }
    String::new()
}
