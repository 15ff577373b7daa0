//! Pages that are made from the program stay what the program says.
//!
//! Run with `TRIPPROOF_WRITE_DOCS=1` to write them anew.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use tripproof::check::{Check, HEADINGS};

#[path = "support/keep.rs"]
mod keep;

use keep::keep;

#[test]
fn the_language_reference_is_current() {
    keep("docs/language.md", &tripproof::reference::reference());
}

#[test]
fn the_json_schema_of_the_language_is_current() {
    let text = serde_json::to_string_pretty(&tripproof::reference::schema()).unwrap() + "\n";
    keep("docs/schema/model.schema.json", &text);
}

#[test]
fn the_documentation_of_the_json_report_is_current() {
    keep("docs/report-json.md", &tripproof::report::json::manual());
    keep("docs/schema/report.schema.json", &tripproof::report::json::schema());
}

#[test]
fn the_documentation_of_the_json_report_of_paths_is_current() {
    keep("docs/paths-json.md", &tripproof::report::paths::json::manual());
    keep("docs/schema/paths.schema.json", &tripproof::report::paths::json::schema());
}

#[test]
fn the_page_of_every_check_is_current() {
    let mut index = String::from("# Checks\n\nOne page for each; `tripproof explain NAME` prints it.\n\n");
    for check in Check::ALL {
        keep(&format!("docs/checks/{}.md", check.name()), &check.manual());
        let first = check.manual().lines().nth(2).unwrap_or_default().to_string();
        index.push_str(&format!("* [{0}]({0}.md): {first}\n", check.name()));
    }
    keep("docs/checks/README.md", &index);
}

#[test]
fn every_page_of_a_check_has_all_headings_filled() {
    for check in Check::ALL {
        for heading in HEADINGS {
            let text = check.section(heading);
            assert!(text.len() > 20, "{}: section '{heading}' says nothing", check.name());
        }
    }
}

#[test]
fn every_optional_field_says_what_its_absence_means() {
    fn walk(schema: &serde_json::Value, at: &str, missing: &mut Vec<String>) {
        let required: Vec<&str> = schema["required"]
            .as_array()
            .map(|names| names.iter().filter_map(|n| n.as_str()).collect())
            .unwrap_or_default();
        if let Some(fields) = schema["properties"].as_object() {
            for (name, field) in fields {
                let text = field["description"].as_str().unwrap_or_default();
                if !required.contains(&name.as_str()) && !text.contains("Absent") {
                    missing.push(format!("{at}.{name}"));
                }
            }
        }
    }
    let schema = tripproof::reference::schema();
    let mut missing = Vec::new();
    walk(&schema, "file", &mut missing);
    for (name, definition) in schema["definitions"].as_object().unwrap() {
        walk(definition, name, &mut missing);
    }
    assert!(missing.is_empty(), "fields without `Absent:`: {missing:?}");
}
