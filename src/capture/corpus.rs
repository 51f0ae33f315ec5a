//! The head of a corpus, `corpus.json`: which captures the folder holds, and in which form.
//!
//! It is the same for every shard, so that any of them may write it first; by it, a run knows whether a
//! folder is its own.

use super::json::{self, Checks, Document};
use super::store;
use crate::error::{Fault, Faults};
use serde::{Deserialize, Serialize};
use std::fmt::Display;
use std::fs;
use std::path::{Path, PathBuf};

/// What the format line of a corpus says.
pub const CORPUS_FORMAT: &str = "waterjacket corpus 1";
/// The head's file.
const FILE: &str = "corpus.json";
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

impl Display for CorpusForm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            CorpusForm::Wav => "wav",
            CorpusForm::Parquet => "parquet",
            CorpusForm::Labelled => "labelled",
        })
    }
}

impl Document for CorpusHead {
    const FORMAT: &'static str = CORPUS_FORMAT;

    fn check(&self, c: &mut Checks) {
        for (field, number, most) in [
            ("count", self.count, u64::MAX),
            ("shards", self.shards, 10_u64.pow(SHARD_DIGITS as u32) - 1),
            ("captures_per_file", self.captures_per_file, u64::MAX),
        ] {
            let remedy = format!("a number from 1 to {most}");
            let holds = (1..=most).contains(&number);
            c.need(holds, field, format!("it is {number}"), remedy);
        }
    }
}

impl CorpusHead {
    /// Where the head of the corpus in `folder` stands.
    pub fn path(folder: &Path) -> PathBuf {
        folder.join(FILE)
    }

    /// Reads the head of the corpus in `folder`.
    ///
    /// # Errors
    /// A folder without a corpus, or a head of another format.
    pub fn read(folder: &Path) -> Result<Self, Faults> {
        json::read(&Self::path(folder))
    }

    /// Makes `folder` the corpus of this head, or finds that it is already.
    ///
    /// # Errors
    /// A folder with something else in it, the corpus of another head (each field that differs), or one
    /// that cannot be written.
    pub fn settle(&self, folder: &Path, shard: u64) -> Result<(), Faults> {
        fs::create_dir_all(folder).map_err(|e| Fault::io(folder, "make the folder", &e))?;
        let path = Self::path(folder);
        if !path.exists() {
            refuse_strangers(folder)?;
            // Shards may begin at the same time: each writes a part of its own, and whichever rename
            // comes last puts the same bytes there.
            let part = folder.join(format!(".{FILE}.{shard:0SHARD_DIGITS$}.part"));
            store::write_all(&part, json::checked_text(&path, self)?.as_bytes())?;
            return Ok(fs::rename(&part, &path).map_err(|e| Fault::io(&path, "write it", &e))?);
        }
        let there = Self::read(folder)?;
        let the_same = "ask for the same";
        let asked: [(&str, [&dyn Display; 2], &str); 9] = [
            (
                "plan_sha256",
                [&there.plan_sha256, &self.plan_sha256],
                "give the plan and its scenarios as they were",
            ),
            ("seed", [&there.seed, &self.seed], the_same),
            ("count", [&there.count, &self.count], the_same),
            ("shards", [&there.shards, &self.shards], the_same),
            ("form", [&there.form, &self.form], the_same),
            (
                "captures_per_file",
                [&there.captures_per_file, &self.captures_per_file],
                the_same,
            ),
            ("truths", [&there.truths, &self.truths], the_same),
            (
                "version",
                [&there.version, &self.version],
                "use the program of that version",
            ),
            (
                "first_wav_sha256",
                [&there.first_wav_sha256, &self.first_wav_sha256],
                "use the very program that began it",
            ),
        ];
        let mut faults = Vec::new();
        for (field, [there, own], remedy) in asked {
            let (there, own) = (there.to_string(), own.to_string());
            // Another plan or seed has another first capture: that says nothing of the program.
            if there != own && (field != "first_wav_sha256" || faults.is_empty()) {
                faults.push(Fault::new(
                    format!("{}: {field}", path.display()),
                    format!("the corpus there has {there}, and this run {own}"),
                    format!("{remedy}, or name another folder"),
                ));
            }
        }
        if faults.is_empty() {
            Ok(())
        } else {
            Err(Faults(faults))
        }
    }
}

/// A corpus does not mix with what it does not know; hidden files are other shards at work.
fn refuse_strangers(folder: &Path) -> Result<(), Faults> {
    let names = super::listing::names(folder)?;
    match names.iter().find(|name| !name.starts_with('.')) {
        // Another shard may have finished the head just now.
        Some(_) if CorpusHead::path(folder).exists() => Ok(()),
        Some(name) => {
            let problem = format!("the folder is no corpus, and not empty: it holds {name}");
            let remedy = "name a new folder, or empty this one";
            Err(Fault::new(folder.display(), problem, remedy).into())
        }
        None => Ok(()),
    }
}
