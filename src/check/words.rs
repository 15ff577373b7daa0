//! Words and lists that several checks use. Sentences themselves stand in the checks.

use std::collections::BTreeSet;

use super::Seen;
use crate::assess::{HazardInMode, Timed};
use crate::model::{CauseId, HazardId, Model, Required, Source};
use crate::source::Span;

/// `A`, `A and B`, `A, B and C`.
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [init @ .., last] => format!("{} and {last}", init.join(", ")),
    }
}

/// `A`, `A or B`, `A, B or C`.
pub fn alternatives(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [init @ .., last] => format!("{} or {last}", init.join(", ")),
    }
}

/// `a fault of A`, `a fault of either A or B`, `a fault of any one of A, B or C`, damage by a hazard in its own words.
pub fn any_fault(model: &Model, sources: &BTreeSet<Source>) -> String {
    let (damages, others): (BTreeSet<Source>, BTreeSet<Source>) =
        sources.iter().partition(|source| matches!(source, Source::Damage(..)));
    let others = spoken(model, &others);
    let mut all: Vec<String> = match others.is_empty() {
        true => Vec::new(),
        false => vec![format!("a fault of {}", any_of(&others))],
    };
    all.extend(damages.into_iter().map(|source| damage(model, source)));
    let closed = if all.len() > 1 { "," } else { "" };
    all.join(", or ") + closed
}

/// A sentence with its first letter as a capital.
pub fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// `damage by H-FIRE to its group bay`; the tag of any other source.
fn damage(model: &Model, source: Source) -> String {
    let Source::Damage(hazard, number) = source else { return model.source_tag(source) };
    let hazard = &model.hazards[hazard];
    let group = hazard.damages.get(number).map_or("", |group| group.name.tag.as_str());
    format!("damage by {} to its group {group}", hazard.name.tag)
}

/// `A`, `either A or B`, `any one of A, B or C`.
pub fn any_of(items: &[String]) -> String {
    match items.len() {
        0 | 1 => alternatives(items),
        2 => format!("either {}", alternatives(items)),
        _ => format!("any one of {}", alternatives(items)),
    }
}

/// Whether so much is required that no single part may defeat it.
pub fn needs_two(required: Required) -> bool {
    required.fault_tolerance > 0 || required.disjoint_paths > 1
}

/// Tags of fault sources, sorted.
pub fn tags(model: &Model, sources: &BTreeSet<Source>) -> Vec<String> {
    let mut tags: Vec<String> = sources.iter().map(|source| model.source_tag(*source)).collect();
    tags.sort();
    tags
}

/// The same as they are said in a sentence: `GD-1`, `the line of HL-1`.
fn spoken(model: &Model, sources: &BTreeSet<Source>) -> Vec<String> {
    let mut sorted: Vec<(String, Source)> =
        sources.iter().map(|source| (model.source_tag(*source), *source)).collect();
    sorted.sort();
    let say = |(tag, source): (String, Source)| match source {
        Source::LoopLine(_) => format!("the {tag}"),
        _ => tag,
    };
    sorted.into_iter().map(say).collect()
}

/// Each cut set as its tags, e.g. `A with B`.
pub fn cuts(model: &Model, cuts: &[BTreeSet<Source>]) -> Vec<String> {
    let mut texts: Vec<String> = cuts.iter().map(|cut| spoken(model, cut).join(" with ")).collect();
    texts.sort();
    texts
}

/// Hazards in modes of which the claims about time were decided by themselves: without regard to time, and with it.
pub fn timed<'a>(seen: &'a Seen<'_>) -> impl Iterator<Item = (&'a HazardInMode, &'a HazardInMode)> {
    seen.assessment.timed.iter().filter_map(|timed| match &timed.decided {
        Timed::Decided(own) => {
            let ever = seen.assessment.hazards.iter();
            let mut same = ever.filter(|ever| ever.hazard == timed.hazard && ever.mode == timed.mode);
            same.next().map(|ever| (ever, own.as_ref()))
        }
        Timed::NoTime | Timed::Quick | Timed::Undecided(_) => None,
    })
}

/// Causes credited for a hazard, in the file's order.
pub fn credited(model: &Model, hazard: HazardId) -> Vec<CauseId> {
    model.causes.iter().filter(|(_, cause)| cause.credited_for.contains(&hazard)).map(|(id, _)| id).collect()
}

/// The source is one of these elements, or a part of one (a contact or the line of a loop).
pub fn lies_in(model: &Model, source: Source, elements: &[String]) -> bool {
    let owner = match source {
        Source::Contact(contact) => Some(model.inputs[model.contacts[contact].of].name.tag.as_str()),
        Source::LoopLine(input) => Some(model.inputs[input].name.tag.as_str()),
        _ => None,
    };
    let tag = model.source_tag(source);
    elements.iter().any(|element| *element == tag || owner == Some(element.as_str()))
}

/// Where a source is declared.
pub fn place(model: &Model, source: Source) -> Option<(Span, String)> {
    let element = model.source_element(source)?;
    Some((model.name(element).span, format!("{} stands here", model.kind_word(element))))
}

/// `one fault`, `2 faults`.
pub fn faults(number: u32) -> String {
    match number {
        1 => "one fault".to_string(),
        n => format!("{n} faults"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alternatives_are_joined_by_or() {
        let items = |text: &str| text.split(' ').map(str::to_string).collect::<Vec<_>>();
        assert_eq!(any_of(&items("A")), "A");
        assert_eq!(any_of(&items("A B")), "either A or B");
        assert_eq!(any_of(&items("A B C")), "any one of A, B or C");
        assert_eq!(capital("the loss of A"), "The loss of A");
    }
}
