//! JSON documents: reading with places, checks, text.

use crate::domain::checks::Checks;
use crate::domain::{CARD_FORMAT, Card, TRUTH_FORMAT, Truth};
use crate::error::{Fault, Faults};
use serde::{Serialize, de::DeserializeOwned};
use std::fmt::Display;

/// A JSON file larger than this is refused unread.
pub const LIMIT_BYTES: u64 = 64 << 20;

/// A kind of JSON file: it tells its format and version in a field called `format`.
pub trait Document: Serialize + DeserializeOwned + PartialEq {
    /// What the format line says.
    const FORMAT: &'static str;

    /// Notes everything by which the document contradicts itself.
    fn check(&self, checks: &mut Checks);
}

/// The text of a document: indented, with a line end at the end.
#[must_use]
pub fn text<D: Document>(document: &D) -> String {
    let mut text = serde_json::to_string_pretty(document)
        .expect("cards and truths have string keys only, and their JSON goes to memory");
    text.push('\n');
    text
}

/// All by which a document contradicts itself; `place` names it.
pub fn check<D: Document>(place: impl Display, document: &D) -> Result<(), Faults> {
    let mut checks = Checks::of(place);
    document.check(&mut checks);
    checks.finish()
}

/// Reads a document from `bytes`, which `place` names in faults.
pub fn parse<D: Document>(place: impl Display, bytes: &[u8]) -> Result<D, Faults> {
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
    check(place, &document)?;
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

/// The text of a document that reads back as the very same one, or why it does not. (JSON has no
/// NaN and no infinity; in their place `null` is written.)
pub fn checked_text<D: Document>(place: impl Display, document: &D) -> Result<String, Faults> {
    check(&place, document)?;
    let text = text(document);
    if parse::<D>(&place, text.as_bytes()).as_ref() != Ok(document) {
        let problem = "it would not read back as it was written: \
                       a number in it is not finite, or its values nest too deep";
        return Err(Fault::new(&place, problem, "find where the value comes from").into());
    }
    if text.len() as u64 > LIMIT_BYTES {
        let problem = format!(
            "it would have {} bytes, more than {LIMIT_BYTES}",
            text.len()
        );
        return Err(Fault::new(&place, problem, "shorten the capture").into());
    }
    Ok(text)
}

impl Document for Card {
    const FORMAT: &'static str = CARD_FORMAT;

    fn check(&self, checks: &mut Checks) {
        Card::check(self, checks);
    }
}

impl Document for Truth {
    const FORMAT: &'static str = TRUTH_FORMAT;

    fn check(&self, checks: &mut Checks) {
        Truth::check(self, checks);
    }
}

#[cfg(test)]
mod tests;
