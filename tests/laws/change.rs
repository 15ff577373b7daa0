//! Changes of a model: those that change nothing, and those that leave fewer situations. `None`: there is nothing to
//! change.

use crate::generate::draft::{Draft, Entry};

/// A change, and how a tag of the changed model was called before.
pub type Changed = (Draft, Vec<(String, String)>);

fn plain(draft: Draft) -> Option<Changed> {
    Some((draft, Vec::new()))
}

/// Replaces whole tags.
pub fn renamed(text: &str, names: &[(String, String)]) -> String {
    let mut result = String::new();
    let mut word = String::new();
    let of_tag = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
    for c in text.chars().chain(['\n']) {
        if of_tag(c) {
            word.push(c);
            continue;
        }
        // A tag at the end of a sentence.
        let stem = word.trim_end_matches('.');
        match names.iter().find(|(old, _)| *old == stem) {
            Some((_, new)) => result += &word.replace(stem, new),
            None => result += &word,
        }
        word.clear();
        result.push(c);
    }
    result.pop();
    result
}

/// Renames everything in some sections.
pub fn rename_all(draft: &Draft, names: &[(String, String)], sections: &dyn Fn(&str) -> bool) -> Draft {
    let mut changed = draft.clone();
    for section in changed.sections.iter_mut().filter(|section| sections(&section.name)) {
        for entry in &mut section.entries {
            entry.tag = renamed(&entry.tag, names);
            for (field, value) in &mut entry.fields {
                *field = renamed(field, names);
                *value = renamed(value, names);
            }
        }
    }
    changed
}

fn back(names: &[(String, String)]) -> Vec<(String, String)> {
    names.iter().map(|(old, new)| (new.clone(), old.clone())).collect()
}

/// Every section the other way round.
pub fn reordered(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    for section in &mut changed.sections {
        section.entries.reverse();
    }
    changed.sections.reverse();
    plain(changed)
}

/// Other names, which sort the other way round.
pub fn with_other_names(draft: &Draft) -> Option<Changed> {
    let tags: Vec<String> =
        draft.sections.iter().flat_map(|s| s.entries.iter().map(|e| e.tag.clone())).collect();
    let number = |n: usize| format!("Q{:03}", 500 - n);
    let names: Vec<(String, String)> =
        tags.into_iter().enumerate().map(|(n, tag)| (tag, number(n))).collect();
    let mut changed = rename_all(draft, &names, &|_| true);
    changed.policy = draft.policy.clone();
    Some((changed, back(&names)))
}

/// Two channels that are declared alike, each in the place of the other.
pub fn channels_swapped(draft: &Draft) -> Option<Changed> {
    let sensors = draft.entries("sensors");
    let (one, other) = sensors
        .iter()
        .enumerate()
        .flat_map(|(n, one)| sensors[n + 1..].iter().map(move |other| (one, other)))
        .find(|(one, other)| one.fields == other.fields)?;
    let names = vec![(one.tag.clone(), other.tag.clone()), (other.tag.clone(), one.tag.clone())];
    Some((rename_all(draft, &names, &|section| section != "sensors"), names))
}

/// The same numbers in another unit.
pub fn in_another_unit(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    for section in &mut changed.sections {
        for (_, value) in section.entries.iter_mut().flat_map(|entry| &mut entry.fields) {
            *value = in_millibar(value);
        }
    }
    plain(changed)
}

/// `0 .. 10 bar` as `0 .. 10000 mbar`, and so on.
fn in_millibar(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let is_bar = |n: usize| words.get(n).is_some_and(|word| word.trim_end_matches(['"', ')', ',']) == "bar");
    let mut result: Vec<String> = Vec::new();
    for (n, word) in words.iter().enumerate() {
        let of_range = words.get(n + 1) == Some(&"..") && is_bar(n + 3);
        result.push(match () {
            () if is_bar(n + 1) || of_range => thousandfold(word),
            () if is_bar(n) => word.replace("bar", "mbar"),
            () => word.to_string(),
        });
    }
    result.join(" ")
}

fn thousandfold(number: &str) -> String {
    match number.split_once('.') {
        Some((whole, part)) => format!("{whole}{part:0<3}").trim_start_matches('0').to_string(),
        None => format!("{number}000"),
    }
}

/// A coupling twice.
pub fn coupling_twice(draft: &Draft) -> Option<Changed> {
    let mut again = draft.entries("couplings").first()?.clone();
    again.tag = "C-AGAIN".into();
    let mut changed = draft.clone();
    changed.add("couplings", again);
    plain(changed)
}

/// `a OR b` as a vote of one of two, which says the same where no vote degrades.
pub fn or_as_a_vote(draft: &Draft) -> Option<Changed> {
    as_a_vote(draft, " OR ", 1)
}

/// `a AND b` as a vote of two of two.
pub fn and_as_a_vote(draft: &Draft) -> Option<Changed> {
    as_a_vote(draft, " AND ", 2)
}

fn as_a_vote(draft: &Draft, word: &str, m: usize) -> Option<Changed> {
    let mut changed = draft.clone();
    let fits = |when: &str| when.matches(word).count() == 1 && !when.contains('(') && !when.contains("NOT");
    let cause = changed.entries_mut("causes").iter_mut().find(|cause| cause.get("when").is_some_and(fits))?;
    let when = cause.get_mut("when")?;
    let (one, other) = when.trim_matches('"').split_once(word)?;
    if one == other {
        return None;
    }
    *when = format!("\"{m}oo2({one}, {other})\"");
    plain(changed)
}

/// Harm said the other way round.
pub fn harm_said_twice_negated(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    let when = changed.entries_mut("hazards").first_mut()?.get_mut("when")?;
    *when = format!("NOT (NOT ({when}))");
    plain(changed)
}

/// Elements on which nothing depends.
pub fn with_idle_elements(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    changed.add("supplies", Entry::new("U99"));
    changed.add("routes", Entry::new("R99"));
    changed.add("cabinets", Entry::new("CAB99"));
    changed.add("logic_solvers", Entry::new("S99").with("supply", "U99").with("cabinet", "CAB99"));
    let sensor = Entry::new("X99").with("detects", "hot").with("wired_to", "[S99]").with("route", "[R99]");
    changed.add("sensors", sensor);
    plain(changed)
}

/// One coupling more.
pub fn one_coupling_more(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    let coupling =
        Entry::new("C-MORE").with("always", "p <= 9 bar OR NOT hot").with("owner", "test engineer");
    changed.add("couplings", coupling);
    plain(changed)
}

/// Without override devices, where no condition asks for them.
pub fn without_overrides(draft: &Draft) -> Option<Changed> {
    draft.entries("overrides").first()?;
    let mut changed = draft.clone();
    changed.sections.retain(|section| section.name != "overrides");
    if changed.text().contains("OV") {
        return None;
    }
    plain(changed)
}

/// Gives a field of the first element that it fits another value.
fn with_field(
    draft: &Draft,
    section: &str,
    field: &str,
    value: &str,
    fits: &dyn Fn(&Entry) -> bool,
) -> Option<Changed> {
    let mut changed = draft.clone();
    changed.entries_mut(section).iter_mut().find(|entry| fits(entry))?.set(field, value);
    plain(changed)
}

/// An exact sensor in the place of another one.
pub fn exact_sensor(draft: &Draft) -> Option<Changed> {
    with_field(draft, "sensors", "accuracy", "0 bar", &|sensor| {
        sensor.get("accuracy").is_some_and(|accuracy| accuracy != "0 bar")
    })
}

/// A sensor that fails in one direction only.
pub fn fails_one_way(draft: &Draft) -> Option<Changed> {
    with_field(draft, "sensors", "fails", "[high]", &|sensor| {
        sensor.get("measures").is_some() && sensor.get("fails").is_none()
    })
}

/// An actuator that fails in one position only.
pub fn stuck_one_way(draft: &Draft) -> Option<Changed> {
    let fits = |entry: &Entry| {
        entry.get("fails").is_none() && !draft.text().contains(&format!("source: {},", entry.tag))
    };
    with_field(draft, "actuators", "fails", "[off]", &|entry| entry.tag != "DL" && fits(entry))
}

/// A line that is watched.
pub fn watched_line(draft: &Draft) -> Option<Changed> {
    with_field(draft, "sensors", "line", "monitored", &|sensor| {
        sensor.get("route").is_some() && sensor.get("line").is_none_or(|line| line == "plain")
    })
}

/// A link that only falls silent.
pub fn supervised_link(draft: &Draft) -> Option<Changed> {
    with_field(draft, "links", "supervised", "true", &|link| link.get("supervised").is_none())
}

/// A solver that tolerates a fault.
pub fn certified_solver(draft: &Draft) -> Option<Changed> {
    let (mut changed, names) =
        with_field(draft, "logic_solvers", "certified_fault_tolerance", "1", &|solver| {
            solver.get("certified_fault_tolerance").is_none()
        })?;
    for solver in changed.entries_mut("logic_solvers") {
        if solver.get("certified_fault_tolerance").is_some() {
            solver.set("certificate", "kept by the maker");
        }
    }
    Some((changed, names))
}

/// One fault less to be considered.
pub fn fault_excluded(draft: &Draft) -> Option<Changed> {
    let source = draft.entries("sensors").first()?.tag.clone();
    let excluded = draft.entries("fault_exclusions").iter().any(|known| known.get("source") == Some(&source));
    if excluded {
        return None;
    }
    let mut changed = draft.clone();
    let exclusion = Entry::new("FX-MORE")
        .with("source", source)
        .with("reason", "generated")
        .with("owner", "nobody")
        .with("expires", "2030-01-01");
    changed.add("fault_exclusions", exclusion);
    plain(changed)
}

/// Without a field of the hazards.
fn without(draft: &Draft, field: &str) -> Option<Changed> {
    let mut changed = draft.clone();
    let mut found = false;
    for hazard in changed.entries_mut("hazards") {
        found |= hazard.get(field).is_some();
        hazard.fields.retain(|(name, _)| name != field && (name != "damage_certain" || field != "damages"));
    }
    if found { plain(changed) } else { None }
}

/// Without initiators.
pub fn without_initiators(draft: &Draft) -> Option<Changed> {
    without(draft, "initiators")
}

/// Without damage.
pub fn without_damage(draft: &Draft) -> Option<Changed> {
    without(draft, "damages")
}

/// Two hazards that are never there together.
pub fn never_together(draft: &Draft) -> Option<Changed> {
    with_field(draft, "hazards", "never_together", "[H]", &|hazard| {
        hazard.tag == "H2" && hazard.get("never_together").is_none()
    })
}
