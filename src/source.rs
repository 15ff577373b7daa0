//! Where in the text something stands: byte spans, lines and columns.
//!
//! Responsible for the text of one model file, for turning byte offsets into lines and columns, and for values as they are
//! written.
//! It does not know what the text means, and reads no files.

use serde::Serialize;

/// A half-open range of bytes `start .. end` in the text of one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte; equal to `start` for a place without width.
    pub end: usize,
}

impl Span {
    /// The span from `start` up to, not including, `end`.
    pub fn new(start: usize, end: usize) -> Self {
        Span { start, end: end.max(start) }
    }

    /// The smallest span that holds both.
    pub fn to(self, other: Span) -> Span {
        Span::new(self.start.min(other.start), self.end.max(other.end))
    }
}

/// A place as an editor shows it: both numbers count from 1, columns count characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Place {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// The text of one model file with a table of its line starts.
#[derive(Debug, Clone)]
pub struct Source {
    name: String,
    text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// Takes the name to print in messages (usually the path as the user typed it) and the whole text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let mut line_starts = vec![0];
        line_starts.extend(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1));
        Source { name: name.into(), text, line_starts }
    }

    /// The name to print.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The text of a span; empty if the span is not on character boundaries of this text.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    /// Line and column of a byte offset. Offsets past the end count as the end.
    pub fn place(&self, offset: usize) -> Place {
        let offset = offset.min(self.text.len());
        let line = self.line_starts.partition_point(|start| *start <= offset).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(start..offset).map_or(0, |before| before.chars().count()) + 1;
        Place { line, column }
    }

    /// The bytes of a line (from 1) without its line ending; `None` past the last line.
    pub fn line_span(&self, line: usize) -> Option<Span> {
        let start = *self.line_starts.get(line.checked_sub(1)?)?;
        let end = self.line_starts.get(line).map_or(self.text.len(), |next| next - 1);
        let end = if self.text.get(start..end).is_some_and(|l| l.ends_with('\r')) { end - 1 } else { end };
        Some(Span::new(start, end))
    }
}

/// One value as written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Scalar {
    /// The text, after YAML's own unquoting.
    pub text: String,
    /// The text's place, quotes included.
    pub span: Span,
    /// Whether it stood in quotes or a block.
    pub quoted: bool,
    /// The file had something else here, or nothing; the problem is already recorded.
    pub broken: bool,
}

impl Scalar {
    /// The place in the file of the bytes `start .. end` of the text.
    ///
    /// Exact where the file holds the text as it is: a plain value on one line, or a quoted one without escapes.
    /// Elsewhere (escapes, folded lines, blocks) and for offsets outside the text it is the whole value.
    pub fn part(&self, start: usize, end: usize) -> Span {
        let width = self.span.end.saturating_sub(self.span.start);
        let shift = match (self.quoted, width.checked_sub(self.text.len())) {
            (false, Some(0)) => 0,
            (true, Some(2)) => 1,
            _ => return self.span,
        };
        if end > self.text.len() || start > end {
            return self.span;
        }
        Span::new(self.span.start + shift + start, self.span.start + shift + end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_not_bytes() {
        let source = Source::new("m", "a: 1\nü: °x\n");
        assert_eq!(source.place(0), Place { line: 1, column: 1 });
        assert_eq!(source.place(5), Place { line: 2, column: 1 });
        assert_eq!(source.place(5 + 2 + 2 + 2), Place { line: 2, column: 5 });
        assert_eq!(source.place(999), Place { line: 3, column: 1 });
        assert_eq!(source.line_span(2).map(|s| source.slice(s)), Some("ü: °x"));
        assert_eq!(source.line_span(4), None);
    }
}
