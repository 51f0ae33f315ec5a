//! Captures on disk: the only file format code.
//!
//! A capture is `NAME.wav` (16-bit PCM, a channel per trace; channels are not speakers) beside
//! `NAME.card.json` (what a student may know) and, on the instructor's side, `NAME.truth.json`.

pub mod card;
pub mod columns;
pub mod corpus;
pub mod digest;
pub mod files;
pub mod folder;
pub mod format;
pub mod journal;
mod json;
pub mod key;
pub mod keys;
pub mod lines;
pub mod listing;
pub mod name;
pub mod pack;
pub mod parquet;
pub mod space;
pub mod store;
pub mod table;
pub mod truth;
pub mod wav;

#[cfg(test)]
pub(crate) mod example;

pub use card::{Card, ChannelCard, EnginePlate, Measures, SetUp};
pub use corpus::{CorpusForm, CorpusHead};
pub use digest::{sha256_hex, sha256_of};
pub use files::{Files, Opened, find, open, truths};
pub use journal::Journal;
pub use key::{KEY_SUFFIX, KeyLines};
pub use keys::Key;
pub use lines::{Line, Lines};
pub use name::check_name;
pub use pack::PackHead;
pub use table::Table;
pub use truth::{Difficulty, Evidence, LeakEvent, LeakTruth, Sync, Truth};
pub use wav::Samples;
