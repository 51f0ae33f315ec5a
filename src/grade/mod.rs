//! Grading: what a call is worth against the truth.
//!
//! A call sheet is read ([`sheet`]), its calls are matched with the truths ([`matching`]), each gets
//! a verdict ([`verdict`]) with a sentence of physics, and the verdicts are summed up ([`score`])
//! and set as text ([`report`]). A class ([`class`]) is many sheets against one key, with what they tell
//! together: [`calibration`] and the [`place`] of the calls in the firing order. An analyzer ([`analyzer`]) gives
//! calls by the million ([`rows`]), graded one by one against a key of which one truth is in memory at a time,
//! and two of its runs are compared ([`paired`]). Nothing here renders or simulates: the truth is all that
//! counts.

pub mod analyzer;
mod analyzer_text;
pub mod answers;
pub mod calibration;
pub mod class;
mod class_text;
mod columns;
pub mod entry;
pub mod factor;
pub mod matching;
mod named;
pub mod outcome;
mod packed;
pub mod paired;
mod paired_text;
mod phrase;
pub mod place;
pub mod report;
mod results;
pub mod rows;
pub mod score;
mod sentence;
pub mod sheet;
mod split;
pub mod statistics;
#[cfg(test)]
mod testing;
mod told;
pub mod verdict;

pub use analyzer::{Grading, Scores};
pub use calibration::{Bin, Calibration};
pub use class::{Class, Factor, Item, Level, Student};
pub use entry::Entry;
pub use outcome::Outcome;
pub use paired::Comparison;
pub use place::{Matrix, Places, offset_label};
pub use report::Report;
pub use rows::Row;
pub use score::{Graded, Summary};
pub use verdict::{Kind, Verdict};
