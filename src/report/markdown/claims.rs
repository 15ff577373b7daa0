//! Every claim, one row each, in a table for each verdict; and what solver and simulator disagree about.

use std::collections::BTreeMap;

use super::inline::Inline;
use super::page::Page;
use crate::outcome::{Judged, Outcome, Verdict};
use crate::report::content::{self, findings, title};

/// Whether a claim stands in a table.
type Belongs = fn(&Judged) -> bool;

/// The heading of each table with the claims that stand in it, in the order of the report. No claim is in two.
const TABLES: &[(&str, Belongs, Columns)] = &[
    (
        "Refuted claims",
        |claim| refuted(claim) && claim.accepted.is_none() && claim.finding.is_some(),
        Columns::Told,
    ),
    (
        title::UNTOLD,
        |claim| refuted(claim) && claim.accepted.is_none() && claim.finding.is_none(),
        Columns::Only,
    ),
    (
        "Refuted claims that are accepted",
        |claim| refuted(claim) && claim.accepted.is_some(),
        Columns::Accepted,
    ),
    (title::UNDECIDED, |claim| matches!(claim.verdict, Verdict::Undecided(_)), Columns::Bound),
    ("Proved claims", |claim| claim.verdict == Verdict::Proved, Columns::Only),
    (title::NOT_APPLICABLE, |claim| matches!(claim.verdict, Verdict::NotApplicable(_)), Columns::Reason),
];

/// What stands beside a claim and its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Columns {
    Only,
    Told,
    Accepted,
    Bound,
    Reason,
}

impl Columns {
    fn heading(self) -> Option<&'static str> {
        match self {
            Columns::Only => None,
            Columns::Told => Some("told by finding"),
            Columns::Accepted => Some("accepted by"),
            Columns::Bound => Some("bound that was reached"),
            Columns::Reason => Some("reason"),
        }
    }
}

fn refuted(claim: &Judged) -> bool {
    claim.verdict == Verdict::Refuted
}

/// The tables of all claims.
pub(super) fn claims(page: &mut Page, outcome: &Outcome) {
    page.title(2, "Claims");
    if outcome.claims.is_empty() {
        page.paragraph(Inline::new().text("The model gives rise to no claim."));
    }
    let numbers = numbers(outcome);
    for (title, belongs, columns) in TABLES {
        let claims: Vec<&Judged> = outcome.claims.iter().filter(|claim| belongs(claim)).collect();
        if claims.is_empty() {
            continue;
        }
        page.title(3, &format!("{title} ({})", claims.len()));
        if *columns == Columns::Bound {
            page.paragraph(Inline::new().text(content::UNDECIDED));
        }
        let mut heading = vec![Inline::new().text("claim"), Inline::new().text("kind")];
        heading.extend(columns.heading().map(|text| Inline::new().text(text)));
        let rows: Vec<Vec<Inline>> = claims.iter().map(|claim| row(claim, *columns, &numbers)).collect();
        page.table(&heading, &rows);
    }
}

/// The number of each open finding by its id.
fn numbers(outcome: &Outcome) -> BTreeMap<String, String> {
    let open = findings::open(outcome);
    let all = open.into_iter().flat_map(|entry| {
        let first = (outcome.finding_id(entry.finding), entry.number);
        let below = entry.below.into_iter().map(|(number, finding)| (outcome.finding_id(finding), number));
        std::iter::once(first).chain(below).collect::<Vec<_>>()
    });
    all.collect()
}

fn row(claim: &Judged, columns: Columns, numbers: &BTreeMap<String, String>) -> Vec<Inline> {
    let mut row = vec![Inline::new().sentence(&claim.statement), Inline::new().code(claim.claim)];
    let finding = claim.finding.as_deref().unwrap_or_default();
    row.extend(match (columns, &claim.verdict) {
        (Columns::Only, _) => None,
        // The finding itself, with its id, stands above.
        (Columns::Told, _) => Some(match numbers.get(finding) {
            Some(number) => Inline::new().text(number),
            None => Inline::new().code(finding),
        }),
        (Columns::Accepted, _) => Some(Inline::new().text(claim.accepted.as_deref().unwrap_or_default())),
        (_, Verdict::Undecided(reason) | Verdict::NotApplicable(reason)) => {
            Some(Inline::new().sentence(reason))
        }
        (_, Verdict::Proved | Verdict::Refuted) => Some(Inline::new()),
    });
    row
}

/// Both sides of every disagreement. Nothing of the report may be trusted then, so it stands before all else.
pub(super) fn disagreements(page: &mut Page, outcome: &Outcome) {
    if !outcome.disagrees() {
        return;
    }
    page.title(2, title::DISAGREEMENT);
    if !outcome.contradictions.is_empty() {
        page.paragraph(Inline::new().text(content::CONTRADICTION));
    }
    for contradiction in &outcome.contradictions {
        page.paragraph(Inline::new().sentence(&contradiction.about));
        let answers = contradiction.answers.iter();
        page.list(
            answers
                .map(|(engine, answer)| Inline::new().strong(&format!("{engine}:")).text(" ").text(answer)),
        );
    }
    if !outcome.disagreements.is_empty() {
        page.paragraph(Inline::new().text(content::DISAGREEMENT));
    }
    for dispute in &outcome.disagreements {
        page.paragraph(Inline::new().sentence(&dispute.claim));
        let values = content::values(&dispute.engine);
        page.list([
            Inline::new().strong(content::SOLVER_SAYS).text(" ").text(&values),
            Inline::new().strong(content::SIMULATOR_SAYS).text(" ").sentence(&dispute.simulator),
        ]);
    }
}
