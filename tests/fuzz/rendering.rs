//! Reports of spoilt models in every form: never a panic, never a control character, and JSON that is JSON.

use tripproof::assess::assess;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::report::{Entry, json, markdown, summary, text};
use tripproof::source::Source;

use crate::random::Random;
use crate::reading::{printable, whole};
use crate::spoil::{self, MODELS};

/// Words for titles that are hard to lay out.
const TITLES: &[&str] = &[
    "x",
    "a title of a good many words that goes on and on until no line of any report can hold it without a break in it",
    "onewordthatislongerthananylineofanyreportmayeverbeandcannotbebrokenanywhereatallbecauseithasnospaceinit",
    "日本語の題名は幅が二倍になる",
    "pipe | in a table, *stars*, `ticks`, <b>tags</b> and [a link](nowhere)",
    "🔥🔥🔥",
    "a\u{301}e\u{301} with marks",
    "# looks like a heading",
    "- looks like a list",
    "back\\slash and 'quotes'",
    "עברית",
];

/// The text with some titles in place of others.
fn retitled(text: &str, random: &mut Random) -> String {
    let mut parts = text.split("title: ");
    let mut result = parts.next().unwrap_or_default().to_string();
    for part in parts {
        let end = part.find([',', '\n', '}']).unwrap_or(part.len());
        // A title in quotation marks may hold anything; it is left as it is.
        if random.percent(70) || part.starts_with('"') || part.starts_with('>') {
            result += &format!("title: {part}");
            continue;
        }
        let title = random.pick(TITLES).replace('\\', "\\\\").replace('"', "\\\"");
        result += &format!("title: \"{title}\"{}", &part[end..]);
    }
    result
}

pub fn make(random: &mut Random) -> Vec<u8> {
    let text = *random.pick(&MODELS[..spoil::SMALL]);
    let text = retitled(text, random);
    // A model is what is wanted; what is refused is rendered too, but teaches little.
    for _ in 0..20 {
        let spoilt = spoil::some(&text, random);
        if load(&Source::new("fuzz.yaml", spoilt.as_str())).is_ok() {
            return spoilt.into_bytes();
        }
    }
    text.into_bytes()
}

pub fn one(input: &[u8]) -> Result<&'static str, String> {
    let Ok(text) = std::str::from_utf8(input) else { return Ok("no text") };
    let source = Source::new("fuzz.yaml", text);
    let model = match load(&source) {
        Ok(model) => model,
        Err(problems) => return whole(&source, &problems).map(|()| "refused"),
    };
    let engine = Smt::new(20_000_000).map_err(|error| error.0)?;
    let assessment = assess(&model, &engine).map_err(|error| error.0)?;
    let outcome = conclude(source, model, &assessment, engine.name());
    let code = outcome.exit_code();
    let entries = [Entry::Examined(Box::new(outcome))];
    let plain = text::render(&entries, false, true);
    printable(&plain)?;
    let coloured = text::render(&entries, true, true);
    if without_colour(&coloured) != plain {
        return Err("colour changes the words".into());
    }
    printable(&markdown::render(&entries))?;
    printable(&summary(&entries, std::path::Path::new("report.txt")))?;
    let told = json::render(&entries, &engine.name(), code);
    printable(&told)?;
    let value: serde_json::Value =
        serde_json::from_str(&told).map_err(|error| format!("no JSON: {error}"))?;
    if !value.is_object() {
        return Err("JSON that is no object".into());
    }
    match code {
        0 => Ok("nothing open"),
        1 => Ok("open findings"),
        3 => Ok("undecided"),
        4 => Err("engine and simulator disagree".into()),
        other => Err(format!("exit code {other} of an outcome")),
    }
}

/// The text without the sequences that colour it.
fn without_colour(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("\u{1b}[") {
        plain += &rest[..at];
        rest = &rest[at..];
        rest = &rest[rest.find('m').map_or(rest.len(), |end| end + 1)..];
    }
    plain + rest
}
