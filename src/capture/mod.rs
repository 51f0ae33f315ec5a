//! Captures on disk: the only file format code.
//!
//! A capture is `NAME.wav` (16-bit PCM, a channel per trace; channels are not speakers) beside
//! `NAME.card.json` (what a student may know) and, on the instructor's side, `NAME.truth.json`.

pub mod card;
pub mod truth;

pub use card::{Card, ChannelCard, EnginePlate, Measures, SetUp};
pub use truth::{Evidence, LeakEvent, LeakTruth, Sync, Truth};
