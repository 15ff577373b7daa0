//! One situation of one model under one claim, with what has been worked out so far.
//!
//! Responsible for what all rules need: reading choices, remembering results, and refusing to go round in circles.
//! No rule of `docs/meaning.md` stands here.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::claim::Claim;
use crate::model::{
    Access, CauseId, GroupId, InputId, ModeId, Model, Signal, SolverId, Source, SupplyId, Tree,
};
use crate::situation::{FactChoice, ModeChoice, Situation};

use super::{Impossible, Known, Seen};

/// How many values may wait for one another. No plant comes near it; without it a chain could exhaust the stack.
const DEEPEST: usize = 300;

/// Something whose value is being worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Pending {
    /// Whether a supply is lost.
    Supply(SupplyId),
    /// What a solver sees of an input.
    Sees(InputId, SolverId),
    /// What a solver knows of a cause.
    Knows(CauseId, SolverId),
    /// The condition of a cause.
    When(CauseId),
}

/// Results that have been worked out.
#[derive(Debug, Default)]
pub(super) struct Memory {
    pub(super) lost: BTreeMap<SupplyId, bool>,
    pub(super) sees: BTreeMap<(InputId, SolverId), Seen>,
    pub(super) knows: BTreeMap<(CauseId, SolverId), Known>,
    pub(super) when: BTreeMap<CauseId, bool>,
}

/// One situation of one model under one claim.
pub(super) struct World<'a> {
    pub(super) model: &'a Model,
    pub(super) claim: &'a Claim,
    pub(super) situation: &'a Situation,
    /// Members of the initiator and damage groups that misbehave.
    pub(super) struck: BTreeSet<Source>,
    pub(super) memory: RefCell<Memory>,
    pending: RefCell<BTreeSet<Pending>>,
}

impl<'a> World<'a> {
    pub(super) fn new(model: &'a Model, claim: &'a Claim, situation: &'a Situation) -> Self {
        World {
            model,
            claim,
            situation,
            struck: super::faults::struck(model, situation),
            memory: RefCell::default(),
            pending: RefCell::default(),
        }
    }

    /// A choice of yes or no.
    pub(super) fn chosen(&self, choice: FactChoice) -> bool {
        self.situation.fact(choice)
    }

    /// The mode of a group that holds.
    pub(super) fn mode(&self, group: GroupId) -> Result<ModeId, Impossible> {
        let tag = &self.model.groups[group].name.tag;
        self.situation
            .mode(self.model, ModeChoice::Holds(group))
            .ok_or_else(|| no(format!("{tag} has no modes.")))
    }

    /// Whether each group that is named is in one of the modes listed for it.
    pub(super) fn modes_listed(
        &self,
        listed: &BTreeMap<GroupId, BTreeSet<ModeId>>,
    ) -> Result<bool, Impossible> {
        every(listed, |(group, modes)| Ok(modes.contains(&self.mode(*group)?)))
    }

    /// Works a value out unless it is already being worked out, which would never end.
    pub(super) fn once<T>(
        &self,
        pending: Pending,
        work: impl FnOnce() -> Result<T, Impossible>,
    ) -> Result<T, Impossible> {
        if self.pending.borrow().len() >= DEEPEST {
            let tag = self.tag_of(pending);
            return Err(no(format!("{tag} stands at the end of a chain of more than {DEEPEST} elements.")));
        }
        if !self.pending.borrow_mut().insert(pending) {
            return Err(no(format!("{} depends on itself.", self.tag_of(pending))));
        }
        let result = work();
        self.pending.borrow_mut().remove(&pending);
        result
    }

    fn tag_of(&self, pending: Pending) -> &str {
        match pending {
            Pending::Supply(id) => &self.model.supplies[id].name.tag,
            Pending::Sees(id, _) => &self.model.inputs[id].name.tag,
            Pending::Knows(id, _) | Pending::When(id) => &self.model.causes[id].name.tag,
        }
    }

    /// Every input with every solver that sees it, by wire or over links.
    pub(super) fn input_ends(&self) -> BTreeSet<(InputId, SolverId)> {
        let wired =
            self.model.inputs.iter().flat_map(|(id, input)| input.readers.keys().map(move |s| (id, *s)));
        let known = self.model.access.keys().filter_map(|(signal, solver)| match signal {
            Signal::Input(input) => Some((*input, *solver)),
            Signal::Cause(_) => None,
        });
        wired.chain(known).collect()
    }

    /// Every cause with every solver that knows it: its own, and those that it reaches over links.
    pub(super) fn cause_ends(&self) -> BTreeSet<(CauseId, SolverId)> {
        let own = self.model.causes.iter().map(|(id, cause)| (id, cause.solver));
        let known = self.model.access.keys().filter_map(|(signal, solver)| match signal {
            Signal::Cause(cause) => Some((*cause, *solver)),
            Signal::Input(_) => None,
        });
        own.chain(known).collect()
    }

    /// How a solver knows a cause; `None` if it does not.
    pub(super) fn cause_access(&self, cause: CauseId, solver: SolverId) -> Option<Access> {
        if self.model.causes[cause].solver == solver {
            return Some(Access::Direct);
        }
        self.model.access.get(&(Signal::Cause(cause), solver)).copied()
    }
}

/// The answer that a situation is not possible.
pub(super) fn no(reason: String) -> Impossible {
    Impossible { reason }
}

/// Whether a Boolean combination holds.
pub(super) fn holds<A>(
    tree: &Tree<A>,
    atom: &dyn Fn(&A) -> Result<bool, Impossible>,
) -> Result<bool, Impossible> {
    Ok(match tree {
        Tree::Atom(a) => atom(a)?,
        Tree::And(parts) => every(parts, |part| holds(part, atom))?,
        Tree::Or(parts) => some(parts, |part| holds(part, atom))?,
        Tree::Not(part) => !holds(part, atom)?,
        Tree::Vote { m, of } => count(of, |part| holds(part, atom))? >= *m,
    })
}

/// Whether all hold. Every one is asked, so that the answer does not hide one that is not possible.
pub(super) fn every<T>(
    items: impl IntoIterator<Item = T>,
    test: impl Fn(T) -> Result<bool, Impossible>,
) -> Result<bool, Impossible> {
    items.into_iter().try_fold(true, |all, item| Ok(test(item)? && all))
}

/// Whether one holds; every one is asked.
pub(super) fn some<T>(
    items: impl IntoIterator<Item = T>,
    test: impl Fn(T) -> Result<bool, Impossible>,
) -> Result<bool, Impossible> {
    items.into_iter().try_fold(false, |any, item| Ok(test(item)? || any))
}

/// How many hold.
pub(super) fn count<T>(
    items: impl IntoIterator<Item = T>,
    test: impl Fn(T) -> Result<bool, Impossible>,
) -> Result<usize, Impossible> {
    items.into_iter().try_fold(0, |n, item| Ok(n + usize::from(test(item)?)))
}
