//! The key of many captures: JSON Lines, a truth in outline a line.
//!
//! A grader needs what the evidence supports, not every event, so an outline leaves out the events, the
//! TDCs and the scenario: one line is a few kilobytes, and a key of a million captures is read one line at
//! a time.

use crate::domain::Truth;

/// How the name of a key of many captures ends.
pub const KEY_SUFFIX: &str = ".key.jsonl";

/// A truth without its events, its TDCs and its scenario: a truth that grades calls but renders nothing.
pub fn outline(truth: &Truth) -> Truth {
    Truth {
        events: Vec::new(),
        tdcs: Vec::new(),
        scenario: serde_json::Value::Null,
        ..truth.clone()
    }
}

/// The line of a key that holds the outline of `truth`, with its line end.
pub fn line(truth: &Truth) -> String {
    let mut text = serde_json::to_string(&outline(truth))
        .expect("a truth has string keys only, and its JSON goes to memory");
    text.push('\n');
    text
}
