//! Brute force through the simulator alone: walks all choices of a small model and asks the simulator about each.
//!
//! It knows which values of a number can make a difference, which choices a fault opens, and which elements a breach can
//! depend on; no rule of the logic. [`Walk::thorough`] does without the last of these, and keeps values that are alike.

mod dials;
mod plants;
mod reach;

use std::collections::{BTreeMap, BTreeSet};

use tripproof::claim::{Breach, Budget, Claim};
use tripproof::model::{Device, HazardId, ModeId, Model, Source};
use tripproof::replay::breaks_each;
use tripproof::situation::{FactChoice, Situation};

use super::examined::{Examined, TagSets};
use super::touched::Touched;
use dials::{Choice, Dial, Dials};
use plants::{Plant, Plants};

pub use dials::Pins;
pub use reach::Reach;

/// Most situations that one question may cost.
pub const MOST: usize = 2_000_000;

impl Examined {
    /// Confirms by brute force that `cuts` are the minimal cut sets of a hazard: each of them defeats its protection,
    /// none of their proper subsets does, and of all sets of at most two sources only those that hold a cut set.
    pub fn confirm(&self, tag: &str, cuts: &TagSets) {
        let mode = self.of(tag).mode;
        let by_tag = |tag: &String| {
            self.model.universe().into_iter().find(|source| self.model.source_tag(*source) == *tag).unwrap()
        };
        let cuts: Vec<BTreeSet<Source>> = cuts.iter().map(|cut| cut.iter().map(by_tag).collect()).collect();
        let mut walk = Walk::new(&self.model, not_met(self.hazard(tag)), Some(mode), MOST);
        let mut asked: BTreeSet<BTreeSet<Source>> = cuts.iter().flat_map(subsets).collect();
        let costly: Vec<Source> =
            self.model.universe().into_iter().filter(|source| self.model.weight(*source) > 0).collect();
        for one in &costly {
            asked.extend(costly.iter().map(|other| BTreeSet::from([*one, *other])));
        }
        for faults in asked {
            let held = cuts.iter().any(|cut| cut.is_subset(&faults));
            if held && !cuts.contains(&faults) {
                continue;
            }
            assert_eq!(walk.defeated(&faults, PARTIES), Some(held), "{:?}", self.tags(&[faults]));
        }
    }

    /// Whether a hazard is met in every fault-free situation, by brute force.
    pub fn met_without_faults(&self, tag: &str) -> bool {
        let mode = self.of(tag).mode;
        let mut walk = Walk::new(&self.model, not_met(self.hazard(tag)), Some(mode), MOST);
        !walk.defeated(&BTreeSet::new(), PARTIES).expect("a small model")
    }
}

fn not_met(hazard: HazardId) -> Breach {
    Breach::NotMet { hazard, onset: None }
}

/// Every subset, itself included.
pub fn subsets(set: &BTreeSet<Source>) -> Vec<BTreeSet<Source>> {
    set.iter().fold(vec![BTreeSet::new()], |found, source| {
        let with = found.iter().map(|subset| subset.iter().copied().chain([*source]).collect());
        found.iter().cloned().chain(with.collect::<Vec<_>>()).collect()
    })
}

/// Who else may act.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Others {
    /// The initiator groups of the hazard.
    pub initiators: bool,
    /// Damage that costs nothing.
    pub damage: bool,
    /// Overrides as permitted.
    pub overrides: bool,
}

/// Nobody.
pub const NOBODY: Others = Others { initiators: false, damage: false, overrides: false };
/// Initiators and certain damage.
pub const PARTIES: Others = Others { initiators: true, damage: true, overrides: false };

/// One walk through the situations of a model, for one breach.
pub struct Walk<'m> {
    model: &'m Model,
    breach: Breach,
    mode: Option<ModeId>,
    reach: Reach<'m>,
    whole: Option<Reach<'m>>,
    plants: Vec<Plant>,
    pins: Pins,
    most: usize,
    /// Situations walked so far.
    pub walked: usize,
    /// What was found about sets of faults.
    known: BTreeMap<(BTreeSet<Source>, Others), bool>,
}

impl<'m> Walk<'m> {
    /// A walk that gives up after so many situations.
    pub fn new(model: &'m Model, breach: Breach, mode: Option<ModeId>, most: usize) -> Self {
        let reach = Reach::of(model, &breach);
        Walk::with(model, breach, mode, reach, false, most)
    }

    /// The same, through everything that there is, whether the breach depends on it or not.
    pub fn thorough(model: &'m Model, breach: Breach, mode: Option<ModeId>, most: usize) -> Self {
        Walk::with(model, breach, mode, Reach::whole(model), true, most)
    }

    fn with(
        model: &'m Model,
        breach: Breach,
        mode: Option<ModeId>,
        reach: Reach<'m>,
        thorough: bool,
        most: usize,
    ) -> Self {
        let plants = Plants::new(model, &reach, mode, thorough).all();
        // The loss of a source shows in everything that hangs on it.
        let whole = matches!(breach, Breach::Forced { .. }).then(|| Reach::whole(model));
        let pins = Pins::default();
        let mut walk =
            Walk { model, breach, mode, reach, whole, plants, pins, most, walked: 0, known: BTreeMap::new() };
        walk.only_where_present();
        walk
    }

    /// With this known of what solvers see and of overrides.
    pub fn pinned(mut self, pins: Pins) -> Self {
        self.pins = pins;
        self
    }

    /// The plant alone decides whether the hazard is present.
    fn only_where_present(&mut self) {
        let (Breach::NotMet { hazard, .. } | Breach::Late { hazard, .. }) = self.breach else { return };
        let onsets = 0..self.model.hazards[hazard].onset.len();
        let cases: Vec<Breach> = onsets.map(|onset| Breach::Exists { hazard, onset }).collect();
        let claim = self.claim(&BTreeSet::new(), NOBODY);
        self.plants.retain(|plant| {
            let shown = breaks_each(self.model, &claim, &cases, &plant.situation);
            shown.is_ok_and(|each| each.contains(&true))
        });
    }

    /// The sources on which the breach can depend, without those that the model leaves out.
    pub fn sources(&self) -> BTreeSet<Source> {
        let reach = self.whole.as_ref().unwrap_or(&self.reach);
        let matters = |source: &Source| match (source, self.breach.hazard()) {
            (Source::Damage(of, number), Some(hazard)) if *of == hazard => {
                let members = &self.model.hazards[hazard].damages[*number].members;
                members.iter().any(|member| reach.sources.contains(member))
            }
            _ => reach.sources.contains(source),
        };
        self.model.universe().into_iter().filter(matters).collect()
    }

    fn claim(&self, sources: &BTreeSet<Source>, others: Others) -> Claim {
        Claim {
            breach: self.breach.clone(),
            modes: self.mode.into_iter().collect(),
            faults: Budget { sources: sources.clone(), weight: None },
            initiators: others.initiators,
            overrides: others.overrides,
        }
    }

    /// Whether the breach happens in some situation in which all of `faults` may misbehave. `None`: too many situations.
    pub fn defeated(&mut self, faults: &BTreeSet<Source>, others: Others) -> Option<bool> {
        let faults: BTreeSet<Source> = faults.intersection(&self.sources()).copied().collect();
        let key = (faults, others);
        if let Some(known) = self.known.get(&key) {
            return Some(*known);
        }
        let free =
            self.sources().into_iter().filter(|source| others.damage && self.model.weight(*source) == 0);
        let sources: BTreeSet<Source> = key.0.iter().copied().chain(free).collect();
        let found = self.search(&sources, others)?;
        self.known.insert(key, found);
        Some(found)
    }

    /// The same with all of these, whatever the model leaves out, and nothing else.
    pub fn with_these(&mut self, sources: &BTreeSet<Source>, others: Others) -> Option<bool> {
        self.search(sources, others)
    }

    /// Whether what the breach speaks of depends on a source; what the loss of it shows elsewhere does not count.
    pub fn depends_on(&self, source: Source) -> bool {
        Reach::of(self.model, &self.breach).sources.contains(&source)
    }

    /// Whether overrides can make a difference.
    pub fn overrides_matter(&self) -> bool {
        !Reach::of(self.model, &self.breach).overrides.is_empty()
    }

    fn search(&mut self, sources: &BTreeSet<Source>, others: Others) -> Option<bool> {
        let claim = self.claim(sources, others);
        let hazard = self.breach.hazard();
        let dials = Dials {
            model: self.model,
            reach: &self.reach,
            wide: self.whole.as_ref().unwrap_or(&self.reach),
            touched: Touched::by(self.model, sources, hazard.filter(|_| others.initiators)),
            overrides: others.overrides,
            pins: self.pins.clone(),
            blind: matches!(self.breach, Breach::Blind(_)),
            held: match &self.breach {
                Breach::Forced { at, .. } => match at.device {
                    Device::Actuator(id) => Some(id),
                    Device::Passive(_) => None,
                },
                _ => None,
            },
        };
        let groups = self.groups(sources, others);
        let breaches = [self.breach.clone()];
        let (mut count, most) = (self.walked, self.most);
        let mut found = false;
        for plant in &self.plants {
            let mut all = vec![groups.clone()];
            all.extend(dials.of(plant));
            // Turned first is what has the fewest alternatives, so that little is set again and again.
            let mut situation = plant.situation.clone();
            found = turn(&all, &mut situation, &mut |situation| {
                count += 1;
                let broken = breaks_each(self.model, &claim, &breaches, situation);
                count > most || broken.is_ok_and(|each| each[0])
            });
            if found {
                break;
            }
        }
        self.walked = count;
        (count <= most).then_some(found)
    }

    /// Which sources, initiator group and damage group misbehave: all of the sources, at most one of each group.
    fn groups(&self, sources: &BTreeSet<Source>, others: Others) -> Dial {
        let hazard = self.breach.hazard();
        let is_damage = |source: &&Source| matches!(source, Source::Damage(..));
        let fact = |source: &Source| Choice::Fact(FactChoice::Misbehaves(*source));
        let always: Vec<Choice> = sources.iter().filter(|source| !is_damage(source)).map(fact).collect();
        let damages = sources.iter().filter(is_damage).map(|source| Some(fact(source)));
        let initiators =
            hazard.filter(|_| others.initiators).map_or(0, |id| self.model.hazards[id].initiators.len());
        let initiator = |n| hazard.map(|id| Choice::Fact(FactChoice::Initiator(id, n)));
        let initiators: Vec<Option<Choice>> = (0..initiators).map(initiator).chain([None]).collect();
        let mut dial = Dial::new();
        for damage in damages.chain([None]) {
            for initiator in &initiators {
                dial.push(always.iter().cloned().chain(damage.clone()).chain(initiator.clone()).collect());
            }
        }
        dial
    }
}

/// Turns all dials through all their alternatives until `stop` says so.
fn turn(dials: &[Dial], situation: &mut Situation, stop: &mut dyn FnMut(&Situation) -> bool) -> bool {
    let Some((dial, rest)) = dials.split_first() else { return stop(situation) };
    for choices in dial {
        for choice in choices {
            match choice {
                Choice::Number(choice, value) => drop(situation.numbers.insert(*choice, value.clone())),
                Choice::Fact(choice) => drop(situation.facts.insert(*choice, true)),
                Choice::Mode(choice, mode) => drop(situation.modes.insert(*choice, *mode)),
                Choice::Position(device, position) => drop(situation.positions.insert(*device, *position)),
            }
        }
        let stopped = turn(rest, situation, stop);
        for choice in choices {
            match choice {
                Choice::Number(choice, _) => drop(situation.numbers.remove(choice)),
                Choice::Fact(choice) => drop(situation.facts.remove(choice)),
                Choice::Mode(choice, _) => drop(situation.modes.remove(choice)),
                Choice::Position(device, _) => drop(situation.positions.remove(device)),
            }
        }
        if stopped {
            return true;
        }
    }
    false
}
