//! Gathering problems: all of them, but never without bound.
//!
//! What is found twice at one place, because an alias repeats a block, is one mistake. A file that is wrong in a million places must not fill the memory with messages. What is dropped is said.

use std::collections::BTreeSet;

use crate::problem::Problem;
use crate::source::Span;

/// How many problems one pass over a file reports.
pub const MOST: usize = 500;

/// Problems in the order they were found, up to [`MOST`].
#[derive(Debug, Default)]
pub struct Gather {
    problems: Vec<Problem>,
    seen: BTreeSet<(Span, &'static str, String)>,
    dropped: bool,
}

impl Gather {
    /// Adds one, unless one with the same place, code and label is there already; beyond [`MOST`] it only
    /// remembers that there were more.
    pub fn push(&mut self, problem: Problem) {
        let mark = (problem.span, problem.code, problem.label.clone());
        if self.seen.contains(&mark) {
            return;
        }
        if self.problems.len() < MOST {
            self.seen.insert(mark);
            self.problems.push(problem);
        } else {
            self.dropped = true;
        }
    }

    /// Whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.problems.is_empty()
    }

    /// How many were kept.
    pub fn len(&self) -> usize {
        self.problems.len()
    }

    /// All problems sorted by place; the last says whether there were more.
    pub fn finish(self) -> Vec<Problem> {
        let mut problems = self.problems;
        problems.sort();
        if self.dropped {
            let end = problems.last().map_or(Span::default(), |p| p.span);
            let message = format!("there are more problems than the {MOST} listed");
            problems.push(
                Problem::new("more-problems", end, message, "the last one listed")
                    .help("correct these first; the next run lists the others"),
            );
        }
        problems
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn problems_are_sorted_unique_and_bounded_and_the_bound_is_said() {
        let mut gather = Gather::default();
        assert!(gather.is_empty());
        for i in (0..MOST + 5).rev() {
            gather.push(Problem::new("x", Span::new(i, i + 1), "m", "l"));
        }
        assert_eq!(gather.len(), MOST);
        let all = gather.finish();
        assert_eq!(all.len(), MOST + 1);
        assert!(all.is_sorted_by_key(|p| p.span));
        assert_eq!(all.last().map(|p| p.code), Some("more-problems"));

        let mut gather = Gather::default();
        gather.push(Problem::new("x", Span::new(1, 2), "m", "l"));
        gather.push(Problem::new("x", Span::new(1, 2), "m of another", "l"));
        gather.push(Problem::new("x", Span::new(1, 2), "m", "k"));
        assert_eq!(gather.finish().len(), 2);
    }
}
