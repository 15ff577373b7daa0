//! Where in the document one is, in words: `` `range` of `GD-1` ``, `` item 2 of `needs` ``.

use crate::source::Span;

/// The way from the root to a node, as a chain on the stack.
#[derive(Debug, Clone, Copy)]
pub(super) struct Trail<'a> {
    parent: Option<&'a Trail<'a>>,
    step: Step<'a>,
    span: Span,
}

#[derive(Debug, Clone, Copy)]
enum Step<'a> {
    Root,
    Key(&'a str),
    Item(usize),
}

impl<'a> Trail<'a> {
    /// The document itself; only its start is kept, for marking what is missing in it.
    pub fn root(span: Span) -> Trail<'static> {
        Trail { parent: None, step: Step::Root, span: Span::new(span.start, span.start) }
    }

    /// The value of `key`, whose key stands at `span` (of an absent key: the place that lacks it).
    pub fn key(&'a self, key: &'a str, span: Span) -> Trail<'a> {
        Trail { parent: Some(self), step: Step::Key(key), span }
    }

    /// The item with this index (from 0) of a list.
    pub fn item(&'a self, index: usize, span: Span) -> Trail<'a> {
        Trail { parent: Some(self), step: Step::Item(index), span: Span::new(span.start, span.start) }
    }

    /// What to mark when the node itself is lacking: its key, otherwise the start of the node.
    pub fn span(&self) -> Span {
        self.span
    }

    /// Whether this is the value of a key.
    pub fn is_key(&self) -> bool {
        matches!(self.step, Step::Key(_))
    }

    /// The node without what it belongs to: `` `GD-1` ``, `` item 2 of `needs` ``, `the file`.
    pub fn short(&self) -> String {
        match (self.step, self.parent) {
            (Step::Root, _) => "the file".to_string(),
            (Step::Key(key), _) => format!("`{}`", cut(key)),
            (Step::Item(index), Some(Trail { step: Step::Root, .. })) => format!("item {}", index + 1),
            (Step::Item(index), Some(parent)) => format!("item {} of {}", index + 1, parent.short()),
            (Step::Item(index), None) => format!("item {}", index + 1),
        }
    }

    /// The node with what it belongs to: `` `range` of `GD-1` ``.
    pub fn long(&self) -> String {
        match (self.step, self.parent) {
            (Step::Key(_), Some(parent)) if !matches!(parent.step, Step::Root) => {
                format!("{} of {}", self.short(), parent.short())
            }
            _ => self.short(),
        }
    }

    /// What the node belongs to.
    pub fn owner(&self) -> String {
        self.parent.unwrap_or(self).short()
    }
}

/// A word of the file, short enough for a sentence.
pub(super) fn cut(text: &str) -> String {
    let mut cut: String = text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if cut.len() < text.len() {
        cut.push('…');
    }
    cut
}
