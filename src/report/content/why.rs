//! Why the proved claims hold: what each proof needs, claims with the same reason together.

use std::collections::{BTreeMap, BTreeSet};

use crate::outcome::{Judged, Needed, Outcome, Part, Verdict, Why};
use crate::report::counted;

/// Above the reasons.
pub(in crate::report) const WHY: &str = "For each proof: what it needs of the model. None of what is named can be left out, given the rest; another proof may \
     need something else. A line number is that of the declaration. Elements that are not named may fail in any way and \
     any number; overrides, initiators and certain damage act as far as the claim allows them.";

/// Said where a hazard's proof needs nothing that sees the hazard.
const BLIND: &str = "Suspicious: this needs nothing that sees the hazard. Look whether the hazard's situation can arise \
                     at all, and whether its safe state is simply where everything stands.";

/// Claims with one reason.
pub(in crate::report) struct Reason {
    /// Which claims, in a few words.
    pub claims: String,
    /// A line for each part of the proof.
    pub lines: Vec<String>,
    /// Whether it needs nothing that sees the hazard.
    pub blind: bool,
}

/// Every reason, in the order of the claims; empty where reasons were not asked for.
pub(in crate::report) fn reasons(outcome: &Outcome) -> Vec<Reason> {
    let proved = outcome.claims.iter().filter(|claim| claim.verdict == Verdict::Proved);
    let mut groups: Vec<(&Why, Vec<&Judged>)> = Vec::new();
    for claim in proved {
        let Some(why) = &claim.why else { continue };
        // What is shown by an example or case by case needs no more than one line for all.
        let alike = |(other, claims): &&mut (&Why, Vec<&Judged>)| {
            *other == why
                && (matches!(why, Why::Example | Why::ManyCases)
                    || claims.first().is_some_and(|first| {
                        first.hazard == claim.hazard && (claim.hazard.is_some() || first.claim == claim.claim)
                    }))
        };
        match groups.iter_mut().find(alike) {
            Some((_, claims)) => claims.push(claim),
            None => groups.push((why, vec![claim])),
        }
    }
    groups.into_iter().map(|(why, claims)| reason(outcome, why, &claims)).collect()
}

fn reason(outcome: &Outcome, why: &Why, claims: &[&Judged]) -> Reason {
    let (lines, blind) = match why {
        Why::Example => {
            (vec!["Shown by a situation each, which the simulator has confirmed.".to_string()], false)
        }
        Why::ManyCases => (vec!["Worked out case by case; no smaller reason is told.".to_string()], false),
        Why::Lost(reason) => (vec![format!("No reason was found: {reason}.")], false),
        Why::Proof(parts) => {
            let several = parts.len() > 1;
            let mut lines: Vec<String> = parts
                .iter()
                .zip(1..)
                .map(|(part, number)| line(outcome, part, several.then_some(number)))
                .collect();
            let blind = parts.iter().any(|part| part.blind);
            lines.extend(blind.then(|| BLIND.to_string()));
            (lines, blind)
        }
    };
    Reason { claims: named(outcome, why, claims), lines, blind }
}

/// `H-1 in running, cooling: covered, fault-tolerance`, or the kinds of claims with what they are about.
fn named(outcome: &Outcome, why: &Why, claims: &[&Judged]) -> String {
    let model = &outcome.model;
    let kinds: BTreeSet<&str> = claims.iter().map(|claim| claim.claim).collect();
    if matches!(why, Why::Example | Why::ManyCases) {
        let count = |kind: &&str| claims.iter().filter(|claim| claim.claim == *kind).count();
        let parts: Vec<String> = kinds.iter().map(|kind| format!("{kind} ({})", count(kind))).collect();
        return format!("{}: {}", counted(claims.len(), "claim"), parts.join(", "));
    }
    let mut kinds: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for claim in claims {
        let about = match (&claim.about, claim.mode) {
            (Some(about), _) => about.clone(),
            (None, Some(mode)) => crate::report::modes(model, &[mode]).concat(),
            (None, None) => String::new(),
        };
        kinds.entry(claim.claim).or_default().insert(about);
    }
    // Claims about the same modes or elements stand together.
    let mut abouts: Vec<(BTreeSet<String>, Vec<&str>)> = Vec::new();
    for (kind, about) in kinds {
        match abouts.iter_mut().find(|(known, _)| *known == about) {
            Some((_, kinds)) => kinds.push(kind),
            None => abouts.push((about, vec![kind])),
        }
    }
    let parts: Vec<String> = abouts
        .into_iter()
        .map(|(about, kinds)| {
            let about: Vec<String> = about.into_iter().filter(|text| !text.is_empty()).collect();
            match about.is_empty() {
                true => kinds.join(", "),
                false => format!("{} ({})", kinds.join(", "), about.join(", ")),
            }
        })
        .collect();
    match claims.first().and_then(|claim| claim.hazard) {
        Some(hazard) => format!("{}: {}", model.hazards[hazard].name.tag, parts.join("; ")),
        None => parts.join("; "),
    }
}

fn line(outcome: &Outcome, part: &Part, number: Option<usize>) -> String {
    let start = match number {
        Some(number) => format!("Path {number} needs "),
        None => "Needs ".to_string(),
    };
    if part.needs.is_empty() {
        return format!("{start}nothing: it holds whatever fails, in every situation of the model.");
    }
    let tagged = |need: &Needed| {
        let line = outcome.source.place(need.span.start).line;
        format!("{} (line {line})", need.tag)
    };
    let of = |kind: &str| -> Vec<String> {
        part.needs.iter().filter(|need| need.kind == kind).map(tagged).collect()
    };
    let elements = of("element");
    let mut parts = Vec::new();
    match (part.faults, elements.as_slice()) {
        (_, []) => {}
        (Some(faults), elements) => parts.push(format!(
            "that no more than {} of these: {}",
            match faults {
                1 => "one fails".to_string(),
                n => format!("{n} fail"),
            },
            elements.join(", ")
        )),
        (None, elements) => parts.push(format!("that these work: {}", elements.join(", "))),
    }
    for (kind, words) in [
        ("coupling", "the couplings"),
        ("fault exclusion", "the fault exclusions"),
        ("left out by the policy", "faults that the policy leaves out"),
        ("range", "the declared ranges of"),
        ("never together", "that nothing that is never together is present with"),
    ] {
        let named = of(kind);
        if !named.is_empty() {
            parts.push(format!("{words} {}", named.join(", ")));
        }
    }
    format!("{start}{}.", parts.join("; "))
}
