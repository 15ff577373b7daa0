//! Effects, causes with their conditions, resets and override devices.

use super::draft::Entry;
use super::{Atom, Feature, Writing};

/// An effect with the solvers that can command it.
struct Possible {
    tag: String,
    drivers: Vec<&'static str>,
}

impl Writing {
    pub(super) fn causes(&mut self) {
        let effects = self.effects();
        let number =
            match self.has(Feature::Opposed) || self.has(Feature::Capacity) || self.has(Feature::Chain) {
                true => 2 + self.random.below(2),
                false => *self.random.pick(&[1, 1, 2, 2, 3]),
            };
        let mut opposing = effects.iter().position(|effect| effect.tag == "TURN");
        for n in 1..=number {
            let solver = self.random.pick(&self.solvers.clone()).to_owned();
            let known: Vec<Atom> =
                self.atoms.iter().filter(|atom| atom.known_to.contains(&solver)).cloned().collect();
            let own: Vec<String> = self.within_reach(&effects, solver);
            if known.is_empty() || own.is_empty() {
                continue;
            }
            let tag = format!("C{n}");
            let when = match self.causes.last().cloned() {
                Some((before, at)) if self.has(Feature::Chain) && at == solver && self.random.percent(60) => {
                    self.note("cause reads a cause");
                    format!("{before} OR {}", self.random.pick(&known).text)
                }
                _ => self.condition(&known),
            };
            let mut entry =
                Entry::new(tag.clone()).with("when", format!("\"{when}\"")).with("solver", solver);
            let latched = self.option("latched cause", if self.has(Feature::Chain) { 70 } else { 30 });
            entry.put("latched", if latched { "true" } else { "false" });
            self.armed(&mut entry);
            self.degraded(&mut entry, &when);
            self.credit(&mut entry);
            let turn = own.contains(&"TURN".to_string()) && opposing.take().is_some();
            let demands = match (turn, own.len()) {
                (true, _) => "TURN".to_string(),
                (_, 2..) if self.redundant => own[..2].join(", "),
                (_, 2..) if self.option("two demands", 35) => own[..2].join(", "),
                _ => own[self.random.below(own.len())].clone(),
            };
            // What goes over the link to a driver is carried by it.
            let over = effects.iter().any(|e| demands.contains(&e.tag) && !e.drivers.contains(&solver));
            if over || (self.has(Feature::Link) && solver == "S1" && self.random.percent(30)) {
                self.carry(&tag);
            }
            entry.put("demands", format!("[{demands}]"));
            if latched && self.option("reset", 25) {
                entry.put("reset", "RS");
            }
            self.draft.add("causes", entry);
            let known_to = vec![solver];
            if self.has(Feature::Chain) || self.random.percent(4) {
                self.atoms.push(Atom { text: tag.clone(), known_to, input: None });
            }
            self.causes.push((tag, solver));
        }
        self.ring();
        self.resets();
    }

    fn effects(&mut self) -> Vec<Possible> {
        let mut effects = Vec::new();
        for device in self.actuators.clone() {
            let tag = format!("TRIP-{}", device.tag);
            let set = format!("[{} = {}]", device.tag, device.wanted);
            self.draft.add("effects", Entry::new(tag.clone()).with("set", set));
            effects.push(Possible { tag, drivers: device.drivers });
        }
        if self.has(Feature::Opposed) {
            self.note("opposing effect");
            let device = self.actuators[0].clone();
            let set = format!("[{} = {}]", device.tag, device.other);
            self.draft.add("effects", Entry::new("TURN").with("set", set));
            effects.push(Possible { tag: "TURN".into(), drivers: device.drivers });
        }
        let lock = self.draft.entries("actuators").iter().find(|entry| entry.tag == "DL");
        if lock.is_some_and(|lock| lock.get("drivers").is_some()) && self.option("effect on a lock", 70) {
            let to = *self.random.pick(&["unlocked", "locked", "locked"]);
            self.draft.add("effects", Entry::new("TRIP-DL").with("set", format!("[DL = {to}]")));
            effects.push(Possible { tag: "TRIP-DL".into(), drivers: vec!["S1"] });
        }
        effects
    }

    /// Effects that a cause at a solver can demand, over the link too.
    fn within_reach(&self, effects: &[Possible], solver: &str) -> Vec<String> {
        let linked = self.has(Feature::Link) && solver == "S1";
        let own = effects.iter().filter(|effect| linked || effect.drivers.contains(&solver));
        own.map(|effect| effect.tag.clone()).collect()
    }

    /// Has the link carry a cause.
    fn carry(&mut self, tag: &str) {
        self.note("link carries a cause");
        if let Some(carries) =
            self.draft.entries_mut("links").iter_mut().find_map(|link| link.get_mut("carries"))
        {
            let inside = carries.trim_matches(['[', ']']).to_string();
            *carries = if inside.is_empty() { format!("[{tag}]") } else { format!("[{inside}, {tag}]") };
        }
        if let Some(atom) = self.atoms.iter_mut().find(|atom| atom.text == tag) {
            atom.known_to.push("S2");
        }
    }

    fn armed(&mut self, entry: &mut Entry) {
        if self.redundant {
            return;
        }
        let two = self.draft.entries("modes")[0].get("idle").is_some();
        if two && self.has(Feature::Forbids) && self.option("armed where the hazard is not", 75) {
            entry.put("armed", "{ bay: [idle] }");
            return;
        }
        let chance = if self.has(Feature::ModeInput) || self.has(Feature::SecondMode) { 55 } else { 8 };
        if self.option("armed in one mode", chance) {
            entry.put("armed", "{ bay: [run] }");
        } else if self.has(Feature::SecondGroup) && self.option("armed in the second group", 25) {
            entry.put("armed", "{ dock: [load] }");
        }
    }

    fn degraded(&mut self, entry: &mut Entry, when: &str) {
        let operands = when.split("oo").nth(1).and_then(|text| text.chars().next());
        let plain = when.matches("oo").count() == 1 && !when.contains("NOT");
        if !plain || !self.random.percent(60) {
            return;
        }
        let rules: &[(&'static str, &'static str)] = match operands {
            Some('2') => &[
                ("degraded vote", "[1oo1]"),
                ("degraded vote that trips", "[trip]"),
                ("degraded vote that does not trip", "[no_trip]"),
                ("degraded vote", "[1oo1, trip]"),
            ],
            Some('3') => &[
                ("degraded vote", "[1oo2]"),
                ("degraded vote", "[1oo2, 1oo1]"),
                ("degraded vote that trips", "[2oo2, trip]"),
                ("degraded vote that does not trip", "[2oo2, no_trip]"),
                ("degraded vote", "[2oo2, 1oo1, trip]"),
            ],
            _ => return,
        };
        let rule = self.one_of(rules);
        entry.put("degraded_vote", rule);
    }

    fn credit(&mut self, entry: &mut Entry) {
        let second = self.has(Feature::SecondHazard);
        let credited = match second {
            true => *self.random.pick(&["[H]", "[H2]", "[H, H2]"]),
            false => "[H]",
        };
        if !self.has(Feature::Declared) {
            entry.put("credited_for", credited);
            return;
        }
        match self.random.below(3) {
            0 => {
                self.note("alarm or comfort");
                entry.put("purpose", *self.random.pick(&["alarm", "comfort"]));
            }
            1 => {
                self.note("backup");
                entry.put("purpose", "backup");
            }
            _ => entry.put("credited_for", credited),
        }
    }

    /// A condition over what a solver knows.
    fn condition(&mut self, known: &[Atom]) -> String {
        let one = |this: &mut Self| this.random.pick(known).text.clone();
        if self.has(Feature::Stop) && self.random.percent(25) {
            let pressed: Vec<String> =
                known.iter().filter(|a| a.text.ends_with("pressed")).map(|a| a.text.clone()).collect();
            if !pressed.is_empty() {
                return pressed.join(" OR ");
            }
        }
        let mut votes: Vec<String> =
            known.iter().filter(|a| a.input.is_some()).map(|a| a.text.clone()).collect();
        if votes.len() > 2 && self.random.percent(30) {
            votes.pop();
        }
        if votes.len() > 1 && self.has(Feature::Vote) && self.random.percent(85) {
            self.note("vote");
            let most = if self.about.is_some() { 2 } else { votes.len() };
            let m = 1 + self.random.below(most);
            let vote = format!("{m}oo{}({})", votes.len(), votes.join(", "));
            return match self.random.below(8) {
                0 => {
                    self.note("NOT before a vote");
                    format!("NOT {vote}")
                }
                1 => format!("{vote} OR {}", one(self)),
                2 => format!("{vote} AND {}", one(self)),
                _ => vote,
            };
        }
        if self.redundant && votes.len() > 1 && self.random.percent(85) {
            self.note("OR in a condition");
            return votes[..2].join(" OR ");
        }
        let kind = match self.about.is_some() && self.random.percent(75) {
            true => *self.random.pick(&[0, 0, 2]),
            false => self.random.below(6),
        };
        match kind {
            0 | 1 => one(self),
            2 => {
                self.note("OR in a condition");
                format!("{} OR {}", one(self), one(self))
            }
            3 => {
                self.note("AND in a condition");
                format!("{} AND {}", one(self), one(self))
            }
            4 => {
                self.note("NOT in a condition");
                format!("{} AND NOT ({})", one(self), one(self))
            }
            _ => {
                self.note("NOT in a condition");
                format!("NOT ({} OR {})", one(self), one(self))
            }
        }
    }

    /// A cause that reads a latched one, which reads it in turn.
    fn ring(&mut self) {
        if !self.has(Feature::Chain) {
            return;
        }
        let causes = self.draft.entries_mut("causes");
        let [first, .., last] = causes else { return };
        let same = first.get("solver") == last.get("solver");
        if !same || first.get("latched") != Some("true") || first.get("degraded_vote").is_some() {
            return;
        }
        let tag = last.tag.clone();
        if last.get("when").is_some_and(|when| when.contains(&first.tag)) {
            if let Some(when) = first.get_mut("when") {
                *when = format!("\"{} OR {tag}\"", when.trim_matches('"').replace(" AND ", " OR "));
            }
            self.note("ring of causes");
        }
    }

    fn resets(&mut self) {
        let with: Vec<String> = self
            .draft
            .entries("causes")
            .iter()
            .filter(|c| c.get("reset").is_some())
            .map(|c| c.tag.clone())
            .collect();
        if with.is_empty() {
            return;
        }
        let edge = *self.random.pick(&["press", "release", "level"]);
        let entry = Entry::new("RS")
            .with("place", "at the panel")
            .with("acts_on", edge)
            .with("resets", format!("[{}]", with.join(", ")));
        self.draft.add("resets", entry);
    }

    pub(super) fn overrides(&mut self) {
        if !self.has(Feature::Override) {
            return;
        }
        self.note("override device");
        let cabinets = self.cabinets.clone();
        let tags: Vec<String> = self.inputs.iter().map(|(tag, _)| tag.clone()).collect();
        let inputs = match tags.len() > 1 && self.option("override of several inputs", 60) {
            true => tags.join(", "),
            false => self.random.pick(&tags).clone(),
        };
        let mut entry = Entry::new("OV").with("device", "key switch").with("inputs", format!("[{inputs}]"));
        if inputs.contains(',') && self.option("several overridden at once", 40) {
            self.note("several overridden at once");
        } else if self.option("at most one overridden", 60) {
            entry.put("at_most", "1");
        }
        if self.option("override in one mode", 35) {
            let mode = *self.random.pick(&["run", "run", "idle"]);
            let two = self.draft.entries("modes")[0].get("idle").is_some();
            entry.put("modes", format!("{{ bay: [{}] }}", if two { mode } else { "run" }));
        }
        self.with(&mut entry, "cabinet", "cabinet of an override device", &cabinets, 80);
        self.draft.add("overrides", entry);
        self.sources.push("OV".into());
        if self.option("override in a condition", 25)
            && let Some(cause) = self.draft.entries_mut("causes").last_mut()
            && cause.get("degraded_vote").is_none()
            && let Some(when) = cause.get_mut("when")
        {
            *when = format!("\"({}) OR OV\"", when.trim_matches('"'));
        }
    }
}
