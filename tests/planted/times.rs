//! Defects in time: what takes longer, what is there for less long, what people have to leave.

use super::operators::Mutant;
use super::text::{Text, entries, field, set};

/// A number with a unit, ten times as much or a tenth of it; `None` for everything else that may stand there.
fn tenfold(value: &str, more: bool) -> Option<String> {
    let (number, unit) = value.split_once(' ')?;
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let digits = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(part) || unit.contains(' ') {
        return None;
    }
    let (whole, part) = match more {
        true => {
            let (first, rest) = if part.is_empty() { ("0", "") } else { part.split_at(1) };
            (format!("{whole}{first}"), rest.to_string())
        }
        false => {
            let (rest, last) = whole.split_at(whole.len() - 1);
            (if rest.is_empty() { "0".to_string() } else { rest.to_string() }, format!("{last}{part}"))
        }
    };
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let point = if part.is_empty() { "" } else { "." };
    Some(format!("{whole}{point}{part} {unit}"))
}

/// Each of these fields of the elements, ten times as much or a tenth.
fn each(
    text: &Text,
    elements: Vec<(&str, &tripproof::syntax::node::Node)>,
    fields: &[&str],
    more: bool,
) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in elements {
        for name in fields {
            let Some(value) = field(node, name) else { continue };
            let Some(other) = value.text().and_then(|now| tenfold(now, more)) else { continue };
            found.push(Mutant::new(format!("{tag}: {name} {other}"), text.with(vec![set(value, &other)])));
        }
    }
    found
}

/// A stage between the plant and the final element takes ten times as long.
pub fn slower(text: &Text) -> Vec<Mutant> {
    let of_inputs = ["response", "t90", "filter", "confirmation", "transport_delay"];
    let mut found = each(text, text.inputs(), &of_inputs, true);
    found.extend(each(text, text.elements("logic_solvers"), &["reaction"], true));
    found.extend(each(text, text.elements("links"), &["delay"], true));
    found.extend(each(text, text.all(&["actuators", "passive"]), &["moves_in"], true));
    found.extend(each(text, text.elements("effects"), &["delay"], true));
    found.extend(each(text, text.elements("causes"), &["on_delay"], true));
    for (tag, node) in text.elements("causes") {
        for (effect, _, value) in field(node, "delays").map(entries).unwrap_or_default() {
            let Some(other) = value.text().and_then(|now| tenfold(now, true)) else { continue };
            found.push(Mutant::new(format!("{tag}: {effect} {other}"), text.with(vec![set(value, &other)])));
        }
    }
    found
}

/// A quantity changes ten times as fast.
pub fn quicker_plant(text: &Text) -> Vec<Mutant> {
    each(text, text.elements("quantities"), &["rises", "falls"], true)
}

/// A hazard leaves a tenth of its time.
pub fn less_time(text: &Text) -> Vec<Mutant> {
    each(text, text.elements("hazards"), &["within", "harm_after_set_point"], false)
}

/// People need ten times as long.
pub fn slower_people(text: &Text) -> Vec<Mutant> {
    let mut found = each(text, text.elements("hazards"), &["evacuation"], true);
    found.extend(each(text, text.elements("spaces"), &["leaving_takes"], true));
    found.extend(each(text, text.elements("causes"), &["person_needs"], true));
    found
}

fn given(text: &Text, section: &str, name: &str, value: &str) -> Vec<Mutant> {
    let elements = text.elements(section).into_iter();
    elements
        .map(|(tag, node)| Mutant::new(tag.to_string(), text.with(vec![text.put(node, name, value)])))
        .collect()
}

/// A signal ends before most of what it sets is set.
pub fn short_signal(text: &Text) -> Vec<Mutant> {
    given(text, "sensors", "signal_lasts", "10 ms")
}

/// A sensor shows nothing for a while when its supply has returned.
pub fn warms_up(text: &Text) -> Vec<Mutant> {
    given(text, "sensors", "warm_up", "10 min")
}

/// A supply or store lasts a tenth of its time.
pub fn short_supply(text: &Text) -> Vec<Mutant> {
    each(text, text.all(&["supplies", "stores"]), &["lasts"], false)
}

/// Ten times the warning that there is, or a tenth of it.
pub fn other_warning(text: &Text) -> Vec<Mutant> {
    let mut found = each(text, text.elements("suppression"), &["warning"], true);
    found.extend(each(text, text.elements("suppression"), &["warning"], false));
    found
}

/// An effect that waits for others waits a tenth of that.
pub fn too_soon(text: &Text) -> Vec<Mutant> {
    let mut found = each(text, text.elements("effects"), &["delay"], false);
    found.extend(each(text, text.elements("actuators"), &["shortest_time"], false));
    found
}

/// A solver scans ten times as slowly.
pub fn slow_scan(text: &Text) -> Vec<Mutant> {
    each(text, text.elements("logic_solvers"), &["scan"], true)
}

#[test]
fn numbers_are_shifted_by_one_place() {
    for (value, more, less) in [
        ("250 ms", "2500 ms", "25.0 ms"),
        ("2.05 s", "20.5 s", "0.205 s"),
        ("0.5 s", "5 s", "0.05 s"),
        ("0 s", "0 s", "0.0 s"),
        ("7 min", "70 min", "0.7 min"),
    ] {
        assert_eq!(tenfold(value, true).as_deref(), Some(more));
        assert_eq!(tenfold(value, false).as_deref(), Some(less));
    }
    assert_eq!((tenfold("unknown", true), tenfold("1 s or so", true)), (None, None));
}
