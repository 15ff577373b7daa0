//! Tells the linker and the loader where Z3's shared library is, and stops early, with what to type, when it is not there.
//!
//! Fetching the library is `.ci/prepare`'s task: a build reaches for no network.

use std::env;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed=Z3_LIBRARY_PATH_OVERRIDE");
    let folder = library_folder();
    let library = folder.join("libz3.so");
    println!("cargo::rerun-if-changed={}", library.display());
    if !library.is_file() {
        println!("cargo::error=Z3's shared library is not in {}", folder.display());
        println!("cargo::error=type this in the checkout, then build again:   .ci/prepare");
        return ExitCode::FAILURE;
    }
    // Beside the binary, in lib/ beside the binary's folder, and where it was linked from, in this order.
    for place in [Path::new("$ORIGIN"), Path::new("$ORIGIN/../lib"), &folder] {
        // One -Xlinker per word: -Wl, would break at a comma in the path.
        for word in ["-Xlinker", "-rpath", "-Xlinker"] {
            println!("cargo::rustc-link-arg={word}");
        }
        println!("cargo::rustc-link-arg={}", place.display());
    }
    ExitCode::SUCCESS
}

/// The folder that `.cargo/config.toml` names, or `.z3` beside this file when that file was not read.
fn library_folder() -> PathBuf {
    let named = env::var_os("Z3_LIBRARY_PATH_OVERRIDE").map(PathBuf::from);
    named.unwrap_or_else(|| PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default()).join(".z3"))
}
