//! Grading: what a call is worth against the truth.
//!
//! Calls of one reader are graded one truth at a time ([`grader`]): each gets a verdict ([`verdict`]) with a
//! sentence of physics (`sentence`), and the verdicts are summed up ([`tally`]). A class ([`class`]) is many sheets
//! against one key, an analyzer ([`analyzer`]) gives calls by the million, and two of its runs are compared ([`paired`]).
//! What is told of all this is set in tables ([`tables`]). Nothing here renders or simulates: the truth is all that
//! counts.

pub mod analyzer;
pub mod answers;
mod by_capture;
pub mod calibration;
pub mod class;
mod explanation;
pub mod fault_sample;
pub mod firing_offset;
pub mod graded;
pub mod grader;
pub mod kind;
pub mod paired;
pub mod results;
mod sentence;
pub mod statistics;
pub mod strata;
pub mod tables;
pub mod tally;
#[cfg(test)]
mod testing;
pub mod verdict;

pub use analyzer::{Grading, Scores};
pub use calibration::Calibration;
pub use class::{Class, Student};
pub use graded::Graded;
pub use kind::Kind;
pub use paired::Comparison;
pub use tally::Summary;
pub use verdict::Verdict;
