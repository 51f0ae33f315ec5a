//! Captures, truths, keys and heads where they lie: `formats` read and written by `files`.

pub mod capture;
pub mod document;
mod key;
mod key_lines;
mod lines;
pub mod pack;

pub use capture::{CaptureFiles, find, open, truths};
pub use key::Key;
pub use key_lines::KeyLines;
pub use lines::{FileLines, lines};
