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

/// As [`write()`], but leaves it to the caller to put the file in its place.
pub fn write_part<D: Document>(path: &Path, document: &D) -> Result<Part, Faults> {
    let text = json::checked_text(path.display(), document)?;
    Part::write(path, |out| out.write_all(text.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Card, example};

    #[test]
    fn a_document_comes_back_from_its_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.card.json");
        let card = example::card();
        write(&path, &card).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), json::text(&card));
        assert_eq!(read(&path), Ok(card));
    }

    #[test]
    fn what_would_be_refused_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.card.json");
        let mut card = example::card();
        card.channels[0].offset = f64::INFINITY;
        assert!(write(&path, &card).is_err());
        assert!(!path.exists());
    }

    #[test]
    fn a_file_beyond_the_limit_is_refused_unread() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.card.json");
        let file = std::fs::File::create(&path).unwrap();
        file.set_len(json::LIMIT_BYTES + 1).unwrap();
        let words = read::<Card>(&path).unwrap_err().to_string();
        assert!(words.contains("it has 67108865 bytes"), "{words}");
    }
}
