//! Claims: what is to be shown of a model, over which situations.
//!
//! A [`Claim`] is plain data. `semantics` turns it into terms that an engine can refute; `replay` evaluates it in one
//! situation. Both answer the same question: does this situation belong to the claim, and does it break it?

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::exact::Exact;
use crate::model::{
    ActuatorId, AtPosition, CauseId, ExclusionId, HazardId, InvariantId, ModeId, QuantityId, Source, SpaceId,
    StopId,
};

/// How times that the model calls unknown are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unknown {
    /// As too long for anything: what holds then holds whatever they are.
    TooLong,
    /// As 0 s: what is broken then is broken whatever they are.
    Nothing,
}

/// Least and greatest value of a quantity; the infimum or supremum where it is not attained.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Extent {
    /// Least.
    pub least: Exact,
    /// Greatest.
    pub greatest: Exact,
}

/// What a claim about time has to know beyond one situation.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Timing {
    /// By onset case: the extent of quantities over all situations in which the case holds, in the mode of the claim. A
    /// quantity that is not listed gives no head start.
    pub extents: Vec<BTreeMap<QuantityId, Extent>>,
    /// How unknown times are taken.
    pub unknown: Unknown,
}

/// What breaks a claim (or, for `Fires`, `Exists`, `Quiet` and their like, what shows that something is possible).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Breach {
    /// Onset case `onset` of the hazard (every case if `None`) holds, and its safe state is not reached.
    NotMet {
        /// The hazard.
        hazard: HazardId,
        /// One onset case by its number.
        onset: Option<usize>,
    },
    /// As `NotMet`, while every input that warms up shows what it shows without supply.
    Blind(HazardId),
    /// Some onset case of the hazard holds, and its safe state is not reached in the time that the hazard leaves.
    Late {
        /// The hazard.
        hazard: HazardId,
        /// What is known of the whole.
        timing: Arc<Timing>,
    },
    /// Some onset case of the hazard holds, and the cause commands a position of its safe state in time.
    ActsInTime {
        /// The cause.
        cause: CauseId,
        /// The hazard.
        hazard: HazardId,
        /// What is known of the whole.
        timing: Arc<Timing>,
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
    /// As `LockedIn`, where the escape release of this door (by its number) does not work.
    ReleaseFails(SpaceId, usize),
    /// What the invariant begins with is demanded.
    Applies(InvariantId),
    /// Somebody is inside the space.
    Inside(SpaceId),
    /// As `Released`, met or not.
    ReleaseUsed {
        /// The space.
        space: SpaceId,
        /// Number of the door.
        door: usize,
        /// The hazard.
        hazard: HazardId,
    },
    /// The cause is armed and its condition false while everything is normal.
    Quiet(CauseId),
    /// Everything is normal, and no cause commands what the mode needs to another position.
    Runs(ModeId),
    /// The cause is true, by its condition or its latch, and no other cause demands what it demands: this position, or (`None`) any of its positions.
    Matters(CauseId, Option<AtPosition>),
    /// The cause fires, and none of these others has its value.
    Unled(CauseId, BTreeSet<CauseId>),
    /// The vote of the cause (by its number in the condition, from 0) says trip.
    VoteTrips(CauseId, usize),
    /// The hazard is present, and the cause commands a position that it forbids.
    Harmed {
        /// The hazard.
        hazard: HazardId,
        /// The cause.
        cause: CauseId,
        /// What it commands.
        at: AtPosition,
    },
    /// The hazard is present, and the quiet loss of the source alone moves an actuator where the hazard forbids it.
    Forced {
        /// The hazard.
        hazard: HazardId,
        /// A supply, route, cabinet or solver.
        source: Source,
        /// Where the actuator goes.
        at: AtPosition,
    },
    /// The hazard is present and not met, while the actuator is commanded to two positions.
    Outvoted {
        /// The hazard.
        hazard: HazardId,
        /// The actuator.
        actuator: ActuatorId,
    },
    /// All of these hazards are present.
    Together(BTreeSet<HazardId>),
    /// The cause is armed.
    Armed(CauseId),
    /// The stop is pressed, in a mode in which some hazard exists, and something of its span is not where it must be.
    SpanMissed(StopId),
    /// The escape release of a door (by its number in the space) is used, and the hazard is not in its safe state.
    Released {
        /// The space.
        space: SpaceId,
        /// The door.
        door: usize,
        /// The hazard, of those that need the doors shut.
        hazard: HazardId,
    },
    /// The actuator is commanded to one position only, and does not take it.
    Overruled(ActuatorId),
    /// Releases draw more on the machines that carry together with this one than those that are not lost can give.
    Overdrawn(Source),
    /// Two modes of different groups hold, everything is normal, and nothing that they need contradicts: neither each
    /// other, nor a command.
    RunBoth(ModeId, ModeId),
    /// Two modes of different groups hold, everything is normal, and what they need contradicts each other or a command.
    Clash(ModeId, ModeId),
}

impl Breach {
    /// The cause it speaks of, if it does.
    pub fn cause(&self) -> Option<CauseId> {
        match self {
            Breach::Fires(cause)
            | Breach::FiresFor(cause, _)
            | Breach::Quiet(cause)
            | Breach::Matters(cause, _)
            | Breach::Unled(cause, _)
            | Breach::VoteTrips(cause, _)
            | Breach::Armed(cause)
            | Breach::Harmed { cause, .. } => Some(*cause),
            _ => None,
        }
    }

    /// The hazard it speaks of, if it does.
    pub fn hazard(&self) -> Option<HazardId> {
        match self {
            Breach::NotMet { hazard, .. }
            | Breach::Late { hazard, .. }
            | Breach::ActsInTime { hazard, .. }
            | Breach::Exists { hazard, .. }
            | Breach::FiresFor(_, hazard)
            | Breach::Blind(hazard)
            | Breach::Harmed { hazard, .. }
            | Breach::Forced { hazard, .. }
            | Breach::Outvoted { hazard, .. }
            | Breach::ReleaseUsed { hazard, .. }
            | Breach::Released { hazard, .. } => Some(*hazard),
            Breach::Possible
            | Breach::Fires(_)
            | Breach::Opposed(_)
            | Breach::Occurs(_)
            | Breach::Broken(_)
            | Breach::LockedIn(_)
            | Breach::ReleaseFails(..)
            | Breach::Applies(_)
            | Breach::Inside(_)
            | Breach::Quiet(_)
            | Breach::Runs(_)
            | Breach::Matters(..)
            | Breach::Unled(..)
            | Breach::VoteTrips(..)
            | Breach::Together(_)
            | Breach::Armed(_)
            | Breach::SpanMissed(_)
            | Breach::Overruled(_)
            | Breach::Overdrawn(_)
            | Breach::RunBoth(..)
            | Breach::Clash(..) => None,
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
