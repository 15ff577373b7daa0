//! Events to a tree: places, limits, and the constructs of YAML that are refused.
//!
//! Nodes lie in one vector and aliases stay references until the very end, with the size and depth of what they
//! stand for known beforehand: a file of a few lines that stands for billions of nodes is refused, not built.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::ControlFlow;

use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::gather::Gather;
use crate::syntax::node::{Node, NodeKind};

use super::Limits;
use super::events::{self, Event, Kind, Slip};

mod keys;

/// Index into [`Tree::items`].
type Id = usize;

#[derive(Debug)]
enum What<'t> {
    Text(Cow<'t, str>, bool),
    Sequence(Vec<Id>),
    Mapping(Vec<(Id, Id)>),
    Alias(Id),
    /// A collection that is still open.
    Open,
}

#[derive(Debug)]
struct Item<'t> {
    span: Span,
    what: What<'t>,
    /// Nodes it stands for, itself included, aliases followed.
    size: usize,
    /// Levels of collections in it, aliases followed.
    depth: usize,
}

#[derive(Debug)]
struct Frame {
    id: Id,
    sequence: bool,
    flow: bool,
    children: Vec<Id>,
}

#[derive(Debug)]
struct Anchor {
    item: Id,
    span: Span,
    used: bool,
}

/// A document under construction, all spans in the whole text.
#[derive(Debug)]
pub(super) struct Tree<'t> {
    text: &'t str,
    base: usize,
    items: Vec<Item<'t>>,
    open: Vec<Frame>,
    anchors: BTreeMap<usize, Anchor>,
    names: BTreeMap<String, Span>,
    root: Option<Id>,
    documents: usize,
    size: usize,
    /// Where the last token with content ended.
    last_end: usize,
    /// The last scalar, for wording what went wrong after it.
    pub last_scalar: Span,
    /// Offset in the given text and kind of the error that ended it.
    pub slip: Option<(usize, Slip)>,
}

impl<'t> Tree<'t> {
    /// Reads `text`, which starts at byte `base` of the file, and gathers what is refused in it.
    pub fn build(text: &'t str, base: usize, limits: &Limits, gather: &mut Gather) -> Tree<'t> {
        let mut tree = Tree {
            text,
            base,
            items: Vec::new(),
            open: Vec::new(),
            anchors: BTreeMap::new(),
            names: BTreeMap::new(),
            root: None,
            documents: 0,
            size: 0,
            last_end: base,
            last_scalar: Span::new(base, base),
            slip: None,
        };
        let slip = events::walk(text, limits.depth, |event| tree.take(event, limits, gather));
        tree.slip = slip;
        for frame in tree.open.iter().filter(|f| !f.sequence) {
            tree.check_keys(&pairs(&frame.children), gather);
        }
        tree
    }

    /// Checks that need the whole document.
    pub fn finish(&self, gather: &mut Gather) {
        for anchor in self.anchors.values().filter(|a| !a.used) {
            if self.items.get(anchor.item).is_some_and(|i| matches!(i.what, What::Text(..))) {
                let name = self.slice(anchor.span);
                gather.push(
                    Problem::new(
                        "unused-anchor",
                        anchor.span,
                        format!("`{name}` is never used"),
                        "read as an anchor",
                    )
                    .help("delete it; if it belongs to the text, put the whole text in quotes"),
                );
            }
        }
    }

    /// Start of the innermost bracket that is open.
    pub fn innermost_bracket(&self) -> Option<usize> {
        let start = |f: &Frame| self.items.get(f.id).map(|i| i.span.start);
        self.open.iter().rev().filter(|f| f.flow).filter_map(start).find(|s| {
            let first = s.checked_sub(self.base).and_then(|s| self.text.as_bytes().get(s));
            matches!(first, Some(b'[' | b'{'))
        })
    }

    /// The document, aliases followed; `None` if there is none.
    pub fn node(&self) -> Option<Node> {
        self.copy(self.root?)
    }

    fn copy(&self, id: Id) -> Option<Node> {
        let item = self.items.get(id)?;
        let kind = match &item.what {
            What::Text(text, quoted) => NodeKind::Scalar { text: text.to_string(), quoted: *quoted },
            What::Sequence(ids) => NodeKind::Sequence(ids.iter().filter_map(|id| self.copy(*id)).collect()),
            What::Mapping(pairs) => NodeKind::Mapping(
                pairs.iter().filter_map(|(k, v)| Some((self.copy(*k)?, self.copy(*v)?))).collect(),
            ),
            What::Alias(target) => return Some(Node { span: item.span, ..self.copy(*target)? }),
            What::Open => return None,
        };
        Some(Node { span: item.span, kind })
    }

    fn slice(&self, span: Span) -> &'t str {
        let relative = |at: usize| at.saturating_sub(self.base);
        self.text.get(relative(span.start)..relative(span.end)).unwrap_or("")
    }

    fn take(&mut self, event: Event<'t>, limits: &Limits, gather: &mut Gather) -> ControlFlow<()> {
        let span = Span::new(event.span.start + self.base, event.span.end + self.base);
        if let Some(tag) = event.tag {
            let tag = Span::new(tag.start + self.base, tag.end + self.base);
            gather.push(
                Problem::new("tag", tag, format!("`{}` is read as a YAML tag", self.slice(tag)), "a tag")
                    .help("leave it out; if it belongs to the text, put the whole text in quotes"),
            );
        }
        match event.kind {
            Kind::Document { version } => return self.document(span, version, gather),
            Kind::Scalar { text, quoted } => {
                if text.len() > limits.scalar_bytes {
                    gather.push(too_long(span, text.len(), limits));
                }
                self.scalar(span, text, quoted, gather);
            }
            Kind::Open { sequence, flow } => {
                if self.open.len() >= limits.depth {
                    gather.push(too_deep(span, limits));
                    return ControlFlow::Break(());
                }
                self.open(span, sequence, flow, gather);
            }
            Kind::Close => self.close(span, gather),
            Kind::Anchor { id, name } => self.anchor(span, id, &name, gather),
            Kind::Alias { id } => return self.alias(span, id, limits, gather),
            Kind::UnknownAlias { name } => {
                let message = format!("`*{name}` repeats an anchor `&{name}`, and none stands before it");
                gather.push(
                    Problem::new("unknown-alias", span, message, "read as an alias")
                        .help("if `*` belongs to the text, put the whole text in quotes"),
                );
                self.scalar(span, Cow::Borrowed("*"), true, gather);
            }
        }
        self.within(span, limits, gather)
    }

    /// Goes on unless the document has become too large.
    fn within(&self, span: Span, limits: &Limits, gather: &mut Gather) -> ControlFlow<()> {
        if self.size <= limits.nodes {
            return ControlFlow::Continue(());
        }
        let message = format!("the file stands for more than {} keys and values", limits.nodes);
        gather.push(
            Problem::new("too-many-nodes", span, message, "the limit is passed here")
                .help("aliases count as what they stand for; write less, or split the model"),
        );
        ControlFlow::Break(())
    }

    fn document(&mut self, span: Span, version: Option<(u32, u32)>, gather: &mut Gather) -> ControlFlow<()> {
        self.documents += 1;
        if self.documents > 1 {
            gather.push(
                Problem::new(
                    "second-document",
                    span,
                    "a second YAML document begins here",
                    "second document",
                )
                .help("a file holds one model: delete the `---`, or move the rest to a file of its own"),
            );
            return ControlFlow::Break(());
        }
        let mut at = 0;
        for line in self.text.get(..span.start.saturating_sub(self.base)).unwrap_or("").split_inclusive('\n')
        {
            let found = Span::new(self.base + at, self.base + at + line.trim_end().len());
            at += line.len();
            let plain = line.split('#').next().unwrap_or("").split_whitespace().eq(["%YAML", "1.2"]);
            if line.starts_with('%') && !(plain && version == Some((1, 2))) {
                gather.push(directive(found));
            }
        }
        ControlFlow::Continue(())
    }

    /// Adds a finished or opened node to the collection around it.
    fn add(&mut self, span: Span, what: What<'t>, size: usize, depth: usize, gather: &mut Gather) -> Id {
        let id = self.items.len();
        self.items.push(Item { span, what, size, depth });
        self.size = self.size.saturating_add(size);
        self.explicit_key(span.start, gather);
        match self.open.last_mut() {
            Some(frame) => frame.children.push(id),
            None => self.root = Some(id),
        }
        id
    }

    fn scalar(&mut self, mut span: Span, text: Cow<'t, str>, quoted: bool, gather: &mut Gather) {
        // The token of a block scalar without text stands wherever the next thing does.
        let block = quoted && !self.slice(span).starts_with(['"', '\'']);
        if text.trim().is_empty() && (!quoted || block) {
            let place = self.after_colon(span.start);
            span = Span::new(place, place);
        } else if quoted {
            // A block scalar's token runs on over the blank lines after it.
            span.end = span.start + self.slice(span).trim_end().len();
        }
        self.add(span, What::Text(text, quoted), 1, 0, gather);
        self.last_end = self.last_end.max(span.end);
        self.last_scalar = span;
    }

    /// The place of a value that is not written: behind the colon of its key, or as the parser found it.
    fn after_colon(&self, found: usize) -> usize {
        let value = self.open.last().is_some_and(|f| !f.sequence && f.children.len() % 2 == 1);
        let rest = self.text.get(self.last_end.saturating_sub(self.base)..).unwrap_or("");
        let blank = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let colon = rest.get(blank..).is_some_and(|r| r.starts_with(':'));
        if value && colon { self.last_end + blank + 1 } else { found }
    }

    fn open(&mut self, mut span: Span, sequence: bool, flow: bool, gather: &mut Gather) {
        if sequence && !flow {
            // The parser places a list that is not indented at its first item; it begins at its first dash.
            let token = self.tokens(self.last_end, span.start).find(|(_, t)| *t == "-").map(|(at, _)| at);
            span.start = token.unwrap_or(span.start);
        }
        let id = self.add(span, What::Open, 1, 1, gather);
        self.open.push(Frame { id, sequence, flow, children: Vec::new() });
        self.last_end = self.last_end.max(span.end);
    }

    fn close(&mut self, span: Span, gather: &mut Gather) {
        let Some(frame) = self.open.pop() else { return };
        if frame.flow {
            self.last_end = self.last_end.max(span.end);
        }
        let (mut size, mut depth) = (1usize, 0usize);
        for child in frame.children.iter().filter_map(|id| self.items.get(*id)) {
            size = size.saturating_add(child.size);
            depth = depth.max(child.depth);
        }
        let end = if frame.flow { Some(span.end) } else { None };
        let last = frame.children.last().and_then(|id| self.items.get(*id)).map(|i| i.span.end);
        let what = if frame.sequence {
            What::Sequence(frame.children)
        } else {
            What::Mapping(pairs(&frame.children))
        };
        if let What::Mapping(pairs) = &what {
            self.check_keys(pairs, gather);
        }
        if let Some(item) = self.items.get_mut(frame.id) {
            item.span = Span::new(item.span.start, end.or(last).unwrap_or(item.span.end));
            (item.what, item.size, item.depth) = (what, size, depth + 1);
        }
    }

    fn anchor(&mut self, span: Span, id: usize, name: &str, gather: &mut Gather) {
        // An opened collection is itself the last item: nothing has been added in it yet.
        let item = self.items.len().saturating_sub(1);
        if let Some(first) = self.names.insert(name.to_string(), span) {
            let message = format!("the anchor `&{name}` is given twice");
            gather.push(
                Problem::new("duplicate-anchor", span, message, "given again here")
                    .also(first, "first given here")
                    .help("choose another name for one of them"),
            );
        }
        self.anchored_key(item, span, gather);
        self.anchors.insert(id, Anchor { item, span, used: false });
    }

    fn alias(&mut self, span: Span, id: usize, limits: &Limits, gather: &mut Gather) -> ControlFlow<()> {
        let Some(anchor) = self.anchors.get_mut(&id) else { return ControlFlow::Continue(()) };
        anchor.used = true;
        let (target, place) = (anchor.item, anchor.span);
        let Some(item) = self.items.get(target) else { return ControlFlow::Continue(()) };
        let (size, depth) = (item.size, item.depth);
        if matches!(item.what, What::Open) {
            let message = format!("`{}` stands inside what it repeats", self.slice(span));
            gather.push(
                Problem::new("alias-cycle", span, message, "would never end")
                    .also(place, "the anchor it repeats")
                    .help("write out what is meant here"),
            );
            self.scalar(span, Cow::Borrowed("*"), true, gather);
            return ControlFlow::Continue(());
        }
        if self.open.len() + depth > limits.depth {
            gather.push(too_deep(span, limits));
            return ControlFlow::Break(());
        }
        self.add(span, What::Alias(target), size, depth, gather);
        self.last_end = self.last_end.max(span.end);
        self.within(span, limits, gather)
    }
}

/// Keys with their values; a last key whose value was not reached is left out.
fn pairs(children: &[Id]) -> Vec<(Id, Id)> {
    children.chunks_exact(2).filter_map(|p| Some((*p.first()?, *p.get(1)?))).collect()
}

fn directive(span: Span) -> Problem {
    Problem::new(
        "directive",
        span,
        "a line starting with `%` is an instruction to YAML readers",
        "not used here",
    )
    .help("delete it; only `%YAML 1.2` is allowed")
}

fn too_long(span: Span, length: usize, limits: &Limits) -> Problem {
    let message =
        format!("a text of {length} bytes stands here; at most {} are allowed", limits.scalar_bytes);
    let mark = Span::new(span.start, span.start);
    Problem::new("too-long", mark, message, "starts here")
        .help("shorten it; an unclosed quote may be the reason")
}

fn too_deep(span: Span, limits: &Limits) -> Problem {
    let message = format!("lists and blocks are nested more than {} deep", limits.depth);
    Problem::new("too-deep", span, message, "one level too many")
        .help("no model needs this; check brackets and dashes")
}
