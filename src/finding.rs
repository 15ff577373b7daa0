//! A finding: a defect of the design, told so that a technician understands it.
//!
//! Plain data; it says *where* by places of the model file and *what* in one sentence. Checks make findings,
//! renderers print them, and neither knows the other.

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};

use crate::check::Check;
use crate::model::{HazardId, ModeId, Source};
use crate::source::Span;

/// How bad a finding is. Sorts from worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// A hazard is not protected as required, or somebody cannot leave.
    Serious,
    /// The design leaves something open that can end like that.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Serious => "serious",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

/// A situation that shows the defect, as a short story. Every refutation here has been replayed by the simulator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Story {
    /// One step or fact per line, in the order in which they are told; complete sentences.
    pub lines: Vec<String>,
    /// What must not happen in earnest while it is replayed, to be read before; complete sentences.
    pub cautions: Vec<String>,
    /// The same situation as values: tag or choice, and its value with unit, in the order of the tags.
    pub values: Vec<(String, String)>,
    /// Tags of the fault sources that misbehave in it.
    pub faults: Vec<String>,
    /// Overrides active in it: device and input.
    pub overrides: Vec<(String, String)>,
}

/// A defect of the design.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The check that found it.
    pub check: Check,
    /// How bad it is.
    pub severity: Severity,
    /// The hazard it is about, if it is about one.
    pub hazard: Option<HazardId>,
    /// Modes in which it holds, in the file's order; empty if it does not depend on a mode.
    pub modes: Vec<ModeId>,
    /// Tags of the elements that matter, sorted.
    pub elements: Vec<String>,
    /// One sentence.
    pub sentence: String,
    /// A situation that shows it, if it is about situations.
    pub witness: Option<Story>,
    /// Steps that show it one after the other, where it is about a sequence; complete sentences. No simulator has
    /// confirmed them.
    pub steps: Vec<String>,
    /// The place in the file to look at first.
    pub place: Span,
    /// Where one of several faults is enough: for each, what it does, as a sentence.
    pub each: Vec<String>,
    /// Other places, with what stands there.
    pub also: Vec<(Span, String)>,
    /// Lowest cut sets, of a hazard finding.
    pub lowest: Vec<BTreeSet<Source>>,
    /// Id of the structural finding under which it is listed.
    pub under: Option<String>,
    /// Tag of the acceptance that covers it.
    pub accepted: Option<String>,
    /// Where the requirement is written, as the engineer's own pointer.
    pub requirement: Option<String>,
}

/// Longest readable tail of an id; longer ones are cut and closed with a hash.
const READABLE: usize = 60;

impl Finding {
    /// Its id: check, hazard and sorted element tags, so that it survives edits elsewhere.
    ///
    /// `check/HAZARD/TAG+TAG`; a finding without hazard has `-` in its place. Where the tags are longer than 60
    /// characters, they are cut and eight digits of their SHA-256 follow.
    pub fn id(&self, hazard_tag: Option<&str>) -> String {
        let tags = self.elements.join("+");
        let tail = if tags.chars().count() > READABLE {
            let digest = Sha256::digest(tags.as_bytes());
            let hash: String = digest.iter().take(4).map(|byte| format!("{byte:02x}")).collect();
            let head: String = tags.chars().take(READABLE - 20).collect();
            format!("{head}~{hash}")
        } else if tags.is_empty() {
            "-".to_string()
        } else {
            tags
        };
        format!("{}/{}/{tail}", self.check.name(), hazard_tag.unwrap_or("-"))
    }
}
