//! Sensors and switches, loops, emergency stops.

use super::draft::Entry;
use super::{Atom, Feature, Writing};

/// Accuracies of a sensor, with the option that each is.
const ACCURACIES: &[(&str, &str)] = &[
    ("exact sensor", "0 bar"),
    ("sensor with an accuracy", "0.5 bar"),
    ("sensor with an accuracy", "1 bar"),
];

impl Writing {
    /// The solvers that read an input.
    fn readers(&mut self) -> Vec<&'static str> {
        match self.solvers.len() {
            1 => vec!["S1"],
            _ if !self.has(Feature::Link) && self.option("input read by two solvers", 60) => vec!["S1", "S2"],
            _ if self.has(Feature::Link) && self.random.percent(70) => vec!["S1"],
            _ => vec![*self.random.pick(&["S1", "S2"])],
        }
    }

    /// What every input may have, as far as this kind has it.
    fn way(&mut self, entry: &mut Entry, has: &[&str]) {
        let (supplies, routes, through, cabinets, shared, types) = (
            self.supplies.clone(),
            self.routes.clone(),
            self.conditioners.clone(),
            self.cabinets.clone(),
            self.shared.clone(),
            self.types.clone(),
        );
        self.with(entry, "supply", "supply of an input", &supplies, 55);
        self.list(entry, "route", "route of an input", &routes, 55);
        self.list(entry, "through", "input through a conditioner", &through, 65);
        if has.contains(&"type") {
            self.with(entry, "type", "type of an input", &types, 55);
        }
        if has.contains(&"needs") {
            self.with(entry, "cabinet", "cabinet of an input", &cabinets, 35);
            self.list(entry, "needs", "input needs a part", &shared, 45);
        }
        if (!routes.is_empty() || has.contains(&"contacts")) && self.random.percent(55) {
            let line = self.one_of(&[
                ("monitored line", "monitored"),
                ("dynamic line", "dynamic"),
                ("plain line", "plain"),
            ]);
            entry.put("line", line);
        }
        if self.strong {
            entry.put("on_bad", "trips");
        } else if self.random.percent(50) {
            let bad = self.one_of(&[
                ("bad signal trips", "trips"),
                ("bad signal does not trip", "no_trip"),
                ("bad signal degrades the vote", "degrades_vote"),
            ]);
            entry.put("on_bad", bad);
        }
    }

    /// What an input shows without supply or with its line open.
    fn loss(&mut self, entry: &mut Entry, losses: &[(&'static str, &'static str)]) {
        if self.strong {
            let trips = ["high", "detected", "open"];
            let (option, loss) = losses.iter().find(|(_, word)| trips.contains(word)).unwrap();
            self.note(option);
            entry.put("on_loss", *loss);
            return;
        }
        let uses = !self.supplies.is_empty() || !self.routes.is_empty() || self.random.percent(40);
        if uses && self.random.percent(85) {
            let loss = self.one_of(losses);
            entry.put("on_loss", loss);
        }
    }

    pub(super) fn sensors(&mut self) {
        let number = match self.has(Feature::Vote) {
            _ if self.redundant => 2,
            true => *self.random.pick(&[2, 3, 3]),
            false => *self.random.pick(&[1, 1, 2]),
        };
        for n in 1..=number {
            let tag = format!("X{n}");
            let readers = self.readers();
            let chance = match self.about {
                Some("hot") => 10,
                Some(_) => 92,
                None => 60,
            };
            match self.has(Feature::Deadband) || self.random.percent(chance) {
                true => self.sensor(&tag, &readers),
                false => self.switch(&tag, &readers),
            }
            if self.option("BAD in a condition", 7) {
                self.atoms.push(Atom { text: format!("BAD({tag})"), known_to: readers.clone(), input: None });
            }
            self.sources.push(tag.clone());
            self.inputs.push((tag, readers));
        }
    }

    fn sensor(&mut self, tag: &str, readers: &[&'static str]) {
        self.note("sensor");
        let second = self.has(Feature::SecondQuantity) && self.option("sensor of the second quantity", 85);
        let range = match self.about.is_some() || self.random.percent(50) {
            true => "0 .. 10 bar",
            false => self.one_of(&[("smaller range", "1 .. 8 bar"), ("smaller range", "0 .. 7 bar")]),
        };
        let accuracy = self.one_of(ACCURACIES);
        let mut entry = Entry::new(tag)
            .with("measures", if second { "q" } else { "p" })
            .with("range", range)
            .with("accuracy", accuracy)
            .with("wired_to", format!("[{}]", readers.join(", ")));
        if self.has(Feature::Deadband) && self.option("deadband", 75) {
            entry.put("deadband", "1 bar");
        }
        self.way(&mut entry, &["type", "needs"]);
        self.own_wiring(&mut entry, readers);
        self.loss(
            &mut entry,
            &[
                ("sensor: on loss low", "low"),
                ("sensor: on loss high", "high"),
                ("on loss bad", "bad"),
                ("on loss holds", "holds"),
            ],
        );
        if self.strong {
            entry.put("fails", "[high, bad]");
        } else if self.random.percent(18) {
            let fails = self.one_of(&[
                ("sensor fails low", "[low]"),
                ("sensor fails high or bad", "[high, bad]"),
                ("sensor fails low or high", "[low, high]"),
                ("input fails bad", "[bad]"),
            ]);
            entry.put("fails", fails);
        }
        self.draft.add("sensors", entry);
        let (set, relation) = match self.about.is_some() && self.random.percent(85) {
            true => (*self.random.pick(&[2, 3, 3]), ">="),
            false => (1 + self.random.below(8), self.relation()),
        };
        let text = format!("{tag} {relation} {set} bar");
        self.atoms.push(Atom { text, known_to: readers.to_vec(), input: Some(tag.to_string()) });
    }

    fn relation(&mut self) -> &'static str {
        self.one_of(&[
            ("at least", ">="),
            ("above", ">"),
            ("at most", "<="),
            ("below", "<"),
            ("equal", "="),
            ("differs", "<>"),
        ])
    }

    fn switch(&mut self, tag: &str, readers: &[&'static str]) {
        self.note("switch");
        let absence = self.about != Some("hot") && self.option("switch detects the absence", 35);
        let mut entry = Entry::new(tag)
            .with("detects", if absence { "NOT hot" } else { "hot" })
            .with("wired_to", format!("[{}]", readers.join(", ")));
        self.way(&mut entry, &["type", "needs"]);
        self.own_wiring(&mut entry, readers);
        self.loss(
            &mut entry,
            &[
                ("switch: on loss detected", "detected"),
                ("switch: on loss clear", "clear"),
                ("on loss bad", "bad"),
                ("on loss holds", "holds"),
            ],
        );
        if self.strong {
            entry.put("fails", "[detected]");
        } else if self.random.percent(25) {
            let fails = self.one_of(&[
                ("switch fails detected", "[detected]"),
                ("switch fails clear", "[clear]"),
                ("switch fails clear or bad", "[clear, bad]"),
            ]);
            entry.put("fails", fails);
        }
        self.draft.add("sensors", entry);
        let text = match self.about.is_none() && self.random.percent(25) {
            true => format!("{tag} = clear"),
            false => tag.to_string(),
        };
        self.atoms.push(Atom { text, known_to: readers.to_vec(), input: Some(tag.to_string()) });
    }

    /// Routes and conditioners that differ for one of two readers.
    fn own_wiring(&mut self, entry: &mut Entry, readers: &[&'static str]) {
        let differs = entry.get("route").is_some() || entry.get("through").is_some();
        if readers.len() < 2 || !differs || !self.random.percent(92) {
            return;
        }
        self.note("own wiring to a solver");
        let field = if entry.get("route").is_some() { "route" } else { "through" };
        entry.put("wiring", format!("{{ S2: {{ {field}: [] }} }}"));
    }

    pub(super) fn loops(&mut self) {
        if !self.has(Feature::Loop) {
            return;
        }
        self.note("loop");
        let readers = self.readers();
        let (types, cabinets) = (self.types.clone(), self.cabinets.clone());
        let mut first = Entry::new("L-1").with("opens_on", "hot");
        self.with(&mut first, "type", "type of a contact", &types, 80);
        self.with(&mut first, "cabinet", "cabinet of a contact", &cabinets, 80);
        let mut contacts = format!("L-1: {}", super::plant::braces(&first));
        self.sources.push("L-1".into());
        if self.option("loop of two contacts", 45) {
            let on = *self.random.pick(&["wet", "NOT wet", "NOT hot"]);
            contacts += &format!(", L-2: {{ opens_on: {on} }}");
            self.sources.push("L-2".into());
        }
        let mut entry = Entry::new("L")
            .with("contacts", format!("{{ {contacts} }}"))
            .with("wired_to", format!("[{}]", readers.join(", ")));
        self.way(&mut entry, &["contacts"]);
        self.loss(
            &mut entry,
            &[
                ("loop: on loss open", "open"),
                ("loop: on loss closed", "closed"),
                ("loop: on loss closed", "closed"),
                ("on loss bad", "bad"),
            ],
        );
        if self.random.percent(30) {
            let detection = *self.random.pick(&["each_contact", "ends_only", "none"]);
            entry.put("fault_detection", detection);
        }
        self.draft.add("loops", entry);
        let known_to = readers.clone();
        self.atoms.push(Atom { text: "L = open".into(), known_to, input: Some("L".into()) });
        self.inputs.push(("L".into(), readers));
        self.sources.push("L".into());
    }

    pub(super) fn stops(&mut self) {
        if !self.has(Feature::Stop) {
            return;
        }
        self.note("stop");
        let mut contacts = Vec::new();
        let number = if self.option("stop with two contacts", 35) { 2 } else { 1 };
        let solvers = self.actuators[0].drivers.clone();
        for n in 0..number {
            let tag = ["ES-A", "ES-B"][n];
            let solver = solvers[n % solvers.len()];
            let mut contact = Entry::new(tag).with("wired_to", format!("[{solver}]"));
            self.way(&mut contact, &["type"]);
            self.loss(
                &mut contact,
                &[
                    ("stop: on loss open", "open"),
                    ("stop: on loss closed", "closed"),
                    ("stop: on loss closed", "closed"),
                    ("on loss holds", "holds"),
                ],
            );
            contacts.push(format!("{tag}: {}", super::plant::braces(&contact)));
            let text = format!("{tag} = pressed");
            self.atoms.push(Atom { text, known_to: vec![solver], input: Some(tag.to_string()) });
            self.inputs.push((tag.to_string(), vec![solver]));
            self.sources.push(tag.into());
        }
        let device = self.actuators[0].clone();
        let mut entry = Entry::new("ES")
            .with("contacts", format!("{{ {} }}", contacts.join(", ")))
            .with("brings", format!("[{} = {}]", device.tag, device.wanted))
            .with("stop_category", "0");
        if self.option("stop with a fault", 40) {
            entry.put("fault_tolerance", "1");
        }
        self.draft.add("stops", entry);
    }
}
