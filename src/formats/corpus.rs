//! The head of a corpus, `corpus.json`: which captures the folder holds, and in which form.
//!
//! It is the same for every shard, so that any of them may write it first; by it, a run knows whether a
//! folder is its own.

use super::json::Document;
use crate::domain::checks::Checks;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What the format line of a corpus says.
pub const CORPUS_FORMAT: &str = "waterjacket corpus 1";
/// The head's file.
pub const CORPUS_FILE: &str = "corpus.json";
/// Most captures of one corpus, so that every name has the same length.
pub const MAX_CAPTURES: u64 = 10_000_000;
/// Most captures in one Parquet file.
pub const MAX_CAPTURES_PER_FILE: u64 = 1000;
/// Digits of a shard's number in file names.
pub const SHARD_DIGITS: usize = 4;

/// What a corpus is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CorpusHead {
    /// Name and version of this format, [`CORPUS_FORMAT`].
    pub format: String,
    /// The plan file's name.
    pub plan: String,
    /// SHA-256 of the plan and of all scenarios it names.
    pub plan_sha256: String,
    /// Seed of all draws.
    pub seed: u64,
    /// Number of captures.
    pub count: u64,
    /// Number of shards.
    pub shards: u64,
    /// How the captures lie there.
    pub form: CorpusForm,
    /// Captures in each file.
    pub captures_per_file: u64,
    /// Whether the whole truths lie there as well.
    pub truths: bool,
    /// Version of the program.
    pub version: String,
    /// SHA-256 of the first capture as a WAV, by which another build of the program is told.
    pub first_wav_sha256: String,
}

/// How the captures of a corpus lie in its folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CorpusForm {
    /// A WAV and a card a capture.
    Wav,
    /// Parquet files of cards and samples, and others of truths.
    Parquet,
    /// Parquet files of cards, samples and truths.
    Labelled,
}

/// The word of its JSON.
impl fmt::Display for CorpusForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

impl Document for CorpusHead {
    const FORMAT: &'static str = CORPUS_FORMAT;

    fn check(&self, c: &mut Checks) {
        for (field, number, most) in [
            ("count", self.count, MAX_CAPTURES),
            ("shards", self.shards, 10_u64.pow(SHARD_DIGITS as u32) - 1),
            (
                "captures_per_file",
                self.captures_per_file,
                MAX_CAPTURES_PER_FILE,
            ),
        ] {
            let remedy = format!("a number from 1 to {most}");
            let holds = (1..=most).contains(&number);
            c.need(holds, field, format!("it is {number}"), remedy);
        }
    }
}
