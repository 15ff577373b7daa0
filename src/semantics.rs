//! What a model means, as terms: the encoding that the engines decide.
//!
//! Implements `docs/meaning.md`, one file per section. The same meaning is written a second time in `replay`;
//! neither imports the other. An [`Encoding`] is built for one breach in fixed modes and holds every fault source of
//! the universe, so that all claims about one hazard in one mode are questions to one encoding.

mod ahead;
mod breach;
mod capacity;
mod fault;
mod found;
mod input;
mod logic;
mod loss;
mod output;
mod plant;
mod review;
mod signals;
mod time;
mod two_modes;

use std::collections::{BTreeMap, BTreeSet};

pub use ahead::{Compared, clearing, head_start, known_step, normal_range, t90_says};
pub use capacity::too_many_sums;
pub use time::{Acts, Onset, acts};

use rustc_hash::FxHashMap;

use crate::claim::{Breach, Unknown};
use crate::model::{
    CauseId, ConditionId, CouplingId, Element, GroupId, HazardId, InputId, ModeId, Model, OverrideId,
    QuantityId, SolverId, Source, SupplyId,
};
use crate::situation::{FactChoice, ModeChoice};
use crate::term::{TermId, Terms, Var};
use found::Found;

/// Over which situations an encoding speaks.
#[derive(Debug, Clone)]
pub struct Scope<'m> {
    /// What is looked for.
    pub breach: Breach,
    /// Modes that hold, at most one per group.
    pub modes: &'m [ModeId],
    /// Sources that may misbehave.
    pub sources: &'m BTreeSet<Source>,
    /// Whether initiator groups may misbehave.
    pub initiators: bool,
}

/// A declared fact that restricts the situations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RestsOn {
    /// A coupling.
    Coupling(CouplingId),
    /// The range of a quantity.
    Range(QuantityId),
    /// Hazards that are never together with the one in question.
    NeverTogether(HazardId),
}

/// One question in terms.
#[derive(Debug, Clone)]
pub struct Encoding {
    /// The terms.
    pub terms: Terms,
    /// What makes a situation possible: all of these hold.
    pub possible: Vec<TermId>,
    /// The breach.
    pub breach: TermId,
    /// Of a breach of a hazard: each of its onset cases holds.
    pub onsets: Vec<TermId>,
    /// The fault sources that occur, each with its variable, in the order of the sources.
    pub faults: BTreeMap<Source, TermId>,
    /// The initiator groups that occur.
    pub initiators: Vec<TermId>,
    /// What the engineer declares about the plant among the terms of `possible`: a proof may need it, or not.
    pub rests_on: Vec<(TermId, RestsOn)>,
    /// Couplings that restrict the situations.
    pub couplings: BTreeSet<CouplingId>,
    /// Mode groups that some solver is taken to know exactly, since it has no mode input.
    pub modes_known: BTreeSet<(GroupId, SolverId)>,
    /// Variable by which a question permits overrides; absent where no override device matters.
    pub overrides_permitted: Option<TermId>,
    /// Elements with a time that is unknown and matters.
    pub unknown_times: BTreeSet<Element>,
    /// Of a breach about time: everything is so quick that it is the same breach without regard to time.
    pub quick: bool,
}

impl Encoding {
    /// Whether the other encoding is the same question up to the names of choices and sources, as it is for two bays that
    /// are built alike: then it has the same answers with the other's names. `weight` is what a source costs.
    pub fn alike(&self, other: &Encoding, weight: impl Fn(Source) -> u32) -> bool {
        let costs = |encoding: &Encoding| -> BTreeMap<TermId, u32> {
            encoding.faults.iter().map(|(source, term)| (*term, weight(*source))).collect()
        };
        let parties = |encoding: &Encoding| encoding.initiators.iter().copied().collect::<BTreeSet<TermId>>();
        self.breach == other.breach
            && self.possible == other.possible
            && self.onsets == other.onsets
            && self.overrides_permitted == other.overrides_permitted
            && parties(self) == parties(other)
            && self.terms.alike(&other.terms)
            && costs(self) == costs(other)
    }

    /// Whether the other encoding is the same question, term for term: then it has the same answers.
    pub fn asks_the_same(&self, other: &Encoding) -> bool {
        self.breach == other.breach
            && self.possible == other.possible
            && self.onsets == other.onsets
            && self.faults == other.faults
            && self.initiators == other.initiators
            && self.overrides_permitted == other.overrides_permitted
            && self.terms.same(&other.terms)
    }
}

/// Encodes the breach of `scope` over all its situations.
pub fn encode(model: &Model, scope: &Scope) -> Encoding {
    let mut encoder = Encoder::new(model, scope);
    let breach = encoder.breach(&scope.breach);
    encoder.finish(breach)
}

/// Encodes the breach of `scope`, and beside it another one over the same situations, whose term is the second value. What
/// the encoding says about time is said of that one.
pub fn encode_beside(model: &Model, scope: &Scope, other: &Breach) -> (Encoding, TermId) {
    let mut encoder = Encoder::new(model, scope);
    let breach = encoder.breach(&scope.breach);
    let other = encoder.breach(other);
    (encoder.finish(breach), other)
}

/// Encodes several breaches at once, over all modes and without initiator and damage groups: each is a term of its own
/// over the same situations, in which these sources may misbehave.
pub fn encode_each(
    model: &Model,
    breaches: &[Breach],
    sources: &BTreeSet<Source>,
) -> (Encoding, Vec<TermId>) {
    let scope = Scope { breach: Breach::Possible, modes: &[], sources, initiators: false };
    let mut encoder = Encoder::new(model, &scope);
    let terms: Vec<TermId> = breaches.iter().map(|breach| encoder.breach(breach)).collect();
    let any = encoder.terms.yes();
    (encoder.finish(any), terms)
}

/// Builds terms on demand, so that only what the breach depends on is ever encoded.
struct Encoder<'m> {
    model: &'m Model,
    hazard: Option<HazardId>,
    fixed: BTreeMap<GroupId, ModeId>,
    /// The mode groups that the question is about: what belongs to them comes first, so that two bays that are built alike
    /// give terms alike.
    home: BTreeSet<GroupId>,
    sources: &'m BTreeSet<Source>,
    initiators_allowed: bool,
    terms: Terms,
    possible: Vec<TermId>,
    rests_on: Vec<(TermId, RestsOn)>,
    faults: BTreeMap<Source, TermId>,
    initiators: BTreeMap<usize, TermId>,
    damages: BTreeMap<usize, TermId>,
    lost: FxHashMap<SupplyId, TermId>,
    views: FxHashMap<(InputId, SolverId), input::View>,
    causes: FxHashMap<CauseId, TermId>,
    known: FxHashMap<(CauseId, SolverId, bool), TermId>,
    quantities: Found<QuantityId>,
    conditions: Found<ConditionId>,
    groups: Found<GroupId>,
    couplings: BTreeSet<CouplingId>,
    modes_known: BTreeSet<(GroupId, SolverId)>,
    shown: Found<ModeChoice>,
    /// Inputs that override devices may stand for.
    overridden: Found<(OverrideId, InputId)>,
    ranged: BTreeSet<crate::situation::NumberChoice>,
    placed: BTreeSet<crate::model::Device>,
    /// Whether every input that warms up does so.
    blind: bool,
    /// How unknown times are taken, in a breach about time.
    unknown: Option<Unknown>,
    unknown_times: BTreeSet<Element>,
    quick: bool,
    /// Causes by a time, or that they are not, by onset case.
    by: FxHashMap<(CauseId, bool, signals::Due, usize), time::By>,
}

impl<'m> Encoder<'m> {
    fn new(model: &'m Model, scope: &Scope<'m>) -> Self {
        Encoder {
            model,
            hazard: scope.breach.hazard(),
            fixed: scope.modes.iter().map(|mode| (model.modes[*mode].group, *mode)).collect(),
            home: scope.modes.iter().map(|mode| model.modes[*mode].group).collect(),
            sources: scope.sources,
            initiators_allowed: scope.initiators,
            terms: Terms::default(),
            possible: Vec::new(),
            rests_on: Vec::new(),
            faults: BTreeMap::new(),
            initiators: BTreeMap::new(),
            damages: BTreeMap::new(),
            lost: FxHashMap::default(),
            views: FxHashMap::default(),
            causes: FxHashMap::default(),
            known: FxHashMap::default(),
            quantities: Found::default(),
            conditions: Found::default(),
            groups: Found::default(),
            couplings: BTreeSet::new(),
            modes_known: BTreeSet::new(),
            shown: Found::default(),
            overridden: Found::default(),
            ranged: BTreeSet::new(),
            placed: BTreeSet::new(),
            blind: matches!(scope.breach, Breach::Blind(_)),
            unknown: None,
            unknown_times: BTreeSet::new(),
            quick: false,
            by: FxHashMap::default(),
        }
    }

    fn fact(&mut self, choice: FactChoice) -> TermId {
        self.terms.fact(choice)
    }

    /// Adds what makes the situation possible as a whole: it needs to know everything that was mentioned.
    fn finish(mut self, breach: TermId) -> Encoding {
        self.apart();
        let onsets = self.onsets();
        let overrides_permitted = self.override_rules();
        self.one_party_at_a_time();
        self.plant_rules();
        self.mode_rules();
        Encoding {
            terms: self.terms,
            possible: self.possible,
            breach,
            onsets,
            faults: self.faults,
            initiators: self.initiators.into_values().collect(),
            rests_on: self.rests_on,
            couplings: self.couplings,
            modes_known: self.modes_known,
            overrides_permitted,
            unknown_times: self.unknown_times,
            quick: self.quick,
        }
    }

    /// Override devices: only as permitted, or by a fault of the device (§1).
    fn override_rules(&mut self) -> Option<TermId> {
        let overridden = self.overridden.in_order();
        if overridden.is_empty() {
            return None;
        }
        let mut devices: Vec<(OverrideId, Vec<InputId>)> = Vec::new();
        for (device, input) in overridden {
            match devices.iter_mut().find(|(known, _)| *known == device) {
                Some((_, inputs)) => inputs.push(input),
                None => devices.push((device, vec![input])),
            }
        }
        let permitted = self.terms.var(Var::OverridesPermitted);
        for (device, inputs) in devices {
            let model = self.model;
            let rule = &model.overrides[device];
            let faulty = self.misbehaves(Source::Override(device), &rule.parents);
            let used: Vec<TermId> =
                inputs.iter().map(|input| self.fact(FactChoice::Overridden(device, *input))).collect();
            let too_many = self.terms.at_least(rule.at_most + 1, used.iter().copied());
            let few = self.terms.not(too_many);
            let mut conditions = vec![permitted, few];
            for (group, modes) in &rule.modes {
                conditions.push(self.mode_among(ModeChoice::Holds(*group), modes));
            }
            let by_permission = self.terms.and(conditions);
            let allowed = self.terms.either(faulty, by_permission);
            for one in used {
                let rule = self.terms.implies(one, allowed);
                self.possible.push(rule);
            }
        }
        Some(permitted)
    }
}
