//! What the proofs rest on, kind by kind, and what no report shows.

use crate::outcome::{Outcome, Premise};

/// What each kind of premise is called and what it means for the reader, in the order of the report.
const KINDS: &[(&str, &str, &str)] = &[
    ("coupling", "Couplings", "facts about the plant that exclude situations"),
    ("fault exclusion", "Fault exclusions", "faults that are not considered, whoever answers for it named"),
    ("certificate", "Certificates", "internal faults that a device is taken to tolerate"),
    ("mode known exactly", "Modes known exactly", "nothing was declared by which the solver learns them"),
    ("left out by the policy", "Left out by the policy", "kinds of fault that are not considered"),
    ("never together", "Never together", "hazards that are taken never to coincide"),
    ("assumption", "Assumptions", "statements nobody can check in the model"),
    ("time", "Time", "what is taken to be so about time"),
];

/// Above the premises.
pub(in crate::report) fn premises(outcome: &Outcome) -> String {
    let expiry = match outcome.date {
        None => "Expiry dates are shown and not judged: no date was given.".to_string(),
        Some(day) => format!("Expiry dates were judged for {day}; a finding names each that has passed."),
    };
    format!("Where one of these is not so in the plant, a proved claim may be wrong. {expiry}")
}

/// The premises of one kind.
pub(in crate::report) struct Kind<'o> {
    /// What they are called.
    pub title: &'o str,
    /// What they mean for the reader.
    pub meaning: &'static str,
    /// At least one.
    pub premises: Vec<&'o Premise>,
}

/// The premises, kind by kind.
pub(in crate::report) fn kinds(premises: &[Premise]) -> Vec<Kind<'_>> {
    let mut order: Vec<(&str, &str, &'static str)> = KINDS.to_vec();
    // A kind that this file does not know yet must not be lost.
    for premise in premises {
        if !order.iter().any(|(kind, ..)| *kind == premise.kind) {
            order.push((premise.kind, premise.kind, "also taken to be so"));
        }
    }
    let of = |kind: &str| premises.iter().filter(|premise| premise.kind == kind).collect();
    let all = order.into_iter().map(|(kind, title, meaning)| Kind { title, meaning, premises: of(kind) });
    all.filter(|kind| !kind.premises.is_empty()).collect()
}

/// What no report shows, a paragraph each.
pub(in crate::report) const LIMITS: &[&str] = &[
    "This report examines a model that its user wrote. It cannot know whether the model is the installation: whether \
     the wiring, the set points, the programs and the people do what the model says.",
    "It is no certificate. It replaces neither the risk assessment nor the standards, nor the local rules for \
     buildings, fire, electricity and explosion protection, nor the conditions of permits and insurers, nor the \
     review and signature of persons licensed or designated where the law requires it. Where local rules and this \
     report differ, the local rules prevail.",
    "Figures for gas, fire and the exposure of people must come from the specialist responsible for them. Tests on the \
     real installation remain necessary. Any change to the plant or to the model makes this report void until the \
     model is examined again; the SHA-256 above names the text that was examined.",
    "Claims were decided by two engines, unless the report says of one that one engine decided it. The engines share the \
     questions that the program makes of the model, and neither arithmetic nor the way an answer is read. Each situation \
     that is shown was confirmed by a simulator that shares no code of the rules with them. Standards are named from \
     memory and were not verified; look into the standard itself.",
];
