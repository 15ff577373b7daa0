//! An effect that may take hold before another one that must have ended.
//!
//! # What it checks
//! For every effect with `after`, and every cause that demands it: the cause demands the earlier effects too, or another
//! cause fires whenever this one does and ends them soon enough; and the later effect takes hold no earlier than they have
//! ended.
//!
//! # Why it matters
//! Water on live conductors, a contactor that opens under full current: what must come first is not first because it is
//! written first.
//!
//! # How it is decided
//! Where one cause demands both, from the moment at which its condition is true: an effect has ended, at the latest, after
//! the reaction of the solver, the delays of mark and effect, the links to the drivers, and the
//! longest `moves_in` of its elements. It takes hold, at the earliest, after the delays and the least `shortest_time` of its
//! elements; the solver may react at once.
//!
//! Where others demand the earlier effect, from the moment at which the plant is so that both fire: the later effect takes
//! hold at the earliest after the on-delay besides; another cause has ended the earlier one, at the latest, after the
//! slowest response of all that it reads, links and on-delays besides. What this cause reads and nothing else, at the same
//! solver, both know at once. Of the causes that are soon enough, some one fires whenever this cause does: decided over all
//! situations without faults.
//!
//! Refuted if the later effect may take hold before the earlier one has ended; an unknown time is too long.
//!
//! # What it does not see
//! Feedback that holds the later effect back until the earlier one is proved. Positions that a later effect reaches only
//! together with another cause's. What a latch remembers. Another effect that sets the same position and stands `after`
//! nothing. A command that another one overrules: `command-without-obedience` and `opposing-commands` tell that.
//!
//! # Example
//! The mist valve may open at once, and the contactors need 0.3 s.
//!
//! # How to resolve
//! Give the later mark or effect a `delay` that is long enough, or state the `shortest_time` of its elements; let every cause
//! that demands the later effect demand the earlier one.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_element, words};
use crate::assess::time::order;
use crate::assess::{Decided, Single, Subject};
use crate::exact::Exact;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, EffectId, Element, Model};
use crate::outcome::seconds;

/// What is wrong with an order.
enum Wrong {
    /// Nothing demands the earlier effect.
    Missing,
    /// In some situations nothing does.
    MissingAtTimes,
    /// It may end too late, in a sentence.
    Late(String),
}

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (later, effect) in model.effects.iter().filter(|(_, effect)| !effect.after.is_empty()) {
        for id in model.demanding_effect(later) {
            let cause = &model.causes[id];
            let tell = |earlier: &[EffectId], sentence: String| {
                let mut finding = about_element(
                    model,
                    Check::EffectsOutOfOrder,
                    Severity::Serious,
                    Element::Effect(later),
                    effect.name.span,
                );
                finding.elements.push(cause.name.tag.clone());
                finding.elements.extend(earlier.iter().map(|one| model.effects[*one].name.tag.clone()));
                finding.sentence = sentence;
                let witness = earlier.iter().find_map(|one| led(seen, id, later, *one)?.decided.witness());
                finding.witness = witness.map(|witness| explain::story(model, witness));
                finding.also = vec![(cause.name.span, "the cause that demands it".to_string())];
                finding
            };
            let (mut never, mut not_always) = (Vec::new(), Vec::new());
            for earlier in &effect.after {
                match wrong(model, id, later, *earlier, led(seen, id, later, *earlier)) {
                    Some(Wrong::Missing) => never.push(*earlier),
                    Some(Wrong::MissingAtTimes) => not_always.push(*earlier),
                    Some(Wrong::Late(sentence)) => found.push(tell(&[*earlier], sentence)),
                    None => {}
                }
            }
            let (demander, it) =
                (&cause.name.tag, |all: &[EffectId]| if all.len() == 1 { "it" } else { "them" });
            if !never.is_empty() {
                let start = must(model, later, &never);
                found.push(tell(
                    &never,
                    format!("{start}, and {demander} demands it without {}.", it(&never)),
                ));
            }
            if !not_always.is_empty() {
                let start = must(model, later, &not_always);
                let those = it(&not_always);
                let sentence = format!(
                    "{start}, and {demander} demands it in situations in which nothing demands {those} soon enough."
                );
                found.push(tell(&not_always, sentence));
            }
        }
    }
    found
}

/// What was decided about other causes that demand the earlier effect.
fn led<'s>(seen: &Seen<'s>, cause: CauseId, later: EffectId, earlier: EffectId) -> Option<&'s Single> {
    let subject = Subject::Preceded(cause, later, earlier);
    seen.assessment.singles.iter().find(|single| single.subject == subject)
}

/// `OPEN-WZ-1A must take hold after HV-OFF-1A has ended`.
fn must(model: &Model, later: EffectId, earlier: &[EffectId]) -> String {
    let tags: Vec<String> = earlier.iter().map(|one| model.effects[*one].name.tag.clone()).collect();
    let have = if tags.len() == 1 { "has" } else { "have" };
    format!("{} must take hold after {} {have} ended", model.effects[later].name.tag, words::list(&tags))
}

fn wrong(
    model: &Model,
    id: CauseId,
    later: EffectId,
    earlier: EffectId,
    led: Option<&Single>,
) -> Option<Wrong> {
    let cause = &model.causes[id];
    let start = must(model, later, &[earlier]);
    let late = |begins: Option<Exact>, ends: Option<Exact>| {
        let (Some(begins), Some(ends)) = (begins, ends) else {
            return Some(Wrong::Late(format!(
                "{start}, and of one of them it is not known how long it takes."
            )));
        };
        (begins < ends).then(|| {
            // Rounded as elsewhere, unless that would make them look alike.
            let shown = |time: &Exact| match seconds(&begins) == seconds(&ends) {
                true => time.to_string(),
                false => seconds(time),
            };
            Wrong::Late(format!(
                "{start}: demanded by {}, it may take hold after {} s, and {} may end only after {} s.",
                cause.name.tag,
                shown(&begins),
                model.effects[earlier].name.tag,
                shown(&ends)
            ))
        })
    };
    if cause.demands.contains(&earlier) {
        return late(order::begins(model, cause, later), order::ends(model, id, earlier));
    }
    match led.map(|led| &led.decided) {
        // Undecided is told as what it is.
        Some(Decided::Holds | Decided::Undecided(_) | Decided::Disputed) => None,
        Some(_) => Some(Wrong::MissingAtTimes),
        None if model.demanding_effect(earlier).next().is_none() => Some(Wrong::Missing),
        None => {
            let others = model.demanding_effect(earlier);
            let soonest = others.filter_map(|other| order::ends_led(model, id, other, earlier)).min();
            late(order::begins_led(model, id, later), soonest)
        }
    }
}
