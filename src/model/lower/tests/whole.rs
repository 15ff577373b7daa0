//! Edits of the small model that concern several of its parts, or the words of what is told.

use super::edits::check;
use super::{CELL, shown};
use crate::load::load;
use crate::source::Source;

#[test]
fn rings_are_found() {
    check(&[
        ("  BAT: {}", "  BAT: { fed_by: 24V-A }", "ring-of-supplies @ MAINS OR BAT"),
        (
            "E-OFF-1: { set: [K1 = open, K3 = open] }",
            "E-OFF-1: { set: [K1 = open], after: [E-OFF-2] }",
            "ring-of-effects @ [E-OFF-2]",
        ),
        ("MS-1 = running, solver", "C-TEMP, solver", "ring-of-causes @ C-TEMP"),
        ("MS-1 = running, solver: SL-1, latched: false", "C-TEMP, solver: SL-1, latched: true", ""),
        ("MS-1 = running, solver: SL-1", "C-TEMP, solver: SL-1, on_delay: 2 s", ""),
    ]);
}

#[test]
fn every_mistake_of_a_file_is_reported_at_once() {
    let text = CELL
        .replacen("supply: 24V-A, on_loss: high", "supply: 24V-X, on_loss: hihg", 1)
        .replacen("K1 = open OR K2 = open", "K1 = opn OR K9 = open", 1)
        .replacen("title: Hard-wired relay chain,", "titel: Hard-wired relay chain,", 1);
    let source = Source::new("cell.yaml", text);
    let problems = load(&source).unwrap_err();
    assert_eq!(
        shown(&source, &problems),
        "unknown-key @ titel\nunknown-tag @ 24V-X\nunknown-word @ hihg\nunknown-position @ opn\nunknown-tag @ K9"
    );
}

#[test]
fn a_lost_section_causes_no_unknown_tags() {
    let start = CELL.find("hazards:").unwrap();
    let end = CELL.find("exclusions:").unwrap();
    let source = Source::new("cell.yaml", format!("{}{}", &CELL[..start], &CELL[end..]));
    let problems = load(&source).unwrap_err();
    assert_eq!(shown(&source, &problems), "missing-key @ ");
}

#[test]
fn no_cut_makes_it_panic() {
    let lines: Vec<&str> = CELL.lines().collect();
    for left_out in 0..lines.len() {
        let text: Vec<&str> =
            lines.iter().enumerate().filter(|(n, _)| *n != left_out).map(|(_, l)| *l).collect();
        let _ = load(&Source::new("cell.yaml", text.join("\n")));
    }
    let words: Vec<usize> = CELL.match_indices(' ').map(|(at, _)| at).step_by(11).collect();
    for at in words {
        let (before, after) = CELL.split_at(at);
        let rest = after.trim_start().split_once([' ', ',', '\n']).map_or("", |(_, rest)| rest);
        let _ = load(&Source::new("cell.yaml", format!("{before} x {rest}")));
        let _ = load(&Source::new("cell.yaml", format!("{before} [] {rest}")));
    }
}

#[test]
fn a_mixed_wiring_decides_no_winner() {
    let text = CELL.replacen("logic_solvers:\n", "logic_solvers:\n  PN-1: {}\n", 1).replacen(
        "[SL-1, RL-1], wiring: series",
        "[SL-1, RL-1, PN-1], wiring: SL-1 AND (RL-1 OR PN-1)",
        1,
    );
    let source = Source::new("cell.yaml", text);
    assert_eq!(shown(&source, &load(&source).unwrap_err()), "impossible-winner @ open");
}

#[test]
fn spaces_and_modes_agree_where_people_may_be() {
    check(&[
        (
            "people_in: { cell: [access] }",
            "people_in: { cell: [access, running] }",
            "contradiction @ running",
        ),
        ("people: never\n      normal: {", "people: expected\n      normal: {", "contradiction @ expected"),
        // Both ways at once: people where the mode says nobody, nobody where the mode says people.
        (
            "people_in: { cell: [access] }",
            "people_in: { cell: [running] }",
            "contradiction @ expected\ncontradiction @ running",
        ),
        // A group that no space names says nothing about spaces.
        ("idle: { people: never }", "idle: { people: expected }", ""),
        (
            "spaces:\n",
            "spaces:\n  ATTIC: { people_in: { bay: [idle] }, doors: { HATCH: {} } }\n",
            "contradiction @ idle",
        ),
        // A word that is no mode has its own problem.
        ("people_in: { cell: [access] }", "people_in: { cell: [acess] }", "unknown-mode @ acess"),
    ]);
}

#[test]
fn one_space_of_several_may_name_a_mode_with_people() {
    let text =
        CELL.replacen("people: never\n      normal: {", "people: expected\n      normal: {", 1).replacen(
            "spaces:\n",
            "spaces:\n  PIT: { people_in: { cell: [running] }, doors: { HATCH: {} } }\n",
            1,
        );
    let source = Source::new("cell.yaml", text);
    let problems = load(&source).err().unwrap_or_default();
    assert_eq!(shown(&source, &problems), "");
}

#[test]
fn only_one_link_brings_a_signal_to_a_solver() {
    check(&[
        // Side by side.
        (
            "logic_solvers:\n",
            "  BUS-2: { connects: [RL-1, SL-1], carries: [C-TEMP] }\nlogic_solvers:\n",
            "two-ways @ C-TEMP",
        ),
        // Around a corner: the shorter way is no better reason than the order of the file.
        (
            "logic_solvers:\n",
            "  BUS-2: { connects: [SL-1, PN-1], carries: [C-TEMP] }\n  BUS-3: { connects: [PN-1, RL-1], carries: [C-TEMP] }\n\
             logic_solvers:\n  PN-1: {}\n",
            "two-ways @ C-TEMP",
        ),
        // A link that only takes the signal further is no second way.
        (
            "logic_solvers:\n",
            "  BUS-2: { connects: [RL-1, PN-1], carries: [C-TEMP] }\nlogic_solvers:\n  PN-1: {}\n",
            "",
        ),
        // Nor is one that carries it where nobody uses it: TT-1 is used where it is wired only.
        ("logic_solvers:\n", "  BUS-2: { connects: [SL-1, RL-1], carries: [TT-1] }\nlogic_solvers:\n", ""),
    ]);
}

#[test]
fn a_temperature_is_not_written_in_kelvin() {
    check(&[
        ("TT-1 >= 85 degC", "TT-1 >= 120 K", "temperature-in-kelvin @ K"),
        ("TT-1 >= 85 degC", "120 K <= TT-1", "temperature-in-kelvin @ K"),
        ("acts_when: solvent >= 80 %LFL", "acts_when: surface >= 400 K", "temperature-in-kelvin @ K"),
        ("range: 0 .. 150 degC", "range: 0 .. 150 K", "temperature-in-kelvin @ K"),
        ("range: 0 .. 150 degC", "range: 0 K .. 150 degC", "temperature-in-kelvin @ K"),
        ("normal: 20 .. 40 degC", "normal: 20 .. 40 K", "temperature-in-kelvin @ K"),
        (
            "core: { range: -20 .. 200 degC }",
            "core: { range: -20 K .. 200 degC }",
            "temperature-in-kelvin @ K",
        ),
        ("solvent: 0 .. 4 %LFL,", "surface: 20 .. 40 K,", "temperature-in-kelvin @ K"),
        // A quantity whose range is in K alone is one of differences: its limits are in K, and not in degC.
        (
            "voltage: { range: 0 .. 1200 V }",
            "voltage: { range: 0 .. 1200 V }\n  spread: { range: 0 .. 50 K, normal: 0 .. 5 K }",
            "",
        ),
    ]);
    let spread = CELL.replacen("quantities:\n", "quantities:\n  spread: { range: 0 .. 50 K }\n", 1).replacen(
        "when: surface - core > 30 K",
        "when: spread >= 20 K",
        1,
    );
    assert!(load(&Source::new("cell.yaml", spread.as_str())).is_ok());
    let source = Source::new("cell.yaml", spread.replacen("spread >= 20 K", "spread >= 20 degC", 1));
    assert_eq!(shown(&source, &load(&source).unwrap_err()), "wrong-kind-of-unit @ degC");
}

#[test]
fn only_what_is_normal_may_be_one_value() {
    check(&[
        ("normal: 0 .. 5 %LFL", "normal: 0 .. 0 %LFL", ""),
        ("solvent: 0 .. 4 %LFL,", "solvent: 3 .. 3 %LFL,", ""),
        ("normal: 0 .. 5 %LFL", "normal: 5 .. 0 %LFL", "range-order @ 5 .. 0 %LFL"),
        ("solvent: 0 .. 4 %LFL,", "solvent: 4 .. 3 %LFL,", "range-order @ 4 .. 3 %LFL"),
        ("voltage: { range: 0 .. 1200 V }", "voltage: { range: 0 .. 0 V }", "range-order @ 0 .. 0 V"),
        ("range: 0 .. 150 degC", "range: 150 .. 150 degC", "range-order @ 150 .. 150 degC"),
    ]);
}

#[test]
fn a_safe_state_has_no_not_and_the_wanted_position_is_named() {
    let safe = "safe_state: K1 = open AND (K2 = open OR RV-1 = blowing)";
    let help = |to: &str| {
        let source = Source::new("cell.yaml", CELL.replacen(safe, &format!("safe_state: {to}"), 1));
        let problems = load(&source).unwrap_err();
        assert_eq!(problems.len(), 1, "{to}: {problems:?}");
        (problems[0].message.clone(), problems[0].help.clone().unwrap())
    };
    let wanted = |text: &str| format!("name the position that is wanted: {text}");
    let message = "a safe state has no NOT".to_string();
    assert_eq!(help("NOT K1 = closed"), (message.clone(), wanted("`K1 = open`")));
    assert_eq!(help("K2 = open AND NOT (FAN = stopped)"), (message, wanted("`FAN = low` or `FAN = full`")));
    assert_eq!(help("K1 <> closed"), ("a safe state has no `<>`".into(), wanted("`K1 = open`")));
    assert!(help("NOT (K1 = closed AND K2 = closed)").1.starts_with("it says where the actuators are"));
}

#[test]
fn a_word_that_an_input_does_not_show_is_answered_with_those_it_shows() {
    let told = |from: &str, to: &str| {
        let source = Source::new("cell.yaml", CELL.replacen(from, to, 1));
        let problems = load(&source).unwrap_err();
        assert_eq!(problems.len(), 1, "{to}: {problems:?}");
        format!("{}; {}", problems[0].message, problems[0].help.as_deref().unwrap())
    };
    assert_eq!(
        told("GD-3 > 20 %LFL, FL-1)", "GD-3 > 20 %LFL, FL-1 = open)"),
        "`FL-1` is a switch: it shows `detected` or `clear`; write `FL-1 = detected` (`fire` is so) or \
         `FL-1 = clear` (`fire` is not so)"
    );
    assert_eq!(
        told("GD-3 > 20 %LFL, FL-1)", "GD-3 > 20 %LFL, 1 = detected)"),
        "what is `detected` must be named by its tag, and this is a number; only `FL-1` is declared"
    );
    assert_eq!(
        told("HL-1 = open", "HL-1 = opne"),
        "`HL-1` is an interlock loop: it shows `open` or `closed`; did you mean `HL-1 = open`?"
    );
    assert_eq!(
        told("ES-1A = pressed", "ES-1A = open"),
        "`ES-1A` is a contact of an emergency stop device: it shows `pressed` or `released`; write \
         `ES-1A = pressed` or `ES-1A = released`"
    );
}
