//! Policy, modes, quantities, conditions and couplings.

use super::draft::Entry;
use super::{Feature, Writing};

impl Writing {
    pub(super) fn plant(&mut self) {
        self.policy();
        self.modes();
        self.quantities();
        self.couplings();
    }

    fn policy(&mut self) {
        let easy = self.redundant && self.random.percent(75);
        let paths = if easy { "1".to_string() } else { (1 + self.random.below(2)).to_string() };
        let tolerance = if easy { "0".to_string() } else { self.random.below(2).to_string() };
        let mut policy = Entry::new("").with("disjoint_paths", paths).with("fault_tolerance", tolerance);
        if self.option("overrides with faults", 35) {
            policy.put("under_overrides", "1");
        }
        if self.has(Feature::Policy) && self.option("types left out", 60) {
            policy.put("leaves_out", "{ types: common practice here }");
        } else if self.has(Feature::Policy) {
            self.note("parameter sources left out");
            policy.put("leaves_out", "{ parameter_sources: checked twice }");
        }
        self.draft.policy = policy;
    }

    fn modes(&mut self) {
        let second = self.has(Feature::SecondMode)
            || self.has(Feature::ImpossibleMode)
            || self.random.percent(if self.has(Feature::Forbids) { 88 } else { 15 });
        let inside = self.has(Feature::Space);
        let mut run = Entry::new("run").with("people", if inside { "expected" } else { "never" });
        if self.has(Feature::SecondGroup) || self.option("needs of a mode", 15) {
            self.note("needs of a mode");
            let position = *self.random.pick(&["on", "on", "off"]);
            run.put("needs", format!("[A1 = {position}]"));
        }
        self.normal(&mut run);
        let mut bay = Entry::new("bay").with("run", braces(&run));
        if second {
            self.note("second mode");
            let expected = !inside && self.option("people without a space", 20);
            let mut idle = Entry::new("idle").with("people", if expected { "expected" } else { "never" });
            self.normal(&mut idle);
            bay.put("idle", braces(&idle));
        }
        self.draft.add("modes", bay);
        if self.has(Feature::SecondGroup) {
            self.note("second mode group");
            self.second_group();
        }
    }

    fn second_group(&mut self) {
        let mut load = Entry::new("load").with("people", "never");
        if self.option("second group needs something", 75) {
            let (actuator, position) =
                (*self.random.pick(&["A1", "A1", "A2"]), *self.random.pick(&["on", "off"]));
            load.put("needs", format!("[{actuator} = {position}]"));
            if actuator == "A2" {
                self.features.insert(Feature::Opposed);
            }
        }
        self.normal(&mut load);
        let mut dock = Entry::new("dock").with("load", braces(&load));
        if self.option("second group has two modes", 60) {
            dock.put("wait", "{ people: never }");
        }
        self.draft.add("modes", dock);
    }

    /// What is normal in a mode.
    fn normal(&mut self, mode: &mut Entry) {
        let chance = if self.has(Feature::SecondGroup) { 35 } else { 12 };
        if !self.random.percent(chance) {
            return;
        }
        let how = self.one_of(&[
            ("normal range in a mode", "p: 0 .. 6 bar"),
            ("normal range in a mode", "p: 6 .. 8 bar"),
            ("quantity free in a mode", "p: free"),
            ("condition normal in a mode", "hot: true"),
            ("condition free in a mode", "hot: free"),
        ]);
        mode.put("normal", format!("{{ {how} }}"));
    }

    fn quantities(&mut self) {
        let mut p = Entry::new("p").with("range", "0 .. 10 bar");
        match self.random.percent(25) {
            true => self.note("no normal range"),
            false => p.put("normal", "0 .. 3 bar"),
        }
        self.draft.add("quantities", p);
        if self.has(Feature::SecondQuantity) {
            self.note("second quantity");
            self.draft.add("quantities", Entry::new("q").with("range", "0 .. 10 bar"));
            if self.random.percent(60) {
                self.note("coupling of two quantities");
                let how = *self.random.pick(&["q >= p - 2 bar", "p + q <= 12 bar", "q - p <= 1 bar"]);
                self.couple("CQ", &format!("always: {how}"));
            }
        }
        let mut hot = Entry::new("hot");
        if self.has(Feature::SecondGroup) && self.random.percent(15) {
            hot.put("normal", "true");
        }
        self.draft.add("conditions", hot);
        if self.has(Feature::Loop) || self.has(Feature::Coupling) {
            self.note("second condition");
            let mut wet = Entry::new("wet");
            if self.option("condition that is normally true", 30) {
                wet.put("normal", "true");
            }
            self.draft.add("conditions", wet);
        }
    }

    fn couplings(&mut self) {
        if self.has(Feature::ImpossibleMode) {
            let how = self.one_of(&[
                ("mode without any situation", "always: NOT (bay = idle)"),
                ("mode without any situation", "if: bay = idle, then: p > 7 bar AND p < 3 bar"),
                ("mode without any situation", "if: bay = idle, then: hot AND NOT hot"),
            ]);
            self.couple("CI", how);
        }
        if !self.has(Feature::Coupling) {
            return;
        }
        let how = self.one_of(&[
            ("coupling from a condition", "if: hot, then: p >= 2 bar"),
            ("coupling from a quantity", "if: p >= 8 bar, then: hot"),
            ("coupling from a mode", "if: bay = run, then: p <= 9 bar"),
            ("coupling to a mode", "if: p > 5 bar, then: bay = run"),
            ("coupling of alternatives", "always: hot OR p < 9 bar"),
            ("coupling of conditions", "always: NOT hot OR wet"),
            ("coupling with a vote", "always: \"1oo2(NOT hot, p <= 7 bar)\""),
        ]);
        self.couple("CPL", how);
    }

    fn couple(&mut self, tag: &str, how: &str) {
        self.note("coupling");
        let mut coupling = Entry::new(tag);
        match how.split_once(", then: ") {
            Some((first, then)) => {
                coupling.put("if", first.trim_start_matches("if: "));
                coupling.put("then", then);
            }
            None => coupling.put("always", how.trim_start_matches("always: ")),
        }
        self.draft.add("couplings", coupling.with("owner", "test engineer"));
    }
}

/// An entry as the value of a field.
pub(super) fn braces(entry: &Entry) -> String {
    let fields: Vec<String> = entry.fields.iter().map(|(name, value)| format!("{name}: {value}")).collect();
    format!("{{ {} }}", fields.join(", "))
}
