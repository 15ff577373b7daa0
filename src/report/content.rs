//! What the two reports for people say, without its form: the facts of the head, the legend, the numbers of the
//! findings, what is told of each, and every fixed sentence. The text and the Markdown report cannot differ in these.

pub(super) mod basis;
pub(super) mod calculations;
pub(super) mod findings;
pub(super) mod head;
pub(super) mod table;
pub(super) mod times;
pub(super) mod why;

/// The titles of the report and of its sections.
pub(super) mod title {
    pub const REPORT: &str = "Report of findings on the interlock logic";
    pub const TABLE: &str = "Hazards by mode";
    pub const FINDINGS: &str = "Findings, worst first";
    pub const NO_FINDINGS: &str = "Findings";
    pub const ACCEPTED: &str = "Accepted findings";
    pub const UNTOLD: &str = "Refuted claims without a finding";
    pub const UNDECIDED: &str = "Undecided claims";
    pub const DISAGREEMENT: &str = "Internal disagreement";
    pub const NOT_APPLICABLE: &str = "Claims that do not arise";
    pub const PREMISES: &str = "What the proved claims rest on";
    pub const CALCULATIONS: &str = "Calculated values";
    pub const TIMES: &str = "Response times and margins";
    pub const WHY: &str = "Why the proved claims hold";
    pub const NOT_EXAMINED: &str = "Declared, not examined";
    pub const LIMITS: &str = "What this report does not show";
}

/// Above the undecided claims.
pub(super) const UNDECIDED: &str =
    "For these the search ended without an answer. They are not proved; a counter-example may exist.";

/// Above the disagreements.
pub(super) const DISAGREEMENT: &str = "Solver and simulator judge the same situation differently. This is an error of the program and not of the plant. \
     Trust no result of this model until it is resolved, and report it with the file.";

/// Before the values with which the solver breaks a claim.
pub(super) const SOLVER_SAYS: &str = "The solver says that this breaks it:";

/// Before what the simulator says instead.
pub(super) const SIMULATOR_SAYS: &str = "The simulator says:";

/// Above the questions that two engines answer differently.
pub(super) const CONTRADICTION: &str = "Two engines answer the same question differently. This is an error of the program and not of the plant. Trust no      result of this model until it is resolved, and report it with the file and with what stands on standard error:      the question as a text that other solvers read, and the lines of the model that it speaks of. The JSON report      holds them too.";

/// Above the open findings, where there are none.
pub(super) const NO_FINDINGS: &str = "No open finding.";

/// Values in one line.
pub(super) fn values(values: &[(String, String)]) -> String {
    let values: Vec<String> = values.iter().map(|(name, value)| format!("{name} = {value}")).collect();
    if values.is_empty() { "no values".into() } else { values.join(", ") }
}
