//! From the bytes of a file to its text: size, encoding, characters that no eye can see.
//!
//! Reads no files; knows nothing of YAML.

use crate::problem::Problem;
use crate::source::{Source, Span};
use crate::syntax::gather::Gather;

use super::Limits;

/// A file that is no text to work with, and why.
#[derive(Debug, Clone)]
pub struct Refused {
    /// What to draw the problems on: the text with `U+FFFD` where bytes were no text, or nothing at all for a
    /// file that is too large. The problems' spans count in it.
    pub source: Source,
    /// At least one.
    pub problems: Vec<Problem>,
}

/// The text of a file from its bytes.
///
/// A byte order mark at the start (some Windows editors write one) is dropped: columns, lines and spans count
/// from the first character after it, as editors show them.
///
/// # Errors
/// A file above `limits.bytes` is refused before anything is copied; so are bytes that are not UTF-8 (each place
/// by line and byte, up to a bound) and characters that cannot be seen ([`characters`]).
pub fn from_bytes(name: &str, bytes: &[u8], limits: &Limits) -> Result<Source, Refused> {
    let refuse = |text: &str, problems| Err(Refused { source: Source::new(name, text), problems });
    if let Some(problem) = too_large(bytes.len(), limits) {
        return refuse("", vec![problem]);
    }
    if matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) {
        let problem =
            Problem::new("not-utf-8", Span::default(), "the file is saved as UTF-16, not as UTF-8", "here")
                .help("save it again with the encoding UTF-8");
        return refuse("", vec![problem]);
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(_) => {
            let (text, problems) = not_utf8(bytes);
            return refuse(&text, problems);
        }
    };
    let problems = characters(text);
    if problems.is_empty() { Ok(Source::new(name, text)) } else { refuse(text, problems) }
}

/// The problem of a text of `length` bytes that is above the limit.
pub(super) fn too_large(length: usize, limits: &Limits) -> Option<Problem> {
    (length > limits.bytes).then(|| {
        let message = format!("the file has {length} bytes; at most {} are read", limits.bytes);
        Problem::new("too-large", Span::default(), message, "too large")
            .help("check that this is the model file")
    })
}

fn not_utf8(bytes: &[u8]) -> (String, Vec<Problem>) {
    let mut text = String::with_capacity(bytes.len());
    let mut gather = Gather::default();
    let (mut offset, mut line) = (0usize, 1usize);
    for chunk in bytes.utf8_chunks() {
        text.push_str(chunk.valid());
        offset += chunk.valid().len();
        line += chunk.valid().bytes().filter(|b| *b == b'\n').count();
        let Some(byte) = chunk.invalid().first() else { continue };
        let start = text.len();
        text.push(char::REPLACEMENT_CHARACTER);
        let message = format!("line {line} is not UTF-8: byte {offset} of the file is {byte:#04x}");
        gather.push(
            Problem::new("not-utf-8", Span::new(start, text.len()), message, "not a character in UTF-8")
                .help("save the file with the encoding UTF-8, then look at this place"),
        );
        offset += chunk.invalid().len();
    }
    (text, gather.finish())
}

/// The characters that could hide something from a reviewer: control characters other than tab and line end,
/// carriage returns that end no line, invisible marks, characters that turn the direction of writing, and the
/// line ends of which YAML readers do not agree that they are line ends.
pub fn characters(text: &str) -> Vec<Problem> {
    let mut gather = Gather::default();
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let what = match c {
            '\n' | '\t' => continue,
            '\r' if chars.peek().is_some_and(|(_, next)| *next == '\n') => continue,
            '\r' => "a carriage return that ends no line",
            '\0' => "a NUL character",
            '\u{85}' | '\u{2028}' | '\u{2029}' => "a special line end",
            '\u{FEFF}' => "a byte order mark in the middle of the text",
            '\u{200B}' | '\u{2060}' => "an invisible character",
            '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => {
                "a character that turns the direction of writing"
            }
            '\u{FFFE}' | '\u{FFFF}' => "a character that is none",
            c if c.is_control() => "a control character",
            _ => continue,
        };
        let span = Span::new(at, at + c.len_utf8());
        let message = format!("{what} (U+{:04X}) stands here", u32::from(c));
        gather.push(
            Problem::new("hidden-character", span, message, "cannot be seen")
                .help("delete it and type the text around it again"),
        );
    }
    gather.finish()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    fn refused(bytes: &[u8]) -> Refused {
        from_bytes("m", bytes, &Limits::default()).unwrap_err()
    }

    #[test]
    fn a_leading_byte_order_mark_is_dropped_and_places_count_after_it() {
        let source = from_bytes("m", b"\xEF\xBB\xBFa: 1\r\n", &Limits::default()).unwrap();
        assert_eq!(source.text(), "a: 1\r\n");
    }

    #[test]
    fn every_byte_that_is_not_utf8_is_reported_with_line_and_byte() {
        let refused = refused(b"a: 1\n\xC3\xBC: \xE9\nc: \xFF\n");
        let messages: Vec<_> = refused.problems.iter().map(|p| p.message.as_str()).collect();
        assert_eq!(
            messages,
            [
                "line 2 is not UTF-8: byte 9 of the file is 0xe9",
                "line 3 is not UTF-8: byte 14 of the file is 0xff"
            ]
        );
        for problem in &refused.problems {
            assert_eq!(refused.source.slice(problem.span), "\u{FFFD}");
        }
    }

    #[test]
    fn utf16_is_named() {
        assert!(refused(b"\xFF\xFEa\0").problems[0].message.contains("UTF-16"));
    }

    #[test]
    fn characters_that_cannot_be_seen_are_refused_each_at_its_place() {
        let refused = refused("ü: a\0\nb: \u{202E}x\nc: \u{FEFF}\nd: \x1b\re\n".as_bytes());
        let found: Vec<_> = refused.problems.iter().map(|p| refused.source.slice(p.span)).collect();
        assert_eq!(found, ["\0", "\u{202E}", "\u{FEFF}", "\x1b", "\r"]);
        assert_eq!(refused.problems[0].span, Span::new(5, 6));
    }

    #[test]
    fn two_hundred_megabytes_are_refused_and_not_copied() {
        let bytes = vec![b' '; 200 << 20];
        let refused = refused(&bytes);
        assert_eq!(refused.problems[0].code, "too-large");
        assert_eq!(refused.source.text(), "");
    }
}
