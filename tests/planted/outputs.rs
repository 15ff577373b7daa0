//! Defects of final elements, doors, releases, and in what is said of plant and hazards.

use super::operators::Mutant;
use super::text::{Text, entries, field, listed, quoted, set, words};

pub fn flip_without_energy(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(now) = field(node, "without_energy") else { continue };
        let positions = words(field(node, "positions").unwrap());
        let mut others: Vec<&String> =
            positions.iter().filter(|position| Some(position.as_str()) != now.text()).collect();
        let stays = "stays".to_string();
        if positions.len() == 2 && now.text() != Some("stays") {
            others.push(&stays);
        }
        for other in others {
            found.push(Mutant::new(format!("{tag}: {other}"), text.with(vec![set(now, other)])));
        }
    }
    found
}

pub fn flip_rest(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.all(&["actuators", "passive"]) {
        let Some(now) = field(node, "rest") else { continue };
        for other in words(field(node, "positions").unwrap()) {
            if Some(other.as_str()) != now.text() {
                found.push(Mutant::new(format!("{tag}: {other}"), text.with(vec![set(now, &other)])));
            }
        }
    }
    found
}

/// The process control may operate what only the protection did.
pub fn process_operates(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let protection = field(node, "operated_by").filter(|now| now.text() == Some("protection"));
        let (Some(by), Some(rest)) = (protection, text.without(node, "rest")) else { continue };
        found.push(Mutant::new(tag.to_string(), text.with(vec![set(by, "process"), rest])));
    }
    found
}

pub fn change_wiring(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(now) = field(node, "wiring") else { continue };
        let word = now.text().unwrap();
        let new = match word {
            "series" => "parallel".to_string(),
            "parallel" => "series".to_string(),
            other => other.replace(" AND ", " \u{1} ").replace(" OR ", " AND ").replace(" \u{1} ", " OR "),
        };
        found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(now, &new)])));
    }
    found
}

/// One of several drivers is left out.
pub fn drop_driver(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(list) = field(node, "drivers") else { continue };
        let drivers = words(list);
        for driver in drivers.iter().filter(|_| drivers.len() > 1) {
            let rest: Vec<String> = drivers.iter().filter(|other| *other != driver).cloned().collect();
            let mut edits = vec![listed(list, &rest)];
            if rest.len() == 1 {
                edits.extend(text.without(node, "wiring"));
            }
            found.push(Mutant::new(format!("{tag}: {driver}"), text.with(edits)));
        }
    }
    found
}

/// Another solver drives the actuator.
pub fn swap_driver(text: &Text) -> Vec<Mutant> {
    let solvers: Vec<&str> = text.elements("logic_solvers").into_iter().map(|(tag, _)| tag).collect();
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(list) = field(node, "drivers") else { continue };
        let drivers = words(list);
        for (at, driver) in drivers.iter().enumerate() {
            let free: Vec<&str> =
                solvers.iter().copied().filter(|other| !drivers.iter().any(|now| now == other)).collect();
            if let Some(other) = Text::twin(driver, &free) {
                let mut new = drivers.clone();
                new[at] = other.to_string();
                let mut edits = vec![listed(list, &new)];
                edits.extend(text.without(node, "relays"));
                found.push(Mutant::new(format!("{tag}: {driver} to {other}"), text.with(edits)));
            }
        }
    }
    found
}

/// One more driver, in parallel or in series with the others.
pub fn add_driver(text: &Text) -> Vec<Mutant> {
    let solvers: Vec<&str> = text.elements("logic_solvers").into_iter().map(|(tag, _)| tag).collect();
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(list) = field(node, "drivers") else { continue };
        let drivers = words(list);
        let Some(other) = solvers.iter().find(|other| !drivers.iter().any(|now| now == *other)) else {
            continue;
        };
        if drivers.len() != 1 {
            continue;
        }
        for wiring in ["parallel", "series"] {
            let new = vec![drivers[0].clone(), other.to_string()];
            let edits = vec![listed(list, &new), text.put(node, "wiring", wiring)];
            found.push(Mutant::new(format!("{tag}: {other} in {wiring}"), text.with(edits)));
        }
    }
    found
}

/// Two final elements of one safe state need one new store.
pub fn share_store(text: &Text) -> Vec<Mutant> {
    let (mut found, model) = (Vec::new(), &text.model);
    let actuators = text.all(&["actuators", "passive"]);
    let mut pairs = Vec::new();
    for (_, hazard) in model.hazards.iter() {
        let mut tags: Vec<String> = hazard
            .safe_state
            .atoms()
            .into_iter()
            .map(|at| model.tag(model.device_element(at.device)).to_string())
            .collect();
        tags.sort();
        tags.dedup();
        for (at, one) in tags.iter().enumerate() {
            pairs.extend(tags[at + 1..].iter().map(|other| (one.clone(), other.clone())));
        }
    }
    pairs.sort();
    pairs.dedup();
    for (one, other) in pairs {
        let mut edits = vec![text.add("stores", "PLANTED-STORE: { title: one store for both }")];
        for tag in [&one, &other] {
            let (_, node) = actuators.iter().find(|(other, _)| other == tag).unwrap();
            let mut needs = field(node, "needs").map(words).unwrap_or_default();
            needs.push("PLANTED-STORE".into());
            edits.push(text.put(node, "needs", &format!("[{}]", needs.join(", "))));
        }
        found.push(Mutant::new(format!("{one} and {other}"), text.with(edits)));
    }
    found
}

/// The winner between opposing commands is gone, or the other position.
pub fn turn_winner(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("actuators") {
        let Some(now) = field(node, "winner") else { continue };
        found.push(Mutant::new(
            format!("{tag}: none"),
            text.with(vec![text.without(node, "winner").unwrap()]),
        ));
        for other in words(field(node, "positions").unwrap()) {
            if Some(other.as_str()) != now.text() {
                found.push(Mutant::new(format!("{tag}: {other}"), text.with(vec![set(now, &other)])));
            }
        }
    }
    found
}

/// A way out of a space is gone, or works no longer without aids.
pub fn remove_release(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (_, space) in text.elements("spaces") {
        for (door, _, node) in field(space, "doors").map(entries).unwrap_or_default() {
            for name in ["escape_release", "emergency_release"] {
                let Some(release) = field(node, name) else { continue };
                // The fault of a release that is gone can be no fault exclusion any more.
                let tag = field(release, "tag").and_then(|tag| tag.text()).unwrap_or_default();
                let excluded = text.elements("fault_exclusions").into_iter();
                let gone = excluded
                    .filter(|(_, node)| field(node, "source").and_then(|source| source.text()) == Some(tag))
                    .filter_map(|(exclusion, _)| text.without_entry("fault_exclusions", exclusion));
                let mut edits: Vec<_> = gone.collect();
                edits.extend(text.without(node, name));
                found.push(Mutant::new(format!("{door}: no {name}"), text.with(edits)));
                let edit = text.put(release, "mechanical", "false");
                found.push(Mutant::new(format!("{door}: {name} needs power"), text.with(vec![edit])));
                let edit = text.put(release, "aids", "[key]");
                found.push(Mutant::new(format!("{door}: {name} needs a key"), text.with(vec![edit])));
                if let Some(edit) = text.without(release, "trips") {
                    found.push(Mutant::new(format!("{door}: {name} trips nothing"), text.with(vec![edit])));
                }
            }
        }
    }
    found
}

/// The stop must bring one thing more: something that its span leaves alone or that stands beside it.
pub fn wider_span(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, stop) in text.elements("stops") {
        let Some(brings) = field(stop, "brings") else { continue };
        let now = words(brings);
        for (actuator, node) in text.elements("actuators") {
            if now.iter().any(|position| position.starts_with(&format!("{actuator} ="))) {
                continue;
            }
            let off = field(node, "without_energy").and_then(|off| off.text()).unwrap();
            let mut new = now.clone();
            new.push(format!("{actuator} = {off}"));
            let mut edits = vec![listed(brings, &new)];
            if let Some(alone) = field(stop, "leaves_alone") {
                let rest: Vec<String> = words(alone).into_iter().filter(|other| other != actuator).collect();
                edits.push(listed(alone, &rest));
            }
            found.push(Mutant::new(format!("{tag}: {actuator} = {off}"), text.with(edits)));
        }
    }
    found
}

/// A release of suppression warns nobody, or draws more than its machine gives.
pub fn release_unwarned(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("suppression") {
        for name in ["warning", "warned_by"] {
            if let Some(edit) = text.without(node, name) {
                found.push(Mutant::new(format!("{tag}: no {name}"), text.with(vec![edit])));
            }
        }
    }
    found
}

pub fn release_draws_more(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("suppression") {
        let Some(demand) = field(node, "demand") else { continue };
        let Some((number, unit)) = demand.text().and_then(|text| text.split_once(' ')) else { continue };
        let number =
            &tripproof::exact::Exact::parse_decimal(number).unwrap() * &tripproof::exact::Exact::int(3);
        let new = format!("{number} {unit}");
        found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(demand, &new)])));
    }
    found
}

/// A coupling, a fault exclusion, an exclusion or an invariant is gone.
fn drop_each(text: &Text, section: &str) -> Vec<Mutant> {
    let elements = text.elements(section);
    let gone = |(tag, _): &(&str, _)| {
        Some(Mutant::new(tag.to_string(), text.with(vec![text.without_entry(section, tag)?])))
    };
    elements.iter().filter_map(gone).collect()
}

pub fn drop_coupling(text: &Text) -> Vec<Mutant> {
    drop_each(text, "couplings")
}

pub fn drop_fault_exclusion(text: &Text) -> Vec<Mutant> {
    drop_each(text, "fault_exclusions")
}

/// A passive device does not act where it did, but where harm is long done.
pub fn late_passive(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("passive") {
        let Some(acts) = field(node, "acts_when") else { continue };
        let Some(words) = acts.text().map(|text| text.split(' ').collect::<Vec<_>>()) else { continue };
        let [quantity, op, _, unit] = words.as_slice() else { continue };
        let quantities = text.elements("quantities");
        let Some((_, node)) = quantities.iter().find(|(tag, _)| tag == quantity) else { continue };
        let range = field(node, "range").and_then(|range| range.text()).unwrap();
        let (low, rest) = range.split_once(" .. ").unwrap();
        let (high, _) = rest.split_once(' ').unwrap();
        let end = if op.starts_with('>') { high } else { low };
        let new = format!("{quantity} {op} {end} {unit}");
        found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(acts, &new)])));
    }
    found
}

/// A solver that a credited cause needs may start the hazard itself.
pub fn initiator(text: &Text) -> Vec<Mutant> {
    let (mut found, model) = (Vec::new(), &text.model);
    for (tag, node) in text.elements("hazards") {
        if field(node, "initiators").is_some() {
            continue;
        }
        let (id, _) = model.hazards.iter().find(|(_, hazard)| hazard.name.tag == tag).unwrap();
        let credited = model.causes.iter().filter(|(_, cause)| cause.credited_for.contains(&id));
        let mut solvers: Vec<&str> =
            credited.map(|(_, cause)| model.solvers[cause.solver].name.tag.as_str()).collect();
        solvers.sort_unstable();
        solvers.dedup();
        for solver in solvers {
            let edit = text.put(node, "initiators", &format!("{{ planted: [{solver}] }}"));
            found.push(Mutant::new(format!("{tag}: {solver}"), text.with(vec![edit])));
        }
    }
    found
}

/// Nothing is said of a hazard in one mode.
pub fn mode_without_word(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, node) in text.elements("hazards") {
        let Some(reasons) = field(node, "not_in") else { continue };
        for (mode, ..) in entries(reasons) {
            let edit = match entries(reasons).len() {
                1 => text.without(node, "not_in"),
                _ => text.without(reasons, mode),
            };
            found.push(Mutant::new(format!("{tag}: {mode}"), text.with(vec![edit.unwrap()])));
        }
    }
    found
}

/// The trip of one hazard counts on a position that the hazard forbids.
pub fn forbid_the_action(text: &Text) -> Vec<Mutant> {
    let (mut found, model) = (Vec::new(), &text.model);
    for (tag, node) in text.elements("hazards") {
        let (id, hazard) = model.hazards.iter().find(|(_, hazard)| hazard.name.tag == tag).unwrap();
        let safe: Vec<_> = hazard.safe_state.atoms().into_iter().copied().collect();
        let credited = model.causes.iter().filter(|(_, cause)| cause.credited_for.contains(&id));
        let mut marks: Vec<String> = credited
            .flat_map(|(_, cause)| &cause.demands)
            .flat_map(|effect| &model.effects[*effect].set)
            .map(|(actuator, position)| (tripproof::model::Device::Actuator(*actuator), *position))
            .filter(|(device, position)| {
                !safe.iter().any(|at| at.device == *device && at.position == *position)
            })
            .map(|(device, position)| model.at_text(tripproof::model::AtPosition { device, position }))
            .collect();
        marks.sort();
        marks.dedup();
        for mark in marks {
            let mut forbids = field(node, "forbids").map(words).unwrap_or_default();
            forbids.push(mark.clone());
            let forbids: Vec<String> = forbids.iter().map(|position| quoted(position)).collect();
            let edit = text.put(node, "forbids", &format!("[{}]", forbids.join(", ")));
            found.push(Mutant::new(format!("{tag}: {mark}"), text.with(vec![edit])));
        }
    }
    found
}
