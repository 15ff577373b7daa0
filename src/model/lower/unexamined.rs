//! Gathers the fields that are read and checked for their form, and on which no result depends, with who has them.
//!
//! Free texts (titles, places, owners) are not among them: nobody expects them to be examined.

use super::Lowering;

impl Lowering<'_> {
    /// The fields of the document that no result depends on, by what they say.
    pub(super) fn unexamined(&mut self) {
        let doc = self.doc;
        for (key, item) in doc.sensors.iter().flat_map(|table| &table.entries) {
            self.has(item.rated_for.is_some(), "conditions a sensor is built for (`rated_for`)", &key.text);
            self.has(item.proof_test.is_some(), PROOF_TEST, &key.text);
        }
        // Read where some hazard says how long its safe state must be kept.
        let kept = doc.hazards.entries.iter().any(|(_, hazard)| hazard.lasts.is_some());
        for (key, item) in doc.stores.iter().flat_map(|table| &table.entries) {
            self.has(item.lasts.is_some() && !kept, "how long a store lasts (`lasts`)", &key.text);
        }
        for (key, item) in doc.supplies.iter().flat_map(|table| &table.entries) {
            self.has(item.lasts.is_some() && !kept, "how long a supply lasts alone (`lasts`)", &key.text);
            self.has(
                item.change_over.is_some(),
                "time to change over between feeds (`change_over`)",
                &key.text,
            );
        }
        for (group, modes) in &doc.modes.entries {
            for (mode, item) in &modes.entries {
                let name = format!("{} = {}", group.text, mode.text);
                self.has(item.followed_by.is_some(), "order of modes (`followed_by`)", &name);
                let returns = item.after_power_return.as_ref().is_some_and(|flag| flag.text == "true");
                self.has(returns, "mode after power returns (`after_power_return`)", &name);
            }
        }
        for (key, item) in doc.actuators.iter().flat_map(|table| &table.entries) {
            self.has(item.feedback.is_some(), "position read back (`feedback`)", &key.text);
            self.has(item.proof_test.is_some(), PROOF_TEST, &key.text);
        }
        for (key, item) in doc.passive.iter().flat_map(|table| &table.entries) {
            self.has(item.proof_test.is_some(), PROOF_TEST, &key.text);
        }
        for (_, space) in doc.spaces.iter().flat_map(|table| &table.entries) {
            for (key, door) in &space.doors.entries {
                self.has(
                    door.position_sensors.is_some(),
                    "sensors of a door (`position_sensors`)",
                    &key.text,
                );
            }
        }
        for (key, _) in doc.stops.iter().flat_map(|table| &table.entries) {
            self.has(true, "stop category (`stop_category`)", &key.text);
        }
        for (key, item) in &doc.causes.entries {
            let kept = item.kept_without_power.is_some();
            self.has(kept, "whether a latch is kept without power (`kept_without_power`)", &key.text);
        }
    }

    fn has(&mut self, given: bool, what: &'static str, tag: &str) {
        if given {
            self.model.unexamined.entry(what).or_default().push(tag.to_string());
        }
    }
}

const PROOF_TEST: &str = "interval and coverage of proof tests (`proof_test`)";
