//! The two texts as places in which they differ, each place given to the planted error that it belongs to.

use super::hall::{FLAWED, GOOD};
use super::planted::{HEAD, PLANTED};

/// One place in which the twin differs: `removed` lines from line `at` on are replaced by `added`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hunk {
    pub at: usize,
    pub removed: Vec<&'static str>,
    pub added: Vec<&'static str>,
}

impl Hunk {
    fn says(&self, text: &str) -> bool {
        self.removed.iter().chain(&self.added).any(|line| line.contains(text))
    }
}

/// Every place in which the twin differs, by the longest common sequence of lines.
pub fn hunks() -> Vec<Hunk> {
    let (old, new): (Vec<&str>, Vec<&str>) = (GOOD.lines().collect(), FLAWED.lines().collect());
    // common[i][j]: how many lines old[i..] and new[j..] have in common, in order.
    let mut common = vec![vec![0_u32; new.len() + 1]; old.len() + 1];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            common[i][j] = match old[i] == new[j] {
                true => common[i + 1][j + 1] + 1,
                false => common[i + 1][j].max(common[i][j + 1]),
            };
        }
    }
    let (mut i, mut j, mut found) = (0, 0, Vec::new());
    while i < old.len() || j < new.len() {
        let mut hunk = Hunk { at: i, removed: Vec::new(), added: Vec::new() };
        while (i < old.len() || j < new.len()) && !(i < old.len() && j < new.len() && old[i] == new[j]) {
            if j == new.len() || (i < old.len() && common[i + 1][j] >= common[i][j + 1]) {
                hunk.removed.push(old[i]);
                i += 1;
            } else {
                hunk.added.push(new[j]);
                j += 1;
            }
        }
        if !hunk.removed.is_empty() || !hunk.added.is_empty() {
            found.push(hunk);
        }
        while i < old.len() && j < new.len() && old[i] == new[j] {
            (i, j) = (i + 1, j + 1);
        }
    }
    found
}

/// The planted error that a place belongs to; `None`: it is no error.
fn owner(hunk: &Hunk) -> Option<&'static str> {
    let mut owners: Vec<Option<&'static str>> = PLANTED
        .iter()
        .filter(|planted| planted.places.iter().any(|text| hunk.says(text)))
        .map(|planted| Some(planted.name))
        .collect();
    if HEAD.iter().any(|text| hunk.says(text)) {
        owners.push(None);
    }
    assert_eq!(owners.len(), 1, "belongs to {owners:?}: {hunk:#?}");
    owners[0]
}

/// The good text with these errors planted.
pub fn with(names: &[&str]) -> String {
    let wanted = hunks().into_iter().filter(|hunk| owner(hunk).is_some_and(|name| names.contains(&name)));
    applied(wanted.collect())
}

fn applied(hunks: Vec<Hunk>) -> String {
    let mut lines: Vec<&str> = Vec::new();
    let mut old = GOOD.lines().enumerate();
    for hunk in hunks {
        let before = hunk.at - old.clone().next().map_or(0, |(number, _)| number);
        lines.extend(old.by_ref().take(before).map(|(_, line)| line));
        let removed: Vec<&str> = old.by_ref().take(hunk.removed.len()).map(|(_, line)| line).collect();
        assert_eq!(removed, hunk.removed);
        lines.extend(hunk.added);
    }
    lines.extend(old.map(|(_, line)| line));
    lines.join("\n") + "\n"
}

#[test]
fn all_places_together_are_the_flawed_twin_and_none_the_good_one() {
    assert_eq!(applied(hunks()), FLAWED);
    assert_eq!(applied(Vec::new()), GOOD);
}

#[test]
fn every_changed_place_belongs_to_exactly_one_planted_error() {
    let hunks = hunks();
    hunks.iter().for_each(|hunk| {
        owner(hunk);
    });
    for text in PLANTED.iter().flat_map(|planted| planted.places).chain(HEAD) {
        let places = hunks.iter().filter(|hunk| hunk.says(text)).count();
        assert_eq!(places, 1, "`{text}` names {places} places");
    }
}
