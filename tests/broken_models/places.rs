//! Every place of a model with what the language expects there, from the span tree and the JSON Schema.
//!
//! Knows no operator: it only says where keys, values, lists and blocks stand and of which kind they are.

use std::collections::BTreeSet;

use serde_json::Value;
use tripproof::source::{Source, Span};
use tripproof::syntax::node::{Node, NodeKind};
use tripproof::syntax::yaml::{self, Limits};

/// What the language expects at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    Tag,
    Value,
    Range,
    Expression,
    Words,
    Flag,
    Count,
    Number,
    Date,
    Normal,
    Word(Vec<String>),
    List(Box<Kind>),
    Table,
    Struct { fields: Vec<String>, required: Vec<String> },
}

/// One value of a model: a leaf, a list or a block.
#[derive(Debug, Clone)]
pub struct Place {
    /// `sensors.GD-1.range`; items of lists by number.
    pub path: String,
    pub kind: Kind,
    pub node: Node,
    /// The key of the value, or the item itself in a list.
    pub key: Span,
    /// Whether it is the value of a key rather than an item.
    pub keyed: bool,
    /// What to mark when something is missing in the collection around it: the key of that collection.
    pub owner: Span,
    /// Whether brackets stand around it.
    pub flow: bool,
    /// Whether the collection around it must have it.
    pub required: bool,
    /// Whether the key is free (a tag) rather than a word of the language.
    pub free_key: bool,
    /// End of the collection around it.
    pub around: Span,
    /// Where the next entry or item of the same collection starts.
    pub next: Option<usize>,
    /// Where the entry or item before it ends.
    pub before: Option<usize>,
}

/// A model with all its places.
pub struct Shipped {
    pub name: &'static str,
    pub source: Source,
    pub root: Node,
    pub places: Vec<Place>,
    /// Everything that is declared: keys of tables, positions, release tags.
    pub names: BTreeSet<String>,
}

impl Shipped {
    pub fn new(name: &'static str, text: &str) -> Shipped {
        let source = Source::new(name, text);
        let root = yaml::read(&source, &Limits::default()).expect("a shipped model is YAML");
        let schema = tripproof::reference::schema();
        let mut walk = Walk { schema: &schema, text, places: Vec::new() };
        let at = Span::new(root.span.start, root.span.start);
        walk.inside(&schema, &root, at, "");
        let places = walk.places;
        let mut names: BTreeSet<String> =
            places.iter().filter(|p| p.free_key).map(|p| text[p.key.start..p.key.end].to_string()).collect();
        for place in &places {
            if place.kind == Kind::Tag && (place.path.contains(".positions.") || place.path.ends_with(".tag"))
            {
                names.extend(place.node.text().map(str::to_string));
            }
        }
        Shipped { name, source, root, places, names }
    }

    pub fn text(&self) -> &str {
        self.source.text()
    }

    /// Leaves of the kinds for which `want` holds.
    pub fn leaves(&self, want: impl Fn(&Kind) -> bool) -> impl Iterator<Item = &Place> {
        self.places.iter().filter(move |p| want(&p.kind) && matches!(p.node.kind, NodeKind::Scalar { .. }))
    }

    /// Blocks whose keys are words of the language, with the place that a missing key is marked at.
    pub fn structs(&self) -> Vec<(Node, Vec<String>, Span)> {
        let schema = tripproof::reference::schema();
        let (fields, _) = fields(&schema);
        let root = Span::new(self.root.span.start, self.root.span.start);
        let mut all = vec![(self.root.clone(), fields, root)];
        for place in &self.places {
            if let (Kind::Struct { fields, .. }, NodeKind::Mapping(_)) = (&place.kind, &place.node.kind) {
                all.push((place.node.clone(), fields.clone(), place.key));
            }
        }
        all
    }
}

fn fields(schema: &Value) -> (Vec<String>, Vec<String>) {
    let fields = schema["properties"].as_object().unwrap().keys().cloned().collect();
    let required = schema["required"].as_array().into_iter().flatten();
    (fields, required.map(|r| r.as_str().unwrap().to_string()).collect())
}

struct Walk<'a> {
    schema: &'a Value,
    text: &'a str,
    places: Vec<Place>,
}

impl<'a> Walk<'a> {
    /// Follows references and leaves out `null`.
    fn resolve(&self, schema: &'a Value) -> &'a Value {
        if let Some(path) = schema["$ref"].as_str() {
            return self.resolve(self.schema.pointer(path.trim_start_matches('#')).unwrap());
        }
        for parts in ["anyOf", "allOf"] {
            if let Some(parts) = schema[parts].as_array() {
                return self.resolve(parts.iter().find(|p| p["type"] != "null").unwrap());
            }
        }
        schema
    }

    fn kind(&self, schema: &'a Value) -> Kind {
        let schema = self.resolve(schema);
        if let Some(words) = schema["oneOf"].as_array() {
            return Kind::Word(words.iter().map(|w| w["const"].as_str().unwrap().to_string()).collect());
        }
        let types: Vec<&str> = match &schema["type"] {
            Value::String(one) => vec![one],
            Value::Array(some) => some.iter().filter_map(Value::as_str).filter(|t| *t != "null").collect(),
            other => panic!("{other}"),
        };
        match (types.as_slice(), schema["pattern"].as_str()) {
            (["array"], _) => Kind::List(Box::new(self.kind(&schema["items"]))),
            (["object"], _) if schema["properties"].is_object() => {
                let (fields, required) = fields(schema);
                Kind::Struct { fields, required }
            }
            (["object"], _) => Kind::Table,
            (["string", "number"], _) => Kind::Words,
            (["string", "boolean"], _) => Kind::Normal,
            (["boolean"], _) => Kind::Flag,
            (["integer"], _) => Kind::Count,
            (["number"], _) => Kind::Number,
            (["string"], None) => Kind::Expression,
            (["string"], Some(p)) if p.contains("A-Z") => Kind::Tag,
            (["string"], Some(p)) if p.contains("{4}") => Kind::Date,
            (["string"], Some(p)) if p.contains("\\.\\. ") => Kind::Range,
            (["string"], Some(_)) => Kind::Value,
            other => panic!("{other:?}"),
        }
    }

    fn inside(&mut self, schema: &'a Value, node: &Node, owner: Span, path: &str) {
        let schema = self.resolve(schema);
        let flow = self.text[node.span.start..].starts_with(['{', '[']);
        let spans: Vec<Span> = match &node.kind {
            NodeKind::Scalar { .. } => return,
            NodeKind::Sequence(items) => items.iter().map(|i| i.span).collect(),
            NodeKind::Mapping(entries) => entries.iter().map(|(k, v)| k.span.to(v.span)).collect(),
        };
        let near = |i: usize| {
            (spans.get(i + 1).map(|s| s.start), i.checked_sub(1).and_then(|i| spans.get(i)).map(|s| s.end))
        };
        let mut inner: Vec<(&'a Value, Node, Span, String)> = Vec::new();
        match &node.kind {
            NodeKind::Sequence(items) => {
                for (i, item) in items.iter().enumerate() {
                    let (next, before) = near(i);
                    let kind = self.kind(&schema["items"]);
                    let path = format!("{path}.{i}");
                    self.places.push(Place {
                        path: path.clone(),
                        kind,
                        node: item.clone(),
                        key: item.span,
                        keyed: false,
                        owner,
                        flow,
                        required: false,
                        free_key: false,
                        around: node.span,
                        next,
                        before,
                    });
                    inner.push((&schema["items"], item.clone(), item.span, path));
                }
            }
            NodeKind::Mapping(entries) => {
                for (i, (key, value)) in entries.iter().enumerate() {
                    let word = key.text().unwrap();
                    let named = schema["properties"].is_object();
                    let field =
                        if named { &schema["properties"][word] } else { &schema["additionalProperties"] };
                    let (next, before) = near(i);
                    let path = if path.is_empty() { word.to_string() } else { format!("{path}.{word}") };
                    let required = named && fields(schema).1.iter().any(|r| r == word);
                    self.places.push(Place {
                        path: path.clone(),
                        kind: self.kind(field),
                        node: value.clone(),
                        key: key.span,
                        keyed: true,
                        owner,
                        flow,
                        required,
                        free_key: !named,
                        around: node.span,
                        next,
                        before,
                    });
                    inner.push((field, value.clone(), key.span, path));
                }
            }
            NodeKind::Scalar { .. } => {}
        }
        for (schema, node, owner, path) in inner {
            self.inside(schema, &node, owner, &path);
        }
    }
}
