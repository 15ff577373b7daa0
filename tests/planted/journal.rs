//! What a run of everything has done so far, so that it can be stopped and goes on where it was.
//!
//! A line for each mutant. What another program wrote is not used: the first line names the program by its hash, and what was
//! wanted of it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::Write;
use std::path::PathBuf;
use std::sync::Mutex;

use sha2::{Digest, Sha256};
use tripproof::check::Check;

use super::judge::Verdict;

pub struct Journal {
    file: Mutex<File>,
}

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("planted-journal.txt")
}

impl Journal {
    /// The journal with what it has already, by the number of the mutant.
    pub fn open(wanted: &str) -> (Journal, BTreeMap<usize, Verdict>) {
        let program = fs::read(std::env::current_exe().unwrap()).unwrap();
        let hash: String = Sha256::digest(&program).iter().map(|byte| format!("{byte:02x}")).collect();
        let head = format!("{hash} {wanted}");
        let text = fs::read_to_string(path()).unwrap_or_default();
        let mut known = BTreeMap::new();
        if text.lines().next() == Some(head.as_str()) {
            // The last line may have been cut short.
            let whole = text.rsplit_once('\n').map_or("", |(whole, _)| whole);
            known.extend(whole.lines().skip(1).filter_map(read));
        }
        let mut file = File::create(path()).unwrap();
        writeln!(file, "{head}").unwrap();
        for (number, verdict) in &known {
            writeln!(file, "{}", written(*number, verdict)).unwrap();
        }
        (Journal { file: Mutex::new(file) }, known)
    }

    pub fn add(&self, number: usize, verdict: &Verdict) {
        writeln!(self.file.lock().unwrap(), "{}", written(number, verdict)).unwrap();
    }
}

fn written(number: usize, verdict: &Verdict) -> String {
    let names =
        |checks: &BTreeSet<Check>| checks.iter().map(|check| check.name()).collect::<Vec<_>>().join(",");
    let (word, rest) = match verdict {
        Verdict::Refused(code) => ("refused", code.clone()),
        Verdict::Expected(checks) => ("expected", names(checks)),
        Verdict::Other(checks) => ("other", names(checks)),
        Verdict::Undecided => ("undecided", String::new()),
        Verdict::Harmless { changed, of } => ("harmless", format!("{changed},{of}")),
        Verdict::AsRequired { hazard } => ("as-required", hazard.clone()),
        Verdict::Survivor(text) => ("survivor", text.replace('\n', " ")),
    };
    format!("{number} {word} {rest}")
}

fn read(line: &str) -> Option<(usize, Verdict)> {
    let (number, rest) = line.split_once(' ')?;
    let (word, rest) = rest.split_once(' ')?;
    let checks = || rest.split(',').map(Check::by_name).collect::<Option<BTreeSet<Check>>>();
    let verdict = match word {
        "refused" => Verdict::Refused(rest.to_string()),
        "expected" => Verdict::Expected(checks()?),
        "other" => Verdict::Other(checks()?),
        "undecided" => Verdict::Undecided,
        "harmless" => {
            let (changed, of) = rest.split_once(',')?;
            Verdict::Harmless { changed: changed.parse().ok()?, of: of.parse().ok()? }
        }
        "as-required" => Verdict::AsRequired { hazard: rest.to_string() },
        "survivor" => Verdict::Survivor(rest.to_string()),
        _ => return None,
    };
    Some((number.parse().ok()?, verdict))
}
