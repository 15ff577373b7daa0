//! States of the plant that can make a difference: one for each region between the cut points of every quantity, and
//! every cut point itself (limits, set points, both with the accuracy either way, ends of ranges).

use std::collections::BTreeSet;

use tripproof::exact::Exact;
use tripproof::model::{
    ActsOn, InputAtom, InputId, Interval, ModeId, Model, NormalIn, Observes, PassiveId, PlantAtom,
    QuantityId, Relation, Tree,
};
use tripproof::situation::{FactChoice, ModeChoice, NumberChoice, Situation};

use super::reach::Reach;

/// One state of the plant, with what sensors and passive devices may make of it.
#[derive(Clone, Default)]
pub struct Plant {
    /// Its quantities, conditions and modes.
    pub situation: Situation,
    /// Errors of each sensor that lead to different comparisons.
    pub errors: Vec<(InputId, Vec<Exact>)>,
    /// What a healthy sensor may show.
    pub truths: Vec<(InputId, Vec<Exact>)>,
    /// Errors of each passive device that make a difference.
    pub tolerances: Vec<(PassiveId, Vec<Exact>)>,
}

/// One value of a quantity, with the same.
#[derive(Clone)]
struct Point {
    value: Exact,
    errors: Vec<(InputId, Vec<Exact>)>,
    truths: Vec<(InputId, Vec<Exact>)>,
    tolerances: Vec<(PassiveId, Vec<Exact>)>,
}

/// What decides whether two values of a quantity are alike.
type Alike = (Vec<bool>, Vec<BTreeSet<Vec<bool>>>, Vec<BTreeSet<bool>>);

/// The comparisons of an input that a breach depends on, with those that a deadband adds.
pub fn comparisons(model: &Model, reach: &Reach<'_>, id: InputId) -> Vec<(Relation, Exact)> {
    let deadband = match &model.inputs[id].observes {
        Observes::Quantity { deadband, .. } => deadband.clone(),
        _ => Exact::zero(),
    };
    let mut found = Vec::new();
    for atom in reach.causes.iter().flat_map(|cause| model.causes[*cause].when.atoms()) {
        let InputAtom::Compare { input, relation, set_point, .. } = atom else { continue };
        if *input != id {
            continue;
        }
        found.push((*relation, set_point.clone()));
        // A failure in one direction may leave one side of it only.
        if matches!(relation, Relation::Equal | Relation::Differs) {
            found.extend([Relation::Below, Relation::Above].map(|side| (side, set_point.clone())));
        }
        if !deadband.is_zero() {
            found.push((*relation, set_point - &deadband));
            found.push((*relation, set_point + &deadband));
        }
    }
    found
}

/// What every comparison says of a reading.
pub fn verdicts(comparisons: &[(Relation, Exact)], reading: &Exact) -> Vec<bool> {
    comparisons.iter().map(|(relation, at)| relation.holds(reading, at)).collect()
}

/// Readings of a range that lead to different comparisons.
pub fn readings(comparisons: &[(Relation, Exact)], range: &Interval) -> Vec<Exact> {
    let mut points: Vec<Exact> = comparisons.iter().map(|(_, at)| at.clone()).collect();
    points.extend([range.low.clone(), range.high.clone()]);
    let mut told = BTreeSet::new();
    let points = with_points_between(points, range, &[(1, 2)]);
    points.into_iter().filter(|value| told.insert(verdicts(comparisons, value))).collect()
}

/// The points within the range, and points between each two neighbours, at these parts of the way.
fn with_points_between(mut points: Vec<Exact>, range: &Interval, parts: &[(i64, i64)]) -> Vec<Exact> {
    points.retain(|point| *point >= range.low && *point <= range.high);
    points.sort();
    points.dedup();
    let mut all = points.clone();
    for pair in points.windows(2) {
        for (part, of) in parts {
            let step = (&(&pair[1] - &pair[0]) * &Exact::int(*part)).checked_div(&Exact::int(*of)).unwrap();
            all.push(&pair[0] + &step);
        }
    }
    all.sort();
    all
}

/// States of the plant for a question.
pub struct Plants<'r, 'm> {
    model: &'m Model,
    reach: &'r Reach<'m>,
    /// The mode that holds in its group, if it is fixed.
    mode: Option<ModeId>,
    /// Whether values that are alike are all kept.
    thorough: bool,
}

impl<'r, 'm> Plants<'r, 'm> {
    /// States of the plant that can make a difference to what is reached.
    pub fn new(model: &'m Model, reach: &'r Reach<'m>, mode: Option<ModeId>, thorough: bool) -> Self {
        Plants { model, reach, mode, thorough }
    }

    /// All of them.
    pub fn all(&self) -> Vec<Plant> {
        let mut plants = vec![Plant::default()];
        for group in self.groups() {
            plants = product(&plants, &group.1, |plant, mode| {
                plant.situation.modes.insert(ModeChoice::Holds(group.0), *mode);
            });
        }
        for condition in &self.reach.conditions {
            plants = product(&plants, &[false, true], |plant, value| {
                plant.situation.facts.insert(FactChoice::Condition(*condition), *value);
            });
        }
        for quantity in &self.reach.quantities {
            plants = product(&plants, &self.points(*quantity), |plant, point| {
                plant.situation.numbers.insert(NumberChoice::Quantity(*quantity), point.value.clone());
                plant.errors.extend(point.errors.iter().cloned());
                plant.truths.extend(point.truths.iter().cloned());
                plant.tolerances.extend(point.tolerances.iter().cloned());
            });
        }
        plants.retain(|plant| {
            self.model.couplings.iter().all(|(_, coupling)| self.holds(&coupling.holds, &plant.situation))
        });
        plants
    }

    fn groups(&self) -> Vec<(tripproof::model::GroupId, Vec<ModeId>)> {
        let fixed = self.mode.map(|mode| (self.model.modes[mode].group, mode));
        let mut found = Vec::new();
        for (id, group) in self.model.groups.iter() {
            match fixed {
                Some((own, mode)) if own == id => found.push((id, vec![mode])),
                _ if self.reach.groups.contains(&id) => found.push((id, group.modes.clone())),
                _ => {}
            }
        }
        found
    }

    fn holds(&self, tree: &Tree<PlantAtom>, situation: &Situation) -> bool {
        match tree {
            Tree::Atom(atom) => self.atom(atom, situation),
            Tree::And(parts) => parts.iter().all(|part| self.holds(part, situation)),
            Tree::Or(parts) => parts.iter().any(|part| self.holds(part, situation)),
            Tree::Not(part) => !self.holds(part, situation),
            Tree::Vote { m, of } => of.iter().filter(|part| self.holds(part, situation)).count() >= *m,
        }
    }

    fn atom(&self, atom: &PlantAtom, situation: &Situation) -> bool {
        match atom {
            PlantAtom::Linear { sum, relation, bound } => {
                let mut total = Exact::zero();
                for (coefficient, quantity) in sum {
                    let value = situation.number(self.model, NumberChoice::Quantity(*quantity));
                    total = &total + &(coefficient * &value);
                }
                relation.holds(&total, bound)
            }
            PlantAtom::Condition(id) => situation.fact(FactChoice::Condition(*id)),
            PlantAtom::Mode(mode) => {
                let group = self.model.modes[*mode].group;
                situation.mode(self.model, ModeChoice::Holds(group)) == Some(*mode)
            }
        }
    }

    /// Atoms of the hazards that are asked for, and of all couplings.
    fn atoms(&self) -> Vec<&'m PlantAtom> {
        let hazards = self.reach.hazards.iter().flat_map(|id| self.model.hazards[*id].when.atoms());
        let couplings = self.model.couplings.iter().flat_map(|(_, coupling)| coupling.holds.atoms());
        hazards.chain(couplings).collect()
    }

    /// Sums over several quantities.
    fn sums(&self) -> Vec<(&'m [(Exact, QuantityId)], &'m Exact)> {
        let several = |atom: &'m PlantAtom| match atom {
            PlantAtom::Linear { sum, bound, .. } if sum.len() > 1 => Some((sum.as_slice(), bound)),
            _ => None,
        };
        self.atoms().into_iter().filter_map(several).collect()
    }

    /// The comparisons of one quantity with a number.
    fn limits(&self, id: QuantityId) -> Vec<(Exact, Relation, Exact)> {
        let single = |atom: &PlantAtom| match atom {
            PlantAtom::Linear { sum, relation, bound } => match sum.as_slice() {
                [(coefficient, quantity)] if *quantity == id => {
                    Some((coefficient.clone(), *relation, bound.clone()))
                }
                _ => None,
            },
            _ => None,
        };
        self.atoms().into_iter().filter_map(single).collect()
    }

    fn sensors(&self, id: QuantityId) -> BTreeSet<InputId> {
        let measures = |input: &InputId| match &self.model.inputs[*input].observes {
            Observes::Quantity { quantity, .. } => *quantity == id,
            _ => false,
        };
        self.reach.inputs.iter().map(|(input, _)| *input).filter(measures).collect()
    }

    fn passive(&self, id: QuantityId) -> Vec<(PassiveId, Relation, &'m Exact, &'m Exact)> {
        let acts = |passive: &PassiveId| match &self.model.passive[*passive].acts {
            Some((ActsOn::Quantity { quantity, relation, bound, accuracy }, _)) if *quantity == id => {
                Some((*passive, *relation, bound, accuracy))
            }
            _ => None,
        };
        self.reach.passive.iter().filter_map(acts).collect()
    }

    fn normals(&self, id: QuantityId) -> Vec<&'m Interval> {
        if !self.reach.normal {
            return Vec::new();
        }
        let said = self.model.modes.iter().flat_map(|(_, mode)| &mode.normal);
        let said = said.filter_map(|normal| match normal {
            NormalIn::Range(quantity, range) if *quantity == id => Some(range),
            _ => None,
        });
        said.chain(&self.model.quantities[id].normal).collect()
    }

    /// Values at which something changes.
    fn cut_points(&self, id: QuantityId) -> Vec<Exact> {
        let range = &self.model.quantities[id].range;
        let mut points = vec![range.low.clone(), range.high.clone()];
        points.extend(self.limits(id).iter().filter_map(|(factor, _, bound)| bound.checked_div(factor)));
        for input in self.sensors(id) {
            let Observes::Quantity { accuracy, .. } = &self.model.inputs[input].observes else { continue };
            for (_, at) in comparisons(self.model, self.reach, input) {
                points.extend([&at - accuracy, at.clone(), &at + accuracy]);
            }
        }
        for (_, _, bound, accuracy) in self.passive(id) {
            points.extend([bound - accuracy, bound.clone(), bound + accuracy]);
        }
        for normal in self.normals(id) {
            points.extend([normal.low.clone(), normal.high.clone()]);
        }
        points
    }

    /// Where a sum over two quantities crosses a cut point of the other one. Twice, since those are cut points too.
    fn crossings(&self, id: QuantityId, depth: usize) -> Vec<Exact> {
        let mut points = self.cut_points(id);
        for (sum, bound) in self.sums() {
            let [(a, one), (b, other)] = sum else {
                assert!(sum.len() < 3, "no more than two quantities in a sum");
                continue;
            };
            let (own, factor, partner) = match (*one == id, *other == id) {
                (true, _) => (a, b, *other),
                (_, true) => (b, a, *one),
                _ => continue,
            };
            let partners = match depth {
                0 => continue,
                _ => self.crossings(partner, depth - 1),
            };
            points.extend(partners.iter().filter_map(|at| (bound - &(factor * at)).checked_div(own)));
        }
        points.sort();
        points.dedup();
        points
    }

    fn points(&self, id: QuantityId) -> Vec<Point> {
        let range = &self.model.quantities[id].range;
        let tied = self.sums().iter().any(|(sum, _)| sum.iter().any(|(_, other)| *other == id));
        let values = match tied {
            // A line crosses a field between cut points from corner to corner: one point on it, one on either side.
            true => with_points_between(self.crossings(id, 2), range, &[(1, 3), (2, 3)]),
            false => with_points_between(self.cut_points(id), range, &[(1, 2)]),
        };
        let about = About {
            limits: self.limits(id),
            sensors: self
                .sensors(id)
                .into_iter()
                .map(|at| (at, comparisons(self.model, self.reach, at)))
                .collect(),
            passive: self.passive(id),
            normals: self.normals(id),
        };
        let mut seen: BTreeSet<Alike> = BTreeSet::new();
        let mut points = Vec::new();
        for value in values {
            let (point, alike) = about.point(self.model, value);
            if seen.insert(alike) || tied || self.thorough {
                points.push(point);
            }
        }
        points
    }
}

/// What asks about one quantity.
struct About<'m> {
    limits: Vec<(Exact, Relation, Exact)>,
    sensors: Vec<(InputId, Vec<(Relation, Exact)>)>,
    passive: Vec<(PassiveId, Relation, &'m Exact, &'m Exact)>,
    normals: Vec<&'m Interval>,
}

impl About<'_> {
    fn point(&self, model: &Model, value: Exact) -> (Point, Alike) {
        let mut point =
            Point { value: value.clone(), errors: Vec::new(), truths: Vec::new(), tolerances: Vec::new() };
        let limits =
            self.limits.iter().map(|(factor, relation, bound)| relation.holds(&(factor * &value), bound));
        let normals = self.normals.iter().map(|range| value >= range.low && value <= range.high);
        let mut alike: Alike = (limits.chain(normals).collect(), Vec::new(), Vec::new());
        for (input, comparisons) in &self.sensors {
            let Observes::Quantity { range, accuracy, .. } = &model.inputs[*input].observes else { continue };
            let mut told = BTreeSet::new();
            let (mut errors, mut truths) = (Vec::new(), Vec::new());
            for error in errors_at(&value, accuracy, comparisons) {
                let reading = (&value + &error).max(range.low.clone()).min(range.high.clone());
                if told.insert(verdicts(comparisons, &reading)) {
                    errors.push(error);
                    truths.push(reading);
                }
            }
            alike.1.push(told);
            point.errors.push((*input, errors));
            point.truths.push((*input, truths));
        }
        for (passive, relation, bound, accuracy) in &self.passive {
            let mut told = BTreeSet::new();
            let each = [Exact::zero(), -*accuracy, (*accuracy).clone()];
            let differing =
                each.into_iter().filter(|error| told.insert(relation.holds(&(&value + error), bound)));
            point.tolerances.push((*passive, differing.collect()));
            alike.2.push(told);
        }
        (point, alike)
    }
}

/// Errors that put the reading at and between the set points within reach; none, if that makes no difference, first.
fn errors_at(value: &Exact, accuracy: &Exact, comparisons: &[(Relation, Exact)]) -> Vec<Exact> {
    let reach = Interval { low: -accuracy, high: accuracy.clone() };
    let mut errors: Vec<Exact> = comparisons.iter().map(|(_, at)| at - value).collect();
    errors.extend([reach.low.clone(), Exact::zero(), reach.high.clone()]);
    let mut all = vec![Exact::zero()];
    all.extend(with_points_between(errors, &reach, &[(1, 2)]));
    all
}

fn product<T>(plants: &[Plant], values: &[T], put: impl Fn(&mut Plant, &T)) -> Vec<Plant> {
    let mut all = Vec::with_capacity(plants.len() * values.len());
    for plant in plants {
        for value in values {
            let mut next = plant.clone();
            put(&mut next, value);
            all.push(next);
        }
    }
    all
}
