//! The canonical witness: of all situations that break a claim, the one that is told.
//!
//! Order of preference (section 6 of the semantics): fewest faults (chosen by the caller), fewest overrides, fewest
//! latches that are still set from before (what is seen now is easier to follow), fewest quantities and conditions away
//! from normal, modes in which some hazard exists, readings without error, then values nearest the deciding threshold at
//! the declared resolution, then tag order, with every other choice at its plainest. Each preference is asked of the
//! engine, so that another version of the solver finds the same situation.

mod normal;

use std::collections::{BTreeMap, BTreeSet};

use crate::analysis::{Case, Stop};
use crate::claim::Claim;
use crate::engine::Question;
use crate::exact::Exact;
use crate::model::{
    ActsOn, ConditionId, Device, GroupId, InputAtom, InputId, ModeId, Model, Observes, PlantAtom, QuantityId,
    Relation, Tree,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice, Situation};
use crate::term::{Term, TermId, Terms, Var};

/// Picks the canonical situation in which `what` and all of `given` hold. `Ok(None)` if there is none.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn canonical(
    model: &Model,
    claim: &Claim,
    case: &mut Case<'_>,
    what: TermId,
    given: &[TermId],
) -> Result<Option<Situation>, Stop> {
    let mut given = given.to_vec();
    given.push(what);
    let mut choice = Choosing::new(model, claim, case, given);
    choice.groups_of_normals();
    if !choice.look(None)? {
        return Ok(None);
    }
    choice.fewest(|fact| matches!(fact, FactChoice::Overridden(..)))?;
    choice.fewest(|fact| matches!(fact, FactChoice::AlreadySet(_)))?;
    choice.nearest_to_normal()?;
    choice.modes()?;
    choice.conditions()?;
    choice.errors()?;
    choice.quantities()?;
    choice.facts()?;
    choice.readings()?;
    choice.positions()?;
    choice.situation().map(Some)
}

/// Any situation in which `what` and all of `given` hold, as the engine gives it: for what only has to be confirmed.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn any(
    model: &Model,
    claim: &Claim,
    case: &mut Case<'_>,
    what: TermId,
    given: &[TermId],
) -> Result<Option<Situation>, Stop> {
    let mut given = given.to_vec();
    given.push(what);
    let mut choice = Choosing::new(model, claim, case, given);
    if choice.look(None)? { choice.situation().map(Some) } else { Ok(None) }
}

/// The choices that the terms of a case mention.
#[derive(Debug, Clone, Default)]
pub struct Mentioned {
    facts: BTreeSet<FactChoice>,
    modes: BTreeSet<ModeChoice>,
    devices: BTreeSet<Device>,
    numbers: BTreeSet<NumberChoice>,
}

impl Mentioned {
    /// What these terms mention.
    pub fn of(terms: &Terms) -> Mentioned {
        let mut mentioned = Mentioned::default();
        for term in terms.all() {
            match term {
                Term::Var(Var::Fact(choice)) => {
                    mentioned.facts.insert(*choice);
                }
                Term::Var(Var::ModeIs(choice, _)) => {
                    mentioned.modes.insert(*choice);
                }
                Term::Var(Var::PositionIs(device, _)) => {
                    mentioned.devices.insert(*device);
                }
                Term::Linear(linear) => {
                    mentioned.numbers.extend(linear.sum.iter().map(|(_, number)| *number))
                }
                Term::Var(Var::OverridesPermitted)
                | Term::Constant(_)
                | Term::Not(_)
                | Term::And(_)
                | Term::Or(_)
                | Term::AtLeast(..) => {}
            }
        }
        mentioned
    }

    /// The situation that the question keeps, every choice that is mentioned.
    ///
    /// # Errors
    /// [`Stop`] if it keeps none.
    pub fn situation(
        &self,
        model: &Model,
        modes: &[ModeId],
        question: &dyn Question,
    ) -> Result<Situation, Stop> {
        let mut situation = Situation::default();
        for mode in modes {
            situation.modes.insert(ModeChoice::Holds(model.modes[*mode].group), *mode);
        }
        for number in &self.numbers {
            situation.numbers.insert(*number, question.number(*number)?);
        }
        for choice in &self.facts {
            situation.facts.insert(*choice, question.truth(Var::Fact(*choice))?);
        }
        for choice in &self.modes {
            for mode in modes_of(model, *choice) {
                if question.truth(Var::ModeIs(*choice, mode))? {
                    situation.modes.insert(*choice, mode);
                }
            }
        }
        for device in &self.devices {
            for position in 0..model.device_positions(*device).len() {
                if question.truth(Var::PositionIs(*device, position))? {
                    situation.positions.insert(*device, position);
                }
            }
        }
        Ok(situation)
    }
}

struct Choosing<'c, 'e, 'm> {
    model: &'m Model,
    claim: &'c Claim,
    case: &'c mut Case<'e>,
    given: Vec<TermId>,
    mentioned: Mentioned,
}

impl<'c, 'e, 'm> Choosing<'c, 'e, 'm> {
    fn new(model: &'m Model, claim: &'c Claim, case: &'c mut Case<'e>, given: Vec<TermId>) -> Self {
        let mentioned = Mentioned::of(&case.encoding.terms);
        Choosing { model, claim, case, given, mentioned }
    }

    /// Asks whether the wish can hold too; if so, keeps it and reads the situation found.
    fn look(&mut self, wish: Option<TermId>) -> Result<bool, Stop> {
        let what = wish.unwrap_or_else(|| self.case.encoding.terms.yes());
        if what == self.case.encoding.terms.no() || !self.case.possible(what, &self.given)? {
            return Ok(false);
        }
        if let Some(wish) = wish {
            self.given.push(wish);
        }
        self.case.question.keep()?;
        Ok(true)
    }

    /// Makes a variable have a value if it can; without asking, where the situation at hand has it already.
    fn prefer(&mut self, var: Var, value: bool) -> Result<bool, Stop> {
        let term = self.case.encoding.terms.var(var);
        let wish = if value { term } else { self.case.encoding.terms.not(term) };
        if self.case.question.truth(var)? == value {
            self.given.push(wish);
            return Ok(true);
        }
        self.look(Some(wish))
    }

    /// Makes the number of true terms as small as it can be.
    fn fewest_of(&mut self, terms: &[TermId]) -> Result<(), Stop> {
        for most in 0..terms.len() {
            let more = self.case.encoding.terms.at_least(most + 1, terms.iter().copied());
            let few = self.case.encoding.terms.not(more);
            if self.look(Some(few))? {
                return Ok(());
            }
        }
        Ok(())
    }

    /// Makes as few facts of a kind true as can be.
    fn fewest(&mut self, kind: impl Fn(&FactChoice) -> bool) -> Result<(), Stop> {
        let facts: Vec<FactChoice> =
            self.mentioned.facts.iter().copied().filter(|choice| kind(choice)).collect();
        let mut any = false;
        for fact in &facts {
            any |= self.case.question.truth(Var::Fact(*fact))?;
        }
        if !any {
            // None as it is: nothing to ask.
            self.all_false(&facts, false)?;
            return Ok(());
        }
        let terms: Vec<TermId> =
            facts.into_iter().map(|choice| self.case.encoding.terms.fact(choice)).collect();
        self.fewest_of(&terms)
    }

    fn quantities_mentioned(&self) -> Vec<QuantityId> {
        let mut found: Vec<QuantityId> = self
            .mentioned
            .numbers
            .iter()
            .filter_map(|number| match number {
                NumberChoice::Quantity(quantity) => Some(*quantity),
                NumberChoice::Error(_) | NumberChoice::Tolerance(_) | NumberChoice::Reading(..) => None,
            })
            .collect();
        found.sort_by(|a, b| self.model.quantities[*a].name.tag.cmp(&self.model.quantities[*b].name.tag));
        found
    }

    fn conditions_mentioned(&self) -> Vec<ConditionId> {
        let mut found: Vec<ConditionId> = self
            .mentioned
            .facts
            .iter()
            .filter_map(|choice| match choice {
                FactChoice::Condition(condition) => Some(*condition),
                _ => None,
            })
            .collect();
        found.sort_by(|a, b| self.model.conditions[*a].name.tag.cmp(&self.model.conditions[*b].name.tag));
        found
    }

    fn nearest_to_normal(&mut self) -> Result<(), Stop> {
        let mut away = Vec::new();
        for quantity in self.quantities_mentioned() {
            away.push(self.quantity_away(quantity));
        }
        for condition in self.conditions_mentioned() {
            away.push(self.condition_away(condition));
        }
        let no = self.case.encoding.terms.no();
        away.retain(|term| *term != no);
        self.fewest_of(&away)
    }

    fn modes(&mut self) -> Result<(), Stop> {
        for choice in self.mentioned.modes.clone() {
            for mode in modes_to_tell(self.model, choice) {
                if self.prefer(Var::ModeIs(choice, mode), true)? {
                    break;
                }
            }
        }
        Ok(())
    }

    fn conditions(&mut self) -> Result<(), Stop> {
        for condition in self.conditions_mentioned() {
            let normal = self.normal_value(condition)?;
            if !self.prefer(Var::Fact(FactChoice::Condition(condition)), normal)? {
                self.prefer(Var::Fact(FactChoice::Condition(condition)), !normal)?;
            }
        }
        Ok(())
    }

    fn facts(&mut self) -> Result<(), Stop> {
        let others = |choice: &&FactChoice| !matches!(choice, FactChoice::Condition(_));
        let facts: Vec<FactChoice> = self.mentioned.facts.iter().filter(others).copied().collect();
        self.all_false(&facts, false)?;
        Ok(())
    }

    /// Makes each fact false if it can be, in order: the earlier comes first where not all can. Asked in halves, since
    /// most can be false together. `some_must_hold`: it is known that they cannot all be false. Returns whether all are.
    fn all_false(&mut self, facts: &[FactChoice], some_must_hold: bool) -> Result<bool, Stop> {
        let mut wishes = Vec::new();
        let mut already = true;
        for fact in facts {
            already &= !self.case.question.truth(Var::Fact(*fact))?;
            let term = self.case.encoding.terms.fact(*fact);
            wishes.push(self.case.encoding.terms.not(term));
        }
        if already {
            self.given.extend(wishes);
            return Ok(true);
        }
        let together = self.case.encoding.terms.and(wishes.iter().copied());
        if !some_must_hold && self.look(Some(together))? {
            return Ok(true);
        }
        if let [one] = facts {
            let held = self.case.encoding.terms.fact(*one);
            self.given.push(held);
            return Ok(false);
        }
        let (first, second) = facts.split_at(facts.len() / 2);
        let first = self.all_false(first, false)?;
        self.all_false(second, first)?;
        Ok(false)
    }

    fn positions(&mut self) -> Result<(), Stop> {
        for device in self.mentioned.devices.clone() {
            for position in 0..self.model.device_positions(device).len() {
                if self.prefer(Var::PositionIs(device, position), true)? {
                    break;
                }
            }
        }
        Ok(())
    }

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

    fn errors(&mut self) -> Result<(), Stop> {
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

    fn quantities(&mut self) -> Result<(), Stop> {
        // Those that the predicate speaks of first: they are what the story is about.
        let about = self.predicate_quantities();
        let (first, then): (Vec<_>, Vec<_>) =
            self.quantities_mentioned().into_iter().partition(|quantity| about.contains(quantity));
        let mut fixed: BTreeMap<QuantityId, Exact> = BTreeMap::new();
        for quantity in first.into_iter().chain(then) {
            let candidates = self.quantity_candidates(quantity, about.contains(&quantity), &fixed)?;
            self.fix(NumberChoice::Quantity(quantity), &candidates)?;
            fixed.insert(quantity, self.case.question.number(NumberChoice::Quantity(quantity))?);
        }
        Ok(())
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

    fn readings(&mut self) -> Result<(), Stop> {
        // Wherever one reader may see what the reader before it sees, it does: a faulty sensor mostly shows one value.
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

    /// The situation at hand, every choice that was mentioned.
    fn situation(&self) -> Result<Situation, Stop> {
        self.mentioned.situation(self.model, &self.claim.modes, self.case.question.as_ref())
    }
}

fn modes_of(model: &Model, choice: ModeChoice) -> Vec<ModeId> {
    let group: GroupId = match choice {
        ModeChoice::Holds(group) => group,
        ModeChoice::Shown(input, _) => model.mode_inputs[input].group,
    };
    model.groups[group].modes.clone()
}

/// The modes that a choice may be, those in which some hazard exists first: a story in a mode in which all is off and
/// locked out leads nowhere.
fn modes_to_tell(model: &Model, choice: ModeChoice) -> Vec<ModeId> {
    let quiet = |mode: &ModeId| !model.hazards.iter().any(|(_, hazard)| hazard.exists_in.contains(mode));
    let mut modes = modes_of(model, choice);
    modes.sort_by_key(quiet);
    modes
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
