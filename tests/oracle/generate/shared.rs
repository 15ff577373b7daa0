//! What equipment shares: cabinets, supplies, routes, shared parts; solvers, conditioners, relays, mode inputs, links.

use super::draft::Entry;
use super::{Atom, Feature, Writing};

impl Writing {
    pub(super) fn shared(&mut self) {
        if self.has(Feature::Cabinet) {
            self.note("cabinet");
            self.cabinets.push("CAB");
            self.sources.push("CAB".into());
            self.draft.add("cabinets", Entry::new("CAB"));
        }
        if self.has(Feature::Supplies) {
            self.supplies();
        }
        if self.has(Feature::Routes) {
            self.note("route");
            self.routes.push("R1");
            if self.option("second route", 30) {
                self.routes.push("R2");
            }
            for route in self.routes.clone() {
                self.sources.push(route.into());
                self.draft.add("routes", Entry::new(route));
            }
        }
        if [Feature::Shared, Feature::Policy, Feature::Types].iter().any(|feature| self.has(*feature)) {
            self.parts();
        }
    }

    fn supplies(&mut self) {
        self.note("supply");
        let cabinets = self.cabinets.clone();
        let mut first = Entry::new("U1");
        self.with(&mut first, "cabinet", "cabinet of a supply", &cabinets, 60);
        self.draft.add("supplies", first);
        self.supplies.push("U1");
        if self.option("second supply", 70) {
            self.supplies.push("U2");
            self.draft.add("supplies", Entry::new("U2"));
            if self.random.percent(75) {
                let feeds = self.one_of(&[
                    ("supply fed by either", "U1 OR U2"),
                    ("supply fed by both", "U1 AND U2"),
                    ("supply fed by one", "U1"),
                ]);
                self.supplies.push("U3");
                self.draft.add("supplies", Entry::new("U3").with("fed_by", feeds));
            }
        }
        self.sources.extend(self.supplies.iter().map(|supply| supply.to_string()));
    }

    fn parts(&mut self) {
        if self.has(Feature::Policy) || self.has(Feature::Types) || self.random.percent(40) {
            self.note("type");
            self.types.push("TY");
            self.sources.push("TY".into());
            self.draft.add("types", Entry::new("TY"));
        }
        if !self.has(Feature::Policy) && !self.has(Feature::Shared) {
            return;
        }
        let section = match self.has(Feature::Policy) {
            true => "parameter_sources",
            false => *self.random.pick(&["stores", "stores", "machines", "parameter_sources"]),
        };
        self.note(match section {
            "stores" => "store",
            "machines" => "machine",
            _ => "parameter source",
        });
        self.shared.push("M");
        self.sources.push("M".into());
        self.draft.add(section, Entry::new("M"));
    }

    pub(super) fn solvers(&mut self) {
        let (supplies, cabinets, types, shared) =
            (self.supplies.clone(), self.cabinets.clone(), self.types.clone(), self.shared.clone());
        let two = [Feature::SecondSolver, Feature::Link, Feature::TwoDrivers].iter().any(|f| self.has(*f));
        self.solvers = if two { vec!["S1", "S2"] } else { vec!["S1"] };
        if two {
            self.note("second solver");
        }
        for solver in self.solvers.clone() {
            let mut entry = Entry::new(solver).with("title", solver);
            self.with(&mut entry, "supply", "supply of a solver", &supplies, 45);
            self.with(&mut entry, "cabinet", "cabinet of a solver", &cabinets, 50);
            self.with(&mut entry, "type", "type of a solver", &types, 45);
            self.list(&mut entry, "needs", "solver needs a part", &shared, 25);
            if self.strong || self.option("certified solver", 10) {
                entry.put("certified_fault_tolerance", "1");
                entry.put("certificate", "kept by the maker");
            }
            self.draft.add("logic_solvers", entry);
            self.sources.push(solver.into());
        }
    }

    pub(super) fn ways(&mut self) {
        let (supplies, shared, cabinets, types) =
            (self.supplies.clone(), self.shared.clone(), self.cabinets.clone(), self.types.clone());
        if self.has(Feature::Conditioner) {
            self.note("conditioner");
            let mut entry = Entry::new("IS").with("title", "IS");
            self.with(&mut entry, "supply", "supply of a conditioner", &supplies, 92);
            self.with(&mut entry, "cabinet", "cabinet of a conditioner", &cabinets, 92);
            self.list(&mut entry, "needs", "conditioner needs a part", &shared, 92);
            self.conditioners.push("IS");
            self.sources.push("IS".into());
            self.draft.add("conditioners", entry);
        }
        if self.has(Feature::Relay) {
            self.note("relay");
            let mut entry = Entry::new("KR").with("title", "KR");
            self.with(&mut entry, "supply", "supply of a relay", &supplies, 92);
            self.with(&mut entry, "cabinet", "cabinet of a relay", &cabinets, 92);
            self.with(&mut entry, "type", "type of a relay", &types, 92);
            self.relays.push("KR");
            self.sources.push("KR".into());
            self.draft.add("relays", entry);
        }
        if self.has(Feature::ModeInput) {
            self.mode_input();
        }
    }

    fn mode_input(&mut self) {
        self.note("mode input");
        let (supplies, routes, through, cabinets, types) = (
            self.supplies.clone(),
            self.routes.clone(),
            self.conditioners.clone(),
            self.cabinets.clone(),
            self.types.clone(),
        );
        let tells: Vec<&'static str> = match self.solvers.len() {
            2 if self.option("mode input tells two solvers", 70) => vec!["S1", "S2"],
            _ => vec!["S1"],
        };
        let mut entry =
            Entry::new("MS").with("group", "bay").with("tells", format!("[{}]", tells.join(", ")));
        self.list(&mut entry, "route", "route of a mode input", &routes, 88);
        self.list(&mut entry, "through", "mode input through a conditioner", &through, 88);
        self.with(&mut entry, "supply", "supply of a mode input", &supplies, 88);
        self.with(&mut entry, "cabinet", "cabinet of a mode input", &cabinets, 88);
        self.with(&mut entry, "type", "type of a mode input", &types, 88);
        self.draft.add("mode_inputs", entry);
        self.sources.push("MS".into());
        let mode = if self.random.percent(70) { "run" } else { "idle" };
        let two = self.draft.entries("modes")[0].get("idle").is_some();
        if two && self.option("mode input in a condition", 50) {
            self.atoms.push(Atom { text: format!("MS = {mode}"), known_to: tells, input: None });
        }
    }

    /// A link from the first solver to the second one.
    pub(super) fn link(&mut self) {
        if !self.has(Feature::Link) {
            return;
        }
        self.note("link");
        let (supplies, routes, cabinets, types) =
            (self.supplies.clone(), self.routes.clone(), self.cabinets.clone(), self.types.clone());
        let mut entry = Entry::new("LK").with("connects", "[S1, S2]").with("carries", "[]");
        if self.option("supervised link", 40) {
            entry.put("supervised", "true");
        }
        if self.random.percent(94) {
            let loss = self.one_of(&[
                ("link: on loss trips", "trips"),
                ("link: on loss no trip", "no_trip"),
                ("link: on loss bad", "bad"),
                ("link: on loss holds", "holds"),
            ]);
            entry.put("on_loss", loss);
        }
        self.list(&mut entry, "route", "route of a link", &routes, 88);
        self.with(&mut entry, "supply", "supply of a link", &supplies, 88);
        self.with(&mut entry, "cabinet", "cabinet of a link", &cabinets, 88);
        self.with(&mut entry, "type", "type of a link", &types, 88);
        let mut carried: Vec<String> = Vec::new();
        for (tag, readers) in self.inputs.clone() {
            if readers == ["S1"] && self.option("link carries an input", 75) {
                carried.push(tag);
            }
        }
        for atom in &mut self.atoms {
            if atom.input.as_ref().is_some_and(|input| carried.contains(input)) {
                atom.known_to.push("S2");
            }
        }
        if self.option("loss of a link in a condition", 32) {
            let known_to = vec!["S1", "S2"];
            self.atoms.push(Atom { text: "LOST(LK)".into(), known_to, input: None });
        }
        entry.set("carries", format!("[{}]", carried.join(", ")));
        self.draft.add("links", entry);
        self.sources.push("LK".into());
    }
}
