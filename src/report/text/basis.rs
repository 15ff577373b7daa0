//! What the proofs rest on, what was declared and not examined, and what the report does not show.

use super::section;
use super::wrap::{Paint, hanging, paragraph};
use crate::outcome::{Outcome, Premise};

/// What each kind of premise is called and what it means for the reader, in the order of the report.
const KINDS: &[(&str, &str, &str)] = &[
    ("coupling", "Couplings", "facts about the plant that exclude situations"),
    ("fault exclusion", "Fault exclusions", "faults that are not considered, whoever answers for it named"),
    ("certificate", "Certificates", "internal faults that a device is taken to tolerate"),
    ("mode known exactly", "Modes known exactly", "nothing was declared by which the solver learns them"),
    ("left out by the policy", "Left out by the policy", "kinds of fault that are not considered"),
    ("assumption", "Assumptions", "statements nobody can check in the model"),
    ("time", "Time", "what is taken to be so about time"),
];

/// The premises, kind by kind.
pub(super) fn premises(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for (kind, title, meaning) in KINDS {
        body.push_str(&of_kind(outcome, kind, title, meaning));
    }
    // A kind that this file does not know yet must not be lost.
    let known = |premise: &Premise| KINDS.iter().any(|(kind, ..)| *kind == premise.kind);
    let mut others: Vec<&str> = outcome.premises.iter().filter(|p| !known(p)).map(|p| p.kind).collect();
    others.dedup();
    for kind in others {
        body.push_str(&of_kind(outcome, kind, kind, "also taken to be so"));
    }
    if !body.is_empty() {
        let expiry = match outcome.date {
            None => "Expiry dates are shown and not judged: no date was given.".to_string(),
            Some(day) => format!("Expiry dates were judged for {day}; a finding names each that has passed."),
        };
        let first =
            format!("Where one of these is not so in the plant, a proved claim may be wrong. {expiry}");
        body = format!("{}{body}", paragraph(&first, 0));
    }
    section("What the proved claims rest on", &body, paint)
}

fn of_kind(outcome: &Outcome, kind: &str, title: &str, meaning: &str) -> String {
    let mut all = String::new();
    for premise in outcome.premises.iter().filter(|premise| premise.kind == kind) {
        let mut text = String::new();
        if let Some(tag) = &premise.tag {
            text.push_str(&format!("{tag}: "));
        }
        text.push_str(&premise.text);
        let owner = premise.owner.as_ref().map(|owner| format!("owner: {owner}"));
        let until = premise.expires.as_ref().map(|date| format!("until {date}"));
        let rest: Vec<String> = owner.into_iter().chain(until).collect();
        if !rest.is_empty() {
            text.push_str(&format!(" [{}]", rest.join(", ")));
        }
        all.push_str(&hanging(&text, "  - ", 4));
    }
    if all.is_empty() {
        return all;
    }
    format!("\n{}{all}", paragraph(&format!("{title} ({meaning}):"), 0))
}

/// What the model declares and this version does not examine.
pub(super) fn not_examined(outcome: &Outcome, paint: Paint) -> String {
    let lines = outcome.not_examined.iter().map(|line| hanging(line, "- ", 2));
    section("Declared, not examined", &lines.collect::<String>(), paint)
}

/// What the report does not show.
pub(super) const LIMITS: &[&str] = &[
    "This report examines a model that its user wrote. It cannot know whether the model is the installation: whether \
     the wiring, the set points, the programs and the people do what the model says.",
    "It is no certificate. It replaces neither the risk assessment nor the standards, nor the local rules for \
     buildings, fire, electricity and explosion protection, nor the conditions of permits and insurers, nor the \
     review and signature of persons licensed or designated where the law requires it. Where local rules and this \
     report differ, the local rules prevail.",
    "Figures for gas, fire and the exposure of people must come from the specialist responsible for them. Tests on the \
     real installation remain necessary. Any change to the plant or to the model makes this report void until the \
     model is examined again; the SHA-256 above names the text that was examined.",
    "Verdicts were given by one solver. Each refutation was confirmed by a simulator that shares no code of the rules \
     with it; proofs have no such second opinion in this version. Standards are named from memory and were not \
     verified; look into the standard itself.",
];

/// The section of [`LIMITS`].
pub(super) fn limits(paint: Paint) -> String {
    let parts: Vec<String> = LIMITS.iter().map(|text| paragraph(text, 0)).collect();
    section("What this report does not show", &parts.join("\n"), paint)
}
