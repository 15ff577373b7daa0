//! The second reader: another YAML implementation reads the same text and must find the same document.
//!
//! Two readers that take one safety file for two different things are worth a message of their own. The second
//! gives values types (`0x1F` is a number to it, `~` is nothing); this file decides whether the typed value can mean
//! anything other than the text. Nothing of the second reader goes on to the model.
//!
//! Runs only on a text that the first reader has accepted, so size and depth are already bounded.

use std::cell::RefCell;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};

use crate::problem::Problem;
use crate::source::{Source, Span};
use crate::syntax::gather::Gather;
use crate::syntax::node::{Node, NodeKind};

/// Reads the text of `source` again and compares with `node`: shapes, keys and their order, values.
/// Returns every difference, sorted by place.
pub fn check(source: &Source, node: &Node) -> Vec<Problem> {
    let gather = RefCell::new(Gather::default());
    let pair = Pair { node, gather: &gather };
    if let Err(error) = pair.deserialize(serde_yaml::Deserializer::from_str(source.text())) {
        gather.borrow_mut().push(refused(source, &error));
    }
    gather.into_inner().finish()
}

fn refused(source: &Source, error: &serde_yaml::Error) -> Problem {
    let at = error.location().and_then(|place| {
        let line = source.line_span(place.line())?;
        let text = source.slice(line);
        let column = text.char_indices().nth(place.column().saturating_sub(1)).map_or(text.len(), |(i, _)| i);
        Some(line.start + column)
    });
    let at = at.unwrap_or(0);
    let rest = source.text().get(at..).unwrap_or("");
    let span = Span::new(at, at + rest.find(char::is_whitespace).unwrap_or(rest.len()));
    let message = format!("two YAML readers disagree whether this can be read: {error}");
    Problem::new("readers-disagree", span, message, "refused by one of them")
        .help("write it more plainly: the value in quotes, or keys and lists on lines of their own")
}

/// One node of the first reader, waiting to be compared with what the second finds in its place.
#[derive(Clone, Copy)]
struct Pair<'a> {
    node: &'a Node,
    gather: &'a RefCell<Gather>,
}

impl Pair<'_> {
    fn differ(self, other: &str) {
        let what = match self.node.text() {
            Some("") => "an empty value".to_string(),
            Some(text) => {
                let cut: String = text.chars().take(40).collect();
                format!("`{cut}{}`", if cut.len() < text.len() { "…" } else { "" })
            }
            None => self.node.describe().to_string(),
        };
        let message = format!("two YAML readers disagree about this value: {what} is {other} to one of them");
        let help = match self.node.kind {
            NodeKind::Scalar { .. } => {
                "put it in quotes if it is a text; write a number in plain decimal digits"
            }
            _ => "write it more plainly: keys and list items on lines of their own",
        };
        self.gather.borrow_mut().push(
            Problem::new("readers-disagree", self.node.span, message, "not the same to all").help(help),
        );
    }

    /// The text, if this is a value without quotes.
    fn plain(&self) -> Option<&str> {
        match &self.node.kind {
            NodeKind::Scalar { text, quoted: false } => Some(text),
            _ => None,
        }
    }

    /// Compares with a whole number; `other` is its decimal digits.
    fn whole(self, other: String) {
        let digits = self.plain().map(|text| text.strip_prefix(['+', '-']).unwrap_or(text));
        if !digits.is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit())) {
            self.differ(&format!("the number {other}"));
        }
    }
}

/// Digits with one point; what a rounded binary number stands for cannot be mistaken then.
fn is_decimal(text: &str) -> bool {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    digits.split_once('.').is_some_and(|(whole, part)| {
        let all = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        all(whole) && all(part) && !(whole.is_empty() && part.is_empty())
    })
}

impl<'de> DeserializeSeed<'de> for Pair<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Pair<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(self.node.describe())
    }

    fn visit_unit<E: Error>(self) -> Result<(), E> {
        if !self.node.is_empty() {
            self.differ("nothing at all");
        }
        Ok(())
    }

    fn visit_bool<E: Error>(self, other: bool) -> Result<(), E> {
        if !self.plain().is_some_and(|text| text.eq_ignore_ascii_case(if other { "true" } else { "false" })) {
            self.differ(if other { "the answer true" } else { "the answer false" });
        }
        Ok(())
    }

    fn visit_u64<E: Error>(self, other: u64) -> Result<(), E> {
        self.whole(other.to_string());
        Ok(())
    }

    fn visit_i64<E: Error>(self, other: i64) -> Result<(), E> {
        self.whole(other.to_string());
        Ok(())
    }

    fn visit_u128<E: Error>(self, other: u128) -> Result<(), E> {
        self.whole(other.to_string());
        Ok(())
    }

    fn visit_i128<E: Error>(self, other: i128) -> Result<(), E> {
        self.whole(other.to_string());
        Ok(())
    }

    fn visit_f64<E: Error>(self, other: f64) -> Result<(), E> {
        if !self.plain().is_some_and(is_decimal) {
            self.differ(&format!("the number {other}"));
        }
        Ok(())
    }

    fn visit_str<E: Error>(self, other: &str) -> Result<(), E> {
        // An empty text in quotes is a text; nothing at all is not.
        let same = self.node.text() == Some(other) && (!other.is_empty() || !self.node.is_empty());
        if !same {
            let cut: String = other.chars().take(40).collect();
            self.differ(&format!("the text `{cut}`"));
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut other: A) -> Result<(), A::Error> {
        let NodeKind::Sequence(items) = &self.node.kind else {
            self.differ("a list");
            while other.next_element::<IgnoredAny>()?.is_some() {}
            return Ok(());
        };
        for node in items {
            if other.next_element_seed(Pair { node, ..self })?.is_none() {
                self.differ("a shorter list");
                return Ok(());
            }
        }
        if other.next_element::<IgnoredAny>()?.is_some() {
            self.differ("a longer list");
            while other.next_element::<IgnoredAny>()?.is_some() {}
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut other: A) -> Result<(), A::Error> {
        let NodeKind::Mapping(entries) = &self.node.kind else {
            self.differ("a block of keys");
            while other.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
            return Ok(());
        };
        for (key, value) in entries {
            if other.next_key_seed(Pair { node: key, ..self })?.is_none() {
                self.differ("a shorter block of keys");
                return Ok(());
            }
            other.next_value_seed(Pair { node: value, ..self })?;
        }
        if other.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {
            self.differ("a longer block of keys");
            while other.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;
    use crate::syntax::yaml::{Limits, read};

    fn problems(text: &str) -> Vec<(String, String)> {
        let source = Source::new("m", text);
        let found = read(&source, &Limits::default()).err().unwrap_or_default();
        assert!(found.iter().all(|p| p.code == "readers-disagree"), "{found:?}");
        found.into_iter().map(|p| (source.slice(p.span).to_string(), p.message)).collect()
    }

    #[test]
    fn ordinary_values_agree() {
        let text = "a: true\nb: False\nc: 12\nd: -0.50\ne: +3\nf:\ng: \"\"\nh: 40 %LFL\ni: 017\nj: 1_000\nk: no\n\
                    l: 12:30:00\nm: 2026-11-25\nn: K1 = closed\no: '0x1F'\np: 0\nq: 1.10\nr: .5\n1: x\ns: \"~\"\n\
                    t: 20 ms\nu: >\n  two\n  lines\nv: ü °C\nw: [a, {b: c}, [], ]\nx: 123456789012345678901234567890\n\
                    y: on\nz: 0 .. 100 %LFL\n";
        assert_eq!(problems(text), []);
    }

    #[test]
    fn values_that_could_mean_something_else_are_problems_at_the_value() {
        let found = problems("ü: 0x1F\nb: [0b11, 0o17]\nc: ~\nd: null\ne: .inf\nf: 1e3\ng: .nan\n0x2: h\n");
        let texts: Vec<_> = found.iter().map(|(text, _)| text.as_str()).collect();
        assert_eq!(texts, ["0x1F", "0b11", "0o17", "~", "null", ".inf", "1e3", ".nan", "0x2"]);
        assert_eq!(
            found[0].1,
            "two YAML readers disagree about this value: `0x1F` is the number 31 to one of them"
        );
        assert!(found[3].1.contains("nothing at all"));
    }

    #[test]
    fn a_tree_of_another_shape_is_a_problem() {
        let node = |text| read(&Source::new("m", text), &Limits::default()).unwrap();
        let differ = |text, other| check(&Source::new("m", text), &node(other)).len();
        assert_eq!(differ("a: 1\nb: 2\n", "a: 1\n"), 1);
        assert_eq!(differ("a: 1\n", "a: 1\nb: 2\n"), 1);
        assert_eq!(differ("a: 1\nb: 2\n", "b: 2\na: 1\n"), 4 - 2);
        assert_eq!(differ("[a, b]\n", "[a]\n"), 1);
        assert_eq!(differ("[a]\n", "[a, b]\n"), 1);
        assert_eq!(differ("a: [x]\n", "a: x\n"), 1);
        assert_eq!(differ("a: {x: y}\n", "a: [x]\n"), 1);
        assert_eq!(differ("a: ''\n", "a:\n"), 1);
    }

    #[test]
    fn what_the_second_reader_refuses_is_a_problem_at_its_place() {
        let ours = read(&Source::new("m", "a: 1\n"), &Limits::default()).unwrap();
        let source = Source::new("m", "ü: 1\nb: @x\n");
        let found = check(&source, &ours);
        assert_eq!(source.slice(found.last().unwrap().span), "@x");
    }
}
