//! Tags: every element is declared before anything is resolved, so that one mistake never makes a tag unknown elsewhere.
//!
//! Tags are unique over the whole model, whatever the kind of element. Modes, positions and the groups of a hazard
//! are names within their owner and are not tags.

use std::collections::BTreeMap;

use super::Lowering;
use crate::model::pool::Id;
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::document::Document;
use crate::syntax::leaf::{Scalar, Table};

macro_rules! classes {
    ($($name:ident: $article:literal $word:literal, $section:literal;)*) => {
        /// What kind of element a tag belongs to, as the trade and the sections of the file distinguish them.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        #[allow(missing_docs)]
        pub(crate) enum Class {
            $($name,)*
        }

        impl Class {
            /// The word with its article: `a sensor`.
            pub(crate) fn one(self) -> &'static str {
                match self {
                    $(Class::$name => concat!($article, " ", $word),)*
                }
            }

            /// The section of the file in which it is declared.
            pub(crate) fn section(self) -> &'static str {
                match self {
                    $(Class::$name => $section,)*
                }
            }
        }
    };
}

classes! {
    Group: "a" "mode group", "modes";
    Quantity: "a" "quantity", "quantities";
    Condition: "a" "condition", "conditions";
    Coupling: "a" "coupling", "couplings";
    Calculation: "a" "calculation", "calculations";
    Supply: "a" "supply", "supplies";
    Route: "a" "cable route", "routes";
    Cabinet: "a" "cabinet", "cabinets";
    Store: "a" "store", "stores";
    Machine: "a" "machine", "machines";
    ParameterSource: "a" "parameter source", "parameter_sources";
    Type: "a" "type", "types";
    Conditioner: "a" "conditioner", "conditioners";
    Relay: "an" "interposing relay", "relays";
    Link: "a" "link", "links";
    Solver: "a" "logic solver", "logic_solvers";
    ModeInput: "a" "mode input", "mode_inputs";
    Sensor: "a" "sensor", "sensors";
    Switch: "a" "switch", "sensors";
    Loop: "an" "interlock loop", "loops";
    LoopContact: "a" "contact of a loop", "loops";
    Stop: "an" "emergency stop device", "stops";
    StopContact: "a" "contact of an emergency stop device", "stops";
    Space: "a" "space", "spaces";
    Door: "a" "door", "spaces";
    Release: "a" "door release", "spaces";
    Actuator: "an" "actuator", "actuators";
    Passive: "a" "passive device", "passive";
    Suppression: "a" "suppression release", "suppression";
    Reset: "a" "reset", "resets";
    Override: "an" "override device", "overrides";
    Effect: "an" "effect", "effects";
    Cause: "a" "cause", "causes";
    Hazard: "a" "hazard", "hazards";
    Exclusion: "an" "exclusion", "exclusions";
    Invariant: "an" "invariant", "invariants";
    FaultExclusion: "a" "fault exclusion", "fault_exclusions";
    Assumption: "an" "assumption", "assumptions";
    Acceptance: "an" "acceptance", "accepted";
}

impl Class {
    /// Everything a logic solver reads.
    pub(crate) const INPUTS: &'static [Class] =
        &[Class::Sensor, Class::Switch, Class::Loop, Class::StopContact];
    /// What an element can need.
    pub(crate) const NEEDED: &'static [Class] = &[Class::Store, Class::Machine, Class::ParameterSource];
    /// What has positions.
    pub(crate) const DEVICES: &'static [Class] = &[Class::Actuator, Class::Passive];

    /// The word without its article.
    pub(crate) fn word(self) -> &'static str {
        self.one().split_once(' ').map_or("", |(_, word)| word)
    }
}

/// After how many problems no more near spellings are looked for.
const MOST_SEARCHED: usize = 500;

/// The element behind a tag.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Declared {
    /// What it is.
    pub(crate) class: Class,
    /// Its number in the pool of its kind.
    pub(crate) index: usize,
    /// Where it is declared.
    pub(crate) span: Span,
}

/// `a sensor, a switch or an interlock loop`.
pub(crate) fn any_of<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let words: Vec<&str> = words.into_iter().collect();
    match words.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_string(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

/// `` `a`, `b` and `c` ``, cut after twelve.
pub(crate) fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let mut quoted: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    if quoted.len() > 12 {
        let more = quoted.len() - 11;
        quoted.truncate(11);
        quoted.push(format!("{more} more"));
    }
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// Where what is missing is declared.
fn to_declare(wanted: &[Class]) -> String {
    let mut sections: Vec<String> = wanted.iter().map(|class| format!("`{}`", class.section())).collect();
    sections.dedup();
    format!("declare it under {}", any_of(sections.iter().map(String::as_str)))
}

/// Which tags there are to choose from.
pub(crate) fn all_declared(tags: &[&str]) -> String {
    match tags {
        [only] => format!("only `{only}` is declared"),
        _ => format!("declared are {}", listed(tags.iter().copied())),
    }
}

impl Lowering<'_> {
    /// Declares every tag of the document, in the order in which the pools are filled.
    pub(super) fn declare_all(&mut self) {
        let doc: &Document = self.doc;
        self.declare(Class::Group, Some(&doc.modes), 0);
        self.declare(Class::Quantity, doc.quantities.as_ref(), 0);
        self.declare(Class::Condition, doc.conditions.as_ref(), 0);
        self.declare(Class::Coupling, doc.couplings.as_ref(), 0);
        self.declare(Class::Calculation, doc.calculations.as_ref(), 0);
        self.declare(Class::Supply, doc.supplies.as_ref(), 0);
        self.declare(Class::Route, doc.routes.as_ref(), 0);
        self.declare(Class::Cabinet, doc.cabinets.as_ref(), 0);
        let mut shared = 0;
        shared += self.declare(Class::Store, doc.stores.as_ref(), shared);
        shared += self.declare(Class::Machine, doc.machines.as_ref(), shared);
        shared += self.declare(Class::ParameterSource, doc.parameter_sources.as_ref(), shared);
        self.declare(Class::Type, doc.types.as_ref(), shared);
        self.declare(Class::Conditioner, doc.conditioners.as_ref(), 0);
        self.declare(Class::Relay, doc.relays.as_ref(), 0);
        self.declare(Class::Link, doc.links.as_ref(), 0);
        self.declare(Class::Solver, Some(&doc.logic_solvers), 0);
        self.declare(Class::ModeInput, doc.mode_inputs.as_ref(), 0);
        self.declare_inputs(doc);
        self.declare_spaces(doc);
        self.declare(Class::Actuator, doc.actuators.as_ref(), 0);
        self.declare(Class::Passive, doc.passive.as_ref(), 0);
        self.declare(Class::Suppression, doc.suppression.as_ref(), 0);
        self.declare(Class::Reset, doc.resets.as_ref(), 0);
        self.declare(Class::Override, doc.overrides.as_ref(), 0);
        self.declare(Class::Effect, Some(&doc.effects), 0);
        self.declare(Class::Cause, Some(&doc.causes), 0);
        self.declare(Class::Hazard, Some(&doc.hazards), 0);
        self.declare(Class::Exclusion, doc.exclusions.as_ref(), 0);
        self.declare(Class::Invariant, doc.invariants.as_ref(), 0);
        self.declare(Class::FaultExclusion, doc.fault_exclusions.as_ref(), 0);
        self.declare(Class::Assumption, doc.assumptions.as_ref(), 0);
        self.declare(Class::Acceptance, doc.accepted.as_ref(), 0);
    }

    fn declare_inputs(&mut self, doc: &Document) {
        let mut input = 0;
        for (key, sensor) in doc.sensors.iter().flat_map(|table| &table.entries) {
            let class = if sensor.detects.is_some() { Class::Switch } else { Class::Sensor };
            self.declare_one(class, key, input);
            input += 1;
        }
        let mut contact = 0;
        for (key, circuit) in doc.loops.iter().flat_map(|table| &table.entries) {
            self.declare_one(Class::Loop, key, input);
            input += 1;
            contact += self.declare(Class::LoopContact, Some(&circuit.contacts), contact);
        }
        for (number, (key, stop)) in doc.stops.iter().flat_map(|table| &table.entries).enumerate() {
            self.declare_one(Class::Stop, key, number);
            input += self.declare(Class::StopContact, Some(&stop.contacts), input);
        }
    }

    fn declare_spaces(&mut self, doc: &Document) {
        for (number, (key, space)) in doc.spaces.iter().flat_map(|table| &table.entries).enumerate() {
            self.declare_one(Class::Space, key, number);
            for (number, (key, door)) in space.doors.entries.iter().enumerate() {
                self.declare_one(Class::Door, key, number);
                for release in door.escape_release.iter().chain(&door.emergency_release) {
                    self.declare_one(Class::Release, &release.value.tag, number);
                }
            }
        }
    }

    /// Declares the keys of a table, numbered from `first`; returns how many there are.
    fn declare<T>(&mut self, class: Class, table: Option<&Table<T>>, first: usize) -> usize {
        let entries = table.map_or(&[][..], |table| &table.entries);
        for (number, (key, _)) in entries.iter().enumerate() {
            self.declare_one(class, key, first + number);
        }
        entries.len()
    }

    fn declare_one(&mut self, class: Class, key: &Scalar, index: usize) {
        if key.broken {
            return;
        }
        self.well_formed(key);
        let declared = Declared { class, index, span: key.span };
        let all = self.tags.entry(key.text.clone()).or_default();
        all.push(declared);
        match all.first().copied().filter(|_| all.len() > 1) {
            None => {}
            Some(first) => self.report(
                Problem::new(
                    "duplicate-tag",
                    key.span,
                    format!("`{}` is already the tag of {}", key.text, first.class.one()),
                    "used a second time here",
                )
                .help("a tag names one element of the whole model; give one of the two another tag")
                .also(first.span, "first used here"),
            ),
        }
    }

    /// The element behind a tag: where the tag was given twice, one of a wanted kind if there is one, so that the
    /// mistake is reported once.
    pub(super) fn declared(&self, tag: &str, wanted: &[Class]) -> Option<Declared> {
        let all = self.tags.get(tag)?;
        all.iter().find(|declared| wanted.contains(&declared.class)).or(all.first()).copied()
    }

    /// The element behind a tag, if it is of one of the wanted kinds; otherwise a problem is recorded.
    ///
    /// `field` is the key under which the reference stands.
    pub(super) fn find(&mut self, leaf: &Scalar, wanted: &[Class], field: &str) -> Option<Declared> {
        if leaf.broken {
            return None;
        }
        match self.declared(&leaf.text, wanted) {
            Some(declared) if wanted.contains(&declared.class) => Some(declared),
            Some(declared) => {
                self.wrong_kind(&leaf.text, leaf.span, declared, wanted, field);
                None
            }
            None => {
                self.unknown_tag(&leaf.text, leaf.span, wanted);
                None
            }
        }
    }

    /// As [`Lowering::find`], as an id of the pool that holds every wanted kind.
    pub(super) fn id<I: Id>(&mut self, leaf: &Scalar, wanted: &[Class], field: &str) -> Option<I> {
        self.find(leaf, wanted, field).map(|declared| I::from_index(declared.index))
    }

    /// As [`Lowering::id`] for a field that may be absent.
    pub(super) fn optional_id<I: Id>(
        &mut self,
        leaf: Option<&crate::syntax::kind::Tag>,
        wanted: &[Class],
        field: &str,
    ) -> Option<I> {
        self.id(leaf?, wanted, field)
    }

    /// The ids of a list of tags; each at most once.
    pub(super) fn ids<I: Id>(
        &mut self,
        list: Option<&crate::syntax::leaf::List<crate::syntax::kind::Tag>>,
        wanted: &[Class],
        field: &str,
    ) -> Vec<I> {
        let mut first: BTreeMap<I, Span> = BTreeMap::new();
        let mut found = Vec::new();
        for leaf in list.iter().flat_map(|list| &list.items) {
            let Some(id) = self.id::<I>(leaf, wanted, field) else { continue };
            match first.get(&id).copied() {
                None => {
                    first.insert(id, leaf.span);
                    found.push(id);
                }
                Some(first) => self.repeated(leaf, first, field),
            }
        }
        found
    }

    /// Records that a list names something twice.
    pub(super) fn repeated(&mut self, leaf: &Scalar, first: Span, field: &str) {
        self.report(
            Problem::new(
                "named-twice",
                leaf.span,
                format!("`{}` stands twice in `{field}`", leaf.text),
                "a second time here",
            )
            .help("remove one of the two")
            .also(first, "first named here"),
        );
    }

    /// Records a tag of a kind that does not fit.
    pub(super) fn wrong_kind(
        &mut self,
        tag: &str,
        span: Span,
        declared: Declared,
        wanted: &[Class],
        field: &str,
    ) {
        let kinds = any_of(wanted.iter().map(|class| class.one()));
        let problem = Problem::new(
            "wrong-kind-of-tag",
            span,
            format!("`{tag}` is {}; `{field}` wants {kinds}", declared.class.one()),
            format!("not {kinds}"),
        )
        .also(declared.span, format!("declared here as {}", declared.class.one()));
        let fitting: Vec<&str> = self.tags_of(wanted);
        let help = if fitting.is_empty() { to_declare(wanted) } else { all_declared(&fitting) };
        self.report(problem.help(help));
    }

    /// Records a tag that nothing has.
    pub(super) fn unknown_tag(&mut self, tag: &str, span: Span, wanted: &[Class]) {
        let kinds = any_of(wanted.iter().map(|class| class.word()));
        let fitting = self.tags_of(wanted);
        let help = match nearest(tag, fitting.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if fitting.is_empty() => to_declare(wanted),
            None => all_declared(&fitting),
        };
        self.report(
            Problem::new("unknown-tag", span, format!("no {kinds} has the tag `{tag}`"), "unknown tag")
                .help(help),
        );
    }

    /// Every declared tag of the wanted kinds, in alphabetical order.
    ///
    /// Empty once there are very many problems: each would search all tags, and nobody reads that far.
    pub(super) fn tags_of(&self, wanted: &[Class]) -> Vec<&str> {
        if self.problems.len() > MOST_SEARCHED {
            return Vec::new();
        }
        self.tags
            .iter()
            .filter(|(_, all)| all.iter().any(|d| wanted.contains(&d.class)))
            .map(|(tag, _)| tag.as_str())
            .collect()
    }
}
