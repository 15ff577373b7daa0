//! Draws the errors of a model file: the line with the marked words, what is wrong, and the way out.
//!
//! The only place that knows the drawing library. It is given an excerpt of its own instead of the whole text, so
//! that a large file costs nothing and a very long line is cut around what is marked.

mod excerpt;

use std::fmt;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, SourceCode, ThemeCharacters, ThemeStyles,
};

use super::counted;
use crate::problem::Problem;
use crate::source::Source;
use excerpt::Excerpt;
pub(super) use excerpt::{is_visible, visible};

/// Columns of a drawing.
const WIDTH: usize = 80;

/// All problems of a file, in the order of the text, and a line that counts them.
///
/// Without colour only ASCII is used for the lines of the drawing, so that it survives any log.
pub fn draw(source: &Source, problems: &[Problem], color: bool) -> String {
    let theme = match color {
        true => GraphicalTheme { characters: ThemeCharacters::unicode(), styles: ThemeStyles::ansi() },
        false => GraphicalTheme { characters: ThemeCharacters::ascii(), styles: ThemeStyles::none() },
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(WIDTH)
        .with_links(false)
        .with_context_lines(1)
        .tab_width(4)
        .with_break_words(false)
        .with_word_separator(textwrap::WordSeparator::AsciiSpace)
        .with_word_splitter(textwrap::WordSplitter::NoHyphenation);
    let mut sorted: Vec<&Problem> = problems.iter().collect();
    sorted.sort();
    let mut all = String::new();
    for problem in sorted {
        let place = source.place(problem.span.start);
        let head = format!("{}:{}:{}: error ({})", source.name(), place.line, place.column, problem.code);
        all.push_str(&format!("{}\n", excerpt::visible(&head)));
        // Writing to a string does not fail; if drawing does, the sentence itself must still be read.
        if handler.render_report(&mut all, &Drawn::new(source, problem)).is_err() {
            all.push_str(&format!("  {}\n", problem.message));
        }
        all.push('\n');
    }
    all + &format!("{}\n", excerpt::visible(&verdict(source, problems.len())))
}

/// The line that counts the errors of a file.
pub fn verdict(source: &Source, number: usize) -> String {
    format!("{} in {}; nothing was examined.", counted(number, "error"), source.name())
}

/// A problem as the drawing library wants it.
#[derive(Debug)]
struct Drawn {
    message: String,
    help: Option<String>,
    excerpt: Excerpt,
}

impl Drawn {
    fn new(source: &Source, problem: &Problem) -> Self {
        let mut places = vec![(problem.span, problem.label.clone())];
        places.extend(problem.also.iter().cloned());
        Drawn {
            message: excerpt::visible(&problem.message),
            help: problem.help.as_deref().map(excerpt::visible),
            excerpt: Excerpt::new(source, &places),
        }
    }
}

impl fmt::Display for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Drawn {}

impl Diagnostic for Drawn {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.excerpt)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let spans = self.excerpt.labels.iter().enumerate().map(|(number, label)| {
            let text = Some(label.text.clone()).filter(|text| !text.is_empty());
            match number {
                0 => LabeledSpan::new_primary_with_span(text, (label.start, label.length)),
                _ => LabeledSpan::new(text, label.start, label.length),
            }
        });
        Some(Box::new(spans))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]
    use super::*;
    use crate::source::Span;

    fn span(text: &str, part: &str) -> Span {
        let start = text.find(part).expect("the part is there");
        Span::new(start, start + part.len())
    }

    fn widest(text: &str) -> usize {
        text.lines().map(textwrap::core::display_width).max().unwrap_or(0)
    }

    #[test]
    fn a_problem_is_drawn_with_place_mark_help_and_further_places() {
        let text = "sensors:\n  GD-1:\n    suply: PS\n\n\n\n\n  GD-1: {}\n";
        let source = Source::new("cell.yaml", text);
        let again = text.rfind("GD-1").unwrap();
        let problem = Problem::new("unknown-key", span(text, "suply"), "`suply` is no field", "not known")
            .help("did you mean `supply`?")
            .also(Span::new(again, again + 4), "a second place");
        let drawn = draw(&source, &[problem], false);
        assert!(drawn.starts_with("cell.yaml:3:5: error (unknown-key)\n"), "{drawn}");
        for part in ["3 |     suply: PS", "not known", "did you mean", "8 |   GD-1: {}", "a second place"] {
            assert!(drawn.contains(part), "{part} in\n{drawn}");
        }
        assert!(drawn.ends_with("1 error in cell.yaml; nothing was examined.\n"));
        assert!(drawn.is_ascii() && widest(&drawn) <= WIDTH, "{drawn}");
    }

    #[test]
    fn marks_stand_under_the_words_after_characters_of_several_bytes() {
        let text = "title: \"Zelle über 60 °C\"\nwhen: T > 60 grad\n";
        let source = Source::new("m", text);
        let drawn = draw(&source, &[Problem::new("x", span(text, "60 °C"), "m", "here")], false);
        let lines: Vec<&str> = drawn.lines().collect();
        let at = lines.iter().position(|line| line.contains("Zelle")).unwrap();
        let before = |line: &str, part: char| line.chars().position(|c| c == part).unwrap();
        let mark = lines[at + 1].chars().position(|c| c != ' ' && c != '|' && c != ':').unwrap();
        assert_eq!(before(lines[at], '6'), mark, "{drawn}");
    }

    #[test]
    fn long_lines_are_cut_around_the_mark() {
        let text = format!("a: [{}, MARK, {}]\n", "x, ".repeat(2000), "y, ".repeat(2000));
        let source = Source::new("m", text.as_str());
        let drawn = draw(&source, &[Problem::new("x", span(&text, "MARK"), "m", "here")], false);
        assert!(drawn.contains("MARK") && drawn.contains("..."), "{drawn}");
        assert!(widest(&drawn) <= WIDTH, "{drawn}");
    }

    #[test]
    fn problems_are_sorted_and_counted_and_colour_is_only_there_when_asked_for() {
        let source = Source::new("m", "a: 1\nb: 2\n");
        let problems = [
            Problem::new("second", Span::new(5, 6), "later", "here"),
            Problem::new("first", Span::new(0, 1), "earlier", "here"),
        ];
        let plain = draw(&source, &problems, false);
        assert!(plain.find("earlier") < plain.find("later") && plain.contains("2 errors in m"));
        assert!(!plain.contains('\u{1b}') && draw(&source, &problems, true).contains('\u{1b}'));
    }

    #[test]
    fn any_place_can_be_drawn() {
        for text in ["", "\n", "a", "ü\r\n\tb: \u{1b}[31m\r\n", "x\n\n\n"] {
            let source = Source::new("m", text);
            for (start, end) in [(0, 0), (0, 99), (1, 2), (99, 99), (3, 4)] {
                let drawn = draw(&source, &[Problem::new("x", Span::new(start, end), "said", "here")], false);
                assert!(drawn.contains("said") && !drawn.contains('\u{1b}'), "{text:?} {start} {end}");
            }
        }
    }

    #[test]
    fn a_large_file_with_many_errors_is_drawn() {
        let text = "key: value\n".repeat(200_000);
        let source = Source::new("m", text);
        let problems: Vec<Problem> =
            (0..200).map(|n| Problem::new("x", Span::new(n * 11_000, n * 11_000 + 3), "m", "l")).collect();
        let drawn = draw(&source, &problems, false);
        assert!(drawn.contains("200 errors in m"));
    }
}
