//! Why proved claims hold, with tags and places instead of ids.

use crate::assess::why::{Basis, Leg, Need, Of};
use crate::assess::{Assessment, HazardInMode, Subject};
use crate::model::{Element, Excluded, Model, Source};
use crate::outcome::{Needed, Part, Why};
use crate::semantics::RestsOn;
use crate::source::Span;

/// Why a claim about a hazard holds, where that was asked.
pub(super) fn of_hazard(
    model: &Model,
    assessment: &Assessment,
    examined: &HazardInMode,
    claim: &'static str,
) -> Option<Why> {
    told(model, assessment, Of::Hazard(examined.hazard, examined.mode, claim))
}

/// Why a claim about a single element holds, where that was asked.
pub(super) fn of_single(model: &Model, assessment: &Assessment, subject: Subject) -> Option<Why> {
    told(model, assessment, Of::Single(subject))
}

fn told(model: &Model, assessment: &Assessment, of: Of) -> Option<Why> {
    Some(match assessment.reasons.as_ref()?.get(&of)? {
        Basis::Proof(legs) => Why::Proof(legs.iter().map(|leg| part(model, leg)).collect()),
        Basis::Example => Why::Example,
        Basis::ManyCases => Why::ManyCases,
        Basis::Lost(reason) => Why::Lost(reason.clone()),
    })
}

fn part(model: &Model, leg: &Leg) -> Part {
    let mut needs: Vec<Needed> = Vec::new();
    let mut faults = None;
    for need in &leg.needs {
        match need {
            Need::AtMost(weight) => faults = Some(*weight),
            Need::Works(source) => {
                needs.push(Needed {
                    kind: "element",
                    tag: model.source_tag(*source),
                    span: place(model, *source),
                });
            }
            Need::Excluded(source) => needs.push(exclusion(model, *source)),
            Need::Release(place) => {
                needs.extend(model.fault_exclusions.get(*place).map(|exclusion| Needed {
                    kind: "fault exclusion",
                    tag: exclusion.name.tag.clone(),
                    span: exclusion.name.span,
                }));
            }
            Need::Fact(fact) => needs.push(declared(model, *fact)),
        }
    }
    // A quantity's range has two ends and is one thing to tell.
    needs.sort();
    needs.dedup();
    Part { needs, faults, blind: leg.blind }
}

fn place(model: &Model, source: Source) -> Span {
    let element = match source {
        Source::LoopLine(id) => Some(Element::Input(id)),
        Source::Damage(hazard, _) => Some(Element::Hazard(hazard)),
        _ => model.source_element(source),
    };
    element.map_or_else(Span::default, |element| model.name(element).span)
}

/// The exclusion that takes the source out; a kind that the policy leaves out has no entry of its own.
fn exclusion(model: &Model, source: Source) -> Needed {
    let named = model.fault_exclusions.iter().find(|exclusion| exclusion.what == Excluded::Source(source));
    match named {
        Some(exclusion) => Needed {
            kind: "fault exclusion",
            tag: format!("{} (no fault of {})", exclusion.name.tag, model.source_tag(source)),
            span: exclusion.name.span,
        },
        None => Needed {
            kind: "left out by the policy",
            tag: model.source_tag(source),
            span: place(model, source),
        },
    }
}

fn declared(model: &Model, fact: RestsOn) -> Needed {
    let of = |kind: &'static str, name: &crate::model::Name| Needed {
        kind,
        tag: name.tag.clone(),
        span: name.span,
    };
    match fact {
        RestsOn::Coupling(id) => of("coupling", &model.couplings[id].name),
        RestsOn::Range(id) => of("range", model.name(Element::Quantity(id))),
        RestsOn::NeverTogether(id) => of("never together", &model.hazards[id].name),
    }
}
