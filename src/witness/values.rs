//! The numbers of the canonical witness: errors, quantities and readings, each at a value worth telling.

use std::collections::{BTreeMap, BTreeSet};

use super::{Choosing, Wish};
use crate::analysis::Stop;
use crate::exact::Exact;
use crate::model::{ActsOn, InputAtom, InputId, Observes, PlantAtom, QuantityId, Relation, Tree};
use crate::situation::NumberChoice;

impl Choosing<'_, '_, '_> {
    /// Fixes a number at the first candidate that is possible, else at the value that the engine found.
    fn fix(&mut self, number: NumberChoice, candidates: &[Exact]) -> Result<(), Stop> {
        let one = [(Exact::int(1), number)];
        for candidate in candidates {
            let equal = self.case.encoding.terms.compare(&one, Relation::Equal, candidate);
            if self.case.question.number(number)? == *candidate {
                // It stands there already: nothing to ask.
                self.given.push(equal);
                return Ok(());
            }
            if self.look(Some(equal))? {
                return Ok(());
            }
        }
        let value = self.case.question.number(number)?;
        let equal = self.case.encoding.terms.compare(&one, Relation::Equal, &value);
        self.look(Some(equal))?;
        Ok(())
    }

    pub(super) fn errors(&mut self) -> Result<(), Stop> {
        let numbers = self.mentioned.numbers.iter();
        let errors = numbers.filter(|n| matches!(n, NumberChoice::Error(_) | NumberChoice::Tolerance(_)));
        let none: Vec<Wish> = errors.map(|number| Wish::At(*number, Exact::zero())).collect();
        if self.all(&none, false)? {
            return Ok(());
        }
        for number in self.mentioned.numbers.clone() {
            let accuracy = match number {
                NumberChoice::Error(input) => match &self.model.inputs[input].observes {
                    Observes::Quantity { accuracy, .. } => accuracy.clone(),
                    _ => continue,
                },
                NumberChoice::Tolerance(passive) => match &self.model.passive[passive].acts {
                    Some((ActsOn::Quantity { accuracy, .. }, _)) => accuracy.clone(),
                    _ => continue,
                },
                NumberChoice::Quantity(_) | NumberChoice::Reading(..) => continue,
            };
            self.fix(number, &[Exact::zero(), -&accuracy, accuracy])?;
        }
        Ok(())
    }

    pub(super) fn quantities(&mut self) -> Result<(), Stop> {
        // Those that the predicate speaks of first: they are what the story is about.
        let about = self.predicate_quantities();
        let (first, then): (Vec<_>, Vec<_>) =
            self.quantities_mentioned().into_iter().partition(|quantity| about.contains(quantity));
        let mut fixed: BTreeMap<QuantityId, Exact> = BTreeMap::new();
        let order: Vec<QuantityId> = first.into_iter().chain(then).collect();
        self.fix_each(&order, &about, &mut fixed)
    }

    /// Fixes these one after the other, each at the first of its candidates that is possible. Mostly each can have its first
    /// one, so that is asked of all together, and only where it fails of halves: the values are the same.
    fn fix_each(
        &mut self,
        order: &[QuantityId],
        about: &BTreeSet<QuantityId>,
        fixed: &mut BTreeMap<QuantityId, Exact>,
    ) -> Result<(), Stop> {
        if order.is_empty() {
            return Ok(());
        }
        if let [quantity] = order {
            let candidates = self.quantity_candidates(*quantity, about.contains(quantity), fixed)?;
            self.fix(NumberChoice::Quantity(*quantity), &candidates)?;
            fixed.insert(*quantity, self.case.question.number(NumberChoice::Quantity(*quantity))?);
            return Ok(());
        }
        // What is a candidate depends on the values before it, here on the first ones of all.
        let mut supposed = fixed.clone();
        let mut wishes = Vec::new();
        for quantity in order {
            let candidates = self.quantity_candidates(*quantity, about.contains(quantity), &supposed)?;
            let Some(candidate) = candidates.into_iter().next() else { continue };
            supposed.insert(*quantity, candidate.clone());
            wishes.push(Wish::At(NumberChoice::Quantity(*quantity), candidate));
        }
        let terms: Vec<_> = wishes.iter().map(|wish| wish.term(&mut self.case.encoding.terms)).collect();
        let together = self.case.encoding.terms.and(terms);
        if wishes.len() == order.len() {
            match self.look(Some(together)) {
                Ok(true) => {
                    *fixed = supposed;
                    return Ok(());
                }
                // One by one it may be easier.
                Ok(false) | Err(Stop::Undecided(_)) => {}
                Err(stop) => return Err(stop),
            }
        }
        let (first, second) = order.split_at(order.len() / 2);
        self.fix_each(first, about, fixed)?;
        self.fix_each(second, about, fixed)
    }

    fn predicate_quantities(&self) -> BTreeSet<QuantityId> {
        let Some(hazard) = self.claim.breach.hazard() else { return BTreeSet::new() };
        self.model.hazards[hazard]
            .when
            .atoms()
            .into_iter()
            .flat_map(|atom| match atom {
                PlantAtom::Linear { sum, .. } => sum.iter().map(|(_, quantity)| *quantity).collect(),
                PlantAtom::Condition(_) | PlantAtom::Mode(_) => Vec::new(),
            })
            .collect()
    }

    /// Values worth telling, nearest the deciding threshold first.
    fn quantity_candidates(
        &self,
        quantity: QuantityId,
        in_predicate: bool,
        fixed: &BTreeMap<QuantityId, Exact>,
    ) -> Result<Vec<Exact>, Stop> {
        let element = &self.model.quantities[quantity];
        let limits = self
            .claim
            .breach
            .hazard()
            .map(|hazard| bounds_on(&self.model.hazards[hazard].when, quantity, fixed))
            .unwrap_or_default();
        let couplings: Vec<Exact> = self
            .model
            .couplings
            .iter()
            .flat_map(|(_, coupling)| bounds_on(&coupling.holds, quantity, fixed))
            .collect();
        let set_points = self.set_points_of(quantity);
        let normal = self.normal_range(quantity)?;
        let deciding = match in_predicate {
            true => limits.first().cloned(),
            false => normal.as_ref().map(|(_, high)| high.clone()).or_else(|| set_points.first().cloned()),
        };
        let deciding =
            deciding.or_else(|| couplings.first().cloned()).unwrap_or_else(|| element.range.low.clone());
        let mut marks = vec![deciding.clone(), element.range.low.clone(), element.range.high.clone()];
        marks.extend(limits);
        marks.extend(couplings);
        marks.extend(set_points);
        marks.extend(normal.into_iter().flat_map(|(low, high)| [low, high]));
        Ok(around(&marks, &element.resolution, &deciding))
    }

    /// Set points of sensors and passive devices on a quantity, with their accuracy on either side, ascending.
    fn set_points_of(&self, quantity: QuantityId) -> Vec<Exact> {
        let mut found = BTreeSet::new();
        let mut add = |value: &Exact, accuracy: &Exact| {
            found.extend([value.clone(), value - accuracy, value + accuracy]);
        };
        for (_, cause) in self.model.causes.iter() {
            for atom in cause.when.atoms() {
                if let InputAtom::Compare { input, set_point, .. } = atom
                    && let Observes::Quantity { quantity: q, accuracy, .. } =
                        &self.model.inputs[*input].observes
                    && *q == quantity
                {
                    add(set_point, accuracy);
                }
            }
        }
        for (_, passive) in self.model.passive.iter() {
            if let Some((ActsOn::Quantity { quantity: q, bound, accuracy, .. }, _)) = &passive.acts
                && *q == quantity
            {
                add(bound, accuracy);
            }
        }
        found.into_iter().collect()
    }

    pub(super) fn readings(&mut self) -> Result<(), Stop> {
        // A faulty sensor mostly shows one value: the same to all its readers, where there is such a value.
        let mut readers: BTreeMap<InputId, Vec<NumberChoice>> = BTreeMap::new();
        for number in &self.mentioned.numbers {
            if let NumberChoice::Reading(input, _) = number {
                readers.entry(*input).or_default().push(*number);
            }
        }
        for (input, numbers) in readers.into_iter().filter(|(_, numbers)| numbers.len() > 1) {
            for candidate in self.reading_candidates(input) {
                let all: Vec<_> = numbers.iter().map(|number| (*number, candidate.clone())).collect();
                let terms = all.into_iter().map(|(number, value)| {
                    self.case.encoding.terms.compare(&[(Exact::int(1), number)], Relation::Equal, &value)
                });
                let terms: Vec<_> = terms.collect();
                let same = self.case.encoding.terms.and(terms);
                if self.look(Some(same))? {
                    break;
                }
            }
        }
        let mut seen: BTreeMap<InputId, Exact> = BTreeMap::new();
        for number in self.mentioned.numbers.clone() {
            let NumberChoice::Reading(input, _) = number else { continue };
            let mut candidates: Vec<Exact> = seen.get(&input).cloned().into_iter().collect();
            candidates.extend(self.reading_candidates(input));
            self.fix(number, &candidates)?;
            seen.insert(input, self.case.question.number(number)?);
        }
        Ok(())
    }

    fn reading_candidates(&self, input: InputId) -> Vec<Exact> {
        let Observes::Quantity { quantity, range, .. } = &self.model.inputs[input].observes else {
            return Vec::new();
        };
        let mut set_points: Vec<Exact> = self
            .model
            .causes
            .iter()
            .flat_map(|(_, cause)| cause.when.atoms())
            .filter_map(|atom| match atom {
                InputAtom::Compare { input: i, set_point, .. } if *i == input => Some(set_point.clone()),
                _ => None,
            })
            .collect();
        set_points.sort();
        let deciding = set_points.first().cloned().unwrap_or_else(|| range.low.clone());
        set_points.extend([range.low.clone(), range.high.clone()]);
        around(&set_points, &self.model.quantities[*quantity].resolution, &deciding)
    }
}

/// Where the linear atoms of a combination bound a quantity, once all others in the atom are fixed.
fn bounds_on(
    tree: &Tree<PlantAtom>,
    quantity: QuantityId,
    fixed: &BTreeMap<QuantityId, Exact>,
) -> Vec<Exact> {
    let mut found = Vec::new();
    for atom in tree.atoms() {
        let PlantAtom::Linear { sum, bound, .. } = atom else { continue };
        let mut rest = bound.clone();
        let mut coefficient = None;
        let mut known = true;
        for (c, q) in sum {
            match fixed.get(q) {
                _ if *q == quantity => coefficient = Some(c),
                Some(value) => rest = &rest - &(c * value),
                None => known = false,
            }
        }
        if let (Some(coefficient), true) = (coefficient, known) {
            found.extend(rest.checked_div(coefficient));
        }
    }
    found
}

/// Marks and their neighbours at one resolution step, nearest the deciding value first, lower first among equals.
fn around(marks: &[Exact], resolution: &Exact, deciding: &Exact) -> Vec<Exact> {
    let mut all = BTreeSet::new();
    for mark in marks {
        all.extend([mark.clone(), mark - resolution, mark + resolution]);
    }
    let mut all: Vec<Exact> = all.into_iter().collect();
    all.sort_by_key(|value| ((value - deciding).abs(), value.clone()));
    all
}
