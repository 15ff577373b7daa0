//! The JSON report, version 1: a format of its own, so that a change inside the program never changes it.
//!
//! `shape` says what there is, `fill` takes it from the outcomes, `manual` writes its documentation.

mod fill;
mod manual;
mod shape;

use schemars::generate::SchemaSettings;

use super::Entry;
use super::terminal::is_visible;
pub use manual::{manual, page};
pub use shape::*;

/// The report on all models, with a line feed at the end. The same outcomes give the same bytes.
pub fn render(entries: &[Entry], solver: &str, exit_code: u8) -> String {
    printed(&fill::report(entries, solver, exit_code))
}

/// The JSON Schema (draft 7) of the report.
pub fn schema() -> String {
    printed(&schema_value())
}

fn schema_value() -> schemars::Schema {
    let mut schema = SchemaSettings::draft07().into_generator().into_root_schema_for::<Report>();
    schema.insert("title".into(), "tripproof report, version 1".into());
    schema.insert("version".into(), VERSION.into());
    schema
}

pub(super) fn printed(value: &impl serde::Serialize) -> String {
    // Only maps with keys that are no text can fail, and there are none.
    let text = serde_json::to_string_pretty(value).unwrap_or_default() + "\n";
    let mut printed = String::with_capacity(text.len());
    for c in text.chars() {
        match c == '\n' || is_visible(c) {
            true => printed.push(c),
            // What could steer a terminal stands only within texts, where its number means the same.
            false => printed.push_str(&format!("\\u{:04x}", u32::from(c))),
        }
    }
    printed
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use serde_json::Value;

    use super::*;
    use crate::report::samples;

    fn value() -> Value {
        serde_json::from_str(&render(&samples::entries(), "Z3 5.4.1.0", 2)).expect("JSON")
    }

    #[test]
    fn the_report_names_itself_and_its_version() {
        let value = value();
        assert_eq!(value["format"], "tripproof-report");
        assert_eq!(value["version"], 1);
        assert_eq!(value["exit_code"], 2);
    }

    #[test]
    fn what_could_steer_a_terminal_is_printed_as_its_number() {
        let file = "a\u{85}b\u{9b}c\u{7f}d\u{202e}e\u{feff}f\u{e9}\n";
        let entry = Entry::Failed { file: file.into(), code: "no-such-file", message: String::new() };
        let printed = render(&[entry], "Z3 5.4.1.0", 2);
        assert!(printed.contains("a\\u0085b\\u009bc\\u007fd\\u202ee\\ufefff\u{e9}\\n"), "{printed}");
        let value: Value = serde_json::from_str(&printed).expect("JSON");
        assert_eq!(value["models"][0]["file"], file);
    }

    #[test]
    fn every_field_of_a_finding_stands_apart() {
        let value = value();
        let finding = &value["findings"][0];
        assert_eq!(finding["file"], "cell.yaml");
        assert_eq!(finding["check"], "too-few-disjoint-paths");
        assert_eq!(finding["severity"], "serious");
        assert_eq!(finding["hazard"], "H-IGNITION");
        assert_eq!(finding["modes"][0], "cell running");
        assert_eq!(finding["elements"], serde_json::json!(["GD-1", "K1"]));
        assert_eq!(finding["witness"]["values"][0]["name"], "solvent");
        assert!(finding["place"]["line"].as_u64().unwrap() > 1);
        assert_eq!(value["findings"].as_array().unwrap().len(), 3);
    }

    #[test]
    fn claims_carry_their_verdicts_and_models_their_errors() {
        let value = value();
        let verdicts: Vec<&str> = value["claims"]
            .as_array()
            .unwrap()
            .iter()
            .map(|claim| claim["verdict"].as_str().unwrap())
            .collect();
        assert_eq!(verdicts, ["proved", "undecided", "refuted", "refuted", "refuted", "not applicable"]);
        assert_eq!(value["claims"][1]["reason"], "the limit of work was reached");
        assert_eq!(value["models"][0]["exit_code"], 1);
        assert_eq!(value["models"][1]["errors"][0]["place"]["column"], 1);
        assert_eq!(value["models"][2]["errors"][0]["code"], "no-such-file");
        assert_eq!(value["models"][2]["errors"][0]["place"], Value::Null);
    }

    #[test]
    fn the_schema_has_every_field_that_a_report_has() {
        let schema: Value = serde_json::from_str(&schema()).expect("JSON");
        compare(&schema, &schema, &value(), "report");
    }

    /// Every key of the value is a property of the schema, and every required property is there.
    fn compare(root: &Value, schema: &Value, value: &Value, path: &str) {
        if let Some(reference) = schema["$ref"].as_str() {
            let name = reference.rsplit('/').next().unwrap();
            return compare(root, &root["definitions"][name], value, path);
        }
        if let Some(choices) = schema["anyOf"].as_array().or(schema["allOf"].as_array()) {
            if !value.is_null() {
                compare(root, &choices[0], value, path);
            }
            return;
        }
        match value {
            Value::Object(map) => {
                for (key, part) in map {
                    let property = &schema["properties"][key];
                    assert!(!property.is_null(), "{path}.{key} is not in the schema");
                    compare(root, property, part, &format!("{path}.{key}"));
                }
                for key in schema["required"].as_array().into_iter().flatten() {
                    assert!(map.contains_key(key.as_str().unwrap()), "{path} lacks {key}");
                }
            }
            Value::Array(parts) => parts.iter().for_each(|part| compare(root, &schema["items"], part, path)),
            _ => {}
        }
    }
}
