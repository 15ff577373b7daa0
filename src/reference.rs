//! The language reference as Markdown, made from the same types as the reader and the JSON Schema.
//!
//! `docs/language.md` is this text; a test keeps it so. Every element comes with its meaning and every field with its
//! kind: *required*, *optional* (with what its absence means) or *may be unknown*.

use std::collections::BTreeSet;
use std::fmt::Write;

use serde_json::Value;

use crate::syntax::document::Document;
use crate::unit::{Kind, Measure};

/// The JSON Schema of the model language (draft-07, which editors understand).
pub fn schema() -> Value {
    let settings = schemars::generate::SchemaSettings::draft07();
    let mut schema = serde_json::to_value(settings.into_generator().into_root_schema_for::<Document>())
        .unwrap_or(Value::Null);
    if let Some(object) = schema.as_object_mut() {
        object.insert("title".into(), Value::String("Tripproof model, language 1".into()));
    }
    schema
}

/// The language reference.
pub fn reference() -> String {
    let schema = schema();
    let mut text = String::from(INTRODUCTION);
    let mut seen = BTreeSet::new();
    section(&schema, &schema, "The file", &mut text, &mut seen);
    units(&mut text);
    text
}

/// The table of units.
fn units(text: &mut String) {
    text.push_str(UNITS);
    for kind in Kind::all() {
        let names: Vec<String> = kind.units().iter().map(|unit| format!("`{unit}`")).collect();
        let names = if names.is_empty() { "none".to_string() } else { names.join(", ") };
        let base = match kind {
            Kind::Of(Measure::Temperature) => "0 `degC` is 273.15 K exactly".to_string(),
            _ => kind.base().map_or(String::new(), |unit| format!("`{unit}`")),
        };
        let _ = writeln!(text, "| {kind} | {names} | {base} |");
    }
}

const UNITS: &str = "
## Units

Every unit of the language. Values of one kind convert exactly, values of different kinds never compare. A rate of change is
written with any of them per `s`, `min` or `h`: `3 K/min`, `0.5 %LFL/s`. A temperature is in `degC` (without the degree sign;
`degF` is read too), never in `K`; a temperature difference is in `K`, never in `degC`.

| kind | written | base |
|---|---|---|
";

const INTRODUCTION: &str = "\
# The model language, version 1

<!-- Made from the types in src/syntax/document; change the comments there. -->

A model is one YAML 1.2 file. Every element has a tag, unique in the file. Every physical value carries its unit.
Conditions are one-line expressions with the operators of IEC 61131-3 structured text (`AND`, `OR`, `NOT`, `=`, `<>`,
`>=`, `>`, `<=`, `<`) and the voting notation of IEC 61508: `2oo3(…)`, always *to trip*.

**Tags.** A tag is the longest run of letters, digits, `-`, `_` and `.` that starts with a letter or digit and contains a
letter (`GD-11`, `24V-A`, `ZS-31A`). A hyphen belongs to the tag; a minus sign needs a space on either side.

**Values.** A number, a space, a unit: `40 %LFL`, `85 degC`, `6 bar`, `80 ms`, `3 K/min`. Arithmetic is exact. A temperature
is in `degC`; `K` is for differences only (an accuracy, a margin, `K/min`), and refused as a temperature: `120 K` would be
-153.15 degC. Plain pressures (`bar`, `kPa`) are gauge or differences; `bara` and `kPaa` are absolute; the two do not mix.
All units: [Units](#units).

**Calculated values.** Where the table below says so, `from TAG` stands in place of a value: the result of that entry of
`calculations`, on the side of the truth that is safe for the field, or its `taken_as`.

**Braces and quotation marks.** Inside `{ }` and `[ ]` a comma ends the value. A text with a comma, such as a vote, stands in
quotation marks there: `{ when: \"1oo2(CO-1 >= 100 ppm, CO-2 >= 100 ppm)\", … }`. So does a text with a colon and a space, or one
that starts with a bracket, a quotation mark or a sign such as `*`, `&`, `!`, `%`, `@`. On a line of its own a comma does no harm.
A decimal is written with a point: `88.5 degC`.

**In conditions of causes** an input is named with what it shows: `GD-1 >= 25 %LFL`, `FS-1 = detected` or `clear`,
`HL-1 = open` or `closed`, `ES-1A = pressed` or `released`, `MS-1 = firing`; a bare tag is allowed where *true* has one meaning:
a switch that has detected, a cause that is true, an override that is active. `BAD(GD-1)`: the signal is bad or missing.
`LOST(LK-1)`: nothing arrives over the link. What no device reports, no logic knows: a cause never names a quantity or a condition.

**In predicates of hazards and in couplings** quantities, conditions and modes are named: `gas >= 60 %LFL AND NOT door_open`,
`surface >= cell - 20 K`, `pack >= 256 * cell - 8 V`, `bay = running`. Never a reading or a position.

**Positions**: `K1 = open`. A safe state uses AND, OR and votes, never NOT.

**Kinds of field.** *required*: must be there. *optional*: may be left out; what that means is said, and never favours the design.
*may be unknown*: the word `unknown` is allowed, and what needs the value is then undecided.

What the elements do, as formulas: [meaning.md](meaning.md), whose sections the elements below point to.
";

fn resolve<'s>(root: &'s Value, schema: &'s Value) -> &'s Value {
    match schema.get("$ref").and_then(Value::as_str).and_then(|path| path.strip_prefix("#/definitions/")) {
        Some(name) => root.pointer(&format!("/definitions/{name}")).unwrap_or(schema),
        None => schema,
    }
}

/// The definition name that a field's type leads to, through lists, tables and options.
fn target(schema: &Value) -> Option<&str> {
    if let Some(path) = schema.get("$ref").and_then(Value::as_str) {
        return path.strip_prefix("#/definitions/");
    }
    let inner = ["items", "additionalProperties"].iter().find_map(|key| schema.get(key).and_then(target));
    inner.or_else(|| {
        let parts = schema.get("anyOf").or_else(|| schema.get("allOf"))?.as_array()?;
        parts.iter().find_map(target)
    })
}

fn type_in_words(schema: &Value) -> String {
    if let Some(options) = schema.get("oneOf").and_then(Value::as_array) {
        let words: Vec<String> =
            options.iter().filter_map(|o| o.get("const")?.as_str().map(|w| format!("`{w}`"))).collect();
        return words.join(", ");
    }
    if let Some(parts) = schema.get("anyOf").or_else(|| schema.get("allOf")).and_then(Value::as_array) {
        let real = parts.iter().find(|part| part.get("type").and_then(Value::as_str) != Some("null"));
        return real.map_or_else(String::new, type_in_words);
    }
    if let Some(name) =
        schema.get("$ref").and_then(Value::as_str).and_then(|p| p.strip_prefix("#/definitions/"))
    {
        return format!("[{name}](#{})", anchor(name));
    }
    let kind = schema.get("type");
    let first = match kind {
        Some(Value::String(kind)) => kind.as_str(),
        Some(Value::Array(kinds)) => kinds.first().and_then(Value::as_str).unwrap_or(""),
        _ => "",
    };
    match first {
        "array" => {
            format!("list of {}", schema.get("items").map_or_else(String::new, type_in_words))
        }
        "object" => {
            format!("by tag: {}", schema.get("additionalProperties").map_or_else(String::new, type_in_words))
        }
        "boolean" => "`true` or `false`".into(),
        "integer" => "whole number".into(),
        "number" => "number".into(),
        "string" => string_in_words(schema).into(),
        _ => String::new(),
    }
}

fn string_in_words(schema: &Value) -> &'static str {
    let pattern = schema.get("pattern").and_then(Value::as_str).unwrap_or("");
    let several = schema.get("type").is_some_and(Value::is_array);
    match pattern {
        "" if several => "text",
        "" => "expression",
        p if p.contains("unknown|from") => "value with unit, `unknown`, or `from` a calculation",
        p if p.contains("|from") => "value with unit, or `from` a calculation",
        p if p.contains("unknown") => "value with unit, or `unknown`",
        p if p.contains("{4}") => "date",
        p if p.contains("\\.\\.") => "range with unit",
        p if p.contains("\\S+") => "value with unit",
        _ => "tag",
    }
}

fn anchor(name: &str) -> String {
    name.to_lowercase()
}

fn section(root: &Value, schema: &Value, title: &str, text: &mut String, seen: &mut BTreeSet<String>) {
    let _ = write!(text, "\n## {title}\n\n");
    if let Some(description) = schema.get("description").and_then(Value::as_str) {
        let _ = write!(text, "{description}\n\n");
    }
    let Some(properties) = schema.get("properties").and_then(Value::as_object) else { return };
    let required: BTreeSet<&str> = schema
        .get("required")
        .and_then(Value::as_array)
        .map(|names| names.iter().filter_map(Value::as_str).collect())
        .unwrap_or_default();
    text.push_str("| field | kind | value | meaning |\n|---|---|---|---|\n");
    let mut next = Vec::new();
    for (name, field) in properties {
        let words = type_in_words(field);
        let unknown = if words.contains("unknown") { ", may be unknown" } else { "" };
        let kind = if required.contains(name.as_str()) { "required" } else { "optional" };
        let description = field.get("description").and_then(Value::as_str).unwrap_or("").replace('\n', " ");
        let _ = writeln!(text, "| `{name}` | {kind}{unknown} | {words} | {description} |");
        word_meanings(field, text, name);
        next.extend(target(field).map(str::to_string));
    }
    for name in next {
        if seen.insert(name.clone()) {
            let reference = serde_json::json!({ "$ref": format!("#/definitions/{name}") });
            section(root, resolve(root, &reference), &name, text, seen);
        }
    }
}

/// Each word of a closed list gets a row of its own.
fn word_meanings(field: &Value, text: &mut String, name: &str) {
    let direct = field.get("oneOf").and_then(Value::as_array);
    let nested =
        ["items", "additionalProperties"].iter().find_map(|key| field.get(key)?.get("oneOf")?.as_array());
    let optional = field.get("anyOf").and_then(Value::as_array).and_then(|parts| {
        parts
            .iter()
            .find_map(|part| part.get("oneOf").or_else(|| part.get("items")?.get("oneOf"))?.as_array())
    });
    for option in direct.or(nested).or(optional).into_iter().flatten() {
        let word = option.get("const").and_then(Value::as_str).unwrap_or("");
        let meaning = option.get("description").and_then(Value::as_str).unwrap_or("");
        let _ = writeln!(text, "| | | `{name}: {word}` | {meaning} |");
    }
}
