//! How causes read inputs and in which modes they can act: facts of structure that several checks use.
//!
//! Nothing here decides a claim. References from one cause to another are not followed.

use std::collections::BTreeSet;

use crate::model::{
    ActuatorId, Cause, CauseId, GroupId, HazardId, Input, InputAtom, InputId, Lost, ModeId, Model, Observes,
    Tree,
};
use crate::syntax::kind::{InputFailure, People, Purpose};

/// An atom of the condition of a cause, and whether it stands under NOT.
pub type Literal<'c> = (&'c InputAtom, bool);

/// The atoms of a condition with NOT pushed down to them.
pub fn literals(tree: &Tree<InputAtom>) -> Vec<Literal<'_>> {
    fn walk<'c>(tree: &'c Tree<InputAtom>, negated: bool, found: &mut Vec<Literal<'c>>) {
        match tree {
            Tree::Atom(atom) => found.push((atom, negated)),
            Tree::Not(part) => walk(part, !negated, found),
            Tree::And(parts) | Tree::Or(parts) | Tree::Vote { of: parts, .. } => {
                parts.iter().for_each(|part| walk(part, negated, found));
            }
        }
    }
    let mut found = Vec::new();
    walk(tree, false, &mut found);
    found
}

/// The input whose reading an atom compares or whose state it asks for.
pub fn input_of(atom: &InputAtom) -> Option<InputId> {
    match atom {
        InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => Some(*input),
        InputAtom::Cause { .. }
        | InputAtom::Overriding(_)
        | InputAtom::Shows(..)
        | InputAtom::Bad(_)
        | InputAtom::LinkLost(_) => None,
    }
}

/// The input of an operand that is a single comparison or state of it, under NOT or not.
pub fn operand(part: &Tree<InputAtom>) -> Option<InputId> {
    match part {
        Tree::Atom(atom) => input_of(atom),
        Tree::Not(part) => operand(part),
        Tree::And(_) | Tree::Or(_) | Tree::Vote { .. } => None,
    }
}

/// Whether the condition of a cause reads an input.
pub fn reads(cause: &Cause, input: InputId) -> bool {
    cause.when.atoms().into_iter().any(|atom| input_of(atom) == Some(input))
}

/// Whether a cause is there to protect, credited or as a backup.
pub fn protects(cause: &Cause) -> bool {
    matches!(cause.purpose, Purpose::Protection | Purpose::Backup)
}

/// The protecting causes that read an input, in the file's order.
pub fn protecting(model: &Model, input: InputId) -> Vec<CauseId> {
    let causes = model.causes.iter().filter(|(_, cause)| protects(cause) && reads(cause, input));
    causes.map(|(id, _)| id).collect()
}

/// Whether every protecting cause that reads the input releases fire suppression. A line fault of such an input is a
/// fault signal and no vote to discharge.
pub fn only_releases(model: &Model, input: InputId) -> bool {
    let causes = protecting(model, input);
    let releases =
        |cause: &CauseId| model.suppression.iter().any(|(_, zone)| zone.released_by.contains(cause));
    !causes.is_empty() && causes.iter().all(releases)
}

/// Whether a signal can be bad: by its own fault or by what it goes through, or because its loss makes it so.
pub fn can_be_bad(input: &Input) -> bool {
    let by_itself = match input.observes {
        Observes::Quantity { .. } | Observes::Condition { .. } => {
            input.fails.as_ref().is_none_or(|fails| fails.contains(&InputFailure::Bad))
        }
        Observes::Loop { .. } | Observes::Stop(_) => false,
    };
    by_itself || input.on_loss == Lost::Bad || input.readers.values().any(|path| !path.through.is_empty())
}

/// Whether the condition itself treats a bad signal of the input as a reason: `BAD(GD-1)` without NOT.
pub fn asks_for_bad(cause: &Cause, input: InputId) -> bool {
    literals(&cause.when).iter().any(|(atom, negated)| **atom == InputAtom::Bad(input) && !negated)
}

/// What a cause demands: actuators and positions.
pub fn demanded(model: &Model, cause: &Cause) -> BTreeSet<(ActuatorId, usize)> {
    cause.demands.iter().flat_map(|effect| model.effects[*effect].set.iter().copied()).collect()
}

/// The mode groups that matter for a cause: those of the hazards it is credited for; if there are none, those that its
/// `armed` names; if it names none, all.
fn groups(model: &Model, cause: &Cause) -> BTreeSet<GroupId> {
    let credited: BTreeSet<GroupId> = cause.credited_for.iter().map(|id| model.hazards[*id].group).collect();
    match (credited.is_empty(), cause.armed.is_empty()) {
        (false, _) => credited,
        (true, false) => cause.armed.keys().copied().collect(),
        (true, true) => model.groups.ids().collect(),
    }
}

/// Whether a hazard for which the cause is credited exists in the mode; without credit, always.
pub fn needed_in(model: &Model, cause: &Cause, mode: ModeId) -> bool {
    let exists = |id: &HazardId| model.hazards[*id].exists_in.contains(&mode);
    cause.credited_for.is_empty() || cause.credited_for.iter().any(exists)
}

/// Modes with people expected in which a cause is armed, of the groups that matter for it.
pub fn armed_with_people(model: &Model, cause: &Cause) -> BTreeSet<ModeId> {
    let groups = groups(model, cause);
    let matters = |id: &ModeId| {
        let mode = &model.modes[*id];
        let armed = cause.armed.get(&mode.group).is_none_or(|modes| modes.contains(id));
        groups.contains(&mode.group) && armed && mode.people == People::Expected
    };
    model.modes.ids().filter(matters).collect()
}
