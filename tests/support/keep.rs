//! Compares a page that is made from the program or its tests with its text, or writes it anew.

use std::fs;
use std::path::Path;

/// Compares, or with `TRIPPROOF_WRITE_DOCS=1` writes.
pub fn keep(path: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    if std::env::var_os("TRIPPROOF_WRITE_DOCS").is_some() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, text).unwrap();
    }
    let stands = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        stands == text,
        "{} is not what the program says; run: TRIPPROOF_WRITE_DOCS=1 cargo test --test generated_docs --test classes --test oracle",
        path.display()
    );
}
