//! By what a file is known, whatever it is called.

use std::fs::{self, File};
use std::io;
use std::path::Path;

#[cfg(unix)]
mod system {
    use super::*;
    use std::os::unix::fs::MetadataExt;

    /// Device and number there.
    pub type Identity = (u64, u64);

    /// What the file at `path` is known by.
    pub fn identity(path: &Path) -> io::Result<Identity> {
        fs::metadata(path).map(|about| (about.dev(), about.ino()))
    }

    /// Whether an open file still lies at `path`.
    pub fn lies_at(file: &File, path: &Path) -> io::Result<bool> {
        let about = file.metadata()?;
        match identity(path) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(false),
            other => Ok(other? == (about.dev(), about.ino())),
        }
    }
}

/// Where the standard library knows no more than paths: hard links go unnoticed.
#[cfg(not(unix))]
mod system {
    use super::*;

    pub type Identity = std::path::PathBuf;

    pub fn identity(path: &Path) -> io::Result<Identity> {
        fs::canonicalize(path)
    }

    pub fn lies_at(_: &File, _: &Path) -> io::Result<bool> {
        Ok(true)
    }
}

pub use system::{Identity, identity, lies_at};
