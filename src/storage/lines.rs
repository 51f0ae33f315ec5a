//! The lines of a file.

use crate::error::Faults;
use crate::files::open_regular;
use crate::formats::Lines;
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

/// Lines that lie in a file.
pub type FileLines = Lines<BufReader<File>>;

/// The lines of the regular file at `path`, each of `most` bytes at most.
///
/// # Errors
/// If it cannot be opened, or is no regular file.
pub fn lines(path: &Path, most: usize) -> Result<FileLines, Faults> {
    let (file, _) = open_regular(path)?;
    let from = BufReader::with_capacity(1 << 16, file);
    Ok(Lines::of(path.display().to_string(), from, most))
}
