//! Two bays in one model, the second built as the first is but for one thing.
//!
//! What is asked of bays that are built alike is asked once and carried over, so each bay must get here what it gets in a
//! model of its own, whatever the one thing is.

use super::change::{self, Changed};
use crate::generate::draft::{Draft, Entry};

/// What the second bay has otherwise, and how it gets there.
type Difference = (&'static str, fn(&Draft) -> Option<Changed>);

/// What the second bay may have otherwise.
pub const DIFFERENCES: &[Difference] = &[
    ("nothing", |draft| Some((draft.clone(), Vec::new()))),
    ("it requires more", |draft| requires(draft, 3, 2, 2)),
    ("it requires more paths", |draft| requires(draft, 2, 0, 0)),
    ("it requires more tolerance", |draft| requires(draft, 1, 1, 0)),
    ("it requires more under overrides", |draft| requires(draft, 1, 0, 1)),
    ("it requires nothing", |draft| requires(draft, 0, 0, 0)),
    ("less time", |draft| seconds(draft, "hazards", "within")),
    ("less time from the set point", |draft| seconds(draft, "hazards", "harm_after_set_point")),
    ("time to leave", |draft| seconds(draft, "hazards", "evacuation")),
    ("another fraction", |draft| put(draft, "hazards", "usable_fraction", "0.25")),
    ("a slow solver", |draft| seconds(draft, "logic_solvers", "reaction")),
    ("a slow actuator", |draft| seconds(draft, "actuators", "moves_in")),
    ("a slow link", |draft| seconds(draft, "links", "delay")),
    ("a slow sensor", |draft| seconds(draft, "sensors", "response")),
    ("another filter", |draft| put(draft, "sensors", "filter", "2 s")),
    ("a signal that ends", |draft| put(draft, "sensors", "signal_lasts", "2 s")),
    ("a sensor that warms up", |draft| put(draft, "sensors", "warm_up", "20 s")),
    ("a later mark", |draft| put(draft, "causes", "on_delay", "5 s")),
    ("a later effect", |draft| put(draft, "effects", "delay", "7 s")),
    ("a quicker rise", |draft| put(draft, "quantities", "rises", "5 bar/s")),
    ("nothing normal", |draft| put(draft, "quantities", "normal", "0 .. 9 bar")),
    ("a cause that is not latched", |draft| put(draft, "causes", "latched", "false")),
    ("a cause that is latched", |draft| put(draft, "causes", "latched", "true")),
    ("a certain damage", |draft| put(draft, "hazards", "damage_certain", "true")),
    ("an invariant under another fault", |draft| put(draft, "invariants", "fault_tolerance", "2")),
    ("an exclusion under another fault", |draft| put(draft, "exclusions", "fault_tolerance", "2")),
    ("a stop under another fault", |draft| put(draft, "stops", "fault_tolerance", "2")),
    ("people", |draft| {
        let people = draft.text().replace("people: never", "people: expected");
        (people != draft.text()).then(|| replaced(draft, "people: never", "people: expected"))
    }),
    ("another position without energy", |draft| {
        let turned = |position: &str| if position == "off" { "on" } else { "off" }.to_string();
        let mut changed = draft.clone();
        let of_energy = |actuator: &&mut Entry| actuator.get("without_energy").is_some();
        let actuator = changed.entries_mut("actuators").iter_mut().find(of_energy)?;
        let other = turned(actuator.get("without_energy")?);
        actuator.set("without_energy", other);
        Some((changed, Vec::new()))
    }),
    ("one coupling more", change::one_coupling_more),
    ("no override device", change::without_overrides),
    ("an exact sensor", change::exact_sensor),
    ("a sensor that fails one way", change::fails_one_way),
    ("an actuator that fails one way", change::stuck_one_way),
    ("a watched line", change::watched_line),
    ("a supervised link", change::supervised_link),
    ("a certified solver", change::certified_solver),
    ("a fault excluded", change::fault_excluded),
    ("no initiator", change::without_initiators),
    ("no damage", change::without_damage),
    ("hazards never together", change::never_together),
];

/// The first hazard requires something of its own.
fn requires(draft: &Draft, paths: u32, tolerance: u32, under: u32) -> Option<Changed> {
    let requirement = format!(
        "{{ disjoint_paths: {paths}, fault_tolerance: {tolerance}, under_overrides: {under}, reason: generated }}"
    );
    put(draft, "hazards", "requires", &requirement)
}

/// The first element of a section has something otherwise.
fn put(draft: &Draft, section: &str, field: &str, value: &str) -> Option<Changed> {
    let mut changed = draft.clone();
    let entry = changed.entries_mut(section).first_mut()?;
    if entry.get(field) == Some(value) {
        return None;
    }
    entry.set(field, value);
    Some((changed, Vec::new()))
}

/// The first element of a section that has such a time has another one.
fn seconds(draft: &Draft, section: &str, field: &str) -> Option<Changed> {
    let mut changed = draft.clone();
    let entry = changed.entries_mut(section).iter_mut().find(|entry| entry.get(field).is_some())?;
    let other = if entry.get(field) == Some("5 s") { "2 s" } else { "5 s" };
    entry.set(field, other);
    Some((changed, Vec::new()))
}

fn replaced(draft: &Draft, old: &str, new: &str) -> Changed {
    let mut changed = draft.clone();
    for entry in changed.sections.iter_mut().flat_map(|section| &mut section.entries) {
        for (_, value) in &mut entry.fields {
            *value = value.replace(old, new);
        }
    }
    (changed, Vec::new())
}

/// Other tags that are written within an element.
const INSIDE: &[&str] = &["D-1", "D-2", "BAR-1", "BAR-2"];

/// The second bay with names of its own, and both in one model.
pub fn beside(first: &Draft, second: &Draft) -> (Draft, Draft) {
    let tags = second.sections.iter().flat_map(|section| section.entries.iter().map(|entry| &entry.tag));
    // With the contacts of loops and of emergency stop devices, whose tags are made of theirs.
    let contacts = ["", "-1", "-2", "-3", "-A", "-B"];
    let tags = tags.flat_map(|tag| contacts.map(|end| format!("{tag}{end}")));
    let tags = tags.chain(INSIDE.iter().map(|tag| tag.to_string()));
    let names: Vec<(String, String)> = tags.map(|tag| (tag.clone(), format!("{tag}b"))).collect();
    let mut own = change::rename_all(second, &names, &|_| true);
    own.policy = first.policy.clone();
    let mut both = first.clone();
    for section in &own.sections {
        section.entries.iter().for_each(|entry| both.add(&section.name, entry.clone()));
    }
    (own, both)
}
