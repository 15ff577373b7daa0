//! The few lines of a file around some places, cut to the width of a drawing, as a source for the drawing library.
//!
//! Places that lie close together share a passage; the passage of the first place comes first. Passages lie far apart
//! in made-up offsets, so that the library never takes two for one.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use unicode_width::UnicodeWidthChar;

use crate::source::{Source, Span};

/// Columns of a line that fit beside its number.
const COLUMNS: usize = 68;

/// Columns that are shown before a mark in a line that is cut.
const BEFORE: usize = 24;

/// Stands for what was cut away.
const CUT: &str = "...";

/// Distance of two passages in made-up offsets.
const APART: usize = 1 << 40;

/// Lines shown above and below.
const AROUND: usize = 1;

/// A marked place, in made-up offsets.
#[derive(Debug, Clone)]
pub(super) struct Label {
    /// First byte.
    pub start: usize,
    /// Bytes.
    pub length: usize,
    /// The words under it.
    pub text: String,
}

#[derive(Debug, Clone)]
struct Passage {
    /// Number of its first line, from 1.
    first: usize,
    /// Its lines, each with a line feed but the last.
    text: String,
    /// Where each line begins in `text`.
    starts: Vec<usize>,
}

/// Lines around some places.
#[derive(Debug, Clone)]
pub(super) struct Excerpt {
    passages: Vec<Passage>,
    /// The places, in the order in which they were given.
    pub labels: Vec<Label>,
    /// Line and column from 0 of each label.
    places: Vec<(usize, usize)>,
}

impl Excerpt {
    /// The lines around the places. Of a place that runs over several lines, the first is marked.
    pub fn new(source: &Source, places: &[(Span, String)]) -> Self {
        let lines: Vec<usize> = places.iter().map(|(span, _)| source.place(span.start).line).collect();
        let mut excerpt = Excerpt { passages: Vec::new(), labels: Vec::new(), places: Vec::new() };
        let groups = groups(source, &lines);
        for group in &groups {
            excerpt.passages.push(passage(source, group, places, &lines));
        }
        for ((span, text), line) in places.iter().zip(&lines) {
            let Some(number) = groups.iter().position(|group| group.contains(line)) else { continue };
            let Some(passage) = excerpt.passages.get(number) else { continue };
            let cut = cut_line(source, *line, places, &lines);
            let begin = source.line_span(*line).map_or(0, |line| line.start);
            let start = cut.at(span.start.saturating_sub(begin));
            let end = cut.at(span.end.saturating_sub(begin)).max(start);
            let line_start = passage.starts.get(line - passage.first).copied().unwrap_or(0);
            excerpt.labels.push(Label {
                start: number * APART + line_start + start,
                length: end - start,
                text: visible(text),
            });
            excerpt.places.push((line - 1, source.place(span.start).column - 1));
        }
        excerpt
    }
}

/// Ranges of lines, that of the first place first, none touching another.
fn groups(source: &Source, lines: &[usize]) -> Vec<Range<usize>> {
    let around = |line: usize| {
        let last = (line + AROUND..=line + AROUND).find(|l| source.line_span(*l).is_some()).unwrap_or(line);
        line.saturating_sub(AROUND).max(1)..last + 1
    };
    let mut groups: Vec<Range<usize>> = Vec::new();
    for line in lines {
        let mut new = around(*line);
        let mut place = groups.len();
        while let Some(touching) = groups.iter().position(|g| g.start <= new.end && new.start <= g.end) {
            let old = groups.remove(touching);
            new = old.start.min(new.start)..old.end.max(new.end);
            place = place.min(touching);
        }
        groups.insert(place.min(groups.len()), new);
    }
    groups
}

fn passage(source: &Source, group: &Range<usize>, places: &[(Span, String)], lines: &[usize]) -> Passage {
    let mut text = String::new();
    let mut starts = Vec::new();
    for line in group.clone() {
        if !starts.is_empty() {
            text.push('\n');
        }
        starts.push(text.len());
        text.push_str(&cut_line(source, line, places, lines).text);
    }
    // Of an empty line the library draws nothing, not even its number.
    if text.ends_with('\n') || text.is_empty() {
        text.push(' ');
    }
    Passage { first: group.start, text, starts }
}

/// A line as it is shown.
struct Cut {
    text: String,
    /// Bytes in the line and in `text`, for every character kept and for the end, ascending.
    map: Vec<(usize, usize)>,
}

impl Cut {
    /// Where a byte of the line is shown; what was cut away is at the nearest end.
    fn at(&self, byte: usize) -> usize {
        let next = self.map.partition_point(|(original, _)| *original < byte);
        self.map.get(next).or(self.map.last()).map_or(0, |(_, shown)| *shown)
    }
}

fn cut_line(source: &Source, line: usize, places: &[(Span, String)], lines: &[usize]) -> Cut {
    let span = source.line_span(line).unwrap_or_default();
    let marked = places.iter().zip(lines).find(|(_, of)| **of == line);
    cut(source.slice(span), marked.map_or(0, |((place, _), _)| place.start.saturating_sub(span.start)))
}

/// Columns that a character takes; a tab takes what the drawing gives it at most.
fn columns(c: char) -> usize {
    if c == '\t' { 4 } else { c.width().unwrap_or(1) }
}

fn cut(line: &str, focus: usize) -> Cut {
    let fits =
        line.len() <= COLUMNS / 4 || line.chars().map(columns).take(COLUMNS + 1).sum::<usize>() <= COLUMNS;
    let first = if fits { 0 } else { first_shown(line, focus) };
    let mut shown = Cut { text: String::new(), map: Vec::new() };
    if first > 0 {
        shown.text.push_str(CUT);
    }
    let mut used = shown.text.len();
    let mut end = line.len();
    for (at, c) in line.char_indices().skip_while(|(at, _)| *at < first) {
        used += columns(c);
        if !fits && used > COLUMNS - CUT.len() {
            end = at;
            break;
        }
        shown.map.push((at, shown.text.len()));
        shown.text.push(if is_visible(c) || c == '\t' { c } else { char::REPLACEMENT_CHARACTER });
    }
    shown.map.push((end, shown.text.len()));
    if end < line.len() {
        shown.text.push_str(CUT);
    }
    shown
}

/// The first byte that is shown of a line that is too long.
fn first_shown(line: &str, focus: usize) -> usize {
    let Some(before) = line.get(..focus) else { return 0 };
    let mut used = 0;
    for (at, c) in before.char_indices().rev() {
        used += columns(c);
        if used >= BEFORE {
            return at;
        }
    }
    0
}

/// Whether a character may be sent to a terminal: it neither steers it nor turns the direction of writing.
pub(in crate::report) fn is_visible(c: char) -> bool {
    !c.is_control()
        && !matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The text with `U+FFFD` for whatever could steer a terminal.
pub(in crate::report) fn visible(text: &str) -> String {
    text.chars().map(|c| if is_visible(c) || c == '\n' { c } else { char::REPLACEMENT_CHARACTER }).collect()
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let number = span.offset() / APART;
        let passage = self.passages.get(number).ok_or(MietteError::OutOfBounds)?;
        if (span.offset() + span.len()) / APART != number {
            return Err(MietteError::OutOfBounds);
        }
        // Without lines around it, the library only asks for the numbers of line and column.
        let label = self.labels.iter().position(|label| label.start == span.offset());
        if before == 0
            && let Some((line, column)) = label.and_then(|label| self.places.get(label))
        {
            return Ok(Box::new(MietteSpanContents::new(&[], *span, *line, *column, 1)));
        }
        let whole = SourceSpan::from((number * APART, passage.text.len()));
        let lines = passage.starts.len();
        Ok(Box::new(MietteSpanContents::new(passage.text.as_bytes(), whole, passage.first - 1, 0, lines)))
    }
}
