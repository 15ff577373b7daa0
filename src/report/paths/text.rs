//! The structures for people: plain text, 80 columns.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use num_bigint::BigUint;
use unicode_width::UnicodeWidthStr;

use super::{ORDER, WORDS, completeness, modes, tags};
use crate::model::Model;
use crate::outcome::structure::{Element, Found, Sets, Structured, Structures};
use crate::report::content::{DISAGREEMENT, SIMULATOR_SAYS, SOLVER_SAYS, basis, title, values};
use crate::report::counted;
use crate::report::text::wrap::{Paint, Tone, hanging, paragraph};

/// Digits of an importance that are shown.
const DIGITS: u32 = 4;
/// Columns of the labels of the head.
const LABEL: usize = 11;

/// The whole report.
pub fn render(structures: &Structures, color: bool) -> String {
    let paint = Paint { color };
    let mut all = head(structures, paint);
    if structures.protections.is_empty() {
        all.push_str(&paragraph("The model has no hazard in a mode that was asked for.", 0));
    }
    for protection in &structures.protections {
        all.push('\n');
        all.push_str(&one(structures, protection, paint));
    }
    all.push_str(&disagreements(structures, paint));
    all.push_str(&ends(structures, paint));
    all
}

fn heading(text: &str, paint: Paint) -> String {
    format!("\n{}\n\n", paint.tone(Tone::Strong, &text.to_uppercase()))
}

fn head(structures: &Structures, paint: Paint) -> String {
    let system = &structures.model.system;
    let mut all =
        format!("{}\n\n", paint.tone(Tone::Strong, "Cut sets and path sets of the interlock logic"));
    let order = structures.order;
    for (label, text) in [
        ("Design", format!("{}, revision {}", system.title, system.revision)),
        ("File", structures.source.name().to_string()),
        ("SHA-256", structures.sha256.clone()),
        ("Tool", format!("tripproof {}, solver {}", env!("CARGO_PKG_VERSION"), structures.engine)),
        ("Order", format!("cut sets with up to {} are listed", counted(order, "source"))),
    ] {
        all.push_str(&hanging(&text, &format!("{:LABEL$}", format!("{label}:")), LABEL));
    }
    for words in WORDS {
        all.push_str(&format!("\n{}", paragraph(words, 0)));
    }
    all
}

fn one(structures: &Structures, protection: &Structured, paint: Paint) -> String {
    let model = &structures.model;
    let name = &model.hazards[protection.hazard].name;
    let title = match &name.title {
        Some(title) => format!("{}, {title}", name.tag),
        None => name.tag.clone(),
    };
    let mut all = format!("{}\n", paint.tone(Tone::Strong, &title));
    let named = modes(structures, &protection.modes);
    let word = if named.len() == 1 { "Mode" } else { "Modes" };
    all.push_str(&hanging(&format!("{word}: {}", named.join(", ")), "  ", 4));
    if let Some(reason) = &protection.one_engine {
        all.push_str(&paragraph(&format!("Decided by one engine only ({reason})."), 2));
    }
    match &protection.found {
        Found::Impossible => all.push_str(&paragraph("None of its situations exists here.", 2)),
        Found::Undecided(reason) => {
            all.push_str(&paragraph(&format!("Undecided, never to be read as protected: {reason}."), 2));
        }
        Found::Disputed => {
            all.push_str(&paragraph("Internal disagreement, see below: nothing is told here.", 2))
        }
        Found::Sets(sets) => all.push_str(&listed(model, sets)),
    }
    all
}

fn listed(model: &Model, sets: &Sets) -> String {
    let mut all = String::new();
    all.push_str(&hanging(&format!("Cut sets: {}", completeness(sets)), "  ", 4));
    let by_size = sets.cuts.iter().fold(BTreeMap::<usize, Vec<Vec<String>>>::new(), |mut map, cut| {
        map.entry(cut.len()).or_default().push(tags(model, cut));
        map
    });
    for (size, cuts) in by_size.iter().filter(|(size, _)| **size > 0) {
        all.push_str(&format!("  Order {size} ({})\n", cuts.len()));
        all.extend(bundled(cuts).into_iter().map(|line| hanging(&line, "    - ", 6)));
    }
    if let Some(whole) = &sets.whole {
        let listed = whole.paths.len();
        let count = match whole.number_of_paths == BigUint::from(listed) {
            true => format!("all {listed}"),
            false => format!("the {listed} smallest of {}", whole.number_of_paths),
        };
        let paths: Vec<Vec<String>> = whole.paths.iter().map(|path| tags(model, path)).collect();
        match paths.as_slice() {
            [] => all.push_str("  Path sets: none\n"),
            [only] if only.is_empty() => {
                all.push_str(&paragraph("Path sets: the empty one; nothing needs to work.", 2))
            }
            paths => {
                all.push_str(&format!("  Minimal path sets ({count})\n"));
                all.extend(paths.iter().take(SHOWN).map(|path| hanging(&path.join(", "), "    - ", 6)));
                if let Some(more) = paths.len().checked_sub(SHOWN).filter(|more| *more > 0) {
                    all.push_str(&paragraph(
                        &format!("and {more} larger ones; `--format json` lists them."),
                        6,
                    ));
                }
            }
        }
    }
    all.push_str(&disjoint(model, sets));
    if !sets.elements.is_empty() {
        all.push('\n');
        all.push_str(&table(model, sets));
    }
    all
}

/// Path sets that the text shows; the others are longer and seldom read.
const SHOWN: usize = 12;

fn disjoint(model: &Model, sets: &Sets) -> String {
    match &sets.disjoint {
        None => paragraph("Disjoint path sets: any number, since nothing needs to work.", 2),
        Some(paths) if paths.is_empty() => "  Disjoint path sets: none\n".into(),
        Some(paths) => {
            let mut all = format!("  A largest family of disjoint path sets ({})\n", paths.len());
            all.extend(paths.iter().map(|path| hanging(&tags(model, path).join(", "), "    - ", 6)));
            all
        }
    }
}

/// One line of a list: it stands for every choice of one tag from each of its parts.
type Line = BTreeSet<BTreeSet<String>>;

/// Sets of one size in few lines. Lines that differ in one part only are put together again and again, so every set is
/// in exactly one line.
fn bundled(sets: &[Vec<String>]) -> Vec<String> {
    let mut lines: Vec<Line> =
        sets.iter().map(|set| set.iter().map(|tag| BTreeSet::from([tag.clone()])).collect()).collect();
    let without = |line: &Line, part: &BTreeSet<String>| -> Line {
        line.iter().filter(|other| *other != part).cloned().collect()
    };
    loop {
        // How many lines have each rest in common.
        let mut common: HashMap<Line, usize> = HashMap::new();
        for line in &lines {
            line.iter().for_each(|part| *common.entry(without(line, part)).or_default() += 1);
        }
        let mut places: HashMap<Line, usize> = HashMap::new();
        let mut merged: Vec<(Line, BTreeSet<String>)> = Vec::new();
        for line in &lines {
            // The rest that most lines have; of equal ones the same for every line, so that some lines always meet.
            let rests = line.iter().map(|part| (without(line, part), part));
            let best =
                rests.max_by(|(a, _), (b, _)| common.get(a).cmp(&common.get(b)).then_with(|| b.cmp(a)));
            let Some((rest, part)) = best else { continue };
            let place = *places.entry(rest.clone()).or_insert(merged.len());
            match merged.get_mut(place) {
                Some((_, choices)) => choices.extend(part.iter().cloned()),
                None => merged.push((rest, part.clone())),
            }
        }
        let before = lines.len();
        lines = merged.into_iter().map(|(rest, part)| rest.into_iter().chain([part]).collect()).collect();
        if lines.len() == before {
            break;
        }
    }
    lines.iter().map(in_words).collect()
}

/// `A and B and any one of (C, D)`.
fn in_words(line: &Line) -> String {
    let choice = |tags: &BTreeSet<String>| {
        let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
        match tags.as_slice() {
            [one] => one.to_string(),
            many => format!("any one of ({})", many.join(", ")),
        }
    };
    let (single, many): (Vec<&BTreeSet<String>>, Vec<&BTreeSet<String>>) =
        line.iter().partition(|tags| tags.len() == 1);
    let parts: Vec<String> = single.into_iter().chain(many).map(choice).collect();
    parts.join(" and ")
}

/// Every source that is in a cut set, with how many of each order, most important first.
fn table(model: &Model, sets: &Sets) -> String {
    let orders: Vec<usize> =
        (1..=sets.order).filter(|order| sets.sizes.get(*order).is_some_and(|n| *n > BigUint::ZERO)).collect();
    let more = sets.larger() > BigUint::ZERO;
    let mut rows: Vec<&Element> = sets.elements.iter().collect();
    rows.sort_by(|a, b| {
        b.importance
            .cmp(&a.importance)
            .then_with(|| model.source_tag(a.source).cmp(&model.source_tag(b.source)))
    });
    let number = |element: &Element, order: usize| {
        element.sizes.get(order).map_or_else(|| "0".to_string(), BigUint::to_string)
    };
    let mut head = vec!["source".to_string()];
    head.extend(orders.iter().map(|order| format!("order {order}")));
    if more {
        head.push("higher".into());
    }
    head.push("importance".into());
    let mut lines = vec![head];
    for element in rows {
        let mut line = vec![model.source_tag(element.source)];
        line.extend(orders.iter().map(|order| number(element, *order)));
        if more {
            line.push(element.sizes.iter().skip(sets.order + 1).sum::<BigUint>().to_string());
        }
        line.push(element.importance.as_ref().map_or("unknown".into(), |value| value.rounded(DIGITS)));
        lines.push(line);
    }
    let columns = lines.first().map_or(0, Vec::len);
    let width = |column: usize| {
        lines.iter().filter_map(|line| line.get(column)).map(|text| text.width()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut all = String::new();
    for line in &lines {
        let mut text = String::from("  ");
        for (column, (cell, width)) in line.iter().zip(&widths).enumerate() {
            let space = " ".repeat(width.saturating_sub(cell.width()));
            match column {
                0 => text.push_str(&format!("{cell}{space}")),
                // The decimal points of the last column stand near each other on the left.
                _ if column + 1 == columns => text.push_str(&format!("  {cell}")),
                _ => text.push_str(&format!("  {space}{cell}")),
            }
        }
        all.push_str(text.trim_end());
        all.push('\n');
    }
    let others = sets.sources.saturating_sub(sets.elements.len());
    if others > 0 && sets.whole.is_some() {
        let line = match others {
            1 => "1 further source that was looked at is in no minimal cut set; its importance is 0."
                .to_string(),
            n => format!(
                "{n} further sources that were looked at are in no minimal cut set; their importance is 0."
            ),
        };
        all.push_str(&paragraph(&line, 2));
    }
    all
}

fn disagreements(structures: &Structures, paint: Paint) -> String {
    if structures.disagreements.is_empty() && structures.contradictions.is_empty() {
        return String::new();
    }
    let mut all = heading(title::DISAGREEMENT, paint);
    all.push_str(&paragraph(DISAGREEMENT, 0));
    for one in &structures.disagreements {
        all.push_str(&format!("\n{}", hanging(&one.claim, "- ", 2)));
        if !one.engine.is_empty() {
            all.push_str(&paragraph(&format!("{SOLVER_SAYS} {}", values(&one.engine)), 2));
        }
        all.push_str(&paragraph(&format!("{SIMULATOR_SAYS} {}", one.simulator), 2));
    }
    for one in &structures.contradictions {
        all.push_str(&format!("\n{}", hanging(&one.about, "- ", 2)));
        all.extend(one.answers.iter().map(|(engine, answer)| paragraph(&format!("{engine}: {answer}"), 2)));
    }
    all
}

fn ends(structures: &Structures, paint: Paint) -> String {
    let mut all = String::new();
    let kinds = basis::kinds(&structures.premises);
    if !kinds.is_empty() {
        all.push_str(&heading("What the sets rest on", paint));
        for (number, kind) in kinds.iter().enumerate() {
            let gap = if number == 0 { "" } else { "\n" };
            all.push_str(&format!("{gap}{}", paragraph(&format!("{} ({}):", kind.title, kind.meaning), 0)));
            all.extend(kind.premises.iter().map(|premise| {
                let tag = premise.tag.as_ref().map_or(String::new(), |tag| format!("{tag}: "));
                hanging(&format!("{tag}{}", premise.text), "  - ", 4)
            }));
        }
    }
    all.push_str(&heading(title::LIMITS, paint));
    let parts: Vec<String> =
        std::iter::once(&ORDER).chain(basis::LIMITS).map(|text| paragraph(text, 0)).collect();
    all + &parts.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(sets: &[&str]) -> Vec<String> {
        let sets: Vec<Vec<String>> =
            sets.iter().map(|set| set.split(' ').map(str::to_string).collect()).collect();
        bundled(&sets)
    }

    #[test]
    fn sets_that_differ_in_one_member_share_a_line() {
        assert_eq!(lines(&["A", "B"]), ["any one of (A, B)"]);
        assert_eq!(lines(&["K S", "R S", "S T"]), ["S and any one of (K, R, T)"]);
        assert_eq!(lines(&["A C", "A D", "B C", "B D"]), ["any one of (A, B) and any one of (C, D)"]);
        assert_eq!(lines(&["A B"]), ["A and B"]);
        assert!(lines(&[]).is_empty());
    }

    #[test]
    fn every_set_stands_in_exactly_one_line() {
        // Two of three, which no single line can say.
        assert_eq!(lines(&["A B", "A C", "B C"]), ["A and any one of (B, C)", "B and C"]);
    }
}
