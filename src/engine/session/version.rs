//! Which Z3 the program runs on, and the refusal of one that it was not tested with.
//!
//! The loader decides at run time which library a binary gets, so what was true when it was built says little.

/// The first three numbers of the version that the project is tested with.
pub const TESTED: [u32; 3] = [5, 4, 1];

/// The version of the Z3 library that this process runs on, as the library says it.
pub fn running_version() -> &'static str {
    z3::full_version()
}

/// Refuses to run on a Z3 other than the tested one.
///
/// # Errors
/// The sentence for the user, with what to do.
pub fn supported_version() -> Result<(), String> {
    check(running_version())
}

fn check(version: &str) -> Result<(), String> {
    let mut numbers = version.split(|c: char| !c.is_ascii_digit()).map(|part| part.parse::<u32>().ok());
    if TESTED.iter().all(|wanted| numbers.next() == Some(Some(*wanted))) {
        return Ok(());
    }
    let [major, minor, patch] = TESTED;
    Err(format!(
        "this program is tested with Z3 {major}.{minor}.{patch} and does not decide anything with another one; the \
         Z3 library found at run time calls itself `{version}`. Put the libz3.so that was delivered with the \
         program beside it, and take other folders with a libz3 out of LD_LIBRARY_PATH."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_library_at_run_time_is_the_tested_one() {
        assert_eq!(supported_version(), Ok(()), "{}", running_version());
    }

    #[test]
    fn other_versions_are_refused() {
        for version in ["5.4.1", "5.4.1.0", "5.4.1.0 build hashcode 1"] {
            assert_eq!(check(version), Ok(()), "{version}");
        }
        for version in
            ["5.4.10.0", "5.41.0.0", "4.8.12.0", "5.4.2", "5.4", "15.4.1", "", "v5.4.1", "5.4.99999999999"]
        {
            assert!(check(version).is_err_and(|m| m.contains(&format!("`{version}`"))), "{version}");
        }
    }
}
