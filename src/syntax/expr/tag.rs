//! The rule for tags: what a word looks like, which words are reserved, and the check of tags where they are
//! defined.
//!
//! Responsible for single words. That a tag is unique and names the right thing is checked in `model`.

use crate::problem::Problem;
use crate::syntax::leaf::Scalar;
use crate::unit::spelling::{Complaint, shown};

/// Most characters of a tag.
pub const LONGEST_TAG: usize = 40;

/// Words that cannot be tags, in any case of letters.
const RESERVED: &[&str] = &["AND", "OR", "NOT", "XOR", "TRUE", "FALSE", "UNKNOWN"];

/// Whether the byte may stand anywhere in a tag.
fn plain(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_'
}

/// End of the word that starts at byte `start`: the longest run of the lexical rule (see `expr`).
pub(super) fn word_end(text: &str, start: usize) -> usize {
    let bytes = text.as_bytes();
    let at = |i: usize| bytes.get(i).copied().unwrap_or(b' ');
    let mut end = start;
    while plain(at(end)) || (matches!(at(end), b'-' | b'.') && plain(at(end + 1))) {
        end += 1;
    }
    end
}

/// The reserved word that this is, in upper case.
pub(super) fn reserved(word: &str) -> Option<&'static str> {
    RESERVED.iter().find(|reserved| reserved.eq_ignore_ascii_case(word)).copied()
}

/// `m` and `n` as digits, if the word is shaped like a vote in any case of letters.
pub(super) fn vote_parts(word: &str) -> Option<(&str, &str)> {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let first = word.find(['o', 'O'])?;
    let (m, rest) = word.split_at(first);
    let n = rest.strip_prefix(['o', 'O'])?.strip_prefix(['o', 'O'])?;
    (digits(m) && digits(n)).then_some((m, n))
}

/// Checks a tag where it is defined (a key); `None` if it is good.
///
/// The scalar must not be `broken`. The first thing that is wrong is reported, with the exact character marked.
pub fn check_tag(scalar: &Scalar) -> Option<Problem> {
    let text = scalar.text.as_str();
    let whole = (0, text.len());
    let (complaint, (start, end)) = shape(text).or_else(|| word(text).map(|complaint| (complaint, whole)))?;
    Some(complaint.at(scalar.part(start, end)))
}

/// A character that cannot be in a tag, or not there.
fn shape(text: &str) -> Option<(Complaint, (usize, usize))> {
    let complain = |message: String, label: &str, help: &str, start: usize, c: char| {
        (Complaint::new("tag-form", message, label).help(help), (start, start + c.len_utf8()))
    };
    let first = text.chars().next()?;
    if !first.is_ascii_alphanumeric() && (first == '_' || first == '-' || first == '.') {
        let message = format!("{} starts with `{first}`", shown(text));
        return Some(complain(message, "not here", "a tag starts with a letter or a digit", 0, first));
    }
    let end = word_end(text, 0);
    let wrong = text.get(end..)?.chars().next()?;
    let (message, label) = match wrong {
        '-' | '.' => (format!("`{wrong}` stands without a letter or digit after it"), "not here"),
        ' ' => (format!("{} has a space", shown(text)), "no space in a tag"),
        c if c.is_control() => (format!("{} has a control character", shown(text)), "not in a tag"),
        c => (format!("`{c}` cannot be in a tag"), "not in a tag"),
    };
    let help = "a tag has the letters A to Z, digits, `_`, and `-` or `.` between them";
    Some(complain(message, label, help, end, wrong))
}

/// A word of the right characters that still cannot be a tag.
fn word(text: &str) -> Option<Complaint> {
    let complaint = |message: String, label: &str| Complaint::new("tag-form", message, label);
    if text.is_empty() {
        return Some(complaint("a tag is empty".into(), "tag missing").help("write a tag such as `GD-11`"));
    }
    if text.len() > LONGEST_TAG {
        let message = format!("{} has {} characters", shown(text), text.len());
        let help = format!("a tag has at most {LONGEST_TAG} characters; put the rest into the title");
        return Some(complaint(message, "too long").help(help));
    }
    if !text.bytes().any(|b| b.is_ascii_alphabetic()) {
        let message = format!("{} has no letter", shown(text));
        return Some(complaint(message, "reads as a number").help(format!("write a tag such as `A-{text}`")));
    }
    if reserved(text).is_some() {
        let message = format!("{} is a word of the expressions and cannot be a tag", shown(text));
        return Some(complaint(message, "reserved").help("choose another tag"));
    }
    if vote_parts(text).is_some() {
        let message = format!("{} reads as a vote and cannot be a tag", shown(text));
        return Some(complaint(message, "reads as a vote").help("choose another tag"));
    }
    None
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;
    use crate::source::Span;

    fn check(text: &str) -> Option<Problem> {
        let span = Span::new(100, 100 + text.len());
        check_tag(&Scalar { text: text.into(), span, quoted: false, broken: false })
    }

    #[test]
    fn tags_of_the_trade_are_good() {
        // ISA-5.1 habit and the tags of a battery test hall; common practice, no source.
        for tag in
            ["GD-11", "K1", "ZS-31A", "24V-A", "HB-1S", "U24-A", "cell.top", "fan_1", "1A", "2oo", "oo3"]
        {
            assert_eq!(check(tag), None, "{tag}");
        }
        assert_eq!(check(&"A".repeat(40)), None);
    }

    #[test]
    fn each_wrong_tag_is_marked_at_its_character() {
        for (tag, start, end, message) in [
            ("", 0, 0, "a tag is empty"),
            ("GD 11", 2, 3, "`GD 11` has a space"),
            ("GD-", 2, 3, "`-` stands without a letter or digit after it"),
            ("GD--1", 2, 3, "`-` stands without a letter or digit after it"),
            ("-GD", 0, 1, "`-GD` starts with `-`"),
            ("_GD", 0, 1, "`_GD` starts with `_`"),
            ("GD/1", 2, 3, "`/` cannot be in a tag"),
            ("Tür-1", 1, 3, "`ü` cannot be in a tag"),
            ("2026", 0, 4, "`2026` has no letter"),
            ("And", 0, 3, "`And` is a word of the expressions and cannot be a tag"),
            ("Unknown", 0, 7, "`Unknown` is a word of the expressions and cannot be a tag"),
            ("2oo3", 0, 4, "`2oo3` reads as a vote and cannot be a tag"),
            ("1OO2", 0, 4, "`1OO2` reads as a vote and cannot be a tag"),
        ] {
            let problem = check(tag).expect(tag);
            assert_eq!(problem.message, message);
            assert_eq!(problem.span, Span::new(100 + start, 100 + end), "{tag}");
            assert!(problem.help.is_some());
        }
        assert_eq!(check(&"A".repeat(41)).unwrap().label, "too long");
    }
}
