//! Random models that are small enough to be walked through completely. Each has a handful of features; over many models
//! every kind of element and every option of the language occurs.

#[path = "generate/causes.rs"]
mod causes;
#[path = "generate/claims.rs"]
mod claims;
#[path = "generate/draft.rs"]
pub mod draft;
#[path = "generate/inputs.rs"]
mod inputs;
#[path = "generate/outputs.rs"]
mod outputs;
#[path = "generate/plant.rs"]
mod plant;
#[path = "generate/shared.rs"]
mod shared;

use std::collections::BTreeSet;

use super::random::Random;
use draft::{Draft, Entry};

/// A random model.
pub struct Generated {
    /// Its parts.
    pub draft: Draft,
    /// The options that it uses.
    pub options: BTreeSet<&'static str>,
}

/// What a model is about besides a sensor, a trip and an actuator, and how often it is chosen.
const FEATURES: &[(Feature, usize)] = &[
    (Feature::SecondSolver, 6),
    (Feature::Link, 9),
    (Feature::ModeInput, 8),
    (Feature::Supplies, 12),
    (Feature::Routes, 9),
    (Feature::Cabinet, 8),
    (Feature::Shared, 8),
    (Feature::Conditioner, 7),
    (Feature::Relay, 6),
    (Feature::Loop, 8),
    (Feature::Stop, 14),
    (Feature::Passive, 7),
    (Feature::Override, 18),
    (Feature::Vote, 24),
    (Feature::Deadband, 4),
    (Feature::Coupling, 8),
    (Feature::SecondQuantity, 4),
    (Feature::SecondMode, 8),
    (Feature::SecondGroup, 26),
    (Feature::SecondHazard, 22),
    (Feature::Initiator, 13),
    (Feature::Damage, 8),
    (Feature::Forbids, 26),
    (Feature::Opposed, 16),
    (Feature::Rules, 16),
    (Feature::FaultExclusion, 7),
    (Feature::Space, 22),
    (Feature::Capacity, 18),
    (Feature::Chain, 6),
    (Feature::TwoDrivers, 8),
    (Feature::Policy, 5),
    (Feature::Declared, 5),
    (Feature::ImpossibleMode, 8),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Feature {
    SecondSolver,
    Link,
    ModeInput,
    Supplies,
    Routes,
    Cabinet,
    Shared,
    Conditioner,
    Relay,
    Loop,
    Stop,
    Passive,
    Override,
    Vote,
    Deadband,
    Coupling,
    SecondQuantity,
    SecondMode,
    SecondGroup,
    SecondHazard,
    Initiator,
    Damage,
    Forbids,
    Opposed,
    Rules,
    FaultExclusion,
    Space,
    Capacity,
    Chain,
    TwoDrivers,
    Policy,
    Declared,
    ImpossibleMode,
}

/// Something a condition can say of one input.
#[derive(Debug, Clone)]
struct Atom {
    text: String,
    /// The solvers that know it.
    known_to: Vec<&'static str>,
    /// The input, if it is a plain statement about one, which votes to trip.
    input: Option<String>,
}

/// An actuator, with what later parts need to know.
#[derive(Debug, Clone)]
struct Device {
    tag: &'static str,
    /// Position that the protection wants, and the other one.
    wanted: &'static str,
    other: &'static str,
    /// The solvers that drive it.
    drivers: Vec<&'static str>,
}

/// A model being written.
struct Writing {
    random: Random,
    draft: Draft,
    options: BTreeSet<&'static str>,
    features: BTreeSet<Feature>,
    /// Its single faults are on the side of the protection.
    strong: bool,
    /// The harm that the model is about, where its parts fit together; chance alone hardly ever protects anything.
    about: Option<&'static str>,
    supplies: Vec<&'static str>,
    routes: Vec<&'static str>,
    cabinets: Vec<&'static str>,
    shared: Vec<&'static str>,
    types: Vec<&'static str>,
    solvers: Vec<&'static str>,
    conditioners: Vec<&'static str>,
    relays: Vec<&'static str>,
    atoms: Vec<Atom>,
    /// Tags of sensors, loops and stop contacts, with the solvers that they are wired to.
    inputs: Vec<(String, Vec<&'static str>)>,
    actuators: Vec<Device>,
    passive: Vec<&'static str>,
    /// Causes with their solvers.
    causes: Vec<(String, &'static str)>,
    /// Everything that may misbehave.
    sources: Vec<String>,
}

/// The model of a seed.
pub fn generate(seed: u64) -> Generated {
    let mut writing = Writing::new(seed);
    writing.choose();
    writing.plant();
    writing.shared();
    writing.solvers();
    writing.ways();
    writing.sensors();
    writing.loops();
    writing.actuators();
    writing.passive();
    writing.stops();
    writing.link();
    writing.causes();
    writing.overrides();
    writing.hazards();
    writing.spaces();
    writing.suppression();
    writing.rules();
    Generated { draft: writing.draft, options: writing.options }
}

impl Writing {
    fn new(seed: u64) -> Writing {
        Writing {
            random: Random::new(seed),
            draft: Draft::default(),
            options: BTreeSet::new(),
            features: BTreeSet::new(),
            strong: false,
            about: None,
            supplies: Vec::new(),
            routes: Vec::new(),
            cabinets: Vec::new(),
            shared: Vec::new(),
            types: Vec::new(),
            solvers: Vec::new(),
            conditioners: Vec::new(),
            relays: Vec::new(),
            atoms: Vec::new(),
            inputs: Vec::new(),
            actuators: Vec::new(),
            passive: Vec::new(),
            causes: Vec::new(),
            sources: Vec::new(),
        }
    }

    fn choose(&mut self) {
        let whole: usize = FEATURES.iter().map(|(_, weight)| weight).sum();
        for _ in 0..*self.random.pick(&[3, 3, 4, 4, 5]) {
            let mut at = self.random.below(whole);
            for (feature, weight) in FEATURES {
                if at < *weight {
                    self.features.insert(*feature);
                    break;
                }
                at -= weight;
            }
        }
        let tolerant = [Feature::Space, Feature::Initiator, Feature::Override, Feature::Stop];
        let chance = if tolerant.iter().any(|feature| self.has(*feature)) { 50 } else { 15 };
        self.strong = self.option("faults on the side of the protection", chance);
        self.about = match self.random.percent(80) {
            true => Some(*self.random.pick(&["hot", "p >= 6 bar", "p > 4 bar"])),
            false => None,
        };
    }

    fn has(&self, feature: Feature) -> bool {
        self.features.contains(&feature)
    }

    /// Whether an option is used, in so many of a hundred cases; notes it.
    fn option(&mut self, option: &'static str, chance: usize) -> bool {
        let used = self.random.percent(chance);
        if used {
            self.options.insert(option);
        }
        used
    }

    fn note(&mut self, option: &'static str) {
        self.options.insert(option);
    }

    /// One of several options, each of which counts by itself.
    fn one_of(&mut self, options: &[(&'static str, &'static str)]) -> &'static str {
        let (option, text) = *self.random.pick(options);
        self.note(option);
        text
    }

    /// `field: tag` with one of the tags, or nothing.
    fn with(
        &mut self,
        entry: &mut Entry,
        field: &str,
        option: &'static str,
        tags: &[&'static str],
        chance: usize,
    ) {
        if !tags.is_empty() && self.option(option, chance) {
            let tag = *self.random.pick(tags);
            entry.put(field, tag);
        }
    }

    /// `field: [tags]` with one or all of the tags, or nothing.
    fn list(
        &mut self,
        entry: &mut Entry,
        field: &str,
        option: &'static str,
        tags: &[&'static str],
        chance: usize,
    ) {
        if tags.is_empty() || !self.option(option, chance) {
            return;
        }
        let picked = match self.random.percent(25) {
            true => tags.join(", "),
            false => self.random.pick(tags).to_string(),
        };
        entry.put(field, format!("[{picked}]"));
    }
}
