//! JSON documents on disk.

use crate::error::Faults;
use crate::files::{Part, read_at_most};
use crate::formats::json::{self, Document};
use std::io::Write;
use std::path::Path;

/// Reads the document at `path`, of [`json::LIMIT_BYTES`] at most.
pub fn read<D: Document>(path: &Path) -> Result<D, Faults> {
    let bytes = read_at_most(path, json::LIMIT_BYTES)?;
    json::parse(path.display(), &bytes)
}

/// Writes a document to `path`, whole or not at all; refuses one that [`read`] would refuse, or that holds a number
/// that is not finite.
pub fn write<D: Document>(path: &Path, document: &D) -> Result<(), Faults> {
    write_part(path, document)?.commit()
}

/// As [`write`], but leaves it to the caller to put the file in its place.
pub fn write_part<D: Document>(path: &Path, document: &D) -> Result<Part, Faults> {
    let text = json::checked_text(path.display(), document)?;
    Part::write(path, |out| out.write_all(text.as_bytes()))
}
