//! Lists of elements of one kind, addressed by ids that only the list itself hands out.

use std::fmt;
use std::marker::PhantomData;
use std::ops::Index;

/// An id of an element of one kind: its number in the order of the file.
pub trait Id: Copy + Ord + fmt::Debug {
    /// The id with this number.
    fn from_index(index: usize) -> Self;
    /// Its number.
    fn index(self) -> usize;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl Id for $name {
            fn from_index(index: usize) -> Self {
                $name(u32::try_from(index).unwrap_or(u32::MAX))
            }
            fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}

ids! {
    /// A mode group.
    GroupId;
    /// A mode (of any group).
    ModeId;
    /// A quantity of the plant.
    QuantityId;
    /// A yes/no fact of the plant.
    ConditionId;
    /// A coupling.
    CouplingId;
    /// A supply.
    SupplyId;
    /// A cable route.
    RouteId;
    /// A cabinet.
    CabinetId;
    /// A store, shared machine, parameter source or type: something that only has dependants.
    SharedId;
    /// Something a signal goes through.
    ConditionerId;
    /// An interposing relay.
    RelayId;
    /// A link between solvers.
    LinkId;
    /// A logic solver.
    SolverId;
    /// A mode input.
    ModeInputId;
    /// A sensor, switch, interlock loop or stop contact: whatever a solver reads.
    InputId;
    /// A contact of a loop.
    ContactId;
    /// An emergency stop device.
    StopId;
    /// A space.
    SpaceId;
    /// An actuator.
    ActuatorId;
    /// One driver of one actuator.
    DriverId;
    /// A passive device.
    PassiveId;
    /// A release of fire suppression.
    SuppressionId;
    /// A reset.
    ResetId;
    /// An override device.
    OverrideId;
    /// An effect.
    EffectId;
    /// A cause.
    CauseId;
    /// A hazard.
    HazardId;
    /// An exclusion of positions.
    ExclusionId;
    /// An invariant between demands.
    InvariantId;
}

/// Elements of one kind in the order of the file.
#[derive(Debug, Clone)]
pub struct Pool<I, T> {
    items: Vec<T>,
    kind: PhantomData<I>,
}

impl<I, T> Default for Pool<I, T> {
    fn default() -> Self {
        Pool { items: Vec::new(), kind: PhantomData }
    }
}

impl<I: Id, T> Pool<I, T> {
    /// Adds an element and hands out its id.
    pub fn push(&mut self, item: T) -> I {
        self.items.push(item);
        I::from_index(self.items.len() - 1)
    }

    /// The id that the next [`Pool::push`] will hand out.
    pub fn next_id(&self) -> I {
        I::from_index(self.items.len())
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// All ids, in the file's order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + use<I, T> {
        (0..self.items.len()).map(I::from_index)
    }

    /// All elements with their ids, in the file's order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> {
        self.items.iter().enumerate().map(|(index, item)| (I::from_index(index), item))
    }

    /// An element to be completed while the model is built.
    pub(crate) fn get_mut(&mut self, id: I) -> Option<&mut T> {
        self.items.get_mut(id.index())
    }
}

impl<I: Id, T> Index<I> for Pool<I, T> {
    type Output = T;
    /// Ids come from the pool itself, which never shrinks, so the element is always there.
    #[allow(clippy::indexing_slicing)]
    fn index(&self, id: I) -> &T {
        &self.items[id.index()]
    }
}
