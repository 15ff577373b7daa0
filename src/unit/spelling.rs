//! From the text of a unit to the unit, or to what is said about a wrong one.
//!
//! Responsible for unknown units, units spelt another way and units of the wrong kind, and for putting number and
//! unit together. It knows nothing of places in a file: it returns [`Complaint`]s, which the callers place.

use super::{Kind, Measure, Quantity, Unit, difference_kind};
use crate::exact::Exact;
use crate::problem::{Problem, nearest};
use crate::source::Span;

/// A problem that has no place yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// Class, as in [`Problem`].
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// A few words for under the marked text.
    pub label: String,
    /// The way out.
    pub help: Option<String>,
}

impl Complaint {
    /// A complaint without help.
    pub fn new(code: &'static str, message: impl Into<String>, label: impl Into<String>) -> Self {
        Complaint { code, message: message.into(), label: label.into(), help: None }
    }

    /// Adds the way out.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Puts it in its place.
    pub fn at(self, span: Span) -> Problem {
        Problem {
            span,
            code: self.code,
            message: self.message,
            label: self.label,
            help: self.help,
            also: Vec::new(),
        }
    }
}

/// A piece of the file in backticks for a message, cut at 48 characters; control characters are shown as `?`.
pub fn shown(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    match clean.char_indices().nth(48) {
        Some((cut, _)) => format!("`{}…`", clean.get(..cut).unwrap_or("")),
        None => format!("`{clean}`"),
    }
}

/// Other spellings of units, each with the one that is read.
const ALIASES: &[(&str, &[&str])] = &[
    ("%LFL", &["%LEL", "LEL", "LFL", "%UEG", "%LIE", "%lfl", "percentLFL"]),
    ("degC", &["°C", "ºC", "℃", "Celsius", "celsius", "gradC", "oC"]),
    ("degF", &["°F", "ºF", "℉", "Fahrenheit"]),
    ("K", &["°K", "degK", "Kelvin", "kelvin"]),
    ("s", &["sec", "secs", "second", "seconds"]),
    ("ms", &["msec", "msecs", "millisecond", "milliseconds"]),
    ("us", &["µs", "μs", "usec"]),
    ("min", &["minute", "minutes", "mins"]),
    ("h", &["hr", "hrs", "hour", "hours"]),
    ("d", &["day", "days"]),
    ("uA", &["µA", "μA"]),
    ("uF", &["µF", "μF"]),
    ("m/s2", &["m/s²", "m/s^2"]),
    ("A", &["amp", "amps", "ampere", "amperes"]),
    ("V", &["volt", "volts", "VDC", "Vdc", "VAC", "Vac"]),
    ("ohm", &["Ω", "Ω", "ohms"]),
    ("kohm", &["kΩ", "kΩ", "kohms"]),
    ("Mohm", &["MΩ", "MΩ", "Mohms"]),
    ("m2", &["m²", "m^2", "sqm"]),
    ("m3", &["m³", "m^3", "cbm"]),
    ("m3/h", &["cbm/h"]),
    ("L", &["l", "ltr", "litre", "litres", "liter", "liters"]),
    ("L/min", &["lpm", "LPM"]),
    ("mL", &["ml"]),
    ("%vol", &["vol%", "vol.%", "Vol%", "vol-%", "Vol-%", "%v/v", "%CO2", "%O2", "%H2", "%CO"]),
    ("ppm", &["ppmv"]),
    ("%RH", &["RH", "%rF", "%r.F."]),
    ("%", &["percent", "pct"]),
    ("rpm", &["r/min", "U/min", "rev/min"]),
    ("uSv/h", &["µSv/h", "μSv/h"]),
    ("mg/m3", &["mg/m³"]),
    ("g/m3", &["g/m³"]),
    ("dB", &["dBA", "dB(A)"]),
    ("lx", &["lux"]),
    ("Nm", &["N·m", "N*m", "N.m"]),
    ("1/h", &["ACH", "/h", "h-1"]),
    ("1/min", &["/min", "min-1"]),
    ("barg", &["bar(g)"]),
    ("bara", &["bar(a)"]),
    ("kPag", &["kPa(g)"]),
    ("kPaa", &["kPa(a)"]),
];

/// Words for long times that have no one length.
const CALENDAR: &[&str] = &["week", "weeks", "month", "months", "year", "years", "a", "yr"];

/// The one spelling of a unit: the text itself if it is a unit, else the unit it is another spelling of.
///
/// Looks through spaces (`% LFL`), aliases (`°C`, `sec`), aliases inside rates (`°C/sec` gives `K/s`).
pub fn spelling_of(text: &str) -> Option<String> {
    if !Unit::find(text).is_empty() {
        return Some(text.to_string());
    }
    let joined: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let known = |text: &str| (!Unit::find(text).is_empty()).then(|| text.to_string());
    // Full words are taken in any case of letters; short ones are not, for `ml` is not `Ml`.
    let same =
        |wrong: &str, text: &str| wrong == text || (text.len() > 2 && wrong.eq_ignore_ascii_case(text));
    let alias = |text: &str| {
        let found = ALIASES.iter().find(|(_, wrong)| wrong.iter().any(|wrong| same(wrong, text)));
        known(text).or_else(|| found.map(|(right, _)| right.to_string()))
    };
    alias(&joined).or_else(|| {
        let (head, per) = joined.rsplit_once('/')?;
        let head = alias(head)?;
        let head = match head.as_str() {
            "degC" => "K",
            "bara" | "barg" => "bar",
            "kPaa" => "kPa",
            other => other,
        };
        known(&format!("{head}/{}", alias(per)?))
    })
}

/// The unit of this text for a value of the given kind.
///
/// Errors: no such unit (with the right or the nearest spelling), or a unit of another kind.
pub fn resolve(text: &str, kind: Kind) -> Result<Unit, Complaint> {
    let found = Unit::find(text);
    if let Some(unit) = found.iter().find(|unit| unit.kind() == kind) {
        return Ok(*unit);
    }
    match found.first() {
        Some(other) => Err(wrong_kind(*other, kind)),
        None => Err(unknown(text, Some(kind))),
    }
}

/// What is said about a text that is no unit. Without a kind and a near spelling it has no help: the caller knows more.
pub fn unknown(text: &str, kind: Option<Kind>) -> Complaint {
    let complaint = Complaint::new("unknown-unit", format!("{} is not a unit", shown(text)), "unknown unit");
    if CALENDAR.contains(&text) {
        return complaint
            .help("write days, `d`: weeks, months and years are not used, most have no one length");
    }
    if let Some(right) = spelling_of(text) {
        let single = right == "%LFL" && !text.contains(' ');
        return complaint.help(if single {
            "write %LFL: the lower flammable limit has one name here".to_string()
        } else {
            format!("write {right}")
        });
    }
    let names = |units: Vec<Unit>| units.iter().map(Unit::to_string).collect::<Vec<_>>();
    let fitting = kind.map(|k| names(k.units())).unwrap_or_default();
    let all: Vec<String> = super::TABLE.iter().map(|u| u.name.to_string()).collect();
    let near = nearest(text, fitting.iter().map(String::as_str)).or_else(|| {
        nearest(text, all.iter().map(String::as_str))
            .filter(|near| text.len() > 1 || near.eq_ignore_ascii_case(text))
    });
    match (near, kind) {
        (Some(near), _) => complaint.help(format!("did you mean {near}?")),
        (None, Some(kind)) => complaint.help(due(kind)),
        (None, None) => complaint,
    }
}

fn due(kind: Kind) -> String {
    match kind {
        Kind::Of(Measure::Count) => "write the number alone".into(),
        _ => format!("write a unit such as {}", kind.such_as()),
    }
}

fn wrong_kind(unit: Unit, kind: Kind) -> Complaint {
    let message = match kind {
        Kind::Of(Measure::Count) => format!("`{unit}` does not belong here: a number without a unit is due"),
        _ => format!("`{unit}` is a unit of {}, but {} is due", plain(unit.kind()), kind.with_article()),
    };
    let help = match (unit.to_string().as_str(), kind) {
        ("degC" | "degF", Kind::Of(Measure::TemperatureDifference)) => {
            "a difference is written in K: `3 K`, not `3 degC`".into()
        }
        ("C", Kind::Of(Measure::Temperature)) => "C is the coulomb; write degC".into(),
        ("F", Kind::Of(Measure::Temperature)) => "F is the farad; write degF".into(),
        ("m", Kind::Of(Measure::Time)) => "m is the metre; write min".into(),
        (_, Kind::Of(Measure::AbsolutePressure)) if unit.kind() == Kind::Of(Measure::Pressure) => {
            format!("gauge is not absolute; write a unit such as {}", kind.such_as())
        }
        (_, Kind::Of(Measure::Pressure)) if unit.kind() == Kind::Of(Measure::AbsolutePressure) => {
            format!("absolute is not gauge; write a unit such as {}", kind.such_as())
        }
        _ => due(kind),
    };
    Complaint::new("wrong-kind-of-unit", message, format!("{} is due", kind.with_article())).help(help)
}

/// A temperature in kelvin. It is refused, for hardly anybody who writes `120 K` means -153 degC.
fn kelvin(number: &Exact) -> Complaint {
    let celsius = &(number - &Exact::ratio(27_315, 100).unwrap_or_else(Exact::zero));
    let message = match number.is_negative() {
        true => format!("`{number} K` is below absolute zero; a temperature is written in degC"),
        false => format!(
            "`{number} K` would be `{celsius} degC`: a temperature is written in degC, a difference in K"
        ),
    };
    let help = match number.is_negative() {
        true => format!("write `{number} degC`"),
        false => format!("write `{number} degC`; if the absolute temperature is meant, `{celsius} degC`"),
    };
    Complaint::new("temperature-in-kelvin", message, "a temperature is due").help(help)
}

/// A unit of a temperature difference is called one of temperature, as people do.
fn plain(kind: Kind) -> String {
    if difference_kind(Kind::Of(Measure::Temperature)) == kind {
        "temperature".into()
    } else {
        kind.to_string()
    }
}

/// Number and unit as written, put together as a value of the kind that is due.
///
/// Errors: no unit where one is due (the help names units that would fit), what [`resolve`] refuses, and a value
/// below absolute zero or below vacuum. The first concerns the number, the second the unit, the last both;
/// callers that mark them apart look at `code`: `unit-missing`, `below-zero`, or one of the unit's.
pub fn quantity(number: &Exact, unit: Option<&str>, kind: Kind) -> Result<Quantity, Complaint> {
    let unit = match unit {
        Some(text) => resolve(text, kind).map_err(|complaint| match (text, kind) {
            ("degC", Kind::Of(Measure::TemperatureDifference)) => {
                complaint.help(format!("a difference is in K: write `{number} K`"))
            }
            ("K", Kind::Of(Measure::Temperature)) => kelvin(number),
            _ => complaint,
        })?,
        None if kind == Kind::Of(Measure::Count) => Unit::none(),
        None => {
            let message = format!("`{number}` has no unit: {} is due", kind.with_article());
            return Err(Complaint::new("unit-missing", message, "unit missing").help(due(kind)));
        }
    };
    let quantity = Quantity::written(number, unit);
    let lowest = match kind {
        Kind::Of(Measure::Temperature) => "absolute zero (0 K, -273.15 degC)",
        Kind::Of(Measure::AbsolutePressure) => {
            "vacuum; a gauge pressure is written in a unit such as bar or barg"
        }
        _ => return Ok(quantity),
    };
    if quantity.value().is_negative() {
        let message = format!("`{quantity}` is below {lowest}");
        let help = "correct the number, its sign or its unit";
        return Err(Complaint::new("below-zero", message, "there is no such value").help(help));
    }
    Ok(quantity)
}
