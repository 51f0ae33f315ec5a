//! The head of a pack: the id by which call sheets and key belong together.

use super::json::{self, Checks, Document};
use super::store;
use crate::error::Faults;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// What the format line of a pack's head says.
pub const PACK_FORMAT: &str = "waterjacket pack 1";

/// What every reader of a pack needs of its `pack.json`; whatever else stands there is passed over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackHead {
    /// Name and version of this format, [`PACK_FORMAT`].
    pub format: String,
    /// The pack's id.
    pub pack: String,
}

impl PackHead {
    /// Reads the `pack.json` of a folder; `None` if there is none.
    ///
    /// # Errors
    /// A file that cannot be read, of another format, or without an id.
    pub fn of(folder: &Path) -> Result<Option<Self>, Faults> {
        let path = folder.join("pack.json");
        match path.try_exists() {
            Ok(false) => Ok(None),
            _ => json::read(&path).map(Some),
        }
    }
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
    let bytes = store::read_at_most(&path, MAX_SHEET_BYTES)?;
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

impl Document for PackHead {
    const FORMAT: &'static str = PACK_FORMAT;

    fn check(&self, c: &mut Checks) {
        let id = self.pack.trim();
        c.need(
            !id.is_empty() && id == self.pack && !id.chars().any(char::is_control),
            "pack",
            format!("it is {:?}", self.pack),
            "give the pack's id in printable letters",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn head(json: &str) -> Result<Option<PackHead>, Faults> {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("pack.json"), json).unwrap();
        PackHead::of(folder.path())
    }

    #[test]
    fn a_head_is_read_whatever_else_stands_there() {
        let json = r#"{"format": "waterjacket pack 1", "pack": "k7", "captures": 12}"#;
        assert_eq!(head(json).unwrap().unwrap().pack, "k7");
        let empty = tempfile::tempdir().unwrap();
        assert_eq!(PackHead::of(empty.path()), Ok(None));
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
            let faults = head(json).unwrap_err().to_string();
            assert!(faults.contains(part), "{faults}");
        }
    }
}
