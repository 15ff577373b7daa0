//! The canonical witness: of all situations that break a claim, the one that is told.
//!
//! Order of preference (section 6 of the semantics): fewest faults (chosen by the caller), fewest overrides, fewest
//! latches that are still set from before (what is seen now is easier to follow), modes in which most hazards exist, fewest
//! quantities, conditions and devices away from normal, devices where the mode needs them, fewest effects of the faults,
//! readings without error, then values nearest the deciding threshold at the declared resolution, then tag order, with
//! every other choice at its plainest. Each preference is asked of the engine, so that another version of the solver finds the same
//! situation.

mod mentioned;
mod normal;
mod values;

use crate::analysis::{Case, Stop};
use crate::claim::Claim;
use crate::engine::Question;
use crate::exact::Exact;
use crate::model::{ConditionId, Device, GroupId, ModeId, Model, QuantityId, Relation, WithoutEnergy};
use crate::situation::{FactChoice, ModeChoice, NumberChoice, Situation};
use crate::term::{TermId, Terms, Var};

pub use mentioned::Mentioned;

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
    choice.busiest_modes()?;
    choice.nearest_to_normal()?;
    choice.modes()?;
    choice.needs()?;
    choice.conditions()?;
    // A fault that does one thing is easier to replay than one that does four.
    choice.fewest(is_effect)?;
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

/// What one choice should be.
enum Wish {
    /// A variable has this value.
    Is(Var, bool),
    /// A number has this value.
    At(NumberChoice, Exact),
}

impl Wish {
    fn term(&self, terms: &mut Terms) -> TermId {
        match self {
            Wish::Is(var, value) => {
                let term = terms.var(*var);
                if *value { term } else { terms.not(term) }
            }
            Wish::At(number, value) => terms.compare(&[(Exact::int(1), *number)], Relation::Equal, value),
        }
    }

    /// Whether it is so in the situation at hand.
    fn holds(&self, question: &dyn Question) -> Result<bool, Stop> {
        Ok(match self {
            Wish::Is(var, value) => question.truth(*var)? == *value,
            Wish::At(number, value) => question.number(*number)? == *value,
        })
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
        if what == self.case.encoding.terms.no() || !self.case.look(what, &self.given)? {
            return Ok(false);
        }
        if let Some(wish) = wish {
            self.given.push(wish);
        }
        self.case.keep()?;
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
            let wishes: Vec<Wish> = facts.iter().map(|fact| Wish::Is(Var::Fact(*fact), false)).collect();
            self.all(&wishes, false)?;
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
        away.extend(self.needs_away());
        let no = self.case.encoding.terms.no();
        away.retain(|term| *term != no);
        self.fewest_of(&away)
    }

    /// Leaves of the modes that may hold only those in which most hazards exist, as far as they are possible.
    fn busiest_modes(&mut self) -> Result<(), Stop> {
        for choice in self.mentioned.modes.clone() {
            let ModeChoice::Holds(_) = choice else { continue };
            let modes = modes_to_tell(self.model, choice);
            let alike = modes.chunk_by(|a, b| hazards_in(self.model, *a) == hazards_in(self.model, *b));
            for some in alike {
                let terms = &mut self.case.encoding.terms;
                let each: Vec<TermId> =
                    some.iter().map(|mode| terms.var(Var::ModeIs(choice, *mode))).collect();
                let any = terms.or(each);
                if self.look(Some(any))? {
                    break;
                }
            }
        }
        Ok(())
    }

    fn modes(&mut self) -> Result<(), Stop> {
        for choice in self.mentioned.modes.clone() {
            let mut modes = modes_to_tell(self.model, choice);
            if let ModeChoice::Shown(input, _) = choice {
                // A faulty mode input that need not show another mode shows the one that holds.
                let holds = self.mode_of(self.model.mode_inputs[input].group)?;
                modes.sort_by_key(|mode| Some(*mode) != holds);
            }
            for mode in modes {
                if self.prefer(Var::ModeIs(choice, mode), true)? {
                    break;
                }
            }
        }
        Ok(())
    }

    /// The mode of a group: the claim's, or the one in the situation at hand; `None` if it does not matter.
    fn mode_of(&self, group: GroupId) -> Result<Option<ModeId>, Stop> {
        let claimed = self.claim.modes.iter().find(|mode| self.model.modes[**mode].group == group);
        if let Some(mode) = claimed {
            return Ok(Some(*mode));
        }
        let choice = ModeChoice::Holds(group);
        if self.mentioned.modes.contains(&choice) {
            for mode in &self.model.groups[group].modes {
                if self.case.question.truth(Var::ModeIs(choice, *mode))? {
                    return Ok(Some(*mode));
                }
            }
        }
        Ok(None)
    }

    /// What nobody commands stands where the mode needs it to do its work.
    fn needs(&mut self) -> Result<(), Stop> {
        let mut wishes = Vec::new();
        for group in self.model.groups.ids() {
            let Some(mode) = self.mode_of(group)? else { continue };
            wishes.extend(self.needed(mode));
        }
        if !wishes.is_empty() {
            self.all(&wishes, false)?;
        }
        Ok(())
    }

    /// The choices by which what a mode needs stands where it needs it, as far as nothing commands it.
    fn needed(&self, mode: ModeId) -> Vec<Wish> {
        let mut wishes = Vec::new();
        for need in &self.model.modes[mode].needs {
            let Device::Actuator(id) = need.device else { continue };
            let on = match self.model.actuators[id].without_energy {
                WithoutEnergy::Goes { on, .. } => Some(on),
                WithoutEnergy::Stays => None,
            };
            for driver in &self.model.actuators[id].drivers {
                let fact = match on {
                    Some(_) => FactChoice::Gives(*driver),
                    None => FactChoice::Drives(*driver, need.position),
                };
                if self.mentioned.facts.contains(&fact) {
                    wishes.push(Wish::Is(Var::Fact(fact), on.is_none_or(|on| on == need.position)));
                }
            }
            if self.mentioned.devices.contains(&need.device) {
                wishes.push(Wish::Is(Var::PositionIs(need.device, need.position), true));
            }
        }
        wishes
    }

    /// Something that a mode needs does not stand there, in that mode: a term for each mode that may hold.
    fn needs_away(&mut self) -> Vec<TermId> {
        let mut away = Vec::new();
        for mode in self.model.modes.ids() {
            let choice = ModeChoice::Holds(self.model.modes[mode].group);
            let open = self.mentioned.modes.contains(&choice);
            if !open && !self.claim.modes.contains(&mode) {
                continue;
            }
            for wish in self.needed(mode) {
                let terms = &mut self.case.encoding.terms;
                let granted = wish.term(terms);
                let denied = terms.not(granted);
                let holds = if open { terms.var(Var::ModeIs(choice, mode)) } else { terms.yes() };
                away.push(terms.both(holds, denied));
            }
        }
        away
    }

    fn conditions(&mut self) -> Result<(), Stop> {
        let mut wishes = Vec::new();
        for condition in self.conditions_mentioned() {
            let normal = self.normal_value(condition)?;
            wishes.push(Wish::Is(Var::Fact(FactChoice::Condition(condition)), normal));
        }
        self.all(&wishes, false)?;
        Ok(())
    }

    fn facts(&mut self) -> Result<(), Stop> {
        let others = |choice: &&FactChoice| !matches!(choice, FactChoice::Condition(_));
        let facts = self.mentioned.facts.iter().filter(others);
        let wishes: Vec<Wish> = facts.map(|fact| Wish::Is(Var::Fact(*fact), false)).collect();
        self.all(&wishes, false)?;
        Ok(())
    }

    /// Grants each wish if it can be, in order: the earlier comes first where not all can. Asked in halves, since most
    /// can be granted together. `one_fails`: it is known that not all can. Returns whether all were granted; what cannot
    /// be granted is given from then on.
    fn all(&mut self, wishes: &[Wish], one_fails: bool) -> Result<bool, Stop> {
        let mut terms = Vec::new();
        let mut already = true;
        for wish in wishes {
            already &= wish.holds(self.case.question.as_ref())?;
            terms.push(wish.term(&mut self.case.encoding.terms));
        }
        if already {
            self.given.extend(terms);
            return Ok(true);
        }
        let together = self.case.encoding.terms.and(terms.iter().copied());
        if !one_fails && self.look(Some(together))? {
            return Ok(true);
        }
        if let [one] = terms.as_slice() {
            let denied = self.case.encoding.terms.not(*one);
            self.given.push(denied);
            return Ok(false);
        }
        let (first, second) = wishes.split_at(wishes.len() / 2);
        let first = self.all(first, false)?;
        self.all(second, first)?;
        Ok(false)
    }

    /// Every device at the first of its positions that it can have.
    fn positions(&mut self) -> Result<(), Stop> {
        let devices: Vec<Device> = self.mentioned.devices.iter().copied().collect();
        let first: Vec<Wish> =
            devices.iter().map(|device| Wish::Is(Var::PositionIs(*device, 0), true)).collect();
        if self.all(&first, false)? {
            return Ok(());
        }
        for device in devices {
            for position in 0..self.model.device_positions(device).len() {
                if self.prefer(Var::PositionIs(device, position), true)? {
                    break;
                }
            }
        }
        Ok(())
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

/// The modes that a choice may be, those in which most hazards exist first: there the plant does its work, and a story in
/// a mode in which all is off and locked out leads nowhere.
fn modes_to_tell(model: &Model, choice: ModeChoice) -> Vec<ModeId> {
    let mut modes = modes_of(model, choice);
    modes.sort_by_key(|mode| std::cmp::Reverse(hazards_in(model, *mode)));
    modes
}

fn hazards_in(model: &Model, mode: ModeId) -> usize {
    model.hazards.iter().filter(|(_, hazard)| hazard.exists_in.contains(&mode)).count()
}

/// Whether the fact is something that a fault does.
fn is_effect(fact: &FactChoice) -> bool {
    matches!(
        fact,
        FactChoice::Lost(_)
            | FactChoice::Deviates(..)
            | FactChoice::LineOpen(..)
            | FactChoice::LineHeld(..)
            | FactChoice::CauseDeviates(..)
            | FactChoice::LinkDown(..)
            | FactChoice::ActuatorLineOpen(_)
            | FactChoice::ActuatorLineHeld(_)
            | FactChoice::DeviceDeviates(_)
    )
}
