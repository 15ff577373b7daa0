//! A model in parts, so that a test can change it and write it out.

use std::fmt::Write;

/// One element: its tag and its fields.
#[derive(Debug, Clone, Default)]
pub struct Entry {
    /// Its tag.
    pub tag: String,
    /// Its fields with their values, as written.
    pub fields: Vec<(String, String)>,
}

impl Entry {
    /// An element without fields.
    pub fn new(tag: impl Into<String>) -> Entry {
        Entry { tag: tag.into(), fields: Vec::new() }
    }

    /// Gives it a field.
    pub fn put(&mut self, field: impl Into<String>, value: impl Into<String>) {
        self.fields.push((field.into(), value.into()));
    }

    /// The same with a field.
    pub fn with(mut self, field: impl Into<String>, value: impl Into<String>) -> Entry {
        self.put(field, value);
        self
    }

    /// The value of a field.
    pub fn get(&self, field: &str) -> Option<&str> {
        self.fields.iter().find(|(name, _)| name == field).map(|(_, value)| value.as_str())
    }

    /// The value of a field, to be changed.
    pub fn get_mut(&mut self, field: &str) -> Option<&mut String> {
        self.fields.iter_mut().find(|(name, _)| name == field).map(|(_, value)| value)
    }

    /// Gives a field another value; absent, it is added.
    pub fn set(&mut self, field: &str, value: impl Into<String>) {
        match self.get_mut(field) {
            Some(old) => *old = value.into(),
            None => self.put(field, value),
        }
    }
}

/// A section of the file.
#[derive(Debug, Clone)]
pub struct Section {
    /// Its name.
    pub name: String,
    /// Its elements.
    pub entries: Vec<Entry>,
}

/// A model in parts.
#[derive(Debug, Clone, Default)]
pub struct Draft {
    /// Fields of the policy.
    pub policy: Entry,
    /// The sections in their order.
    pub sections: Vec<Section>,
}

/// Sections that stand in every model.
const NEEDED: &[&str] = &["modes", "logic_solvers", "effects", "causes", "hazards"];

impl Draft {
    /// Adds an element to a section.
    pub fn add(&mut self, section: &str, entry: Entry) {
        match self.sections.iter_mut().find(|found| found.name == section) {
            Some(found) => found.entries.push(entry),
            None => self.sections.push(Section { name: section.to_string(), entries: vec![entry] }),
        }
    }

    /// The elements of a section.
    pub fn entries(&self, section: &str) -> &[Entry] {
        self.sections.iter().find(|found| found.name == section).map_or(&[], |found| &found.entries)
    }

    /// The elements of a section, to be changed.
    pub fn entries_mut(&mut self, section: &str) -> &mut [Entry] {
        match self.sections.iter_mut().find(|found| found.name == section) {
            Some(found) => &mut found.entries,
            None => &mut [],
        }
    }

    /// The text of the file.
    pub fn text(&self) -> String {
        let mut text = String::from("language: 1\nsystem: { title: Generated, revision: A }\n");
        writeln!(text, "policy: {{ {} }}", fields(&self.policy)).unwrap();
        for section in &self.sections {
            writeln!(text, "{}:", section.name).unwrap();
            for entry in &section.entries {
                writeln!(text, "  {}: {{ {} }}", entry.tag, fields(entry)).unwrap();
            }
        }
        for name in NEEDED.iter().filter(|name| self.entries(name).is_empty()) {
            writeln!(text, "{name}: {{}}").unwrap();
        }
        text
    }
}

fn fields(entry: &Entry) -> String {
    let fields: Vec<String> = entry.fields.iter().map(|(name, value)| format!("{name}: {value}")).collect();
    fields.join(", ")
}
