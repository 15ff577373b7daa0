//! The program: parses the arguments, runs, writes what came out, and ends with the exit code. Nothing else.

use std::io::{IsTerminal, Write, stderr, stdout};
use std::process::ExitCode;

use tripproof::cli::parse;
use tripproof::run::{Host, run};

/// Exit code when the output could not be written.
const NOT_WRITTEN: u8 = 2;

fn main() -> ExitCode {
    let host = Host {
        stdout_is_terminal: stdout().is_terminal(),
        stderr_is_terminal: stderr().is_terminal(),
        no_color: std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
            || std::env::var_os("TERM").is_some_and(|value| value == "dumb"),
    };
    let product = run(&parse(std::env::args_os()), &host);
    // Not eprint!, which panics when nobody listens.
    let _ = stderr().lock().write_all(product.stderr.as_bytes());
    let mut out = stdout().lock();
    match out.write_all(product.stdout.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => ExitCode::from(product.code),
        // Whoever reads has seen enough; the verdict stands.
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::from(product.code),
        Err(error) => {
            let _ = writeln!(stderr(), "error: the result could not be written: {error}");
            ExitCode::from(NOT_WRITTEN)
        }
    }
}
