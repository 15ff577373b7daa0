//! Claims that are neither proved nor told by a finding: undecided, in dispute, not applicable. Never mixed with proofs.

use std::collections::BTreeMap;

use super::section;
use super::wrap::{Paint, hanging, labelled, paragraph};
use crate::outcome::{Outcome, Verdict};
use crate::report::content::{self, title};
use crate::report::counted;

/// Refuted claims that no finding tells, so that none is lost.
pub(super) fn refuted_only(outcome: &Outcome, paint: Paint) -> String {
    let untold = outcome.claims.iter().filter(|c| c.verdict == Verdict::Refuted && c.finding.is_none());
    let body: String = untold.map(|claim| hanging(&claim.statement, "- ", 2)).collect();
    section(title::UNTOLD, &body, paint)
}

/// The undecided claims with the bound that was reached.
pub(super) fn undecided(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for claim in &outcome.claims {
        if let Verdict::Undecided(reason) = &claim.verdict {
            body.push_str(&hanging(&claim.statement, "- ", 2));
            body.push_str(&labelled("Undecided:", reason, 2));
        }
    }
    if !body.is_empty() {
        body = format!("{}\n{body}", paragraph(content::UNDECIDED, 0));
    }
    section(title::UNDECIDED, &body, paint)
}

/// Both sides of every disagreement.
pub(super) fn disagreements(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for dispute in &outcome.disagreements {
        body.push_str(&hanging(&dispute.claim, "- ", 2));
        body.push_str(&labelled(content::SOLVER_SAYS, &content::values(&dispute.engine), 2));
        body.push_str(&labelled(content::SIMULATOR_SAYS, &dispute.simulator, 2));
    }
    if !body.is_empty() {
        body = format!("{}\n{body}", paragraph(content::DISAGREEMENT, 0));
    }
    if !outcome.contradictions.is_empty() {
        body.push_str(&format!("{}\n", paragraph(content::CONTRADICTION, 0)));
    }
    for contradiction in &outcome.contradictions {
        body.push_str(&hanging(&contradiction.about, "- ", 2));
        for (engine, answer) in &contradiction.answers {
            body.push_str(&labelled(&format!("{engine}:"), answer, 2));
        }
    }
    section(title::DISAGREEMENT, &body, paint)
}

/// How many claims do not arise, by reason.
pub(super) fn not_applicable(outcome: &Outcome, paint: Paint) -> String {
    let mut by_reason: BTreeMap<&str, usize> = BTreeMap::new();
    for claim in &outcome.claims {
        if let Verdict::NotApplicable(reason) = &claim.verdict {
            *by_reason.entry(reason).or_default() += 1;
        }
    }
    let lines = by_reason
        .iter()
        .map(|(reason, number)| hanging(&format!("{}: {reason}", counted(*number, "claim")), "- ", 2));
    section(title::NOT_APPLICABLE, &lines.collect::<String>(), paint)
}
