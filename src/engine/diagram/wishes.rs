//! What may be decided since everything only gains by it: a variable of which only one value ever helps, and a number that
//! only helps in one direction and whose range ends there.

use std::collections::{BTreeMap, BTreeSet};

use super::linear::{AtomId, Atoms, Sign};
use super::shape::{Key, NoShape, Shape};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::Var;

/// Which values help.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Wish {
    yes: bool,
    no: bool,
}

impl Wish {
    fn add(&mut self, value: bool) {
        match value {
            true => self.yes = true,
            false => self.no = true,
        }
    }

    /// The only value that helps.
    fn one(self) -> Option<bool> {
        match (self.yes, self.no) {
            (true, false) => Some(true),
            (false, true) => Some(false),
            _ => None,
        }
    }
}

/// Grants what can be granted; whether anything was.
pub(super) fn grant(shape: &mut Shape, kept: &BTreeSet<Var>, atoms: &mut Atoms) -> Result<bool, NoShape> {
    let mut wishes: BTreeMap<Key, Wish> = BTreeMap::new();
    for (key, value) in shape.literals() {
        wishes.entry(key).or_default().add(value);
    }
    let mut granted = false;
    let mut chosen: BTreeSet<Var> = BTreeSet::new();
    for of in &shape.one_of {
        chosen.extend(of);
        // One that does no harm is as good as any that never helps.
        let wish = |var: &Var| wishes.get(&Key::Fact(*var)).copied().unwrap_or_default();
        if let Some(harmless) = of.iter().find(|var| !wish(var).no) {
            for var in of.iter().filter(|var| *var != harmless && !wish(var).yes) {
                shape.facts.insert(*var, false);
                granted = true;
            }
        }
    }
    for (key, wish) in &wishes {
        if let (Key::Fact(var), Some(value)) = (key, wish.one())
            && !kept.contains(var)
            && !chosen.contains(var)
        {
            shape.facts.insert(*var, value);
            granted = true;
        }
    }
    Ok(numbers(shape, &wishes, atoms)? || granted)
}

/// Puts numbers to their ends.
fn numbers(shape: &mut Shape, wishes: &BTreeMap<Key, Wish>, atoms: &mut Atoms) -> Result<bool, NoShape> {
    // Each number: whether more of it helps, whether less of it does.
    let mut help: BTreeMap<NumberChoice, Wish> = BTreeMap::new();
    let mut bounds: BTreeMap<NumberChoice, Vec<Sign>> = BTreeMap::new();
    let open = wishes.iter().filter_map(|(key, wish)| match key {
        Key::Atom(id) => Some((*id, *wish)),
        Key::Fact(_) => None,
    });
    let decided = shape.atoms.iter().map(|(id, value)| {
        let mut wish = Wish::default();
        wish.add(*value);
        (*id, wish)
    });
    let all: Vec<(AtomId, Wish)> = open.chain(decided).collect();
    for (id, wish) in all {
        let Some(atom) = atoms.get(id) else { continue };
        if let (Some(value), [(_, number)]) = (shape.atoms.get(&id), atom.form.as_slice()) {
            bounds.entry(*number).or_default().push((id, *value));
            continue;
        }
        for (factor, number) in &atom.form {
            let both = help.entry(*number).or_default();
            both.yes |= if factor.is_negative() { wish.no } else { wish.yes };
            both.no |= if factor.is_negative() { wish.yes } else { wish.no };
        }
    }
    let mut ends: BTreeMap<NumberChoice, Exact> = BTreeMap::new();
    for (number, wish) in help {
        let Some(more) = wish.one() else { continue };
        let signs = bounds.get(&number).into_iter().flatten().copied();
        let room = atoms.room(number, signs, |_| Exact::zero());
        let end = if more { room.high } else { room.low };
        if let Some((value, false)) = end {
            ends.insert(number, value);
        }
    }
    if ends.is_empty() {
        return Ok(false);
    }
    let mut left: BTreeMap<AtomId, bool> = BTreeMap::new();
    for (id, value) in &shape.atoms {
        match atoms.with((*id, *value), &ends) {
            Ok((id, value)) => {
                if left.insert(id, value).is_some_and(|before| before != value) {
                    return Err(NoShape::Never);
                }
            }
            Err(true) => {}
            Err(false) => return Err(NoShape::Never),
        }
    }
    shape.atoms = left;
    shape.ends.extend(ends);
    Ok(true)
}
