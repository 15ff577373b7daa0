//! One line of text with code and strong words in it, written so that it reads back as exactly that.
//!
//! Text is kept plain until it is written; only there is it escaped, once, in the knowledge of where it stands.

use crate::report::terminal::visible;

/// Stands where a text has nothing that can be seen, so that no cell, item or heading vanishes.
const BLANK: &str = "(blank)";

/// Punctuation that means something wherever it stands.
const ALWAYS: &str = "\\`*[]<|~&#${}";

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    Text(String),
    Strong(String),
    Code(String),
}

/// Where a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// At the start of a paragraph or item, where lists, rules, quotations and headings can begin.
    Start,
    /// In a heading.
    Heading,
    /// In a cell of a table, where a bar ends it even in code.
    Cell,
}

/// A line of Markdown without line breaks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Inline(Vec<Part>);

impl Inline {
    /// Nothing, to add to.
    pub fn new() -> Self {
        Inline::default()
    }

    /// Words of a model: every character is shown as it is.
    pub fn text(self, text: &str) -> Self {
        self.with(Part::Text(text.to_string()))
    }

    /// Strong words, such as a label.
    pub fn strong(self, text: &str) -> Self {
        self.with(Part::Strong(one_line(text)))
    }

    /// A tag, place or expression in the shape in which it is typed.
    pub fn code(self, text: &str) -> Self {
        self.with(Part::Code(one_line(text)))
    }

    /// A sentence of the program, in which backticks enclose expressions. Where they do not pair, they are shown.
    pub fn sentence(mut self, text: &str) -> Self {
        let pieces: Vec<&str> = text.split('`').collect();
        if pieces.len().is_multiple_of(2) {
            return self.text(text);
        }
        for (number, piece) in pieces.into_iter().enumerate() {
            self = match number % 2 {
                0 => self.text(piece),
                _ => self.code(piece),
            };
        }
        self
    }

    fn with(mut self, part: Part) -> Self {
        // Two texts in a row are one, so that each character knows its neighbours.
        match (self.0.last_mut(), part) {
            (Some(Part::Text(last)), Part::Text(more)) => last.push_str(&more),
            (_, part) => self.0.push(part),
        }
        self
    }

    /// As it must be written in its place.
    pub fn written(&self, place: Place) -> String {
        let mut all = String::new();
        for part in &self.0 {
            match part {
                Part::Text(text) => escape(&mut all, &spaced(text), place),
                Part::Strong(text) => {
                    let mut inner = String::from("**");
                    escape(&mut inner, if text.is_empty() { BLANK } else { text }, place);
                    all.push_str(&(inner + "**"));
                }
                Part::Code(text) => code(&mut all, text, place),
            }
        }
        let trimmed = all.trim();
        if trimmed.is_empty() { BLANK.into() } else { trimmed.into() }
    }
}

/// The words, with one space between them and none around.
fn one_line(text: &str) -> String {
    visible(&text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The words, with one space between them, and around them where there was one.
fn spaced(text: &str) -> String {
    let words = one_line(text);
    let around = |is: bool| if is { " " } else { "" };
    match words.is_empty() {
        true => around(!text.is_empty()).to_string(),
        false => {
            let before = around(text.starts_with(char::is_whitespace));
            let after = around(text.ends_with(char::is_whitespace));
            format!("{before}{words}{after}")
        }
    }
}

/// Adds text with a backslash before whatever would be read as Markdown in this place.
fn escape(all: &mut String, text: &str, place: Place) {
    // At the start of a block more characters mean something.
    let mut at_start = place == Place::Start && all.trim().is_empty();
    let mut number_so_far = at_start;
    let characters: Vec<char> = text.chars().collect();
    for (number, c) in characters.iter().enumerate() {
        let before = number.checked_sub(1).and_then(|before| characters.get(before));
        let after = characters.get(number + 1);
        let in_word = |c: Option<&char>| c.is_some_and(|c| c.is_alphanumeric());
        let means_something = match c {
            '_' => !(in_word(before) && in_word(after)),
            '-' | '+' | '=' | '>' | ':' => at_start,
            '.' | ')' => number_so_far && in_word(before),
            c => ALWAYS.contains(*c),
        };
        if means_something {
            all.push('\\');
        }
        all.push(*c);
        number_so_far &= c.is_ascii_digit() || *c == ' ';
        at_start &= *c == ' ';
    }
}

/// Adds a code span; what no code span can hold in this place is added as text.
fn code(all: &mut String, text: &str, place: Place) {
    if text.is_empty() {
        return escape(all, BLANK, place);
    }
    let in_table = place == Place::Cell;
    if in_table && text.contains('|') && text.contains('\\') {
        // A cell ends at a bar that has no backslash before it, in code as well; here the two cannot be told apart.
        return escape(all, text, place);
    }
    let longest = text.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let gap = if text.starts_with('`') || text.ends_with('`') { " " } else { "" };
    let text = if in_table { text.replace('|', "\\|") } else { text.to_string() };
    all.push_str(&format!("{fence}{gap}{text}{gap}{fence}"));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(text: &str) -> String {
        Inline::new().text(text).written(Place::Start)
    }

    #[test]
    fn what_means_nothing_is_left_as_it_is() {
        for plain in ["H-1: 24V-A, 2oo3 (a, b) = c/d; 5 %LFL", "guard_open is < at 1.5"] {
            assert_eq!(text(plain).replace("\\<", "<"), plain);
        }
    }

    #[test]
    fn lines_that_would_begin_a_block_do_not() {
        assert_eq!(text("# head"), "\\# head");
        assert_eq!(text("- item"), "\\- item");
        assert_eq!(text("12. item"), "12\\. item");
        assert_eq!(text("1) item"), "1\\) item");
        assert_eq!(text("> quoted\n\n    code"), "\\> quoted code");
        assert_eq!(text("a - b > c"), "a - b > c");
        assert_eq!(Inline::new().text("- 1. x").written(Place::Heading), "- 1. x");
    }

    #[test]
    fn nothing_is_shown_as_blank() {
        assert_eq!(text(" \n\t"), BLANK);
        assert_eq!(Inline::new().code(" ").written(Place::Cell), BLANK);
        assert_eq!(Inline::new().strong("").text(" x").written(Place::Cell), "**(blank)** x");
    }

    #[test]
    fn expressions_in_sentences_become_code_and_bars_stay_in_their_cell() {
        let line = Inline::new().sentence("not `A = x | y`, at | all");
        assert_eq!(line.written(Place::Cell), "not `A = x \\| y`, at \\| all");
        assert_eq!(line.written(Place::Start), "not `A = x | y`, at \\| all");
        assert_eq!(Inline::new().sentence("one ` only").written(Place::Start), "one \\` only");
    }
}
