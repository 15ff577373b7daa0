//! What the results rest on, and what the model declares that this version does not examine.

use crate::assess::Assessment;
use crate::model::{Excluded, Model, Time};
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

fn counted(number: usize, one: &str, many: &str) -> Option<String> {
    match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    }
}

/// What the model declares and this version does not examine.
pub(super) fn not_examined(model: &Model) -> Vec<String> {
    let known = |time: &Time| *time != Time::Known(crate::exact::Exact::zero());
    let latches = model.causes.iter().filter(|(_, cause)| cause.latched).count();
    let delays = model.causes.iter().filter(|(_, cause)| known(&cause.on_delay)).count()
        + model.causes.iter().map(|(_, cause)| cause.delays.len()).sum::<usize>()
        + model.effects.iter().filter(|(_, effect)| known(&effect.delay)).count();
    let orders = model.effects.iter().filter(|(_, effect)| !effect.after.is_empty()).count();
    let forbidden = model.hazards.iter().filter(|(_, hazard)| !hazard.forbids.is_empty()).count();
    let needs = model.modes.iter().filter(|(_, mode)| !mode.needs.is_empty()).count();
    let limits = model.overrides.iter().filter(|(_, device)| device.limited).count();
    let mut all = vec![
        "time: response, travel, rates and the time a hazard leaves; every result holds for a situation that lasts as \
         long as it takes"
            .to_string(),
    ];
    all.extend(counted(
        latches,
        "latch: that it holds and is only cleared by its reset",
        "latches: that they hold and are only cleared by their resets",
    ));
    all.extend(counted(model.resets.len(), "reset", "resets"));
    all.extend(counted(delays, "delay", "delays"));
    all.extend(counted(orders, "order of effects", "orders of effects"));
    all.extend(counted(limits, "time limit of an override", "time limits of overrides"));
    all.extend(counted(
        model.suppression.len(),
        "suppression release, beyond its warning: coincidence, hold, demand and capacity",
        "suppression releases, beyond their warning: coincidence, hold, demand and capacity",
    ));
    all.extend(counted(model.stops.len(), "span of an emergency stop", "spans of emergency stops"));
    all.extend(counted(forbidden, "hazard with forbidden positions", "hazards with forbidden positions"));
    all.extend(counted(
        needs,
        "mode with positions it needs to work",
        "modes with positions they need to work",
    ));
    all.extend(super::unused::lines(model));
    all
}
