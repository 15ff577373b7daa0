//! Brute force through the simulator alone: walks all choices of a small model and asks the simulator about each.
//!
//! It knows which values of a number can make a difference, and which choices a fault opens; no rule of the logic.
//! Models with links or mode inputs are not for it, nor comparisons with a deadband.

use std::collections::BTreeSet;

use tripproof::claim::{Breach, Budget, Claim};
use tripproof::exact::Exact;
use tripproof::model::{
    ActsOn, Device, HazardId, InputAtom, InputId, Interval, ModeId, Model, NormalIn, Observes, PlantAtom,
    Relation, Source, WithoutEnergy,
};
use tripproof::replay::{breaks_each, replay};
use tripproof::situation::{FactChoice, ModeChoice, NumberChoice, Situation};

use super::examined::{Examined, TagSets};
use super::touched::Touched;

/// Most situations that one model may cost.
pub const MOST: usize = 400_000;

/// One choice of a situation.
#[derive(Clone)]
enum Choice {
    Number(NumberChoice, Exact),
    Fact(FactChoice),
    Mode(ModeChoice, ModeId),
    Position(Device, usize),
}

/// The alternatives of one thing, each with the choices that it consists of.
type Dial = Vec<Vec<Choice>>;

impl Examined {
    /// Confirms by brute force that `cuts` are the minimal cut sets of a hazard: each of them defeats its protection,
    /// none of their proper subsets does, and of all sets of at most two sources only those that hold a cut set.
    pub fn confirm(&self, tag: &str, cuts: &TagSets) {
        let mode = self.of(tag).mode;
        let by_tag = |tag: &String| {
            self.model.universe().into_iter().find(|source| self.model.source_tag(*source) == *tag).unwrap()
        };
        let cuts: Vec<BTreeSet<Source>> = cuts.iter().map(|cut| cut.iter().map(by_tag).collect()).collect();
        let mut walk = Walk::new(&self.model, self.hazard(tag), Some(mode), MOST);
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
            assert_eq!(walk.defeated(&faults), Some(held), "{:?}", self.tags(&[faults]));
        }
    }

    /// Whether a hazard is met in every fault-free situation, by brute force.
    pub fn met_without_faults(&self, tag: &str) -> bool {
        let mode = self.of(tag).mode;
        let mut walk = Walk::new(&self.model, self.hazard(tag), Some(mode), MOST);
        !walk.defeated(&BTreeSet::new()).expect("a small model")
    }
}

/// Every subset, itself included.
fn subsets(set: &BTreeSet<Source>) -> Vec<BTreeSet<Source>> {
    set.iter().fold(vec![BTreeSet::new()], |found, source| {
        let with = found.iter().map(|subset| subset.iter().copied().chain([*source]).collect());
        found.iter().cloned().chain(with.collect::<Vec<_>>()).collect()
    })
}

/// One walk through the situations of a model.
pub struct Walk<'m> {
    model: &'m Model,
    hazard: HazardId,
    /// The mode of its group, if it is fixed.
    mode: Option<ModeId>,
    walked: usize,
    most: usize,
}

impl<'m> Walk<'m> {
    /// A walk that gives up after so many situations.
    pub fn new(model: &'m Model, hazard: HazardId, mode: Option<ModeId>, most: usize) -> Self {
        Walk { model, hazard, mode, walked: 0, most }
    }

    /// Which of these happen in some situation in which all of `sources` may misbehave. `None`: too many situations.
    pub fn happens(&mut self, breaches: &[Breach], sources: &BTreeSet<Source>) -> Option<Vec<bool>> {
        self.happens_in(breaches, sources, None)
    }

    fn happens_in(
        &mut self,
        breaches: &[Breach],
        sources: &BTreeSet<Source>,
        mode: Option<ModeId>,
    ) -> Option<Vec<bool>> {
        let Some(first) = breaches.first() else { return Some(Vec::new()) };
        let faults = Budget { sources: sources.clone(), weight: None };
        let claim = Claim {
            breach: first.clone(),
            modes: mode.into_iter().collect(),
            faults,
            initiators: false,
            overrides: false,
        };
        let touched = Touched::by(self.model, sources);
        let mut plants = Vec::new();
        self.walk(&self.plant(), &Situation::default(), &mut |situation| {
            plants.push(situation.clone());
            false
        });
        let mut found = vec![false; breaches.len()];
        for plant in plants {
            let mut dials = self.protection(&touched, &plant);
            dials.push(self.groups(sources, false));
            let (mut count, most) = (self.walked, self.most);
            self.walk(&dials, &plant, &mut |situation| {
                count += 1;
                if let Ok(each) = breaks_each(self.model, &claim, breaches, situation) {
                    found.iter_mut().zip(each).for_each(|(found, now)| *found |= now);
                }
                count > most
            });
            self.walked = count;
            if count > most {
                return None;
            }
        }
        Some(found)
    }

    /// Which of these, which depend on the plant alone, happen.
    pub fn plant_shows(&self, breaches: &[Breach]) -> Vec<bool> {
        let claim = Claim {
            breach: breaches[0].clone(),
            modes: self.mode.into_iter().collect(),
            faults: Budget::none(),
            initiators: false,
            overrides: false,
        };
        let mut found = vec![false; breaches.len()];
        self.walk(&self.plant(), &Situation::default(), &mut |situation| {
            if let Ok(each) = breaks_each(self.model, &claim, breaches, situation) {
                found.iter_mut().zip(each).for_each(|(found, now)| *found |= now);
            }
            false
        });
        found
    }

    /// Whether the hazard is not met in some situation in which nothing misbehaves, not even an initiator.
    pub fn without_anybody(&mut self) -> Option<bool> {
        let breach = Breach::NotMet { hazard: self.hazard, onset: None };
        let happens = Walk::new(self.model, self.hazard, self.mode, self.most).happens_in(
            &[breach],
            &BTreeSet::new(),
            self.mode,
        )?;
        Some(happens[0])
    }

    /// Whether the hazard is not met in some situation in which all of `faults` may misbehave, and the hazard's
    /// initiator groups and certain damage too. `None`: too many situations.
    pub fn defeated(&mut self, faults: &BTreeSet<Source>) -> Option<bool> {
        let free = self.model.universe().into_iter().filter(|source| self.model.weight(*source) == 0);
        let sources: BTreeSet<Source> = faults.iter().copied().chain(free).collect();
        let claim = Claim {
            breach: Breach::NotMet { hazard: self.hazard, onset: None },
            modes: self.mode.into_iter().collect(),
            faults: Budget { sources: sources.clone(), weight: None },
            initiators: true,
            overrides: false,
        };
        let touched = Touched::new(self.model, self.hazard, &sources);
        let mut plants = Vec::new();
        self.walk(&self.plant(), &Situation::default(), &mut |situation| {
            // The plant alone decides whether the hazard is present; what is not possible is left out.
            let present = replay(self.model, &claim, situation)
                .is_ok_and(|seen| seen.onset[&self.hazard].iter().any(|case| *case));
            if present {
                plants.push(situation.clone());
            }
            false
        });
        for plant in plants {
            let mut dials = self.protection(&touched, &plant);
            dials.push(self.groups(&sources, true));
            let (mut count, most) = (self.walked, self.most);
            let stopped = self.walk(&dials, &plant, &mut |situation| {
                count += 1;
                count > most || replay(self.model, &claim, situation).is_ok_and(|seen| seen.breaks)
            });
            self.walked = count;
            if count > most {
                return None;
            }
            if stopped {
                return Some(true);
            }
        }
        Some(false)
    }

    /// Turns all dials through all their alternatives until `stop` says so.
    fn walk(&self, dials: &[Dial], from: &Situation, stop: &mut dyn FnMut(&Situation) -> bool) -> bool {
        let Some((dial, rest)) = dials.split_first() else { return stop(from) };
        dial.iter().any(|choices| {
            let mut situation = from.clone();
            for choice in choices {
                match choice.clone() {
                    Choice::Number(choice, value) => drop(situation.numbers.insert(choice, value)),
                    Choice::Fact(choice) => drop(situation.facts.insert(choice, true)),
                    Choice::Mode(choice, mode) => drop(situation.modes.insert(choice, mode)),
                    Choice::Position(device, position) => drop(situation.positions.insert(device, position)),
                }
            }
            self.walk(rest, &situation, stop)
        })
    }

    /// Quantities, conditions and modes.
    fn plant(&self) -> Vec<Dial> {
        let model = self.model;
        let own = self.mode.map(|mode| model.modes[mode].group);
        let mut dials: Vec<Dial> = Vec::new();
        for (id, group) in model.groups.iter() {
            let modes = group.modes.iter().filter(|mode| Some(id) != own || Some(**mode) == self.mode);
            dials.push(modes.map(|mode| vec![Choice::Mode(ModeChoice::Holds(id), *mode)]).collect());
        }
        dials.extend(model.conditions.ids().map(|id| either(FactChoice::Condition(id))));
        for (id, quantity) in model.quantities.iter() {
            let mut points = vec![quantity.range.low.clone(), quantity.range.high.clone()];
            let limits = model.hazards.iter().flat_map(|(_, hazard)| hazard.when.atoms());
            let couplings = model.couplings.iter().flat_map(|(_, coupling)| coupling.holds.atoms());
            for atom in limits.chain(couplings) {
                if let PlantAtom::Linear { sum, bound, .. } = atom
                    && let [(coefficient, quantity)] = sum.as_slice()
                    && *quantity == id
                {
                    points.extend(bound.checked_div(coefficient));
                }
            }
            for (input, sensor) in model.inputs.iter() {
                if let Observes::Quantity { quantity, accuracy, .. } = &sensor.observes
                    && *quantity == id
                {
                    points.extend(
                        self.comparisons(input).into_iter().flat_map(|(_, at)| around(&at, accuracy)),
                    );
                }
            }
            for (_, device) in model.passive.iter() {
                if let Some((ActsOn::Quantity { quantity, bound, accuracy, .. }, _)) = &device.acts
                    && *quantity == id
                {
                    points.extend(around(bound, accuracy));
                }
            }
            let normals = model.modes.iter().flat_map(|(_, mode)| &mode.normal);
            let normals = normals.filter_map(|normal| match normal {
                NormalIn::Range(quantity, range) if *quantity == id => Some(range),
                _ => None,
            });
            for normal in normals.chain(&quantity.normal) {
                points.extend([normal.low.clone(), normal.high.clone()]);
            }
            let points = with_midpoints(points, &quantity.range);
            let choose = |value| vec![Choice::Number(NumberChoice::Quantity(id), value)];
            dials.push(points.into_iter().map(choose).collect());
        }
        dials
    }

    /// Everything else that can make a difference once the plant is given.
    fn protection(&self, touched: &Touched<'_>, plant: &Situation) -> Vec<Dial> {
        let model = self.model;
        let mut dials: Vec<Dial> = Vec::new();
        let latched = model.causes.iter().filter(|(_, cause)| cause.latched);
        dials.extend(latched.map(|(id, _)| either(FactChoice::AlreadySet(id))));
        dials.extend(model.stops.ids().map(|id| either(FactChoice::Pressed(id))));
        dials.extend(touched.supplies().map(|id| either(FactChoice::Lost(id))));
        dials.extend(touched.contacts().map(|id| either(FactChoice::ContactClosed(id))));
        for id in model.inputs.ids() {
            dials.extend(self.error(id, plant));
            dials.extend(self.signal(touched, id));
        }
        for (id, device) in touched.overrides() {
            dials.extend(device.inputs.iter().map(|input| either(FactChoice::Overridden(id, *input))));
        }
        self.devices(touched, &mut dials);
        dials
    }

    /// Errors of a healthy sensor that lead to different comparisons.
    fn error(&self, id: InputId, plant: &Situation) -> Option<Dial> {
        let Observes::Quantity { quantity, range, accuracy, .. } = &self.model.inputs[id].observes else {
            return None;
        };
        let value = plant.number(self.model, NumberChoice::Quantity(*quantity));
        let mut told = BTreeSet::new();
        let mut dial = Dial::new();
        for error in [Exact::zero(), -accuracy, accuracy.clone()] {
            let reading = (&value + &error).max(range.low.clone()).min(range.high.clone());
            if told.insert(self.verdicts(id, &reading)) {
                dial.push(vec![Choice::Number(NumberChoice::Error(id), error)]);
            }
        }
        Some(dial)
    }

    /// What each solver may see of an input whose way is disturbed.
    fn signal(&self, touched: &Touched<'_>, id: InputId) -> Vec<Dial> {
        let mut dials = Vec::new();
        for (solver, path) in &self.model.inputs[id].readers {
            let way = touched.way(id, path);
            if !way.any() {
                continue;
            }
            let mut how: Vec<Vec<FactChoice>> = vec![vec![]];
            if way.deviates {
                how.push(vec![FactChoice::Deviates(id, *solver)]);
                how.push(vec![FactChoice::Deviates(id, *solver), FactChoice::Bad(id, *solver)]);
            }
            if way.line {
                how.push(vec![FactChoice::LineOpen(id, *solver)]);
                how.push(vec![FactChoice::LineHeld(id, *solver)]);
            }
            let shown: Vec<Vec<Choice>> = match &self.model.inputs[id].observes {
                Observes::Quantity { range, .. } => self
                    .readings(id, range)
                    .into_iter()
                    .map(|value| vec![Choice::Number(NumberChoice::Reading(id, *solver), value)])
                    .collect(),
                _ => either(FactChoice::Asserted(id, *solver)),
            };
            let pair = |facts: &Vec<FactChoice>, shown: &Vec<Choice>| {
                facts.iter().map(|fact| Choice::Fact(*fact)).chain(shown.iter().cloned()).collect()
            };
            dials.push(how.iter().flat_map(|facts| shown.iter().map(|shown| pair(facts, shown))).collect());
        }
        dials
    }

    /// Readings that lead to different comparisons.
    fn readings(&self, id: InputId, range: &Interval) -> Vec<Exact> {
        let points = self.comparisons(id).into_iter().map(|(_, at)| at);
        let points = with_midpoints(points.chain([range.low.clone(), range.high.clone()]).collect(), range);
        let mut told = BTreeSet::new();
        points.into_iter().filter(|value| told.insert(self.verdicts(id, value))).collect()
    }

    /// What every comparison of an input says of a reading.
    fn verdicts(&self, id: InputId, reading: &Exact) -> Vec<bool> {
        self.comparisons(id).iter().map(|(relation, at)| relation.holds(reading, at)).collect()
    }

    fn comparisons(&self, id: InputId) -> Vec<(Relation, Exact)> {
        let atoms = self.model.causes.iter().flat_map(|(_, cause)| cause.when.atoms());
        atoms
            .filter_map(|atom| match atom {
                InputAtom::Compare { input, relation, set_point, .. } if *input == id => {
                    Some((*relation, set_point.clone()))
                }
                _ => None,
            })
            .collect()
    }

    fn devices(&self, touched: &Touched<'_>, dials: &mut Vec<Dial>) {
        let model = self.model;
        for (id, driver) in model.drivers.iter() {
            match model.actuators[driver.actuator].without_energy {
                WithoutEnergy::Goes { .. } => dials.push(either(FactChoice::Gives(id))),
                WithoutEnergy::Stays => {
                    dials.extend((0..2).map(|position| either(FactChoice::Drives(id, position))));
                }
            }
        }
        for (id, actuator) in model.actuators.iter() {
            let device = Device::Actuator(id);
            let idle = actuator.drivers.is_empty() || actuator.without_energy == WithoutEnergy::Stays;
            if touched.device(device) {
                dials.push(either(FactChoice::DeviceDeviates(device)));
            }
            if touched.device(device) || idle {
                dials.push(positions(device, actuator.positions.len()));
            }
            if touched.line(&actuator.routes) {
                dials.push(either(FactChoice::ActuatorLineOpen(id)));
                dials.push(either(FactChoice::ActuatorLineHeld(id)));
                dials.push(either(FactChoice::Energised(id)));
            }
        }
        for (id, passive) in model.passive.iter() {
            let device = Device::Passive(id);
            if touched.device(device) {
                dials.push(either(FactChoice::DeviceDeviates(device)));
                dials.push(positions(device, passive.positions.len()));
            }
            if let Some((ActsOn::Quantity { accuracy, .. }, _)) = &passive.acts {
                let choose = |error| vec![Choice::Number(NumberChoice::Tolerance(id), error)];
                dials.push(vec![choose(-accuracy), choose(accuracy.clone())]);
            }
        }
    }

    /// Which sources, initiator group and damage group misbehave: all of the sources, at most one of each group.
    fn groups(&self, sources: &BTreeSet<Source>, with_initiators: bool) -> Dial {
        let hazard = &self.model.hazards[self.hazard];
        let is_damage = |source: &&Source| matches!(source, Source::Damage(..));
        let fact = |source: &Source| Choice::Fact(FactChoice::Misbehaves(*source));
        let always: Vec<Choice> = sources.iter().filter(|source| !is_damage(source)).map(fact).collect();
        let damages = sources.iter().filter(is_damage).map(|source| Some(fact(source)));
        let number = 0..if with_initiators { hazard.initiators.len() } else { 0 };
        let initiators: Vec<Option<Choice>> =
            number.map(|n| Some(Choice::Fact(FactChoice::Initiator(self.hazard, n)))).chain([None]).collect();
        let mut dial = Dial::new();
        for damage in damages.chain([None]) {
            for initiator in &initiators {
                dial.push(always.iter().cloned().chain(damage.clone()).chain(initiator.clone()).collect());
            }
        }
        dial
    }
}

fn either(fact: FactChoice) -> Dial {
    vec![vec![], vec![Choice::Fact(fact)]]
}

fn positions(device: Device, number: usize) -> Dial {
    (0..number).map(|position| vec![Choice::Position(device, position)]).collect()
}

fn around(at: &Exact, accuracy: &Exact) -> [Exact; 3] {
    [at - accuracy, at.clone(), at + accuracy]
}

/// The points within the range, and one point between each two neighbours.
fn with_midpoints(mut points: Vec<Exact>, range: &Interval) -> Vec<Exact> {
    points.retain(|point| *point >= range.low && *point <= range.high);
    points.sort();
    points.dedup();
    let two = Exact::int(2);
    let between = points.windows(2).filter_map(|pair| (&pair[0] + &pair[1]).checked_div(&two));
    let between: Vec<Exact> = between.collect();
    points.extend(between);
    points.sort();
    points
}
