//! Corpora: thousands of captures with known truth, for whoever writes an analyzer.
//!
//! A plan file ([`Plan`]) names scenarios and their weights. A capture depends on the plan, the seed and
//! its index alone ([`Plan::draw`]), so that any split into shards gives the bytes of one run, and any
//! capture can be rendered again by itself. [`build()`] renders one [`Shard`] into a folder, [`merge()`]
//! checks that all shards are there, [`verify()`] hashes everything again.
//!
//! ```text
//! corpus.json                        which captures these are, and in which form
//! captures/                          what an analyzer may read
//!   0000/c0000123.wav, .card.json      or c0000064.parquet: cards and samples
//! labelled/                          or Parquet files with the truth in them, for training
//! key/                               the truth
//!   shard-0003-of-0008.key.jsonl       in outline, a line a capture
//!   parquet/c0000064.parquet           the same as columns, for `captures/` in Parquet
//!   truths/0000/c0000123.truth.json    whole, if asked for
//! manifest/shard-0003-of-0008.sha256 what is finished, in the form of `sha256sum`
//! manifest.sha256                    all of it, once merged
//! ```
//!
//! Files are the unit of work ([`layout`]): a capture's WAV, card and truth, or a Parquet file of a fixed
//! number of captures. A unit's lines go to the key and then to the manifest once its files stand whole
//! under their names, in the order of the units; so whatever ends a run, the manifest names finished work
//! only, and the next run goes on behind it. Before the manifest names work, the disk has it: finished units wait for
//! others, and one call makes them last together. A kill may cost these few, which are rendered again. Memory holds the units at work and those that wait for an
//! earlier one, however many there are in all.

mod build;
mod head;
pub mod layout;
mod manifest;
mod merge;
mod plan;
mod shard;
mod survey;
mod unit;
mod verify;

pub use crate::formats::corpus::{MAX_CAPTURES, MAX_CAPTURES_PER_FILE};
pub use build::{Built, Order, Progress, Stage, Watch, build};
pub use layout::{Layout, name};
pub use merge::{Summary, merge};
pub use plan::{Entry, Plan, PlanFile};
pub use shard::{MAX_SHARDS, Shard};
pub use verify::{Findings, verify};
