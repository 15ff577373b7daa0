//! The one table of the fields that take calculated values: on which side of the truth each of them does no harm.

use crate::model::Side;
use crate::source::Scalar;

/// A field with the key of the element that it belongs to.
pub(in crate::model::lower) type Of<'a> = (&'a Scalar, Field);

macro_rules! fields {
    ($($(#[$why:meta])* $field:ident = $name:literal: $side:ident;)*) => {
        /// A field that a calculated value may stand in.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(in crate::model::lower) enum Field {
            $($(#[$why])* $field,)*
        }

        impl Field {
            /// Every field.
            #[cfg(test)]
            pub(in crate::model::lower) const ALL: &'static [Field] = &[$(Field::$field,)*];

            /// Its key.
            pub(in crate::model::lower) fn name(self) -> &'static str {
                match self {
                    $(Field::$field => $name,)*
                }
            }

            /// The side of the true value on which its value does no harm.
            pub(in crate::model::lower) fn side(self) -> Side {
                match self {
                    $(Field::$field => Side::$side,)*
                }
            }
        }
    };
}

fields! {
    // Time that passes before something has acted: longer is worse.
    /// Of a reading.
    Response = "response": High;
    /// Of a reading, 90 % of a step.
    T90 = "t90": High;
    /// Of a reading.
    Confirmation = "confirmation": High;
    /// Of a reading.
    Filter = "filter": High;
    /// Of a reading.
    TransportDelay = "transport_delay": High;
    /// Of a reading, after its supply returned.
    WarmUp = "warm_up": High;
    /// Of a solver.
    Reaction = "reaction": High;
    /// Of a link, and of an effect, where it is a setting: the value in the report is the one to set.
    Delay = "delay": High;
    /// Of a cause; a setting, as above.
    OnDelay = "on_delay": High;
    /// Of the marks of a cause; settings, as above.
    Delays = "delays": High;
    /// Of an actuator or passive device.
    MovesIn = "moves_in": High;
    /// Of a hazard: what people need.
    Evacuation = "evacuation": High;
    /// Of a suppression release: a setting that must be no shorter than what people need.
    Warning = "warning": High;
    /// Of a supply.
    ChangeOver = "change_over": High;
    /// Of a solver: a reaction holds two of them.
    Scan = "scan": High;
    /// Of an alarm: what the person needs who must act.
    PersonNeeds = "person_needs": High;
    /// Of a space: what people need.
    LeavingTakes = "leaving_takes": High;
    /// Of a hazard: for how long its safe state must be kept.
    HazardLasts = "lasts": High;

    // Time that is available: shorter is worse.
    /// Of a signal that does not stay.
    SignalLasts = "signal_lasts": Low;
    /// Of a hazard.
    Within = "within": Low;
    /// Of a hazard.
    HarmAfterSetPoint = "harm_after_set_point": Low;
    /// Of a supply or store.
    Lasts = "lasts": Low;
    /// Of a suppression release: a setting that must be no longer than what the fire allows.
    HoldLimit = "hold_limit": Low;
    /// Of an override device: a setting, as above.
    TimeLimit = "time_limit": Low;
    /// Of an actuator: what certainly passes before it has moved.
    ShortestTime = "shortest_time": Low;

    // The worst credible rate: faster leaves less time.
    /// Of a quantity.
    Rises = "rises": High;
    /// Of a quantity.
    Falls = "falls": High;

    /// Of a suppression release: more is needed.
    Demand = "demand": High;
    /// Of a machine: less is given.
    Capacity = "capacity": Low;
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use std::collections::BTreeSet;

    use super::*;

    /// Definitions whose fields are numbers put into formulas; there both bounds go in.
    const FORMULAS: &[&str] = &[
        "TimeAtRate",
        "Ramp",
        "Discharge",
        "VentilatedRoom",
        "PipeFilling",
        "Stopping",
        "Approach",
        "Endurance",
    ];

    fn takes_from(property: &serde_json::Value) -> bool {
        property.to_string().contains("|from ")
    }

    #[test]
    fn every_field_that_takes_a_calculated_value_has_a_side_and_no_other_has() {
        let settings = schemars::generate::SchemaSettings::draft07().into_generator();
        let schema = settings.into_root_schema_for::<crate::syntax::document::Document>();
        let schema = serde_json::to_value(schema).unwrap();
        let mut found = BTreeSet::new();
        let mut inputs = BTreeSet::new();
        for (name, definition) in schema["definitions"].as_object().unwrap() {
            let properties = definition["properties"].as_object().into_iter().flatten();
            for (field, _) in properties.filter(|(_, property)| takes_from(property)) {
                match FORMULAS.contains(&name.as_str()) {
                    true => inputs.insert(name.clone()),
                    false => found.insert(field.clone()),
                };
            }
        }
        let table: BTreeSet<String> = Field::ALL.iter().map(|field| field.name().to_string()).collect();
        assert_eq!(found, table);
        assert_eq!(inputs.len(), FORMULAS.len());
    }

    #[test]
    fn the_page_on_calculated_values_says_the_same_sides() {
        let page = include_str!("../../../../docs/calculations.md");
        let mut sides = Vec::new();
        for line in page.lines() {
            let side = match line.trim_end().trim_end_matches('|').trim_end().rsplit("| ").next() {
                Some("the upper bound") => Side::High,
                Some("the lower bound") => Side::Low,
                _ => continue,
            };
            let names = line.split('|').nth(1).unwrap().split('`').skip(1).step_by(2);
            sides.extend(names.map(|name| (name.to_string(), side)));
        }
        let mut table: Vec<(String, Side)> =
            Field::ALL.iter().map(|field| (field.name().to_string(), field.side())).collect();
        sides.sort();
        table.sort();
        assert_eq!(sides, table);
    }
}
