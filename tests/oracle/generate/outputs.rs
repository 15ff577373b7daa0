//! Actuators, passive devices, spaces with their doors, suppression.

use super::draft::Entry;
use super::{Device, Feature, Writing};

impl Writing {
    pub(super) fn actuators(&mut self) {
        let two = [Feature::SecondHazard, Feature::Capacity, Feature::Rules].iter().any(|f| self.has(*f));
        let two = two || (self.has(Feature::Passive) && self.random.percent(60));
        let number = if two || self.has(Feature::Opposed) || self.random.percent(45) { 2 } else { 1 };
        if number == 2 {
            self.note("second actuator");
        }
        for tag in &["A1", "A2"][..number] {
            self.actuator(tag);
        }
        if self.has(Feature::Space) {
            self.lock();
        }
    }

    fn actuator(&mut self, tag: &'static str) {
        let (supplies, routes, cabinets, shared, types) = (
            self.supplies.clone(),
            self.routes.clone(),
            self.cabinets.clone(),
            self.shared.clone(),
            self.types.clone(),
        );
        let kind = if self.redundant { 0 } else { *self.random.pick(&[0, 0, 0, 1, 1, 2]) };
        self.note(["de-energise to trip", "energise to trip", "stays without energy"][kind]);
        let three = kind == 0 && self.option("three positions", 8);
        let positions = if three { "[off, half, on]" } else { "[off, on]" };
        let mut entry =
            Entry::new(tag).with("positions", positions).with("without_energy", ["off", "on", "stays"][kind]);
        if kind < 2 {
            entry.put("with_energy", ["on", "off"][kind]);
        }
        match self.option("operated by protection", 40) {
            true => {
                let rest = *self.random.pick(&["on", "on", "off"]);
                entry.put("operated_by", "protection");
                entry.put("rest", rest);
            }
            false => entry.put("operated_by", "process"),
        }
        let drivers = self.drivers(&mut entry);
        self.with(&mut entry, "supply", "supply of an actuator", &supplies, 55);
        self.list(&mut entry, "route", "route of an actuator", &routes, 50);
        self.with(&mut entry, "cabinet", "cabinet of an actuator", &cabinets, 35);
        self.list(&mut entry, "needs", "actuator needs a part", &shared, 40);
        self.with(&mut entry, "type", "type of an actuator", &types, 40);
        if !self.relays.is_empty() && drivers.contains(&"S1") && self.option("relay of an actuator", 75) {
            entry.put("relays", "{ S1: [KR] }");
        }
        if !routes.is_empty() && self.option("watched line of an actuator", 40) {
            entry.put("line", "monitored");
        }
        self.winner(&mut entry, kind);
        if self.strong && kind == 0 {
            entry.put("fails", "[off]");
        } else if self.option("fails of an actuator", 12) {
            let fails = *self.random.pick(&["[on]", "[off]"]);
            entry.put("fails", fails);
        }
        self.draft.add("actuators", entry);
        let wanted = if kind == 1 && self.random.percent(30) { "on" } else { "off" };
        let other = if wanted == "off" { "on" } else { "off" };
        self.actuators.push(Device { tag, wanted, other, drivers });
        self.sources.push(tag.into());
    }

    fn drivers(&mut self, entry: &mut Entry) -> Vec<&'static str> {
        let chance = if self.has(Feature::TwoDrivers) { 85 } else { 20 };
        if self.solvers.len() == 2 && self.random.percent(chance) {
            let wiring = self.one_of(&[
                ("drivers in series", "series"),
                ("drivers in parallel", "parallel"),
                ("wiring as an expression", "S1 AND S2"),
                ("wiring as an expression", "S1 OR S2"),
            ]);
            entry.put("drivers", "[S1, S2]");
            entry.put("wiring", wiring);
            return vec!["S1", "S2"];
        }
        let own = match (self.solvers.len(), self.has(Feature::Link)) {
            (2, true) => *self.random.pick(&["S1", "S2", "S2"]),
            (2, false) => *self.random.pick(&["S1", "S2"]),
            _ => "S1",
        };
        entry.put("drivers", format!("[{own}]"));
        vec![own]
    }

    /// A winner, if the wiring of its drivers can give it.
    fn winner(&mut self, entry: &mut Entry, kind: usize) {
        let wiring = entry.get("wiring").unwrap_or_default().to_string();
        let (series, parallel) =
            (wiring == "series" || wiring.contains("AND"), wiring == "parallel" || wiring.contains("OR"));
        let possible = match (series, parallel, kind) {
            (true, _, 0) | (_, true, 1) => vec!["off"],
            (true, _, 1) | (_, true, 0) => vec!["on"],
            (true, _, _) | (_, true, _) => Vec::new(),
            _ => vec!["off", "on"],
        };
        let chance = if self.has(Feature::Opposed) { 50 } else { 10 };
        if !possible.is_empty() && self.option("winner", chance) {
            let winner = *self.random.pick(&possible);
            entry.put("winner", winner);
        }
    }

    /// The lock of a door.
    fn lock(&mut self) {
        let (supplies, kind) = (self.supplies.clone(), self.random.below(2));
        let mut entry = Entry::new("DL")
            .with("positions", "[unlocked, locked]")
            .with("without_energy", ["unlocked", "locked"][kind]);
        match self.option("lock without drivers", 20) {
            true => {
                entry.put("operated_by", "protection");
                let rest = *self.random.pick(&["unlocked", "unlocked", "locked"]);
                entry.put("rest", rest);
            }
            false => {
                let operated = *self.random.pick(&["protection", "protection", "process"]);
                entry.put("operated_by", operated);
                if operated == "protection" {
                    entry.put("rest", *self.random.pick(&["unlocked", "unlocked", "locked"]));
                }
                entry.put("drivers", "[S1]");
            }
        }
        self.with(&mut entry, "supply", "supply of a lock", &supplies, 80);
        self.draft.add("actuators", entry);
        self.sources.push("DL".into());
    }

    pub(super) fn passive(&mut self) {
        if !self.has(Feature::Passive) {
            return;
        }
        self.note("passive device");
        let (cabinets, types) = (self.cabinets.clone(), self.types.clone());
        let mut entry = Entry::new("PV").with("positions", "[shut, wide]").with("rest", "shut");
        match self.random.below(5) {
            0 => self.note("passive device that never acts"),
            1 => {
                self.note("passive device acts on a condition");
                let on = *self.random.pick(&["hot", "NOT hot"]);
                entry.put("acts_when", on);
                entry.put("to", "wide");
            }
            n => {
                self.note("passive device acts on a quantity");
                let (when, accuracy) = [
                    ("p >= 7 bar", "1 bar"),
                    ("p > 5 bar", "0 bar"),
                    ("p >= 5 bar", "0.5 bar"),
                    ("p <= 2 bar", "1 bar"),
                ][n - 2];
                entry.put("acts_when", when);
                entry.put("to", "wide");
                entry.put("accuracy", accuracy);
            }
        }
        self.with(&mut entry, "cabinet", "cabinet of a passive device", &cabinets, 80);
        self.with(&mut entry, "type", "type of a passive device", &types, 80);
        if self.option("fails of a passive device", 40) {
            let fails = *self.random.pick(&["[shut]", "[wide]"]);
            entry.put("fails", fails);
        }
        self.draft.add("passive", entry);
        self.passive.push("PV");
        self.sources.push("PV".into());
    }

    pub(super) fn spaces(&mut self) {
        if !self.has(Feature::Space) {
            return;
        }
        self.note("space");
        let mut doors = vec![format!("D-1: {}", self.door("BAR-1"))];
        if self.option("second door", 35) {
            let second = match self.option("door without a lock", 50) {
                true => "{}".to_string(),
                false => self.door("BAR-2"),
            };
            doors.push(format!("D-2: {second}"));
        }
        let mut entry = Entry::new("ROOM")
            .with("people_in", "{ bay: [run] }")
            .with("doors", format!("{{ {} }}", doors.join(", ")));
        if self.option("hazards behind doors", 80) {
            entry.put("hazards_behind_doors", "[H]");
        }
        self.draft.add("spaces", entry);
    }

    fn door(&mut self, release: &str) -> String {
        let mut door = Entry::new("D").with("held_by", "DL = locked");
        if self.option("escape release", 85) {
            let mut bar = Entry::new(release).with("tag", release);
            let inside = !self.option("escape release outside", 15);
            bar.put("place", if inside { "inside" } else { "outside" });
            let mechanical = !self.option("release not mechanical", 18);
            bar.put("mechanical", if mechanical { "true" } else { "false" });
            if self.option("release needs aids", 15) {
                let aids = *self.random.pick(&["[power]", "[key]", "[tool, knowledge]"]);
                bar.put("aids", aids);
            }
            if self.option("release trips inputs", 70) {
                let input = match self.redundant {
                    true => "X1".to_string(),
                    false => self.random.pick(&self.inputs.clone()).0.clone(),
                };
                bar.put("trips", format!("[{input}]"));
            }
            if self.option("mechanism of a release answered for", 55) {
                let exclusion = Entry::new(format!("FX-{release}"))
                    .with("source", release)
                    .with("reason", "generated")
                    .with("owner", "nobody")
                    .with("expires", "2030-01-01");
                self.draft.add("fault_exclusions", exclusion);
            }
            door.put("escape_release", super::plant::braces(&bar));
        }
        super::plant::braces(&door)
    }

    pub(super) fn suppression(&mut self) {
        if !self.has(Feature::Capacity) || self.causes.is_empty() {
            return;
        }
        self.note("suppression");
        let spare = self.option("spare machines", 45);
        let number = if spare { 2 + self.random.below(2) } else { 1 };
        let mut capacity = Vec::new();
        for n in 1..=number {
            let machine = format!("PU{n}");
            self.draft.add("machines", Entry::new(machine.clone()));
            let gives = match self.random.percent(13) {
                true => {
                    self.note("capacity unknown");
                    "unknown".to_string()
                }
                false => format!("{} L/min", 60 * (1 + self.random.below(4))),
            };
            capacity.push(format!("{machine}: {gives}"));
        }
        let releases = if self.option("second release", 60) { 2 } else { 1 };
        for n in 0..releases {
            let cause = self.causes[n % self.causes.len()].0.clone();
            let device = self.actuators[n % self.actuators.len()].clone();
            let mut entry = Entry::new(["Z1", "Z2"][n])
                .with("released_by", format!("[{cause}]"))
                .with("discharges", format!("[{} = {}]", device.tag, device.wanted))
                .with("capacity", format!("{{ {} }}", capacity.join(", ")));
            match self.random.percent(15) {
                true => self.note("demand not stated"),
                false => {
                    let draws = 50 * (1 + self.random.below(3));
                    entry.put("demand", format!("{draws} L/min"));
                }
            }
            if spare {
                entry.put("spare", (1 + self.random.below(number - 1)).to_string());
                if n > 0 {
                    let first = self.draft.entries("suppression")[0].get("spare").unwrap_or("1").to_string();
                    entry.set("spare", first);
                }
            }
            self.draft.add("suppression", entry);
        }
    }
}
