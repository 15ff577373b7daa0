//! Models that could not be examined, with everything that is wrong with them.

use super::inline::Inline;
use super::page::Page;
use crate::problem::Problem;
use crate::report::terminal;
use crate::source::Source;

/// Errors in the text of a model, in its order.
pub(super) fn problems(page: &mut Page, source: &Source, problems: &[Problem]) {
    heading(page, source.name());
    page.paragraph(Inline::new().strong(&terminal::verdict(source, problems.len())));
    let mut sorted: Vec<&Problem> = problems.iter().collect();
    sorted.sort();
    for problem in sorted {
        let at = |start: usize| {
            let place = source.place(start);
            format!("{}:{}:{}", source.name(), place.line, place.column)
        };
        page.heading(2, Inline::new().text("Error: ").text(problem.code));
        page.paragraph(Inline::new().sentence(&problem.message));
        let mut facts = vec![labelled("Place:").code(&at(problem.span.start))];
        if !problem.label.is_empty() {
            facts.push(labelled("What stands there:").sentence(&problem.label));
        }
        facts.extend(problem.also.iter().map(|(span, label)| {
            labelled("See also:").code(&at(span.start)).text(" (").sentence(label).text(")")
        }));
        facts.extend(problem.help.iter().map(|help| labelled("Way out:").sentence(help)));
        page.list(facts);
    }
}

/// There was no text, or no solver.
pub(super) fn failure(page: &mut Page, file: &str, code: &str, message: &str) {
    heading(page, file);
    page.paragraph(Inline::new().strong("Nothing was examined."));
    page.list([labelled("Error:").sentence(message), labelled("Kind of error:").code(code)]);
}

fn heading(page: &mut Page, file: &str) {
    page.heading(1, Inline::new().text("No report on ").text(file));
}

fn labelled(label: &str) -> Inline {
    Inline::new().strong(label).text(" ")
}
