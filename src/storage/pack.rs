//! The head of a pack on disk, and the pack that a student's folder names.

use super::document;
use crate::error::Faults;
use crate::files::read_at_most;
use crate::formats::PackHead;
use std::path::Path;

/// The head of the pack whose key is in `folder`, from its `pack.json`; `None` if there is none.
///
/// # Errors
/// A file that cannot be read, of another format, or without an id.
pub fn head(folder: &Path) -> Result<Option<PackHead>, Faults> {
    let path = folder.join("pack.json");
    // A key of many captures may be named itself, and has no folder of its own.
    if folder.is_file() || matches!(path.try_exists(), Ok(false)) {
        return Ok(None);
    }
    document::read(&path).map(Some)
}

/// A blank call sheet larger than this is refused unread.
const MAX_SHEET_BYTES: u64 = 1 << 20;

/// The pack that the call sheet of a student's folder, `calls.csv`, names in its column `pack`; `None`
/// without a sheet, or if it names none. A sheet that was filled in and saved again will do.
///
/// # Errors
/// A sheet that cannot be read.
pub fn named_in(folder: &Path) -> Result<Option<String>, Faults> {
    let path = folder.join("calls.csv");
    if let Ok(false) = path.try_exists() {
        return Ok(None);
    }
    let bytes = read_at_most(&path, MAX_SHEET_BYTES)?;
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .from_reader(bytes.as_slice());
    let heads = reader.headers().cloned().unwrap_or_default();
    let Some(column) = heads.iter().position(|name| name.trim() == "pack") else {
        return Ok(None);
    };
    let rows = reader.records().map_while(Result::ok);
    let mut named = rows.filter_map(|row| Some(row.get(column)?.trim().to_string()));
    Ok(named.find(|id| !id.is_empty() && !id.chars().any(char::is_control)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(json: &str) -> Result<Option<PackHead>, Faults> {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("pack.json"), json).unwrap();
        super::head(folder.path())
    }

    #[test]
    fn a_head_is_read_whatever_else_stands_there() {
        let json = r#"{"format": "waterjacket pack 1", "pack": "k7", "captures": 12}"#;
        assert_eq!(read(json).unwrap().unwrap().pack, "k7");
        let empty = tempfile::tempdir().unwrap();
        assert_eq!(super::head(empty.path()), Ok(None));
    }

    #[test]
    fn a_students_folder_names_its_pack_in_the_blank_sheet() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(named_in(folder.path()), Ok(None));
        for (sheet, pack) in [
            (
                "capture,cylinders,confidence,note,pack\na,3,,,\nb,,,,k7\n",
                Some("k7"),
            ),
            ("capture,cylinders\na,3\n", None),
            ("capture;cylinders;pack\na;3;k7\n", None),
            ("", None),
        ] {
            std::fs::write(folder.path().join("calls.csv"), sheet).unwrap();
            let named = named_in(folder.path()).unwrap();
            assert_eq!(named.as_deref(), pack, "{sheet}");
        }
    }

    #[test]
    fn another_format_or_no_id_is_a_fault() {
        for (json, part) in [
            (
                r#"{"format": "waterjacket pack 2", "pack": "k7"}"#,
                "pack.json: format: it says",
            ),
            (
                r#"{"format": "waterjacket pack 1", "pack": " "}"#,
                "pack.json: pack: it is \" \"",
            ),
            (
                r#"{"format": "waterjacket pack 1"}"#,
                "missing field `pack`",
            ),
        ] {
            let faults = read(json).unwrap_err().to_string();
            assert!(faults.contains(part), "{faults}");
        }
    }
}
