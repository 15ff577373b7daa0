//! Bytes to YAML to a document: never a panic, every problem at a place in the file, and the same every time.

use tripproof::problem::Problem;
use tripproof::report::{Entry, json, terminal};
use tripproof::source::Source;
use tripproof::syntax::decode::decode;
use tripproof::syntax::document::Document;
use tripproof::syntax::yaml::{Limits, from_bytes, read};

use crate::random::Random;
use crate::spoil::{self, MODELS};

pub fn make(random: &mut Random) -> Vec<u8> {
    let text = *random.pick(&MODELS[..spoil::SMALL]);
    match random.below(4) {
        0 => spoil::bytes(text, random),
        // A part of a file, so that odd ends are met often.
        1 => {
            let lines: Vec<&str> = text.split_inclusive('\n').collect();
            let from = random.below(lines.len());
            let part = lines[from..(from + 1 + random.below(20)).min(lines.len())].concat();
            spoil::some(&part, random).into_bytes()
        }
        _ => spoil::some(text, random).into_bytes(),
    }
}

/// What is wrong with problems as such: each stands in the file, on whole characters, with words and a way out.
pub fn whole(source: &Source, problems: &[Problem]) -> Result<(), String> {
    let text = source.text();
    if problems.is_empty() {
        return Err("refused without a problem".into());
    }
    for problem in problems {
        let span = problem.span;
        let inside = span.start <= span.end
            && span.end <= text.len()
            && text.is_char_boundary(span.start)
            && text.is_char_boundary(span.end);
        if !inside || problem.message.is_empty() || problem.label.is_empty() || problem.help.is_none() {
            return Err(format!("not a whole problem in {} bytes: {problem:?}", text.len()));
        }
    }
    let drawn = terminal::draw(source, problems, false);
    printable(&drawn)?;
    let entry = Entry::Refused { source: source.clone(), problems: problems.to_vec() };
    let told = json::render(&[entry], "solver", 2);
    serde_json::from_str::<serde_json::Value>(&told).map_err(|error| format!("no JSON: {error}"))?;
    printable(&told)
}

/// No control character but the end of a line, and nothing that turns the direction of writing.
pub fn printable(text: &str) -> Result<(), String> {
    let turns = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}');
    match text.chars().find(|c| (c.is_control() && *c != '\n') || turns(*c)) {
        Some(c) => Err(format!("prints {c:?}")),
        None => Ok(()),
    }
}

pub fn one(input: &[u8]) -> Result<&'static str, String> {
    let source = match from_bytes("fuzz.yaml", input, &Limits::default()) {
        Ok(source) => source,
        Err(refused) => {
            whole(&refused.source, &refused.problems)?;
            return Ok("no text");
        }
    };
    let node = match read(&source, &Limits::default()) {
        Ok(node) => node,
        Err(problems) => {
            whole(&source, &problems)?;
            if read(&source, &Limits::default()).err() != Some(problems.clone()) {
                return Err("other problems the second time".into());
            }
            let differ = problems.iter().any(|problem| problem.code == "readers-disagree");
            return Ok(if differ { "readers disagree" } else { "no YAML" });
        }
    };
    let mut problems = Vec::new();
    let document: Option<Document> = decode(&node, &mut problems);
    match document {
        None => whole(&source, &problems).map(|()| "no document"),
        Some(_) if problems.is_empty() => Ok("a document"),
        Some(_) => whole(&source, &problems).map(|()| "a document with problems"),
    }
}
