//! Units and quantities: what a number with a unit is worth, exactly, and what may be compared with what.
//!
//! Responsible for the kinds of quantity, the units of each and the conversions between them; `table` holds the
//! factors, `spelling` what is said about a wrong unit, `number` what is said about a wrong number, `read` turns
//! the text of a field into quantities.
//! It does not decide which kind a field needs, nor whether a value is sensible there (a negative time, say).
//!
//! Four separations that a reader may trip over, all deliberate:
//! a temperature is a point (`degC`, `degF`), a temperature difference is in `K` only: as an absolute temperature
//! `K` is refused, because `120 K` is written by accident far more often than -153 degC is meant;
//! gauge pressures and pressure differences are one kind, absolute pressures (`bara`) another, never mixed;
//! `%LFL`, `%vol`, `%RH` and `%` are four kinds; a bare number is a kind of its own, [`Measure::Count`].

pub mod number;
pub mod read;
pub mod spelling;
mod table;

use std::cmp::Ordering;
use std::fmt;

use crate::exact::Exact;
use table::{NAMES, Named, PER, TABLE};

pub use read::{Range, looks_like_quantity, parse_quantity, parse_range, parse_span};
pub use spelling::{Complaint, quantity, resolve};

/// What is measured. The base unit, in which values are kept, stands behind each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Base `s`.
    Time,
    /// A point on the temperature scale; base `K`.
    Temperature,
    /// A difference between two temperatures; base `K`.
    TemperatureDifference,
    /// Gauge pressure or difference of two pressures; base `Pa`.
    Pressure,
    /// Pressure above vacuum; base `Pa` (written `Paa`).
    AbsolutePressure,
    /// Percent of the lower flammable limit; base `%LFL`.
    LowerFlammableLimit,
    /// Share of the volume of a gas; base `ppm`.
    VolumeFraction,
    /// Base `kg/m3`.
    MassConcentration,
    /// Base `%RH`.
    RelativeHumidity,
    /// A share of something else; base `%`.
    Percent,
    /// Base `V`.
    Voltage,
    /// Base `A`.
    Current,
    /// Base `ohm`.
    Resistance,
    /// Base `W`.
    Power,
    /// Base `J`.
    Energy,
    /// Base `C`.
    Charge,
    /// Base `F`.
    Capacitance,
    /// Base `J/K`.
    HeatCapacity,
    /// Base `m`.
    Length,
    /// Base `m2`.
    Area,
    /// Base `m3`.
    Volume,
    /// Base `m3/s`.
    Flow,
    /// Base `kg`.
    Mass,
    /// Base `kg/s`.
    MassFlow,
    /// Base `m/s`.
    Speed,
    /// Base `m/s2`.
    Acceleration,
    /// Base `rpm`.
    RotationalSpeed,
    /// Base `Hz`.
    Frequency,
    /// Base `1/h`.
    AirChanges,
    /// Base `N`.
    Force,
    /// Base `Nm`.
    Torque,
    /// Base `uSv/h`.
    DoseRate,
    /// Base `Gy/h`.
    AbsorbedDoseRate,
    /// Base `lx`.
    Illuminance,
    /// Base `dB`.
    Sound,
    /// A number without a unit.
    Count,
}

/// What sort of quantity a value is: only values of one kind are compared, added or converted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A value of the measure.
    Of(Measure),
    /// How fast a value of the measure changes; base: the measure's base unit per second.
    ///
    /// Build it with [`rate_kind`], which turns rates that have a name of their own (litres per second: a flow)
    /// into that measure.
    RateOf(Measure),
}

impl From<Measure> for Kind {
    fn from(measure: Measure) -> Kind {
        Kind::Of(measure)
    }
}

impl Kind {
    /// The units a value of this kind may be written in, the most usual first; empty for [`Measure::Count`].
    pub fn units(self) -> Vec<Unit> {
        match self {
            Kind::Of(measure) => of_measure(measure).map(|named| Unit { named, per: None }).collect(),
            Kind::RateOf(measure) => {
                let per = PER.iter().filter_map(|name| TABLE.iter().find(|u| u.name == *name));
                per.flat_map(|per| of_measure(measure).map(move |named| Unit { named, per: Some(per) }))
                    .collect()
            }
        }
    }

    /// The kinds that a value may be of, rates of change left out, in the order of the table.
    pub fn all() -> Vec<Kind> {
        NAMES.iter().map(|(measure, ..)| Kind::Of(*measure)).collect()
    }

    /// The unit in which values are kept, if it is one of those that may be written.
    pub fn base(self) -> Option<Unit> {
        let one = Exact::int(1);
        self.units().into_iter().find(|unit| unit.to_base(&one) == one)
    }

    /// Up to three units in one phrase for a message (`bar, kPa or mbar`); "no unit" for a bare number.
    pub fn such_as(self) -> String {
        let names: Vec<String> = self.units().iter().take(3).map(Unit::to_string).collect();
        match names.split_last() {
            None => "no unit".into(),
            Some((only, [])) => only.clone(),
            Some((last, first)) => format!("{} or {last}", first.join(", ")),
        }
    }

    /// The name with its article: `a temperature`, `an absolute pressure`, `a rate of change of pressure`.
    pub fn with_article(self) -> String {
        let name = self.to_string();
        let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        // Words that take no article: "time is due here", not "a time".
        match self {
            Kind::Of(Measure::Energy | Measure::Power | Measure::Torque | Measure::Illuminance) => name,
            _ => format!("{article} {name}"),
        }
    }
}

impl fmt::Display for Kind {
    /// The name without article, in the words of the trade.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (Kind::Of(measure) | Kind::RateOf(measure)) = self;
        let (value, rate) = NAMES
            .iter()
            .find(|(m, ..)| m == measure)
            .map_or(("value", "value"), |(_, value, rate)| (value, rate));
        match self {
            Kind::Of(_) => f.write_str(value),
            Kind::RateOf(_) => write!(f, "rate of change of {rate}"),
        }
    }
}

fn of_measure(measure: Measure) -> impl Iterator<Item = &'static Named> {
    TABLE.iter().filter(move |named| named.measure == measure)
}

/// The kind of the difference between two values of a kind (an accuracy, a margin).
///
/// Two temperatures differ by a temperature difference, two absolute pressures by a pressure difference; every
/// other difference is of the kind itself.
pub fn difference_kind(kind: Kind) -> Kind {
    match kind {
        Kind::Of(Measure::Temperature) => Kind::Of(Measure::TemperatureDifference),
        Kind::Of(Measure::AbsolutePressure) => Kind::Of(Measure::Pressure),
        other => other,
    }
}

/// The kind of the rate of change of a kind; `None` for a time, a bare number and what is a nameless rate already.
///
/// Rates with a name become that measure: length gives speed, speed gives acceleration, volume gives flow, mass gives
/// mass flow, charge gives current, energy gives power. The base units are coherent, so values need no conversion.
pub fn rate_kind(kind: Kind) -> Option<Kind> {
    let Kind::Of(measure) = difference_kind(kind) else { return None };
    match measure {
        Measure::Time | Measure::Count => None,
        Measure::Length => Some(Measure::Speed.into()),
        Measure::Volume => Some(Measure::Flow.into()),
        Measure::Mass => Some(Measure::MassFlow.into()),
        Measure::Charge => Some(Measure::Current.into()),
        Measure::Energy => Some(Measure::Power.into()),
        Measure::Speed => Some(Measure::Acceleration.into()),
        other => Some(Kind::RateOf(other)),
    }
}

/// A unit as written: one of the table, or one of the table per `s`, `min` or `h`, or none (for a bare number).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Unit {
    named: &'static Named,
    per: Option<&'static Named>,
}

/// The unit of a bare number.
static NO_UNIT: Named = Named { name: "", measure: Measure::Count, factor: (1, 1), offset: (0, 1) };

impl Unit {
    /// The unit of a bare number; prints as nothing.
    pub fn none() -> Unit {
        Unit { named: &NO_UNIT, per: None }
    }

    /// Every unit written exactly like this; more than one if a name stands for several kinds.
    ///
    /// A name of the table goes before a rate (`m3/h` is a flow). Empty if there is no such unit.
    pub fn find(text: &str) -> Vec<Unit> {
        let named: Vec<Unit> =
            TABLE.iter().filter(|u| u.name == text).map(|named| Unit { named, per: None }).collect();
        if !named.is_empty() {
            return named;
        }
        let Some((head, per)) = text.rsplit_once('/') else { return Vec::new() };
        let Some(per) = TABLE.iter().find(|u| u.name == per && PER.contains(&u.name)) else {
            return Vec::new();
        };
        let rated = |named: &&'static Named| {
            let kind = Kind::Of(named.measure);
            named.name == head && rate_kind(kind).is_some() && difference_kind(kind) == kind
        };
        TABLE.iter().filter(rated).map(|named| Unit { named, per: Some(per) }).collect()
    }

    /// What it measures.
    pub fn kind(self) -> Kind {
        let kind = Kind::Of(self.named.measure);
        match self.per {
            None => kind,
            Some(_) => rate_kind(kind).unwrap_or(Kind::RateOf(self.named.measure)),
        }
    }

    /// A number written in this unit, in the base unit of its kind.
    pub fn to_base(self, written: &Exact) -> Exact {
        let shifted = written + &exact(self.named.offset);
        &shifted * &self.scale()
    }

    /// A value in the base unit of the kind, as the number to write before this unit.
    pub fn from_base(self, value: &Exact) -> Exact {
        let shifted = value.checked_div(&self.scale()).unwrap_or_else(Exact::zero);
        &shifted - &exact(self.named.offset)
    }

    fn scale(self) -> Exact {
        let factor = exact(self.named.factor);
        self.per.and_then(|per| factor.checked_div(&exact(per.factor))).unwrap_or(factor)
    }
}

/// The denominators of the table are literals; a test holds them positive.
fn exact((numerator, denominator): (i64, i64)) -> Exact {
    Exact::ratio(numerator, denominator).unwrap_or_else(Exact::zero)
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.per {
            None => f.write_str(self.named.name),
            Some(per) => write!(f, "{}/{}", self.named.name, per.name),
        }
    }
}

/// A physical value.
///
/// Equality compares the unit as written too; use [`Quantity::compare`] to compare values.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Quantity {
    value: Exact,
    unit: Unit,
}

impl Quantity {
    /// The number `written` before `unit`.
    pub fn written(written: &Exact, unit: Unit) -> Quantity {
        Quantity { value: unit.to_base(written), unit }
    }

    /// A value in the base unit of the unit's kind, to be printed in `unit`.
    pub fn from_base(value: Exact, unit: Unit) -> Quantity {
        Quantity { value, unit }
    }

    /// The value in the base unit of its kind (see [`Measure`]).
    pub fn value(&self) -> &Exact {
        &self.value
    }

    /// What sort of quantity it is.
    pub fn kind(&self) -> Kind {
        self.unit.kind()
    }

    /// The unit it was written in.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// The same value in another unit; `None` if that is of another kind.
    pub fn to(&self, unit: Unit) -> Option<Quantity> {
        (unit.kind() == self.kind()).then(|| Quantity { value: self.value.clone(), unit })
    }

    /// Compares the values; `None` if the kinds differ.
    pub fn compare(&self, other: &Quantity) -> Option<Ordering> {
        (self.kind() == other.kind()).then(|| self.value.cmp(&other.value))
    }
}

impl fmt::Display for Quantity {
    /// Exactly, in the unit as written. What was read from a model is always a decimal; a computed value that is
    /// no finite decimal in its unit prints as a fraction (`1/3 h`).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = self.unit.from_base(&self.value);
        if self.unit.kind() == Kind::Of(Measure::Count) {
            return write!(f, "{number}");
        }
        write!(f, "{number} {}", self.unit)
    }
}

#[cfg(test)]
mod tests;
