//! An alarm so close to the trip that nobody can act in between.
//!
//! # What it checks
//! For every alarm with `person_needs` and every protecting cause that compares the same quantity in the same direction in
//! a common mode: at the worst rate, the time between the alarm that is told and the trip is at least what the person needs.
//!
//! # Why it matters
//! The alarm is there so that somebody prevents the trip. Where the trip comes 20 s later and the valve is two minutes away,
//! people learn that the alarm only announces it.
//!
//! # How it is decided
//! Rising: (set point of the trip − its accuracy − set point of the alarm − its accuracy) / worst rate, less the latest time of
//! the alarm: response, confirmation, filter, transport, links, on-delay, reaction of the solver, delays and `moves_in` of all that it demands. Falling,
//! the other way round. Refuted if that is less than `person_needs`; equal is in order. In a condition of several comparisons of the
//! quantity, OR waits for the first, AND for the last and a vote for as many as it needs; the trip may come as soon as the
//! quantity allows. Refuted too if the rate, a time of the alarm, or `person_needs` is unknown, or if the alarm waits for
//! something else as well.
//!
//! # What it does not see
//! Alarms without `person_needs`. Whether the person is there, and whether what is done helps. Overrides and faults of the alarm.
//!
//! # Example
//! Alarm at 24 %LFL and trip at 40 %LFL, both heads within 3 %LFL, rising by 1 %LFL/s, and a horn after 8 s: 2 s are left.
//!
//! # How to resolve
//! Lower the alarm, take a quicker sensor for it, or do not count on the person.
//!
//! # References
//! IEC 62682 and ISA-18.2 on the time that an operator has: recalled, not verified.

use std::collections::BTreeSet;

use super::chain::{Sum, later, plus, surely_seen, surely_there};
use super::compared::{Comparison, apart, comparison, comparisons};
use super::{Check, Seen, about_element, reading};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, CauseId, Element, InputAtom, Model, QuantityId, Time, Tree};
use crate::semantics::known_step;

/// A quantity and the way in which it goes.
type Way = (QuantityId, bool);

/// How long the quantity takes to come so far; `None`: it never does.
type TimeTo<'a> = &'a dyn Fn(&Exact) -> Option<Exact>;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, alarm) in model.causes.iter() {
        let Some(needs) = &alarm.person_needs else { continue };
        let ways: BTreeSet<Way> =
            comparisons(model, alarm).iter().map(|one| (one.quantity, one.rising())).collect();
        for (_, trip) in model.causes.iter().filter(|(_, cause)| reading::protects(cause)) {
            let trips: BTreeSet<Way> =
                comparisons(model, trip).iter().map(|one| (one.quantity, one.rising())).collect();
            let common = ways.intersection(&trips).filter(|_| !apart(alarm, trip));
            let Some(sentence) = common.filter_map(|way| wrong(model, id, trip, *way, needs)).next() else {
                continue;
            };
            let tag = &alarm.name.tag;
            let place = model.written(tag, "person_needs").unwrap_or(alarm.name.span);
            let element = Element::Cause(id);
            let mut finding =
                about_element(model, Check::AlarmLeavesNoTime, Severity::Warning, element, place);
            finding.elements.push(trip.name.tag.clone());
            finding.sentence = sentence;
            finding.also = vec![(trip.when_span, "the trip".to_string())];
            found.push(finding);
        }
    }
    found
}

fn wrong(model: &Model, id: CauseId, trip: &Cause, way: Way, needs: &Time) -> Option<String> {
    let alarm = &model.causes[id];
    let quantity = &model.quantities[way.0];
    let (tag, other, of) = (&alarm.name.tag, &trip.name.tag, &quantity.name.tag);
    let start = format!("{tag} is to leave a person time to act before {other}");
    let Time::Known(needs) = needs else {
        return Some(format!("{start}, and it is not known how much the person needs."));
    };
    let rate = if way.1 { &quantity.rises } else { &quantity.falls };
    let Some(rate) = rate else {
        let goes = if way.1 { "rises" } else { "falls" };
        return Some(format!("{start}, and it is not known how fast {of} {goes}, so not how much."));
    };
    // At a rate of zero it never gets there.
    let time_to = |far: &Exact| far.checked_div(rate);
    let trips_at = time_to(&first_trip(model, &trip.when, false, way)?)?;
    let told = match all_told(model, id, way, &time_to) {
        Some(Ok(told)) => told,
        Some(Err(element)) => {
            let element = model.tag(element);
            return Some(format!("{start}, and it is not known how long {element} takes, so not how much."));
        }
        None => {
            return Some(format!(
                "{start}, and what it waits for besides {of} (`{}`) may come later.",
                alarm.text
            ));
        }
    };
    let left = &trips_at - &told;
    if left >= *needs {
        return None;
    }
    // The same without any time of its own: when the readings are there.
    let read = all_seen(model, id, way, &time_to).unwrap_or_else(Exact::zero);
    let given = match left.is_negative() {
        true => format!("so that the trip may come {} s before the alarm is told", left.abs()),
        false => format!("so that {left} s may be all"),
    };
    Some(format!(
        "{start}, and {needs} s are needed. With the accuracies of `{}` and `{}` and at the worst rate of {of}, {} s lie \
         between them, and the alarm takes {} s, {given}.",
        alarm.text,
        trip.text,
        &trips_at - &read,
        &told - &read
    ))
}

/// How far the quantity must have come, counted in the way in which it goes, when the trip may come. `None`: it does not
/// depend on the quantity in that way.
fn first_trip(model: &Model, tree: &Tree<InputAtom>, negated: bool, way: Way) -> Option<Exact> {
    let (parts, needed) = parts(tree, negated);
    let Some(needed) = needed else {
        let Tree::Atom(atom) = tree else {
            return parts.first().and_then(|(part, negated)| first_trip(model, part, *negated, way));
        };
        let one = along(model, atom, negated, way)?;
        return Some(&far(&one) - one.accuracy);
    };
    let mut points: Vec<Exact> =
        parts.iter().filter_map(|(part, negated)| first_trip(model, part, *negated, way)).collect();
    points.sort();
    // What asks for something else may be true already.
    let others = parts.len() - points.len();
    points.into_iter().nth(needed.saturating_sub(others).max(1) - 1)
}

/// When the alarm is surely told, counted from where the quantity is zero, in its way. `None`: it may wait for something else.
fn all_told(model: &Model, id: CauseId, way: Way, time_to: TimeTo<'_>) -> Option<Sum> {
    let alarm = &model.causes[id];
    let solver = Element::Solver(alarm.solver);
    let seen = surely_true(model, alarm, &alarm.when, false, way, (time_to, true))?;
    let seen = plus(seen, Element::Cause(id), &alarm.on_delay);
    let mut last: Option<Sum> = None;
    for effect in &alarm.demands {
        for (actuator, position) in &model.effects[*effect].set {
            let there = surely_there(model, id, *actuator, |other| other == *position)
                .unwrap_or(Err(Element::Actuator(*actuator)));
            last = Some(last.map_or_else(|| there.clone(), |other| later(other, there.clone())));
        }
    }
    let told = last.unwrap_or_else(|| plus(Ok(Exact::zero()), solver, &model.solvers[alarm.solver].reaction));
    Some(match (seen, told) {
        (Ok(seen), Ok(told)) => Ok(&seen + &told),
        (Err(element), _) | (_, Err(element)) => Err(element),
    })
}

/// When the readings of an alarm have surely come so far that it is true, without the times of its chain.
fn all_seen(model: &Model, id: CauseId, way: Way, time_to: TimeTo<'_>) -> Option<Exact> {
    let alarm = &model.causes[id];
    surely_true(model, alarm, &alarm.when, false, way, (time_to, false))?.ok()
}

/// When a condition is surely true, with the times until its solver sees it or without.
fn surely_true(
    model: &Model,
    alarm: &Cause,
    tree: &Tree<InputAtom>,
    negated: bool,
    way: Way,
    (time_to, timed): (TimeTo<'_>, bool),
) -> Option<Sum> {
    let (parts, needed) = parts(tree, negated);
    let Some(needed) = needed else {
        let Tree::Atom(atom) = tree else {
            return parts.first().and_then(|(part, negated)| {
                surely_true(model, alarm, part, *negated, way, (time_to, timed))
            });
        };
        let one = along(model, atom, negated, way)?;
        let at = time_to(&(&far(&one) + one.accuracy))?;
        if !timed {
            return Some(Ok(at));
        }
        // That the quantity goes on for at least a T90 before the trip needs no asking: where it does not, nothing is left.
        let known = known_step(model, one.input, Some(way.1));
        return Some(surely_seen(model, one.input, alarm.solver, known).map(|time| &time + &at));
    };
    let mut times: Vec<Sum> = parts
        .iter()
        .filter_map(|(part, negated)| surely_true(model, alarm, part, *negated, way, (time_to, timed)))
        .collect();
    // What is not known is later than everything.
    times.sort_by_key(|time| (time.is_err(), time.clone().ok()));
    times.into_iter().nth(needed.max(1) - 1)
}

/// The parts of a condition, each with whether it stands under NOT, and how many of them it needs; `None` of an atom and of NOT.
fn parts(tree: &Tree<InputAtom>, negated: bool) -> (Vec<(&Tree<InputAtom>, bool)>, Option<usize>) {
    let all = |parts: &'_ [Tree<InputAtom>]| parts.len();
    let (parts, m) = match tree {
        Tree::Atom(_) => return (Vec::new(), None),
        Tree::Not(part) => return (vec![(part.as_ref(), !negated)], None),
        Tree::And(parts) => (parts, all(parts)),
        Tree::Or(parts) => (parts, 1),
        Tree::Vote { m, of } => (of, *m),
    };
    // NOT of MooN is (N-M+1)ooN of the NOTs.
    let needed = if negated { (parts.len() + 1).saturating_sub(m) } else { m };
    (parts.iter().map(|part| (part, negated)).collect(), Some(needed))
}

/// The atom as a comparison of the quantity in that way.
fn along<'m>(model: &'m Model, atom: &'m InputAtom, negated: bool, way: Way) -> Option<Comparison<'m>> {
    comparison(model, atom, negated).filter(|one| (one.quantity, one.rising()) == way)
}

/// How far the quantity has come at the set point, counted in the way in which it goes.
fn far(one: &Comparison<'_>) -> Exact {
    if one.rising() { one.set_point.clone() } else { -one.set_point }
}
