//! Reads the plain leaves of a document: words, flags, counts, dates, parts of one, words out of a closed list.
//!
//! A leaf that the reader flagged as broken is passed over in silence: its problem is already recorded.

use super::Lowering;
use super::tag::any_of;
use crate::date::{Date, NotADate};
use crate::exact::Exact;
use crate::model::Name;
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::kind::{Choice, Count, Date as DateText, Flag, Number, WordList, Words};
use crate::syntax::leaf::Scalar;

impl Lowering<'_> {
    /// Records a problem.
    pub(super) fn report(&mut self, problem: Problem) {
        self.problems.push(problem);
    }

    /// The name of an element.
    pub(super) fn name(&mut self, key: &Scalar, title: Option<&Words>) -> Name {
        let title = title.map(|title| self.words(title, "title")).filter(|text| !text.is_empty());
        Name { tag: key.text.clone(), title, span: key.span }
    }

    /// Free text; blank text is a problem, because something was to be said here.
    pub(super) fn words(&mut self, words: &Words, field: &str) -> String {
        let text = words.text.split_whitespace().collect::<Vec<_>>().join(" ");
        if text.is_empty() && !words.broken {
            self.report(
                Problem::new("empty-text", words.span, format!("`{field}` says nothing"), "blank")
                    .help("write the text, or leave the key out where it is optional"),
            );
        }
        text
    }

    /// Free text that may be absent.
    pub(super) fn optional_words(&mut self, words: Option<&Words>, field: &str) -> Option<String> {
        words.map(|words| self.words(words, field))
    }

    /// `true` or `false`; `absent` where the key is absent or wrong.
    pub(super) fn flag(&mut self, flag: Option<&Flag>, absent: bool) -> bool {
        let Some(flag) = flag else { return absent };
        match flag.text.as_str() {
            "true" => return true,
            "false" => return false,
            _ if flag.broken => return absent,
            _ => {}
        }
        let help = match flag.text.to_lowercase().as_str() {
            "yes" | "on" | "y" | "true" | "1" => "write `true`",
            "no" | "off" | "n" | "false" | "0" => "write `false`",
            _ => "only `true` and `false` say yes and no here",
        };
        self.report(
            Problem::new(
                "not-a-flag",
                flag.span,
                format!("`{}` is neither `true` nor `false`", flag.text),
                "`true` or `false` belongs here",
            )
            .help(help),
        );
        absent
    }

    /// A whole number from `least` to `most`; `None` where the key is absent or wrong.
    pub(super) fn count(&mut self, count: Option<&Count>, field: &str, least: u32, most: u32) -> Option<u32> {
        let count = count.filter(|count| !count.broken)?;
        let digits = !count.text.is_empty() && count.text.bytes().all(|b| b.is_ascii_digit());
        match count.text.parse::<u32>() {
            Ok(n) if digits && (least..=most).contains(&n) => Some(n),
            _ => {
                let what = if digits { "out-of-range" } else { "not-a-count" };
                let whole = digits || count.text.parse::<i64>().is_ok();
                self.report(
                    Problem::new(
                        what,
                        count.span,
                        format!(
                            "`{field}` wants a whole number from {least} to {most}, not `{}`",
                            count.text
                        ),
                        if whole { "out of range" } else { "is not a whole number" },
                    )
                    .help(format!("write the number in digits, for example `{}`", least.max(1))),
                );
                None
            }
        }
    }

    /// A number above 0 and up to 1; `None` where it is absent or wrong.
    pub(super) fn part_of_one(&mut self, number: Option<&Number>, field: &str) -> Option<Exact> {
        let number = number.filter(|number| !number.broken)?;
        let value = Exact::parse_decimal(&number.text);
        let fits = value.filter(|v| !v.is_negative() && !v.is_zero() && *v <= Exact::int(1));
        if fits.is_none() {
            self.report(
                Problem::new(
                    "out-of-range",
                    number.span,
                    format!("`{field}` wants a number above 0 and up to 1, not `{}`", number.text),
                    "not a part of one",
                )
                .help("write the part as a decimal, for example `0.5` for one half"),
            );
        }
        fits
    }

    /// A day of the calendar; `None` where it is wrong.
    pub(super) fn date(&mut self, date: &DateText) -> Option<Date> {
        if date.broken {
            return None;
        }
        let read = Date::parse(&date.text);
        if let Err(why) = read {
            self.report(
                Problem::new("not-a-date", date.span, why.message(&date.text), "no such day")
                    .help(NotADate::HELP),
            );
        }
        read.ok()
    }

    /// A date that may be absent.
    pub(super) fn optional_date(&mut self, date: Option<&DateText>) -> Option<Date> {
        self.date(date?)
    }

    /// The value of a word of a closed list; `None` where it is absent or not on the list.
    pub(super) fn choice<C: WordList>(&mut self, choice: Option<&Choice<C>>, field: &str) -> Option<C> {
        let choice = choice.filter(|choice| !choice.word.broken)?;
        let value = choice.value();
        if value.is_none() {
            let words = C::WORDS.iter().map(|(word, _, _)| *word);
            self.unknown_word(&choice.word.text, choice.word.span, field, words);
        }
        value
    }

    /// Records a word that is not among those that `field` takes.
    pub(super) fn unknown_word<'a>(
        &mut self,
        word: &str,
        span: Span,
        field: &str,
        options: impl Iterator<Item = &'a str> + Clone,
    ) {
        let quoted: Vec<String> = options.clone().map(|word| format!("`{word}`")).collect();
        let list = any_of(quoted.iter().map(String::as_str));
        let help = match nearest(word, options) {
            Some(near) => format!("did you mean `{near}`? It is {list}"),
            None => format!("write {list}"),
        };
        self.report(
            Problem::new(
                "unknown-word",
                span,
                format!("`{field}` does not know the word `{word}`"),
                "unknown word",
            )
            .help(help),
        );
    }

    /// Records a key that the element needs as it stands, at the element's tag.
    pub(super) fn missing_key(&mut self, key: &Scalar, field: &str, why: impl Into<String>) {
        if key.broken {
            return;
        }
        self.report(
            Problem::new(
                "missing-key",
                key.span,
                format!("`{}` needs the key `{field}`", key.text),
                format!("`{field}` is missing"),
            )
            .help(why),
        );
    }

    /// Records a key that means nothing where it stands.
    pub(super) fn needless_key(&mut self, span: Span, field: &str, why: impl Into<String>) {
        self.report(
            Problem::new("needless-key", span, format!("`{field}` means nothing here"), "leave it out")
                .help(why),
        );
    }
}

/// Whether a list or table was written as one; the place of one that is missing or of another shape has no width.
pub(super) fn written(span: Span) -> bool {
    span.start < span.end
}
