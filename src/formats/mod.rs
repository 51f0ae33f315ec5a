//! Bytes to values and back: the only file format code. Nothing here knows where bytes lie.
//!
//! A capture is `NAME.wav` (16-bit PCM, a channel per trace; channels are not speakers) beside
//! `NAME.card.json` (what a student may know) and, on the instructor's side, `NAME.truth.json`.

pub mod call_lines;
pub mod call_sheet;
pub mod calls;
#[cfg(feature = "cli")]
pub mod columns;
pub mod corpus;
pub mod csv_line;
pub mod description;
pub mod json;
pub mod key;
pub mod lines;
pub mod pack;
#[cfg(feature = "cli")]
pub mod parquet;
pub mod table;
pub mod wav;

pub use corpus::{CorpusForm, CorpusHead};
pub use lines::Lines;
pub use pack::PackHead;
pub use table::Table;
