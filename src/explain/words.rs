//! The words of a story: values with units, lists, names, positions. Sentences themselves stand in the other modules.

use crate::exact::Exact;
use crate::model::{AtPosition, Device, Element, InputId, Model, Observes, QuantityId};
use crate::replay::{Seen, Value};
use crate::unit::{Kind, Measure, Unit, difference_kind};

use super::Teller;

/// Longest line, in characters.
pub(super) const LONGEST: usize = 190;
/// Longest title that is told with a tag.
const TITLE: usize = 32;
/// Most names in one list.
const NAMES: usize = 6;
/// Longest text of the model that is quoted within a sentence.
const QUOTED: usize = 90;

/// `A`, `A and B`, `A, B and C`; of many the first ones and how many more there are.
pub(super) fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        many if many.len() > NAMES => {
            let shown: Vec<String> = many.iter().take(NAMES - 1).cloned().collect();
            format!("{} and {} more", shown.join(", "), many.len() - shown.len())
        }
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// `A, B and C`, however many: where a technician needs every one of them.
pub(super) fn whole(items: &[String]) -> String {
    match items {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        few => few.concat(),
    }
}

/// The text between backticks where it is short enough to be read aloud.
pub(super) fn quoted(text: &str) -> Option<String> {
    (!text.is_empty() && text.chars().count() <= QUOTED).then(|| format!("`{text}`"))
}

/// Joins the clauses into sentences of at most [`LONGEST`] characters: `A is x and B is y.`
pub(super) fn sentences(clauses: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut open: Vec<String> = Vec::new();
    for clause in clauses {
        let length: usize = open.iter().map(|text| text.chars().count() + 5).sum();
        if !open.is_empty() && (length + clause.chars().count() > LONGEST || open.len() >= 4) {
            lines.push(format!("{}.", list(&open)));
            open.clear();
        }
        open.push(clause.clone());
    }
    if !open.is_empty() {
        lines.push(format!("{}.", list(&open)));
    }
    lines
}

/// The sentence with a capital letter where it starts with a plain word (never in a tag).
pub(super) fn capital(sentence: &str) -> String {
    let plain = ["the", "nothing", "over", "what", "not", "line", "damage", "initiator"];
    let first = sentence.split(' ').next().unwrap_or_default();
    match plain.contains(&first) {
        true => {
            sentence.chars().take(1).flat_map(char::to_uppercase).chain(sentence.chars().skip(1)).collect()
        }
        false => sentence.to_string(),
    }
}

/// A value with its unit; one that is no finite decimal is rounded to the step and says so.
pub(super) fn value(base: &Exact, unit: Unit, step: &Exact) -> String {
    let written = unit.from_base(base);
    let step = &unit.from_base(step) - &unit.from_base(&Exact::zero());
    with_unit(&number(&written, &step), unit)
}

/// A difference of two values with its unit.
pub(super) fn difference(base: &Exact, unit: Unit, step: &Exact) -> String {
    let unit = difference_unit(unit);
    with_unit(&number(&unit.from_base(base), &unit.from_base(step)), unit)
}

/// A temperature difference is in K, an absolute pressure differs by a pressure; everything else keeps its unit.
fn difference_unit(unit: Unit) -> Unit {
    let kind = difference_kind(unit.kind());
    if kind == unit.kind() {
        return unit;
    }
    let scale = |unit: Unit| &unit.from_base(&Exact::int(1)) - &unit.from_base(&Exact::zero());
    let units = kind.units();
    let same = units.iter().find(|other| scale(**other) == scale(unit));
    same.or(units.first()).copied().unwrap_or(unit)
}

fn with_unit(number: &str, unit: Unit) -> String {
    match unit.kind() {
        Kind::Of(Measure::Count) => number.to_string(),
        _ => format!("{number} {unit}"),
    }
}

fn number(written: &Exact, step: &Exact) -> String {
    let text = written.to_string();
    if !text.contains('/') {
        return text;
    }
    // A step that is itself no finite decimal does not help; a hundredth does.
    let hundredth = Exact::ratio(1, 100).unwrap_or_else(|| Exact::int(1));
    let step = if step.is_zero() || step.to_string().contains('/') { &hundredth } else { step };
    let half = Exact::ratio(1, 2).unwrap_or_else(Exact::zero);
    let steps = written.checked_div(step).unwrap_or_else(Exact::zero);
    format!("about {}", &(&steps + &half).floor() * step)
}

/// A value of a quantity.
pub(super) fn of_quantity(model: &Model, quantity: QuantityId, base: &Exact) -> String {
    let quantity = &model.quantities[quantity];
    value(base, quantity.unit, &quantity.resolution)
}

/// An error or tolerance in the unit of a quantity.
pub(super) fn error_of(model: &Model, quantity: QuantityId, base: &Exact) -> String {
    let quantity = &model.quantities[quantity];
    difference(base, quantity.unit, &quantity.resolution)
}

/// What an input shows, in the words for its kind: `24.9 %LFL`, `detected`, `open`, `not pressed`.
pub(super) fn shown(model: &Model, input: InputId, value: &Value) -> String {
    match (&model.inputs[input].observes, value) {
        (Observes::Quantity { quantity, .. }, Value::Number(reading)) => {
            of_quantity(model, *quantity, reading)
        }
        (_, Value::Number(reading)) => reading.to_string(),
        (Observes::Loop { .. }, Value::Asserted(true)) => "open".to_string(),
        (Observes::Loop { .. }, Value::Asserted(false)) => "closed".to_string(),
        (Observes::Stop(_), Value::Asserted(true)) => "pressed".to_string(),
        (Observes::Stop(_), Value::Asserted(false)) => "not pressed".to_string(),
        (Observes::Condition { .. } | Observes::Quantity { .. }, Value::Asserted(true)) => {
            "detected".to_string()
        }
        (Observes::Condition { .. } | Observes::Quantity { .. }, Value::Asserted(false)) => {
            "clear".to_string()
        }
    }
}

/// What a solver sees of an input, as the object of "shows".
pub(super) fn seen(model: &Model, input: InputId, seen: &Seen) -> String {
    match seen {
        Seen::Shows(value) => shown(model, input, value),
        Seen::Bad => "a bad signal".to_string(),
        Seen::MissingTrips | Seen::MissingNoTrip => "nothing".to_string(),
    }
}

/// The name of a position.
pub(super) fn position(model: &Model, at: AtPosition) -> &str {
    model.device_positions(at.device).get(at.position).map_or("in no known position", String::as_str)
}

/// `K1 is closed`; for a position that is called by a verb, `EF-1 is in position run`.
pub(super) fn stands(model: &Model, at: AtPosition) -> String {
    let tag = model.tag(model.device_element(at.device));
    format!("{tag} is {}", adjective(position(model, at)))
}

/// A position as what something *is*.
pub(super) fn adjective(position: &str) -> String {
    match position {
        "run" | "stop" | "start" | "release" | "close" | "act" => format!("in position {position}"),
        _ => position.to_string(),
    }
}

impl Teller<'_> {
    /// The tag of an element, with its title the first time it is a subject.
    pub(super) fn call(&self, element: Element) -> String {
        let name = self.model.name(element);
        let first = self.introduced.borrow_mut().insert(element);
        match &name.title {
            Some(title) if first && title.chars().count() <= TITLE => format!("{} ({title})", name.tag),
            _ => name.tag.clone(),
        }
    }

    /// The tag alone.
    pub(super) fn tag(&self, element: Element) -> &str {
        self.model.tag(element)
    }

    /// The position that a device has in the end.
    pub(super) fn position_of(&self, device: Device) -> AtPosition {
        let position = self.replay.positions.get(&device).copied().unwrap_or_default();
        AtPosition { device, position }
    }
}
