//! Claims that are neither proved nor told by a finding: undecided, in dispute, not applicable. Never mixed with proofs.

use std::collections::BTreeMap;

use super::section;
use super::wrap::{Paint, hanging, labelled, paragraph};
use crate::outcome::{Outcome, Verdict};
use crate::report::counted;

/// Refuted claims that no finding tells, so that none is lost.
pub(super) fn refuted_only(outcome: &Outcome, paint: Paint) -> String {
    let untold = outcome.claims.iter().filter(|c| c.verdict == Verdict::Refuted && c.finding.is_none());
    let body: String = untold.map(|claim| hanging(&claim.statement, "- ", 2)).collect();
    section("Refuted claims without a finding", &body, paint)
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
        let first =
            "For these the search ended without an answer. They are not proved; a counter-example may exist.";
        body = format!("{}\n{body}", paragraph(first, 0));
    }
    section("Undecided claims", &body, paint)
}

/// Both sides of every disagreement.
pub(super) fn disagreements(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for dispute in &outcome.disagreements {
        body.push_str(&hanging(&dispute.claim, "- ", 2));
        let values: Vec<String> =
            dispute.engine.iter().map(|(name, value)| format!("{name} = {value}")).collect();
        let values = if values.is_empty() { "no values".into() } else { values.join(", ") };
        body.push_str(&labelled("The solver says that this breaks it:", &values, 2));
        body.push_str(&labelled("The simulator says:", &dispute.simulator, 2));
    }
    if !body.is_empty() {
        let first = "Solver and simulator judge the same situation differently. This is an error of the program and not \
                     of the plant. Trust no result of this model until it is resolved, and report it with the file.";
        body = format!("{}\n{body}", paragraph(first, 0));
    }
    section("Internal disagreement", &body, paint)
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
    section("Claims that do not arise", &lines.collect::<String>(), paint)
}
