//! Waterjacket renders training captures of combustion gas leaking into an engine's cooling system,
//! keeps the truth of each, and grades the cylinder call made from it.
//!
//! The modules stand in the order in which data flows through them; `tests/arrows.rs` holds them to
//! it.

// Faults: what is wrong, where, and what would be right.
pub mod error;

// Portable transcendental functions.
pub mod math;

// SHA-256.
pub mod digest;

// Named random sub-streams.
pub mod random;

// Paragraphs in lines.
pub mod prose;

// The model's page: equations, sources, limits, defaults.
pub mod model;

// Guides for the three users, and the words.
pub mod guide;

// Cylinders, calls, cards, truths, captures.
pub mod domain;

// YAML to a typed scenario, its distributions drawn.
pub mod scenario;

// The resolved vehicle in SI units.
pub mod vehicle;

// The physics: noiseless traces.
pub mod simulation;

// Physics to volts.
pub mod sensors;

// Volts to samples.
pub mod acquisition;

// What happened, and what of it can be seen.
pub mod truth;

// All of the above, in order.
pub mod render;

// Bytes to values and back: WAV, card, truth, CSV, Parquet.
pub mod formats;

// Files and folders, whole or not at all.
#[cfg(feature = "cli")]
pub mod files;

// Captures, truths and keys where they lie.
#[cfg(feature = "cli")]
pub mod storage;

// Automatic readers of captures.
pub mod attribute;

// What a report tells, in rows and columns.
pub mod table;

// HTML in which text stays text.
#[cfg(feature = "cli")]
pub mod html;

// Calls against the truth.
pub mod grade;

// Data to a picture.
#[cfg(feature = "cli")]
pub mod plot;

// A graded class as one HTML page.
#[cfg(feature = "cli")]
pub mod report;

// The truth in words and in a picture.
#[cfg(feature = "cli")]
pub mod debrief;

// Captures to zoom, measure and call in a browser.
#[cfg(feature = "cli")]
pub mod page;

// Packs for a class, and their key.
#[cfg(feature = "cli")]
pub mod quiz;

// A hidden vehicle, tests to order, and a call.
#[cfg(feature = "cli")]
pub mod practice;

// Thousands of captures for analyzers, in shards.
#[cfg(feature = "cli")]
pub mod corpus;

// The commands; the only place that prints.
#[cfg(feature = "cli")]
pub mod cli;
