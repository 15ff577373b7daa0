//! Claims about single elements.

use std::collections::BTreeSet;

use tripproof::assess::time::order;
use tripproof::assess::{Assessment, Single, Subject};
use tripproof::claim::Breach;
use tripproof::model::{Amount, AtPosition, CauseId, Excluded, HazardId, InputAtom, Model, Source, SpaceId};
use tripproof::replay::common_positions;

use super::{Judged, Walks, names, vote, word};
use crate::support::enumerate::{NOBODY, Others};

pub(super) fn all(model: &Model, assessment: &Assessment, walks: &mut Walks<'_>, judged: &mut Judged) {
    for single in &assessment.singles {
        let kind = kind(single.subject);
        let walked = walked(model, single, walks, judged);
        judged.asked(walked.map(|_| ()));
        if let Some(walked) = walked {
            judged.compare(kind, &format!("{:?}", single.subject), word(&single.decided), walked);
        }
    }
    let impossible: Option<Vec<_>> = model
        .modes
        .ids()
        .map(|mode| {
            let possible = walks.about(Breach::Possible, Some(mode)).defeated(&BTreeSet::new(), NOBODY)?;
            judged.claims.push(("mode possible", if possible { "holds" } else { "never" }));
            Some((!possible).then_some(mode))
        })
        .collect();
    let impossible: Option<Vec<_>> = impossible.map(|modes| modes.into_iter().flatten().collect());
    if impossible.is_some_and(|impossible| impossible != assessment.impossible_modes) {
        judged.differ("which modes are possible".into());
    }
}

/// What a claim is called.
fn kind(subject: Subject) -> &'static str {
    match subject {
        Subject::CanFire(_) => "can fire",
        Subject::CanFireFor(..) => "can fire for a hazard",
        Subject::NotAlwaysOn(_) => "not always on",
        Subject::MarksMatter(_) => "marks matter",
        Subject::MarkMatters(..) => "single mark matters",
        Subject::VoteCanTrip(..) => "vote can trip",
        Subject::CanRun(_) => "mode can run",
        Subject::NotOpposed(_) => "not opposed",
        Subject::Obeyed(_) => "obeyed",
        Subject::LoserMet(..) => "loser met",
        Subject::NotHarmed(..) => "no action harms",
        Subject::NotForced(..) => "no loss harms",
        Subject::SafeStatesCompatible => "safe states compatible",
        Subject::Carries(_) => "carries",
        Subject::RunTogether(..) => "modes run together",
        Subject::MetWhileWarmingUp(_) => "met while warming up",
        Subject::Preceded(..) => "preceded",
        Subject::SpanReached(_) => "span reached",
        Subject::NeverOccurs(_) => "never occurs",
        Subject::AlwaysHolds(_) => "always holds",
        Subject::CanLeave(_) => "can leave",
        Subject::ReleaseStops(..) => "release stops",
    }
}

fn broken(is: bool) -> &'static str {
    if is { "broken" } else { "holds" }
}

fn can(is: bool) -> &'static str {
    if is { "holds" } else { "never" }
}

/// What walking gives.
fn walked(
    model: &Model,
    single: &Single,
    walks: &mut Walks<'_>,
    judged: &mut Judged,
) -> Option<&'static str> {
    Some(match single.subject {
        Subject::CanFire(cause) => can(fires(model, walks, cause)?),
        Subject::CanFireFor(cause, hazard) => match fires(model, walks, cause)? {
            true => {
                let weight = u32::from(asks_for_faults(model, cause));
                can(walks.happens(Breach::FiresFor(cause, hazard), weight, NOBODY)?)
            }
            false => "not applicable",
        },
        Subject::NotAlwaysOn(cause) => can(walks.ever(Breach::Quiet(cause))?),
        Subject::MarksMatter(cause) => {
            let commands = model.causes[cause].demands.iter().any(|e| !model.effects[*e].set.is_empty());
            match commands && fires(model, walks, cause)? {
                true => can(walks.ever(Breach::Matters(cause, None))?),
                false => "not applicable",
            }
        }
        Subject::MarkMatters(cause, at) => {
            if walks.ever(Breach::Matters(cause, None))? {
                judged.differ(format!("marks of {cause:?} matter at once, and are asked one by one"));
            }
            can(walks.happens(Breach::Matters(cause, Some(at)), 1, NOBODY)?)
        }
        Subject::VoteCanTrip(cause, number) => can(!vote::stuck(model, walks, cause, number)?),
        Subject::CanRun(mode) => can(walks.ever(Breach::Runs(mode))?),
        Subject::NotOpposed(actuator) => broken(walks.ever(Breach::Opposed(actuator))?),
        Subject::Obeyed(actuator) => broken(walks.ever(Breach::Overruled(actuator))?),
        Subject::LoserMet(hazard, actuator) => broken(walks.ever(Breach::Outvoted { hazard, actuator })?),
        Subject::NotHarmed(hazard, cause, at) => broken(walks.ever(Breach::Harmed { hazard, cause, at })?),
        Subject::NotForced(hazard, at) => return forced(model, single, hazard, at, walks, judged),
        Subject::SafeStatesCompatible => return compatible(model, walks),
        Subject::Carries(machine) => return carries(model, machine, walks),
        Subject::RunTogether(one, other) => {
            let alone = walks.ever(Breach::Runs(one))? && walks.ever(Breach::Runs(other))?;
            match walks.ever(Breach::RunBoth(one, other))? {
                true => "holds",
                false if alone && walks.ever(Breach::Clash(one, other))? => "broken",
                false => "not applicable",
            }
        }
        Subject::MetWhileWarmingUp(hazard) => broken(walks.ever(Breach::Blind(hazard))?),
        Subject::Preceded(cause, later, earlier) => {
            let others = order::soon_enough(model, cause, later, earlier);
            broken(walks.ever(Breach::Unled(cause, others))?)
        }
        Subject::SpanReached(stop) => {
            broken(walks.happens(Breach::SpanMissed(stop), model.stops[stop].fault_tolerance, NOBODY)?)
        }
        Subject::NeverOccurs(exclusion) => {
            let weight = model.exclusions[exclusion].fault_tolerance;
            broken(walks.happens(Breach::Occurs(exclusion), weight, NOBODY)?)
        }
        Subject::AlwaysHolds(invariant) => {
            let weight = model.invariants[invariant].fault_tolerance;
            match walks.happens(Breach::Broken(invariant), weight, NOBODY)? {
                true => "broken",
                false if walks.ever(Breach::Applies(invariant))? => "holds",
                false => "not applicable",
            }
        }
        Subject::CanLeave(space) => match locked_in(model, space, walks)? {
            true => "broken",
            false if walks.ever(Breach::Inside(space))? => "holds",
            false => "not applicable",
        },
        Subject::ReleaseStops(space, door, hazard) => {
            // Damage that is certain belongs to every budget of faults.
            let with_damage = Others { damage: true, ..NOBODY };
            match walks.happens(Breach::Released { space, door, hazard }, 1, with_damage)? {
                true => "broken",
                false if walks.ever(Breach::ReleaseUsed { space, door, hazard })? => "holds",
                false => "not applicable",
            }
        }
    })
}

/// A condition that asks for a bad signal or a lost link is there for the fault that makes it true.
fn asks_for_faults(model: &Model, cause: CauseId) -> bool {
    let asks = |atom: &&InputAtom| matches!(atom, InputAtom::Bad(_) | InputAtom::LinkLost(_));
    model.causes[cause].when.atoms().iter().any(asks)
}

fn fires(model: &Model, walks: &mut Walks<'_>, cause: CauseId) -> Option<bool> {
    walks.happens(Breach::Fires(cause), u32::from(asks_for_faults(model, cause)), NOBODY)
}

/// Every supply, route, cabinet and solver whose quiet loss alone does it.
fn forced(
    model: &Model,
    single: &Single,
    hazard: HazardId,
    at: AtPosition,
    walks: &mut Walks<'_>,
    judged: &mut Judged,
) -> Option<&'static str> {
    let kinds = |source: &Source| {
        matches!(source, Source::Supply(_) | Source::Route(_) | Source::Cabinet(_) | Source::Solver(_))
    };
    let mut alone = Vec::new();
    for source in model.universe().into_iter().filter(kinds) {
        let breach = Breach::Forced { hazard, source, at };
        let walk = walks.about(breach, None);
        if walk.depends_on(source) && walk.defeated(&[source].into(), NOBODY)? {
            alone.push(source);
        }
    }
    alone.sort_by_key(|source| model.source_tag(*source));
    if alone != single.alone {
        let tags = |sources: &[Source]| names(model, &[sources.iter().copied().collect()]);
        let (said, walked) = (tags(&single.alone), tags(&alone));
        judged.differ(format!("losses that force {at:?} for {hazard:?}: {said:?}, walked {walked:?}"));
    }
    Some(broken(!alone.is_empty()))
}

/// Whether hazards that can be present together have safe states that exclude each other. Generated models have two.
fn compatible(model: &Model, walks: &mut Walks<'_>) -> Option<&'static str> {
    let all: BTreeSet<HazardId> = model.hazards.ids().collect();
    assert!(all.len() == 2, "two hazards");
    for hazard in &all {
        // One that is in conflict with itself.
        if common_positions(model, &[*hazard].into()) == Some(false)
            && walks.ever(Breach::Together([*hazard].into()))?
        {
            return Some("broken");
        }
    }
    let each = all.iter().all(|hazard| common_positions(model, &[*hazard].into()) == Some(true));
    let apart = all.iter().any(|hazard| !model.hazards[*hazard].never_together.is_empty());
    let conflict = each && !apart && common_positions(model, &all) == Some(false);
    Some(broken(conflict && walks.ever(Breach::Together(all))?))
}

fn carries(model: &Model, machine: Source, walks: &mut Walks<'_>) -> Option<&'static str> {
    let (mut machines, mut spare) = (BTreeSet::from([machine]), 0);
    for (_, release) in model.suppression.iter() {
        let listed: BTreeSet<Source> = release.capacity.iter().map(|(machine, _)| *machine).collect();
        if let Some(number) = release.spare
            && listed.contains(&machine)
        {
            machines.extend(listed);
            spare = number;
        }
    }
    let concerned = || {
        let lists = |(machine, _): &(Source, Amount)| machines.contains(machine);
        model.suppression.iter().map(|(_, release)| release).filter(move |r| r.capacity.iter().any(lists))
    };
    let unknown = |(machine, amount): &(Source, Amount)| {
        machines.contains(machine) && matches!(amount, Amount::Unknown)
    };
    if concerned().any(|release| release.capacity.iter().any(unknown)) {
        return Some("undecided");
    }
    let lost: Vec<Source> =
        machines.iter().copied().filter(|machine| model.universe().contains(machine)).collect();
    let overrides = Others { initiators: false, damage: false, overrides: true };
    let walk = walks.about(Breach::Overdrawn(machine), None);
    let mut exceeded = false;
    for set in crate::support::enumerate::subsets(&lost.into_iter().collect()) {
        if set.len() <= usize::try_from(spare).unwrap() {
            exceeded = exceeded || walk.defeated(&set, overrides)?;
        }
    }
    let stated = concerned().all(|release| matches!(release.demand, Some(Amount::Known(_))));
    Some(match (exceeded, stated) {
        (true, _) => "broken",
        (false, true) => "holds",
        (false, false) => "undecided",
    })
}

/// Nobody can leave: with one fault, or where a release that nobody answers for does not work.
fn locked_in(model: &Model, space: SpaceId, walks: &mut Walks<'_>) -> Option<bool> {
    if walks.happens(Breach::LockedIn(space), 1, NOBODY)? {
        return Some(true);
    }
    for (number, door) in model.spaces[space].doors.iter().enumerate() {
        let Some(release) = &door.escape_release else { continue };
        let answered = Excluded::Release(release.name.tag.clone());
        let answered = model.fault_exclusions.iter().any(|exclusion| exclusion.what == answered);
        if !answered && walks.ever(Breach::ReleaseFails(space, number))? {
            return Some(true);
        }
    }
    Some(false)
}
