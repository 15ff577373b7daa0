//! A model as text with the places of its elements, and edits that leave every other line as it is.
//!
//! Knows YAML and the names of sections; it does not know what an edit means.

use tripproof::load::load;
use tripproof::model::Model;
use tripproof::source::{Source, Span};
use tripproof::syntax::expr::{self, Expr};
use tripproof::syntax::leaf::Scalar;
use tripproof::syntax::node::{Node, NodeKind};
use tripproof::syntax::yaml::{self, Limits};

/// One change: the bytes that go and the text that comes.
pub type Edit = (Span, String);

/// A shipped model, read.
pub struct Text {
    pub name: &'static str,
    pub text: &'static str,
    pub model: Model,
    root: Node,
}

/// The entries of a block of keys: key, its node, the value.
pub fn entries(node: &Node) -> Vec<(&str, &Node, &Node)> {
    match &node.kind {
        NodeKind::Mapping(all) => {
            all.iter().filter_map(|(key, value)| Some((key.text()?, key, value))).collect()
        }
        _ => Vec::new(),
    }
}

/// The value of a field.
pub fn field<'n>(node: &'n Node, name: &str) -> Option<&'n Node> {
    entries(node).into_iter().find(|(key, ..)| *key == name).map(|(.., value)| value)
}

/// The items of a list.
pub fn items(node: &Node) -> &[Node] {
    match &node.kind {
        NodeKind::Sequence(items) => items,
        _ => &[],
    }
}

/// The texts of a list of words.
pub fn words(node: &Node) -> Vec<String> {
    items(node).iter().filter_map(|item| item.text().map(String::from)).collect()
}

/// A text as a value that may stand anywhere.
pub fn quoted(text: &str) -> String {
    match text.contains([',', ':', '#', '[', '{', '"']) {
        true => format!("\"{}\"", text.replace('"', "\\\"")),
        false => text.to_string(),
    }
}

/// Puts a list in place of another.
pub fn listed(node: &Node, words: &[String]) -> Edit {
    let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
    (node.span, format!("[{}]", words.join(", ")))
}

/// Puts a value in place of another.
pub fn set(node: &Node, value: &str) -> Edit {
    (node.span, quoted(value))
}

impl Text {
    pub fn new(name: &'static str, text: &'static str) -> Text {
        let source = Source::new(name, text);
        let root = yaml::read(&source, &Limits::default()).expect("a shipped model is YAML");
        let model = load(&source).unwrap_or_else(|problems| panic!("{name}: {problems:#?}"));
        Text { name, text, model, root }
    }

    /// The elements of a section: tag and block.
    pub fn elements(&self, section: &str) -> Vec<(&str, &Node)> {
        let section = field(&self.root, section);
        section.map(entries).unwrap_or_default().into_iter().map(|(tag, _, node)| (tag, node)).collect()
    }

    /// The elements of several sections.
    pub fn all<'t>(&'t self, sections: &[&str]) -> Vec<(&'t str, &'t Node)> {
        sections.iter().flat_map(|section| self.elements(section)).collect()
    }

    /// Everything that solvers read: sensors, loops and the contacts of stops.
    pub fn inputs(&self) -> Vec<(&str, &Node)> {
        let contacts = self
            .elements("stops")
            .into_iter()
            .filter_map(|(_, stop)| field(stop, "contacts"))
            .flat_map(entries)
            .map(|(tag, _, node)| (tag, node));
        self.all(&["sensors", "loops"]).into_iter().chain(contacts).collect()
    }

    /// The expression that stands at a place.
    pub fn expression(node: &Node) -> Option<Expr> {
        let NodeKind::Scalar { text, quoted } = &node.kind else { return None };
        let scalar = Scalar { text: text.clone(), span: node.span, quoted: *quoted, broken: false };
        expr::parse(&scalar).ok()
    }

    fn slice(&self, span: Span) -> &str {
        &self.text[span.start..span.end]
    }

    fn in_brackets(&self, node: &Node) -> bool {
        self.slice(node.span).starts_with('{')
    }

    /// Gives an element a field, or another value of it.
    pub fn put(&self, element: &Node, name: &str, value: &str) -> Edit {
        if let Some(node) = field(element, name) {
            return (node.span, value.to_string());
        }
        let start = element.span.start;
        if self.in_brackets(element) {
            let comma = if entries(element).is_empty() { "" } else { "," };
            return (Span::new(start + 1, start + 1), format!(" {name}: {value}{comma}"));
        }
        let column = start - self.text[..start].rfind('\n').map_or(0, |at| at + 1);
        (Span::new(start, start), format!("{name}: {value}\n{}", " ".repeat(column)))
    }

    /// Takes a field away from an element; `None` if it has none, or nothing would be left.
    pub fn without(&self, element: &Node, name: &str) -> Option<Edit> {
        let all = entries(element);
        let at = all.iter().position(|(key, ..)| *key == name)?;
        let (_, key, value) = all[at];
        if all.len() == 1 {
            return None;
        }
        let span = if !self.in_brackets(element) {
            // Whole lines: up to the next key, or to the end of the last line of the value.
            let start = self.text[..key.span.start].rfind('\n').map_or(0, |at| at + 1);
            if self.text[start..key.span.start].trim().is_empty() {
                let end = self.text[value.span.end..]
                    .find('\n')
                    .map_or(self.text.len(), |at| value.span.end + at + 1);
                Span::new(start, end)
            } else {
                Span::new(key.span.start, all.get(at + 1)?.1.span.start)
            }
        } else if let Some((_, next, _)) = all.get(at + 1) {
            Span::new(key.span.start, next.span.start)
        } else {
            Span::new(all[at - 1].2.span.end, value.span.end)
        };
        Some((span, String::new()))
    }

    /// Takes an element out of a section; with the section, where it is the only one.
    pub fn without_entry(&self, section: &str, tag: &str) -> Option<Edit> {
        let node = field(&self.root, section)?;
        if entries(node).len() == 1 { self.without(&self.root, section) } else { self.without(node, tag) }
    }

    /// Adds an element to a section, which is made if there is none.
    pub fn add(&self, section: &str, line: &str) -> Edit {
        match field(&self.root, section) {
            Some(node) if !self.in_brackets(node) => {
                (Span::new(node.span.start, node.span.start), format!("{line}\n  "))
            }
            Some(node) => {
                let start = node.span.start;
                (Span::new(start + 1, start + 1), format!(" {line},"))
            }
            None => {
                let end = self.text.len();
                (Span::new(end, end), format!("{section}:\n  {line}\n"))
            }
        }
    }

    /// The text with some edits, which do not overlap.
    pub fn with(&self, mut edits: Vec<Edit>) -> String {
        edits.sort_by_key(|(span, _)| (span.start, span.end));
        let mut text = String::with_capacity(self.text.len() + 80);
        let mut at = 0;
        for (span, new) in edits {
            assert!(span.start >= at, "edits overlap");
            text.push_str(&self.text[at..span.start]);
            text.push_str(&new);
            at = span.end;
        }
        text.push_str(&self.text[at..]);
        text
    }

    /// The tag that differs least from this one, of those given: the same part of the other side.
    pub fn twin<'t>(tag: &str, of: &[&'t str]) -> Option<&'t str> {
        let distance = |other: &str| letters_changed(tag, other);
        let mut of: Vec<&str> = of.iter().copied().filter(|other| *other != tag).collect();
        of.sort_unstable();
        of.dedup();
        of.into_iter().min_by_key(|other| distance(other))
    }
}

/// How many letters are to be changed, added or taken away.
fn letters_changed(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let kept = before + usize::from(x != y);
            before = row[j + 1];
            row[j + 1] = kept.min(row[j] + 1).min(before + 1);
        }
    }
    row[b.len()]
}
