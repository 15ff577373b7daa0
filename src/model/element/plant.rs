//! The plant: modes, quantities, conditions, couplings, supplies, and what equipment shares.

use super::AtPosition;
use crate::date::Date;
use crate::exact::Exact;
use crate::model::pool::{CabinetId, ConditionId, GroupId, ModeId, QuantityId, SharedId, SupplyId};
use crate::model::tree::Tree;
use crate::source::Span;
use crate::syntax::kind::People;
use crate::unit::{Kind, Unit};

/// How an element is called and where it stands in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// Its tag.
    pub tag: String,
    /// Its title, if the file gives one.
    pub title: Option<String>,
    /// The place of its tag where it is declared.
    pub span: Span,
}

/// A time that the file gives, leaves out, or calls unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Time {
    /// Seconds.
    Known(Exact),
    /// Declared `unknown`, or not given where that means unknown.
    Unknown,
}

/// An inclusive range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interval {
    /// Least value.
    pub low: Exact,
    /// Greatest value.
    pub high: Exact,
}

/// A group of modes.
#[derive(Debug, Clone)]
pub struct Group {
    /// Its name.
    pub name: Name,
    /// Its modes, in the file's order; never empty.
    pub modes: Vec<ModeId>,
}

/// What is normal for one quantity or condition in one mode.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NormalIn {
    /// A range of a quantity.
    Range(QuantityId, Interval),
    /// A value of a condition.
    Value(ConditionId, bool),
    /// A quantity that may be anywhere in its range.
    FreeQuantity(QuantityId),
    /// A condition that may be either.
    FreeCondition(ConditionId),
}

/// A mode.
#[derive(Debug, Clone)]
pub struct Mode {
    /// Its name.
    pub name: Name,
    /// Its group.
    pub group: GroupId,
    /// Whether people may be inside.
    pub people: People,
    /// What is normal in it, where that differs from the plant's own normal.
    pub normal: Vec<NormalIn>,
    /// Positions it needs to do its work.
    pub needs: Vec<AtPosition>,
    /// Whether the plant comes up in it when power returns.
    pub after_power_return: bool,
}

/// A quantity.
#[derive(Debug, Clone)]
pub struct Quantity {
    /// Its name.
    pub name: Name,
    /// Its kind of unit.
    pub kind: Kind,
    /// The unit to print it in.
    pub unit: Unit,
    /// Every physically possible value.
    pub range: Interval,
    /// Normal values, if declared.
    pub normal: Option<Interval>,
    /// Worst credible rise per second.
    pub rises: Option<Exact>,
    /// Worst credible fall per second, positive.
    pub falls: Option<Exact>,
    /// Step in which a witness shows it; above 0.
    pub resolution: Exact,
    /// By how much set points of trips for the same hazard may differ; `None`: they are not compared.
    pub set_points_within: Option<Exact>,
    /// Values for which the plant is designed; `None`: not stated.
    pub designed_for: Option<Interval>,
}

/// A yes/no fact.
#[derive(Debug, Clone)]
pub struct Condition {
    /// Its name.
    pub name: Name,
    /// Its value in normal operation.
    pub normal: bool,
}

/// How two numbers are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Relation {
    /// `<`
    Below,
    /// `<=`
    AtMost,
    /// `=`
    Equal,
    /// `<>`
    Differs,
    /// `>=`
    AtLeast,
    /// `>`
    Above,
}

impl Relation {
    /// Whether `left relation right` holds.
    pub fn holds(self, left: &Exact, right: &Exact) -> bool {
        match self {
            Relation::Below => left < right,
            Relation::AtMost => left <= right,
            Relation::Equal => left == right,
            Relation::Differs => left != right,
            Relation::AtLeast => left >= right,
            Relation::Above => left > right,
        }
    }

    /// The relation that holds exactly where this one does not.
    pub fn negated(self) -> Self {
        match self {
            Relation::Below => Relation::AtLeast,
            Relation::AtMost => Relation::Above,
            Relation::Equal => Relation::Differs,
            Relation::Differs => Relation::Equal,
            Relation::AtLeast => Relation::Below,
            Relation::Above => Relation::AtMost,
        }
    }

    /// The relation that says the same with the sides exchanged.
    pub fn mirrored(self) -> Self {
        match self {
            Relation::Below => Relation::Above,
            Relation::AtMost => Relation::AtLeast,
            Relation::Equal | Relation::Differs => self,
            Relation::AtLeast => Relation::AtMost,
            Relation::Above => Relation::Below,
        }
    }

    /// The operator as written in the language.
    pub fn text(self) -> &'static str {
        match self {
            Relation::Below => "<",
            Relation::AtMost => "<=",
            Relation::Equal => "=",
            Relation::Differs => "<>",
            Relation::AtLeast => ">=",
            Relation::Above => ">",
        }
    }
}

/// A fact about the plant: an atom of predicates and couplings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlantAtom {
    /// Σ coefficient · quantity `relation` bound. Each quantity at most once, no coefficient 0, never empty.
    Linear {
        /// Coefficients and quantities.
        sum: Vec<(Exact, QuantityId)>,
        /// How the sum compares.
        relation: Relation,
        /// With what.
        bound: Exact,
    },
    /// A condition is true.
    Condition(ConditionId),
    /// A mode holds.
    Mode(ModeId),
}

/// A coupling.
#[derive(Debug, Clone)]
pub struct Coupling {
    /// Its name.
    pub name: Name,
    /// What holds in every situation.
    pub holds: Tree<PlantAtom>,
    /// Its text, as written.
    pub text: String,
    /// Role that owns it.
    pub owner: String,
    /// Until when it may be relied on.
    pub expires: Option<Date>,
}

/// A supply.
#[derive(Debug, Clone)]
pub struct Supply {
    /// Its name.
    pub name: Name,
    /// What feeds it; `None`: nothing that is modelled.
    pub fed_by: Option<Tree<SupplyId>>,
    /// How long it lasts alone; `None`: not stated.
    pub lasts: Option<Time>,
    /// Whether it is secured.
    pub secured: bool,
    /// Whether its loss is announced.
    pub monitored: bool,
    /// Where it stands.
    pub cabinet: Option<CabinetId>,
}

/// An element without properties of its own.
#[derive(Debug, Clone)]
pub struct Plain {
    /// Its name.
    pub name: Name,
}

/// What a [`Shared`] element is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SharedKind {
    /// A tank, duct or other store.
    Store,
    /// A machine that several elements share.
    Machine,
    /// A limit sheet or file from which set points come.
    ParameterSource,
    /// A make or firmware family.
    Type,
}

/// A store, machine, parameter source or type.
#[derive(Debug, Clone)]
pub struct Shared {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: SharedKind,
    /// How long a store lasts; `None`: not stated, or no store.
    pub lasts: Option<Time>,
}

/// What makes an element misbehave besides itself.
#[derive(Debug, Clone, Default)]
pub struct Parents {
    /// The cabinet it stands in: when that misbehaves, the element may do anything.
    pub cabinet: Option<CabinetId>,
    /// Its type and what it needs: when one misbehaves, the element is as if it did itself.
    pub shared: Vec<SharedId>,
}

/// Something a signal goes through.
#[derive(Debug, Clone)]
pub struct Conditioner {
    /// Its name.
    pub name: Name,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An interposing relay.
#[derive(Debug, Clone)]
pub struct Relay {
    /// Its name.
    pub name: Name,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}
