//! The page `docs/coverage.md`: for each class of the catalogue the checks that find it and the models that show it,
//! or why it is open.

use std::collections::{BTreeMap, BTreeSet};

use super::Planted;
use super::catalogue::{GROUPS, IN_PART, OPEN};

/// The page.
pub fn page(all: &[(String, Planted)]) -> String {
    let shown: BTreeSet<&str> =
        all.iter().filter(|(_, one)| one.complains()).map(|(_, one)| one.class.as_str()).collect();
    let number: usize = GROUPS.iter().map(|(_, classes)| classes.len()).sum();
    let mut page = format!(
        "# Coverage of the catalogue of design errors\n\n\
         <!-- Made from tests/classes by `TRIPPROOF_WRITE_DOCS=1 cargo test --test classes`. -->\n\n\
         Of {number} classes of logic-design errors, {} are shown by a model that must complain, {} are open.\n\n\
         Each test model plants one error in a design that is in order, by a few changes of its text, and lists every\n\
         finding that follows: one more or one less fails the test. *In order* marks what looks like the error and is\n\
         none: there, no check may complain. A class that is shown is found in the forms shown here; that is no promise\n\
         for every form of it.\n",
        shown.len(),
        OPEN.len()
    );
    for (title, classes) in GROUPS {
        page += &format!(
            "\n## {title}\n\n| class | what it is | found by | shown by | open |\n|---|---|---|---|---|\n"
        );
        for (class, what) in *classes {
            page += &row(class, what, all);
        }
    }
    page
}

fn row(class: &str, what: &str, all: &[(String, Planted)]) -> String {
    let own: Vec<&(String, Planted)> = all.iter().filter(|(_, one)| one.class == class).collect();
    let mut checks: Vec<String> = Vec::new();
    for (_, one) in &own {
        let by = match (&one.check, &one.refused) {
            (Some(check), _) => format!("[{check}](checks/{check}.md)"),
            (None, Some(_)) => "the model is refused".to_string(),
            (None, None) => continue,
        };
        if !checks.contains(&by) {
            checks.push(by);
        }
    }
    let models: Vec<String> = own
        .iter()
        .map(|(name, one)| {
            let slug = name.strip_prefix(&format!("{class}-")).unwrap_or(name);
            format!("[{slug}](../tests/classes/{name}.yaml): {}", one.shows.replace('|', "\\|"))
        })
        .collect();
    let open = reason(OPEN, class).or(reason(IN_PART, class)).unwrap_or_default();
    format!("| {class} | {what} | {} | {} | {open} |\n", checks.join("<br>"), models.join("<br>"))
}

fn reason(list: &'static [(&str, &str)], class: &str) -> Option<&'static str> {
    list.iter().find(|(other, _)| *other == class).map(|(_, reason)| *reason)
}

/// What is wrong with the catalogue and the files about each other.
pub fn contradictions(all: &[(String, Planted)]) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut classes: BTreeMap<&str, usize> = BTreeMap::new();
    for (class, _) in GROUPS.iter().flat_map(|(_, classes)| classes.iter()) {
        *classes.entry(class).or_default() += 1;
    }
    wrong.extend(classes.iter().filter(|(_, n)| **n > 1).map(|(class, _)| format!("{class} stands twice")));
    let shown = |class: &str| all.iter().any(|(_, one)| one.class == class && one.complains());
    for class in classes.keys() {
        match (shown(class), reason(OPEN, class).is_some()) {
            (true, true) => wrong.push(format!("{class} is called open, and a model shows it")),
            (false, false) => wrong.push(format!("{class} is neither shown nor open")),
            _ => {}
        }
        if reason(IN_PART, class).is_some() && !shown(class) {
            wrong.push(format!("{class} is said to be shown in part, and no model shows it"));
        }
    }
    let named = OPEN.iter().chain(IN_PART).map(|(class, _)| *class);
    let of_files = all.iter().map(|(_, one)| one.class.as_str());
    for class in named.chain(of_files) {
        if !classes.contains_key(class) {
            wrong.push(format!("{class} is no class of the catalogue"));
        }
    }
    wrong
}

/// How many classes the catalogue has.
pub fn number() -> usize {
    GROUPS.iter().map(|(_, classes)| classes.len()).sum()
}
