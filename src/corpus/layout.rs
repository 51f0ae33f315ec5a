//! Where everything of a corpus lies, and which files are one unit of work.
//!
//! Paths are relative to the corpus and written with `/`, as they stand in manifests.

use super::shard::Shard;
use crate::formats::corpus::SHARD_DIGITS;
use crate::formats::key::KEY_SUFFIX;
use crate::formats::{CorpusForm, CorpusHead};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// Captures of a sub-folder: more files than that are slow to list.
const FOLDER_CAPTURES: u64 = 1000;
/// Digits of an index in a capture's name; as many as [`super::MAX_CAPTURES`] needs.
const DIGITS: usize = 7;
/// The folders in which every file is the corpus's own.
pub const FOLDERS: [&str; 4] = ["captures", "labelled", "key", "manifest"];

/// The name of capture `index`: `c0000123`. It tells the index and nothing else.
pub fn name(index: u64) -> String {
    format!("c{index:0DIGITS$}")
}

/// The index that a name tells.
fn index(name: &str) -> Option<u64> {
    let digits = name.strip_prefix('c')?;
    let whole = digits.len() == DIGITS && digits.bytes().all(|b| b.is_ascii_digit());
    whole.then(|| digits.parse().ok()).flatten()
}

/// Where everything of one corpus lies.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The corpus's folder.
    pub folder: PathBuf,
    /// Its head.
    pub head: CorpusHead,
}

impl Layout {
    /// The layout of the corpus that is there.
    ///
    /// # Errors
    /// A folder without a corpus, or a head of another format.
    pub fn of(folder: &Path) -> Result<Layout, crate::error::Faults> {
        Ok(Layout {
            folder: folder.into(),
            head: crate::storage::document::read(&super::head::path(folder))?,
        })
    }

    /// Number of units of work in the corpus.
    pub fn units(&self) -> u64 {
        self.head.count.div_ceil(self.head.captures_per_file)
    }

    /// The captures of one unit.
    pub fn captures(&self, unit: u64) -> Range<u64> {
        let first = unit * self.head.captures_per_file;
        first..(first + self.head.captures_per_file).min(self.head.count)
    }

    /// The captures of several units.
    pub fn captures_of(&self, units: &Range<u64>) -> Range<u64> {
        let edge = |unit: u64| (unit * self.head.captures_per_file).min(self.head.count);
        edge(units.start)..edge(units.end)
    }

    /// The shard of a number.
    pub fn shard(&self, number: u64) -> Shard {
        let of = self.head.shards;
        Shard { number, of }
    }

    /// All shards.
    pub fn shards(&self) -> impl Iterator<Item = Shard> + use<> {
        let of = self.head.shards;
        (1..=of).map(move |number| Shard { number, of })
    }

    /// The unit's files, in the order of the manifest.
    pub fn files(&self, unit: u64) -> Vec<String> {
        let captures = self.captures(unit);
        let first = name(captures.start);
        let mut files = match self.head.form {
            CorpusForm::Wav => ["wav", "card.json"]
                .map(|ending| format!("captures/{}/{first}.{ending}", part(captures.start)))
                .to_vec(),
            CorpusForm::Parquet => ["captures", "key/parquet"]
                .map(|f| format!("{f}/{first}.parquet"))
                .to_vec(),
            CorpusForm::Labelled => vec![format!("labelled/{first}.parquet")],
        };
        if self.head.truths {
            files.extend(captures.map(truth));
        }
        files
    }

    /// The key of a shard.
    pub fn key(&self, shard: Shard) -> String {
        format!("key/{}{KEY_SUFFIX}", stem(shard))
    }

    /// The manifest of a shard.
    pub fn manifest(&self, shard: Shard) -> String {
        format!("manifest/{}.sha256", stem(shard))
    }

    /// Where a file is.
    pub fn place(&self, file: &str) -> PathBuf {
        self.folder.join(file)
    }

    /// Whether a file is one that this corpus makes.
    pub fn knows(&self, file: &str) -> bool {
        let last = file.rsplit('/').next().unwrap_or_default();
        if file.starts_with("manifest/") || last.ends_with(KEY_SUFFIX) {
            return self
                .shards()
                .any(|s| file == self.manifest(s) || file == self.key(s));
        }
        let stem = last.split('.').next().unwrap_or_default();
        index(stem)
            .filter(|index| *index < self.head.count)
            .is_some_and(|index| {
                let unit = index / self.head.captures_per_file;
                (self.head.truths && file == truth(index))
                    || self.files(unit).iter().any(|own| own == file)
            })
    }
}

fn stem(shard: Shard) -> String {
    let Shard { number, of } = shard;
    format!("shard-{number:0SHARD_DIGITS$}-of-{of:0SHARD_DIGITS$}")
}

/// The sub-folder of a capture.
fn part(index: u64) -> String {
    format!("{:04}", index / FOLDER_CAPTURES)
}

/// The whole truth of a capture.
pub(super) fn truth(index: u64) -> String {
    format!("key/truths/{}/{}.truth.json", part(index), name(index))
}

#[cfg(test)]
mod tests {
    use super::super::MAX_CAPTURES;
    use super::*;
    use crate::formats::corpus::CORPUS_FORMAT;

    fn layout(form: CorpusForm, captures_per_file: u64) -> Layout {
        Layout {
            folder: "x".into(),
            head: CorpusHead {
                format: CORPUS_FORMAT.into(),
                plan: "p".into(),
                plan_sha256: "0".into(),
                seed: 1,
                count: 2500,
                shards: 3,
                form,
                captures_per_file,
                truths: form == CorpusForm::Wav,
                version: "0".into(),
                first_wav_sha256: "0".into(),
            },
        }
    }

    #[test]
    fn every_name_has_one_length_and_gives_its_index_back() {
        for i in [0, 7, 123_456, MAX_CAPTURES - 1] {
            assert_eq!((name(i).len(), index(&name(i))), (8, Some(i)));
        }
        assert_eq!((index("c12"), index("c+000123")), (None, None));
    }

    #[test]
    fn a_corpus_knows_its_own_files_and_no_others() {
        for (form, per_file) in [
            (CorpusForm::Wav, 1),
            (CorpusForm::Parquet, 64),
            (CorpusForm::Labelled, 64),
        ] {
            let layout = layout(form, per_file);
            let all: Vec<String> = (0..layout.units()).flat_map(|u| layout.files(u)).collect();
            assert!(all.iter().all(|file| layout.knows(file)), "{form}");
            assert!(layout.shards().all(|s| layout.knows(&layout.key(s))));
            for stranger in [
                "captures/0000/c0000001.mp3",
                "captures/0001/c0000001.wav",
                "captures/0002/c0002500.wav",
                "captures/c0000001.parquet",
                "key/shard-0001-of-0002.key.jsonl",
                "manifest/notes.txt",
            ] {
                assert!(!layout.knows(stranger), "{form}: {stranger}");
            }
        }
        let last = layout(CorpusForm::Parquet, 64);
        assert_eq!((last.units(), last.captures(39)), (40, 2496..2500));
    }
}
