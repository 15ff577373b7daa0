//! What kind of text a field holds, for the JSON Schema and for the reader of a field's type.
//!
//! Each kind wraps a [`Scalar`]; the text itself is understood later, in `model`, where tags and units are known.
//! The closed word lists of the language (`process`, `protection`, …) live here too.

use std::borrow::Cow;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer};

use super::leaf::{At, List, Scalar, Table};

macro_rules! text_kinds {
    ($($(#[$doc:meta])* $name:ident: $schema:tt;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Scalar);

        impl std::ops::Deref for $name {
            type Target = Scalar;
            fn deref(&self) -> &Scalar {
                &self.0
            }
        }

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!($schema)
            }
        }
    )*};
}

text_kinds! {
    /// The tag of an element, or the name of a mode or position.
    Tag: { "type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9._-]*$" };
    /// A number with its unit: `40 %LFL`.
    Value: { "type": "string", "pattern": "^[+-]?[0-9]+(\\.[0-9]+)? \\S+$" };
    /// A number with its unit, the word `unknown`, or `from` with the tag of a calculation.
    ValueOrUnknown: { "type": "string", "pattern": "^([+-]?[0-9]+(\\.[0-9]+)? \\S+|unknown|from \\S+)$" };
    /// A number with its unit, or the word `unknown`; never calculated.
    StatedOrUnknown: { "type": "string", "pattern": "^([+-]?[0-9]+(\\.[0-9]+)? \\S+|unknown)$" };
    /// A number with its unit that goes into a formula, or `from` with the tag of another calculation.
    Figure: { "type": "string", "pattern": "^([+-]?[0-9]+(\\.[0-9]+)? \\S+|from \\S+)$" };
    /// A range with its unit: `0 .. 100 %LFL`.
    RangeText: { "type": "string", "pattern": "^.+ \\.\\. .+$" };
    /// A one-line expression with the operators of IEC 61131-3 and the voting notation of IEC 61508.
    Expression: { "type": "string" };
    /// Free text for people.
    Words: { "type": ["string", "number"] };
    /// `true` or `false`.
    Flag: { "type": "boolean" };
    /// A whole number, from 0.
    Count: { "type": "integer", "minimum": 0 };
    /// A number without a unit.
    Number: { "type": "number" };
    /// A calendar date, `2027-03-31`.
    Date: { "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" };
    /// What is normal for one quantity or condition: a range with its unit, `true`, `false` or `free`.
    Normal: { "type": ["string", "boolean"] };
}

impl<T: JsonSchema> JsonSchema for List<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("List_{}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": generator.subschema_for::<T>() })
    }
}

impl<T: JsonSchema> JsonSchema for Table<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        format!("Table_{}", T::schema_name()).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object", "additionalProperties": generator.subschema_for::<T>() })
    }
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<T>()
    }
}

/// A closed list of words of the language.
pub trait WordList: Sized + Copy + 'static {
    /// Every word with its value and its meaning in one sentence.
    const WORDS: &'static [(&'static str, Self, &'static str)];
}

/// One word out of a closed list.
#[derive(Debug, Clone)]
pub struct Choice<C> {
    /// The word as written.
    pub word: Scalar,
    list: PhantomData<C>,
}

impl<'de, C> Deserialize<'de> for Choice<C> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Ok(Choice { word: Scalar::deserialize(deserializer)?, list: PhantomData })
    }
}

impl<C: WordList> Choice<C> {
    /// The value of the word, or `None` if it is not on the list.
    pub fn value(&self) -> Option<C> {
        C::WORDS.iter().find(|(word, _, _)| *word == self.word.text).map(|(_, value, _)| *value)
    }
}

impl<C: WordList> JsonSchema for Choice<C> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Choice".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let options: Vec<_> = C::WORDS
            .iter()
            .map(|(word, _, meaning)| serde_json::json!({ "const": word, "description": meaning }))
            .collect();
        json_schema!({ "oneOf": options })
    }
}

macro_rules! word_lists {
    ($($(#[$doc:meta])* $name:ident { $($variant:ident = $word:literal: $meaning:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $(#[doc = $meaning] $variant,)*
        }

        impl WordList for $name {
            const WORDS: &'static [(&'static str, Self, &'static str)] =
                &[$(($word, $name::$variant, $meaning),)*];
        }

        impl $name {
            /// The word of the language for it.
            pub fn word(self) -> &'static str {
                match self {
                    $($name::$variant => $word,)*
                }
            }
        }
    )*};
}

word_lists! {
    /// Whether people may be inside in a mode.
    People {
        Never = "never": "Nobody may be inside.",
        Expected = "expected": "People may be inside.",
    }
    /// How the line of a signal or of an actuator is watched.
    LineKind {
        Plain = "plain": "Not watched: a fault can open it or hold it in either state.",
        Monitored = "monitored": "Watched: a short is seen and counts as open, so it is never held.",
        Dynamic = "dynamic": "A changing signal: a held line is seen, so it is never held.",
    }
    /// What a signal shows when its supply is lost or its line is open.
    OnLoss {
        Low = "low": "The low end of the range.",
        High = "high": "The high end of the range.",
        Detected = "detected": "A switch reads: detected.",
        Clear = "clear": "A switch reads: clear.",
        Open = "open": "A loop or stop contact reads: open.",
        Closed = "closed": "A loop or stop contact reads: closed.",
        Bad = "bad": "The signal is bad, and treated as `on_bad` says.",
        Holds = "holds": "Any reading: nobody knows.",
    }
    /// How a bad signal counts.
    OnBad {
        Trips = "trips": "It votes to trip.",
        NoTrip = "no_trip": "It does not vote to trip.",
        DegradesVote = "degrades_vote": "It leaves its vote, which goes on by `degraded_vote` of the cause.",
    }
    /// What the receiver takes when nothing arrives over a link.
    LinkLoss {
        Trips = "trips": "What was to arrive counts as a vote to trip.",
        NoTrip = "no_trip": "What was to arrive counts as no vote to trip.",
        Bad = "bad": "The signal is bad, and treated as its `on_bad` says; a cause counts as false.",
        Holds = "holds": "Any value: nobody knows.",
    }
    /// A direction in which an input can fail.
    InputFailure {
        Low = "low": "Reads anything up to the true value.",
        High = "high": "Reads anything from the true value up.",
        Detected = "detected": "A switch says detected although it is not.",
        Clear = "clear": "A switch says clear although it is not.",
        Bad = "bad": "The signal is bad.",
    }
    /// Who moves an actuator while no protection commands it.
    OperatedBy {
        Process = "process": "The process control: it may have put it in any position.",
        Protection = "protection": "Only the protection: it stands at its rest position.",
    }
    /// What a cause is for.
    Purpose {
        Protection = "protection": "It protects against the hazards it is credited for.",
        Backup = "backup": "It protects in addition and is, on purpose, credited for nothing.",
        Alarm = "alarm": "It only warns.",
        Comfort = "comfort": "It serves the process, not the protection.",
    }
    /// On which part of the operator's act a reset works.
    ResetEdge {
        Press = "press": "On pressing (rising edge).",
        Release = "release": "On letting go (falling edge).",
        Level = "level": "As long as it is held.",
    }
    /// Where a release can be worked.
    ReleasePlace {
        Inside = "inside": "From inside the space.",
        Outside = "outside": "From outside the space.",
    }
    /// What a release needs to work.
    ReleaseAid {
        Power = "power": "Electric power, air or another supply.",
        Tool = "tool": "A tool.",
        Key = "key": "A key.",
        Knowledge = "knowledge": "Knowledge that a visitor does not have.",
    }
    /// How faults of an interlock loop are found.
    LoopDetection {
        EachContact = "each_contact": "Every contact is watched by itself.",
        EndsOnly = "ends_only": "Only the ends of the channels are compared.",
        None = "none": "They are not found.",
    }
    /// What is asked about a ventilated room.
    RoomGives {
        Settled = "settled": "The concentration at which it settles; only with an exhaust.",
        Rise = "rise": "The rate at which it rises, without regard to any exhaust.",
    }
    /// What is asked about stopping.
    StoppingGives {
        Distance = "distance": "The distance to standstill.",
        Time = "time": "The time to standstill.",
    }
    /// Kinds of fault source that a policy may leave out.
    LeftOut {
        Types = "types": "Common faults of equal types.",
        ParameterSources = "parameter_sources": "Common faults of a parameter source.",
    }
}
