//! The deserializer: one place of a document type, and what the file has there.

use std::cell::RefCell;

use serde::de::value::Error;
use serde::de::{Deserializer, Visitor};

use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::gather::Gather;
use crate::syntax::leaf::{AT, LIST, SCALAR, TABLE};
use crate::syntax::node::{Node, NodeKind};

use super::access::{Choice, Fields, Piece, Series, Table};
use super::trail::{Trail, cut};

/// What the file has for a place of the document type.
#[derive(Debug, Clone, Copy)]
pub(super) enum State<'n> {
    /// This.
    Node(&'n Node),
    /// Nothing, which is a problem unless the place is optional.
    Absent,
    /// Nothing, because of a mistake already recorded: placeholders without further problems.
    Silent,
}

/// A place of the document type to be filled.
#[derive(Debug, Clone, Copy)]
pub(super) struct Want<'a> {
    pub state: State<'a>,
    pub trail: &'a Trail<'a>,
    pub gather: &'a RefCell<Gather>,
}

impl<'a> Want<'a> {
    /// The same place, with nothing more to complain about.
    pub fn silent(self) -> Want<'a> {
        Want { state: State::Silent, ..self }
    }

    /// The bytes of the node, or of what lacks it.
    fn span(&self) -> Span {
        match self.state {
            State::Node(node) => node.span,
            _ => self.trail.span(),
        }
    }

    pub fn record(&self, problem: Problem) {
        self.gather.borrow_mut().push(problem);
    }

    /// The node; records that it is missing or that nothing was written.
    fn node(&self, ask: Ask) -> Option<&'a Node> {
        match self.state {
            State::Silent => None,
            State::Absent => {
                let message = format!("{} has no {}", self.trail.owner(), self.trail.short());
                let label = format!("{} is missing", self.trail.short());
                let help = format!("add {}", self.trail.short());
                self.record(Problem::new("missing-key", self.trail.span(), message, label).help(help));
                None
            }
            State::Node(node) if node.is_empty() => {
                self.empty(node, ask);
                None
            }
            State::Node(node) => Some(node),
        }
    }

    fn empty(&self, node: &Node, ask: Ask) {
        let span = if self.trail.is_key() { self.trail.span() } else { node.span };
        let message = format!("{} is empty", self.trail.long());
        let help = match ask {
            Ask::Optional => "write its value, or delete the key",
            Ask::Value => "write its value",
            Ask::List => "write its items, or `[]` if there are none",
            Ask::Block => "write its keys, or `{}` if there is nothing to say",
        };
        self.record(Problem::new("empty-value", span, message, "nothing stands here").help(help));
    }

    fn wrong_shape(&self, node: &Node, ask: Ask) {
        let takes = match ask {
            Ask::Value | Ask::Optional => "takes one value",
            Ask::List => "takes a list",
            Ask::Block => "takes a block of keys",
        };
        let message = format!("{} {takes}, but {} stands here", self.trail.long(), node.describe());
        let label = format!("{takes}, not {}", node.describe());
        self.record(Problem::new("wrong-shape", node.span, message, label).help(self.instead(node, ask)));
    }

    /// What to write instead.
    fn instead(&self, node: &Node, ask: Ask) -> String {
        let key = match self.trail.is_key() {
            true => format!("{}: ", self.trail.short().trim_matches('`')),
            false => String::new(),
        };
        match (&node.kind, ask) {
            (NodeKind::Scalar { text, .. }, Ask::List) => format!("write `{key}[{}]`", cut(text)),
            (NodeKind::Sequence(items), Ask::Value | Ask::Optional) => {
                match items.first().and_then(Node::text) {
                    Some(text) => format!("write one value, such as `{key}{}`", cut(text)),
                    None => "write one value, without brackets or dashes".to_string(),
                }
            }
            (_, Ask::Value | Ask::Optional) => "write one value".to_string(),
            (NodeKind::Mapping(_), Ask::List) => {
                format!("write `{key}[ … ]`, or start each item with a dash")
            }
            (_, Ask::List) => "write a list".to_string(),
            (NodeKind::Sequence(_), Ask::Block) => {
                format!(
                    "a name stands before each entry: write `{key}{{ NAME: … }}` with the names that belong here"
                )
            }
            (NodeKind::Scalar { text, quoted: false }, Ask::Block) if colon_joined(text).is_some() => {
                let (word, rest) = colon_joined(text).unwrap_or_default();
                format!("a space is missing after the colon: write `{word}: {}`", cut(rest))
            }
            (_, Ask::Block) => format!("write `{key}{{ key: value }}`, or `key: value` in lines below"),
        }
    }

    /// The text of a scalar; anything else is recorded.
    pub fn text(&self) -> Option<(&'a str, bool)> {
        let node = self.node(Ask::Value)?;
        match &node.kind {
            NodeKind::Scalar { text, quoted } => Some((text, *quoted)),
            _ => {
                self.wrong_shape(node, Ask::Value);
                None
            }
        }
    }

    fn is(&self, shape: impl Fn(&NodeKind) -> bool) -> bool {
        matches!(self.state, State::Node(node) if shape(&node.kind))
    }

    fn items(&self) -> &'a [Node] {
        match self.node(Ask::List) {
            Some(Node { kind: NodeKind::Sequence(items), .. }) => items,
            Some(node) => {
                self.wrong_shape(node, Ask::List);
                &[]
            }
            None => &[],
        }
    }

    fn entries(&self) -> Option<&'a [(Node, Node)]> {
        match self.node(Ask::Block)? {
            Node { kind: NodeKind::Mapping(entries), .. } => Some(entries),
            node => {
                self.wrong_shape(node, Ask::Block);
                None
            }
        }
    }

    /// A value of a type that only some texts can be.
    fn parsed<T: std::str::FromStr + Default>(&self, what: &str) -> T {
        let Some((text, _)) = self.text() else { return T::default() };
        text.parse().unwrap_or_else(|_| {
            let message = format!("{} takes {what}, and `{}` is none", self.trail.long(), cut(text));
            self.record(
                Problem::new("wrong-value", self.span(), message, format!("not {what}"))
                    .help(format!("write {what}")),
            );
            T::default()
        })
    }
}

/// What the document type asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ask {
    Value,
    Optional,
    List,
    Block,
}

/// Deserializer methods for values that `FromStr` reads.
macro_rules! parsed {
    ($($method:ident $visit:ident $type:ty, $what:literal;)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
            visitor.$visit(self.parsed::<$type>($what))
        }
    )*};
}

impl<'de> Deserializer<'de> for Want<'_> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.state {
            State::Node(Node { kind: NodeKind::Sequence(_), .. }) => self.deserialize_seq(visitor),
            State::Node(Node { kind: NodeKind::Mapping(_), .. }) => self.deserialize_map(visitor),
            State::Node(_) => self.deserialize_str(visitor),
            _ => visitor.visit_unit(),
        }
    }

    parsed! {
        deserialize_bool visit_bool bool, "`true` or `false`";
        deserialize_i8 visit_i8 i8, "a whole number";
        deserialize_i16 visit_i16 i16, "a whole number";
        deserialize_i32 visit_i32 i32, "a whole number";
        deserialize_i64 visit_i64 i64, "a whole number";
        deserialize_u8 visit_u8 u8, "a whole number";
        deserialize_u16 visit_u16 u16, "a whole number";
        deserialize_u32 visit_u32 u32, "a whole number";
        deserialize_u64 visit_u64 u64, "a whole number";
        deserialize_f32 visit_f32 f32, "a number";
        deserialize_f64 visit_f64 f64, "a number";
        deserialize_char visit_char char, "one character";
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_str(self.text().map_or("", |(text, _)| text))
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_str(visitor)
    }

    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_str(visitor)
    }

    fn deserialize_bytes<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_str(visitor)
    }

    fn deserialize_byte_buf<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        self.deserialize_str(visitor)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.state {
            State::Absent | State::Silent => visitor.visit_none(),
            State::Node(node) if node.is_empty() => {
                self.empty(node, Ask::Optional);
                visitor.visit_none()
            }
            State::Node(_) => visitor.visit_some(self),
        }
    }

    fn deserialize_unit<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_unit()
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Error> {
        let span = self.span();
        let place = [Piece::Number(span.start), Piece::Number(span.end)];
        // A list or table that is missing or of another shape has a place without width.
        let nowhere = [Piece::Number(span.start), Piece::Number(span.start)];
        match name {
            SCALAR => {
                let found = self.text();
                let (text, quoted) = found.unwrap_or(("", false));
                let [start, end] = place;
                let flags = [Piece::Flag(quoted), Piece::Flag(found.is_none())];
                let pieces = [Piece::Text(text), start, end].into_iter().chain(flags);
                visitor.visit_seq(Series::new(self, pieces.collect(), &[]))
            }
            LIST => {
                let written = self.is(|kind| matches!(kind, NodeKind::Sequence(_)));
                let [start, end] = if written { place } else { nowhere };
                visitor.visit_seq(Series::new(self, vec![start, end], self.items()))
            }
            TABLE => {
                let written = self.is(|kind| matches!(kind, NodeKind::Mapping(_)));
                let span = if written { span } else { Span::new(span.start, span.start) };
                visitor.visit_map(Table::new(self, Some(span), self.entries().unwrap_or(&[])))
            }
            AT => {
                let [start, end] = place;
                visitor.visit_seq(Series::new(self, vec![start, end, Piece::Value(self)], &[]))
            }
            _ => visitor.visit_newtype_struct(self),
        }
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_seq(Series::new(self, Vec::new(), self.items()))
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, length: usize, visitor: V) -> Result<V::Value, Error> {
        let items = self.items();
        if items.len() != length
            && matches!(self.state, State::Node(n) if matches!(n.kind, NodeKind::Sequence(_)))
        {
            let message =
                format!("{} takes {length} items, and {} stand here", self.trail.long(), items.len());
            let help = format!("write {length} items");
            self.record(
                Problem::new("wrong-shape", self.span(), message, "not as many as needed").help(help),
            );
        }
        let missing = length.saturating_sub(items.len());
        let items = items.get(..length).unwrap_or(items);
        visitor
            .visit_seq(Series::new(self, Vec::new(), items).then(vec![Piece::Value(self.silent()); missing]))
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.deserialize_tuple(length, visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_map(Table::new(self, None, self.entries().unwrap_or(&[])))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        visitor.visit_map(Fields::new(self, fields, self.entries()))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        let (word, span, content) = match self.state {
            State::Node(Node { kind: NodeKind::Mapping(entries), .. }) => match entries.as_slice() {
                [(key, value)] => (key.text(), key.span, Some(value)),
                _ => {
                    let help = format!("write one of {}", listed(variants));
                    let message =
                        format!("{} takes one word, but a block of keys stands here", self.trail.long());
                    self.record(Problem::new("wrong-shape", self.span(), message, "not one word").help(help));
                    (None, self.span(), None)
                }
            },
            _ => (self.text().map(|(text, _)| text), self.span(), None),
        };
        let known = word.and_then(|word| variants.iter().find(|v| **v == word));
        if let (Some(word), None) = (word, known) {
            let message = format!("{} cannot be `{}`", self.trail.long(), cut(word));
            let help = did_you_mean(word, variants, "possible");
            self.record(Problem::new("unknown-word", span, message, "unknown word").help(help));
        }
        let variant = known.or(variants.first()).copied().unwrap_or("");
        visitor.visit_enum(Choice { want: self, variant, span, known: known.is_some(), content })
    }
}

/// The two sides of `key:value` written without a space.
fn colon_joined(text: &str) -> Option<(&str, &str)> {
    let (word, rest) = text.split_once(':')?;
    (!word.is_empty() && !word.contains(char::is_whitespace) && !rest.is_empty()).then_some((word, rest))
}

/// The nearest of `options`, or all of them.
pub(super) fn did_you_mean(word: &str, options: &[&str], all: &str) -> String {
    match nearest(word, options.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("{all}: {}", listed(options)),
    }
}

fn listed(options: &[&str]) -> String {
    options.iter().map(|o| format!("`{o}`")).collect::<Vec<_>>().join(", ")
}
