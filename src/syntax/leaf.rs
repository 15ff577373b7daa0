//! The leaves of a document: values kept as the text that stands in the file, each with its place.
//!
//! Leaves never fail to read: where the file has the wrong shape (a list where one value belongs), the reader
//! records the problem and hands out a leaf that is `broken`, so that one mistake never hides the next.
//! What the text means is decided later, in `model`.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{DeserializeOwned, Error, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};

use crate::source::Span;

/// Name under which a [`Scalar`] asks the deserializer for itself: it is given a sequence of
/// `text: String, start: usize, end: usize, quoted: bool, broken: bool`.
pub const SCALAR: &str = "$scalar";
/// Name under which a [`List`] asks: a sequence `start, end`, then the items.
pub const LIST: &str = "$list";
/// Name under which a [`Table`] asks: a map from [`Scalar`] keys to values, preceded by an entry with a unit key
/// and the value `(start, end)`.
pub const TABLE: &str = "$table";
/// Name under which an [`At`] asks: a sequence `start: usize, end: usize, value: T`.
pub const AT: &str = "$at";

pub use crate::source::Scalar;

/// A value together with the place of the whole YAML node it was read from.
#[derive(Debug, Clone)]
pub struct At<T> {
    /// The node's place.
    pub span: Span,
    /// The value.
    pub value: T,
}

/// A YAML sequence.
#[derive(Debug, Clone)]
pub struct List<T> {
    /// The sequence's place; without width if it is missing or of another shape (already recorded).
    pub span: Span,
    /// Its items, in the file's order.
    pub items: Vec<T>,
}

/// A YAML mapping whose keys are chosen by the engineer (tags, modes).
#[derive(Debug, Clone)]
pub struct Table<T> {
    /// The mapping's place; without width if it is missing or of another shape (already recorded).
    pub span: Span,
    /// Its entries, in the file's order. Keys are distinct: the reader has refused duplicates.
    pub entries: Vec<(Scalar, T)>,
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Table { span: Span::default(), entries: Vec::new() }
    }
}

impl<T> Default for List<T> {
    fn default() -> Self {
        List { span: Span::default(), items: Vec::new() }
    }
}

fn missing<E: Error>(what: &str) -> E {
    E::custom(format!("internal: reader did not give {what}"))
}

impl<'de> Deserialize<'de> for Scalar {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct V;
        impl<'de> Visitor<'de> for V {
            type Value = Scalar;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("one value")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Scalar, A::Error> {
                Ok(Scalar {
                    text: seq.next_element()?.ok_or_else(|| missing("text"))?,
                    span: Span::new(
                        seq.next_element()?.ok_or_else(|| missing("start"))?,
                        seq.next_element()?.ok_or_else(|| missing("end"))?,
                    ),
                    quoted: seq.next_element()?.ok_or_else(|| missing("quoted"))?,
                    broken: seq.next_element()?.ok_or_else(|| missing("broken"))?,
                })
            }
        }
        deserializer.deserialize_newtype_struct(SCALAR, V)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct V<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for V<T> {
            type Value = At<T>;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a value")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<At<T>, A::Error> {
                Ok(At {
                    span: Span::new(
                        seq.next_element()?.ok_or_else(|| missing("start"))?,
                        seq.next_element()?.ok_or_else(|| missing("end"))?,
                    ),
                    value: seq.next_element()?.ok_or_else(|| missing("value"))?,
                })
            }
        }
        deserializer.deserialize_newtype_struct(AT, V(PhantomData))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for List<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct V<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for V<T> {
            type Value = List<T>;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a list")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<List<T>, A::Error> {
                let span = Span::new(
                    seq.next_element()?.ok_or_else(|| missing("start"))?,
                    seq.next_element()?.ok_or_else(|| missing("end"))?,
                );
                let mut items = Vec::new();
                while let Some(item) = seq.next_element()? {
                    items.push(item);
                }
                Ok(List { span, items })
            }
        }
        deserializer.deserialize_newtype_struct(LIST, V(PhantomData))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Table<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct V<T>(PhantomData<T>);
        impl<'de, T: Deserialize<'de>> Visitor<'de> for V<T> {
            type Value = Table<T>;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("entries")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Table<T>, A::Error> {
                let _open: Option<()> = map.next_key()?;
                let (start, end): (usize, usize) = map.next_value()?;
                let mut entries = Vec::new();
                while let Some(key) = map.next_key::<Scalar>()? {
                    entries.push((key, map.next_value()?));
                }
                Ok(Table { span: Span::new(start, end), entries })
            }
        }
        deserializer.deserialize_newtype_struct(TABLE, V(PhantomData))
    }
}

/// What the reader can fill in: any document type built from these leaves.
pub trait Readable: DeserializeOwned {}
impl<T: DeserializeOwned> Readable for T {}

#[cfg(test)]
mod tests {
    use super::*;

    fn scalar(text: &str, start: usize, end: usize, quoted: bool) -> Scalar {
        Scalar { text: text.into(), span: Span::new(start, end), quoted, broken: false }
    }

    #[test]
    fn parts_of_a_plain_value_are_exact() {
        assert_eq!(scalar("40 %LFL", 10, 17, false).part(3, 7), Span::new(13, 17));
    }

    #[test]
    fn parts_of_a_quoted_value_stand_behind_the_quote() {
        assert_eq!(scalar("40 %LFL", 10, 19, true).part(3, 7), Span::new(14, 18));
    }

    #[test]
    fn a_value_written_with_escapes_or_over_lines_is_marked_whole() {
        assert_eq!(scalar("40 %LFL", 10, 24, true).part(3, 7), Span::new(10, 24));
        assert_eq!(scalar("40 %LFL", 10, 24, false).part(3, 7), Span::new(10, 24));
        assert_eq!(scalar("40", 10, 12, false).part(1, 3), Span::new(10, 12));
    }
}
