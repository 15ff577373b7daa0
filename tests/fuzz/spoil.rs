//! Spoils texts: by bytes, by words, by lines, and by words taken from other models.

use std::sync::LazyLock;

use crate::random::Random;

/// The shipped models, smallest first, and some that are spoilt already.
pub const MODELS: &[&str] = &[
    include_str!("../../models/first-guard.yaml"),
    include_str!("../../models/first-guard-flawed.yaml"),
    include_str!("../../models/pressure-tank.yaml"),
    include_str!("../../models/pressure-tank-flawed.yaml"),
    include_str!("../classes/base/mist.yaml"),
    include_str!("../recipes/host.yaml"),
    include_str!("../../models/burner.yaml"),
    include_str!("../../models/burner-flawed.yaml"),
    include_str!("../../models/drying-cell.yaml"),
    include_str!("../../models/drying-cell-flawed.yaml"),
    include_str!("../classes/base/two-bays.yaml"),
    include_str!("../../models/irradiator.yaml"),
    include_str!("../../models/reactor-unit.yaml"),
    include_str!("../../models/hall-k.yaml"),
];

/// How many of the models are small.
pub const SMALL: usize = 10;

/// Where a word begins or ends.
fn splits(c: char) -> bool {
    c.is_whitespace() || "[]{}(),:\"'#=<>".contains(c)
}

/// The words of a text with their places, what stands between them left out.
fn words(text: &str) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut start = None;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        match (start, splits(c)) {
            (None, false) => start = Some(at),
            (Some(from), true) => {
                found.push((from, at));
                start = None;
            }
            _ => {}
        }
    }
    found
}

/// Every word of every model, each once.
static WORDS: LazyLock<Vec<&'static str>> = LazyLock::new(|| {
    let mut all: Vec<&str> =
        MODELS.iter().flat_map(|text| words(text).into_iter().map(|(from, to)| &text[from..to])).collect();
    all.sort_unstable();
    all.dedup();
    all
});

/// What is seldom written and often read wrongly.
const ODD: &[&str] = &[
    "~",
    "null",
    "no",
    "yes",
    "on",
    "0x1F",
    "017",
    "0o17",
    "1e3",
    "-0",
    "+1",
    ".5",
    "5.",
    "1_000",
    "NaN",
    ".inf",
    "12:30",
    "2026-01-01",
    "<<",
    "*a",
    "&a",
    "!x",
    "!!str",
    "|",
    ">",
    "|-",
    "%",
    "@",
    "`",
    "?",
    "-",
    "- -",
    "{}",
    "[]",
    "''",
    "\"\"",
    "\"\\u0041\"",
    "\"\\x07\"",
    "\u{feff}",
    "\u{200b}",
    "\u{202e}",
    "\u{85}",
    "\u{2028}",
    "é",
    "日本",
    "🔥",
    "a\u{301}",
    "\u{7f}",
    "\t",
    "\r",
    "\r\n",
    "---",
    "...",
    "# ",
    "1/0",
    "0/1",
    "NOT",
    "AND",
    "OR",
    "1oo1(",
    "2oo3(",
    ")",
    "((",
    "BAD(",
    "LOST(",
    "unknown",
    "°C",
    "degC",
    "K",
    "%LFL",
    "1/h",
    "0 ..",
    ".. 0",
    "bara",
    "99999999999999999999999999",
    "0.00000000000000000000000001",
    "-40",
    "6bar",
    "24V-A",
];

/// A text with one part changed.
pub fn once(text: &str, random: &mut Random) -> String {
    let places = words(text);
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    if places.is_empty() || lines.len() < 2 {
        return format!("{text}{}", random.pick(ODD));
    }
    let (from, to) = *random.pick(&places);
    let (other, end) = *random.pick(&places);
    let replaced = |with: &str| format!("{}{with}{}", &text[..from], &text[to..]);
    let line = random.below(lines.len());
    match random.below(14) {
        0 | 1 => replaced(&text[other..end]),
        2 | 3 => replaced(random.pick::<&str>(&WORDS)),
        4 => replaced(random.pick::<&str>(ODD)),
        5 => replaced(""),
        6 => format!("{}{} {}", &text[..from], random.pick(ODD), &text[from..]),
        7 => [&lines[..line], &lines[line + 1..]].concat().concat(),
        8 => {
            let mut lines = lines.clone();
            lines.insert(random.below(lines.len()), lines[line]);
            lines.concat()
        }
        9 => {
            let mut lines = lines.clone();
            let other = random.below(lines.len());
            lines.swap(line, other);
            lines.concat()
        }
        10 => numbers(text, random),
        11 => {
            // One sign taken away or put in.
            let signs: Vec<usize> =
                text.char_indices().filter(|(_, c)| splits(*c)).map(|(at, _)| at).collect();
            let at = *random.pick(&signs);
            match random.percent(50) {
                true => {
                    let after = at + text[at..].chars().next().map_or(0, char::len_utf8);
                    format!("{}{}", &text[..at], &text[after..])
                }
                false => format!(
                    "{}{}{}",
                    &text[..at],
                    random.pick(&["[", "]", "{", "}", ",", ":", "\"", "\n"]),
                    &text[at..]
                ),
            }
        }
        12 => {
            let mut lines = lines.clone();
            let odd = format!("{}{}", " ".repeat(random.below(6)), lines[line]);
            lines[line] = &odd;
            lines.concat()
        }
        _ => swapped(text, (from, to), (other, end)),
    }
}

fn swapped(text: &str, one: (usize, usize), other: (usize, usize)) -> String {
    let (first, second) = if one.0 <= other.0 { (one, other) } else { (other, one) };
    if first == second {
        return text.to_string();
    }
    let between = &text[first.1..second.0];
    let (a, b) = (&text[first.0..first.1], &text[second.0..second.1]);
    format!("{}{b}{between}{a}{}", &text[..first.0], &text[second.1..])
}

/// A number changed.
fn numbers(text: &str, random: &mut Random) -> String {
    let places = words(text);
    let numeric: Vec<(usize, usize)> =
        places.into_iter().filter(|(from, to)| text[*from..*to].parse::<f64>().is_ok()).collect();
    if numeric.is_empty() {
        return text.to_string();
    }
    let (from, to) = *random.pick(&numeric);
    let new = match random.below(5) {
        0 => format!("-{}", &text[from..to]),
        1 => "0".to_string(),
        2 => format!("{}{}", &text[from..to], random.below(10)),
        3 => format!("{}.{}", random.below(100), random.below(1000)),
        _ => (random.below(2000)).to_string(),
    };
    format!("{}{new}{}", &text[..from], &text[to..])
}

/// A text with some parts changed: mostly one or two, so that much of it still makes sense.
pub fn some(text: &str, random: &mut Random) -> String {
    let times = 1 + if random.percent(60) { 0 } else { random.below(6) };
    (0..times).fold(text.to_string(), |text, _| once(&text, random))
}

/// Bytes changed without regard to what they are.
pub fn bytes(text: &str, random: &mut Random) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..1 + random.below(4) {
        if bytes.is_empty() {
            break;
        }
        let at = random.below(bytes.len());
        match random.below(5) {
            0 => bytes[at] = random.below(256) as u8,
            1 => drop(bytes.remove(at)),
            2 => bytes.insert(at, random.below(256) as u8),
            3 => bytes.truncate(at.max(1)),
            _ => {
                let end = (at + random.below(200)).min(bytes.len());
                let part = bytes[at..end].to_vec();
                let to = random.below(bytes.len());
                bytes.splice(to..to, part);
            }
        }
    }
    bytes
}
