//! The documentation of the JSON report, field by field, from its schema.

use serde_json::{Map, Value};

const INTRODUCTION: &str = "\
# The JSON report

`tripproof check --format json MODEL…` prints one JSON object. `tripproof schema --report` prints its JSON Schema.
The same models give the same bytes: there is no date in it. A field that does not apply is `null`; only `calculations` is left
out where a model has none. Within version 1
fields may be added; none goes or changes its meaning.

This page is made from the schema; a test keeps it current.
";

/// The page, in Markdown.
pub fn manual() -> String {
    page(INTRODUCTION, "Report", super::schema_value().as_object())
}

/// A page on a format: what it begins with, and its schema, whose whole has a name of its own.
pub fn page(introduction: &str, whole: &str, schema: Option<&Map<String, Value>>) -> String {
    let root = schema.cloned().unwrap_or_default();
    let mut page = introduction.to_string();
    page.push_str(&table(whole, &Value::Object(root.clone())));
    let none = Map::new();
    let definitions = root.get("definitions").and_then(Value::as_object).unwrap_or(&none);
    for (name, definition) in definitions {
        page.push_str(&table(name, definition));
    }
    page
}

fn table(name: &str, schema: &Value) -> String {
    let mut text =
        format!("\n## {name}\n\n{}\n\n| field | type | meaning |\n|---|---|---|\n", described(schema));
    for (field, property) in schema.get("properties").and_then(Value::as_object).into_iter().flatten() {
        text.push_str(&format!("| `{field}` | {} | {} |\n", kind(property), described(property)));
    }
    text
}

fn described(schema: &Value) -> String {
    let text = schema.get("description").and_then(Value::as_str).unwrap_or_default();
    text.split_whitespace().collect::<Vec<_>>().join(" ").replace('|', "\\|")
}

/// The type in a few words.
fn kind(schema: &Value) -> String {
    if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
        let name = reference.rsplit('/').next().unwrap_or_default();
        return format!("[{name}](#{})", name.to_lowercase());
    }
    if let Some(choices) = schema.get("anyOf").or(schema.get("allOf")).and_then(Value::as_array) {
        return choices.iter().map(kind).collect::<Vec<_>>().join(" or ");
    }
    match schema.get("type") {
        Some(Value::String(word)) if word == "array" => {
            let items = schema.get("items").map(kind).unwrap_or_default();
            format!("list of {items}")
        }
        Some(Value::String(word)) => word.clone(),
        Some(Value::Array(words)) => words.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(" or "),
        _ => String::new(),
    }
}
