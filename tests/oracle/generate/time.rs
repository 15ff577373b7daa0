//! Times of everything that takes time, added to a model that is written otherwise. They are small whole numbers, so that
//! sums often meet exactly what is left.

use super::Writing;
use super::draft::Entry;

impl Writing {
    pub(super) fn times(&mut self) {
        if !self.option("times", 70) {
            return;
        }
        for section in 0..self.draft.sections.len() {
            for number in 0..self.draft.sections[section].entries.len() {
                let name = self.draft.sections[section].name.clone();
                let mut entry = std::mem::take(&mut self.draft.sections[section].entries[number]);
                self.times_of(&name, &mut entry);
                self.draft.sections[section].entries[number] = entry;
            }
        }
        if self.option("usable fraction of the policy", 15) {
            self.draft.policy.put("usable_fraction", "0.5");
            self.draft.policy.put("usable_fraction_reason", "generated");
        }
    }

    fn seconds(&mut self, unknown: &'static str) -> String {
        match self.random.percent(3) {
            true => {
                self.note(unknown);
                "unknown".to_string()
            }
            false => format!("{} s", self.random.below(4)),
        }
    }

    fn times_of(&mut self, section: &str, entry: &mut Entry) {
        match section {
            "logic_solvers" => {
                self.note("reaction of a solver");
                let time = self.seconds("unknown time");
                entry.put("reaction", time);
            }
            "links" => {
                self.note("delay of a link");
                let time = self.seconds("unknown time");
                entry.put("delay", time);
            }
            "sensors" => self.sensor_times(entry),
            "loops" => {
                self.note("response of a loop");
                let time = self.seconds("unknown time");
                entry.put("response", time);
            }
            "actuators" | "passive" => {
                self.note("time to move");
                let time = self.seconds("unknown time");
                entry.put("moves_in", time);
            }
            "effects" => {
                if self.option("delay of an effect", 20) {
                    entry.put("delay", "1 s");
                }
                // The first one comes before the others; while it is at hand itself, its place is empty.
                let first = self.draft.entries("effects").first().map(|first| first.tag.clone());
                if let Some(first) = first.filter(|tag| !tag.is_empty())
                    && self.option("order of effects", 100)
                {
                    entry.put("after", format!("[{first}]"));
                    // Long enough that other causes can end the first one before: else nothing is asked.
                    entry.set("delay", "15 s");
                }
            }
            "causes" => self.cause_times(entry),
            "quantities" => self.rates(entry),
            "hazards" => self.hazard_times(entry),
            _ => {}
        }
    }

    fn sensor_times(&mut self, entry: &mut Entry) {
        let time = self.seconds("unknown time");
        match entry.get("measures").is_some() && self.option("T90", 25) {
            true => entry.put("t90", time),
            false => entry.put("response", time),
        }
        for (field, option) in
            [("confirmation", "confirmation"), ("filter", "filter"), ("transport_delay", "transport delay")]
        {
            if self.option(option, 12) {
                entry.put(field, "1 s");
            }
        }
        if self.option("time to warm up", 12) {
            entry.put("warm_up", "60 s");
        }
        if self.option("signal that does not stay", 12) {
            let lasts = *self.random.pick(&["1 s", "4 s", "8 s", "15 s", "unknown"]);
            entry.put("signal_lasts", lasts);
        }
    }

    fn cause_times(&mut self, entry: &mut Entry) {
        if self.option("on-delay", 20) {
            entry.put("on_delay", format!("{} s", 1 + self.random.below(3)));
        }
        let demands = entry.get("demands").unwrap_or_default().trim_matches(['[', ']']).to_string();
        if let Some(first) = demands.split(", ").next().filter(|first| !first.is_empty())
            && self.option("delay of a mark", 15)
        {
            entry.put("delays", format!("{{ {first}: 2 s }}"));
        }
    }

    fn rates(&mut self, entry: &mut Entry) {
        if self.option("rate of rise", 75) {
            entry.put("rises", *self.random.pick(&["1 bar/s", "0.5 bar/s", "2 bar/s"]));
        }
        if self.option("rate of fall", 25) {
            entry.put("falls", "1 bar/s");
        }
        if entry.get("normal").is_none() && self.option("normal range of the second quantity", 50) {
            entry.put("normal", "0 .. 2 bar");
        }
    }

    fn hazard_times(&mut self, entry: &mut Entry) {
        if self.option("time of a hazard", 92) {
            entry.put("within", format!("{} s", self.random.below(11)));
        }
        if self.option("time from the set point", 12) {
            let time = *self.random.pick(&["4 s", "8 s", "unknown"]);
            entry.put("harm_after_set_point", time);
        }
        if self.option("time to leave", 15) {
            entry.put("evacuation", "2 s");
        }
        if self.option("usable fraction of a hazard", 15) {
            entry.put("usable_fraction", "0.5");
        }
    }
}
