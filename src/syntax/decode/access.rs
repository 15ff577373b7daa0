//! What visitors walk through: leaves piece by piece, lists, tables, the fields of a struct, enums.

use serde::de::value::{Error, StrDeserializer};
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, IntoDeserializer, MapAccess, SeqAccess};
use serde::de::{VariantAccess, Visitor};

use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::node::Node;

use super::trail::cut;
use super::want::{State, Want, did_you_mean};

/// One element handed to a leaf type.
#[derive(Debug, Clone, Copy)]
pub(super) enum Piece<'a> {
    Text(&'a str),
    Number(usize),
    Flag(bool),
    Value(Want<'a>),
}

fn give<'de, S: DeserializeSeed<'de>>(seed: S, piece: Piece) -> Result<S::Value, Error> {
    match piece {
        Piece::Text(text) => seed.deserialize(text.into_deserializer()),
        Piece::Number(number) => seed.deserialize(number.into_deserializer()),
        Piece::Flag(flag) => seed.deserialize(flag.into_deserializer()),
        Piece::Value(want) => seed.deserialize(want),
    }
}

/// Pieces, then the items of a list, then pieces.
pub(super) struct Series<'a> {
    want: Want<'a>,
    before: std::vec::IntoIter<Piece<'a>>,
    items: std::iter::Enumerate<std::slice::Iter<'a, Node>>,
    after: std::vec::IntoIter<Piece<'a>>,
}

impl<'a> Series<'a> {
    pub fn new(want: Want<'a>, before: Vec<Piece<'a>>, items: &'a [Node]) -> Self {
        let items = items.iter().enumerate();
        Series { want, before: before.into_iter(), items, after: Vec::new().into_iter() }
    }

    pub fn then(self, after: Vec<Piece<'a>>) -> Self {
        Series { after: after.into_iter(), ..self }
    }
}

impl<'de> SeqAccess<'de> for Series<'_> {
    type Error = Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Error> {
        if let Some(piece) = self.before.next() {
            return give(seed, piece).map(Some);
        }
        if let Some((index, node)) = self.items.next() {
            let trail = self.want.trail.item(index, node.span);
            return seed.deserialize(Want { state: State::Node(node), trail: &trail, ..self.want }).map(Some);
        }
        self.after.next().map(|piece| give(seed, piece)).transpose()
    }
}

/// The entries of a mapping with free keys, after an entry with the mapping's place if that is wanted.
pub(super) struct Table<'a> {
    want: Want<'a>,
    place: Option<Span>,
    entries: &'a [(Node, Node)],
    /// The key has been given and its value is due.
    due: bool,
}

impl<'a> Table<'a> {
    pub fn new(want: Want<'a>, place: Option<Span>, entries: &'a [(Node, Node)]) -> Self {
        Table { want, place, entries, due: false }
    }
}

impl<'de> MapAccess<'de> for Table<'_> {
    type Error = Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Error> {
        if self.place.is_some() {
            return seed.deserialize(().into_deserializer()).map(Some);
        }
        if std::mem::take(&mut self.due) {
            self.entries = self.entries.get(1..).unwrap_or(&[]);
        }
        let Some((key, _)) = self.entries.first() else { return Ok(None) };
        self.due = true;
        let trail = self.want.trail.key(key.text().unwrap_or(""), key.span);
        seed.deserialize(Want { state: State::Node(key), trail: &trail, ..self.want }).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, Error> {
        if let Some(span) = self.place.take() {
            let place = vec![Piece::Number(span.start), Piece::Number(span.end)];
            return seed.deserialize(serde::de::value::SeqAccessDeserializer::new(Series::new(
                self.want,
                place,
                &[],
            )));
        }
        let Some((key, value)) = self.entries.first() else { return seed.deserialize(self.want.silent()) };
        let trail = self.want.trail.key(key.text().unwrap_or(""), key.span);
        seed.deserialize(Want { state: State::Node(value), trail: &trail, ..self.want })
    }
}

/// The fields of a struct: those of the file in its order, misspelt ones too, then those that the file lacks.
pub(super) struct Fields<'a> {
    want: Want<'a>,
    fields: &'static [&'static str],
    given: Vec<bool>,
    entries: std::slice::Iter<'a, (Node, Node)>,
    /// State of the fields that are not in the file.
    lacking: State<'a>,
    next: Option<(&'static str, Span, State<'a>)>,
}

impl<'a> Fields<'a> {
    /// `None` for entries: a mistake is already recorded, all fields are placeholders.
    pub fn new(want: Want<'a>, fields: &'static [&'static str], entries: Option<&'a [(Node, Node)]>) -> Self {
        Fields {
            want,
            fields,
            given: vec![false; fields.len()],
            lacking: if entries.is_some() { State::Absent } else { State::Silent },
            entries: entries.unwrap_or(&[]).iter(),
            next: None,
        }
    }

    fn unknown(&self, key: &Node, word: &str) {
        let owner = self.want.trail.short();
        // In `{reaction:50 ms}` the whole text is the key.
        let glued = word.split_once(':').filter(|(field, _)| self.fields.contains(field));
        let help = match glued {
            Some((field, value)) => {
                format!("a space is missing after the colon: write `{field}: {}`", cut(value))
            }
            None => did_you_mean(word, self.fields, "possible keys"),
        };
        let message = format!("{owner} takes no key `{}`", cut(word));
        self.want.record(Problem::new("unknown-key", key.span, message, "unknown key").help(help));
    }

    /// The field that a misspelt key stands for, if the file does not give it under its right name: it is then read
    /// as that field, so that it is not missed as well, nor what is declared in it.
    fn meant(&mut self, word: &str) -> Option<&'static str> {
        let name = match word.split_once(':') {
            Some((field, _)) => self.fields.iter().copied().find(|f| *f == field)?,
            None => nearest(word, self.fields.iter().copied())?,
        };
        let index = self.fields.iter().position(|field| *field == name)?;
        let later = self.entries.as_slice().iter().any(|(key, _)| key.text() == Some(name));
        let given = self.given.get_mut(index).filter(|given| !**given && !later)?;
        *given = true;
        Some(name)
    }

    fn advance(&mut self) -> Option<(&'static str, Span, State<'a>)> {
        while let Some((key, value)) = self.entries.next() {
            let word = key.text().unwrap_or("");
            let index = self.fields.iter().position(|f| *f == word);
            match index.and_then(|i| Some((self.fields.get(i)?, self.given.get_mut(i)?))) {
                Some((field, given)) if !*given => {
                    *given = true;
                    return Some((field, key.span, State::Node(value)));
                }
                // A repeated key: the reader reports it.
                Some(_) => {}
                None => {
                    self.unknown(key, word);
                    if let Some(field) = self.meant(word) {
                        let state = if word.contains(':') { State::Silent } else { State::Node(value) };
                        return Some((field, key.span, state));
                    }
                }
            }
        }
        let index = self.given.iter().position(|given| !given)?;
        *self.given.get_mut(index)? = true;
        Some((self.fields.get(index)?, self.want.trail.span(), self.lacking))
    }
}

impl<'de> MapAccess<'de> for Fields<'_> {
    type Error = Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, Error> {
        self.next = self.advance();
        let Some((field, ..)) = self.next else { return Ok(None) };
        seed.deserialize(StrDeserializer::new(field)).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, Error> {
        let Some((field, span, state)) = self.next else { return seed.deserialize(self.want.silent()) };
        let trail = self.want.trail.key(field, span);
        seed.deserialize(Want { state, trail: &trail, ..self.want })
    }
}

/// The variant of an enum and its content.
pub(super) struct Choice<'a> {
    pub want: Want<'a>,
    pub variant: &'static str,
    /// The word in the file.
    pub span: Span,
    /// Whether `variant` is what the file says rather than a placeholder.
    pub known: bool,
    pub content: Option<&'a Node>,
}

impl<'de, 'a> EnumAccess<'de> for Choice<'a> {
    type Error = Error;
    type Variant = Choice<'a>;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Choice<'a>), Error> {
        Ok((seed.deserialize(StrDeserializer::<Error>::new(self.variant))?, self))
    }
}

impl Choice<'_> {
    /// The content as a place to be filled.
    fn with<T>(self, then: impl FnOnce(Want) -> T) -> T {
        let trail = self.want.trail.key(self.variant, self.span);
        let state = match self.content {
            _ if !self.known => State::Silent,
            Some(node) => State::Node(node),
            None => State::Absent,
        };
        then(Want { state, trail: &trail, ..self.want })
    }
}

impl<'de> VariantAccess<'de> for Choice<'_> {
    type Error = Error;

    fn unit_variant(self) -> Result<(), Error> {
        if let (true, Some(content)) = (self.known, self.content) {
            let message = format!("`{}` takes no value", self.variant);
            let help = format!("write `{}` alone", self.variant);
            self.want
                .record(Problem::new("wrong-shape", content.span, message, "not wanted here").help(help));
        }
        Ok(())
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Error> {
        self.with(|want| seed.deserialize(want))
    }

    fn tuple_variant<V: Visitor<'de>>(self, length: usize, visitor: V) -> Result<V::Value, Error> {
        self.with(|want| want.deserialize_tuple(length, visitor))
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Error> {
        self.with(|want| want.deserialize_struct("", fields, visitor))
    }
}
