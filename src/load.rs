//! The front door of the core: from the text of a file to a model, with the problems of every stage together.
//!
//! Reads no files; the caller has the text. What each stage does is its own business.

use crate::model::{Model, lower};
use crate::problem::Problem;
use crate::source::{Source, Span};
use crate::syntax::decode::decode;
use crate::syntax::document::Document;
use crate::syntax::node::{Node, NodeKind};
use crate::syntax::yaml::{self, Limits};

/// The model that a file describes.
///
/// # Errors
/// Every problem of the file, sorted by place, each once. Where the text is no YAML, only what the reader found;
/// otherwise the problems of shape and of meaning together. Where a whole section could not be read, tags that seem
/// unknown are left out: they may well be declared in it.
pub fn load(source: &Source) -> Result<Model, Vec<Problem>> {
    let node = yaml::read(source, &Limits::default())?;
    let mut problems = Vec::new();
    let document: Option<Document> = decode(&node, &mut problems);
    let section_lost = problems.iter().any(|problem| is_section(&node, problem.span));
    let Some(document) = document else { return Err(problems) };
    match lower(&document) {
        Ok(model) if problems.is_empty() => return Ok(model),
        Ok(_) => {}
        Err(found) => problems.extend(found.into_iter().filter(|p| !(section_lost && p.code == "unknown-tag"))),
    }
    problems.sort();
    problems.dedup();
    Err(problems)
}

/// Whether a place is a section of the file as a whole: its key, or all of its content.
fn is_section(root: &Node, span: Span) -> bool {
    match &root.kind {
        NodeKind::Mapping(entries) => {
            root.span == span || entries.iter().any(|(key, value)| key.span == span || value.span == span)
        }
        _ => true,
    }
}
