//! Waterjacket renders training captures of combustion gas leaking into an engine's cooling system,
//! keeps the truth of each, and grades the cylinder call made from it.
//!
//! The modules stand in the order in which data flows through them.

pub mod error;
pub mod math;
pub mod random;

pub mod acquisition;
pub mod render;
pub mod scenario;
pub mod sensors;
pub mod simulation;
pub mod truth;
pub mod vehicle;

pub mod capture;
pub mod grade;
pub mod plot;
