//! Folders that hold captures beside other files.

use crate::error::{Fault, Faults};
use std::fs;
use std::path::Path;

/// Makes a folder, and those above it.
pub fn make(folder: &Path) -> Result<(), Faults> {
    fs::create_dir_all(folder).map_err(|e| Fault::io(folder, "make the folder", &e).into())
}

/// Names of all in a folder, in their order.
pub fn names(folder: &Path) -> Result<Vec<String>, Faults> {
    let fault = |e: &std::io::Error| Faults::from(Fault::io(folder, "list the folder", e));
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(|e| fault(&e))? {
        names.push(
            entry
                .map_err(|e| fault(&e))?
                .file_name()
                .to_string_lossy()
                .into_owned(),
        );
    }
    names.sort();
    Ok(names)
}

/// Takes away what a killed process left half written.
pub fn remove_parts(folder: &Path) -> Result<(), Faults> {
    for name in names(folder)? {
        let path = folder.join(&name);
        if name.starts_with('.') && name.ends_with(".part") && path.is_file() {
            fs::remove_file(&path).map_err(|e| Fault::io(&path, "remove it", &e))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_parts_go() {
        let folder = tempfile::tempdir().unwrap();
        for name in [".a.part", "b.part", ".c", "d"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        remove_parts(folder.path()).unwrap();
        assert_eq!(names(folder.path()).unwrap(), [".c", "b.part", "d"]);
    }
}
