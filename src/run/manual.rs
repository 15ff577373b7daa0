//! What the program tells about itself: the manual pages of the checks and the schema of the model language.

use schemars::generate::SchemaSettings;

use super::{Host, Product};
use crate::check::Check;
use crate::problem::nearest;
use crate::report::text::wrap::{Paint, Tone, markdown, paragraph};
use crate::syntax::document::Document;

/// The manual page of a check, or the list of checks.
pub(super) fn explain(name: Option<&str>, host: &Host) -> Product {
    let paint = Paint { color: host.stdout_is_terminal && !host.no_color };
    let Some(name) = name else { return Product::out(list(paint)) };
    if let Some(check) = Check::by_name(name) {
        return Product::out(markdown(&check.manual(), paint));
    }
    let guess = match nearest(name, Check::ALL.iter().map(|check| check.name())) {
        Some(near) => format!("; did you mean `{near}`?"),
        None => String::new(),
    };
    let plain = Paint { color: false };
    Product::wrong(format!("error: there is no check `{name}`{guess}\n\n{}", list(plain)))
}

fn list(paint: Paint) -> String {
    let mut all = paint.tone(Tone::Strong, "Checks") + "\n";
    for check in Check::ALL {
        all.push_str(&format!("\n  {}\n", paint.tone(Tone::Strong, check.name())));
        let manual = check.manual();
        let summary: Vec<&str> = manual
            .lines()
            .skip(1)
            .skip_while(|line| line.is_empty())
            .take_while(|line| !line.is_empty())
            .collect();
        all.push_str(&paragraph(&summary.join(" "), 4));
    }
    all + "\nType `tripproof explain NAME` for what one looks for and how to resolve it.\n"
}

/// The JSON Schema (draft 7, which editors understand) of the model language.
pub(super) fn language_schema() -> String {
    let mut schema = SchemaSettings::draft07().into_generator().into_root_schema_for::<Document>();
    schema.insert("title".into(), "tripproof model, language version 1".into());
    schema.insert(
        "description".into(),
        "One plant, its protection and what is claimed of it. Printed by `tripproof schema`.".into(),
    );
    schema.insert("version".into(), format!("language 1, tripproof {}", env!("CARGO_PKG_VERSION")).into());
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
