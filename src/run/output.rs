//! Writing a report to a file: whole or not at all, and never over a model.
//!
//! Knows nothing of what a report says.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Whether a report may be written to this place: a regular file or nothing yet, in a folder that exists, and none
/// of the models.
///
/// # Errors
/// The sentence for the user.
pub(super) fn usable(path: &Path, models: &[PathBuf]) -> Result<(), String> {
    let shown = path.display();
    let folder = folder(path);
    if path.file_name().is_none() {
        return Err(format!("--output needs the name of a file, and `{shown}` is none"));
    }
    match fs::metadata(&folder) {
        Ok(found) if found.is_dir() => {}
        Ok(_) => {
            return Err(format!(
                "`{}` is not a folder, so no report can be written into it",
                folder.display()
            ));
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            return Err(format!(
                "the folder `{}` does not exist; make it first, then the report can be written to `{shown}`",
                folder.display()
            ));
        }
        Err(error) => return Err(format!("the folder `{}` cannot be used: {error}", folder.display())),
    }
    match fs::metadata(path) {
        Ok(found) if found.is_dir() => {
            return Err(format!("`{shown}` is a folder; name a file in it for the report"));
        }
        Ok(found) if !found.is_file() => {
            return Err(format!(
                "`{shown}` is not a regular file; leave --output out and redirect the output instead"
            ));
        }
        _ => {}
    }
    match models.iter().find(|model| same_file(path, model)) {
        Some(model) => {
            Err(format!("the report would overwrite the model `{}`; name another file", model.display()))
        }
        None => Ok(()),
    }
}

/// Writes the file, or leaves everything as it was.
///
/// # Errors
/// The sentence for the user.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> Result<(), String> {
    // A link stays a link: the file behind it is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let name = target.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let beside = folder(&target).join(format!(".{name}.{}.new", std::process::id()));
    let written = write_new(&beside, bytes).and_then(|()| fs::rename(&beside, &target));
    written.map_err(|error| {
        // The half of a report helps nobody; if it cannot be removed either, the first error says more.
        let _ = fs::remove_file(&beside);
        format!("the report could not be written to `{}`: {error}; nothing there was changed", path.display())
    })
}

fn write_new(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn folder(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// Whether both names lead to one file, over links too.
fn same_file(a: &Path, b: &Path) -> bool {
    if let (Ok(a), Ok(b)) = (fs::canonicalize(a), fs::canonicalize(b))
        && a == b
    {
        return true;
    }
    same_inode(a, b)
}

#[cfg(unix)]
fn same_inode(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let key = |path: &Path| File::open(path).and_then(|f| f.metadata()).map(|m| (m.dev(), m.ino()));
    matches!((key(a), key(b)), (Ok(a), Ok(b)) if a == b)
}

#[cfg(not(unix))]
fn same_inode(_: &Path, _: &Path) -> bool {
    false
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn fresh(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("tripproof-output-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    #[test]
    fn a_report_is_replaced_whole_and_nothing_is_left_beside_it() {
        let folder = fresh("whole");
        let path = folder.join("report.txt");
        replace(&path, b"first").unwrap();
        replace(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_cannot_be_written_leaves_everything_as_it_was() {
        let folder = fresh("folder");
        let taken = folder.join("report");
        fs::create_dir_all(taken.join("inside")).unwrap();
        assert!(replace(&taken, b"text").is_err_and(|message| message.contains("nothing there was changed")));
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn models_folders_and_missing_folders_are_refused() {
        let folder = fresh("refused");
        let model = folder.join("cell.yaml");
        fs::write(&model, "x").unwrap();
        fs::hard_link(&model, folder.join("link.yaml")).unwrap();
        let models = [model.clone()];
        let says =
            |path: &Path, part: &str| usable(path, &models).is_err_and(|message| message.contains(part));
        assert!(says(&model, "overwrite the model"));
        assert!(says(&folder.join("link.yaml"), "overwrite the model"));
        assert!(says(&folder.join(".").join("cell.yaml"), "overwrite the model"));
        assert!(says(&folder, "is a folder"));
        assert!(says(&folder.join("no/report.txt"), "does not exist"));
        assert!(says(&model.join("report.txt"), "is not a folder"));
        assert_eq!(usable(&folder.join("report.txt"), &models), Ok(()));
        fs::remove_dir_all(folder).unwrap();
    }
}
