//! What the results rest on, and what the model declares that this version does not examine.

use crate::assess::Assessment;
use crate::model::{Excluded, Model};
use crate::outcome::Premise;

/// Everything that a result rests on, sorted by kind and tag.
pub(super) fn premises(model: &Model, assessment: &Assessment) -> Vec<Premise> {
    let mut all = Vec::new();
    for id in &assessment.couplings {
        let coupling = &model.couplings[*id];
        all.push(Premise {
            kind: "coupling",
            tag: Some(coupling.name.tag.clone()),
            text: coupling.text.clone(),
            owner: Some(coupling.owner.clone()),
            expires: coupling.expires,
        });
    }
    for exclusion in &model.fault_exclusions {
        let what = match &exclusion.what {
            Excluded::Source(source) => format!("no fault of {}", model.source_tag(*source)),
            Excluded::Direction(source, direction) => {
                format!("{} never fails to `{direction}` by itself", model.source_tag(*source))
            }
            Excluded::Release(tag) => format!("the mechanism of {tag} works"),
        };
        all.push(Premise {
            kind: "fault exclusion",
            tag: Some(exclusion.name.tag.clone()),
            text: format!("{what}: {}", exclusion.reason),
            owner: Some(exclusion.owner.clone()),
            expires: exclusion.expires,
        });
    }
    for (_, solver) in model.solvers.iter().filter(|(_, solver)| solver.tolerance > 0) {
        all.push(Premise {
            kind: "certificate",
            tag: Some(solver.name.tag.clone()),
            text: format!(
                "tolerates {} internal faults: {}",
                solver.tolerance,
                solver.certificate.as_deref().unwrap_or("no certificate named")
            ),
            owner: None,
            expires: None,
        });
    }
    for (group, solver) in &assessment.modes_known {
        all.push(Premise {
            kind: "mode known exactly",
            tag: Some(model.solvers[*solver].name.tag.clone()),
            text: format!(
                "it always knows the mode of {}; no mode input is declared",
                model.groups[*group].name.tag
            ),
            owner: None,
            expires: None,
        });
    }
    for (kind, reason) in &model.left_out {
        all.push(Premise {
            kind: "left out by the policy",
            tag: Some(kind.word().to_string()),
            text: reason.clone(),
            owner: None,
            expires: None,
        });
    }
    for (id, hazard) in model.hazards.iter() {
        // Said once, at the one that comes first in the file.
        let others: Vec<&str> = hazard
            .never_together
            .iter()
            .filter(|other| **other > id)
            .map(|other| model.hazards[*other].name.tag.as_str())
            .collect();
        if !others.is_empty() {
            all.push(Premise {
                kind: "never together",
                tag: Some(hazard.name.tag.clone()),
                text: format!("never present together with {}; the model names no reason", others.join(", ")),
                owner: None,
                expires: None,
            });
        }
    }
    for assumption in &model.assumptions {
        all.push(Premise {
            kind: "assumption",
            tag: Some(assumption.name.tag.clone()),
            text: match &assumption.evidence {
                Some(evidence) => format!("{} (evidence: {evidence})", assumption.statement),
                None => format!("{} (no evidence named)", assumption.statement),
            },
            owner: assumption.owner.clone(),
            expires: assumption.expires,
        });
    }
    all.sort();
    all
}

/// `1 reset: PB-1`, `2 resets: PB-1, PB-2`, each tag once; `None` if there are none.
fn named<'a>(one: &str, many: &str, tags: impl Iterator<Item = &'a str>) -> Option<String> {
    let tags: Vec<&str> = tags.collect();
    let mut once: Vec<&str> = Vec::new();
    for tag in &tags {
        if !once.contains(tag) {
            once.push(tag);
        }
    }
    let what = match tags.len() {
        0 => return None,
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    };
    Some(format!("{what}: {}", once.join(", ")))
}

/// What of times is not examined: always, or because the model does not state it.
fn times(model: &Model) -> String {
    let kept = model.hazards.iter().any(|(_, hazard)| hazard.lasts.is_some());
    let person = model.causes.iter().any(|(_, cause)| cause.person_needs.is_some());
    let mut parts = Vec::new();
    if !kept {
        parts.push("how long supplies and stores last");
    }
    if !person {
        parts.push("whether people have time to act on an alarm");
    }
    parts.push("signals that end sooner than their hazard without a `signal_lasts`");
    format!("of times: {}, and changes of mode while a hazard develops", parts.join(", "))
}

/// What the model declares and this version does not examine.
pub(super) fn not_examined(model: &Model) -> Vec<String> {
    let mut all = vec![times(model)];
    all.extend(sequences(model));
    let limited = model.overrides.iter().filter(|(_, device)| device.limited);
    all.extend(named(
        "time limit of an override",
        "time limits of overrides",
        limited.map(|(_, device)| device.name.tag.as_str()),
    ));
    all.extend(named(
        "suppression release, beyond its warning and capacity (coincidence, hold)",
        "suppression releases, beyond their warning and capacity (coincidence, hold)",
        model.suppression.iter().map(|(_, zone)| zone.name.tag.as_str()),
    ));
    let without = model.suppression.iter().filter(|(_, zone)| zone.capacity.is_empty());
    all.extend(named(
        "suppression release that shares nothing with a declared capacity",
        "suppression releases that share nothing with a declared capacity",
        without.map(|(_, zone)| zone.name.tag.as_str()),
    ));
    let forbidding = model.hazards.iter().filter(|(_, hazard)| !hazard.forbids.is_empty());
    all.extend(named(
        "hazard with forbidden positions, beyond the commands of causes and the loss of one source",
        "hazards with forbidden positions, beyond the commands of causes and the loss of one source",
        forbidding.map(|(_, hazard)| hazard.name.tag.as_str()),
    ));
    all.extend(super::unused::lines(model));
    all
}

/// Latches and resets.
fn sequences(model: &Model) -> Vec<String> {
    let latched = model.causes.iter().filter(|(_, cause)| cause.latched);
    let all = [
        named(
            "latch (that it holds and is only cleared by its reset)",
            "latches (that they hold and are only cleared by their resets)",
            latched.map(|(_, cause)| cause.name.tag.as_str()),
        ),
        named("reset", "resets", model.resets.iter().map(|(_, reset)| reset.name.tag.as_str())),
    ];
    all.into_iter().flatten().collect()
}
