//! Grading: what a call is worth against the truth.
//!
//! A call sheet is read ([`sheet`]), its calls are matched with the truths ([`matching`]), each gets
//! a verdict ([`verdict`]) with a sentence of physics, and the verdicts are summed up ([`score`])
//! and set as text ([`report`]). Nothing here renders or simulates: the truth is all that counts.

pub mod call;
pub mod matching;
mod phrase;
pub mod report;
pub mod score;
mod sentence;
pub mod sheet;
pub mod statistics;
#[cfg(test)]
mod testing;
pub mod verdict;

pub use call::{Call, Cylinders};
pub use report::Report;
pub use score::{Graded, Summary};
pub use verdict::{Kind, Verdict};
