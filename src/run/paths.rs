//! `tripproof paths`: from options to the bytes of the report on cut sets and path sets.

use std::collections::BTreeSet;

use super::{Host, Product, colored, complaints, engines, load, output, read};
use crate::assess::structure::{Wanted, structures};
use crate::cli::{Color, PathsOptions};
use crate::conclude::conclude_structures;
use crate::engine::Engine;
use crate::model::{HazardId, ModeId, Model};
use crate::outcome::structure::Structures;
use crate::problem::nearest;
use crate::report::paths::{json, text};
use crate::report::{Entry, contradictions};

/// Does what is asked.
pub(super) fn paths(options: &PathsOptions, host: &Host) -> Product {
    if let Some(path) = &options.output
        && let Err(message) = output::usable(path, std::slice::from_ref(&options.model))
    {
        return Product::wrong(format!("error: {message}\n"));
    }
    let structures = match found(options) {
        Ok(structures) => structures,
        Err(Refusal::Model(entry)) => {
            let color = colored(options.color, host.stderr_is_terminal, host);
            return Product::wrong(complaints(&[*entry], color));
        }
        Err(Refusal::Other(message)) => return Product::wrong(format!("error: {message}\n")),
    };
    let code = structures.exit_code();
    let reproduces = contradictions(structures.source.name(), &structures.contradictions);
    let form = |color: bool| match options.json {
        true => json::render(&structures, code),
        false => text::render(&structures, color),
    };
    let Some(path) = &options.output else {
        let stdout = form(colored(options.color, host.stdout_is_terminal, host));
        return Product { stdout, stderr: reproduces, code };
    };
    match output::replace(path, form(options.color == Color::Always).as_bytes()) {
        Ok(()) => Product {
            stderr: format!("{reproduces}The cut sets and path sets are in {}.\n", path.display()),
            code,
            ..Product::default()
        },
        Err(message) => Product::wrong(format!("error: {message}\n")),
    }
}

/// Why there is nothing to report.
enum Refusal {
    Model(Box<Entry>),
    Other(String),
}

fn found(options: &PathsOptions) -> Result<Structures, Refusal> {
    let engine = engines().map_err(|error| Refusal::Other(error.0))?;
    let (source, sha256) = read::source(&options.model).map_err(Refusal::Model)?;
    let model = match load(&source) {
        Ok(model) => model,
        Err(problems) => return Err(Refusal::Model(Box::new(Entry::Refused { source, problems }))),
    };
    let wanted = Wanted {
        hazard: options
            .hazard
            .as_deref()
            .map(|tag| hazard(&model, tag))
            .transpose()
            .map_err(Refusal::Other)?,
        modes: options.mode.as_deref().map(|name| modes(&model, name)).transpose().map_err(Refusal::Other)?,
        order: options.order,
    };
    let found = structures(&model, &engine, &wanted).map_err(|error| {
        Refusal::Other(format!("{}: the solver could not do its work: {}", options.model.display(), error.0))
    })?;
    let outcome = conclude_structures(source, model, found, engine.name(), options.order);
    Ok(Structures { sha256, ..outcome })
}

fn hazard(model: &Model, tag: &str) -> Result<HazardId, String> {
    let found = model.hazards.iter().find(|(_, hazard)| hazard.name.tag == tag);
    let tags = || model.hazards.iter().map(|(_, hazard)| hazard.name.tag.as_str());
    found.map(|(id, _)| id).ok_or_else(|| {
        let near = nearest(tag, tags()).map_or(String::new(), |near| format!("; did you mean `{near}`?"));
        let all: Vec<&str> = tags().collect();
        format!("the model has no hazard `{tag}`{near}\nIts hazards: {}", all.join(", "))
    })
}

/// The modes of that name; of one group, if the name has the form `GROUP = MODE` or `GROUP MODE`.
fn modes(model: &Model, name: &str) -> Result<BTreeSet<ModeId>, String> {
    let words: Vec<&str> =
        name.split(|c: char| c == '=' || c.is_whitespace()).filter(|word| !word.is_empty()).collect();
    let full = |id: ModeId| {
        let mode = &model.modes[id];
        (model.groups[mode.group].name.tag.as_str(), mode.name.tag.as_str())
    };
    let fits = |id: &ModeId| match words.as_slice() {
        [mode] => full(*id).1 == *mode,
        [group, mode] => full(*id) == (*group, *mode),
        _ => false,
    };
    let found: BTreeSet<ModeId> = model.modes.ids().filter(fits).collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let names: Vec<String> =
        model.modes.ids().map(full).map(|(group, mode)| format!("{group} = {mode}")).collect();
    let last = words.last().copied().unwrap_or(name);
    let near = nearest(last, model.modes.ids().map(|id| full(id).1))
        .filter(|near| *near != last)
        .map_or(String::new(), |near| format!("; did you mean `{near}`?"));
    Err(format!("the model has no mode `{name}`{near}\nIts modes: {}", names.join(", ")))
}
