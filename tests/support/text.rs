//! Texts of small models: fills in what every model needs, so that a test shows only what it is about.

/// Sections that a text may leave out, and what then stands there.
const USUAL: &[(&str, &str)] = &[
    ("language", "language: 1\n"),
    ("system", "system: { title: Test, revision: A }\n"),
    ("policy", "policy: { disjoint_paths: 1, fault_tolerance: 0 }\n"),
    ("modes", "modes: { cell: { running: { people: never } } }\n"),
    ("quantities", "quantities: { gas: { range: 0 .. 100 %LFL } }\n"),
    ("conditions", "conditions: { fire: {} }\n"),
];

/// Abbreviations of a text and what they stand for.
const SHORT: &[(&str, &str)] = &[
    ("$GAS", "measures: gas, range: 0 .. 100 %LFL, accuracy: 3 %LFL"),
    ("$CONTACTOR", "positions: [open, closed], without_energy: open, operated_by: process"),
    ("$HORN", "positions: [silent, sounding], without_energy: silent, operated_by: protection, rest: silent"),
    ("$HERE", "exists_in: { cell: [running] }"),
];

/// The whole text of a model whose own sections are `parts`.
pub fn model(parts: &[&str]) -> String {
    let own = parts.join("\n");
    let has = |section: &str| own.lines().any(|line| line.starts_with(&format!("{section}:")));
    let usual = USUAL.iter().filter(|(section, _)| !has(section)).map(|(_, text)| *text);
    let mut text: String = usual.chain([own.as_str()]).collect();
    for (short, long) in SHORT {
        text = text.replace(short, long);
    }
    text
}

/// The section that makes these elements ideal: none of their faults is considered.
pub fn ideal(tags: &[&str]) -> String {
    let mut text = "fault_exclusions:\n".to_string();
    for tag in tags {
        text += &format!(
            "  FX-{tag}: {{ source: {tag}, reason: ideal in this case, owner: safety engineer, expires: 2027-03-31 }}\n"
        );
    }
    text
}

/// Switches X1 … Xn that all detect `danger`, one cause with this condition, and everything behind them ideal.
pub fn switches(number: usize, when: &str) -> String {
    let sensors: String =
        (1..=number).map(|i| format!("  X{i}: {{ detects: danger, wired_to: [C1] }}\n")).collect();
    model(&[
        "conditions: { danger: {} }",
        "logic_solvers: { C1: {} }",
        &format!("sensors:\n{sensors}"),
        "actuators: { K1: { $CONTACTOR, drivers: [C1] } }",
        "effects: { OFF: { set: [K1 = open] } }",
        &format!(
            "causes:\n  TRIP: {{ when: \"{when}\", solver: C1, latched: false, credited_for: [H], demands: [OFF] }}"
        ),
        "hazards: { H: { when: danger, $HERE, safe_state: K1 = open } }",
        &ideal(&["C1", "K1"]),
    ])
}

/// `MooN(X1, …, Xn)`.
pub fn vote(m: usize, n: usize) -> String {
    let operands: Vec<String> = (1..=n).map(|i| format!("X{i}")).collect();
    format!("{m}oo{n}({})", operands.join(", "))
}
