//! What the proofs rest on, what was declared and not examined, and what the report does not show.

use super::section;
use super::wrap::{Paint, Tone, hanging, paragraph};
use crate::outcome::{Outcome, Premise};
use crate::report::content::{basis, calculations, times, title, why};

/// The premises, kind by kind.
pub(super) fn premises(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for kind in basis::kinds(&outcome.premises) {
        body.push_str(&format!("\n{}", paragraph(&format!("{} ({}):", kind.title, kind.meaning), 0)));
        body.extend(kind.premises.iter().map(|premise| hanging(&in_words(premise), "  - ", 4)));
    }
    if !body.is_empty() {
        body = format!("{}{body}", paragraph(&basis::premises(outcome), 0));
    }
    section(title::PREMISES, &body, paint)
}

fn in_words(premise: &Premise) -> String {
    let mut text = premise.tag.as_ref().map_or(String::new(), |tag| format!("{tag}: "));
    text.push_str(&premise.text);
    let owner = premise.owner.as_ref().map(|owner| format!("owner: {owner}"));
    let until = premise.expires.as_ref().map(|date| format!("until {date}"));
    let rest: Vec<String> = owner.into_iter().chain(until).collect();
    if rest.is_empty() { text } else { format!("{text} [{}]", rest.join(", ")) }
}

/// Calculated values with their working, where the model has any.
pub(super) fn calculations(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for told in calculations::told(outcome) {
        let heading = hanging(&told.heading, "", 2);
        body.push('\n');
        body.extend(heading.lines().map(|line| paint.tone(Tone::Strong, line) + "\n"));
        body.extend(told.lines.iter().map(|(label, text)| hanging(text, &format!("  {label:10}"), 12)));
    }
    if !body.is_empty() {
        body = format!("{}{body}", paragraph(calculations::CALCULATIONS, 0));
    }
    section(title::CALCULATIONS, &body, paint)
}

/// Response times and margins, where they were asked for.
pub(super) fn times(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    if outcome.tells_margins {
        body.push_str(&paragraph(times::TIMES, 0));
        for hazard in times::rows(outcome) {
            body.push_str(&format!("\n{}", hanging(&hazard.hazard, "", 2)));
            for row in hazard.rows {
                let figures = format!(
                    "  {} {}  needs {} of {}, left {}",
                    row.bar, row.trip, row.needs, row.available, row.left
                );
                let tone = if row.doubtful { Tone::Bad } else { Tone::Good };
                body.push_str(&format!("{}\n", paint.tone(tone, &figures)));
                body.push_str(&hanging(&format!("{}: {}", row.modes, row.stages), "    ", 4));
            }
        }
    }
    section(title::TIMES, &body, paint)
}

/// Why the proved claims hold, where that was asked.
pub(super) fn reasons(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for reason in why::reasons(outcome) {
        let tone = if reason.blind { Tone::Doubt } else { Tone::Strong };
        let heading = hanging(&reason.claims, "", 2);
        body.push('\n');
        body.extend(heading.lines().map(|line| paint.tone(tone, line) + "\n"));
        body.extend(reason.lines.iter().map(|line| hanging(line, "  - ", 4)));
    }
    if !body.is_empty() {
        body = format!("{}{body}", paragraph(why::WHY, 0));
    }
    section(title::WHY, &body, paint)
}

/// What the model declares and this version does not examine.
pub(super) fn not_examined(outcome: &Outcome, paint: Paint) -> String {
    let lines = outcome.not_examined.iter().map(|line| hanging(line, "- ", 2));
    section(title::NOT_EXAMINED, &lines.collect::<String>(), paint)
}

/// What the report does not show.
pub(super) fn limits(paint: Paint) -> String {
    let parts: Vec<String> = basis::LIMITS.iter().map(|text| paragraph(text, 0)).collect();
    section(title::LIMITS, &parts.join("\n"), paint)
}
