//! Compares what Z3 decides about a model with what the decision diagrams decide alone.

use tripproof::assess::{Assessment, Decided, HazardInMode, Numbers};

fn word(decided: &Decided) -> &'static str {
    match decided {
        Decided::Holds => "holds",
        Decided::Broken(_) => "broken",
        Decided::Never(_) => "never",
        Decided::Undecided(_) => "undecided",
        Decided::NotApplicable(_) => "not applicable",
        Decided::Disputed => "disputed",
    }
}

fn numbers(numbers: &Option<Numbers>) -> String {
    match numbers {
        Some(n) => format!("{:?} {:?} {:?} {}", n.tolerance, n.paths, n.cuts, n.weight),
        None => "none".into(),
    }
}

fn hazard(found: &HazardInMode) -> String {
    let words = [
        &found.unaided,
        &found.covered,
        &found.tolerance,
        &found.disjoint,
        &found.initiator,
        &found.overrides,
    ]
    .map(word);
    format!(
        "{:?} in {:?}: never {:?}, {words:?}, {}, alone {}",
        found.hazard,
        found.mode,
        found.impossible_onsets,
        numbers(&found.numbers),
        numbers(&found.alone)
    )
}

fn lines(assessment: &Assessment) -> Vec<String> {
    let singles = assessment
        .singles
        .iter()
        .map(|single| format!("{:?}: {} {:?}", single.subject, word(&single.decided), single.alone));
    assessment.hazards.iter().map(hazard).chain(singles).collect()
}

/// Where the two differ.
pub fn differences(z3: &Assessment, diagrams: &Assessment) -> Vec<String> {
    let (one, other) = (lines(z3), lines(diagrams));
    let mut all: Vec<String> = one
        .iter()
        .zip(&other)
        .filter(|(one, other)| one != other)
        .map(|(one, other)| format!("Z3: {one}\ndecision diagrams: {other}"))
        .collect();
    if one.len() != other.len() {
        all.push(format!("Z3 decided {} claims, decision diagrams {}", one.len(), other.len()));
    }
    all.extend(
        diagrams.disputes.iter().map(|d| format!("decision diagrams, {:?}: {}", d.claim, d.simulator)),
    );
    all
}
