//! The page that says what was tried, and the quotas below which it would say too little.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::Tally;

/// Each kind of claim: what it says, and its two verdicts.
const CLAIMS: &[(&str, &str, (&str, &str))] = &[
    ("met without faults", "the hazard is met without any fault", ("holds", "broken")),
    ("met under overrides", "the same under every permitted override", ("holds", "broken")),
    (
        "met with faults under overrides",
        "the same with the faults that the policy allows there",
        ("holds", "broken"),
    ),
    ("fault tolerance", "fault tolerance as required", ("holds", "broken")),
    ("disjoint paths", "disjoint paths as required", ("holds", "broken")),
    ("with its initiator", "both with the initiator groups", ("holds", "broken")),
    ("onset case exists", "a situation of the onset case exists", ("holds", "never")),
    ("mode possible", "the couplings leave the mode a situation", ("holds", "never")),
    ("can fire", "the cause can become true", ("holds", "never")),
    ("can fire for a hazard", "the cause can become true while its hazard is present", ("holds", "never")),
    ("not always on", "the cause is false in some normal situation", ("holds", "never")),
    ("marks matter", "all marks of the cause matter at once", ("holds", "not applicable")),
    ("single mark matters", "one mark matters", ("holds", "never")),
    ("vote can trip", "the vote can trip whatever may be out of it", ("holds", "never")),
    ("mode can run", "the mode can work", ("holds", "never")),
    ("not opposed", "the actuator is never commanded both ways without a winner", ("holds", "broken")),
    ("obeyed", "the actuator goes where it is commanded", ("holds", "broken")),
    ("loser met", "the hazard is met while the actuator is commanded both ways", ("holds", "broken")),
    ("no action harms", "the cause never commands what the hazard forbids", ("holds", "broken")),
    ("no loss harms", "no quiet loss moves the actuator where the hazard forbids it", ("holds", "broken")),
    (
        "safe states compatible",
        "hazards that can be present together have compatible safe states",
        ("holds", "broken"),
    ),
    ("carries", "what is drawn at once does not exceed what the machines can give", ("holds", "broken")),
    ("met in time without faults", "the safe state is reached in time, without faults", ("holds", "broken")),
    ("met in time under overrides", "the same under every permitted override", ("holds", "broken")),
    ("fault tolerance in time", "as many faults as required are tolerated in time", ("holds", "broken")),
    ("disjoint paths in time", "as many disjoint paths as required are in time", ("holds", "broken")),
    ("trip in time", "a credited trip can act in time", ("holds", "never")),
    ("modes run together", "two modes of different groups can work at once", ("holds", "broken")),
    ("met while warming up", "the safe state is reached while sensors warm up", ("holds", "broken")),
    ("preceded", "whenever a cause fires, another one ends what must come before", ("holds", "broken")),
    ("span reached", "every element of the span of a stop reaches its position", ("holds", "broken")),
    ("never occurs", "the combination never occurs", ("holds", "broken")),
    ("always holds", "the invariant holds", ("holds", "broken")),
    ("can leave", "somebody in the space can leave", ("holds", "broken")),
    ("release stops", "the way out brings the hazard to its safe state", ("holds", "broken")),
];

/// Least number of claims of each kind with each verdict.
const EACH_VERDICT: usize = 200;

/// Number of options of the generator: one that no model uses any more would not be missed otherwise.
const OPTIONS: usize = 247;

/// What a number is of another, in parts of a hundred with one digit behind the point, rounded down.
fn share(part: usize, whole: usize) -> String {
    let thousandths = part * 1000 / whole.max(1);
    format!("{}.{} %", thousandths / 10, thousandths % 10)
}

/// The page.
pub fn page(all: &Tally, engines: &[&str]) -> String {
    let mut page = String::from(
        "# Random models\n\n\
         <!-- Made by tests/oracle.rs; run it with TRIPPROOF_WRITE_DOCS=1 to write it anew. -->\n\n\
         Small random models, decided twice: by each engine, and by walking through every situation that can make a \
         difference and asking the simulator about each. What is compared and what is not is said at the top of \
         tests/oracle/judge.rs.\n\n",
    );
    let facts: &[(&str, String)] = &[
        ("engines", engines.join(", ")),
        ("models", all.models.to_string()),
        ("of these walked without leaving anything out", all.thorough.to_string()),
        ("hazards in modes", all.hazards.0.to_string()),
        (
            "of these met without faults",
            format!("{} ({})", all.hazards.1, share(all.hazards.1, all.hazards.0)),
        ),
        ("hazards in modes of which every set of fault sources was walked", all.exhausted.to_string()),
        ("questions", all.questions.0.to_string()),
        (
            "questions too large to walk",
            format!("{} ({})", all.questions.1, share(all.questions.1, all.questions.0)),
        ),
        ("refutations replayed", all.witnesses.to_string()),
        ("models refused", all.refused.len().to_string()),
        ("disagreements", all.differences.len().to_string()),
    ];
    page += "| what | number |\n|---|---|\n";
    facts.iter().for_each(|(what, number)| writeln!(page, "| {what} | {number} |").unwrap());
    page += "\n## Claims compared, by kind and verdict\n\n\
             *Holds*: true in every situation, or, of something that can happen, shown by one. *Broken*: refuted by a \
             situation. *Never*: what should be able to happen does not.\n\n\
             | claim | holds | broken | never | not applicable | undecided |\n|---|---|---|---|---|---|\n";
    for (kind, says, _) in CLAIMS {
        let of = |verdict| all.claims.get(&(*kind, verdict)).copied().unwrap_or(0);
        let counts = ["holds", "broken", "never", "not applicable", "undecided"]
            .map(|verdict| of(verdict).to_string());
        writeln!(page, "| {says} | {} |", counts.join(" | ")).unwrap();
    }
    page += "\n## Options, with the share of the models that use them\n\n| option | models | share |\n|---|---|---|\n";
    for (option, count) in &all.options {
        writeln!(page, "| {option} | {count} | {} |", share(*count, all.models)).unwrap();
    }
    page
}

/// Asserts that enough of everything was tried.
pub fn quotas(all: &Tally) {
    let mut short: Vec<String> = Vec::new();
    let kinds: BTreeSet<&str> = all.claims.keys().map(|(kind, _)| *kind).collect();
    for kind in kinds.iter().filter(|kind| !CLAIMS.iter().any(|(known, _, _)| known == *kind)) {
        short.push(format!("the claim `{kind}` has no line on the page"));
    }
    for (kind, _, (one, other)) in CLAIMS {
        for verdict in [one, other] {
            let count = all.claims.get(&(*kind, *verdict)).copied().unwrap_or(0);
            if count < EACH_VERDICT {
                short.push(format!("{kind}: {verdict} only {count} times"));
            }
        }
    }
    let options: &BTreeMap<&str, usize> = &all.options;
    for (option, count) in options.iter().filter(|(_, count)| **count * 50 < all.models) {
        short.push(format!("option {option} only in {count} of {} models", all.models));
    }
    if options.len() != OPTIONS {
        short.push(format!("{} options, not {OPTIONS}", options.len()));
    }
    if all.models < 5_000 {
        short.push(format!("only {} models", all.models));
    }
    if all.hazards.1 * 10 < all.hazards.0 * 3 {
        short.push(format!("only {} of {} hazards are met", all.hazards.1, all.hazards.0));
    }
    if all.questions.1 * 20 > all.questions.0 {
        short.push(format!("{} of {} questions are too large", all.questions.1, all.questions.0));
    }
    assert!(short.is_empty(), "too little is tried:\n{}", short.join("\n"));
}
