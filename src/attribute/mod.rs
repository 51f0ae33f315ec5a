//! Automatic readers of captures: what they see is what a student sees, samples and card.

mod clock;
mod counting;

pub use counting::{Reading, count};
