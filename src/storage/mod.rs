//! Captures, truths, keys and heads where they lie: `formats` read and written by `files`.

pub mod capture;
mod destination;
pub mod document;
mod key;
mod key_lines;
mod lines;
pub mod pack;

pub use capture::{CaptureFiles, find, open, truths};
pub use destination::Destination;
pub use key::Key;
pub use key_lines::KeyLines;
pub use lines::{FileLines, lines};

/// Endings of the files that no output of a command replaces: captures, keys, and the marks of packs, corpora and jobs.
pub const KEPT: &[&str] = &[
    ".wav",
    ".card.json",
    ".truth.json",
    ".key.jsonl",
    ".parquet",
    ".sha256",
    "pack.json",
    "corpus.json",
    "job.json",
    "sealed.bin",
];
