//! Defects around what solvers read, and in what several parts share: supplies, routes, cabinets, taps, links.

use tripproof::syntax::node::Node;

use super::operators::Mutant;
use super::text::{Text, entries, field, items, listed, set, words};

/// What an input observes, in a word: two inputs with the same word stand in for each other.
pub fn observed(text: &Text, tag: &str) -> Option<String> {
    let (_, node) = text.inputs().into_iter().find(|(other, _)| *other == tag)?;
    let direct = ["measures", "detects"].iter().find_map(|name| field(node, name)?.text());
    if let Some(direct) = direct {
        return Some(direct.to_string());
    }
    match field(node, "contacts") {
        Some(contacts) => {
            let opens =
                entries(contacts).into_iter().filter_map(|(.., contact)| field(contact, "opens_on")?.text());
            Some(opens.collect::<Vec<_>>().join(" "))
        }
        None => {
            let stops = text.elements("stops");
            let holds = |stop: &Node| field(stop, "contacts").is_some_and(|all| field(all, tag).is_some());
            stops.into_iter().find(|(_, stop)| holds(stop)).map(|(stop, _)| stop.to_string())
        }
    }
}

/// An element with its tag.
type Tagged<'t> = (&'t str, &'t Node);

/// Pairs of inputs that observe the same and are read by different solvers.
fn pairs(text: &Text) -> Vec<(Tagged<'_>, Tagged<'_>)> {
    let inputs = text.inputs();
    let mut found = Vec::new();
    for (at, one) in inputs.iter().enumerate() {
        for other in &inputs[at + 1..] {
            let readers = |node: &Node| field(node, "wired_to").map(words);
            let same = observed(text, one.0) == observed(text, other.0);
            if same && readers(one.1) != readers(other.1) {
                found.push((*one, *other));
            }
        }
    }
    found
}

/// Every value of a field, each replaced by its twin among those that stand in that field anywhere.
fn to_the_twin(text: &Text, elements: &[(&str, &Node)], name: &str) -> Vec<Mutant> {
    let used: Vec<&str> = elements.iter().filter_map(|(_, node)| field(node, name)?.text()).collect();
    let mut found = Vec::new();
    for (tag, node) in elements {
        let Some(value) = field(node, name) else { continue };
        let Some(twin) = Text::twin(value.text().unwrap(), &used) else { continue };
        found.push(Mutant::new(format!("{tag}: {twin}"), text.with(vec![set(value, twin)])));
    }
    found
}

/// The same for every item of a list.
fn items_to_the_twin(text: &Text, elements: &[(&str, &Node)], name: &str, all: &[&str]) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in elements {
        let Some(list) = field(node, name) else { continue };
        for (at, item) in words(list).iter().enumerate() {
            let Some(twin) = Text::twin(item, all) else { continue };
            let mut new = words(list);
            if new.iter().any(|other| other == twin) {
                continue;
            }
            new[at] = twin.to_string();
            found.push(Mutant::new(format!("{tag}: {item} to {twin}"), text.with(vec![listed(list, &new)])));
        }
    }
    found
}

const SUPPLIED: &[&str] =
    &["logic_solvers", "relays", "conditioners", "links", "mode_inputs", "sensors", "loops", "actuators"];

/// Everything that has a supply, a route or a cabinet.
fn parts(text: &Text) -> Vec<(&str, &Node)> {
    let stops = text.inputs().into_iter().skip(text.all(&["sensors", "loops"]).len());
    text.all(SUPPLIED).into_iter().chain(stops).collect()
}

pub fn swap_supply(text: &Text) -> Vec<Mutant> {
    to_the_twin(text, &parts(text), "supply")
}

pub fn swap_route(text: &Text) -> Vec<Mutant> {
    let parts = parts(text);
    let used: Vec<String> =
        parts.iter().filter_map(|(_, node)| field(node, "route")).flat_map(words).collect();
    let used: Vec<&str> = used.iter().map(String::as_str).collect();
    items_to_the_twin(text, &parts, "route", &used)
}

pub fn swap_cabinet(text: &Text) -> Vec<Mutant> {
    let parts: Vec<_> = parts(text).into_iter().chain(text.elements("overrides")).collect();
    to_the_twin(text, &parts, "cabinet")
}

/// An input stands in the cabinet of a solver that does not read it, where it had no cabinet.
pub fn into_other_cabinet(text: &Text) -> Vec<Mutant> {
    let solvers = text.elements("logic_solvers");
    let mut found = Vec::new();
    for (tag, node) in text.inputs() {
        if field(node, "cabinet").is_some() {
            continue;
        }
        let readers = field(node, "wired_to").map(words).unwrap_or_default();
        let others = solvers.iter().filter(|(solver, _)| !readers.iter().any(|reader| reader == solver));
        let mut cabinets: Vec<&str> =
            others.filter_map(|(_, solver)| field(solver, "cabinet")?.text()).collect();
        cabinets.sort_unstable();
        cabinets.dedup();
        if let Some(cabinet) = cabinets.first() {
            let edit = text.put(node, "cabinet", cabinet);
            found.push(Mutant::new(format!("{tag}: {cabinet}"), text.with(vec![edit])));
        }
    }
    found
}

/// Two inputs that stand in for each other go over one new tap.
pub fn share_tap(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for ((one, first), (other, second)) in pairs(text) {
        let through = |node: &Node| {
            let mut through = field(node, "through").map(words).unwrap_or_default();
            through.push("PLANTED-TAP".into());
            format!("[{}]", through.join(", "))
        };
        let edits = vec![
            text.add("conditioners", "PLANTED-TAP: { title: one tap for both }"),
            text.put(first, "through", &through(first)),
            text.put(second, "through", &through(second)),
        ];
        found.push(Mutant::new(format!("{one} and {other}"), text.with(edits)));
    }
    found
}

/// The signal goes through what the signal of another input goes through.
pub fn swap_tap(text: &Text) -> Vec<Mutant> {
    let all: Vec<&str> = text.elements("conditioners").into_iter().map(|(tag, _)| tag).collect();
    items_to_the_twin(text, &text.inputs(), "through", &all)
}

/// A supply is fed from the feed of another one.
pub fn swap_feed(text: &Text) -> Vec<Mutant> {
    let supplies: Vec<&str> = text.elements("supplies").into_iter().map(|(tag, _)| tag).collect();
    let mut found = Vec::new();
    for (tag, supply) in text.elements("supplies") {
        let Some(feeds) = field(supply, "fed_by") else { continue };
        let now = feeds.text().unwrap();
        for feed in now.split(' ').filter(|word| *word != "AND" && *word != "OR") {
            let free: Vec<&str> =
                supplies.iter().copied().filter(|other| *other != tag && !now.contains(other)).collect();
            let Some(twin) = Text::twin(feed, &free) else { continue };
            let new = now.replace(feed, twin);
            found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(feeds, &new)])));
        }
    }
    found
}

/// A supply needs both feeds, or loses one of them.
pub fn fewer_feeds(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, supply) in text.elements("supplies") {
        let Some(feeds) = field(supply, "fed_by") else { continue };
        let now = feeds.text().unwrap();
        if now.contains(" OR ") {
            let both = now.replace(" OR ", " AND ");
            found.push(Mutant::new(format!("{tag}: {both}"), text.with(vec![set(feeds, &both)])));
            for feed in now.split(" OR ") {
                found.push(Mutant::new(format!("{tag}: {feed}"), text.with(vec![set(feeds, feed)])));
            }
        }
    }
    found
}

/// A supply is no longer secured, or its loss no longer seen.
pub fn supply_not_secured(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, supply) in text.elements("supplies") {
        for name in ["secured", "monitored"] {
            if let Some(edit) = text.without(supply, name) {
                found.push(Mutant::new(format!("{tag}: {name}"), text.with(vec![edit])));
            }
        }
    }
    found
}

/// A bad signal counts as healthy.
pub fn bad_is_healthy(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.inputs() {
        match field(node, "on_bad").and_then(Node::text) {
            Some("no_trip") => {}
            Some(_) => {
                let edit = text.put(node, "on_bad", "no_trip");
                found.push(Mutant::new(format!("{tag}: no_trip"), text.with(vec![edit])));
                let edit = text.without(node, "on_bad").unwrap();
                found.push(Mutant::new(format!("{tag}: not declared"), text.with(vec![edit])));
            }
            None => {}
        }
    }
    found
}

/// A lost signal reads healthy, or keeps its last value.
pub fn loss_is_healthy(text: &Text) -> Vec<Mutant> {
    const HEALTHY: &[(&str, &str)] =
        &[("high", "low"), ("low", "high"), ("detected", "clear"), ("open", "closed")];
    let mut found = Vec::new();
    for (tag, node) in text.inputs() {
        let Some(loss) = field(node, "on_loss") else { continue };
        let now = loss.text().unwrap();
        let turned = HEALTHY.iter().find(|(from, _)| *from == now).map(|(_, to)| *to);
        let plain = field(node, "measures").map_or("clear", |_| "low");
        for new in [turned, (now == "bad").then_some(plain), Some("holds")].into_iter().flatten() {
            found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(loss, new)])));
        }
    }
    found
}

/// Nobody watches the line.
pub fn plain_line(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.inputs().into_iter().chain(text.elements("actuators")) {
        if let Some(line) = field(node, "line").filter(|line| line.text() != Some("plain")) {
            found.push(Mutant::new(tag.to_string(), text.with(vec![set(line, "plain")])));
        }
    }
    found
}

/// The sensor is far less exact than it was: its accuracy times a hundred.
pub fn inexact(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.all(&["sensors", "passive"]) {
        let Some(accuracy) = field(node, "accuracy") else { continue };
        let (number, unit) = accuracy.text().unwrap().split_once(' ').unwrap();
        let number =
            &tripproof::exact::Exact::parse_decimal(number).unwrap() * &tripproof::exact::Exact::int(100);
        let new = format!("{number} {unit}");
        found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(accuracy, &new)])));
    }
    found
}

/// The sensor observes something else of the same unit: that of the other bay, or another condition.
pub fn observes_another(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    let unit = |node: &Node| {
        let range = field(node, "range")?.text()?;
        Some(range.rsplit(' ').next()?.to_string())
    };
    let quantities = text.elements("quantities");
    let conditions: Vec<&str> = text.elements("conditions").into_iter().map(|(tag, _)| tag).collect();
    for (tag, node) in text.elements("sensors") {
        if let Some(measures) = field(node, "measures") {
            let own = unit(node);
            let same: Vec<&str> =
                quantities.iter().filter(|(_, other)| unit(other) == own).map(|(tag, _)| *tag).collect();
            if let Some(twin) = Text::twin(measures.text().unwrap(), &same) {
                found.push(Mutant::new(format!("{tag}: {twin}"), text.with(vec![set(measures, twin)])));
            }
        }
        if let Some(detects) = field(node, "detects")
            && let Some(twin) = Text::twin(detects.text().unwrap(), &conditions)
        {
            found.push(Mutant::new(format!("{tag}: {twin}"), text.with(vec![set(detects, twin)])));
        }
    }
    found
}

/// A loop loses one contact.
pub fn drop_contact(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("loops") {
        let Some(contacts) = field(node, "contacts") else { continue };
        for (contact, ..) in entries(contacts) {
            if let Some(edit) = text.without(contacts, contact) {
                found.push(Mutant::new(format!("{tag}: {contact}"), text.with(vec![edit])));
            }
        }
    }
    found
}

/// Nothing finds the faults of a loop.
pub fn blind_loop(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("loops") {
        if let Some(detection) = field(node, "fault_detection") {
            found.push(Mutant::new(format!("{tag}: none"), text.with(vec![set(detection, "none")])));
        }
        if let Some(edit) = text.without(node, "fault_held") {
            found.push(Mutant::new(format!("{tag}: not held"), text.with(vec![edit])));
        }
    }
    found
}

/// An input goes to another solver.
pub fn rewire(text: &Text) -> Vec<Mutant> {
    let solvers: Vec<&str> = text.elements("logic_solvers").into_iter().map(|(tag, _)| tag).collect();
    items_to_the_twin(text, &text.inputs(), "wired_to", &solvers)
}

/// A link is not supervised, or its loss does not trip.
pub fn weak_link(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, link) in text.elements("links") {
        if let Some(edit) = text.without(link, "supervised") {
            found.push(Mutant::new(format!("{tag}: not supervised"), text.with(vec![edit])));
        }
        for loss in ["no_trip", "holds"] {
            if field(link, "on_loss").is_some_and(|now| now.text() != Some(loss)) {
                let edit = text.put(link, "on_loss", loss);
                found.push(Mutant::new(format!("{tag}: {loss}"), text.with(vec![edit])));
            }
        }
    }
    found
}

/// A mode input tells one solver more, whose own mode input is gone.
pub fn one_selector(text: &Text) -> Vec<Mutant> {
    let inputs = text.elements("mode_inputs");
    let mut found = Vec::new();
    for (at, (one, first)) in inputs.iter().enumerate() {
        for (other, second) in &inputs[at + 1..] {
            let group = |node: &Node| field(node, "group").and_then(Node::text).map(String::from);
            let (Some(tells), Some(others)) = (field(first, "tells"), field(second, "tells")) else {
                continue;
            };
            if group(first) != group(second) || items(others).is_empty() {
                continue;
            }
            let section = text.elements("mode_inputs").len();
            if section < 2 {
                continue;
            }
            let both: Vec<String> = words(tells).into_iter().chain(words(others)).collect();
            let Some(gone) = text.without_entry("mode_inputs", other) else { continue };
            found.push(Mutant::new(
                format!("{one} in place of {other}"),
                text.with(vec![listed(tells, &both), gone]),
            ));
        }
    }
    found
}
