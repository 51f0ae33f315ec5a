//! What the JSON files of a capture have in common: reading with places, checks, writing.

use super::store::{self, Part};
use crate::error::{Fault, Faults};
use serde::{Serialize, de::DeserializeOwned};
use std::fmt::Display;
use std::io::Write;
use std::path::Path;

/// A JSON file larger than this is refused unread.
pub(super) const LIMIT_BYTES: u64 = 64 << 20;

/// A kind of JSON file: it tells its format and version in a field called `format`.
pub(super) trait Document: Serialize + DeserializeOwned + PartialEq {
    /// What the format line says.
    const FORMAT: &'static str;

    /// Notes everything by which the document contradicts itself.
    fn check(&self, checks: &mut Checks);
}

/// Collects faults at fields of one file.
pub(super) struct Checks {
    place: String,
    faults: Vec<Fault>,
}

impl Checks {
    /// Checks of the file that `place` names.
    pub(super) fn of(place: impl Display) -> Self {
        Checks {
            place: place.to_string(),
            faults: Vec::new(),
        }
    }

    /// Notes a fault at `field` unless something `holds`.
    pub(super) fn need(
        &mut self,
        holds: bool,
        field: impl Display,
        problem: impl Display,
        remedy: impl Display,
    ) {
        if !holds {
            let place = format!("{}: {field}", self.place);
            self.faults.push(Fault::new(place, problem, remedy));
        }
    }

    /// All faults that were noted.
    pub(super) fn finish(self) -> Result<(), Faults> {
        if self.faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(self.faults))
        }
    }
}

/// The text of a document: indented, with a line end at the end.
pub(super) fn to_text<D: Document>(document: &D) -> String {
    let mut text = serde_json::to_string_pretty(document)
        .expect("cards and truths have string keys only, and their JSON goes to memory");
    text.push('\n');
    text
}

/// Reads a document from `bytes`, which `place` names in faults.
pub(super) fn parse<D: Document>(place: impl Display, bytes: &[u8]) -> Result<D, Faults> {
    /// The format line alone: another version may well have other fields.
    #[derive(serde::Deserialize)]
    struct Head {
        format: String,
    }
    let place = place.to_string();
    // Some editors put a byte order mark in front.
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let fault = |error| json_fault(&place, &error);
    let head: Head = serde_json::from_slice(bytes).map_err(fault)?;
    if head.format != D::FORMAT {
        return Err(Fault::new(
            format!("{place}: format"),
            format!("it says {:?}", head.format),
            format!(
                "this program reads {:?}; give it such a file, or use the version of the program \
                 that wrote this one",
                D::FORMAT
            ),
        )
        .into());
    }
    let document: D = serde_json::from_slice(bytes).map_err(fault)?;
    let mut checks = Checks::of(place);
    document.check(&mut checks);
    checks.finish()?;
    Ok(document)
}

/// A fault at the line and column where reading stopped.
fn json_fault(place: &str, error: &serde_json::Error) -> Fault {
    use serde_json::error::Category;
    let (line, column) = (error.line(), error.column());
    let words = error.to_string();
    let problem = words
        .strip_suffix(&format!(" at line {line} column {column}"))
        .unwrap_or(&words);
    let remedy = match error.classify() {
        Category::Eof => "the file ends too early; copy or render the capture again",
        Category::Data => "mend this field, or render the capture again",
        Category::Syntax | Category::Io => "mend the JSON here, or render the capture again",
    };
    Fault::new(
        format!("{place}: line {line}, column {column}"),
        problem,
        remedy,
    )
}

/// Reads the document at `path`.
pub(super) fn read<D: Document>(path: &Path) -> Result<D, Faults> {
    let bytes = store::read_at_most(path, LIMIT_BYTES)?;
    parse(path.display(), &bytes)
}

/// The text of a document that reads back as the very same one, or why it does not. (JSON has no
/// NaN and no infinity; in their place `null` is written.)
pub(super) fn checked_text<D: Document>(path: &Path, document: &D) -> Result<String, Faults> {
    let mut checks = Checks::of(path.display());
    document.check(&mut checks);
    checks.finish()?;
    let text = to_text(document);
    if parse::<D>(path.display(), text.as_bytes()).as_ref() != Ok(document) {
        let problem = "it would not read back as it was written: \
                       a number in it is not finite, or its values nest too deep";
        return Err(Fault::new(path.display(), problem, "find where the value comes from").into());
    }
    if text.len() as u64 > LIMIT_BYTES {
        let problem = format!(
            "it would have {} bytes, more than {LIMIT_BYTES}",
            text.len()
        );
        return Err(Fault::new(path.display(), problem, "shorten the capture").into());
    }
    Ok(text)
}

/// Writes a document to `path`, whole or not at all.
pub(super) fn write<D: Document>(path: &Path, document: &D) -> Result<(), Faults> {
    write_part(path, document)?.commit()
}

/// As [`write`], but leaves it to the caller to put the file in its place.
pub(super) fn write_part<D: Document>(path: &Path, document: &D) -> Result<Part, Faults> {
    let text = checked_text(path, document)?;
    Part::write(path, |out| out.write_all(text.as_bytes()))
}
