//! The hazards of each mode group, why hazards are left out of modes, and the legend of the table.

use std::collections::BTreeMap;

use crate::model::{GroupId, HazardId, Model};
use crate::outcome::{Cell, OfTime, Outcome, Paths, Tolerance};

/// The groups that have hazards, with those hazards.
pub(in crate::report) fn groups(model: &Model) -> Vec<(GroupId, Vec<HazardId>)> {
    let of = |group| model.hazards.iter().filter(|(_, h)| h.group == group).map(|(id, _)| id).collect();
    let all = model.groups.ids().map(|group| (group, of(group)));
    all.filter(|(_, hazards): &(_, Vec<HazardId>)| !hazards.is_empty()).collect()
}

/// What the policy, or the hazard itself, asks for.
pub(in crate::report) fn required(model: &Model, hazard: HazardId) -> String {
    let required = model.hazards[hazard].required;
    format!("{}/{}", required.disjoint_paths, required.fault_tolerance)
}

/// Tag and title of those that have a title.
pub(in crate::report) fn titles<'m>(model: &'m Model, hazards: &[HazardId]) -> Vec<(&'m str, &'m str)> {
    let names = hazards.iter().map(|id| &model.hazards[*id].name);
    names.filter_map(|name| Some((name.tag.as_str(), name.title.as_deref()?))).collect()
}

/// Why hazards are said not to exist in some modes: `H-1 is left out in idle:` and the reason.
pub(in crate::report) fn reasons(outcome: &Outcome, hazards: &[HazardId]) -> Vec<(String, String)> {
    let model = &outcome.model;
    let mut by_reason: BTreeMap<(HazardId, &str), Vec<&str>> = BTreeMap::new();
    for ((hazard, mode), found) in &outcome.table {
        if let Cell::Excluded(reason) = found
            && hazards.contains(hazard)
        {
            by_reason.entry((*hazard, reason)).or_default().push(&model.modes[*mode].name.tag);
        }
    }
    let label = |hazard: HazardId, modes: Vec<&str>| {
        format!("{} is left out in {}:", model.hazards[hazard].name.tag, modes.join(", "))
    };
    by_reason
        .into_iter()
        .map(|((hazard, reason), modes)| (label(hazard, modes), reason.to_string()))
        .collect()
}

/// The legend, sign by sign: only of what the table shows.
pub(in crate::report) fn legend(outcome: &Outcome) -> Vec<(&'static str, &'static str)> {
    let has = |wanted: &dyn Fn(&Cell) -> bool| outcome.table.values().any(wanted);
    let unlimited = |found: &Cell| matches!(found, Cell::Examined { paths: Paths::Unlimited, .. });
    let at_least = |found: &Cell| matches!(found, Cell::Examined { tolerance: Tolerance::AtLeast(_), .. });
    let mut all = vec![
        (
            "2/1",
            "2 disjoint trip paths (they share nothing that can fail) / any 1 fault is tolerated: the plant still \
             reaches the state that averts the hazard, in the time that may be used unless a sign says otherwise",
        ),
        ("required", "what the policy asks for, or this hazard's own `requires`"),
    ];
    if has(&|found| at_least(found) && !unlimited(found)) {
        all.push(("2/≥2", "at least 2 faults are tolerated; more were not searched for"));
    }
    if has(&|found| at_least(found) && unlimited(found)) {
        all.push((
            "any/≥2",
            "nothing that can fail, alone or together, defeats the protection: any number of paths, and at least the \
             2 faults that were searched for are tolerated",
        ));
    }
    if has(&|found| !at_least(found) && unlimited(found)) {
        all.push(("any", "nothing that can fail defeats it, so the number of paths has no limit"));
    }
    if has(&|found| matches!(found, Cell::Examined { tolerance: Tolerance::None, .. })) {
        all.push(("none", "the plant does not reach that state, even with everything else working"));
    }
    if has(&|found| matches!(found, Cell::Examined { initiator: true, .. })) {
        all.push(("*", "the figures hold while a declared initiator of the hazard misbehaves"));
    }
    if has(&|found| matches!(found, Cell::Examined { meets: false, .. })) {
        all.push(("!", "less than required"));
    }
    let of_time = |wanted: fn(&OfTime) -> bool| {
        has(&move |found| matches!(found, Cell::Examined { time, .. } if wanted(time)))
    };
    if of_time(|time| matches!(time, OfTime::Less { .. })) {
        all.push(("1/0 (2/1)", "1/0 in the time that the hazard leaves; 2/1 would hold as long as it takes"));
    }
    if of_time(|time| *time == OfTime::Undecided) {
        all.push(("t?", "the figures hold as long as it takes; whether in time was not decided"));
    }
    if of_time(|time| *time == OfTime::NoTime) {
        all.push(("~", "the figures hold as long as it takes: the model gives no time for this hazard"));
    }
    if has(&|found| matches!(found, Cell::Excluded(_))) {
        all.push(("-", "the model says that the hazard does not exist in this mode, for the reason above"));
    }
    if has(&|found| matches!(found, Cell::NotConsidered)) {
        all.push(("?", "the model says nothing about the hazard in this mode"));
    }
    if has(&|found| matches!(found, Cell::Impossible)) {
        all.push((
            "never",
            "the model says that it exists, but its conditions cannot come about: nothing is shown",
        ));
    }
    if has(&|found| matches!(found, Cell::Undecided)) {
        all.push(("undecided", "examined and not decided; not to be read as met"));
    }
    all
}
