//! Defects in rows of the matrix: marks, votes, set points, modes in which a cause is armed, overrides.

use tripproof::exact::Exact;
use tripproof::model::InputAtom;
use tripproof::syntax::expr::{Expr, ExprKind, Op, Value, Vote};

use super::operators::Mutant;
use super::text::{Text, entries, field, items, listed, set, words};

/// All variants of an expression with one part changed: `change` gives what may stand in place of a part.
fn variants(expr: &Expr, change: &dyn Fn(&Expr) -> Vec<Expr>) -> Vec<Expr> {
    let mut found = change(expr);
    let same = |kind| Expr { kind, span: expr.span };
    let each = |operands: &[Expr]| -> Vec<Vec<Expr>> {
        let one = |(at, operand): (usize, &Expr)| {
            let with = |new: Expr| {
                let mut operands = operands.to_vec();
                operands[at] = new;
                operands
            };
            variants(operand, change).into_iter().map(with).collect::<Vec<Vec<Expr>>>()
        };
        operands.iter().enumerate().flat_map(one).collect()
    };
    match &expr.kind {
        ExprKind::Or(operands) => found.extend(each(operands).into_iter().map(|o| same(ExprKind::Or(o)))),
        ExprKind::And(operands) => found.extend(each(operands).into_iter().map(|o| same(ExprKind::And(o)))),
        ExprKind::Vote(vote) => found.extend(
            each(&vote.operands)
                .into_iter()
                .map(|operands| same(ExprKind::Vote(Vote { operands, ..vote.clone() }))),
        ),
        ExprKind::Not(operand) => {
            found.extend(variants(operand, change).into_iter().map(|o| same(ExprKind::Not(Box::new(o)))));
        }
        ExprKind::Compare(_) | ExprKind::Name(_) | ExprKind::Call { .. } => {}
    }
    found
}

/// Every cause with a part of its condition changed.
fn conditions(text: &Text, change: &dyn Fn(&Expr) -> Vec<Expr>) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        let Some(when) = field(cause, "when") else { continue };
        let Some(expr) = Text::expression(when) else { continue };
        for new in variants(&expr, change) {
            let new = new.to_string();
            found.push(Mutant::new(format!("{tag}: {new}"), text.with(vec![set(when, &new)])));
        }
    }
    found
}

pub fn drop_mark(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        let Some(demands) = field(cause, "demands") else { continue };
        let marks = words(demands);
        for mark in &marks {
            let rest: Vec<String> = marks.iter().filter(|other| *other != mark).cloned().collect();
            found.push(Mutant::new(format!("{tag}: {mark}"), text.with(vec![listed(demands, &rest)])));
        }
    }
    found
}

pub fn drop_position(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, effect) in text.elements("effects") {
        let Some(positions) = field(effect, "set") else { continue };
        let all = words(positions);
        for position in all.iter().filter(|_| all.len() > 1) {
            let rest: Vec<String> = all.iter().filter(|other| *other != position).cloned().collect();
            found.push(Mutant::new(format!("{tag}: {position}"), text.with(vec![listed(positions, &rest)])));
        }
    }
    found
}

/// The effect demands another position of the same actuator.
pub fn turn_effect(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    let actuators = text.elements("actuators");
    for (tag, effect) in text.elements("effects") {
        let Some(positions) = field(effect, "set") else { continue };
        let all = words(positions);
        for (at, position) in all.iter().enumerate() {
            let (device, now) = position.split_once(" = ").unwrap();
            let Some((_, actuator)) = actuators.iter().find(|(tag, _)| *tag == device) else { continue };
            let others = words(field(actuator, "positions").unwrap());
            for other in others.iter().filter(|other| *other != now) {
                let mut new = all.clone();
                new[at] = format!("{device} = {other}");
                found.push(Mutant::new(
                    format!("{tag}: {device} = {other}"),
                    text.with(vec![listed(positions, &new)]),
                ));
            }
        }
    }
    found
}

fn vote_of(vote: &Vote, m: u32, operands: Vec<Expr>) -> ExprKind {
    let n = u32::try_from(operands.len()).unwrap();
    ExprKind::Vote(Vote { m, n, operands, ..vote.clone() })
}

pub fn raise_vote(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| match &expr.kind {
        ExprKind::Vote(vote) if vote.m < vote.n => {
            vec![Expr { kind: vote_of(vote, vote.m + 1, vote.operands.clone()), ..expr.clone() }]
        }
        _ => Vec::new(),
    })
}

pub fn lower_vote(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| match &expr.kind {
        ExprKind::Vote(vote) if vote.m > 1 => {
            vec![Expr { kind: vote_of(vote, vote.m - 1, vote.operands.clone()), ..expr.clone() }]
        }
        _ => Vec::new(),
    })
}

/// One head is no longer read by the vote.
pub fn drop_voter(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| {
        let ExprKind::Vote(vote) = &expr.kind else { return Vec::new() };
        let without = |at: usize| {
            let mut operands = vote.operands.clone();
            operands.remove(at);
            (operands.len() >= vote.m as usize && !operands.is_empty())
                .then(|| Expr { kind: vote_of(vote, vote.m, operands), ..expr.clone() })
        };
        (0..vote.operands.len()).filter_map(without).collect()
    })
}

/// One head stands twice in the vote, in place of another.
pub fn double_voter(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| {
        let ExprKind::Vote(vote) = &expr.kind else { return Vec::new() };
        let doubled = |at: usize| {
            let mut operands = vote.operands.clone();
            operands[at] = operands[(at + 1) % operands.len()].clone();
            Expr { kind: vote_of(vote, vote.m, operands), ..expr.clone() }
        };
        (0..vote.operands.len()).map(doubled).collect()
    })
}

/// One of several conditions that trip is left out.
pub fn drop_alternative(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| match &expr.kind {
        ExprKind::Or(operands) => (0..operands.len())
            .map(|at| {
                let mut rest = operands.clone();
                rest.remove(at);
                let kind = if rest.len() == 1 { rest.remove(0).kind } else { ExprKind::Or(rest) };
                Expr { kind, ..expr.clone() }
            })
            .collect(),
        _ => Vec::new(),
    })
}

/// All conditions must hold where one was enough.
pub fn and_for_or(text: &Text) -> Vec<Mutant> {
    conditions(text, &|expr| match &expr.kind {
        ExprKind::Or(operands) => vec![Expr { kind: ExprKind::And(operands.clone()), ..expr.clone() }],
        _ => Vec::new(),
    })
}

/// The comparison or the state, the other way round.
pub fn turn_condition(text: &Text) -> Vec<Mutant> {
    const STATES: &[(&str, &str)] = &[("detected", "clear"), ("open", "closed"), ("pressed", "released")];
    conditions(text, &|expr| {
        let ExprKind::Compare(comparison) = &expr.kind else { return Vec::new() };
        let mut new = comparison.clone();
        new.op = comparison.op.mirrored();
        if new.op == comparison.op {
            let Some(Value::Name { tag, .. }) = new.right.terms.first_mut().map(|term| &mut term.value)
            else {
                return Vec::new();
            };
            let turned = STATES.iter().find_map(|(a, b)| match tag.text.as_str() {
                word if word == *a => Some(*b),
                word if word == *b => Some(*a),
                _ => None,
            });
            let Some(turned) = turned else { return Vec::new() };
            tag.text = turned.to_string();
        }
        vec![Expr { kind: ExprKind::Compare(new), ..expr.clone() }]
    })
}

/// Every comparison of a reading with a set point as (cause, place of the number, relation, input).
struct SetPoint {
    cause: String,
    text: String,
    span: tripproof::source::Span,
    unit: String,
    number: Exact,
    rises: bool,
    input: String,
}

fn set_points(text: &Text) -> Vec<SetPoint> {
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        let Some(when) = field(cause, "when") else { continue };
        let Some(expr) = Text::expression(when) else { continue };
        expr.walk(&mut |part| {
            let ExprKind::Compare(comparison) = &part.kind else { return };
            let (Some(input), [term]) = (comparison.left.as_name(), comparison.right.terms.as_slice()) else {
                return;
            };
            let Value::Literal(literal) = &term.value else { return };
            let Some(unit) = &literal.unit else { return };
            let number = if term.negative { -&literal.number } else { literal.number.clone() };
            found.push(SetPoint {
                cause: tag.to_string(),
                text: format!("{number} {}", unit.text),
                span: term.span,
                unit: unit.text.clone(),
                number,
                rises: matches!(comparison.op, Op::AtLeast | Op::Above),
                input: input.text.clone(),
            });
        });
    }
    found
}

/// The set point in or beyond the part of the range that the instrument can show: at its end, and one unit beyond.
fn beyond(text: &Text, further: i64) -> Vec<Mutant> {
    let mut found = Vec::new();
    let sensors = text.elements("sensors");
    for point in set_points(text) {
        let Some((_, sensor)) = sensors.iter().find(|(tag, _)| *tag == point.input) else { continue };
        let range = field(sensor, "range").and_then(|node| node.text()).unwrap();
        let (low, rest) = range.split_once(" .. ").unwrap();
        let (high, unit) = rest.split_once(' ').unwrap();
        if unit != point.unit {
            continue;
        }
        let end = Exact::parse_decimal(if point.rises { high } else { low }).unwrap();
        let step = Exact::int(if point.rises { further } else { -further });
        let new = format!("{} {}", &end + &step, point.unit);
        let place = format!("{}: {} at {new}", point.cause, point.input);
        found.push(Mutant::new(place, text.with(vec![(point.span, new)])));
    }
    found
}

pub fn set_point_out_of_range(text: &Text) -> Vec<Mutant> {
    beyond(text, 1)
}

pub fn set_point_at_end(text: &Text) -> Vec<Mutant> {
    beyond(text, 0)
}

/// The set point where harm begins, so that the accuracy hides it.
pub fn set_point_at_harm(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    let (model, points) = (&text.model, set_points(text));
    let hazards = text.elements("hazards");
    for (_, cause) in model.causes.iter() {
        for hazard in &cause.credited_for {
            let tag = model.hazards[*hazard].name.tag.as_str();
            let Some((_, node)) = hazards.iter().find(|(other, _)| *other == tag) else { continue };
            let Some(when) = field(node, "when").and_then(Text::expression) else { continue };
            when.walk(&mut |part| {
                let ExprKind::Compare(limit) = &part.kind else { return };
                let (Some(quantity), [term]) = (limit.left.as_name(), limit.right.terms.as_slice()) else {
                    return;
                };
                let Value::Literal(literal) = &term.value else { return };
                let Some(unit) = &literal.unit else { return };
                for point in
                    points.iter().filter(|point| point.cause == cause.name.tag && point.unit == unit.text)
                {
                    let sensors = text.elements("sensors");
                    let Some((_, sensor)) = sensors.iter().find(|(tag, _)| *tag == point.input) else {
                        continue;
                    };
                    let measures = field(sensor, "measures").and_then(|node| node.text());
                    if measures != Some(quantity.text.as_str()) {
                        continue;
                    }
                    let sign = if term.negative { "-" } else { "" };
                    let new = format!("{sign}{literal}");
                    let place = format!("{}: {} at {new}", point.cause, point.input);
                    found.push(Mutant::new(place, text.with(vec![(point.span, new)])));
                }
            });
        }
    }
    found
}

/// Two set points of one unit that follow each other in the file, exchanged.
pub fn swap_set_points(text: &Text) -> Vec<Mutant> {
    let points = set_points(text);
    let mut found = Vec::new();
    for (at, one) in points.iter().enumerate() {
        let other = points[at + 1..]
            .iter()
            .find(|other| other.unit == one.unit && other.number != one.number && other.cause != one.cause);
        if let Some(other) = other {
            let edits = vec![(one.span, other.text.clone()), (other.span, one.text.clone())];
            let place = format!("{} {} with {} {}", one.cause, one.text, other.cause, other.text);
            found.push(Mutant::new(place, text.with(edits)));
        }
    }
    found
}

/// Not armed in one of the modes in which a hazard exists for which the cause is credited.
pub fn disarm(text: &Text) -> Vec<Mutant> {
    let (mut found, model) = (Vec::new(), &text.model);
    for (tag, node) in text.elements("causes") {
        let (_, cause) = model.causes.iter().find(|(_, cause)| cause.name.tag == tag).unwrap();
        for (group, groups) in model.groups.iter() {
            let wanted = cause.credited_for.iter().any(|hazard| model.hazards[*hazard].group == group);
            let named = cause.armed.get(&group);
            if named.is_none() && !wanted {
                continue;
            }
            let armed: Vec<_> = groups
                .modes
                .iter()
                .filter(|mode| named.is_none_or(|named| named.contains(mode)))
                .map(|mode| model.modes[*mode].name.tag.clone())
                .collect();
            for mode in armed.iter().filter(|_| armed.len() > 1) {
                let rest: Vec<String> = armed.iter().filter(|other| *other != mode).cloned().collect();
                let group = &groups.name.tag;
                let place = format!("{tag}: {group} {mode}");
                let edit = match field(node, "armed").and_then(|armed| field(armed, group)) {
                    Some(list) => listed(list, &rest),
                    None if field(node, "armed").is_some() => continue,
                    None => text.put(node, "armed", &format!("{{ {group}: [{}] }}", rest.join(", "))),
                };
                found.push(Mutant::new(place, text.with(vec![edit])));
            }
        }
    }
    found
}

/// The rule for heads that are out of a vote, gone or the other way round.
pub fn degraded_vote(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        let Some(rules) = field(cause, "degraded_vote") else { continue };
        let edit = text.without(cause, "degraded_vote").unwrap();
        found.push(Mutant::new(format!("{tag}: no rule"), text.with(vec![edit])));
        let words = words(rules);
        if words.last().is_some_and(|last| last == "trip") {
            let mut new = words.clone();
            *new.last_mut().unwrap() = "no_trip".into();
            found
                .push(Mutant::new(format!("{tag}: ends with no_trip"), text.with(vec![listed(rules, &new)])));
        }
        found.push(Mutant::new(
            format!("{tag}: no_trip at once"),
            text.with(vec![listed(rules, &["no_trip".to_string()])]),
        ));
    }
    found
}

/// Another solver evaluates the cause.
pub fn move_cause(text: &Text) -> Vec<Mutant> {
    let solvers: Vec<&str> = text.elements("logic_solvers").into_iter().map(|(tag, _)| tag).collect();
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        let Some(solver) = field(cause, "solver") else { continue };
        for other in solvers.iter().filter(|other| Some(**other) != solver.text()) {
            found.push(Mutant::new(format!("{tag}: to {other}"), text.with(vec![set(solver, other)])));
        }
    }
    found
}

/// The override device takes out one more input: one that stands in for another of its inputs.
pub fn override_more_inputs(text: &Text) -> Vec<Mutant> {
    let (mut found, model) = (Vec::new(), &text.model);
    for (tag, device) in text.elements("overrides") {
        let list = field(device, "inputs").unwrap();
        let now = words(list);
        let read: Vec<String> = model
            .causes
            .iter()
            .flat_map(|(_, cause)| cause.when.atoms())
            .filter_map(|atom| match atom {
                InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => {
                    Some(model.inputs[*input].name.tag.clone())
                }
                _ => None,
            })
            .collect();
        for (input, _) in text.inputs() {
            if now.iter().any(|other| other == input) || !read.iter().any(|other| other == input) {
                continue;
            }
            let same = now
                .iter()
                .any(|other| super::inputs::observed(text, other) == super::inputs::observed(text, input));
            if !same {
                continue;
            }
            let mut new = now.clone();
            new.push(input.to_string());
            found.push(Mutant::new(format!("{tag}: also {input}"), text.with(vec![listed(list, &new)])));
        }
    }
    found
}

pub fn override_more_at_once(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, device) in text.elements("overrides") {
        let Some(most) = field(device, "at_most") else { continue };
        let number: usize = most.text().unwrap().parse().unwrap();
        let edit = set(most, &(number + 1).to_string());
        found.push(Mutant::new(format!("{tag}: {}", number + 1), text.with(vec![edit])));
        let edit = text.without(device, "at_most").unwrap();
        found.push(Mutant::new(format!("{tag}: all"), text.with(vec![edit])));
    }
    found
}

pub fn override_more_modes(text: &Text) -> Vec<Mutant> {
    let (mut found, groups) = (Vec::new(), text.elements("modes"));
    for (tag, device) in text.elements("overrides") {
        let Some(modes) = field(device, "modes") else { continue };
        found.push(Mutant::new(
            format!("{tag}: every mode"),
            text.with(vec![text.without(device, "modes").unwrap()]),
        ));
        for (group, _, list) in entries(modes) {
            let now = words(list);
            let (_, all) = groups.iter().find(|(tag, _)| *tag == group).unwrap();
            for (mode, ..) in entries(all).iter().filter(|(mode, ..)| !now.iter().any(|other| other == mode))
            {
                let mut new = now.clone();
                new.push(mode.to_string());
                found.push(Mutant::new(format!("{tag}: also {mode}"), text.with(vec![listed(list, &new)])));
            }
        }
    }
    found
}

pub fn override_without_limit(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, device) in text.elements("overrides") {
        for name in ["time_limit", "announces"] {
            if let Some(edit) = text.without(device, name) {
                found.push(Mutant::new(format!("{tag}: {name}"), text.with(vec![edit])));
            }
        }
    }
    found
}

/// A credited cause is turned into an alarm: its credit is lost.
pub fn lose_credit(text: &Text) -> Vec<Mutant> {
    let mut found = Vec::new();
    for (tag, cause) in text.elements("causes") {
        if field(cause, "credited_for").is_some_and(|list| !items(list).is_empty()) {
            let edit = text.without(cause, "credited_for").unwrap();
            found.push(Mutant::new(tag.to_string(), text.with(vec![edit])));
        }
    }
    found
}
