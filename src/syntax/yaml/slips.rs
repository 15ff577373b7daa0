//! Words for text that is no YAML: what most likely happened, where, and what to write instead.
//!
//! The parser knows where it could not go on; the slip usually lies before it. This file looks at the lines
//! around the place for the slips that are common, and otherwise says what was expected.

use crate::problem::Problem;
use crate::source::{Source, Span};

use super::events::Slip;
use super::tree::Tree;

const CODE: &str = "not-yaml";
const QUOTE: &str = "put the whole value in quotes";

/// The problem for `slip` at byte `offset` of the part of `source` that starts at `base`.
pub(super) fn word(source: &Source, base: usize, slip: &Slip, offset: usize, tree: &Tree) -> Problem {
    let at = base + offset;
    let look = Look { source, at, line: source.place(at).line, tree };
    if let Some(tab) = look.leading_tab(*slip == Slip::Tab) {
        return Problem::new(CODE, tab, "a tab stands where only spaces may stand", "a tab")
            .help("indent with spaces only");
    }
    let spaceless = match slip {
        Slip::Colon | Slip::ColonExpected | Slip::KeyExpected | Slip::StrayBracket => {
            look.colon_without_space()
        }
        _ => None,
    };
    if let Some(problem) = spaceless {
        return problem;
    }
    match slip {
        Slip::Colon => look.colon(),
        Slip::KeyExpected => look.key_expected(),
        Slip::ColonExpected => look.colon_expected(),
        Slip::Comma => look.comma(),
        Slip::AfterQuote => look.after_quote(),
        Slip::Character(c) => {
            let message = format!("a value cannot start with `{c}`");
            look.here(message, "needs quotes", &format!("{QUOTE}: {}", look.quoted_rest()))
        }
        Slip::WrongBracket(open, close) => look.wrong_bracket(*open, *close),
        Slip::Deep => {
            let (message, label, help) = fixed(slip);
            Problem { code: "too-deep", ..look.here(message, label, help) }
        }
        Slip::Other(words) => {
            look.here(words.clone(), "cannot be read", "check this line and the one before it")
        }
        other => {
            let (message, label, help) = fixed(other);
            look.here(message, label, help)
        }
    }
}

/// Slips whose words do not depend on the text around them.
fn fixed(slip: &Slip) -> (&'static str, &'static str, &'static str) {
    match slip {
        Slip::Tab => {
            ("a tab stands where only spaces may stand", "a tab near here", "indent with spaces only")
        }
        Slip::UnclosedQuote => {
            ("a quote is opened here and never closed", "opened here", "close it at the end of the value")
        }
        Slip::Escape => (
            "a backslash in double quotes is followed by something it cannot be followed by",
            "in this text",
            "use single quotes, in which a backslash is a backslash",
        ),
        Slip::UnclosedBracket => (
            "a bracket is opened here and never closed",
            "opened here",
            "close it at the end of the list or block",
        ),
        Slip::StrayBracket => (
            "a bracket is closed here that was never opened",
            "not opened",
            "delete it, or put the value in quotes",
        ),
        Slip::Dash => (
            "a dash starts a list item, and none can stand here",
            "no list here",
            "start each item on a line of its own below the key, or put the value in quotes",
        ),
        Slip::DashExpected => (
            "this line stands in a list but is no item of it",
            "a dash is missing",
            "start it with `- `, or indent it like the item it belongs to",
        ),
        Slip::Deep => (
            "lists and blocks are nested too deep",
            "one level too many",
            "no model needs this; check brackets and dashes",
        ),
        Slip::Directive => (
            "a line starting with `%` is an instruction to YAML readers",
            "not used here",
            "delete it; only `%YAML 1.2` is allowed",
        ),
        Slip::AnchorName => ("`&` and `*` need a name directly behind them", "no name", QUOTE),
        Slip::Comment => (
            "a comment cannot start here",
            "read as a comment",
            "put a space before the `#`; if it belongs to the text, put the text in quotes",
        ),
        Slip::Block => (
            "a text over several lines is not indented as it must be",
            "here",
            "indent every line of it by the same number of spaces, deeper than its key",
        ),
        Slip::Tag => {
            ("`!` starts a YAML tag", "read as a tag", "leave it out; if it belongs to the text, use quotes")
        }
        _ => ("this cannot stand here", "here", "check this line and the one before it"),
    }
}

/// The place that could not be read, with what is needed to guess why.
struct Look<'a, 't> {
    source: &'a Source,
    at: usize,
    line: usize,
    tree: &'a Tree<'t>,
}

impl Look<'_, '_> {
    fn line_text(&self, line: usize) -> (usize, &str) {
        self.source.line_span(line).map_or((self.at, ""), |span| (span.start, self.source.slice(span)))
    }

    /// The place from `at` to the end of its word.
    fn here(&self, message: impl Into<String>, label: &str, help: &str) -> Problem {
        Problem::new(CODE, self.word_at(self.at), message, label).help(help)
    }

    fn word_at(&self, at: usize) -> Span {
        let rest = self.source.text().get(at..).unwrap_or("");
        let mut length = rest.find(char::is_whitespace).unwrap_or(rest.len());
        if rest.starts_with(['[', '{', ']', '}', ':', ',', '"', '\'']) {
            length = 1;
        }
        Span::new(at, at + length)
    }

    fn quoted_rest(&self) -> String {
        let (start, text) = self.line_text(self.line);
        let rest = text.get(self.at.saturating_sub(start)..).unwrap_or("").trim();
        let rest = rest.split([',', ']', '}']).next().unwrap_or(rest).trim();
        let cut: String = rest.chars().take(40).collect();
        let dots = if cut.len() < rest.len() { "…" } else { "" };
        format!("`\"{}{dots}\"`", cut.replace('"', "\\\""))
    }

    /// The first tab in the indentation of this line or, if the parser said so, of a later one.
    fn leading_tab(&self, search: bool) -> Option<Span> {
        let lines = if search { 200 } else { 1 };
        (self.line..self.line + lines).find_map(|line| {
            let (start, text) = self.line_text(line);
            let indent = text.len() - text.trim_start_matches(' ').len();
            let tab = text.get(indent..)?.starts_with('\t').then_some(start + indent)?;
            Some(Span::new(tab, tab + 1))
        })
    }

    /// `key:value`, in this line or, for a value that ran on over several lines, where that began.
    fn colon_without_space(&self) -> Option<Problem> {
        let first = self.source.place(self.tree.last_scalar.start).line;
        let first = if first < self.line { first } else { self.line };
        for line in [first, self.line] {
            let (start, text) = self.line_text(line);
            let key = text.trim_start().trim_start_matches("- ").trim_start();
            let colon = key.find(':')?;
            let (name, after) = (key.get(..colon)?, key.get(colon + 1..)?);
            let word =
                !name.is_empty() && !name.contains(|c: char| c.is_whitespace() || "\"'[]{},#".contains(c));
            // Behind a bracket there are colons of the block inside it.
            let joined = after.starts_with(['{', '['])
                || after.starts_with(|c: char| !c.is_whitespace()) && !after.contains(": ");
            if word && joined {
                let at = start + (text.len() - key.len()) + colon;
                let span = Span::new(at, at + 1);
                let mut value: String = after.trim_end().chars().take(40).collect();
                if value.len() < after.trim_end().len() {
                    value.push_str(" …");
                }
                return Some(
                    Problem::new(CODE, span, "a space is missing after the colon", "no space behind it")
                        .help(format!("write `{name}: {value}`")),
                );
            }
        }
        None
    }

    fn colon(&self) -> Problem {
        if let Some(problem) = self.unclosed_before() {
            return problem;
        }
        let colon = Span::new(self.at, self.at + 1);
        let last = self.tree.last_scalar;
        let text = self.source.slice(last);
        if last.end <= self.at && text.contains('\n') {
            let key = text.rsplit('\n').next().unwrap_or("").trim();
            let start = last.end - key.len();
            let message =
                format!("`{key}` is indented deeper than the key before it, which already has a value");
            return Problem::new(CODE, Span::new(start, last.end), message, "indented too deep").help(
                "indent it like the keys beside it; if it belongs to the text above, put that in quotes",
            );
        }
        let (start, line) = self.line_text(self.line);
        let before = line.get(..self.at.saturating_sub(start)).unwrap_or("");
        if before.contains(": ") || before.trim_start().starts_with("- ") {
            return Problem::new(
                CODE,
                colon,
                "a value contains a colon followed by a space",
                "a second colon",
            )
            .help(format!("{QUOTE}, or start a new line for a new key"));
        }
        Problem::new(CODE, colon, "a colon stands where no key can end", "no key before it")
            .help("write `key: value`, one key per line; put texts that contain a colon in quotes")
    }

    fn key_expected(&self) -> Problem {
        let (start, line) = self.line_text(self.line);
        let indent = line.len() - line.trim_start().len();
        let item = line.trim_start();
        let before = line.get(indent..self.at.saturating_sub(start)).unwrap_or("");
        if item.starts_with("- ") && before.trim_end_matches(' ').len() <= 1 {
            let dash = Span::new(start + indent, start + indent + 1);
            return Problem::new(CODE, dash, "a list item stands among keys", "a list item")
                .help("indent it below the key it belongs to; a block holds either keys or list items");
        }
        if self.at > start + indent {
            return self.here(
                "text follows after the end of the value",
                "not part of the value",
                "put the whole value in quotes, or delete this",
            );
        }
        let columns = if indent == 1 { "1 space".to_string() } else { format!("{indent} spaces") };
        self.here(
            format!("this line is indented by {columns}, like nothing above it"),
            "wrong indentation",
            "indent it exactly like the keys it stands beside",
        )
    }

    fn colon_expected(&self) -> Problem {
        let (start, line) = self.line_text(self.line);
        let text = line.get(self.at.saturating_sub(start)..).unwrap_or("").trim_end();
        let span = Span::new(self.at, self.at + text.len());
        let shown: String = text.chars().take(40).collect();
        Problem::new(CODE, span, format!("`{shown}` has no colon"), "no colon")
            .help("write `key: value`; indent it deeper if it belongs to the value above")
    }

    /// An open bracket of an earlier line explains most of what goes wrong after it.
    fn unclosed_before(&self) -> Option<Problem> {
        let bracket = self.tree.innermost_bracket()?;
        if self.source.place(bracket).line == self.line {
            return None;
        }
        let (message, label, help) = fixed(&Slip::UnclosedBracket);
        Some(
            Problem::new(CODE, Span::new(bracket, bracket + 1), message, label)
                .also(self.word_at(self.at), "noticed here")
                .help(help),
        )
    }

    /// A `]` in a block most likely lacks its `[`; a `}` in a list most likely stands for `]` or comes before it.
    fn wrong_bracket(&self, open: char, close: char) -> Problem {
        let from = self.at.max(self.tree.last_scalar.end);
        let found = self.source.text().get(from..).and_then(|rest| rest.find(close)).map(|i| from + i);
        match found.filter(|at| open == '{' && self.source.place(*at).line == self.line) {
            Some(at) => {
                let message = "this `]` closes a list that was not opened: the last bracket opened is `{`";
                Problem::new(CODE, Span::new(at, at + 1), message, "no `[` belongs to it")
                    .also(Span::new(self.at, self.at + 1), "the last bracket opened")
                    .help("write the `[` where the list starts, or delete this `]`")
            }
            None => {
                let message = format!("the bracket `{open}` is closed by `{close}`");
                self.here(message, "opened here", "close every bracket with its own kind")
            }
        }
    }

    fn comma(&self) -> Problem {
        self.unclosed_before().unwrap_or_else(|| {
            let (before, after) = self.source.text().split_at_checked(self.at).unwrap_or_default();
            if after.starts_with(',') && before.trim_end().ends_with([',', '[', '{']) {
                return self.here("nothing stands before this comma", "one comma too many", "delete it");
            }
            self.here(
                "a comma or the closing bracket is missing before this",
                "not expected here",
                "separate the items with commas; put texts with commas, colons or brackets in quotes",
            )
        })
    }

    fn after_quote(&self) -> Problem {
        let from = self.tree.last_scalar.end.min(self.at);
        let between = self.source.slice(Span::new(from, self.at));
        let opened = between.find(['"', '\'']).map(|i| from + i);
        if let Some(opened) = opened.filter(|o| self.source.place(*o).line < self.line) {
            let (message, label, help) = fixed(&Slip::UnclosedQuote);
            let message = message.replace("never closed", "not closed on its line");
            return Problem::new(CODE, Span::new(opened, opened + 1), message, label)
                .also(self.word_at(self.at), "noticed here")
                .help(help);
        }
        // A letter directly behind it: an apostrophe that closes single quotes.
        let (before, after) = self.source.text().split_at_checked(self.at).unwrap_or_default();
        let apostrophe = before.ends_with('\'') && after.starts_with(char::is_alphabetic);
        if let Some(opened) = opened.filter(|_| apostrophe) {
            let message = "the single quote that opens here is closed by an apostrophe";
            return Problem::new(CODE, Span::new(opened, opened + 1), message, "opened here")
                .also(self.word_at(self.at), "what follows the apostrophe")
                .help("use double quotes around a text with an apostrophe");
        }
        // A key inside the quotes: they were closed by the quote that opens a later value.
        if let Some(opened) = opened.filter(|o| self.source.slice(Span::new(*o, self.at)).contains(": ")) {
            let (_, label, help) = fixed(&Slip::UnclosedQuote);
            let message = "the quote that opens here is closed only by the quote of a later value";
            return Problem::new(CODE, Span::new(opened, opened + 1), message, label)
                .also(self.word_at(self.at), "noticed here")
                .help(help);
        }
        self.here(
            "text follows after the closing quote",
            "outside the quotes",
            "put the whole value in quotes; a single quote inside single quotes is written twice",
        )
    }
}
