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
#[path = "generate/time.rs"]
mod time;

use std::collections::BTreeSet;

use super::random::Random;
use draft::{Draft, Entry};

/// A random model.
pub struct Generated {
    /// Its parts.
    pub draft: Draft,
    /// The options that it uses.
    #[allow(dead_code)]
    pub options: BTreeSet<&'static str>,
}

/// What a model is about besides a sensor, a trip and an actuator, and how often it is chosen.
const FEATURES: &[(Feature, usize)] = &[
    (Feature::SecondSolver, 8),
    (Feature::Link, 17),
    (Feature::ModeInput, 18),
    (Feature::Supplies, 12),
    (Feature::Routes, 8),
    (Feature::Cabinet, 8),
    (Feature::Shared, 10),
    (Feature::Types, 3),
    (Feature::Conditioner, 12),
    (Feature::Relay, 12),
    (Feature::Loop, 19),
    (Feature::Stop, 18),
    (Feature::Passive, 18),
    (Feature::Override, 22),
    (Feature::Vote, 41),
    (Feature::Deadband, 5),
    (Feature::Coupling, 34),
    (Feature::SecondQuantity, 8),
    (Feature::SecondMode, 8),
    (Feature::SecondGroup, 30),
    (Feature::SecondHazard, 28),
    (Feature::Initiator, 27),
    (Feature::Damage, 9),
    (Feature::Forbids, 28),
    (Feature::Opposed, 21),
    (Feature::Rules, 22),
    (Feature::FaultExclusion, 12),
    (Feature::Space, 31),
    (Feature::Capacity, 24),
    (Feature::Chain, 15),
    (Feature::TwoDrivers, 9),
    (Feature::Policy, 10),
    (Feature::Declared, 9),
    (Feature::ImpossibleMode, 9),
];

/// What a feature brings along, one of these in so many of a hundred models: what stands together is tried together.
const COMPANIONS: &[(Feature, usize, &[Feature])] = &[
    (Feature::Link, 90, &[Feature::Supplies, Feature::Routes, Feature::Cabinet, Feature::Types]),
    (
        Feature::ModeInput,
        95,
        &[
            Feature::Supplies,
            Feature::Routes,
            Feature::Cabinet,
            Feature::Types,
            Feature::Conditioner,
            Feature::SecondSolver,
        ],
    ),
    (Feature::ModeInput, 60, &[Feature::SecondMode]),
    (Feature::Relay, 90, &[Feature::Supplies, Feature::Cabinet, Feature::Types]),
    (Feature::Conditioner, 85, &[Feature::Supplies, Feature::Cabinet, Feature::Shared]),
    (Feature::Passive, 80, &[Feature::Cabinet, Feature::Types]),
    (Feature::Loop, 85, &[Feature::Supplies, Feature::Cabinet, Feature::Types]),
    (Feature::Override, 20, &[Feature::Cabinet]),
    (Feature::Stop, 65, &[Feature::Supplies]),
    (Feature::Space, 25, &[Feature::Supplies]),
    (Feature::SecondSolver, 85, &[Feature::Routes, Feature::Conditioner]),
    (Feature::Cabinet, 30, &[Feature::Supplies]),
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
    Types,
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
    /// And any one of its two channels trips everything.
    redundant: bool,
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
    writing.times();
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
            redundant: false,
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
        for (feature, chance, companions) in COMPANIONS {
            if self.has(*feature) && self.random.percent(*chance) {
                let companion = *self.random.pick(companions);
                self.features.insert(companion);
            }
        }
        let tolerant = [Feature::Space, Feature::Initiator, Feature::Override, Feature::Stop];
        let chance = match tolerant.iter().filter(|feature| self.has(**feature)).count() {
            0 => 15,
            _ if self.has(Feature::Initiator) || self.has(Feature::Space) => 84,
            _ => 50,
        };
        self.strong = self.option("faults on the side of the protection", chance);
        self.redundant = self.strong && self.option("two channels on the side of the protection", 82);
        if self.redundant && self.random.percent(70) {
            self.about = Some("hot");
            return;
        }
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
