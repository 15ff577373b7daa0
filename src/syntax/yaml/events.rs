//! The one place that knows the YAML parser underneath: text to events, its errors to [`Slip`]s.
//!
//! It judges nothing: which constructs are allowed is `tree`'s business, how an error is worded `slips`'s.

use std::borrow::Cow;
use std::ops::ControlFlow;

use granit_parser::{ErrorKind, Event as Raw, Parser, ScalarStyle, ScanError, StructureStyle, options};

use crate::source::Span;

/// One step through a document, with its bytes.
#[derive(Debug)]
pub struct Event<'t> {
    /// The bytes of the token; no width for the opening and closing of block collections.
    pub span: Span,
    /// The bytes of an explicit tag (`!x`) on the node.
    pub tag: Option<Span>,
    /// What it is.
    pub kind: Kind<'t>,
}

/// The kinds of event that matter here.
#[derive(Debug)]
pub enum Kind<'t> {
    /// A document begins; `span` is its `---` if it has one.
    Document {
        /// The version of a `%YAML` line before it.
        version: Option<(u32, u32)>,
    },
    /// A scalar. An empty unquoted text means that nothing was written.
    Scalar {
        /// Text after unquoting and folding.
        text: Cow<'t, str>,
        /// In quotes, or a block scalar.
        quoted: bool,
    },
    /// A sequence (or else a mapping) begins.
    Open {
        /// Sequence rather than mapping.
        sequence: bool,
        /// Flow style; the span then is the opening bracket, or empty in `[a: b]`.
        flow: bool,
    },
    /// The innermost open collection ends.
    Close,
    /// The node just reported (scalar or opening) carries this anchor.
    Anchor {
        /// Number of the anchor, as aliases name it.
        id: usize,
        /// Name without `&`.
        name: Cow<'t, str>,
    },
    /// A node that repeats an anchored one.
    Alias {
        /// Number of the anchor.
        id: usize,
    },
    /// An alias without an anchor before it; name without `*`.
    UnknownAlias {
        /// The name.
        name: Cow<'t, str>,
    },
}

/// Why the text is not YAML, coarse enough to be worded for somebody who has never read the standard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Slip {
    /// A tab where only spaces may stand.
    Tab,
    /// A quote without its partner.
    UnclosedQuote,
    /// Text directly after a closing quote.
    AfterQuote,
    /// An escape (`\q`) in double quotes that does not exist.
    Escape,
    /// A bracket without its partner; the place is the opening bracket.
    UnclosedBracket,
    /// A closing bracket that nothing opened.
    StrayBracket,
    /// A bracket closed by the other kind; the place is the opening bracket.
    WrongBracket(char, char),
    /// Between brackets, a comma or the closing bracket was expected.
    Comma,
    /// A value starts with this character.
    Character(char),
    /// A colon where no key may stand.
    Colon,
    /// A line in a block of keys that is no key, or is indented differently.
    KeyExpected,
    /// A line in a block of keys without a colon.
    ColonExpected,
    /// A dash where no list item may stand.
    Dash,
    /// A line in a list that is no item, or is indented differently.
    DashExpected,
    /// Deeper nesting than allowed.
    Deep,
    /// A line starting with `%`.
    Directive,
    /// `&` or `*` without a name.
    AnchorName,
    /// A `#` glued to a value, or a comment in the middle of one.
    Comment,
    /// A line of a `|`, `>` or quoted text that is indented too little, or a wrong header.
    Block,
    /// A tag (`!`) that is not even a proper one.
    Tag,
    /// `---` or `...` in a place where it cannot stand.
    Marker,
    /// Anything else, in the parser's words.
    Other(String),
}

/// Walks through `text`, handing each event to `each` until it breaks. Neither recursive nor deeper than `depth`.
///
/// Returns the byte offset and kind of the error that ended the walk, if one did.
pub fn walk<'t>(
    text: &'t str,
    depth: usize,
    mut each: impl FnMut(Event<'t>) -> ControlFlow<()>,
) -> Option<(usize, Slip)> {
    let mut options = options! {
        emit_unresolved_aliases: true,
        emit_anchor_events: true,
        flow_nesting_limit: depth,
        block_nesting_limit: depth,
    };
    options.set_emit_comments(false);
    for step in Parser::new_from_str_with_options(text, options) {
        let (raw, place) = match step {
            Ok(step) => step,
            Err(error) => {
                return Some((error.marker().byte_offset().unwrap_or(0).min(text.len()), slip(&error)));
            }
        };
        let bytes = |span: &granit_parser::Span| {
            span.byte_range().map_or(Span::default(), |r| Span::new(r.start, r.end))
        };
        let (span, tag) = (bytes(&place), place.tag_span().as_ref().map(bytes));
        let Some(kind) = kind(raw, span) else { continue };
        if each(Event { span, tag, kind }).is_break() {
            break;
        }
    }
    None
}

fn kind<'t>(raw: Raw<'t>, span: Span) -> Option<Kind<'t>> {
    Some(match raw {
        Raw::DocumentStart(_, version) => Kind::Document { version: version.map(|v| (v.major, v.minor)) },
        // The parser writes `~` where nothing stands; only the missing width tells it from a written `~`.
        Raw::Scalar(_, ScalarStyle::Plain, ..) if span.start == span.end => {
            Kind::Scalar { text: Cow::Borrowed(""), quoted: false }
        }
        Raw::Scalar(text, style, ..) => Kind::Scalar { text, quoted: style != ScalarStyle::Plain },
        Raw::SequenceStart(style, ..) => Kind::Open { sequence: true, flow: style == StructureStyle::Flow },
        Raw::MappingStart(style, ..) => Kind::Open { sequence: false, flow: style == StructureStyle::Flow },
        Raw::SequenceEnd | Raw::MappingEnd => Kind::Close,
        Raw::Anchor(id, name) => Kind::Anchor { id, name },
        Raw::Alias(id) => Kind::Alias { id },
        Raw::UnresolvedAlias(name) => Kind::UnknownAlias { name },
        _ => return None,
    })
}

fn slip(error: &ScanError) -> Slip {
    use ErrorKind as E;
    match error.kind() {
        E::TabNotAllowed | E::TabInBlockIndentation | E::TabInIndentation | E::TabInPlainScalar => Slip::Tab,
        E::TabAtBlockScalarStart => Slip::Tab,
        E::UnclosedQuotedScalar | E::DocumentIndicatorInQuotedScalar => Slip::UnclosedQuote,
        E::InvalidTrailingSingleQuotedScalar | E::InvalidTrailingDoubleQuotedScalar => Slip::AfterQuote,
        E::UnknownQuotedScalarEscape | E::InvalidQuotedScalarHexEscape | E::InvalidLowSurrogateHexEscape => {
            Slip::Escape
        }
        E::InvalidLowSurrogate | E::MissingLowSurrogate | E::UnpairedLowSurrogate => Slip::Escape,
        E::InvalidUnicodeEscape => Slip::Escape,
        E::UnclosedFlowCollection { .. } => Slip::UnclosedBracket,
        E::MisplacedFlowCollectionEnd => Slip::StrayBracket,
        E::MismatchedFlowCollectionEnd { open, close } => Slip::WrongBracket(*open, *close),
        E::ExpectedFlowMappingSeparator | E::ExpectedFlowSequenceSeparator => Slip::Comma,
        E::UnexpectedEofFlowSequence | E::UnexpectedEofFlowMapping => Slip::Comma,
        E::UnexpectedEofImplicitFlowMapping | E::InvalidFlowScalarIndent => Slip::Comma,
        E::BlockEntryInFlowCollection | E::PlainScalarStartsWithDashFlowIndicator => Slip::Dash,
        E::UnexpectedCharacter { character } => Slip::Character(*character),
        E::MappingValueNotAllowed | E::InvalidColonPlacement | E::MappingKeyNotAllowed => Slip::Colon,
        E::FlowMappingValueAdjacentCollection | E::InvalidMappingValueWhitespace => Slip::Colon,
        E::ExpectedBlockMappingKey | E::InvalidIndentation | E::ExpectedNodeContent => Slip::KeyExpected,
        E::SimpleKeyExpected | E::InvalidSimpleKey => Slip::ColonExpected,
        E::BlockSequenceEntryNotAllowed | E::InvalidBlockEntryWhitespace => Slip::Dash,
        E::ExpectedBlockSequenceEntry => Slip::DashExpected,
        E::RecursionLimitExceeded => Slip::Deep,
        E::MissingAnchorOrAliasName => Slip::AnchorName,
        E::CommentNotSeparated | E::CommentInterceptedScalar => Slip::Comment,
        E::InvalidBlockScalarIndent | E::InvalidBlockScalarHeader | E::ZeroBlockScalarIndent => Slip::Block,
        E::InvalidQuotedScalarIndent => Slip::Block,
        E::DuplicateVersionDirective | E::UnsupportedYamlMajorVersion | E::DuplicateTagDirective => {
            Slip::Directive
        }
        E::MissingDocumentEndBeforeDirective | E::InvalidDirectiveTerminator => Slip::Directive,
        E::MissingYamlVersionSeparator | E::MissingDirectiveName | E::InvalidDirectiveName => Slip::Directive,
        E::DirectiveByteLimitExceeded { .. } | E::TooManyReservedDirectiveParams { .. } => Slip::Directive,
        E::YamlVersionTooLong | E::MissingYamlVersion | E::InvalidTagDirectiveTerminator => Slip::Directive,
        E::ExpectedTagDirectiveBang => Slip::Directive,
        E::ExpectedTagBang | E::InvalidGlobalTagCharacter | E::UndeclaredTagHandle => Slip::Tag,
        E::InvalidTagTerminator | E::MissingTagUri | E::UnclosedVerbatimTag | E::InvalidTagEscape => {
            Slip::Tag
        }
        E::InvalidTagUtf8LeadingByte | E::InvalidTagUtf8TrailingByte | E::InvalidTagUtf8 => Slip::Tag,
        E::ExpectedDocumentStart | E::InvalidDocumentEnd => Slip::Marker,
        _ => Slip::Other(error.info()),
    }
}
