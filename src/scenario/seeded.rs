//! Files that draw from a seed of their own: quizzes and plans.

use super::reading::Reading;
use super::section::{Section, visit_document};
use super::yaml;
use crate::error::Faults;
use serde_json::Value;

/// Reads a file with a `seed` of its own; `file` names it in messages, and `check` adds what no field can know.
///
/// # Errors
/// All faults, each with its place.
pub fn read_seeded<T>(
    file: &str,
    text: &[u8],
    visit: impl FnOnce(&mut Section, Option<&T>) -> T,
    check: impl FnOnce(&T, &Reading),
) -> Result<T, Faults> {
    let document = yaml::parse(file, text)?;
    let seed = document.tree.get("seed").and_then(Value::as_u64);
    let reading = Reading::new(file, seed.unwrap_or(1), 0);
    let (value, _, _) = visit_document(&reading, document.tree.clone(), None, visit);
    check(&value, &reading);
    reading.end(value, &document)
}
