//! The claims about time as sentences with their verdicts.

use std::collections::BTreeSet;

use super::claims::{faults, linked, place, told, trip_paths, verdict};
use super::why;
use crate::assess::{Assessment, Decided, HazardInMode, InTime, Single, Subject, Timed};
use crate::check::Check;
use crate::finding::Finding;
use crate::model::{CauseId, Element, HazardId, Model};
use crate::outcome::{Judged, Verdict, Why};
use crate::source::Source;

/// A claim: its name, what was decided without regard to time and with it, its sentence, the checks that tell it.
type Row<'a> = (&'static str, &'a Decided, Option<&'a Decided>, String, &'a [Check]);

/// The claims of one hazard in one mode that have to do with time.
pub(super) fn of_hazard(
    model: &Model,
    source: &Source,
    assessment: &Assessment,
    examined: &HazardInMode,
    in_time: &InTime,
    findings: &[Finding],
) -> Vec<Judged> {
    use Check::{FaultMakesProtectionLate, HazardNotMetInTime, TooFewTimelyPaths};
    let hazard = &model.hazards[examined.hazard];
    let tag = &hazard.name.tag;
    let mode = place(model, examined.mode);
    let own = match &in_time.decided {
        Timed::Decided(own) => Some(own),
        Timed::NoTime | Timed::Quick | Timed::Undecided(_) => None,
    };
    let rows: [Row<'_>; 3] = [
        (
            "in-time",
            &examined.covered,
            own.map(|own| &own.covered),
            format!(
                "{tag} reaches its safe state in {mode} in the time that it leaves, without a fault, under every \
                 permitted override."
            ),
            &[HazardNotMetInTime],
        ),
        (
            "in-time-with-faults",
            &examined.tolerance,
            own.map(|own| &own.tolerance),
            format!(
                "{tag} reaches its safe state in {mode} in the time that it leaves, with {}.",
                faults(hazard.required.fault_tolerance)
            ),
            &[FaultMakesProtectionLate, HazardNotMetInTime],
        ),
        (
            "timely-paths",
            &examined.disjoint,
            own.map(|own| &own.disjoint),
            format!(
                "{tag} has {} in {mode} that {} in time.",
                trip_paths(hazard.required.disjoint_paths),
                if hazard.required.disjoint_paths == 1 { "is" } else { "are" }
            ),
            &[TooFewTimelyPaths, FaultMakesProtectionLate, HazardNotMetInTime],
        ),
    ];
    rows.into_iter()
        .map(|(claim, ever, own, statement, checks)| {
            let judged = Judged {
                claim,
                hazard: Some(examined.hazard),
                mode: Some(examined.mode),
                about: None,
                statement,
                verdict: judge(model, source, in_time, ever, own),
                finding: None,
                accepted: None,
                one_engine: match &in_time.decided {
                    Timed::Decided(own) => own.one_engine.clone(),
                    _ => in_time.one_engine.clone().or(examined.one_engine.clone()),
                },
                why: why::of_hazard(model, assessment, examined, claim),
            };
            let fits = |finding: &Finding| {
                finding.hazard == Some(examined.hazard) && finding.modes.contains(&examined.mode)
            };
            linked(model, judged, told(findings, checks, fits))
        })
        .collect()
}

fn judge(model: &Model, source: &Source, in_time: &InTime, ever: &Decided, own: Option<&Decided>) -> Verdict {
    match (&in_time.decided, ever) {
        (Timed::NoTime, _) => Verdict::NotApplicable("the model gives no time for this hazard".into()),
        (_, Decided::Holds) => match &in_time.decided {
            Timed::Undecided(reason) => Verdict::Undecided(reason.clone()),
            Timed::Decided(_) => match own {
                Some(Decided::Undecided(_)) if !in_time.unknown.is_empty() => {
                    Verdict::Undecided(unknown(model, source, &in_time.unknown))
                }
                Some(own) => verdict(own),
                None => Verdict::Undecided("it was not decided".into()),
            },
            Timed::NoTime | Timed::Quick => Verdict::Proved,
        },
        (_, Decided::Undecided(reason)) => Verdict::Undecided(reason.clone()),
        (_, Decided::NotApplicable(reason)) => Verdict::NotApplicable(reason.clone()),
        (_, Decided::Broken(_) | Decided::Never(_) | Decided::Disputed) => {
            Verdict::NotApplicable("it does not hold even without regard to time".into())
        }
    }
}

/// Which times would decide it: `it is unknown how long GC-22 (line 331) takes`.
fn unknown(model: &Model, source: &Source, elements: &BTreeSet<Element>) -> String {
    let named: Vec<String> = elements.iter().map(|element| named(model, source, *element)).collect();
    format!("it depends on times that the model calls unknown or leaves out: {}", named.join(", "))
}

fn named(model: &Model, source: &Source, element: Element) -> String {
    let name = model.name(element);
    format!("{} (line {})", name.tag, source.place(name.span.start).line)
}

/// Whether each credited trip can act in time, over all modes in which it commands something of the safe state.
pub(super) fn of_trips(
    model: &Model,
    source: &Source,
    assessment: &Assessment,
    findings: &[Finding],
) -> Vec<Judged> {
    let mut all = Vec::new();
    for (cause, element) in model.causes.iter() {
        for hazard in &element.credited_for {
            let Some(verdict) = acts(model, source, assessment, (cause, *hazard)) else { continue };
            let tag = &element.name.tag;
            let proved = verdict == Verdict::Proved;
            let judged = Judged {
                claim: "acts-in-time",
                hazard: Some(*hazard),
                mode: None,
                about: Some(tag.clone()),
                statement: format!(
                    "{tag} can act in the time that {} leaves, in every mode in which it acts for it.",
                    model.hazards[*hazard].name.tag
                ),
                verdict,
                finding: None,
                accepted: None,
                one_engine: assessment
                    .timed
                    .iter()
                    .filter(|timed| timed.hazard == *hazard)
                    .find_map(|timed| timed.one_engine.clone()),
                // Sums and comparisons of declared times.
                why: (proved && assessment.reasons.is_some()).then_some(Why::ManyCases),
            };
            let fits = |finding: &Finding| finding.hazard == Some(*hazard) && finding.elements.contains(tag);
            all.push(linked(model, judged, told(findings, &[Check::TripTooSlow], fits)));
        }
    }
    all
}

fn acts(
    model: &Model,
    source: &Source,
    assessment: &Assessment,
    (cause, hazard): (CauseId, HazardId),
) -> Option<Verdict> {
    let never = |single: &Single| {
        let about = [Subject::CanFire(cause), Subject::CanFireFor(cause, hazard)];
        about.contains(&single.subject) && matches!(single.decided, Decided::Never(_))
    };
    if assessment.singles.iter().any(never) {
        return Some(Verdict::NotApplicable("it cannot fire for this hazard at all".into()));
    }
    let of_hazard: Vec<&InTime> = assessment.timed.iter().filter(|timed| timed.hazard == hazard).collect();
    let decided: Vec<&Decided> = of_hazard.iter().filter_map(|timed| timed.acts.get(&cause)).collect();
    let first = |wanted: &dyn Fn(&Decided) -> bool| decided.iter().find(|one| wanted(one)).copied();
    let decided = first(&|one| matches!(one, Decided::Never(_) | Decided::Broken(_) | Decided::Disputed))
        .or(first(&|one| matches!(one, Decided::Undecided(_))))
        .or(decided.first().copied())?;
    let elements: BTreeSet<Element> =
        of_hazard.iter().filter_map(|timed| timed.acts_unknown.get(&cause)).flatten().copied().collect();
    Some(match decided {
        Decided::Undecided(_) if !elements.is_empty() => {
            Verdict::Undecided(unknown(model, source, &elements))
        }
        decided => verdict(decided),
    })
}
