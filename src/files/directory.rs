//! Folders and what lies in them.

use super::atomic::PART;
use crate::error::{Fault, Faults};
use std::fs::{self, File, TryLockError};
use std::io::ErrorKind;
use std::path::Path;

/// Makes a folder, and those above it.
pub fn make(folder: &Path) -> Result<(), Faults> {
    fs::create_dir_all(folder).map_err(|e| Fault::io(folder, "make the folder", &e).into())
}

/// Names of all in a folder, hidden ones too, in their order.
pub fn names(folder: &Path) -> Result<Vec<String>, Faults> {
    let fault = |e: std::io::Error| Fault::io(folder, "list the folder", &e);
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(fault)? {
        let name = entry.map_err(fault)?.file_name();
        names.push(name.to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// Names of all in a folder that are not hidden and end in one of `endings`, in their order.
pub fn ending_in(folder: &Path, endings: &[&str]) -> Result<Vec<String>, Faults> {
    let mut names = names(folder)?;
    names.retain(|n| !n.starts_with('.') && endings.iter().any(|e| n.ends_with(e)));
    Ok(names)
}

/// Takes away what killed processes left half written; what a process is still writing stays, by its lock.
pub fn remove_parts(folder: &Path) -> Result<(), Faults> {
    for name in names(folder)? {
        let path = folder.join(&name);
        if name.starts_with('.') && name.ends_with(PART) && path.is_file() {
            let part = File::options().write(true).open(&path);
            if !matches!(
                part.as_ref().map(File::try_lock),
                Ok(Err(TryLockError::WouldBlock))
            ) {
                match fs::remove_file(&path) {
                    // Its writer has just put it in its place.
                    Err(e) if e.kind() == ErrorKind::NotFound => {}
                    removed => removed.map_err(|e| Fault::io(&path, "remove it", &e))?,
                }
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Part;

    #[test]
    fn only_parts_that_nobody_writes_go() {
        let folder = tempfile::tempdir().unwrap();
        for name in [".a.part", "b.part", ".c", "d"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        let writing = Part::write(&folder.path().join("e"), |_| Ok(())).unwrap();
        remove_parts(folder.path()).unwrap();
        writing.commit().unwrap();
        assert_eq!(names(folder.path()).unwrap(), [".c", "b.part", "d", "e"]);
    }
}
