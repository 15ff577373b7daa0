//! A broken model: its text, where a problem is expected, and the judgement whether `load` found it there.

use std::panic::{AssertUnwindSafe, catch_unwind};

use tripproof::load::load;
use tripproof::source::{Source, Span};

/// What `load` must say of a mutant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Must {
    /// At least one problem, at the place.
    Fail,
    /// The result may be a model; a problem, if any, is at the place.
    MayStand,
    /// The result may be a model; where problems are is not examined (only that nothing panics).
    Survive,
}

#[derive(Debug, Clone)]
pub struct Mutant {
    pub text: String,
    /// Places in the mutant of which a problem must touch at least one.
    pub near: Vec<Span>,
    pub must: Must,
    pub what: String,
}

/// `text` with `start..end` replaced; the replaced part is where the problem is expected.
pub fn replaced(text: &str, span: Span, with: &str, what: impl Into<String>) -> Mutant {
    let mut new = String::with_capacity(text.len() + with.len());
    new.push_str(&text[..span.start]);
    new.push_str(with);
    new.push_str(&text[span.end..]);
    let near = vec![Span::new(span.start, span.start + with.len())];
    Mutant { text: new, near, must: Must::Fail, what: format!("{}: `{with}`", what.into()) }
}

pub fn inserted(text: &str, at: usize, with: &str, what: impl Into<String>) -> Mutant {
    replaced(text, Span::new(at, at), with, what)
}

impl Mutant {
    /// Also right: a problem at `span` of the mutant.
    pub fn or_at(mut self, span: Span) -> Mutant {
        self.near.push(span);
        self
    }

    pub fn may_stand(mut self, may: bool) -> Mutant {
        if may {
            self.must = Must::MayStand;
        }
        self
    }

    pub fn survive(mut self) -> Mutant {
        self.must = Must::Survive;
        self
    }

    /// `Ok(true)` if problems were found where they must be, `Ok(false)` if it is a model and may be one.
    pub fn judge(&self) -> Result<bool, String> {
        let source = Source::new("mutant.yaml", self.text.as_str());
        let found = catch_unwind(AssertUnwindSafe(|| load(&source)))
            .map_err(|_| format!("{}: panicked", self.what))?;
        let problems = match found {
            Ok(_) if self.must == Must::Fail => return Err(format!("{}: no problem", self.what)),
            Ok(_) => return Ok(false),
            Err(problems) => problems,
        };
        for p in &problems {
            let bounds = self.text.is_char_boundary(p.span.start.min(self.text.len()))
                && p.span.end <= self.text.len()
                && self.text.is_char_boundary(p.span.end);
            if !bounds || p.message.is_empty() || p.label.is_empty() || p.help.is_none() {
                return Err(format!("{}: not a whole problem: {p:?}", self.what));
            }
        }
        if self.must == Must::Survive || problems.iter().any(|p| self.covers(p.span)) {
            return Ok(true);
        }
        let shown: Vec<String> = problems
            .iter()
            .take(4)
            .map(|p| {
                let at = source.place(p.span.start);
                let marked: String = source.slice(p.span).chars().take(40).collect();
                format!("{}:{} {} `{marked}` {}", at.line, at.column, p.code, p.message)
            })
            .collect();
        let wanted = source.place(self.near[0].start);
        Err(format!("{}: wanted {}:{}, found {shown:?}", self.what, wanted.line, wanted.column))
    }

    /// Touches a wanted place, and is no wider than that place and a few words.
    fn covers(&self, span: Span) -> bool {
        self.near.iter().any(|near| {
            let touches = span.start <= near.end && near.start <= span.end;
            touches && span.end - span.start <= near.end - near.start + 80
        })
    }
}
