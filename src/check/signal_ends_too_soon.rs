//! A signal that may be gone before the trip that waits for it has it.
//!
//! # What it checks
//! For every cause, but comfort, that reads an input with `signal_lasts`, itself or by causes without a latch: the cause is
//! latched, that input alone makes it true, and the signal stays until then.
//!
//! # Why it matters
//! A burst panel gives one pulse, a flame flickers, a peak passes. A timer that waits for longer starts anew each time and
//! never ends; a trip without a latch lets go again; a filter hides the peak.
//!
//! # How it is decided
//! Read off the model: `signal_lasts` − response − filter − confirmation − links − on-delays − reactions up to the first
//! latched cause >= 0, and on the way no AND and no vote of more than one. One of them unknown: told too.
//!
//! # What it does not see
//! Trips that are told as too slow for this reason (`trip-too-slow`). Inputs of which `signal_lasts` is not declared. An
//! actuator that stays where it was moved: what commands it is asked to stay all the same.
//!
//! # Example
//! A panel whose contact closes for 2 s, and a trip with an on-delay of 10 s.
//!
//! # How to resolve
//! Shorten the delays, latch the cause that reads the signal, or take a signal that stays. Of signals that must be seen
//! together, latch each in a cause of its own.
//!
//! # References
//! IEC 61131-3, on-delay timer: it starts anew when its input is false. Pulses, flicker and peaks: common practice, no source.

use super::{Check, Seen, about_element};
use crate::assess::Decided;
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, CauseId, Degraded, Element, InputAtom, InputId, Model, Signal, Time, Tree};
use crate::outcome::SignalEnds;
use crate::syntax::kind::Purpose;

/// What a signal is needed for.
#[derive(Debug, Clone)]
enum Needed {
    /// To stay as long as the hazard.
    ForGood,
    /// Together with others.
    Together,
    /// For so many seconds; `None` where that is unknown.
    For(Option<Exact>),
}

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    let judged = model.causes.iter().filter(|(_, cause)| cause.purpose != Purpose::Comfort);
    for (id, cause) in judged {
        let told = |timed: &crate::assess::InTime| matches!(timed.acts.get(&id), Some(Decided::Never(_)));
        if seen.assessment.timed.iter().any(told) || (cause.demands.is_empty() && !cause.latched) {
            continue;
        }
        let mut ways = Vec::new();
        let needed = if cause.latched { Needed::For(Some(Exact::zero())) } else { Needed::ForGood };
        follow(model, id, needed, 0, &mut ways);
        let mut inputs: Vec<InputId> = Vec::new();
        for (input, needed) in ways {
            if inputs.contains(&input) {
                continue;
            }
            let Some(sentence) = wrong(model, id, cause, input, &needed) else { continue };
            inputs.push(input);
            let severity = match cause.purpose {
                Purpose::Alarm => Severity::Warning,
                _ => Severity::Serious,
            };
            let mut finding =
                about_element(model, Check::SignalEndsTooSoon, severity, Element::Cause(id), cause.when_span);
            let name = &model.inputs[input].name;
            finding.elements.push(name.tag.clone());
            finding.sentence = sentence;
            finding.also = vec![(name.span, "the signal that does not stay".to_string())];
            found.push(finding);
        }
    }
    found
}

fn wrong(model: &Model, id: CauseId, cause: &Cause, input: InputId, needed: &Needed) -> Option<String> {
    let lasts = known(model.inputs[input].stays.as_ref()?);
    let tag = model.inputs[input].name.tag.clone();
    let latch = Some(model.tag(Element::Cause(id)).to_string());
    let ends = match needed {
        Needed::ForGood => SignalEnds { input: tag, lasts, latch: None, left: None },
        Needed::Together => {
            let ends = SignalEnds { input: tag, lasts, latch: None, left: None };
            return Some(format!(
                "{} (`{}`): {}, and it is needed together with others: it may be gone before they are there.",
                cause.name.tag,
                cause.text,
                ends.stays()
            ));
        }
        Needed::For(time) => {
            let left = lasts.as_ref().zip(time.as_ref()).map(|(lasts, time)| lasts - time);
            SignalEnds { input: tag, lasts, latch, left }
        }
    };
    ends.too_soon().then(|| format!("{} (`{}`): {}.", cause.name.tag, cause.text, ends.in_words()))
}

fn known(time: &Time) -> Option<Exact> {
    match time {
        Time::Known(time) => Some(time.clone()),
        Time::Unknown => None,
    }
}

/// Needed so much longer.
fn longer(needed: Needed, time: &Time) -> Needed {
    match needed {
        Needed::For(rest) => Needed::For(rest.zip(known(time)).map(|(rest, time)| &rest + &time)),
        other => other,
    }
}

fn follow(model: &Model, id: CauseId, needed: Needed, depth: usize, ways: &mut Vec<(InputId, Needed)>) {
    let cause = &model.causes[id];
    let needed = longer(needed, &cause.on_delay);
    let needed = longer(needed, &model.solvers[cause.solver].reaction);
    walk(model, cause, &cause.when, true, &needed, depth, ways);
}

fn walk(
    model: &Model,
    cause: &Cause,
    tree: &Tree<InputAtom>,
    holds: bool,
    needed: &Needed,
    depth: usize,
    ways: &mut Vec<(InputId, Needed)>,
) {
    let (parts, at_once) = match tree {
        Tree::Atom(atom) => return literal(model, cause, atom, needed, depth, ways),
        Tree::Not(part) => return walk(model, cause, part, !holds, needed, depth, ways),
        Tree::And(parts) => (parts, if holds { parts.len() } else { 1 }),
        Tree::Or(parts) => (parts, if holds { 1 } else { parts.len() }),
        Tree::Vote { m, of } if holds => {
            let rules = cause.degraded.iter().map(|rule| match rule {
                Degraded::AtLeast(j) => *j,
                Degraded::Trip | Degraded::NoTrip => 0,
            });
            (of, rules.fold(*m, usize::max))
        }
        Tree::Vote { m, of } => (of, (of.len() + 1).saturating_sub(*m)),
    };
    let needed = if at_once > 1 { &Needed::Together } else { needed };
    parts.iter().for_each(|part| walk(model, cause, part, holds, needed, depth, ways));
}

fn literal(
    model: &Model,
    cause: &Cause,
    atom: &InputAtom,
    needed: &Needed,
    depth: usize,
    ways: &mut Vec<(InputId, Needed)>,
) {
    match atom {
        InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => {
            let response = &model.inputs[*input].response;
            let mut needed = needed.clone();
            for time in [&response.step, &response.filter, &response.confirmation] {
                needed = longer(needed, time);
            }
            ways.push((*input, over_links(model, needed, Signal::Input(*input), cause)));
        }
        // What is latched keeps it, and is told by itself. A chain as long as this goes round in a ring.
        InputAtom::Cause { cause: other, from_before: false }
            if !model.causes[*other].latched && depth < model.causes.len() =>
        {
            let needed = over_links(model, needed.clone(), Signal::Cause(*other), cause);
            follow(model, *other, needed, depth + 1, ways);
        }
        _ => {}
    }
}

fn over_links(model: &Model, needed: Needed, signal: Signal, reader: &Cause) -> Needed {
    let links = model.way(signal, reader.solver);
    links.fold(needed, |needed, (link, _)| longer(needed, &model.links[link].delay))
}
