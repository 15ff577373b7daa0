//! Linear comparisons by exact elimination: which signs of some comparisons can hold together.
//!
//! Fourier and Motzkin's elimination, with open and closed ends, on comparisons whose truth is still open. Eliminating a
//! number gives *clauses*: of every lower and every upper bound on it either one does not hold, or what follows from both
//! does. What follows is a comparison without that number. Where all clauses are met, a value for the number exists, so
//! that the clauses of all numbers together are exactly what arithmetic demands.

use std::collections::{BTreeMap, BTreeSet};

use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::Linear;

/// Σ coefficient · number, the first coefficient 1.
pub(super) type Form = Vec<(Exact, NumberChoice)>;

/// The address of a comparison.
pub(super) type AtomId = usize;

/// A comparison or its opposite.
pub(super) type Sign = (AtomId, bool);

/// `form >= bound`, or `form > bound`. Of one form the stronger comparison is the greater one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Atom {
    pub(super) form: Form,
    pub(super) bound: Exact,
    /// `>`.
    pub(super) strict: bool,
}

/// Every comparison met, each once.
#[derive(Debug, Clone, Default)]
pub(super) struct Atoms {
    all: Vec<Atom>,
    ids: BTreeMap<Atom, AtomId>,
}

/// What elimination found about some comparisons.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Found {
    /// They contradict each other whatever is open.
    Contradiction,
    /// The numbers in the order in which they were eliminated, and what is decided already.
    Numbers(Vec<Eliminated>, BTreeMap<AtomId, bool>),
    /// Too many comparisons would follow.
    TooMany,
}

/// One number eliminated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Eliminated {
    pub(super) number: NumberChoice,
    /// Open comparisons that speak of it and of no number that was eliminated before.
    pub(super) atoms: Vec<AtomId>,
    /// All comparisons that speak of it and of no number that was eliminated before, those decided included.
    pub(super) every: Vec<AtomId>,
    /// Each: one of these signs holds.
    pub(super) clauses: Vec<Vec<Sign>>,
}

/// Σ ≥ bound, or Σ > bound, as a sum by number.
#[derive(Debug, Clone)]
struct Inequality {
    sum: BTreeMap<NumberChoice, Exact>,
    bound: Exact,
    strict: bool,
}

impl Inequality {
    fn with(mut self, known: &BTreeMap<NumberChoice, Exact>) -> Self {
        for (number, value) in known {
            if let Some(factor) = self.sum.remove(number) {
                self.bound = &self.bound - &(&factor * value);
            }
        }
        self
    }
}

impl Atoms {
    /// The comparison with this address.
    pub(super) fn get(&self, id: AtomId) -> Option<&Atom> {
        self.all.get(id)
    }

    fn intern(&mut self, atom: Atom) -> AtomId {
        let next = self.all.len();
        let id = *self.ids.entry(atom.clone()).or_insert(next);
        if id == next {
            self.all.push(atom);
        }
        id
    }

    /// A term's comparison, with some numbers known, as the sign of one whose first coefficient is 1; `Err` with its
    /// truth if all are known.
    pub(super) fn sign(
        &mut self,
        linear: &Linear,
        known: &BTreeMap<NumberChoice, Exact>,
    ) -> Result<Sign, bool> {
        let inequality = Inequality {
            sum: linear.sum.iter().map(|(c, n)| (*n, c.clone())).collect(),
            bound: linear.bound.clone(),
            strict: !linear.inclusive,
        };
        self.of(&inequality.with(known))
    }

    /// A comparison of these, with some numbers known; as [`Atoms::sign`].
    pub(super) fn with(&mut self, sign: Sign, known: &BTreeMap<NumberChoice, Exact>) -> Result<Sign, bool> {
        match self.inequality(sign) {
            Some(inequality) => self.of(&inequality.with(known)),
            None => Ok(sign),
        }
    }

    /// The sign that says the same; `Err` with its truth, if no number is left in it.
    fn of(&mut self, inequality: &Inequality) -> Result<Sign, bool> {
        let Some((_, first)) = inequality.sum.iter().find(|(_, c)| !c.is_zero()) else {
            let zero = Exact::zero();
            return Err(if inequality.strict { zero > inequality.bound } else { zero >= inequality.bound });
        };
        let by = |x: &Exact| x.checked_div(first).unwrap_or_else(|| x.clone());
        let sum = inequality.sum.iter().filter(|(_, c)| !c.is_zero());
        let form: Form = sum.map(|(n, c)| (by(c), *n)).collect();
        let bound = by(&inequality.bound);
        // Turned round: Σ ≤ b is not Σ > b.
        let turned = first.is_negative();
        let strict = if turned { !inequality.strict } else { inequality.strict };
        Ok((self.intern(Atom { form, bound, strict }), !turned))
    }

    fn inequality(&self, sign: Sign) -> Option<Inequality> {
        let atom = self.get(sign.0)?;
        let turn = |x: &Exact| if sign.1 { x.clone() } else { -x };
        Some(Inequality {
            sum: atom.form.iter().map(|(c, n)| (*n, turn(c))).collect(),
            bound: turn(&atom.bound),
            strict: if sign.1 { atom.strict } else { !atom.strict },
        })
    }

    /// Eliminates every number of these comparisons, of which some are decided; at most so many clauses.
    pub(super) fn eliminate(
        &mut self,
        atoms: &BTreeSet<AtomId>,
        decided: &BTreeMap<AtomId, bool>,
        most: usize,
    ) -> Found {
        let mut work =
            Elimination { atoms: self, live: BTreeMap::new(), decided: decided.clone(), clauses: 0 };
        for id in atoms {
            work.add(*id);
        }
        let mut numbers = Vec::new();
        while let Some(number) = work.cheapest() {
            match work.one(number) {
                Some(eliminated) => numbers.push(eliminated),
                None => return Found::Contradiction,
            }
            if work.clauses > most {
                return Found::TooMany;
            }
        }
        Found::Numbers(numbers, work.decided)
    }

    /// The values that a number may have, once all others in these comparisons have theirs.
    pub(super) fn room(
        &self,
        number: NumberChoice,
        signs: impl IntoIterator<Item = Sign>,
        value: impl Fn(NumberChoice) -> Exact,
    ) -> Room {
        let mut room = Room::default();
        for inequality in signs.into_iter().filter_map(|sign| self.inequality(sign)) {
            let mut bound = inequality.bound.clone();
            let mut factor = Exact::zero();
            for (other, c) in &inequality.sum {
                match *other == number {
                    true => factor = c.clone(),
                    false => bound = &bound - &(c * &value(*other)),
                }
            }
            let Some(bound) = bound.checked_div(&factor) else { continue };
            match factor.is_negative() {
                false => room.from(bound, inequality.strict),
                true => room.to(bound, inequality.strict),
            }
        }
        room
    }

    /// Whether a comparison holds.
    pub(super) fn holds(&self, id: AtomId, value: impl Fn(NumberChoice) -> Exact) -> bool {
        let Some(atom) = self.get(id) else { return false };
        let mut sum = Exact::zero();
        for (c, number) in &atom.form {
            sum = &sum + &(c * &value(*number));
        }
        if atom.strict { sum > atom.bound } else { sum >= atom.bound }
    }
}

/// The values between two ends; an end is a value and whether it is left out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Room {
    pub(super) low: Option<(Exact, bool)>,
    pub(super) high: Option<(Exact, bool)>,
}

impl Room {
    fn from(&mut self, bound: Exact, open: bool) {
        match &self.low {
            Some((low, was)) if *low > bound || (*low == bound && (*was || !open)) => {}
            _ => self.low = Some((bound, open)),
        }
    }

    fn to(&mut self, bound: Exact, open: bool) {
        match &self.high {
            Some((high, was)) if *high < bound || (*high == bound && (*was || !open)) => {}
            _ => self.high = Some((bound, open)),
        }
    }

    /// A value in it: 0 if it can be, an end that belongs to it, else one between; `None` if there is none.
    pub(super) fn value(&self) -> Option<Exact> {
        let one = Exact::int(1);
        let inside = |x: &Exact| {
            let above = self.low.as_ref().is_none_or(|(low, open)| if *open { x > low } else { x >= low });
            let below =
                self.high.as_ref().is_none_or(|(high, open)| if *open { x < high } else { x <= high });
            above && below
        };
        let candidates = match (&self.low, &self.high) {
            (None, None) => vec![Exact::zero()],
            (Some((low, _)), None) => vec![Exact::zero(), low.clone(), low + &one],
            (None, Some((high, _))) => vec![Exact::zero(), high.clone(), high - &one],
            (Some((low, _)), Some((high, _))) => {
                let half = (low + high).checked_div(&Exact::int(2)).unwrap_or_else(|| low.clone());
                vec![Exact::zero(), low.clone(), high.clone(), half]
            }
        };
        candidates.into_iter().find(inside)
    }
}

struct Elimination<'a> {
    atoms: &'a mut Atoms,
    /// Comparisons not eliminated yet, by their form, weakest first.
    live: BTreeMap<Form, BTreeSet<(Exact, bool, AtomId)>>,
    decided: BTreeMap<AtomId, bool>,
    clauses: usize,
}

impl Elimination<'_> {
    fn add(&mut self, id: AtomId) {
        let Some(atom) = self.atoms.get(id) else { return };
        let key = (atom.bound.clone(), atom.strict, id);
        self.live.entry(atom.form.clone()).or_default().insert(key);
    }

    fn of_form(&self, form: &Form) -> Vec<AtomId> {
        self.live.get(form).into_iter().flatten().map(|(_, _, id)| *id).collect()
    }

    /// The number with the fewest pairs of comparisons of different forms.
    fn cheapest(&self) -> Option<NumberChoice> {
        let mut sizes: BTreeMap<NumberChoice, (usize, usize)> = BTreeMap::new();
        for (form, some) in &self.live {
            for (_, number) in form {
                let (sum, pairs) = sizes.entry(*number).or_default();
                *pairs += *sum * some.len();
                *sum += some.len();
            }
        }
        sizes.into_iter().min_by_key(|(number, (sum, pairs))| (*pairs, *sum, *number)).map(|(n, _)| n)
    }

    /// What is decided about one comparison decides weaker or stronger ones of the same form; `None` if they conflict.
    fn spread(&mut self, of_form: &[AtomId]) -> Option<()> {
        let truth = |id: &AtomId| self.decided.get(id).copied();
        let last_true = of_form.iter().rposition(|id| truth(id) == Some(true));
        let first_false = of_form.iter().position(|id| truth(id) == Some(false));
        if let (Some(holds), Some(fails)) = (last_true, first_false)
            && fails < holds
        {
            return None;
        }
        let weaker = of_form.iter().take(last_true.map_or(0, |n| n + 1));
        let stronger = of_form.iter().skip(first_false.unwrap_or(of_form.len()));
        let new: Vec<Sign> = weaker.map(|id| (*id, true)).chain(stronger.map(|id| (*id, false))).collect();
        self.decided.extend(new);
        Some(())
    }

    /// The signs of one form that can matter: those still open, and the strongest of those decided.
    fn signs(&self, of_form: &[AtomId]) -> Vec<Sign> {
        let truth = |id: &AtomId| self.decided.get(id).copied();
        let open = of_form.iter().filter(|id| truth(id).is_none()).flat_map(|id| [(*id, true), (*id, false)]);
        let low = of_form.iter().rev().find(|id| truth(id) == Some(true)).map(|id| (*id, true));
        let high = of_form.iter().find(|id| truth(id) == Some(false)).map(|id| (*id, false));
        open.chain(low).chain(high).collect()
    }

    fn one(&mut self, number: NumberChoice) -> Option<Eliminated> {
        let forms: Vec<Form> =
            self.live.keys().filter(|form| form.iter().any(|(_, n)| *n == number)).cloned().collect();
        let mut clauses: Vec<Vec<Sign>> = Vec::new();
        let mut every = Vec::new();
        let mut signs: Vec<Vec<Sign>> = Vec::new();
        for form in &forms {
            let of_form = self.of_form(form);
            self.spread(&of_form)?;
            let open: Vec<AtomId> =
                of_form.iter().copied().filter(|id| !self.decided.contains_key(id)).collect();
            let pairs = open.iter().zip(open.iter().skip(1));
            clauses.extend(pairs.map(|(weak, strong)| vec![(*strong, false), (*weak, true)]));
            signs.push(self.signs(&of_form));
            every.extend(of_form);
        }
        self.live.retain(|form, _| !forms.contains(form));
        for (at, some) in signs.iter().enumerate() {
            for (other, others) in signs.iter().enumerate() {
                if at == other {
                    continue;
                }
                for low in some {
                    for high in others {
                        self.pair(number, *low, *high, &mut clauses)?;
                    }
                }
            }
        }
        self.clauses += clauses.len();
        let atoms = every.iter().copied().filter(|id| !self.decided.contains_key(id)).collect();
        Some(Eliminated { number, atoms, every, clauses })
    }

    /// What follows from a lower and an upper bound; nothing if they are not that. `None` for a contradiction.
    fn pair(
        &mut self,
        number: NumberChoice,
        low: Sign,
        high: Sign,
        clauses: &mut Vec<Vec<Sign>>,
    ) -> Option<()> {
        let (Some(from), Some(to)) = (self.atoms.inequality(low), self.atoms.inequality(high)) else {
            return Some(());
        };
        let zero = Exact::zero();
        let (Some(a), Some(b)) = (from.sum.get(&number), to.sum.get(&number)) else { return Some(()) };
        if *a <= zero || *b >= zero {
            return Some(());
        }
        // Both scaled so that the number falls out of their sum.
        let (by_from, by_to) = (-b, a.clone());
        let mut sum: BTreeMap<NumberChoice, Exact> = BTreeMap::new();
        for (side, by) in [(&from, &by_from), (&to, &by_to)] {
            for (n, c) in &side.sum {
                let part = c * by;
                let place = sum.entry(*n).or_insert_with(Exact::zero);
                *place = &*place + &part;
            }
        }
        sum.remove(&number);
        let bound = &(&from.bound * &by_from) + &(&to.bound * &by_to);
        let follows = Inequality { sum, bound, strict: from.strict || to.strict };
        let open: Vec<Sign> = [low, high]
            .into_iter()
            .filter(|sign| !self.decided.contains_key(&sign.0))
            .map(|(id, value)| (id, !value))
            .collect();
        let mut clause = open.clone();
        match self.atoms.of(&follows) {
            Err(true) => return Some(()),
            Err(false) => {}
            Ok(sign) => {
                self.add(sign.0);
                match self.decided.get(&sign.0) {
                    Some(value) if *value == sign.1 => return Some(()),
                    Some(_) => {}
                    None if open.is_empty() => {
                        self.decided.insert(sign.0, sign.1);
                        return Some(());
                    }
                    None => clause.push(sign),
                }
            }
        }
        if clause.is_empty() {
            return None;
        }
        clauses.push(clause);
        Some(())
    }
}
