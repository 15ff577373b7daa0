//! A YAML document as a tree in which every key, value and block knows its bytes.
//!
//! Only the shape of the data; `yaml` builds it, `decode` reads it into the types of the language.

use crate::source::Span;

/// One node of a YAML document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// The node's bytes. Scalars: quotes included; of a block scalar (`|`, `>`) the text without its header;
    /// an empty value: no width, directly after the colon or dash. Flow collections: brackets included.
    /// Block collections: from the first key or dash to the end of the last content, without blank lines and
    /// comments that follow. The copy that stands for an alias: the alias (`*name`), while everything inside it
    /// keeps the place where it is written.
    pub span: Span,
    /// What stands there.
    pub kind: NodeKind,
}

/// The three shapes of YAML.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NodeKind {
    /// One value, always as text: the reader gives no value a type.
    Scalar {
        /// The text after YAML's unquoting and folding; empty if nothing was written.
        text: String,
        /// Whether it stood in quotes or a block (`|`, `>`).
        quoted: bool,
    },
    /// A list.
    Sequence(Vec<Node>),
    /// Keys with values in the file's order. From `yaml::read`: keys are scalars, all different.
    Mapping(Vec<(Node, Node)>),
}

impl Node {
    /// Whether nothing was written here (`supply:` and the line ends). `""`, `[]` and `{}` are something.
    pub fn is_empty(&self) -> bool {
        matches!(&self.kind, NodeKind::Scalar { text, quoted: false } if text.is_empty())
    }

    /// The text of a scalar.
    pub fn text(&self) -> Option<&str> {
        match &self.kind {
            NodeKind::Scalar { text, .. } => Some(text),
            _ => None,
        }
    }

    /// What it is, in the words of messages: `a list`, `a block of keys`, `one value`, `nothing`.
    pub fn describe(&self) -> &'static str {
        match &self.kind {
            NodeKind::Scalar { .. } if self.is_empty() => "nothing",
            NodeKind::Scalar { .. } => "one value",
            NodeKind::Sequence(_) => "a list",
            NodeKind::Mapping(_) => "a block of keys",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_unwritten_value_is_empty() {
        let scalar = |text: &str, quoted| Node {
            span: Span::default(),
            kind: NodeKind::Scalar { text: text.into(), quoted },
        };
        assert!(scalar("", false).is_empty());
        assert!(!scalar("", true).is_empty());
        assert!(!scalar("~", false).is_empty());
        assert_eq!(scalar("", false).describe(), "nothing");
        assert_eq!(Node { span: Span::default(), kind: NodeKind::Sequence(vec![]) }.describe(), "a list");
    }
}
