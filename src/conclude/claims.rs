//! Every claim as a sentence with its verdict, in a fixed order: hazards by mode, then single elements.

use super::{time, why};
use crate::assess::{Assessment, Decided, HazardInMode, Subject};
use crate::check::Check;
use crate::claim::{Breach, Claim};
use crate::finding::Finding;
use crate::model::{ActuatorId, AtPosition, CauseId, HazardId, ModeId, Model, Name};
use crate::outcome::{Judged, Verdict};
use crate::source::Source;

/// All claims.
pub(super) fn judge(
    model: &Model,
    source: &Source,
    assessment: &Assessment,
    findings: &[Finding],
) -> Vec<Judged> {
    let mut claims = Vec::new();
    for (id, hazard) in model.hazards.iter() {
        for mode in &model.groups[hazard.group].modes {
            match assessment.hazards.iter().find(|e| e.hazard == id && e.mode == *mode) {
                Some(examined) => {
                    claims.extend(of_hazard(model, assessment, examined, findings));
                    let mut timed = assessment.timed.iter();
                    if let Some(in_time) = timed.find(|t| t.hazard == id && t.mode == *mode) {
                        claims
                            .extend(time::of_hazard(model, source, assessment, examined, in_time, findings));
                    }
                }
                None => claims.extend(not_there(model, id, *mode)),
            }
        }
    }
    claims.extend(of_singles(model, assessment, findings));
    claims.extend(time::of_trips(model, source, assessment, findings));
    claims
}

pub(super) fn verdict(decided: &Decided) -> Verdict {
    match decided {
        Decided::Holds => Verdict::Proved,
        Decided::Broken(_) | Decided::Never(_) => Verdict::Refuted,
        Decided::Undecided(reason) => Verdict::Undecided(reason.clone()),
        Decided::NotApplicable(reason) => Verdict::NotApplicable(reason.clone()),
        Decided::Disputed => {
            Verdict::Undecided("parts of the program disagree; see the section on it".into())
        }
    }
}

/// The finding that tells a refuted claim: of the first of these checks that has one for this place.
pub(super) fn told<'f>(
    findings: &'f [Finding],
    checks: &[Check],
    fits: impl Fn(&Finding) -> bool,
) -> Option<&'f Finding> {
    checks.iter().find_map(|check| findings.iter().find(|finding| finding.check == *check && fits(finding)))
}

pub(super) fn linked(model: &Model, mut judged: Judged, finding: Option<&Finding>) -> Judged {
    if judged.verdict == Verdict::Refuted
        && let Some(finding) = finding
    {
        let hazard = finding.hazard.map(|hazard| model.hazards[hazard].name.tag.as_str());
        judged.finding = Some(finding.id(hazard));
        judged.accepted = finding.accepted.clone();
    }
    judged
}

fn of_hazard(
    model: &Model,
    assessment: &Assessment,
    examined: &HazardInMode,
    findings: &[Finding],
) -> Vec<Judged> {
    let hazard = &model.hazards[examined.hazard];
    let required = hazard.required;
    let tag = &hazard.name.tag;
    let mode = place(model, examined.mode);
    let paths = trip_paths(required.disjoint_paths);
    let tolerated = faults(required.fault_tolerance);
    let under = faults(required.under_overrides);
    use Check::{
        FaultDefeatsProtection, HazardNotCovered, InitiatorInProtection, OverrideRemovesProtection,
        TooFewDisjointPaths,
    };
    let rows: [(&'static str, &Decided, String, &[Check]); 5] = [
        (
            "covered",
            &examined.covered,
            format!(
                "{tag} reaches its safe state in {mode} without a fault, under every permitted override."
            ),
            &[HazardNotCovered, OverrideRemovesProtection],
        ),
        (
            "fault-tolerance",
            &examined.tolerance,
            format!("{tag} reaches its safe state in {mode} with {tolerated}."),
            &[FaultDefeatsProtection, InitiatorInProtection, HazardNotCovered],
        ),
        (
            "disjoint-paths",
            &examined.disjoint,
            format!("{tag} has {paths} in {mode}."),
            &[TooFewDisjointPaths, InitiatorInProtection, FaultDefeatsProtection, HazardNotCovered],
        ),
        (
            "initiator",
            &examined.initiator,
            format!(
                "{tag} keeps its trip paths and fault tolerance in {mode} with any one initiator misbehaving."
            ),
            &[InitiatorInProtection, FaultDefeatsProtection, TooFewDisjointPaths, HazardNotCovered],
        ),
        (
            "overrides",
            &examined.overrides,
            format!("{tag} reaches its safe state in {mode} under every permitted override with {under}."),
            &[OverrideRemovesProtection, HazardNotCovered],
        ),
    ];
    rows.into_iter()
        .map(|(claim, decided, statement, checks)| {
            let judged = Judged {
                claim,
                hazard: Some(examined.hazard),
                mode: Some(examined.mode),
                about: None,
                statement,
                verdict: verdict(decided),
                finding: None,
                accepted: None,
                one_engine: examined.one_engine.clone(),
                why: why::of_hazard(model, assessment, examined, claim),
            };
            let fits = |finding: &Finding| {
                finding.hazard == Some(examined.hazard) && finding.modes.contains(&examined.mode)
            };
            linked(model, judged, told(findings, checks, fits))
        })
        .collect()
}

fn not_there(model: &Model, hazard: HazardId, mode: ModeId) -> Option<Judged> {
    let element = &model.hazards[hazard];
    let reason = element.not_in.get(&mode)?;
    Some(Judged {
        claim: "covered",
        hazard: Some(hazard),
        mode: Some(mode),
        about: None,
        statement: format!("{} reaches its safe state in {}.", element.name.tag, place(model, mode)),
        verdict: Verdict::NotApplicable(format!("the hazard does not exist in this mode: {reason}")),
        finding: None,
        accepted: None,
        one_engine: None,
        why: None,
    })
}

/// `mode running of cell`.
pub(super) fn place(model: &Model, mode: ModeId) -> String {
    let element = &model.modes[mode];
    format!("mode {} of {}", element.name.tag, model.groups[element.group].name.tag)
}

fn of_singles(model: &Model, assessment: &Assessment, findings: &[Finding]) -> Vec<Judged> {
    let mut claims = Vec::new();
    for single in &assessment.singles {
        let (claim, about, hazard, checks) = kind(model, single.subject);
        let tag = about.map(|about| about.tag.clone());
        let judged = Judged {
            claim,
            hazard,
            mode: None,
            about: tag.clone(),
            statement: single_in_words(model, single.subject),
            verdict: verdict(&single.decided),
            finding: None,
            accepted: None,
            one_engine: single.one_engine.clone(),
            why: why::of_single(model, assessment, single.subject),
        };
        let modes: &[ModeId] = match &single.subject {
            Subject::RunTogether(one, other) => &[*one, *other],
            _ => &[],
        };
        let named: Vec<String> = match &single.subject {
            Subject::NotHarmed(_, _, at) => vec![model.tag(model.device_element(at.device)).to_string()],
            Subject::Preceded(_, later, earlier) => {
                [later, earlier].map(|effect| model.effects[*effect].name.tag.clone()).to_vec()
            }
            _ => Vec::new(),
        };
        let fits = |finding: &Finding| {
            finding.hazard == hazard
                && named.iter().all(|tag| finding.elements.contains(tag))
                && tag.as_ref().is_none_or(|tag| finding.elements.contains(tag))
                && modes.iter().all(|mode| finding.modes.contains(mode))
        };
        claims.push(linked(model, judged, told(findings, checks, fits)));
    }
    claims
}

/// Of a claim about a single element: its name, the element, the hazard, and the checks that tell a refuted one.
fn kind(
    model: &Model,
    subject: Subject,
) -> (&'static str, Option<&Name>, Option<HazardId>, &'static [Check]) {
    let cause = |id: CauseId| Some(&model.causes[id].name);
    let actuator = |id: ActuatorId| Some(&model.actuators[id].name);
    let device = |at: AtPosition| Some(model.name(model.device_element(at.device)));
    match subject {
        Subject::CanFire(id) => ("can-fire", cause(id), None, &[Check::TripCannotFire]),
        Subject::CanFireFor(id, hazard) => {
            ("can-fire-for", cause(id), Some(hazard), &[Check::TripCannotFire])
        }
        Subject::NotAlwaysOn(id) => ("not-always-on", cause(id), None, &[Check::TripAlwaysOn]),
        Subject::MarksMatter(id) | Subject::MarkMatters(id, _) => {
            ("mark-matters", cause(id), None, &[Check::MarkWithoutInfluence])
        }
        Subject::VoteCanTrip(id, _) => ("vote-can-trip", cause(id), None, &[Check::VoteCannotTrip]),
        Subject::CanRun(id) => ("can-run", Some(&model.modes[id].name), None, &[Check::ModeCannotRun]),
        Subject::NotOpposed(id) => ("no-opposing-commands", actuator(id), None, &[Check::OpposingCommands]),
        Subject::Obeyed(id) => ("obeyed", actuator(id), None, &[Check::CommandWithoutObedience]),
        Subject::LoserMet(hazard, id) => {
            ("loser-met", actuator(id), Some(hazard), &[Check::LoserUnprotected])
        }
        Subject::NotHarmed(hazard, id, _) => {
            ("no-harmful-action", cause(id), Some(hazard), &[Check::HarmfulAction])
        }
        Subject::NotForced(hazard, at) => {
            ("no-forcing-loss", device(at), Some(hazard), &[Check::LossForcesForbiddenPosition])
        }
        Subject::SafeStatesCompatible => ("safe-states-compatible", None, None, &[Check::SafeStatesExclude]),
        Subject::Carries(machine) => {
            let machine = model.source_element(machine).map(|element| model.name(element));
            ("capacity", machine, None, &[Check::DemandAboveCapacity])
        }
        // Which finding it is, its modes tell: see `of_singles`.
        Subject::RunTogether(..) => ("run-together", None, None, &[Check::ModesExcludeEachOther]),
        Subject::MetWhileWarmingUp(hazard) => (
            "met-while-warming-up",
            None,
            Some(hazard),
            &[Check::BlindWhileWarmingUp, Check::HazardNotCovered],
        ),
        Subject::Preceded(id, ..) => ("preceded", cause(id), None, &[Check::EffectsOutOfOrder]),
        Subject::SpanReached(id) => {
            ("span-reached", Some(&model.stops[id].name), None, &[Check::StopMissesItsSpan])
        }
        Subject::NeverOccurs(id) => {
            ("exclusion", Some(&model.exclusions[id].name), None, &[Check::ExclusionOccurs])
        }
        Subject::AlwaysHolds(id) => {
            ("invariant", Some(&model.invariants[id].name), None, &[Check::InvariantBroken])
        }
        Subject::CanLeave(id) => ("can-leave", Some(&model.spaces[id].name), None, &[Check::NobodyCanLeave]),
        Subject::ReleaseStops(id, _, hazard) => {
            ("release-stops", Some(&model.spaces[id].name), Some(hazard), &[Check::ReleaseLeavesHazard])
        }
    }
}

pub(super) fn single_in_words(model: &Model, subject: Subject) -> String {
    match subject {
        Subject::CanFire(cause) => format!("{} can fire.", model.causes[cause].name.tag),
        Subject::CanFireFor(cause, hazard) => format!(
            "{} can fire while {} is present.",
            model.causes[cause].name.tag, model.hazards[hazard].name.tag
        ),
        Subject::NotOpposed(actuator) => format!(
            "{} is never commanded to two positions at once without a declared winner.",
            model.actuators[actuator].name.tag
        ),
        Subject::NeverOccurs(exclusion) => {
            let rule = &model.exclusions[exclusion];
            format!("{}: `{}` never occurs with {}.", rule.name.tag, rule.text, faults(rule.fault_tolerance))
        }
        Subject::AlwaysHolds(invariant) => {
            let rule = &model.invariants[invariant];
            format!("{}: `{}` always holds with {}.", rule.name.tag, rule.text, faults(rule.fault_tolerance))
        }
        Subject::CanLeave(space) => {
            format!(
                "Somebody inside {} can leave in every mode in which people may be inside, with any one fault.",
                model.spaces[space].name.tag
            )
        }
        Subject::NotAlwaysOn(cause) => {
            format!(
                "{} is false in some normal situation in which it is armed.",
                model.causes[cause].name.tag
            )
        }
        Subject::MarksMatter(cause) => {
            format!("In some situation only {} commands what it commands.", model.causes[cause].name.tag)
        }
        Subject::MarkMatters(cause, at) => {
            format!("In some situation only {} commands {}.", model.causes[cause].name.tag, to(model, at))
        }
        Subject::VoteCanTrip(cause, number) => {
            let which = if number == 0 { String::new() } else { format!(" number {}", number + 1) };
            format!(
                "The vote{which} of {} can trip whatever is overridden as permitted and however many of its inputs are \
                 bad.",
                model.causes[cause].name.tag
            )
        }
        Subject::CanRun(mode) => {
            format!("In {} some normal situation contradicts nothing it needs.", place(model, mode))
        }
        Subject::Obeyed(actuator) => {
            format!("{} goes where it is commanded.", model.actuators[actuator].name.tag)
        }
        Subject::LoserMet(hazard, actuator) => format!(
            "{} reaches its safe state while {} is commanded both ways.",
            model.hazards[hazard].name.tag, model.actuators[actuator].name.tag
        ),
        Subject::NotHarmed(hazard, cause, at) => format!(
            "{} never commands {} while {} is present, which forbids it.",
            model.causes[cause].name.tag,
            to(model, at),
            model.hazards[hazard].name.tag
        ),
        Subject::NotForced(hazard, at) => format!(
            "No loss of one supply, route, cabinet or solver moves {}, which {} forbids.",
            to(model, at),
            model.hazards[hazard].name.tag
        ),
        Subject::SafeStatesCompatible => {
            "One set of positions satisfies all hazards that can be present together.".to_string()
        }
        Subject::Carries(machine) => {
            let (machines, spare) = model.carried_with(machine);
            let mut tags: Vec<String> = machines.iter().map(|machine| model.source_tag(*machine)).collect();
            tags.sort();
            let carry = if tags.len() == 1 { "carries" } else { "carry" };
            let lost = match spare {
                0 => String::new(),
                1 => ", with any one of them lost".to_string(),
                n => format!(", with any {n} of them lost"),
            };
            format!("{} {carry} what suppression releases can demand at once{lost}.", tags.join(", "))
        }
        Subject::RunTogether(one, other) => format!(
            "What {} needs and what {} needs can be had at once.",
            place(model, one),
            place(model, other)
        ),
        Subject::MetWhileWarmingUp(hazard) => format!(
            "{} reaches its safe state while every sensor with a warm-up time shows what it shows without supply.",
            model.hazards[hazard].name.tag
        ),
        Subject::Preceded(cause, later, earlier) => {
            let (later, earlier) = (&model.effects[later].name.tag, &model.effects[earlier].name.tag);
            format!(
                "Whenever {} fires, another cause fires that ends {earlier} before {later} can take hold.",
                model.causes[cause].name.tag
            )
        }
        Subject::SpanReached(stop) => {
            let element = &model.stops[stop];
            format!(
                "{} brings its whole span where it must be, in every mode in which some hazard exists, with {}.",
                element.name.tag,
                faults(element.fault_tolerance)
            )
        }
        Subject::ReleaseStops(space, door, hazard) => {
            let door = model.spaces[space].doors.get(door).map_or("", |door| door.name.tag.as_str());
            format!(
                "Leaving {} by {door} brings {} to its safe state, with any one fault.",
                model.spaces[space].name.tag, model.hazards[hazard].name.tag
            )
        }
    }
}

/// `CP-1 to stopped`.
fn to(model: &Model, at: AtPosition) -> String {
    let device = model.tag(model.device_element(at.device));
    let position = model.device_positions(at.device).get(at.position).map_or("", String::as_str);
    format!("{device} to {position}")
}

/// `no fault`, `any one fault`, `any 2 faults`.
pub(super) fn faults(number: u32) -> String {
    match number {
        0 => "no fault".to_string(),
        1 => "any one fault".to_string(),
        n => format!("any {n} faults"),
    }
}

/// `a trip path`, `2 disjoint trip paths`.
pub(super) fn trip_paths(number: u32) -> String {
    match number {
        1 => "a trip path".to_string(),
        n => format!("{n} disjoint trip paths"),
    }
}

/// A claim in words, for the case that engine and simulator disagree about it.
pub(super) fn in_words(model: &Model, claim: &Claim) -> String {
    let what = match &claim.breach {
        Breach::NotMet { hazard, .. } => {
            format!("{} reaches its safe state", model.hazards[*hazard].name.tag)
        }
        Breach::Blind(hazard) => {
            format!("{} reaches its safe state while sensors warm up", model.hazards[*hazard].name.tag)
        }
        Breach::Late { hazard, .. } => {
            format!("{} reaches its safe state in time", model.hazards[*hazard].name.tag)
        }
        Breach::ActsInTime { cause, hazard, .. } => {
            format!("{} is too slow for {}", model.causes[*cause].name.tag, model.hazards[*hazard].name.tag)
        }
        Breach::Exists { hazard, .. } => format!("{} never begins", model.hazards[*hazard].name.tag),
        Breach::Possible => "there is no situation".to_string(),
        Breach::Fires(cause) => format!("{} never fires", model.causes[*cause].name.tag),
        Breach::FiresFor(cause, hazard) => {
            format!("{} never fires for {}", model.causes[*cause].name.tag, model.hazards[*hazard].name.tag)
        }
        Breach::Opposed(actuator) => {
            format!("{} is never commanded both ways", model.actuators[*actuator].name.tag)
        }
        Breach::Occurs(exclusion) => format!("{} never occurs", model.exclusions[*exclusion].name.tag),
        Breach::Broken(invariant) => format!("{} always holds", model.invariants[*invariant].name.tag),
        Breach::LockedIn(space) | Breach::ReleaseFails(space, _) => {
            format!("somebody inside {} can leave", model.spaces[*space].name.tag)
        }
        Breach::Inside(space) => format!("nobody is ever inside {}", model.spaces[*space].name.tag),
        Breach::ReleaseUsed { space, hazard, .. } => format!(
            "no release of {} is used where {} can exist",
            model.spaces[*space].name.tag, model.hazards[*hazard].name.tag
        ),
        Breach::Applies(invariant) => {
            format!("what {} begins with is never demanded", model.invariants[*invariant].name.tag)
        }
        Breach::Quiet(cause) => format!("{} is true whenever it is normal", model.causes[*cause].name.tag),
        Breach::Runs(mode) => format!("mode {} cannot work", model.modes[*mode].name.tag),
        Breach::Matters(cause, _) => {
            format!("others command all that {} commands", model.causes[*cause].name.tag)
        }
        Breach::Unled(cause, others) => {
            let tags: Vec<&str> = others.iter().map(|other| model.causes[*other].name.tag.as_str()).collect();
            format!("whenever {} fires, one of {} is true", model.causes[*cause].name.tag, tags.join(", "))
        }
        Breach::VoteTrips(cause, _) => format!("the vote of {} never trips", model.causes[*cause].name.tag),
        Breach::Harmed { hazard, cause, .. } => format!(
            "{} never commands what {} forbids",
            model.causes[*cause].name.tag, model.hazards[*hazard].name.tag
        ),
        Breach::Forced { hazard, source, .. } => format!(
            "the loss of {} moves nothing where {} forbids it",
            model.source_tag(*source),
            model.hazards[*hazard].name.tag
        ),
        Breach::Outvoted { hazard, actuator } => format!(
            "{} is met while {} is commanded both ways",
            model.hazards[*hazard].name.tag, model.actuators[*actuator].name.tag
        ),
        Breach::Together(hazards) => {
            let tags: Vec<&str> =
                hazards.iter().map(|hazard| model.hazards[*hazard].name.tag.as_str()).collect();
            format!("{} are never together", tags.join(", "))
        }
        Breach::Armed(cause) => format!("{} is never armed", model.causes[*cause].name.tag),
        Breach::SpanMissed(stop) => format!("{} reaches its span", model.stops[*stop].name.tag),
        Breach::Released { space, hazard, .. } => format!(
            "{} is in its safe state once the way out of {} is used",
            model.hazards[*hazard].name.tag, model.spaces[*space].name.tag
        ),
        Breach::Overdrawn(machine) => {
            format!("{} carries what is demanded at once", model.source_tag(*machine))
        }
        Breach::RunBoth(one, other) => {
            format!("{} and {} cannot work at once", place(model, *one), place(model, *other))
        }
        Breach::Clash(one, other) => {
            format!("{} and {} never clash", place(model, *one), place(model, *other))
        }
        Breach::Overruled(actuator) => {
            format!("{} goes where it is commanded", model.actuators[*actuator].name.tag)
        }
    };
    let modes: Vec<String> = claim.modes.iter().map(|mode| place(model, *mode)).collect();
    let mut sources: Vec<String> =
        claim.faults.sources.iter().map(|source| model.source_tag(*source)).collect();
    sources.sort();
    let faults = match claim.faults.weight {
        Some(weight) => faults(weight),
        None => format!("faults of {}", sources.join(", ")),
    };
    let modes = if modes.is_empty() { "any mode".to_string() } else { modes.join(", ") };
    format!("{what} in {modes} with {faults}")
}
