//! What the reports say of calculated values.

use tripproof::report::{Entry, json, markdown, text};

use super::plant;
use super::support::examined::examine;

const LINK: &str = "calculations:
  LINK:
    title: discharge of the link
    discharge: { voltage: 800 V, to: 60 V, capacitance: 1 mF, resistance: 1900 ohm }
    owner: electrical engineer
    evidence: data sheet
  RAMP: { title: ramp of the chamber, owner: process engineer, ramp: { power: 20 kW, heat_capacities: { chamber: 200 kJ/K, specimen: 220 kJ/K } } }
  HEAT: { title: time to the limit, owner: process engineer, used_for: the procedure of the test, time_at_rate: { from: 22 degC, to: 80 degC, rate: from RAMP } }
";

fn entries(text: &str) -> Vec<Entry> {
    vec![Entry::Examined(Box::new(examine(text).outcome()))]
}

#[test]
fn the_working_is_shown_in_every_form() {
    let entries = entries(&plant(LINK, "from LINK", "5 s"));
    let plain = text::render(&entries, false, true);
    let section = plain.split("CALCULATED VALUES").nth(1).unwrap().split("DECLARED").next().unwrap();
    let section = section.split("WHAT THIS REPORT").next().unwrap();
    insta::assert_snapshot!("text", section);
    let page = markdown::render(&entries);
    let section = page.split("## Calculated values").nth(1).unwrap().split("\n## ").next().unwrap();
    insta::assert_snapshot!("markdown", section);
    let value: serde_json::Value = serde_json::from_str(&json::render(&entries, "Z3", 0)).unwrap();
    insta::assert_snapshot!(
        "json",
        serde_json::to_string_pretty(&value["models"][0]["calculations"]).unwrap()
    );
}

#[test]
fn a_model_without_calculations_has_no_word_of_them() {
    let entries = entries(&plant("", "1 s", "5 s"));
    for report in
        [text::render(&entries, false, true), markdown::render(&entries), json::render(&entries, "Z3", 0)]
    {
        assert!(!report.to_lowercase().contains("calculat"), "{report}");
    }
}
