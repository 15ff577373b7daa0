//! Lines of 80 columns, colour, and the little Markdown of the manual pages.
//!
//! Lines break at spaces only: a tag such as `PSU-24V` or an id is never torn, even if it is wider than the line.

use textwrap::{Options, WordSeparator, WordSplitter};

/// Columns of a report.
pub const WIDTH: usize = 80;

/// How a word is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// A heading or name.
    Strong,
    /// Serious, or an error.
    Bad,
    /// A warning, or something undecided.
    Doubt,
    /// As required.
    Good,
    /// Beside the point.
    Quiet,
}

/// Whether there is colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Paint {
    /// Colour is used.
    pub color: bool,
}

impl Paint {
    /// The words in a tone. Without colour, the words themselves: colour never carries meaning alone.
    pub fn tone(self, tone: Tone, words: &str) -> String {
        let code = match tone {
            Tone::Strong => "1",
            Tone::Bad => "1;31",
            Tone::Doubt => "33",
            Tone::Good => "32",
            Tone::Quiet => "2",
        };
        if self.color { format!("\u{1b}[{code}m{words}\u{1b}[0m") } else { words.to_string() }
    }
}

/// A paragraph indented by some columns, ending with a line feed.
pub fn paragraph(text: &str, indent: usize) -> String {
    hanging(text, &" ".repeat(indent), indent)
}

/// A paragraph of which the first line starts with `first` and the others with `rest` spaces.
pub fn hanging(text: &str, first: &str, rest: usize) -> String {
    let rest = " ".repeat(rest);
    let options = Options::new(WIDTH)
        .initial_indent(first)
        .subsequent_indent(&rest)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    let one_line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let lines: Vec<String> =
        textwrap::wrap(&one_line, options).iter().map(|line| line.trim_end().to_string()).collect();
    lines.join("\n") + "\n"
}

/// `Label: text`, the further lines under the text's start.
pub fn labelled(label: &str, text: &str, indent: usize) -> String {
    hanging(text, &format!("{}{label} ", " ".repeat(indent)), indent + 2)
}

/// Markdown as the manual pages use it: headings, paragraphs, lists and indented or fenced blocks.
pub fn markdown(text: &str, paint: Paint) -> String {
    let mut all = String::new();
    let mut open: Vec<&str> = Vec::new();
    let mut fenced = false;
    for line in text.lines() {
        let fence = line.trim_start().starts_with("```");
        let verbatim = fenced || line.starts_with("    ") || line.trim_start().starts_with('|');
        let heading = line.strip_prefix("# ").or(line.strip_prefix("## "));
        let item = line.trim_start().starts_with("- ");
        if fence || verbatim || heading.is_some() || item || line.trim().is_empty() {
            close(&mut all, &mut open);
        }
        match heading {
            _ if fence => fenced = !fenced,
            _ if verbatim => all.push_str(&format!("    {}\n", line.strip_prefix("    ").unwrap_or(line))),
            Some(heading) => {
                let gap = if all.is_empty() || all.ends_with("\n\n") { "" } else { "\n" };
                all.push_str(&format!("{gap}{}\n", paint.tone(Tone::Strong, heading)));
            }
            None if line.trim().is_empty() => {
                if !all.is_empty() && !all.ends_with("\n\n") {
                    all.push('\n');
                }
            }
            None => open.push(line.trim()),
        }
    }
    close(&mut all, &mut open);
    all.trim_end().to_string() + "\n"
}

fn close(all: &mut String, open: &mut Vec<&str>) {
    let text = std::mem::take(open).join(" ");
    if text.is_empty() {
        return;
    }
    let indent = if text.starts_with("- ") { 4 } else { 2 };
    all.push_str(&hanging(&text, "  ", indent));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_never_inside_a_tag() {
        let text = "PSU-24V-A feeds GD-1 ".repeat(12);
        let wrapped = paragraph(&text, 4);
        assert!(wrapped.lines().count() > 2);
        for line in wrapped.lines() {
            assert!(line.len() <= WIDTH && line.starts_with("    "), "{line}");
            assert!(!line.ends_with('-') && !line.trim_start().starts_with("24V"), "{line}");
        }
        let id = format!("check/H/{}", "A-1+".repeat(30));
        assert_eq!(paragraph(&id, 2), format!("  {id}\n"));
    }

    #[test]
    fn labels_hang() {
        let text = labelled("Usually resolved:", &"word ".repeat(30), 3);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines.first().is_some_and(|line| line.starts_with("   Usually resolved: word")));
        assert!(lines.get(1).is_some_and(|line| line.starts_with("     word")));
    }

    #[test]
    fn markdown_keeps_headings_lists_and_blocks_apart() {
        let page = markdown("# name\n\nOne\ntwo.\n\n## What\n- a\n  b\n- c\n\n    x = 1\n", Paint::default());
        assert_eq!(page, "name\n\n  One two.\n\nWhat\n  - a b\n  - c\n\n    x = 1\n");
    }

    #[test]
    fn colour_is_only_there_when_asked_for() {
        assert_eq!(Paint { color: false }.tone(Tone::Bad, "x"), "x");
        assert_eq!(Paint { color: true }.tone(Tone::Bad, "x"), "\u{1b}[1;31mx\u{1b}[0m");
    }
}
