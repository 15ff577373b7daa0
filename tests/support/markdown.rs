//! A Markdown report as its reader sees it, taken apart by a parser that is not ours: its blocks, and its words.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, dead_code)]

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// Everything that code hosts read besides CommonMark, so that nothing of it can be triggered.
fn options() -> Options {
    Options::ENABLE_TABLES
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_GFM
        | Options::ENABLE_MATH
}

/// The blocks in their order, a word for each (`h2`, `table of 3`, `row`, `item` …), and all inline elements that are
/// not words or code.
pub fn structure(markdown: &str) -> Vec<String> {
    let mut all = Vec::new();
    for event in Parser::new_ext(markdown, options()) {
        match event {
            Event::Start(Tag::Table(columns)) => all.push(format!("table of {}", columns.len())),
            Event::Start(Tag::Heading { level, id, classes, attrs }) => {
                assert!(id.is_none() && classes.is_empty() && attrs.is_empty());
                all.push(level.to_string());
            }
            Event::Start(Tag::List(first)) => all.push(format!("list from {first:?}")),
            Event::Start(tag) => all.push(format!("{tag:?}")),
            Event::Text(_) | Event::Code(_) | Event::End(_) => {}
            other => all.push(format!("{other:?}")),
        }
    }
    all
}

/// The text as it is shown, without the marks of code: blocks and cells end with a line feed.
pub fn shown(markdown: &str) -> String {
    let mut all = String::new();
    for event in Parser::new_ext(markdown, options()) {
        match event {
            Event::Text(text) | Event::Code(text) => all.push_str(&text),
            Event::End(
                TagEnd::Paragraph | TagEnd::Heading(_) | TagEnd::Item | TagEnd::TableCell | TagEnd::TableRow,
            ) => all.push('\n'),
            _ => {}
        }
    }
    all
}

/// The lines of a text report of which the Markdown report of the same outcome does not show all words in their order.
///
/// Words are letters and digits: signs between them may differ between the forms. Labels that the Markdown report has
/// as headings of columns do not count.
pub fn missing(text: &str, markdown: &str) -> Vec<String> {
    let shown = words(&shown(markdown));
    let there = |line: &str| words(line).trim().is_empty() || shown.contains(&words(line));
    let lines =
        text.lines().filter(|line| !there(line) && !there(unlabelled(line)) && !there(unnumbered(line)));
    lines.map(str::to_string).collect()
}

/// Without `Undecided:`, which is a column there, and without the number of `3 claims:`, which have a row each there.
fn unlabelled(line: &str) -> &str {
    match line.split_once(": ") {
        Some((label, rest))
            if label.trim() == "Undecided" || label.ends_with("claim") || label.ends_with("claims") =>
        {
            rest
        }
        _ => line,
    }
}

/// Without the number of a step, which a numbered list of the document has by itself.
fn unnumbered(line: &str) -> &str {
    match line.trim_start().split_once(". ") {
        Some((number, step)) if line.starts_with("   ") && number.chars().all(|c| c.is_ascii_digit()) => step,
        _ => line,
    }
}

fn words(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let words: Vec<String> =
        words.map(str::to_lowercase).filter(|word| word != "owner" && word != "until").collect();
    format!(" {} ", words.join(" "))
}
