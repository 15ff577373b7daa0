//! Hazards, exclusions, invariants, fault exclusions, acceptances.

use super::draft::Entry;
use super::{Feature, Writing};

/// Beginnings of harm that fit nothing in particular.
const ANY: &[&str] = &[
    "p >= 6 bar",
    "p > 4 bar",
    "hot",
    "hot AND p >= 3 bar",
    "p >= 9 bar OR hot",
    "p <= 1 bar",
    "NOT hot AND p >= 6 bar",
    "p = 5 bar",
    "hot AND bay = run",
    "p >= 8 bar AND p < 3 bar",
    "hot OR (p > 9 bar AND p < 2 bar)",
    "hot AND NOT hot OR p > 7 bar",
];

impl Writing {
    pub(super) fn hazards(&mut self) {
        let when = match self.about {
            Some(about) => about,
            None => *self.random.pick(ANY),
        };
        let first = self.hazard("H", when, true);
        self.draft.add("hazards", first);
        if !self.has(Feature::SecondHazard) {
            return;
        }
        self.note("second hazard");
        let when = *self.random.pick(ANY);
        let mut second = self.hazard("H2", when, false);
        if self.option("never together", 18) {
            second.put("never_together", "[H]");
        }
        self.draft.add("hazards", second);
    }

    fn hazard(&mut self, tag: &str, when: &str, first: bool) -> Entry {
        let two = self.draft.entries("modes")[0].get("idle").is_some();
        let mut entry = Entry::new(tag).with("when", when);
        match two {
            true if self.option("hazard in two modes", if self.has(Feature::Forbids) { 20 } else { 50 }) => {
                entry.put("exists_in", "{ bay: [run, idle] }")
            }
            true => {
                entry.put("exists_in", "{ bay: [run] }");
                entry.put("not_in", "{ idle: nothing moves }");
            }
            false => entry.put("exists_in", "{ bay: [run] }"),
        }
        let safe = self.safe_state(first);
        entry.put("safe_state", format!("\"{safe}\""));
        self.parties(&mut entry);
        if self.has(Feature::Forbids) && first {
            self.note("forbids");
            let device = self.random.pick(&self.actuators.clone()).clone();
            let at = match self.option("forbids what the protection wants", 50) {
                true => device.wanted,
                false => device.other,
            };
            entry.put("forbids", format!("[{} = {at}]", device.tag));
        }
        if self.option("own requirement", 10) {
            let tolerance = self.random.below(3);
            entry.put("requires", format!("{{ fault_tolerance: {tolerance}, reason: generated }}"));
        }
        entry
    }

    fn safe_state(&mut self, first: bool) -> String {
        let mut places: Vec<String> =
            self.actuators.iter().map(|device| format!("{} = {}", device.tag, device.wanted)).collect();
        if !first && self.option("safe states that exclude each other", 85) {
            let device = &self.actuators[0];
            places[0] = format!("{} = {}", device.tag, device.other);
            places.truncate(1 + self.random.below(places.len()));
            return places.join(" AND ");
        }
        if !self.passive.is_empty() && self.option("passive device in a safe state", 70) {
            places.push("PV = wide".into());
        }
        match places.len() {
            1 => places[0].clone(),
            2 => {
                let how = self.one_of(&[
                    ("OR in a safe state", " OR "),
                    ("OR in a safe state", " OR "),
                    ("AND in a safe state", " AND "),
                ]);
                places.join(how)
            }
            _ => match self.random.below(3) {
                0 => {
                    self.note("vote in a safe state");
                    format!("2oo3({})", places.join(", "))
                }
                1 => format!("({} AND {}) OR {}", places[0], places[1], places[2]),
                _ => places.join(" OR "),
            },
        }
    }

    fn parties(&mut self, entry: &mut Entry) {
        let sources = self.sources.clone();
        if self.has(Feature::Initiator) {
            self.note("initiator");
            let source = match self.redundant && self.random.percent(70) {
                true => "X1".to_string(),
                false => self.random.pick(&sources).clone(),
            };
            let second = self.random.pick(&sources).clone();
            let more = match source != second && self.option("two initiator groups", 35) {
                true => format!(", I2: [{second}]"),
                false => String::new(),
            };
            entry.put("initiators", format!("{{ I1: [{source}]{more} }}"));
        }
        if self.has(Feature::Damage) {
            self.note("damage");
            let source = self.random.pick(&sources).clone();
            let second = self.random.pick(&sources).clone();
            let members = match source != second && self.option("damage of two elements", 50) {
                true => format!("{source}, {second}"),
                false => source,
            };
            entry.put("damages", format!("{{ D1: [{members}] }}"));
            if self.option("certain damage", 45) {
                entry.put("damage_certain", "true");
            }
        }
    }

    pub(super) fn rules(&mut self) {
        if self.has(Feature::Rules) {
            ["NX", "NY"].into_iter().for_each(|tag| self.exclusion(tag));
            ["IV", "IW"].into_iter().for_each(|tag| self.invariant(tag));
        }
        if self.has(Feature::FaultExclusion) {
            self.fault_exclusion();
        }
        if self.has(Feature::Declared) {
            self.note("accepted finding");
            let accepted = Entry::new("AC")
                .with("finding", "none-such")
                .with("reason", "generated")
                .with("by", "test engineer")
                .with("expires", "2030-01-01");
            self.draft.add("accepted", accepted);
        }
    }

    fn exclusion(&mut self, tag: &str) {
        self.note("exclusion");
        let (one, two) = (self.actuators[0].clone(), self.actuators[1].clone());
        let never = match self.random.below(5) {
            0 => format!("{} = {}", one.tag, one.other),
            1 | 3 => format!("{} = {} AND {} = {}", one.tag, one.wanted, two.tag, two.wanted),
            2 => format!("{} = {} AND {} = {}", one.tag, one.wanted, two.tag, two.other),
            _ => {
                self.note("NOT in an exclusion");
                format!("{} = {} AND NOT ({} = {})", one.tag, one.other, two.tag, two.other)
            }
        };
        let mut entry = Entry::new(tag).with("never", never);
        if self.option("exclusion with a fault", 40) {
            entry.put("fault_tolerance", "1");
        }
        self.draft.add("exclusions", entry);
    }

    fn invariant(&mut self, tag: &str) {
        self.note("invariant");
        let (one, two) = (self.actuators[0].clone(), self.actuators[1].clone());
        let (first, second) = if self.random.percent(50) { (one, two) } else { (two, one) };
        let mut entry = Entry::new(tag)
            .with("whenever", format!("{} = {}", first.tag, first.wanted))
            .with("then", format!("{} = {}", second.tag, second.wanted));
        if self.option("invariant with a fault", 40) {
            entry.put("fault_tolerance", "1");
        }
        self.draft.add("invariants", entry);
    }

    fn fault_exclusion(&mut self) {
        self.note("fault exclusion");
        let mut entry = Entry::new("FX");
        let device = self.random.pick(&self.actuators.clone()).clone();
        let fails =
            self.draft.entries("actuators").iter().any(|e| e.tag == device.tag && e.get("fails").is_some());
        if !fails && self.option("fault exclusion of a direction", 62) {
            entry.put("source", device.tag);
            entry.put("direction", *self.random.pick(&["on", "off"]));
        } else {
            let source = self.random.pick(&self.sources.clone()).clone();
            entry.put("source", source);
        }
        let entry = entry.with("reason", "generated").with("owner", "nobody").with("expires", "2030-01-01");
        self.draft.add("fault_exclusions", entry);
    }
}
