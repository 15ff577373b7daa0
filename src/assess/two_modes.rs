//! Two spaces at once: modes of different groups that share something can work at the same time.

use std::collections::BTreeSet;

use super::board::Board;
use super::single::Subject;
use super::{Decided, Work};
use crate::claim::{Breach, Budget, Claim};
use crate::dependencies::Dependencies;
use crate::engine::EngineError;
use crate::model::{
    CauseId, ConditionId, Device, Element, GroupId, ModeId, Model, NormalIn, Observes, PlantAtom, QuantityId,
};

/// Facts and mode groups on which a cause may turn.
#[derive(Debug, Default, Clone)]
struct Turns {
    quantities: BTreeSet<QuantityId>,
    conditions: BTreeSet<ConditionId>,
    groups: BTreeSet<GroupId>,
}

/// One claim for each two modes of different groups that can get in each other's way: they need one device at different
/// positions, or what moves a device that one needs may turn on the other.
pub(super) fn subjects(model: &Model) -> Vec<Subject> {
    if model.groups.len() < 2 {
        return Vec::new();
    }
    let graph = Dependencies::of(model);
    let turns: Vec<(ModeId, Turns)> =
        model.modes.ids().map(|mode| (mode, turns_of(model, &graph, mode))).collect();
    let mut subjects = Vec::new();
    for (number, (one, mine)) in turns.iter().enumerate() {
        for (other, theirs) in turns.iter().skip(number + 1) {
            let groups = (model.modes[*one].group, model.modes[*other].group);
            let meet = needs_apart(model, *one, *other)
                || touches(model, *other, mine)
                || touches(model, *one, theirs);
            if groups.0 != groups.1 && meet {
                subjects.push(Subject::RunTogether(*one, *other));
            }
        }
    }
    subjects
}

fn needs_apart(model: &Model, one: ModeId, other: ModeId) -> bool {
    let (mine, theirs) = (&model.modes[one].needs, &model.modes[other].needs);
    mine.iter().any(|need| theirs.iter().any(|at| at.device == need.device && at.position != need.position))
}

/// Whether a mode says something about what these turn on.
fn touches(model: &Model, mode: ModeId, turns: &Turns) -> bool {
    let element = &model.modes[mode];
    turns.groups.contains(&element.group)
        || element.normal.iter().any(|normal| match normal {
            NormalIn::Range(quantity, _) | NormalIn::FreeQuantity(quantity) => {
                turns.quantities.contains(quantity)
            }
            NormalIn::Value(condition, _) | NormalIn::FreeCondition(condition) => {
                turns.conditions.contains(condition)
            }
        })
}

/// What the causes turn on that command something the mode needs to another position.
fn turns_of(model: &Model, graph: &Dependencies, mode: ModeId) -> Turns {
    let needs = &model.modes[mode].needs;
    let against = |cause: &CauseId| {
        let effects = model.causes[*cause].demands.iter();
        let set = effects.flat_map(|effect| &model.effects[*effect].set);
        set.into_iter().any(|(actuator, position)| {
            needs.iter().any(|at| at.device == Device::Actuator(*actuator) && at.position != *position)
        })
    };
    let mut turns = Turns::default();
    for cause in model.causes.ids().filter(against) {
        for element in graph.reach(Element::Cause(cause)) {
            turns.add(model, element);
        }
    }
    turns.follow_couplings(model);
    turns
}

impl Turns {
    fn add(&mut self, model: &Model, element: Element) {
        match element {
            Element::Cause(cause) => self.groups.extend(model.causes[cause].armed.keys()),
            Element::ModeInput(input) => {
                self.groups.insert(model.mode_inputs[input].group);
            }
            Element::Input(input) => match &model.inputs[input].observes {
                Observes::Quantity { quantity, .. } => {
                    self.quantities.insert(*quantity);
                }
                Observes::Condition { condition, .. } => {
                    self.conditions.insert(*condition);
                }
                Observes::Loop { contacts, .. } => {
                    self.conditions.extend(contacts.iter().map(|contact| model.contacts[*contact].condition));
                }
                Observes::Stop(_) => {}
            },
            _ => {}
        }
    }

    /// A coupling that speaks of one of them makes them turn on everything it speaks of.
    fn follow_couplings(&mut self, model: &Model) {
        loop {
            let before = self.size();
            for (_, coupling) in model.couplings.iter() {
                let atoms = coupling.holds.atoms();
                if atoms.iter().any(|atom| self.has(model, atom)) {
                    atoms.into_iter().for_each(|atom| self.take(model, atom));
                }
            }
            if self.size() == before {
                return;
            }
        }
    }

    fn size(&self) -> usize {
        self.quantities.len() + self.conditions.len() + self.groups.len()
    }

    fn has(&self, model: &Model, atom: &PlantAtom) -> bool {
        match atom {
            PlantAtom::Linear { sum, .. } => sum.iter().any(|(_, id)| self.quantities.contains(id)),
            PlantAtom::Condition(id) => self.conditions.contains(id),
            PlantAtom::Mode(mode) => self.groups.contains(&model.modes[*mode].group),
        }
    }

    fn take(&mut self, model: &Model, atom: &PlantAtom) {
        match atom {
            PlantAtom::Linear { sum, .. } => self.quantities.extend(sum.iter().map(|(_, id)| *id)),
            PlantAtom::Condition(id) => {
                self.conditions.insert(*id);
            }
            PlantAtom::Mode(mode) => {
                self.groups.insert(model.modes[*mode].group);
            }
        }
    }
}

impl Work<'_> {
    /// Whether two modes can work at once; a situation in which they get in each other's way if they never can.
    pub(super) fn run_together(&mut self, one: ModeId, other: ModeId) -> Result<(), EngineError> {
        let decided = self.together(one, other)?;
        self.tell_single(Subject::RunTogether(one, other), decided);
        Ok(())
    }

    fn together(&mut self, one: ModeId, other: ModeId) -> Result<Decided, EngineError> {
        let model = self.model;
        let (both, alone) = (Breach::RunBoth(one, other), [one, other].map(Breach::Runs));
        let mut asked = vec![both.clone()];
        asked.extend(alone.iter().cloned());
        let mut board = Board::open(self, asked)?;
        let decided = board.one(self, &both)?;
        if !matches!(decided, Decided::Never(_)) {
            return Ok(decided);
        }
        for (mode, breach) in [one, other].iter().zip(&alone) {
            match board.one(self, breach)? {
                Decided::Holds => {}
                Decided::Never(_) => {
                    let reason = format!("mode {} cannot work by itself", model.modes[*mode].name.tag);
                    return Ok(Decided::NotApplicable(reason));
                }
                open => return Ok(open),
            }
        }
        let claim = Claim {
            breach: Breach::Clash(one, other),
            modes: Vec::new(),
            faults: Budget::none(),
            initiators: false,
            overrides: false,
        };
        Ok(match self.look_for(claim, 0) {
            Ok(Decided::Holds) => {
                Decided::NotApplicable("in no normal situation do both modes hold at once".into())
            }
            Ok(decided) => decided,
            Err(stop) => self.stopped(stop)?,
        })
    }
}
