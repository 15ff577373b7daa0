//! Claims: what is to be shown of a model, over which situations.
//!
//! A [`Claim`] is plain data. `semantics` turns it into terms that an engine can refute; `replay` evaluates it in one
//! situation. Both answer the same question: does this situation belong to the claim, and does it break it?

use std::collections::BTreeSet;

use crate::model::{ActuatorId, CauseId, ExclusionId, HazardId, InvariantId, ModeId, Source, SpaceId};

/// What breaks a claim (or, for [`Breach::Fires`] and [`Breach::Exists`], what shows that something is possible).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Breach {
    /// Onset case `onset` of the hazard (every case if `None`) holds, and its safe state is not reached.
    NotMet {
        /// The hazard.
        hazard: HazardId,
        /// One onset case by its number.
        onset: Option<usize>,
    },
    /// The situation of an onset case exists: the hazard's onset case holds.
    Exists {
        /// The hazard.
        hazard: HazardId,
        /// One onset case by its number.
        onset: usize,
    },
    /// Nothing but the mode: the couplings leave it at least one situation.
    Possible,
    /// The condition of the cause is true while it is armed, by itself and not from memory.
    Fires(CauseId),
    /// As `Fires`, while the hazard is present.
    FiresFor(CauseId, HazardId),
    /// The actuator is commanded to two positions, and no declared winner that its wiring can give decides.
    Opposed(ActuatorId),
    /// The excluded combination of positions occurs.
    Occurs(ExclusionId),
    /// The invariant between demands is broken.
    Broken(InvariantId),
    /// Somebody in the space has no way out: every door is held and has no escape release that counts.
    LockedIn(SpaceId),
}

impl Breach {
    /// The hazard it speaks of, if it does.
    pub fn hazard(&self) -> Option<HazardId> {
        match self {
            Breach::NotMet { hazard, .. } | Breach::Exists { hazard, .. } | Breach::FiresFor(_, hazard) => {
                Some(*hazard)
            }
            Breach::Possible
            | Breach::Fires(_)
            | Breach::Opposed(_)
            | Breach::Occurs(_)
            | Breach::Broken(_)
            | Breach::LockedIn(_) => None,
        }
    }
}

/// Which faults a claim allows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Budget {
    /// Sources that may misbehave.
    pub sources: BTreeSet<Source>,
    /// Greatest weight of all that do; `None`: no limit.
    pub weight: Option<u32>,
}

impl Budget {
    /// No faults.
    pub fn none() -> Self {
        Budget { sources: BTreeSet::new(), weight: Some(0) }
    }
}

/// A claim over all situations of the stated kind: none of them breaks it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// What would break it.
    pub breach: Breach,
    /// Modes that hold: at most one per group. A group without one ranges over all its modes.
    pub modes: Vec<ModeId>,
    /// Faults that it allows.
    pub faults: Budget,
    /// Whether at most one initiator group of the breach's hazard may misbehave.
    pub initiators: bool,
    /// Whether overrides may be active as permitted.
    pub overrides: bool,
}
