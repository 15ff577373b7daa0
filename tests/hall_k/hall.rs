//! What the tests of the hall share: the two texts and their outcomes, findings as comparable facts, mode letters.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::exact::Exact;
use tripproof::finding::Finding;
use tripproof::load::load;
use tripproof::model::{ModeId, Model};
use tripproof::outcome::Outcome;
use tripproof::source::Source;
use tripproof::unit::Unit;

pub const GOOD: &str = include_str!("../../models/hall-k.yaml");
pub const FLAWED: &str = include_str!("../../models/hall-k-flawed.yaml");

pub static GOOD_OUTCOME: LazyLock<Outcome> = LazyLock::new(|| examine(GOOD));
pub static FLAWED_OUTCOME: LazyLock<Outcome> = LazyLock::new(|| examine(FLAWED));

/// Modes in which something can happen, each with its letter.
pub const LETTERS: &[(char, &str)] =
    &[('U', "SETUP"), ('E', "ENTRY"), ('R', "READY"), ('T', "TEST"), ('S', "SOAK"), ('Q', "QUAR")];

/// The whole check of a text.
pub fn examine(text: &str) -> Outcome {
    let source = Source::new("hall.yaml", text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}"));
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    conclude(source, model, &assessment, engine.name())
}

/// The rows of bay 1 and of bay 2: `#` stands for the number of the bay.
pub fn both_bays(text: &str) -> [String; 2] {
    ["1", "2"].map(|bay| text.replace('#', bay))
}

/// Tags separated by spaces, expanded for both bays; one without `#` counts once.
pub fn tags(text: &str) -> BTreeSet<String> {
    both_bays(text).iter().flat_map(|line| line.split_whitespace()).map(String::from).collect()
}

/// A number with its unit, in the base unit of its kind.
pub fn base(text: &str) -> Exact {
    let (number, unit) = text.split_once(' ').unwrap();
    Unit::find(unit)[0].to_base(&Exact::parse_decimal(number).unwrap())
}

/// Modes as letters, in the order of [`LETTERS`], without the bay: no finding reaches over both.
pub fn letters(model: &Model, modes: &[ModeId]) -> String {
    let named: BTreeSet<&str> = modes.iter().map(|mode| model.modes[*mode].name.tag.as_str()).collect();
    LETTERS.iter().filter(|(_, name)| named.contains(name)).map(|(letter, _)| *letter).collect()
}

/// The open findings as ids, each with the letters of its modes.
///
/// Shared parts are told together where they take the same hazards, so one more planted error divides such a finding
/// differently. They are compared part by part: `shared-part-defeats-protection/HAZARD/PART`.
pub fn facts(outcome: &Outcome) -> BTreeMap<String, String> {
    let mut facts = BTreeMap::new();
    for finding in outcome.open_findings() {
        if finding.check == Check::SharedPartDefeatsProtection {
            facts.extend(by_part(&outcome.model, finding));
        } else {
            facts.insert(outcome.finding_id(finding), letters(&outcome.model, &finding.modes));
        }
    }
    facts
}

fn by_part(model: &Model, finding: &Finding) -> Vec<(String, String)> {
    let places: BTreeSet<_> = finding.also.iter().map(|(span, _)| *span).collect();
    let mut parts = Vec::new();
    for (_, hazard) in model.hazards.iter().filter(|(_, hazard)| places.contains(&hazard.name.span)) {
        let modes: Vec<ModeId> =
            finding.modes.iter().copied().filter(|mode| hazard.exists_in.contains(mode)).collect();
        for part in &finding.elements {
            let id = format!("{}/{}/{part}", finding.check.name(), hazard.name.tag);
            parts.push((id, letters(model, &modes)));
        }
    }
    parts
}
