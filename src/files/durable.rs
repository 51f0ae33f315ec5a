//! Finished work on the disk, so that a loss of power takes none of it.

use crate::error::{Fault, Faults};
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

/// Returns once `files`, which lie below `folder`, are on the disk under their names.
///
/// On Linux it is one call for the whole file system, which costs as much for many files as for a few; elsewhere each file
/// and each folder is one.
///
/// # Errors
/// A disk that fails.
pub fn make_durable(folder: &Path, files: &[PathBuf]) -> Result<(), Faults> {
    Ok(sync(folder, files).map_err(|e| Fault::io(folder, "bring it to the disk", &e))?)
}

#[cfg(target_os = "linux")]
fn sync(folder: &Path, _: &[PathBuf]) -> io::Result<()> {
    Ok(rustix::fs::syncfs(File::open(folder)?)?)
}

#[cfg(not(target_os = "linux"))]
fn sync(_: &Path, files: &[PathBuf]) -> io::Result<()> {
    let mut folders: Vec<&Path> = files.iter().filter_map(|file| file.parent()).collect();
    folders.dedup();
    for file in files {
        File::options().append(true).open(file)?.sync_all()?;
    }
    // A folder cannot be opened everywhere; where it cannot, its entries are the system's care.
    for folder in folders.into_iter().filter_map(|f| File::open(f).ok()) {
        folder.sync_all()?;
    }
    Ok(())
}
