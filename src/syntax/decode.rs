//! From a tree of YAML nodes to the types of the language, without ever stopping at a mistake.
//!
//! Each mistake of shape (an unknown or missing key, a list where one value belongs) becomes a [`Problem`] at its
//! place, and the type gets a broken placeholder, so that one run shows all mistakes of a file. What the values
//! mean is not judged here.
//!
//! What a document type must know: absent keys are served too, so `#[serde(default)]` has no effect; a key that
//! may be absent is an `Option`. `#[serde(flatten)]`, `untagged` and `alias` are not supported. An enum has unit
//! variants (written as one word) or newtype variants (written as `word: value`).

mod access;
mod trail;
mod want;

use std::cell::RefCell;

use serde::de::DeserializeOwned;

use crate::problem::Problem;
use crate::syntax::gather::Gather;
use crate::syntax::node::Node;

use trail::Trail;
use want::{State, Want};

/// Reads `node`, the root of a document, as a `T` and adds every mistake to `problems`, which is left sorted by
/// place and without repetitions.
///
/// `Some` even with mistakes: what could not be read is then a broken leaf, an empty list or table, the first
/// word of an enum. `None` only if `T` itself refuses what it is given; the reason is then among the problems.
pub fn decode<T: DeserializeOwned>(node: &Node, problems: &mut Vec<Problem>) -> Option<T> {
    let gather = RefCell::new(Gather::default());
    let trail = Trail::root(node.span);
    let want = Want { state: State::Node(node), trail: &trail, gather: &gather };
    let result = T::deserialize(want);
    let mut gather = gather.into_inner();
    let value = match result {
        Ok(value) => Some(value),
        Err(error) => {
            gather.push(
                Problem::new(
                    "unreadable",
                    node.span,
                    format!("the document cannot be read: {error}"),
                    "in here",
                )
                .help("this message should not occur; the other messages may lead to the reason"),
            );
            None
        }
    };
    problems.extend(gather.finish());
    problems.sort();
    problems.dedup();
    value
}

#[cfg(test)]
mod tests;
