//! Reads the fields that hold a physical value (`40 %LFL`) or a range of them (`-30 .. 70 degC`).
//!
//! Responsible for the form of such a field and for marking the exact part that is wrong. Numbers are judged in
//! `number`, units in `spelling`. The scalar must not be `broken`: its problem is recorded already.

use super::number::{complain, read_number, repair};
use super::spelling::{Complaint, quantity, shown, spelling_of};
use super::{Kind, Measure, Quantity};
use crate::exact::Exact;
use crate::problem::Problem;
use crate::source::Scalar;

/// Two values of one kind, the first not above the second; both ends belong to the range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Range {
    /// The lower end.
    pub low: Quantity,
    /// The upper end.
    pub high: Quantity,
}

/// Part of a scalar's text: byte offsets and the text itself, without the blanks around it.
#[derive(Clone, Copy)]
struct Part<'a> {
    start: usize,
    text: &'a str,
}

impl<'a> Part<'a> {
    fn of(scalar: &'a Scalar) -> Part<'a> {
        Part { start: 0, text: &scalar.text }.trimmed()
    }

    fn trimmed(self) -> Part<'a> {
        let text = self.text.trim_start();
        Part { start: self.start + self.text.len() - text.len(), text: text.trim_end() }
    }

    /// The parts before and after the byte range, trimmed.
    fn split(self, at: usize, width: usize) -> (Part<'a>, Part<'a>) {
        let before = Part { start: self.start, text: self.text.get(..at).unwrap_or("") };
        let after = Part { start: self.start + at + width, text: self.text.get(at + width..).unwrap_or("") };
        (before.trimmed(), after.trimmed())
    }

    fn mark(self, scalar: &Scalar, complaint: Complaint) -> Problem {
        complaint.at(scalar.part(self.start, self.start + self.text.len()))
    }
}

/// Reads one value of the kind that is due.
///
/// Errors, always one (a list, so that all readers can be gathered alike): see [`read_number`] for the number and
/// [`quantity`] for the unit; each marks its own part.
pub fn parse_quantity(scalar: &Scalar, kind: Kind) -> Result<Quantity, Vec<Problem>> {
    let part = Part::of(scalar);
    if part.text.is_empty() {
        let message = format!("nothing is written here: {} is due", kind.with_article());
        let complaint = Complaint::new("value-missing", message, "value missing");
        return Err(vec![part.mark(scalar, complaint.help(example(kind)))]);
    }
    let (number, unit) = number_and_unit(scalar, part)?;
    finish(scalar, part, &number, unit, kind)
}

/// Reads a range: `0 .. 100 %LFL`, `-30 .. 70 degC`, `-30 degC .. 70 degC`; each end may have its own unit, and a
/// lower end without one has the unit of the upper end.
///
/// Errors: those of both ends, all of them; no `..`; ends the wrong way round or equal.
pub fn parse_range(scalar: &Scalar, kind: Kind) -> Result<Range, Vec<Problem>> {
    let range = parse_span(scalar, kind)?;
    if range.low.value() == range.high.value() {
        let message = format!("the range ends where it starts, at `{}`", range.high);
        let complaint = Complaint::new("range-order", message, "no range");
        let help = "write two different ends; only what is normal may be one value";
        return Err(vec![Part::of(scalar).mark(scalar, complaint.help(help))]);
    }
    Ok(range)
}

/// As [`parse_range`], for what is normal: the ends may be equal (`0 .. 0 kg/h`: nothing flows then).
pub fn parse_span(scalar: &Scalar, kind: Kind) -> Result<Range, Vec<Problem>> {
    let part = Part::of(scalar);
    let Some(dots) = part.text.find("..") else { return Err(vec![no_dots(scalar, part, kind)]) };
    let (low, high) = part.split(dots, 2);
    for end in [low, high] {
        if end.text.is_empty() || end.text.contains("..") || end.text.starts_with(". ") {
            let complaint =
                Complaint::new("range-form", "a range has one lower and one upper end", "not a range");
            return Err(vec![part.mark(scalar, complaint.help(range_example(kind)))]);
        }
    }
    let (low_read, high_read) = (number_and_unit(scalar, low), number_and_unit(scalar, high));
    let high_unit = high_read.as_ref().ok().and_then(|(_, unit)| *unit);
    let high_value = high_read.and_then(|(number, unit)| finish(scalar, high, &number, unit, kind));
    let low_value = match low_read {
        // Where the upper end has no right unit to lend, its own problem says so; one is enough.
        Ok((_, None)) if high_value.is_err() => Ok(None),
        Ok((number, Some(unit))) => finish(scalar, low, &number, Some(unit), kind).map(Some),
        Ok((number, None)) => {
            let lent = quantity(&number, high_unit.map(|u| u.text), kind);
            lent.map(Some).map_err(|complaint| vec![low.mark(scalar, complaint)])
        }
        Err(problem) => Err(problem),
    };
    match (low_value, high_value) {
        (Ok(Some(low)), Ok(high)) if low.value() <= high.value() => Ok(Range { low, high }),
        (Ok(Some(low)), Ok(high)) => {
            let message = format!("the range starts at `{low}`, which is above its end `{high}`");
            let complaint = Complaint::new("range-order", message, "lower end first");
            Err(vec![part.mark(scalar, complaint.help("write the lower end first"))])
        }
        (low, high) => Err([low.err(), high.err()].into_iter().flatten().flatten().collect()),
    }
}

fn example(kind: Kind) -> String {
    match kind.units().first() {
        Some(unit) => format!("write a number and a unit, such as `5 {unit}`"),
        None => "write a number".into(),
    }
}

fn range_example(kind: Kind) -> String {
    match kind.units().first() {
        Some(unit) => format!("write both ends and the unit: `low .. high {unit}`"),
        None => "write `low .. high`".into(),
    }
}

fn no_dots(scalar: &Scalar, part: Part, kind: Kind) -> Problem {
    let complaint =
        Complaint::new("range-form", format!("{} is not a range", shown(part.text)), "not a range");
    for sign in [" - ", " to ", "–", "…", " bis ", "—"] {
        if let Some((low, high)) = part.text.split_once(sign) {
            return part.mark(scalar, complaint.help(format!("write `{} .. {}`", low.trim(), high.trim())));
        }
    }
    part.mark(scalar, complaint.help(range_example(kind)))
}

/// Parts `40 %LFL` into the number and the text of the unit, if there is one.
fn number_and_unit<'a>(scalar: &Scalar, part: Part<'a>) -> Result<(Exact, Option<Part<'a>>), Vec<Problem>> {
    let end = part.text.find(char::is_whitespace).unwrap_or(part.text.len());
    let (word, rest) = part.split(end, 0);
    if let Ok(number) = read_number(word.text) {
        return Ok((number, (!rest.text.is_empty()).then_some(rest)));
    }
    if let Some(right) = joined(part.text).or_else(|| sign_apart(word.text, rest.text)) {
        let message = format!("{} is not a number and a unit", shown(part.text));
        let complaint = Complaint::new("number-form", message, "not read as a value");
        return Err(vec![part.mark(scalar, complaint.help(format!("write `{right}`")))]);
    }
    let unit = spelling_of(rest.text).unwrap_or_default();
    Err(vec![word.mark(scalar, complain(word.text, &unit))])
}

/// `6bar` as `6 bar`, `5,5V` as `5.5 V`, `25%LEL` as `25 %LFL`; `None` if it is not such a word.
fn joined(text: &str) -> Option<String> {
    let number_end = text.find(|c: char| !(c.is_ascii_digit() || "+-−±.,_'".contains(c)))?;
    let (number, unit) = text.split_at(number_end);
    let number = if Exact::parse_decimal(number).is_some() { number.to_string() } else { repair(number)? };
    if unit.starts_with(char::is_whitespace) {
        return None;
    }
    Some(format!("{number} {}", spelling_of(unit)?))
}

/// `- 30 degC` as `-30 degC`.
fn sign_apart(word: &str, rest: &str) -> Option<String> {
    let right = format!("-{rest}");
    let number = right.split_whitespace().next()?;
    (matches!(word, "-" | "−") && Exact::parse_decimal(number).is_some()).then_some(right)
}

/// The value that a word which was taken for a tag may have been meant as: `6bar` gives `6 bar`, `1e3` gives
/// `1000`. `None` for a word that looks like no value (`24V-A`).
///
/// A tag may look like a value too (`24V`), so ask only about words that turn out to be no tag of the model.
pub fn looks_like_quantity(text: &str) -> Option<String> {
    let digit_first = text.starts_with(|c: char| c.is_ascii_digit() || "+-.−".contains(c));
    if !digit_first {
        return None;
    }
    joined(text).or_else(|| repair(text))
}

fn finish(
    scalar: &Scalar,
    part: Part,
    number: &Exact,
    unit: Option<Part>,
    kind: Kind,
) -> Result<Quantity, Vec<Problem>> {
    quantity(number, unit.map(|u| u.text), kind).map_err(|complaint| {
        let marked = match (complaint.code, unit) {
            ("below-zero", _) | (_, None) => part,
            (_, Some(unit)) => unit,
        };
        let bare = complaint.code == "unit-missing" && kind != Kind::Of(Measure::Count);
        let help = bare.then(|| kind.units()).and_then(|units| units.first().map(|u| u.to_string()));
        let mut problem = marked.mark(scalar, complaint);
        if let Some(unit) = help {
            problem.help = problem.help.map(|old| format!("{old}: `{number} {unit}`"));
        }
        vec![problem]
    })
}
