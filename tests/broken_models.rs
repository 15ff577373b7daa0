//! Every shipped model, broken in every place in every way: a mistake is reported where it stands, and nothing panics.
//!
//! The places come from the span tree and the JSON Schema of the language (`places`); an operator turns a model into
//! many broken ones (`shape`, `value`, `expression`, `yaml`), each with the place at which a problem is expected.
//! Models are sampled: every k-th mutant of an operator, k chosen so that no operator tries more than its share; the
//! number of places is printed with the number tried. `TRIPPROOF_ALL_MUTANTS=NAME` tries all of the operators
//! whose name contains it; empty, of every operator (a quarter of an hour).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "broken_models/expression.rs"]
mod expression;
#[path = "broken_models/mutant.rs"]
mod mutant;
#[path = "broken_models/places.rs"]
mod places;
#[path = "broken_models/shape.rs"]
mod shape;
#[path = "broken_models/value.rs"]
mod value;
#[path = "broken_models/yaml.rs"]
mod yaml;

use mutant::Mutant;
use places::Shipped;

type Operator = fn(&Shipped) -> Vec<Mutant>;

/// Name, operator, least number of mutants over all shipped models, before sampling.
const OPERATORS: &[(&str, Operator, usize)] = &[
    ("unknown key", shape::unknown_key, 229),
    ("misspelt key", shape::misspelt_key, 1276),
    ("misspelt declaration", shape::misspelt_declaration, 276),
    ("duplicate key", shape::duplicate_key, 1552),
    ("missing required key", shape::missing_required_key, 409),
    ("missing other key", shape::missing_other_key, 1142),
    ("empty value", shape::empty_value, 1552),
    ("list for a value", shape::list_for_value, 1298),
    ("block for a value", shape::block_for_value, 1298),
    ("value for a list", shape::value_for_list, 251),
    ("value for a block", shape::value_for_block, 360),
    ("list for a block", shape::list_for_block, 236),
    ("missing unit", value::missing_unit, 164),
    ("wrong kind of unit", value::wrong_kind_of_unit, 164),
    ("misspelt unit", value::misspelt_unit, 164),
    ("unit without space", value::unit_without_space, 164),
    ("decimal comma", value::decimal_comma, 164),
    ("negative value", value::negative_value, 120),
    ("ends of range swapped", value::ends_of_range_swapped, 43),
    ("range with a dash", value::range_with_a_dash, 43),
    ("number too long", value::number_too_long, 164),
    ("unknown tag", value::unknown_tag, 440),
    ("misspelt tag", value::misspelt_tag, 440),
    ("wrong kind of tag", value::wrong_kind_of_tag, 440),
    ("tag with a space", value::tag_with_a_space, 440),
    ("bad word of a closed list", value::bad_word, 448),
    ("bad flag", value::bad_flag, 473),
    ("bad count", value::bad_count, 140),
    ("bad date", value::bad_date, 24),
    ("bad number", value::bad_number, 8),
    ("expression: token removed", expression::token_removed, 454),
    ("expression: NOT removed", expression::not_removed, 0),
    ("expression: token doubled", expression::token_doubled, 451),
    ("expression: operator misspelt", expression::operator_misspelt, 500),
    ("expression: parenthesis added", expression::parenthesis_added, 908),
    ("expression: unknown word", expression::unknown_word, 238),
    ("expression: misspelt word", expression::misspelt_word, 238),
    ("expression: wrong unit", expression::unit_wrong, 98),
    ("expression: wrong number", expression::number_wrong, 131),
    ("expression: impossible vote", expression::vote_impossible, 9),
    ("expression: vote lacks an operand", expression::vote_lacks_an_operand, 6),
    ("yaml: tab indentation", yaml::tab_indentation, 431),
    ("yaml: wrong indentation", yaml::wrong_indentation, 523),
    ("yaml: no space after a colon", yaml::no_space_after_colon, 1428),
    ("yaml: unclosed quote", yaml::unclosed_quote, 2579),
    ("yaml: bracket not closed", yaml::bracket_not_closed, 488),
    ("yaml: bracket not opened", yaml::bracket_not_opened, 488),
    ("yaml: comma doubled", yaml::comma_doubled, 898),
    ("yaml: comma removed", yaml::comma_removed, 898),
    ("yaml: second document", yaml::second_document, 87),
    ("yaml: merge key", yaml::merge_key, 364),
    ("yaml: explicit tag", yaml::explicit_tag, 1298),
    ("yaml: unused anchor", yaml::unused_anchor, 1298),
    ("yaml: undefined alias", yaml::undefined_alias, 1298),
    ("yaml: alias inside itself", yaml::alias_inside_itself, 1298),
    ("yaml: anchor bomb piece", yaml::anchor_bomb_piece, 1298),
    ("yaml: byte order mark inside", yaml::byte_order_mark_inside, 1298),
    ("yaml: NUL character", yaml::nul_character, 1298),
    ("yaml: file cut short", yaml::cut_short, 4913),
];

fn shipped() -> Vec<(Shipped, usize)> {
    // The second column: how many mutants of one operator are tried at most.
    let model = |name, text: &str, most| (Shipped::new(name, text), most);
    vec![
        model("first-guard", include_str!("../models/first-guard.yaml"), 40),
        model("burner", include_str!("../models/burner.yaml"), 8),
        model("drying-cell", include_str!("../models/drying-cell.yaml"), 8),
        model("first-guard-flawed", include_str!("../models/first-guard-flawed.yaml"), 2),
        model("burner-flawed", include_str!("../models/burner-flawed.yaml"), 2),
        model("drying-cell-flawed", include_str!("../models/drying-cell-flawed.yaml"), 2),
        model("pressure-tank", include_str!("../models/pressure-tank.yaml"), 8),
        model("pressure-tank-flawed", include_str!("../models/pressure-tank-flawed.yaml"), 2),
        model("irradiator", include_str!("../models/irradiator.yaml"), 2),
        model("irradiator-flawed", include_str!("../models/irradiator-flawed.yaml"), 1),
        model("reactor-unit", include_str!("../models/reactor-unit.yaml"), 2),
        model("reactor-unit-flawed", include_str!("../models/reactor-unit-flawed.yaml"), 1),
        model("hall-k", include_str!("../models/hall-k.yaml"), 2),
        model("hall-k-flawed", include_str!("../models/hall-k-flawed.yaml"), 1),
    ]
}

/// Tries a part of the operators: the tests run side by side.
fn try_operators(part: usize) {
    std::panic::set_hook(Box::new(|_| {}));
    let all = std::env::var("TRIPPROOF_ALL_MUTANTS").ok();
    let models = shipped();
    let mut wrong: Vec<String> = Vec::new();
    for (name, operator, least) in OPERATORS.iter().skip(part).step_by(PARTS) {
        if all.as_ref().is_some_and(|wanted| !name.contains(wanted.as_str())) {
            continue;
        }
        let (mut made, mut tried, mut stood, mut bad) = (0, 0, 0, 0);
        for (model, most) in &models {
            let mutants = operator(model);
            made += mutants.len();
            let step = if all.is_some() { 1 } else { mutants.len().div_ceil(*most).max(1) };
            for mutant in mutants.iter().step_by(step) {
                tried += 1;
                match mutant.judge() {
                    Ok(true) => {}
                    Ok(false) => stood += 1,
                    Err(message) => {
                        bad += 1;
                        if bad <= 25 {
                            wrong.push(format!("{name} in {}: {message}", model.name));
                        }
                    }
                }
            }
        }
        println!("{name}: {made} places, {tried} tried, {stood} still a model, {bad} wrong");
        if made < *least {
            wrong.push(format!("{name}: only {made} mutants, at least {least} are expected"));
        }
        if 2 * stood > tried && !MOSTLY_MODELS.contains(name) {
            wrong.push(format!("{name}: {stood} of {tried} mutants are still a model"));
        }
    }
    let _ = std::panic::take_hook();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// Operators after which most models are still models: what they take away may be left out.
const MOSTLY_MODELS: &[&str] = &["missing other key", "expression: NOT removed", "misspelt declaration"];

const PARTS: usize = 2;

#[test]
fn every_mistake_is_reported_at_its_place() {
    try_operators(0);
}

#[test]
fn every_other_mistake_is_reported_at_its_place() {
    try_operators(1);
}
