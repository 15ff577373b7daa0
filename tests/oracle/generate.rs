//! Random models that are small enough to be walked through: every kind of element that the walk knows, each option in
//! some of them.

use std::collections::BTreeMap;

use super::random::Random;

/// A random model.
pub struct Generated {
    /// The text.
    pub text: String,
    /// How often each option was used; not everybody counts.
    #[allow(dead_code)]
    pub options: BTreeMap<&'static str, usize>,
}

/// Sections of the text, and what later sections need to know of earlier ones.
struct Writing {
    random: Random,
    text: String,
    options: BTreeMap<&'static str, usize>,
    supplies: Vec<&'static str>,
    routes: Vec<&'static str>,
    cabinets: Vec<&'static str>,
    shared: Vec<&'static str>,
    solvers: Vec<&'static str>,
    conditioners: Vec<&'static str>,
    relays: Vec<&'static str>,
    /// Conditions of causes that may stand for one input.
    atoms: Vec<String>,
    /// Tags of sensors and loops.
    inputs: Vec<String>,
    /// Position that the protection wants and the other one, of each actuator.
    actuators: Vec<(&'static str, &'static str, &'static str)>,
    /// The solvers that drive each of them.
    drivers: Vec<String>,
    passive: bool,
    /// The hazard that the model is about, where its parts fit together; chance alone hardly ever protects anything.
    about: Option<&'static str>,
    /// Everything that may misbehave.
    sources: Vec<String>,
}

/// The model of a seed.
pub fn generate(seed: u64) -> Generated {
    let mut writing = Writing {
        random: Random::new(seed),
        text: String::new(),
        options: BTreeMap::new(),
        supplies: Vec::new(),
        routes: Vec::new(),
        cabinets: Vec::new(),
        shared: Vec::new(),
        solvers: Vec::new(),
        conditioners: Vec::new(),
        relays: Vec::new(),
        atoms: Vec::new(),
        inputs: Vec::new(),
        actuators: Vec::new(),
        drivers: Vec::new(),
        passive: false,
        about: None,
        sources: Vec::new(),
    };
    writing.plant();
    writing.shared();
    writing.solvers();
    writing.ways();
    writing.sensors();
    writing.loops();
    writing.actuators();
    writing.passive();
    writing.stops();
    writing.causes();
    writing.overrides();
    writing.hazards();
    writing.rules();
    Generated { text: writing.text, options: writing.options }
}

impl Writing {
    /// Whether an option is used, in so many of a hundred cases; counts it.
    fn use_it(&mut self, option: &'static str, chance: usize) -> bool {
        let used = self.random.percent(chance);
        *self.options.entry(option).or_default() += usize::from(used);
        used
    }

    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    /// `, field: tag` with one of the tags, or nothing.
    fn with(&mut self, field: &str, option: &'static str, tags: &[&'static str], chance: usize) -> String {
        if tags.is_empty() || !self.use_it(option, chance) {
            return String::new();
        }
        format!(", {field}: {}", self.random.pick(tags))
    }

    fn list(&mut self, field: &str, option: &'static str, tags: &[&'static str], chance: usize) -> String {
        if tags.is_empty() || !self.use_it(option, chance) {
            return String::new();
        }
        let first = self.random.below(tags.len());
        let many = if self.random.percent(25) { tags.len() } else { 1 };
        let picked: Vec<&str> = (0..many).map(|n| tags[(first + n) % tags.len()]).collect();
        format!(", {field}: [{}]", picked.join(", "))
    }

    fn plant(&mut self) {
        self.about = match self.random.percent(70) {
            true => Some(*self.random.pick(&["hot", "p >= 6 bar", "p > 4 bar"])),
            false => None,
        };
        self.line("language: 1");
        self.line("system: { title: Generated, revision: A }");
        let paths = 1 + self.random.below(2);
        let tolerance = self.random.below(2);
        let under = self.random.below(2);
        self.line(&format!(
            "policy: {{ disjoint_paths: {paths}, fault_tolerance: {tolerance}, under_overrides: {under} }}"
        ));
        let two = self.use_it("second mode", 50);
        let normal = if self.use_it("normal of a mode", 20) { ", normal: { p: 0 .. 6 bar }" } else { "" };
        let second = if two { format!(", idle: {{ people: never{normal} }}") } else { String::new() };
        let needs = if self.use_it("needs of a mode", 20) { ", needs: [A1 = on]" } else { "" };
        self.line(&format!("modes: {{ bay: {{ run: {{ people: never{needs} }}{second} }} }}"));
        self.line("quantities: { p: { range: 0 .. 10 bar, normal: 0 .. 3 bar } }");
        self.line("conditions: { hot: {} }");
        if self.use_it("coupling", 25) {
            let how = *self.random.pick(&[
                "if: hot, then: p >= 2 bar",
                "if: p >= 8 bar, then: hot",
                "if: bay = run, then: p <= 9 bar",
                "always: hot OR p < 9 bar",
            ]);
            self.line(&format!("couplings: {{ CPL: {{ {how}, owner: test engineer }} }}"));
        }
    }

    fn shared(&mut self) {
        if self.use_it("cabinet", 25) {
            self.cabinets.push("CAB");
            self.line("cabinets: { CAB: {} }");
        }
        if self.use_it("supplies", 65) {
            let cabinet = if self.cabinets.is_empty() { "" } else { "cabinet: CAB" };
            self.supplies.extend(["U1", "U2"]);
            let mut third = String::new();
            if self.use_it("supply tree", 35) {
                let feeds = *self.random.pick(&["U1 OR U2", "U1 AND U2", "U1"]);
                self.supplies.push("U3");
                third = format!(", U3: {{ fed_by: {feeds} }}");
            }
            self.line(&format!("supplies: {{ U1: {{ {cabinet} }}, U2: {{}}{third} }}"));
        }
        if self.use_it("route", 35) {
            self.routes.push("R");
            self.line("routes: { R: {} }");
        }
        if self.use_it("shared part", 35) {
            let section = *self.random.pick(&["stores", "machines", "parameter_sources"]);
            self.shared.push("M");
            self.line(&format!("{section}: {{ M: {{}} }}"));
        }
    }

    fn solvers(&mut self) {
        let (supplies, cabinets) = (self.supplies.clone(), self.cabinets.clone());
        let number = 1 + usize::from(self.use_it("second solver", 55));
        self.solvers = ["S1", "S2"][..number].to_vec();
        self.line("logic_solvers:");
        for solver in self.solvers.clone() {
            let supply = self.with("supply", "supply of a solver", &supplies, 50);
            let cabinet = self.with("cabinet", "cabinet of a solver", &cabinets, 50);
            let certificate = match self.use_it("certified solver", 15) {
                true => ", certified_fault_tolerance: 1, certificate: kept by the maker",
                false => "",
            };
            self.line(&format!("  {solver}: {{ title: {solver}{supply}{cabinet}{certificate} }}"));
            self.sources.push(solver.into());
        }
    }

    fn ways(&mut self) {
        let (supplies, shared) = (self.supplies.clone(), self.shared.clone());
        if self.use_it("conditioner", 20) {
            let supply = self.with("supply", "supply of a conditioner", &supplies, 50);
            let needs = self.list("needs", "conditioner needs a part", &shared, 50);
            self.conditioners.push("IS");
            self.line(&format!("conditioners: {{ IS: {{ title: IS{supply}{needs} }} }}"));
        }
        if self.use_it("relay", 20) {
            let supply = self.with("supply", "supply of a relay", &supplies, 50);
            self.relays.push("KR");
            self.line(&format!("relays: {{ KR: {{ title: KR{supply} }} }}"));
        }
    }

    /// What every input may have.
    fn way(&mut self) -> String {
        let (supplies, routes, cabinets, shared, through) = (
            self.supplies.clone(),
            self.routes.clone(),
            self.cabinets.clone(),
            self.shared.clone(),
            self.conditioners.clone(),
        );
        let mut way = self.with("supply", "supply of an input", &supplies, 40);
        way += &self.list("route", "route of an input", &routes, 40);
        way += &self.with("cabinet", "cabinet of an input", &cabinets, 30);
        way += &self.list("needs", "input needs a part", &shared, 35);
        way += &self.list("through", "input through a conditioner", &through, 45);
        if self.use_it("watched line", 25) {
            way += *self.random.pick(&[", line: monitored", ", line: dynamic"]);
        }
        if self.use_it("on_bad", 40) {
            way += *self.random.pick(&[", on_bad: trips", ", on_bad: no_trip", ", on_bad: degrades_vote"]);
        }
        way
    }

    /// The solvers that read an input.
    fn readers(&mut self) -> String {
        match self.solvers.len() {
            1 => "[S1]".into(),
            _ if self.use_it("input read by two solvers", 40) => "[S1, S2]".into(),
            _ => format!("[{}]", ["S1", "S2"][self.random.below(2)]),
        }
    }

    fn sensors(&mut self) {
        let number = *self.random.pick(&[1, 2, 2, 2, 3]);
        self.line("sensors:");
        for n in 1..=number {
            let tag = format!("X{n}");
            let readers = self.readers();
            let way = self.way();
            let chance = match self.about {
                Some("hot") => 10,
                Some(_) => 90,
                None => 60,
            };
            let analog = self.use_it("analogue sensor", chance);
            let (what, losses, fails) = match analog {
                true => {
                    let ranges = ["0 .. 10 bar", "1 .. 8 bar", "0 .. 7 bar"];
                    let range = if self.about.is_some() { ranges[0] } else { *self.random.pick(&ranges) };
                    let accuracy = *self.random.pick(&["0 bar", "0.5 bar", "1 bar"]);
                    (
                        format!("measures: p, range: {range}, accuracy: {accuracy}"),
                        ["low", "high", "bad", "holds"],
                        ["[low]", "[high, bad]", "[low, high]"],
                    )
                }
                false => (
                    match self.about.is_none() && self.use_it("switch detects the opposite", 40) {
                        true => "detects: NOT hot".into(),
                        false => "detects: hot".into(),
                    },
                    ["detected", "clear", "bad", "holds"],
                    ["[detected]", "[clear, bad]", "[clear]"],
                ),
            };
            let loss = match self.use_it("on_loss", 60) {
                true => format!(", on_loss: {}", self.random.pick(&losses)),
                false => String::new(),
            };
            let fails = match self.use_it("fails", 20) {
                true => format!(", fails: {}", self.random.pick(&fails)),
                false => String::new(),
            };
            self.line(&format!("  {tag}: {{ {what}, wired_to: {readers}{way}{loss}{fails} }}"));
            let (set, relation) = match self.about.is_some() && self.random.percent(85) {
                true => (*self.random.pick(&[2, 3, 3]), ">="),
                false => (1 + self.random.below(8), *self.random.pick(&[">=", ">", "<="])),
            };
            self.atoms.push(match analog {
                true => format!("{tag} {relation} {set} bar"),
                false => tag.clone(),
            });
            if self.use_it("BAD in a condition", 8) {
                self.atoms.push(format!("BAD({tag})"));
            }
            self.sources.push(tag.clone());
            self.inputs.push(tag);
        }
    }

    fn loops(&mut self) {
        if !self.use_it("loop", 20) {
            return;
        }
        let readers = self.readers();
        let way = self.way();
        let loss = match self.use_it("on_loss of a loop", 60) {
            true => format!(", on_loss: {}", self.random.pick(&["open", "closed", "bad"])),
            false => String::new(),
        };
        // A loop stands nowhere but on its line.
        let way = ["cabinet", "needs"].iter().fold(way, |way, field| without(&way, field));
        self.line("loops:");
        self.line(&format!(
            "  L: {{ contacts: {{ L-1: {{ opens_on: hot }} }}, wired_to: {readers}{way}{loss} }}"
        ));
        self.atoms.push("L = open".into());
        self.inputs.push("L".into());
        self.sources.push("L-1".into());
    }

    fn actuators(&mut self) {
        let (supplies, routes, cabinets, shared, relays) = (
            self.supplies.clone(),
            self.routes.clone(),
            self.cabinets.clone(),
            self.shared.clone(),
            self.relays.clone(),
        );
        let number = 1 + usize::from(self.use_it("second actuator", 60));
        self.line("actuators:");
        for tag in &["A1", "A2"][..number] {
            let kind = self.random.below(3);
            *self
                .options
                .entry(["de-energise to trip", "energise to trip", "stays without energy"][kind])
                .or_default() += 1;
            let (without, with) = [("off", "on"), ("on", "off"), ("stays", "on")][kind];
            let with = if kind == 2 { String::new() } else { format!(", with_energy: {with}") };
            let operated = match self.use_it("operated by protection", 35) {
                true => format!("protection, rest: {}", self.random.pick(&["on", "off"])),
                false => "process".into(),
            };
            let drivers = match (self.solvers.len(), self.use_it("two drivers", 40)) {
                (2, true) => {
                    let wiring = self.random.pick(&["series", "parallel"]);
                    format!("[S1, S2], wiring: {wiring}")
                }
                (2, false) => format!("[{}]", ["S1", "S2"][self.random.below(2)]),
                _ => "[S1]".into(),
            };
            let mut more = self.with("supply", "supply of an actuator", &supplies, 50);
            more += &self.list("route", "route of an actuator", &routes, 40);
            more += &self.with("cabinet", "cabinet of an actuator", &cabinets, 30);
            more += &self.list("needs", "actuator needs a part", &shared, 35);
            if !relays.is_empty() && drivers.contains("S1") && self.use_it("relay of an actuator", 60) {
                more += ", relays: { S1: [KR] }";
            }
            if self.use_it("watched line of an actuator", 20) {
                more += ", line: monitored";
            }
            // What the wiring of several drivers cannot give cannot win.
            let possible = match (drivers.contains("series"), drivers.contains("parallel"), kind) {
                (true, _, 0) | (_, true, 1) => vec!["off"],
                (true, _, 1) | (_, true, 0) => vec!["on"],
                (true, _, _) | (_, true, _) => Vec::new(),
                _ => vec!["off", "on"],
            };
            if !possible.is_empty() && self.use_it("winner", 40) {
                more += &format!(", winner: {}", self.random.pick(&possible));
            }
            if self.use_it("fails of an actuator", 15) {
                more += *self.random.pick(&[", fails: [on]", ", fails: [off]"]);
            }
            self.line(&format!(
                "  {tag}: {{ positions: [off, on], without_energy: {without}{with}, operated_by: {operated}, drivers: {drivers}{more} }}"
            ));
            let wanted = *self.random.pick(&["off", "off", "on"]);
            self.actuators.push((tag, wanted, if wanted == "off" { "on" } else { "off" }));
            self.sources.push((*tag).into());
            self.drivers.push(drivers);
        }
    }

    fn passive(&mut self) {
        if !self.use_it("passive device", 20) {
            return;
        }
        let acts = *self.random.pick(&["p >= 7 bar, accuracy: 1 bar", "p > 5 bar, accuracy: 0 bar", "hot"]);
        let fails = match self.use_it("fails of a passive device", 30) {
            true => *self.random.pick(&[", fails: [shut]", ", fails: [wide]"]),
            false => "",
        };
        self.line(&format!(
            "passive: {{ PV: {{ positions: [shut, wide], rest: shut, acts_when: {acts}, to: wide{fails} }} }}"
        ));
        self.passive = true;
        self.sources.push("PV".into());
    }

    fn stops(&mut self) {
        if !self.use_it("stop device", 15) {
            return;
        }
        let readers = self.readers();
        let (actuator, wanted, _) = self.actuators[0];
        let tolerance = match self.use_it("stop with a fault", 40) {
            true => ", fault_tolerance: 1",
            false => "",
        };
        self.line("stops:");
        self.line(&format!(
            "  ES: {{ contacts: {{ ES-A: {{ wired_to: {readers} }} }}, brings: [{actuator} = {wanted}], stop_category: 0{tolerance} }}"
        ));
        self.atoms.push("ES-A = pressed".into());
        self.sources.push("ES-A".into());
    }

    /// A condition over some inputs that the solver sees; a place without a solver takes any.
    fn condition(&mut self, atoms: &[String]) -> String {
        let one = |random: &mut Random| random.pick(atoms).clone();
        let kind = match self.about.is_some() && self.random.percent(60) {
            true => *self.random.pick(&[0, 4, 4, 9]),
            false => self.random.below(10),
        };
        match kind {
            0..=3 => one(&mut self.random),
            4 | 5 => format!("{} OR {}", one(&mut self.random), one(&mut self.random)),
            6 => format!("{} AND {}", one(&mut self.random), one(&mut self.random)),
            7 if self.use_it("NOT in a condition", 60) => {
                format!("{} AND NOT ({})", one(&mut self.random), one(&mut self.random))
            }
            _ if atoms.len() > 1 => {
                *self.options.entry("vote").or_default() += 1;
                let m = 1 + self.random.below(if self.about.is_some() { 2 } else { atoms.len() });
                format!("{m}oo{}({})", atoms.len(), atoms.join(", "))
            }
            _ => one(&mut self.random),
        }
    }

    fn causes(&mut self) {
        self.line("effects:");
        let actuators = self.actuators.clone();
        // Effects with the solvers that can command them.
        let mut effects: Vec<(String, String)> = Vec::new();
        for ((tag, wanted, _), drivers) in actuators.iter().zip(self.drivers.clone()) {
            self.line(&format!("  TRIP-{tag}: {{ set: [{tag} = {wanted}] }}"));
            effects.push((format!("TRIP-{tag}"), drivers));
        }
        let chance = if self.about.is_some() { 8 } else { 25 };
        if self.use_it("opposing effect", chance) {
            let (tag, _, other) = actuators[0];
            self.line(&format!("  TURN: {{ set: [{tag} = {other}] }}"));
            effects.push(("TURN".into(), self.drivers[0].clone()));
        }
        let number = *self.random.pick(&[1, 2, 2, 3]);
        let mut lines = Vec::new();
        for n in 1..=number {
            let solver = *self.random.pick(&self.solvers.clone());
            let seen: Vec<String> = self.seen_by(solver);
            if seen.is_empty() {
                continue;
            }
            let when = self.condition(&seen);
            let latched = self.use_it("latched cause", 40);
            let armed = match self.use_it("armed in one mode", 20) {
                true => ", armed: { bay: [run] }",
                false => "",
            };
            let degraded = match when.contains("oo") && self.use_it("degraded vote", 40) {
                true => {
                    let n = when.split("oo").nth(1).and_then(|text| text.chars().next());
                    match n {
                        Some('2') => ", degraded_vote: [1oo1]",
                        Some('3') => *self.random.pick(&[
                            ", degraded_vote: [1oo2]",
                            ", degraded_vote: [1oo2, 1oo1]",
                            ", degraded_vote: [2oo2, trip]",
                        ]),
                        _ => "",
                    }
                }
                false => "",
            };
            let own = effects.iter().filter(|(_, drivers)| drivers.contains(solver));
            let own: Vec<String> = own.map(|(effect, _)| effect.clone()).collect();
            if own.is_empty() {
                continue;
            }
            let demands = match own.len() > 1 && self.use_it("two demands", 35) {
                true => own[..2].join(", "),
                false => own[self.random.below(own.len())].clone(),
            };
            lines.push(format!(
                "  C{n}: {{ when: \"{when}\", solver: {solver}, latched: {latched}{armed}{degraded}, credited_for: [H], demands: [{demands}] }}"
            ));
        }
        match lines.is_empty() {
            true => self.line("causes: {}"),
            false => {
                self.line("causes:");
                for line in lines {
                    self.line(&line);
                }
            }
        }
    }

    /// The atoms over inputs that a solver reads: those whose line in the text says so.
    fn seen_by(&self, solver: &str) -> Vec<String> {
        let reads = |atom: &&String| {
            let tag = atom.trim_start_matches("BAD(");
            let tag = tag.split([' ', ')']).next().unwrap();
            let line = self.text.lines().find(|line| {
                line.trim_start().starts_with(&format!("{tag}:"))
                    || line.contains(&format!("{{ {tag}: {{ wired_to"))
            });
            line.is_some_and(|line| {
                let readers = line.split("wired_to: [").nth(1).and_then(|rest| rest.split(']').next());
                readers.is_some_and(|readers| readers.contains(solver))
            })
        };
        self.atoms.iter().filter(reads).cloned().collect()
    }

    fn overrides(&mut self) {
        if !self.use_it("override device", 25) {
            return;
        }
        let first = self.inputs[self.random.below(self.inputs.len())].clone();
        let inputs = match self.use_it("override of several", 30) {
            true => self.inputs.join(", "),
            false => first,
        };
        let modes = match self.use_it("override in one mode", 40) {
            true => ", modes: { bay: [run] }",
            false => "",
        };
        self.line(&format!(
            "overrides: {{ OV: {{ device: key switch, inputs: [{inputs}], at_most: 1{modes} }} }}"
        ));
        self.sources.push("OV".into());
    }

    fn hazards(&mut self) {
        let two = self.text.contains("idle:");
        let exists = match two && self.use_it("hazard in two modes", 50) {
            true => "exists_in: { bay: [run, idle] }".to_string(),
            false if two => "exists_in: { bay: [run] }, not_in: { idle: nothing moves }".to_string(),
            false => "exists_in: { bay: [run] }".to_string(),
        };
        let any = ["p >= 6 bar", "p > 4 bar", "hot", "hot AND p >= 3 bar", "p >= 9 bar OR hot", "p <= 1 bar"];
        let when = match self.about {
            Some(about) => about,
            None => *self.random.pick(&any),
        };
        let mut safe: Vec<String> =
            self.actuators.iter().map(|(tag, wanted, _)| format!("{tag} = {wanted}")).collect();
        if self.passive && self.random.percent(60) {
            safe.push("PV = wide".into());
        }
        let safe = match safe.len() {
            1 => safe[0].clone(),
            2 => safe.join(*self.random.pick(&[" OR ", " OR ", " OR ", " AND "])),
            _ => match self.random.below(3) {
                0 => format!("2oo3({})", safe.join(", ")),
                1 => format!("({} AND {}) OR {}", safe[0], safe[1], safe[2]),
                _ => safe.join(" OR "),
            },
        };
        let mut more = String::new();
        let sources = self.sources.clone();
        if self.use_it("initiator", 25) {
            more += &format!(", initiators: {{ I1: [{}] }}", self.random.pick(&sources));
        }
        if self.use_it("damage", 20) {
            more += &format!(", damages: {{ D1: [{}] }}", self.random.pick(&sources));
            if self.use_it("certain damage", 40) {
                more += ", damage_certain: true";
            }
        }
        if self.use_it("forbids", 25) {
            let (tag, _, other) = self.actuators[0];
            more += &format!(", forbids: [{tag} = {other}]");
        }
        self.line("hazards:");
        self.line(&format!("  H: {{ when: {when}, {exists}, safe_state: \"{safe}\"{more} }}"));
    }

    fn rules(&mut self) {
        let (tag, wanted, other) = self.actuators[0];
        if self.use_it("exclusion", 15) {
            let faults = if self.use_it("exclusion with a fault", 30) { ", fault_tolerance: 1" } else { "" };
            let never = match self.actuators.get(1) {
                Some((second, position, _)) => format!("{tag} = {wanted} AND {second} = {position}"),
                None => format!("{tag} = {other}"),
            };
            self.line(&format!("exclusions: {{ NX: {{ never: {never}{faults} }} }}"));
        }
        if let (Some((second, position, _)), true) =
            (self.actuators.get(1).copied(), self.use_it("invariant", 15))
        {
            self.line(&format!(
                "invariants: {{ IV: {{ whenever: {tag} = {wanted}, then: {second} = {position} }} }}"
            ));
        }
        if self.use_it("fault exclusion", 15) {
            let source = self.random.pick(&self.sources.clone()).clone();
            self.line(&format!(
                "fault_exclusions: {{ FX: {{ source: {source}, reason: generated, owner: nobody, expires: 2030-01-01 }} }}"
            ));
        }
    }
}

/// The fields without this one.
fn without(fields: &str, field: &str) -> String {
    let Some(start) = fields.find(&format!(", {field}: ")) else { return fields.to_string() };
    let rest = &fields[start + 2..];
    let end = match rest.find(']').filter(|_| rest[..rest.find(": ").unwrap_or(0) + 3].ends_with('[')) {
        Some(bracket) => bracket + 1,
        None => rest.find(", ").unwrap_or(rest.len()),
    };
    format!("{}{}", &fields[..start], &rest[end..])
}
