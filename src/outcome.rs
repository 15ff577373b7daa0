//! Everything a report needs, as plain data. One outcome per model file.
//!
//! Renderers read an [`Outcome`] and nothing else but the model's names and the text's places.

pub mod structure;

use std::collections::BTreeMap;

use crate::date::Date;
use crate::exact::Exact;
use crate::finding::Finding;
use crate::model::{HazardId, ModeId, Model};
use crate::source::{Source, Span};

/// What was decided about one claim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// No counter-example exists in the model within the stated bounds.
    Proved,
    /// A counter-example exists and the simulator has confirmed it.
    Refuted,
    /// Neither, with the bound that was reached. Never to be read as success.
    Undecided(String),
    /// The claim does not arise, with the reason.
    NotApplicable(String),
}

impl Verdict {
    /// The word for it.
    pub fn word(&self) -> &'static str {
        match self {
            Verdict::Proved => "proved",
            Verdict::Refuted => "refuted",
            Verdict::Undecided(_) => "undecided",
            Verdict::NotApplicable(_) => "not applicable",
        }
    }
}

/// One claim with its verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judged {
    /// Kebab-case name of the claim: `covered`, `fault-tolerance`, `disjoint-paths`, …
    pub claim: &'static str,
    /// The hazard, if it is about one.
    pub hazard: Option<HazardId>,
    /// The mode, if it is about one.
    pub mode: Option<ModeId>,
    /// Tag of the other element it is about (cause, actuator, space …), if any.
    pub about: Option<String>,
    /// The claim as a sentence.
    pub statement: String,
    /// The verdict.
    pub verdict: Verdict,
    /// Id of the finding that tells a refuted one.
    pub finding: Option<String>,
    /// Tag of the acceptance that covers a refuted one.
    pub accepted: Option<String>,
    /// Why it was decided by one engine only, if it was.
    pub one_engine: Option<String>,
    /// Why a proved one holds, where that was asked.
    pub why: Option<Why>,
}

/// Why a claim holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// No situation breaks it: each part of the proof with what it needs.
    Proof(Vec<Part>),
    /// A situation shows it, which the simulator has confirmed.
    Example,
    /// Worked out case by case.
    ManyCases,
    /// The proof was not found again, with the reason.
    Lost(String),
}

/// One part of a proof: it holds as long as everything that it needs is so, whatever all else does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// What is needed: none of it can be left out.
    pub needs: Vec<Needed>,
    /// Greatest number of faults among the elements needed with which it still holds; `None`: all of them must work.
    pub faults: Option<u32>,
    /// It is about a hazard, and needs nothing that sees the hazard.
    pub blind: bool,
}

/// Something that a proof needs, with its place in the file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Needed {
    /// `element`, `fault exclusion`, `coupling`, `range`, `never together`.
    pub kind: &'static str,
    /// Its tag.
    pub tag: String,
    /// Where it is declared.
    pub span: Span,
}

/// Fault tolerance as far as it was searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tolerance {
    /// Not even without a fault.
    None,
    /// Exactly this many.
    Exactly(u32),
    /// At least this many: nothing lighter was found up to the order searched.
    AtLeast(u32),
}

/// Disjoint paths as far as they were sought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paths {
    /// Exactly this many.
    Exactly(usize),
    /// No set of faults defeats the protection: any number of paths.
    Unlimited,
}

impl Tolerance {
    /// Whether so many faults are surely tolerated.
    pub fn reaches(self, required: u32) -> bool {
        match self {
            Tolerance::None => false,
            Tolerance::Exactly(n) | Tolerance::AtLeast(n) => n >= required,
        }
    }
}

impl Paths {
    /// Whether there are so many.
    pub fn reaches(self, required: u32) -> bool {
        match self {
            Paths::Exactly(n) => n >= required as usize,
            Paths::Unlimited => true,
        }
    }
}

/// What the figures of a cell say of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OfTime {
    /// They hold in the time that the hazard leaves.
    InTime,
    /// They hold in the time that the hazard leaves; as long as it takes they would be these.
    Less {
        /// Disjoint trip paths.
        paths: Paths,
        /// Fault tolerance.
        tolerance: Tolerance,
    },
    /// They hold as long as it takes; whether in time was not decided.
    Undecided,
    /// They hold as long as it takes: the model gives no time for the hazard.
    NoTime,
}

/// One cell of the hazard-by-mode table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// The hazard exists in the mode: disjoint paths and fault tolerance, and whether both meet what is required.
    Examined {
        /// Disjoint trip paths.
        paths: Paths,
        /// Fault tolerance.
        tolerance: Tolerance,
        /// Both meet what is required.
        meets: bool,
        /// The hazard has a declared initiator that reaches its protection: both hold while that misbehaves.
        initiator: bool,
        /// What the figures say of time.
        time: OfTime,
    },
    /// Examined, but not decided.
    Undecided,
    /// Its situations do not exist in the mode, although the model says that it does.
    Impossible,
    /// The model says why the hazard does not exist in the mode.
    Excluded(String),
    /// The model says nothing about this hazard in this mode.
    NotConsidered,
}

/// One stage of a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StageTime {
    /// Tag of the element.
    pub tag: String,
    /// Line of its declaration.
    pub line: usize,
    /// What it does.
    pub what: &'static str,
    /// Seconds; `None` where that is unknown.
    pub time: Option<Exact>,
    /// The longest that it could take while all others stay as they are.
    pub at_most: Option<Exact>,
}

/// What a trip needs against the time that its hazard leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripTime {
    /// The hazard.
    pub hazard: HazardId,
    /// The modes with these figures.
    pub modes: Vec<ModeId>,
    /// Tag of the cause or passive device.
    pub trip: String,
    /// Its stages, from the reading to the element.
    pub stages: Vec<StageTime>,
    /// Seconds that it needs; `None` where one of them is unknown.
    pub needs: Option<Exact>,
    /// Seconds that are available.
    pub available: Option<Exact>,
    /// What is left of them; below 0 where it is too slow.
    pub left: Option<Exact>,
    /// Its signal, where that does not stay.
    pub ending: Option<SignalEnds>,
}

impl SignalEnds {
    /// `BP-1 stays 2 s only`.
    pub fn stays(&self) -> String {
        match &self.lasts {
            Some(lasts) => format!("{} stays {} s only", self.input, seconds(lasts)),
            None => format!("{} does not stay, and for how long it does is unknown", self.input),
        }
    }

    /// `BP-1 stays 2 s only, and is gone 8 s before C-1 would have latched it`.
    pub fn in_words(&self) -> String {
        let stays = self.stays();
        match (&self.latch, &self.left) {
            (None, _) => format!("{stays}, and nothing latches it: the trip lets go again"),
            (Some(latch), None) => {
                format!("{stays}: whether {latch} has latched it before it ends is unknown")
            }
            (Some(latch), Some(left)) if left.is_negative() => {
                format!(
                    "{stays}, and is gone {} s before {latch} would have latched it",
                    seconds(&left.abs())
                )
            }
            (Some(latch), Some(left)) => {
                format!("{stays}, and {latch} has latched it {} s before it ends", seconds(left))
            }
        }
    }

    /// Whether it is gone before a latch has it, as far as is known.
    pub fn too_soon(&self) -> bool {
        self.latch.is_none() || self.left.as_ref().is_none_or(Exact::is_negative)
    }
}

/// A signal that does not stay, against the latch that must have it before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignalEnds {
    /// Tag of the input.
    pub input: String,
    /// Seconds for which it stays, at least; `None` where that is unknown.
    pub lasts: Option<Exact>,
    /// Tag of the latched cause that has it; `None`: the trip lets go again.
    pub latch: Option<String>,
    /// Seconds that are left of it then; below 0: it is gone before.
    pub left: Option<Exact>,
}

/// Seconds with as many digits as help: to a hundredth, below a second to a thousandth, and exact where that would be 0.
pub fn seconds(time: &Exact) -> String {
    let whole = time.abs() >= Exact::int(1);
    let scale = Exact::int(if whole { 100 } else { 1000 });
    let half = Exact::ratio(1, 2).unwrap_or_else(Exact::zero);
    let steps = (&(&time.abs() * &scale) + &half).floor();
    let near = steps.checked_div(&scale).unwrap_or_else(Exact::zero);
    if near.is_zero() {
        return time.to_string();
    }
    let near = if time.is_negative() { -&near } else { near };
    near.to_string()
}

/// The protection of one hazard in one mode, with what shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Protection {
    /// The hazard.
    pub hazard: HazardId,
    /// The mode.
    pub mode: ModeId,
    /// Minimal cut sets with at most `order` sources, as tags.
    pub cut_sets: Vec<Vec<String>>,
    /// Greatest number of sources searched for.
    pub order: usize,
    /// One minimal path set of each disjoint family, as tags.
    pub path_sets: Vec<Vec<String>>,
    /// Cut sets that show why there are no more disjoint paths, as tags.
    pub obstacle: Vec<Vec<String>>,
}

/// How many claims had which verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Proved.
    pub proved: usize,
    /// Refuted and not accepted.
    pub refuted: usize,
    /// Refuted, and told by a finding that the engineer accepts.
    pub accepted: usize,
    /// Undecided.
    pub undecided: usize,
    /// Not applicable.
    pub not_applicable: usize,
}

/// Something that a result rests on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Premise {
    /// What kind: `coupling`, `fault exclusion`, `certificate`, `mode known exactly`, `left out by the policy`, `assumption`, `time`.
    pub kind: &'static str,
    /// Tag, if it has one.
    pub tag: Option<String>,
    /// What is taken to be so.
    pub text: String,
    /// Role that owns it.
    pub owner: Option<String>,
    /// The last day on which it may be relied on.
    pub expires: Option<Date>,
}

/// A refutation that the simulator did not confirm: an error of the tool, with both sides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disagreement {
    /// The claim as a sentence.
    pub claim: String,
    /// What the engine says, as values.
    pub engine: Vec<(String, String)>,
    /// What the simulator says.
    pub simulator: String,
}

impl Disagreement {
    /// Of numbers that cannot belong together, which no situation shows.
    pub fn of_numbers(sentence: &str) -> Self {
        Disagreement {
            claim: sentence.to_string(),
            engine: Vec::new(),
            simulator: "not asked: two results of this program exclude each other".into(),
        }
    }
}

/// A question that two engines answer differently: an error of the tool, with what reproduces it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction {
    /// What was asked about, as a sentence.
    pub about: String,
    /// The engines by name, each with its answer.
    pub answers: [(String, String); 2],
    /// What of the model the question speaks of: lines of the file, with kind and tag.
    pub depends: Vec<(usize, String)>,
    /// The question as SMT-LIB 2 text.
    pub question: String,
}

/// The result of examining one model.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The text.
    pub source: Source,
    /// The model.
    pub model: Model,
    /// SHA-256 in hexadecimal: of the file where it was read from one, otherwise of the text.
    pub sha256: String,
    /// Name and version of the engine.
    pub engine: String,
    /// The day for which expiries were judged; `None`: they are listed and not judged.
    pub date: Option<Date>,
    /// Claims in a fixed order.
    pub claims: Vec<Judged>,
    /// Findings, worst first, then by hazard and id.
    pub findings: Vec<Finding>,
    /// The hazard-by-mode table: every hazard with every mode of its group.
    pub table: BTreeMap<(HazardId, ModeId), Cell>,
    /// What was found of each protection.
    pub protections: Vec<Protection>,
    /// What each credited trip needs against the time that its hazard leaves, by hazard.
    pub margins: Vec<TripTime>,
    /// Whether the reports for people show the margins.
    pub tells_margins: bool,
    /// What the results rest on, sorted.
    pub premises: Vec<Premise>,
    /// Declared in the model, but not examined by this version: a sentence each.
    pub not_examined: Vec<String>,
    /// Refutations that the simulator did not confirm.
    pub disagreements: Vec<Disagreement>,
    /// Questions that two engines answer differently.
    pub contradictions: Vec<Contradiction>,
}

impl Outcome {
    /// Counts of the claims by verdict.
    pub fn counts(&self) -> Counts {
        let mut counts = Counts::default();
        for claim in &self.claims {
            match &claim.verdict {
                Verdict::Proved => counts.proved += 1,
                Verdict::Refuted if claim.accepted.is_some() => counts.accepted += 1,
                Verdict::Refuted => counts.refuted += 1,
                Verdict::Undecided(_) => counts.undecided += 1,
                Verdict::NotApplicable(_) => counts.not_applicable += 1,
            }
        }
        counts
    }

    /// Whether parts of the program disagree: then no result may be trusted.
    pub fn disagrees(&self) -> bool {
        !self.disagreements.is_empty() || !self.contradictions.is_empty()
    }

    /// How many of the claims that are proved or refuted two engines decided, and how many one.
    pub fn opinions(&self) -> (usize, usize) {
        // Whether a trip can act in time is a sum of declared times, which takes no engine.
        let asked = |claim: &&Judged| claim.claim != "acts-in-time";
        let decided = self.claims.iter().filter(|c| matches!(c.verdict, Verdict::Proved | Verdict::Refuted));
        let decided = decided.filter(asked);
        let (both, one): (Vec<&Judged>, Vec<&Judged>) = decided.partition(|c| c.one_engine.is_none());
        (both.len(), one.len())
    }

    /// Findings that nobody has accepted.
    pub fn open_findings(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.accepted.is_none())
    }

    /// The id of a finding of this outcome.
    pub fn finding_id(&self, finding: &Finding) -> String {
        finding.id(finding.hazard.map(|hazard| self.model.hazards[hazard].name.tag.as_str()))
    }

    /// The exit code of section "Exit codes" of the user guide: 4 before 1 before 3 before 0 (2 has no outcome).
    pub fn exit_code(&self) -> u8 {
        if self.disagrees() {
            4
        } else if self.open_findings().next().is_some() || self.counts().refuted > 0 {
            // A refuted claim that no finding tells would be a gap of a check, and must not pass for nothing open.
            1
        } else if self.counts().undecided > 0 {
            3
        } else {
            0
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn seconds_are_rounded_and_never_to_nothing() {
        for (exact, told) in
            [("85.19", "85.19"), ("45.5555", "45.56"), ("-39.634", "-39.63"), ("0.04", "0.04"), ("0", "0")]
        {
            assert_eq!(seconds(&Exact::parse_decimal(exact).unwrap()), told);
        }
        assert_eq!(seconds(&Exact::parse_decimal("0.000000001").unwrap()), "0.000000001");
    }
}
