//! Every shipped model, broken in every place in every way: a mistake is reported where it stands, and nothing panics.
//!
//! The places come from the span tree and the JSON Schema of the language (`places`); an operator turns a model into
//! many broken ones (`shape`, `value`, `expression`, `yaml`), each with the place at which a problem is expected. The
//! two largest models and the flawed ones are sampled: every k-th mutant of an operator, k chosen so that an operator
//! makes no more than its share; the number of places is printed with the number tried.

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
    ("unknown key", shape::unknown_key, 1),
    ("misspelt key", shape::misspelt_key, 1),
    ("misspelt declaration", shape::misspelt_declaration, 1),
    ("duplicate key", shape::duplicate_key, 1),
    ("missing required key", shape::missing_required_key, 1),
    ("missing other key", shape::missing_other_key, 1),
    ("empty value", shape::empty_value, 1),
    ("list for a value", shape::list_for_value, 1),
    ("block for a value", shape::block_for_value, 1),
    ("value for a list", shape::value_for_list, 1),
    ("value for a block", shape::value_for_block, 1),
    ("list for a block", shape::list_for_block, 1),
    ("missing unit", value::missing_unit, 1),
    ("wrong kind of unit", value::wrong_kind_of_unit, 1),
    ("misspelt unit", value::misspelt_unit, 1),
    ("unit without space", value::unit_without_space, 1),
    ("decimal comma", value::decimal_comma, 1),
    ("negative value", value::negative_value, 1),
    ("ends of range swapped", value::ends_of_range_swapped, 1),
    ("range with a dash", value::range_with_a_dash, 1),
    ("number too long", value::number_too_long, 1),
    ("unknown tag", value::unknown_tag, 1),
    ("misspelt tag", value::misspelt_tag, 1),
    ("wrong kind of tag", value::wrong_kind_of_tag, 1),
    ("tag with a space", value::tag_with_a_space, 1),
    ("bad word of a closed list", value::bad_word, 1),
    ("bad flag", value::bad_flag, 1),
    ("bad count", value::bad_count, 1),
    ("bad date", value::bad_date, 1),
    ("bad number", value::bad_number, 1),
    ("expression: token removed", expression::token_removed, 1),
    ("expression: NOT removed", expression::not_removed, 0),
    ("expression: token doubled", expression::token_doubled, 1),
    ("expression: operator misspelt", expression::operator_misspelt, 1),
    ("expression: parenthesis added", expression::parenthesis_added, 1),
    ("expression: unknown word", expression::unknown_word, 1),
    ("expression: misspelt word", expression::misspelt_word, 1),
    ("expression: wrong unit", expression::unit_wrong, 1),
    ("expression: wrong number", expression::number_wrong, 1),
    ("expression: impossible vote", expression::vote_impossible, 1),
    ("expression: vote lacks an operand", expression::vote_lacks_an_operand, 1),
    ("yaml: tab indentation", yaml::tab_indentation, 1),
    ("yaml: wrong indentation", yaml::wrong_indentation, 1),
    ("yaml: no space after a colon", yaml::no_space_after_colon, 1),
    ("yaml: unclosed quote", yaml::unclosed_quote, 1),
    ("yaml: bracket not closed", yaml::bracket_not_closed, 1),
    ("yaml: bracket not opened", yaml::bracket_not_opened, 1),
    ("yaml: comma doubled", yaml::comma_doubled, 1),
    ("yaml: comma removed", yaml::comma_removed, 1),
    ("yaml: second document", yaml::second_document, 1),
    ("yaml: merge key", yaml::merge_key, 1),
    ("yaml: explicit tag", yaml::explicit_tag, 1),
    ("yaml: unused anchor", yaml::unused_anchor, 1),
    ("yaml: undefined alias", yaml::undefined_alias, 1),
    ("yaml: alias inside itself", yaml::alias_inside_itself, 1),
    ("yaml: anchor bomb piece", yaml::anchor_bomb_piece, 1),
    ("yaml: byte order mark inside", yaml::byte_order_mark_inside, 1),
    ("yaml: NUL character", yaml::nul_character, 1),
    ("yaml: file cut short", yaml::cut_short, 1),
];

fn shipped() -> Vec<(Shipped, usize)> {
    // The second column: how many mutants of one operator are tried at most.
    let model = |name, text: &str, most| (Shipped::new(name, text), most);
    vec![
        model("first-guard", include_str!("../models/first-guard.yaml"), MOST),
        model("burner", include_str!("../models/burner.yaml"), MOST),
        model("drying-cell", include_str!("../models/drying-cell.yaml"), MOST),
        model("first-guard-flawed", include_str!("../models/first-guard-flawed.yaml"), 7),
        model("burner-flawed", include_str!("../models/burner-flawed.yaml"), 7),
        model("drying-cell-flawed", include_str!("../models/drying-cell-flawed.yaml"), 7),
    ]
}

/// Mutants of one operator in one model; `TRIPPROOF_ALL_MUTANTS=1` tries all.
const MOST: usize = 40;

/// Tries a part of the operators: the tests run side by side.
fn try_operators(part: usize) {
    std::panic::set_hook(Box::new(|_| {}));
    let all = std::env::var_os("TRIPPROOF_ALL_MUTANTS").is_some();
    let models = shipped();
    let mut wrong: Vec<String> = Vec::new();
    for (name, operator, least) in OPERATORS.iter().skip(part).step_by(PARTS) {
        let (mut made, mut tried, mut stood, mut bad) = (0, 0, 0, 0);
        for (model, most) in &models {
            let mutants = operator(model);
            made += mutants.len();
            let step = if all { 1 } else { mutants.len().div_ceil(*most).max(1) };
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
