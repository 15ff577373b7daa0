//! The table of units: every unit of the language with its exact factor.
//!
//! Responsible for names and factors only. Rates (`K/min`) are built from this table by `unit`; wrong spellings
//! are in `spelling`.
//!
//! Sources: factors between SI units follow from the prefixes and definitions of the SI Brochure (BIPM, 9th
//! edition: 1 bar = 100 kPa, 1 h = 3600 s, 1 L = 1 dm3, 1 t = 1000 kg; degree Celsius offset 273.15 K).
//! The degree Fahrenheit is given from memory: T/K = (T/degF + 459.67) * 5/9.

use super::Measure::{self, *};

/// A unit of the table.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Named {
    /// As it is written in a model.
    pub(super) name: &'static str,
    /// What it measures.
    pub(super) measure: Measure,
    /// Numerator and denominator of the factor to the base unit of the measure.
    pub(super) factor: (i64, i64),
    /// Numerator and denominator of what is added to the written number *before* it is multiplied.
    pub(super) offset: (i64, i64),
}

const fn u(name: &'static str, measure: Measure, numerator: i64, denominator: i64) -> Named {
    Named { name, measure, factor: (numerator, denominator), offset: (0, 1) }
}

/// All units; within a measure the ones named first in messages stand first.
pub(super) const TABLE: &[Named] = &[
    u("s", Time, 1, 1),
    u("ms", Time, 1, 1000),
    u("min", Time, 60, 1),
    u("h", Time, 3600, 1),
    u("d", Time, 86_400, 1),
    u("us", Time, 1, 1_000_000),
    Named { name: "degC", measure: Temperature, factor: (1, 1), offset: (27_315, 100) },
    Named { name: "degF", measure: Temperature, factor: (5, 9), offset: (45_967, 100) },
    u("K", TemperatureDifference, 1, 1),
    u("bar", Pressure, 100_000, 1),
    u("kPa", Pressure, 1000, 1),
    u("mbar", Pressure, 100, 1),
    u("Pa", Pressure, 1, 1),
    u("hPa", Pressure, 100, 1),
    u("MPa", Pressure, 1_000_000, 1),
    u("barg", Pressure, 100_000, 1),
    u("mbarg", Pressure, 100, 1),
    u("kPag", Pressure, 1000, 1),
    u("bara", AbsolutePressure, 100_000, 1),
    u("kPaa", AbsolutePressure, 1000, 1),
    u("mbara", AbsolutePressure, 100, 1),
    u("hPaa", AbsolutePressure, 100, 1),
    u("Paa", AbsolutePressure, 1, 1),
    u("%LFL", LowerFlammableLimit, 1, 1),
    u("ppm", VolumeFraction, 1, 1),
    u("%vol", VolumeFraction, 10_000, 1),
    u("ppb", VolumeFraction, 1, 1000),
    u("mg/m3", MassConcentration, 1, 1_000_000),
    u("g/m3", MassConcentration, 1, 1000),
    u("kg/m3", MassConcentration, 1, 1),
    u("%RH", RelativeHumidity, 1, 1),
    u("%", Percent, 1, 1),
    u("V", Voltage, 1, 1),
    u("mV", Voltage, 1, 1000),
    u("kV", Voltage, 1000, 1),
    u("A", Current, 1, 1),
    u("mA", Current, 1, 1000),
    u("uA", Current, 1, 1_000_000),
    u("kA", Current, 1000, 1),
    u("ohm", Resistance, 1, 1),
    u("kohm", Resistance, 1000, 1),
    u("Mohm", Resistance, 1_000_000, 1),
    u("W", Power, 1, 1),
    u("kW", Power, 1000, 1),
    u("MW", Power, 1_000_000, 1),
    u("kWh", Energy, 3_600_000, 1),
    u("Wh", Energy, 3600, 1),
    u("MWh", Energy, 3_600_000_000, 1),
    u("J", Energy, 1, 1),
    u("kJ", Energy, 1000, 1),
    u("MJ", Energy, 1_000_000, 1),
    u("Ah", Charge, 3600, 1),
    u("mAh", Charge, 18, 5),
    u("C", Charge, 1, 1),
    u("mF", Capacitance, 1, 1000),
    u("uF", Capacitance, 1, 1_000_000),
    u("F", Capacitance, 1, 1),
    u("kJ/K", HeatCapacity, 1000, 1),
    u("J/K", HeatCapacity, 1, 1),
    u("m", Length, 1, 1),
    u("mm", Length, 1, 1000),
    u("cm", Length, 1, 100),
    u("m2", Area, 1, 1),
    u("L", Volume, 1, 1000),
    u("m3", Volume, 1, 1),
    u("mL", Volume, 1, 1_000_000),
    u("m3/h", Flow, 1, 3600),
    u("L/min", Flow, 1, 60_000),
    u("L/s", Flow, 1, 1000),
    u("m3/s", Flow, 1, 1),
    u("kg", Mass, 1, 1),
    u("g", Mass, 1, 1000),
    u("t", Mass, 1000, 1),
    u("kg/s", MassFlow, 1, 1),
    u("kg/h", MassFlow, 1, 3600),
    u("g/s", MassFlow, 1, 1000),
    u("m/s", Speed, 1, 1),
    u("mm/s", Speed, 1, 1000),
    u("m/s2", Acceleration, 1, 1),
    u("rpm", RotationalSpeed, 1, 1),
    u("1/min", RotationalSpeed, 1, 1),
    u("Hz", Frequency, 1, 1),
    u("kHz", Frequency, 1000, 1),
    u("1/h", AirChanges, 1, 1),
    u("N", Force, 1, 1),
    u("kN", Force, 1000, 1),
    u("Nm", Torque, 1, 1),
    u("uSv/h", DoseRate, 1, 1),
    u("mSv/h", DoseRate, 1000, 1),
    u("Gy/h", AbsorbedDoseRate, 1, 1),
    u("lx", Illuminance, 1, 1),
    u("dB", Sound, 1, 1),
];

/// What a rate may be per.
pub(super) const PER: &[&str] = &["s", "min", "h"];

/// Every measure with the words that name it in a message: for a value, and for its rate of change.
pub(super) const NAMES: &[(Measure, &str, &str)] = &[
    (Time, "time", "time"),
    (Temperature, "temperature", "temperature"),
    (TemperatureDifference, "temperature difference", "temperature"),
    (Pressure, "gauge pressure or pressure difference", "pressure"),
    (AbsolutePressure, "absolute pressure", "pressure"),
    (
        LowerFlammableLimit,
        "fraction of the lower flammable limit",
        "the fraction of the lower flammable limit",
    ),
    (VolumeFraction, "volume fraction", "volume fraction"),
    (MassConcentration, "mass concentration", "mass concentration"),
    (RelativeHumidity, "relative humidity", "relative humidity"),
    (Percent, "plain percentage", "a percentage"),
    (Voltage, "voltage", "voltage"),
    (Current, "current", "current"),
    (Resistance, "resistance", "resistance"),
    (Power, "power", "power"),
    (Energy, "energy", "energy"),
    (Charge, "electric charge", "electric charge"),
    (Capacitance, "capacitance", "capacitance"),
    (HeatCapacity, "heat capacity", "heat capacity"),
    (Length, "length", "length"),
    (Area, "area", "area"),
    (Volume, "volume", "volume"),
    (Flow, "volume flow", "volume flow"),
    (Mass, "mass", "mass"),
    (MassFlow, "mass flow", "mass flow"),
    (Speed, "speed", "speed"),
    (Acceleration, "acceleration", "acceleration"),
    (RotationalSpeed, "rotational speed", "rotational speed"),
    (Frequency, "frequency", "frequency"),
    (AirChanges, "number of air changes", "air changes"),
    (Force, "force", "force"),
    (Torque, "torque", "torque"),
    (DoseRate, "dose rate", "dose rate"),
    (AbsorbedDoseRate, "absorbed dose rate", "absorbed dose rate"),
    (Illuminance, "illuminance", "illuminance"),
    (Sound, "sound level", "sound level"),
    (Count, "number without a unit", "a number"),
];
