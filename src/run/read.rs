//! Reading a model file: from a path to its text and the digest of its bytes, or why not.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::report::Entry;
use crate::source::Source;
use crate::syntax::yaml::{Limits, from_bytes};

/// The text of a model file, and the SHA-256 of the file in hexadecimal. At most one byte above the limit is read.
///
/// The digest is that of the bytes on the disk, byte order mark included, so that any other tool finds the same.
///
/// # Errors
/// The entry for the report.
pub(super) fn source(path: &Path) -> Result<(Source, String), Box<Entry>> {
    let file = path.display().to_string();
    let limits = Limits::default();
    let failed = |code, message| Box::new(Entry::Failed { file: file.clone(), code, message });
    let unreadable = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => failed("no-such-file", format!("there is no file `{file}`")),
        ErrorKind::PermissionDenied => failed("unreadable", format!("`{file}` may not be read by this user")),
        _ => failed("unreadable", format!("`{file}` cannot be read: {error}")),
    };
    let found = fs::metadata(path).map_err(unreadable)?;
    if found.is_dir() {
        return Err(failed("folder", format!("`{file}` is a folder; name the model file in it")));
    }
    if !found.is_file() {
        return Err(failed("unreadable", format!("`{file}` is not a regular file")));
    }
    if found.len() > limits.bytes as u64 {
        let message = format!(
            "`{file}` has {} bytes; at most {} are read. Check that this is the model file",
            found.len(),
            limits.bytes
        );
        return Err(failed("too-large", message));
    }
    let mut bytes = Vec::new();
    let most = limits.bytes as u64 + 1;
    File::open(path).and_then(|opened| opened.take(most).read_to_end(&mut bytes)).map_err(unreadable)?;
    let digest: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    from_bytes(&file, &bytes, &limits)
        .map(|source| (source, digest))
        .map_err(|refused| Box::new(Entry::Refused { source: refused.source, problems: refused.problems }))
}
