//! Calculated values: a formula with the numbers put in, its result, and the fields that take it.

use super::Name;
use crate::unit::Quantity;

/// Digits that count of a number that is shown on one side of the true value.
const DIGITS: u32 = 12;

/// On which side of the true value a value does no harm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// A value that is too great only makes the examination stricter.
    High,
    /// A value that is too small only makes the examination stricter.
    Low,
}

/// A value put into a formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Operand {
    /// Its symbol in the formula.
    pub symbol: String,
    /// What it is.
    pub meaning: String,
    /// The value, with unit; of a calculated one its bounds.
    pub value: String,
    /// Tag of the calculation that it comes from.
    pub from: Option<String>,
}

/// A formula with the numbers put in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Formula {
    /// The word of the language for it.
    pub kind: &'static str,
    /// The formula; each symbol of an operand stands in braces: `t = {R} · {C}`.
    pub text: String,
    /// The values of its symbols.
    pub operands: Vec<Operand>,
    /// What was decided on the way, as sentences.
    pub remarks: Vec<String>,
    /// What it takes to be so.
    pub assumes: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

impl Formula {
    /// The formula in symbols.
    pub fn symbols(&self) -> String {
        self.text.replace(['{', '}'], "")
    }

    /// The formula with the numbers put in.
    pub fn numbers(&self) -> String {
        let mut text = String::new();
        let mut rest = self.text.as_str();
        while let Some((before, after)) = rest.split_once('{') {
            let (symbol, after) = after.split_once('}').unwrap_or((after, ""));
            text.push_str(before);
            let value = self.operands.iter().find(|operand| operand.symbol == symbol);
            match value {
                Some(operand) if is_composed(&operand.value) => {
                    text.push_str(&format!("({})", operand.value))
                }
                Some(operand) => text.push_str(&operand.value),
                None => text.push_str(symbol),
            }
            rest = after;
        }
        text + rest
    }
}

/// Whether a value would read as more than one term in the middle of a formula: below zero, a fraction, two bounds.
fn is_composed(value: &str) -> bool {
    let number = value.split(' ').next().unwrap_or_default();
    number.starts_with('-') || number.contains('/') || value.contains(" to ")
}

/// The result of a formula: the true value lies between the two, which are equal where it is exact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calculated {
    /// The least that it can be.
    pub low: Quantity,
    /// The greatest that it can be.
    pub high: Quantity,
}

impl Calculated {
    /// Whether it is known exactly.
    pub fn is_exact(&self) -> bool {
        self.low.value() == self.high.value()
    }

    /// The bound on a side.
    pub fn on(&self, side: Side) -> &Quantity {
        match side {
            Side::High => &self.high,
            Side::Low => &self.low,
        }
    }

    /// The bound on a side as a decimal that lies on that side too.
    pub fn decimal(&self, side: Side) -> String {
        let (number, unit) = (self.number(side), self.on(side).unit());
        format!("{number} {unit}")
    }

    fn number(&self, side: Side) -> String {
        let quantity = self.on(side);
        let number = quantity.unit().from_base(quantity.value());
        let exact = number.to_string();
        if !exact.contains('/') && exact.trim_start_matches('-').len() <= DIGITS as usize + 2 {
            return exact;
        }
        match side {
            Side::High => number.rounded_up(DIGITS).to_string(),
            Side::Low => number.rounded_down(DIGITS).to_string(),
        }
    }

    /// The result as it stands in another formula: exactly, or as its two bounds.
    pub fn put_in(&self) -> String {
        match self.is_exact() {
            true => self.low.to_string(),
            false => format!("{} to {}", self.number(Side::Low), self.decimal(Side::High)),
        }
    }

    /// A few digits of the result, for people; whether they are all of it.
    pub fn short(&self) -> (String, bool) {
        let unit = self.low.unit();
        let number = unit.from_base(self.low.value());
        let exact = number.to_string();
        if self.is_exact() && !exact.contains('/') && exact.len() <= DIGITS as usize {
            return (format!("{exact} {unit}"), true);
        }
        (format!("{} {unit}", number.rounded(5)), false)
    }
}

/// A field that takes a calculated value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Tag of the element.
    pub tag: String,
    /// Name of the field.
    pub field: &'static str,
    /// The side on which its value does no harm.
    pub side: Side,
    /// The value that it has.
    pub value: Quantity,
}

/// A calculated value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calculation {
    /// Its name.
    pub name: Name,
    /// Role that answers for it.
    pub owner: String,
    /// What the numbers rest on.
    pub evidence: Option<String>,
    /// What it is for, where no field takes it.
    pub used_for: Option<String>,
    /// The formula with the numbers put in.
    pub formula: Formula,
    /// The result.
    pub result: Calculated,
    /// The rounded value that is used instead.
    pub taken_as: Option<Quantity>,
    /// Fields that take it, in the order in which they are read.
    pub taken_by: Vec<Taken>,
    /// Tags of the calculations that it goes into, in the file's order.
    pub goes_into: Vec<String>,
}
