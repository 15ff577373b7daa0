//! A model that was loaded and assessed, with what tests ask of it.

use std::collections::BTreeSet;

use tripproof::analysis::{Actors, Case, cuts};
use tripproof::assess::{Assessment, Decided, HazardInMode, Numbers, Single, Subject, assess};
use tripproof::claim::Breach;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::{Element, HazardId, Model, Source as FaultSource};
use tripproof::outcome::{Outcome, Paths, Tolerance};
use tripproof::semantics::{Scope, encode};
use tripproof::source::Source;

/// Sets of tags, each sorted; shorter sets first.
pub type TagSets = Vec<Vec<String>>;

/// Work that one question may cost; far more than any of these models needs.
const LIMIT: u32 = 50_000_000;

/// A model with everything decided about it.
pub struct Examined {
    /// The text.
    pub source: Source,
    /// The model.
    pub model: Model,
    /// What was decided.
    pub assessment: Assessment,
}

/// Loads and assesses a text. The simulator has confirmed every refutation, or the test ends here.
pub fn examine(text: &str) -> Examined {
    let source = Source::new("model.yaml", text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{problems:#?}\n{text}"));
    let assessment = assess(&model, &engine()).unwrap();
    assert!(assessment.disputes.is_empty(), "engine and simulator disagree: {:#?}", assessment.disputes);
    Examined { source, model, assessment }
}

/// The problems of a text, as code and marked text.
pub fn problems(text: &str) -> Vec<(&'static str, String)> {
    let source = Source::new("model.yaml", text);
    let found = load(&source).err().unwrap_or_default();
    found.iter().map(|problem| (problem.code, source.slice(problem.span).to_string())).collect()
}

fn engine() -> Smt {
    Smt::new(LIMIT).unwrap()
}

/// Sorts sets of tags as [`TagSets`] says.
pub fn sorted(sets: impl IntoIterator<Item = Vec<String>>) -> TagSets {
    let mut sets: TagSets = sets.into_iter().collect();
    for set in &mut sets {
        set.sort();
    }
    sets.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    sets
}

/// Sets of tags written as text: `"T", "K2", "S S1"`.
pub fn sets<const N: usize>(written: [&str; N]) -> TagSets {
    sorted(written.map(|set| set.split_whitespace().map(str::to_string).collect()))
}

impl Examined {
    /// The hazard of this tag.
    pub fn hazard(&self, tag: &str) -> HazardId {
        self.model.hazards.iter().find(|(_, hazard)| hazard.name.tag == tag).unwrap().0
    }

    /// What was decided about a hazard, in the first mode in which it exists.
    pub fn of(&self, tag: &str) -> &HazardInMode {
        let hazard = self.hazard(tag);
        self.assessment.hazards.iter().find(|found| found.hazard == hazard).unwrap()
    }

    /// The numbers of a hazard with what shows them.
    pub fn numbers(&self, tag: &str) -> &Numbers {
        self.of(tag).numbers.as_ref().unwrap()
    }

    /// Disjoint paths and fault tolerance are exactly these.
    pub fn has_numbers(&self, tag: &str, paths: usize, tolerance: u32) {
        let numbers = self.numbers(tag);
        let expected = (Paths::Exactly(paths), Tolerance::Exactly(tolerance));
        assert_eq!((numbers.paths, numbers.tolerance), expected, "cut sets {:?}", self.cuts(tag));
    }

    /// The listed minimal cut sets of a hazard.
    pub fn cuts(&self, tag: &str) -> TagSets {
        self.tags(&self.numbers(tag).cuts)
    }

    /// Tags of sets of sources.
    pub fn tags(&self, sets: &[BTreeSet<FaultSource>]) -> TagSets {
        sorted(sets.iter().map(|set| set.iter().map(|source| self.model.source_tag(*source)).collect()))
    }

    /// All minimal cut sets of a hazard, of whatever size.
    pub fn all_cuts(&self, tag: &str) -> TagSets {
        let sources = self.model.universe();
        let hazard = self.hazard(tag);
        let modes = [self.of(tag).mode];
        let breach = Breach::NotMet { hazard, onset: None };
        let scope = Scope { breach, modes: &modes, sources: &sources, initiators: true };
        let encoding = encode(&self.model, &scope);
        let engine = engine();
        let question = engine.open(&encoding.terms, &encoding.possible, &[]).unwrap();
        let mut case = Case::new(encoding, question, |source| self.model.weight(source), Default::default());
        let actors = Actors { initiators: true, damage: true, overrides: false };
        self.tags(&cuts::up_to(&mut case, sources.len(), actors).unwrap().sets)
    }

    /// What was decided about the one claim whose subject `wanted` accepts.
    pub fn single(&self, wanted: impl Fn(&Subject) -> bool) -> &Decided {
        let found: Vec<&Single> =
            self.assessment.singles.iter().filter(|single| wanted(&single.subject)).collect();
        assert_eq!(found.len(), 1, "{found:?}");
        &found[0].decided
    }

    /// What was decided about a cause that should be able to fire.
    pub fn can_fire(&self, tag: &str) -> &Decided {
        self.single(|subject| match subject {
            Subject::CanFire(cause) => self.model.tag(Element::Cause(*cause)) == tag,
            _ => false,
        })
    }

    /// What was decided about an actuator that should not be commanded both ways.
    pub fn not_opposed(&self, tag: &str) -> &Decided {
        self.single(|subject| match subject {
            Subject::NotOpposed(actuator) => self.model.tag(Element::Actuator(*actuator)) == tag,
            _ => false,
        })
    }

    /// The outcome, put together.
    pub fn outcome(self) -> Outcome {
        let name = engine().name();
        conclude(self.source, self.model, &self.assessment, name)
    }
}

/// Whether a claim holds.
pub fn holds(decided: &Decided) -> bool {
    match decided {
        Decided::Holds => true,
        Decided::Broken(_) | Decided::Never(_) => false,
        other => panic!("{other:?}"),
    }
}
