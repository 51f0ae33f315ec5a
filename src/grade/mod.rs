//! Grading: what a call is worth against the truth.
//!
//! A call sheet is read ([`sheet`]), its calls are matched with the truths ([`matching`]), each gets
//! a verdict ([`verdict`]) with a sentence of physics, and the verdicts are summed up ([`score`])
//! and set as text ([`report`]). A class ([`class`]) is many sheets against one key, with what they tell
//! together: [`calibration`] and the [`place`] of the calls in the firing order. Nothing here renders
//! or simulates: the truth is all that counts.

pub mod calibration;
pub mod call;
pub mod class;
mod class_text;
mod columns;
pub mod matching;
mod phrase;
pub mod place;
pub mod report;
mod results;
pub mod rows;
pub mod score;
mod sentence;
pub mod sheet;
pub mod statistics;
#[cfg(test)]
mod testing;
pub mod verdict;

pub use calibration::{Bin, Calibration};
pub use call::{Call, Cylinders};
pub use class::{Class, Factor, Item, Level, Student};
pub use place::{Matrix, Places, offset_label};
pub use report::Report;
pub use rows::Row;
pub use score::{Graded, Summary};
pub use verdict::{Kind, Verdict};
