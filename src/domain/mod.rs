//! What captures, calls and truths are: plain values that every other module speaks of.
//!
//! Nothing here reads a file, renders or grades. A document of several values checks itself, so that whoever reads
//! one from outside can tell all by which it contradicts itself.

pub mod call;
pub mod capture;
pub mod card;
pub mod checks;
mod cylinders;
mod engine;
pub mod entry;
mod evidence;
pub mod name;
pub mod truth;

#[cfg(test)]
pub(crate) mod example;

pub use call::Call;
pub use capture::Capture;
pub use card::{CARD_FORMAT, Card, ChannelCard, Measures, Mode, SetUp};
pub use cylinders::{CylinderSet, MAX_CYLINDERS};
pub use engine::{EngineData, Layout};
pub use entry::{Entry, parse_confidence};
pub use evidence::{Difficulty, Evidence, Sync};
pub use name::check_name;
pub use truth::{
    ChannelTruth, GasAccount, LeakEvent, LeakTruth, TRUTH_FORMAT, Tdc, Truth, highest_pulse,
};
