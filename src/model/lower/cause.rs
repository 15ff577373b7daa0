//! Reads conditions of causes: what devices report, and nothing else. What no device reports, no logic knows.

use super::Lowering;
use super::Use;
use super::expression::{Allowed, literal, relation, word};
use super::tag::{Class, Declared, all_declared, any_of, listed};
use crate::model::{
    CauseId, Element, GroupId, Id, InputAtom, InputId, LinkId, ModeInputId, Observes, Signal, Tree,
};
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::expr::{Comparison, Expr, ExprKind, Op, Sum, Tag, Term, Value};
use crate::syntax::leaf::Scalar;
use crate::unit::{Kind, Quantity};

/// What it may compare.
const COMPARED: &[Class] = &[Class::Sensor, Class::Switch, Class::Loop, Class::StopContact, Class::ModeInput];
/// What it may name at all.
const KNOWN: &[Class] = &[
    Class::Sensor,
    Class::Switch,
    Class::Loop,
    Class::StopContact,
    Class::Cause,
    Class::Override,
    Class::ModeInput,
];

/// Where a condition stands: its cause if it is one, and the number of the next comparison.
struct Site {
    cause: Option<CauseId>,
    comparisons: usize,
    field: &'static str,
}

/// Which inputs can be in this state.
fn what_shows(state: &str) -> Option<Class> {
    match state {
        "detected" | "clear" => Some(Class::Switch),
        "open" | "closed" => Some(Class::Loop),
        "pressed" | "released" => Some(Class::StopContact),
        _ => None,
    }
}

impl Lowering<'_> {
    /// The condition of a cause; what it uses is noted.
    pub(super) fn condition_of_cause(&mut self, leaf: &Scalar, cause: CauseId) -> Option<Tree<InputAtom>> {
        self.input_tree(leaf, Site { cause: Some(cause), comparisons: 0, field: "when" })
    }

    /// A condition of the same language that belongs to no cause.
    pub(super) fn condition_of(&mut self, leaf: &Scalar, field: &'static str) -> Option<Tree<InputAtom>> {
        self.input_tree(leaf, Site { cause: None, comparisons: 0, field })
    }

    fn input_tree(&mut self, leaf: &Scalar, mut site: Site) -> Option<Tree<InputAtom>> {
        let expr = self.parsed(leaf)?;
        self.tree(&expr, Allowed::ALL, &mut |this, part| this.input_atom(part, &mut site))
    }

    fn input_atom(&mut self, expr: &Expr, site: &mut Site) -> Option<Tree<InputAtom>> {
        match &expr.kind {
            ExprKind::Name(tag) => self.name_alone(tag, site).map(Tree::Atom),
            ExprKind::Compare(comparison) => self.reading(comparison, expr.span, site),
            ExprKind::Call { function, argument } => self.diagnosis(function, argument, site).map(Tree::Atom),
            _ => None,
        }
    }

    fn note(&mut self, site: &Site, used: Use, span: Span) {
        if let Some(cause) = site.cause {
            self.uses.push((cause, used, span));
        }
    }

    /// The element behind a word of a condition, if a logic solver can know it.
    fn known(&mut self, tag: &Tag, wanted: &[Class], site: &Site) -> Option<Declared> {
        let Some(declared) = self.declared(&tag.text, KNOWN) else {
            self.unknown_signal(tag, wanted);
            return None;
        };
        if KNOWN.contains(&declared.class) {
            return Some(declared);
        }
        match declared.class {
            Class::Quantity | Class::Condition | Class::Group | Class::Actuator | Class::Passive => {
                self.no_device_reports(tag, declared);
            }
            Class::Stop => {
                let contacts: Vec<String> = self.contacts_of(declared.index);
                let help = format!(
                    "name its contacts: {}",
                    any_of(
                        contacts
                            .iter()
                            .map(|c| format!("`{c} = pressed`"))
                            .collect::<Vec<_>>()
                            .iter()
                            .map(String::as_str)
                    )
                );
                let message = format!("`{}` is a device; a logic solver reads its contacts", tag.text);
                self.report(
                    Problem::new("wrong-kind-of-tag", tag.span, message, "which contact?")
                        .help(help)
                        .also(declared.span, "the device"),
                );
            }
            Class::LoopContact => {
                let message = format!("`{}` is a contact of a loop; a logic solver reads the loop", tag.text);
                self.report(
                    Problem::new("wrong-kind-of-tag", tag.span, message, "not read by itself")
                        .help(self.loop_of(declared.index))
                        .also(declared.span, "the contact"),
                );
            }
            _ => self.wrong_kind(&tag.text, tag.span, declared, KNOWN, site.field),
        }
        None
    }

    fn contacts_of(&self, stop: usize) -> Vec<String> {
        let stops = self.doc.stops.iter().flat_map(|table| &table.entries);
        let device = stops.skip(stop).map(|(_, device)| device).next();
        device.iter().flat_map(|device| &device.contacts.entries).map(|(key, _)| key.text.clone()).collect()
    }

    fn loop_of(&self, contact: usize) -> String {
        match self.model.contacts.iter().nth(contact) {
            Some((_, contact)) => format!("write `{} = open`", self.model.inputs[contact.of].name.tag),
            None => "write the tag of its loop".to_string(),
        }
    }

    fn unknown_signal(&mut self, tag: &Tag, wanted: &[Class]) {
        if let Some(value) = crate::unit::looks_like_quantity(&tag.text) {
            let message = format!("`{}` is neither a tag nor a value", tag.text);
            self.report(
                Problem::new("unknown-tag", tag.span, message, "unknown tag")
                    .help(format!("write `{value}`")),
            );
            return;
        }
        let options = self.tags_of(wanted);
        let help = match nearest(&tag.text, options.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => all_declared(&options),
        };
        let message = format!("nothing that a logic solver knows has the tag `{}`", tag.text);
        self.report(Problem::new("unknown-tag", tag.span, message, "unknown tag").help(help));
    }

    /// Records a fact of the plant, a mode or a position in a condition of a cause.
    fn no_device_reports(&mut self, tag: &Tag, declared: Declared) {
        let (observers, way) = self.observers(declared);
        let help = match observers.is_empty() {
            false => format!("{way} {}", listed(observers.iter().map(String::as_str))),
            true => match declared.class {
                Class::Group => {
                    "let a mode input tell the solver, or say under `armed` in which modes the cause acts"
                        .into()
                }
                _ => "nothing in the model observes it: declare a sensor, and name that".to_string(),
            },
        };
        self.report(
            Problem::new(
                "no-device-reports-it",
                tag.span,
                format!("`{}` is {}: what no device reports, no logic knows", tag.text, declared.class.one()),
                "not an input",
            )
            .help(help)
            .also(declared.span, format!("declared here as {}", declared.class.one())),
        );
    }

    fn observers(&self, declared: Declared) -> (Vec<String>, &'static str) {
        let index = declared.index;
        match declared.class {
            Class::Group => {
                let group: GroupId = Id::from_index(index);
                let inputs = self.model.mode_inputs.iter().filter(|(_, input)| input.group == group);
                (inputs.map(|(_, input)| input.name.tag.clone()).collect(), "its modes are told by")
            }
            Class::Actuator => {
                let actuators = self.doc.actuators.iter().flat_map(|table| &table.entries);
                let feedback = actuators.skip(index).take(1).flat_map(|(_, item)| &item.feedback);
                let tags = feedback.flat_map(|list| &list.items).map(|tag| tag.text.clone());
                (tags.collect(), "its position is read back by")
            }
            Class::Quantity | Class::Condition => {
                let observes = |observes: &Observes| match observes {
                    Observes::Quantity { quantity, .. } => {
                        declared.class == Class::Quantity && quantity.index() == index
                    }
                    Observes::Condition { condition, .. } => {
                        declared.class == Class::Condition && condition.index() == index
                    }
                    Observes::Loop { contacts, .. } => contacts.iter().any(|contact| {
                        declared.class == Class::Condition
                            && self.model.contacts[*contact].condition.index() == index
                    }),
                    Observes::Stop(_) => false,
                };
                let sensors = self.model.inputs.iter().filter(|(_, input)| observes(&input.observes));
                (
                    sensors.map(|(_, input)| input.name.tag.clone()).collect(),
                    "name a device that observes it:",
                )
            }
            _ => (Vec::new(), ""),
        }
    }

    fn name_alone(&mut self, tag: &Tag, site: &mut Site) -> Option<InputAtom> {
        let declared = self.known(tag, KNOWN, site)?;
        let index = declared.index;
        match declared.class {
            Class::Switch => {
                let input = Id::from_index(index);
                self.note(site, Use::Signal(Signal::Input(input)), tag.span);
                Some(InputAtom::Is { input, asserted: true, span: tag.span })
            }
            Class::Cause => {
                let cause = Id::from_index(index);
                self.note(site, Use::Signal(Signal::Cause(cause)), tag.span);
                Some(InputAtom::Cause { cause, from_before: false })
            }
            Class::Override => Some(InputAtom::Overriding(Id::from_index(index))),
            _ => {
                let (message, help) = self.says_nothing_alone(tag, declared);
                self.incomplete(tag.span, message, help);
                None
            }
        }
    }

    /// What is missing where an input stands alone.
    fn says_nothing_alone(&self, tag: &Tag, declared: Declared) -> (String, String) {
        let text = &tag.text;
        match declared.class {
            Class::Sensor => {
                let unit =
                    self.reading_of(Id::from_index(declared.index)).map_or(String::new(), |(_, unit)| unit);
                (
                    format!("`{text}` is a sensor; its reading is compared with a set point"),
                    format!("write for example `{text} >= … {unit}`"),
                )
            }
            Class::Loop => (
                format!("`{text}` is an interlock loop; say whether it trips when open or when closed"),
                format!("write `{text} = open`"),
            ),
            Class::StopContact => (
                format!("`{text}` is a contact of an emergency stop device; say in which state it trips"),
                format!("write `{text} = pressed`"),
            ),
            _ => (
                format!("`{text}` is a mode input; say which mode"),
                format!("write `{text} = …` with a mode of its group"),
            ),
        }
    }

    /// Kind and printed unit of what a sensor measures.
    fn reading_of(&self, input: InputId) -> Option<(Kind, String)> {
        if self.unsound.contains(&Element::Input(input)) || input.index() >= self.model.inputs.len() {
            return None;
        }
        match self.model.inputs[input].observes {
            Observes::Quantity { quantity, .. } => {
                let quantity = &self.model.quantities[quantity];
                Some((quantity.kind, quantity.unit.to_string()))
            }
            Observes::Condition { .. } | Observes::Loop { .. } | Observes::Stop(_) => None,
        }
    }

    fn reading(&mut self, comparison: &Comparison, span: Span, site: &mut Site) -> Option<Tree<InputAtom>> {
        let (tag, op, other) = match (comparison.left.as_name(), comparison.right.as_name()) {
            (Some(tag), _) => (tag, comparison.op, &comparison.right),
            (None, Some(tag)) => (tag, comparison.op.mirrored(), &comparison.left),
            (None, None) => {
                self.no_reading(comparison, span, site);
                return None;
            }
        };
        // `1 = detected`: the state is right, and what stands for the switch is not.
        let shows = match comparison.left.as_name() {
            None if self.declared(&tag.text, COMPARED).is_none() => what_shows(&tag.text),
            _ => None,
        };
        if let Some(class) = shows {
            let help = all_declared(&self.tags_of(&[class]));
            let message = format!("what is `{}` must be named by its tag, and this is a number", tag.text);
            self.report(Problem::new("unknown-tag", comparison.left.span, message, "no tag").help(help));
            return None;
        }
        let declared = self.known(tag, COMPARED, site)?;
        let index = declared.index;
        match declared.class {
            Class::Sensor => {
                self.compared(tag, Id::from_index(index), (op, other), span, site).map(Tree::Atom)
            }
            Class::Switch => {
                self.state(tag, Id::from_index(index), comparison, span, site, ["detected", "clear"])
            }
            Class::Loop => self.state(tag, Id::from_index(index), comparison, span, site, ["open", "closed"]),
            Class::StopContact => {
                self.state(tag, Id::from_index(index), comparison, span, site, ["pressed", "released"])
            }
            Class::ModeInput => self.shown_mode(tag, Id::from_index(index), comparison, span, site),
            _ => {
                let message = format!(
                    "`{}` is {}; it is true or not, and stands alone",
                    tag.text,
                    declared.class.one()
                );
                self.incomplete(span, message, format!("write `{0}` or `NOT {0}`", tag.text));
                None
            }
        }
    }

    /// Neither side is one name: every name is examined, then what is allowed is said.
    fn no_reading(&mut self, comparison: &Comparison, span: Span, site: &Site) {
        let before = self.problems.len();
        for term in comparison.left.terms.iter().chain(&comparison.right.terms) {
            if let Value::Name { tag, .. } = &term.value {
                self.known(tag, COMPARED, site);
            }
        }
        if self.problems.len() == before {
            let message = "a logic solver compares one reading with one set point".to_string();
            self.incomplete(span, message, "write for example `GD-1 >= 25 %LFL`".into());
        }
    }

    fn compared(
        &mut self,
        tag: &Tag,
        input: InputId,
        (op, other): (Op, &Sum),
        span: Span,
        site: &mut Site,
    ) -> Option<InputAtom> {
        let number = site.comparisons;
        site.comparisons += 1;
        self.note(site, Use::Signal(Signal::Input(input)), tag.span);
        let [Term { negative, value: Value::Literal(literal), .. }] = other.terms.as_slice() else {
            return self.no_set_point(tag, input, other, site);
        };
        let (kind, _) = self.reading_of(input)?;
        let set_point: Quantity =
            literal.quantity(*negative, kind).map_err(|problems| self.problems.extend(problems)).ok()?;
        let set_point = set_point.value().clone();
        Some(InputAtom::Compare { input, relation: relation(op), set_point, number, span })
    }

    fn no_set_point(&mut self, tag: &Tag, input: InputId, other: &Sum, site: &Site) -> Option<InputAtom> {
        let before = self.problems.len();
        for term in &other.terms {
            if let Value::Name { tag, .. } = &term.value {
                self.known(tag, COMPARED, site);
            }
        }
        if self.problems.len() == before {
            let unit = self.reading_of(input).map_or(String::new(), |(_, unit)| unit);
            self.report(
                Problem::new(
                    "no-set-point",
                    other.span,
                    format!("`{}` is compared with one set point", tag.text),
                    "not a set point",
                )
                .help(format!("write a number with its unit: `{} >= … {unit}`", tag.text)),
            );
        }
        None
    }

    fn state(
        &mut self,
        tag: &Tag,
        input: InputId,
        comparison: &Comparison,
        span: Span,
        site: &mut Site,
        [asserted, cleared]: [&str; 2],
    ) -> Option<Tree<InputAtom>> {
        self.note(site, Use::Signal(Signal::Input(input)), tag.span);
        let negated = self.word_operator(comparison)?;
        let Some(state) = comparison.right.as_name() else {
            let message = format!("`{}` is `{asserted}` or `{cleared}`", tag.text);
            self.incomplete(span, message, format!("write `{} = {asserted}`", tag.text));
            return None;
        };
        if state.text != asserted && state.text != cleared {
            self.unknown_state(tag, input, state, [asserted, cleared]);
            return None;
        }
        let is_asserted = (state.text == asserted) != negated;
        Some(Tree::Atom(InputAtom::Is { input, asserted: is_asserted, span }))
    }

    /// Records a word that this kind of input does not show.
    fn unknown_state(&mut self, tag: &Tag, input: InputId, state: &Tag, words: [&str; 2]) {
        let [asserted, cleared] = words;
        let observes =
            (!self.unsound.contains(&Element::Input(input))).then(|| &self.model.inputs[input].observes);
        let kind = match observes {
            Some(Observes::Stop(_)) => "contact of an emergency stop device",
            Some(Observes::Loop { .. }) => "interlock loop",
            _ => "switch",
        };
        let article = if kind.starts_with('i') { "an" } else { "a" };
        let message = format!("`{}` is {article} {kind}: it shows `{asserted}` or `{cleared}`", tag.text);
        let help = match (nearest(&state.text, words), observes) {
            (Some(near), _) => format!("did you mean `{} = {near}`?", tag.text),
            (None, Some(Observes::Condition { condition, negated })) => {
                let condition = &self.model.conditions[*condition].name.tag;
                let (when_asserted, when_cleared) = match negated {
                    false => ("is so", "is not so"),
                    true => ("is not so", "is so"),
                };
                format!(
                    "write `{0} = {asserted}` (`{condition}` {when_asserted}) or `{0} = {cleared}` (`{condition}` {when_cleared})",
                    tag.text
                )
            }
            (None, _) => format!("write `{0} = {asserted}` or `{0} = {cleared}`", tag.text),
        };
        self.report(Problem::new("unknown-word", state.span, message, "not what it shows").help(help));
    }

    fn shown_mode(
        &mut self,
        tag: &Tag,
        input: ModeInputId,
        comparison: &Comparison,
        span: Span,
        site: &mut Site,
    ) -> Option<Tree<InputAtom>> {
        self.note(site, Use::ModeInput(input), tag.span);
        if self.unsound.contains(&Element::ModeInput(input)) {
            return None;
        }
        let group = self.model.mode_inputs[input].group;
        let (mode, negated) = self.mode_comparison(comparison, span, group)?;
        Some(literal(InputAtom::Shows(input, mode), negated))
    }

    /// Whether a comparison with a word is `<>`; any order is a problem.
    fn word_operator(&mut self, comparison: &Comparison) -> Option<bool> {
        match comparison.op {
            Op::Equal => Some(false),
            Op::NotEqual => Some(true),
            _ => {
                self.incomplete(
                    comparison.op_span,
                    "states have no order".into(),
                    "write `=` or `<>`".into(),
                );
                None
            }
        }
    }

    fn diagnosis(&mut self, function: &Tag, argument: &Tag, site: &mut Site) -> Option<InputAtom> {
        match function.text.as_str() {
            "BAD" => {
                let input: InputId = self.id(&word(argument), Class::INPUTS, "BAD")?;
                self.note(site, Use::Signal(Signal::Input(input)), argument.span);
                Some(InputAtom::Bad(input))
            }
            "LOST" => {
                let link: LinkId = self.id(&word(argument), &[Class::Link], "LOST")?;
                self.note(site, Use::Link(link), argument.span);
                Some(InputAtom::LinkLost(link))
            }
            other => {
                let help = match nearest(other, ["BAD", "LOST"]) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => {
                        "there are `BAD(input)`, a signal is bad or missing, and `LOST(link)`".to_string()
                    }
                };
                let message = format!("there is no diagnosis `{other}`");
                self.report(Problem::new("unknown-function", function.span, message, "unknown").help(help));
                None
            }
        }
    }
}
