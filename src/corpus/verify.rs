//! Hashing all files of a corpus again.

use super::head;
use super::layout::{FOLDERS, Layout};
use super::manifest::{Depth, State, inspect};
use super::merge::MANIFEST;
use crate::digest::Hashed;
use crate::error::{Fault, Faults};
use crate::files::{WholeLines, directory, sha256_of};
use crate::formats::corpus::CORPUS_FILE;
use serde::Serialize;
use std::io::{self, Write};
use std::path::Path;

/// Names of one kind that are kept; the rest is counted.
const MAX_NAMES: usize = 1000;

/// What a check of a corpus found.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Findings {
    /// Files that are as the manifest says.
    pub whole: u64,
    /// Shards that have not begun or are not finished, as `3/8`.
    pub unfinished: Names,
    /// Files that the manifest names and that are gone.
    pub missing: Names,
    /// Files that are not what the manifest says, or cannot be read.
    pub changed: Names,
    /// Files in the corpus's folders that it does not make.
    pub extra: Names,
}

/// Names of one kind, the first thousand of them, and their number.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Names {
    /// How many there are.
    pub number: u64,
    /// The first of them.
    pub first: Vec<String>,
}

impl Names {
    fn add(&mut self, name: String) {
        self.number += 1;
        if self.first.len() < MAX_NAMES {
            self.first.push(name);
        }
    }
}

impl Findings {
    /// Whether the corpus is finished and whole.
    pub fn in_order(&self) -> bool {
        [&self.unfinished, &self.missing, &self.changed, &self.extra]
            .iter()
            .all(|names| names.number == 0)
    }
}

/// Hashes every file that the manifests of the corpus in `folder` name, holds its head against the key, and looks for files
/// that it does not make. `watch` hears how many files are whole, and may stop the work.
///
/// # Errors
/// A folder without a corpus, or one that cannot be listed; whatever `watch` returns.
pub fn verify(
    folder: &Path,
    threads: Option<usize>,
    watch: &mut (dyn FnMut(u64) -> Result<(), Faults> + Send),
) -> Result<Findings, Faults> {
    let layout = Layout::of(folder)?;
    super::build::pool(threads)?.install(|| {
        let mut findings = Findings::default();
        let mut merged = Hashed::new(io::sink());
        if !head::fits_key(&layout) {
            findings.changed.add(CORPUS_FILE.into());
        }
        for shard in layout.shards() {
            let path = layout.place(&layout.manifest(shard));
            let mut complete = false;
            if path.exists() {
                let lines = WholeLines::open(&path)?;
                inspect(&layout, shard, lines, Depth::Hash, &mut |entry| {
                    complete = entry.unit.is_none();
                    let hashed = merged.write_all(entry.text().as_bytes());
                    hashed.map_err(|e| Fault::io(&path, "hash it", &e))?;
                    for (line, state) in entry.files {
                        match state {
                            State::Whole => findings.whole += 1,
                            State::Missing => findings.missing.add(line.file),
                            State::Changed => findings.changed.add(line.file),
                        }
                    }
                    watch(findings.whole)
                })?;
            }
            if !complete {
                findings.unfinished.add(shard.to_string());
            }
        }
        // Until all shards are finished there is nothing to hold the merged manifest against.
        let manifest = layout.place(MANIFEST);
        let finished = findings.unfinished.number == 0;
        if finished && manifest.exists() && sha256_of(&manifest).ok() != Some(merged.hex()) {
            findings.changed.add(MANIFEST.into());
        }
        for name in FOLDERS {
            if layout.place(name).is_dir() {
                find_extra(&layout, name, &mut findings.extra)?;
            }
        }
        Ok(findings)
    })
}

/// Walks one folder; hidden files are other runs at work, or what a killed one left, which no reader sees.
fn find_extra(layout: &Layout, folder: &str, extra: &mut Names) -> Result<(), Faults> {
    for name in directory::names(&layout.place(folder))? {
        let file = format!("{folder}/{name}");
        if layout.place(&file).is_dir() {
            find_extra(layout, &file, extra)?;
        } else if !name.starts_with('.') && !layout.knows(&file) {
            extra.add(file);
        }
    }
    Ok(())
}
