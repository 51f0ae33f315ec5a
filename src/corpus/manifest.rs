//! The manifest of a shard: a line a finished file, in the form that `sha256sum -c` reads, and after the
//! last unit's files that of the key.

use super::layout::Layout;
use super::shard::Shard;
use crate::error::Faults;
use crate::files::sha256_of;
use crate::formats::{parquet, wav};
use rayon::prelude::*;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

/// Entries that are held against their files at once.
const BLOCK: usize = 256;
/// A longer WAV or Parquet file is not hashed where its length will do.
const HASHED_BYTES: u64 = 1 << 16;

/// One line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// SHA-256 of the file, hexadecimal.
    pub sha256: String,
    /// The file, from the corpus's folder.
    pub file: String,
}

impl Line {
    /// Reads a line of a manifest.
    pub fn parse(line: &str) -> Option<Line> {
        let (sha256, file) = line.split_once("  ")?;
        let hex = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
        let whole = sha256.len() == 64 && sha256.bytes().all(hex);
        whole.then(|| Line {
            sha256: sha256.into(),
            file: file.into(),
        })
    }

    /// The line with its end.
    pub fn to_text(&self) -> String {
        format!("{}  {}\n", self.sha256, self.file)
    }

    /// Whether its file is there and as it says.
    fn state(&self, layout: &Layout, depth: Depth) -> State {
        let place = layout.place(&self.file);
        let as_said = match depth {
            Depth::Length => ends_as_it_says(&place).ok().flatten(),
            Depth::Hash => None,
        };
        let hashes = || sha256_of(&place).is_ok_and(|sha256| sha256 == self.sha256);
        match as_said.unwrap_or_else(hashes) {
            true => State::Whole,
            false if place.exists() => State::Changed,
            false => State::Missing,
        }
    }
}

/// How closely files are held against their lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// A WAV or Parquet file of more than 64 KiB by the length that it states itself, any other file by its hash.
    Length,
    /// Every file by its hash.
    Hash,
}

/// What a file is, held against its line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// As the line says.
    Whole,
    /// Gone.
    Missing,
    /// Something else, or not to be read.
    Changed,
}

/// What stands in a manifest of one unit, or of the key.
pub struct Entry {
    /// The unit; none for the key.
    pub unit: Option<u64>,
    /// Its lines, each with the state of its file.
    pub files: Vec<(Line, State)>,
}

impl Entry {
    /// Its lines as they stand in the manifest.
    pub fn text(&self) -> String {
        self.files.iter().map(|(line, _)| line.to_text()).collect()
    }

    /// Whether all its files are as the lines say.
    pub fn is_whole(&self) -> bool {
        self.files.iter().all(|(_, state)| *state == State::Whole)
    }
}

/// Reads the `lines` of a shard's manifest for as long as they stand in the only order in which they can, holds the files
/// against them on all threads, and gives the entries in their order to `each`.
///
/// # Errors
/// Lines that cannot be read; whatever `each` returns.
pub fn inspect(
    layout: &Layout,
    shard: Shard,
    lines: impl IntoIterator<Item = Result<String, Faults>>,
    depth: Depth,
    each: &mut dyn FnMut(Entry) -> Result<(), Faults>,
) -> Result<(), Faults> {
    let mut lines = lines.into_iter();
    let mut next = |unit: Option<u64>| {
        let due = unit.map_or_else(|| vec![layout.key(shard)], |unit| layout.files(unit));
        let mut entry = Vec::new();
        for file in due {
            match lines.next()? {
                Ok(line) => entry.push(Line::parse(&line).filter(|line| line.file == file)?),
                Err(faults) => return Some(Err(faults)),
            }
        }
        Some(Ok((unit, entry)))
    };
    let units = shard.part(layout.units()).map(Some).chain([None]);
    let mut entries = units.map_while(&mut next).fuse();
    loop {
        let block: Vec<_> = entries
            .by_ref()
            .take(BLOCK)
            .collect::<Result<_, Faults>>()?;
        if block.is_empty() {
            return Ok(());
        }
        let block = block.into_par_iter().map(|(unit, lines)| {
            let state = |line: Line| {
                let state = line.state(layout, depth);
                (line, state)
            };
            let files = lines.into_iter().map(state).collect();
            Entry { unit, files }
        });
        block
            .collect::<Vec<_>>()
            .into_iter()
            .try_for_each(&mut *each)?;
    }
}

/// Whether a long WAV or Parquet file has the length that it states; `None` for one to be hashed.
fn ends_as_it_says(path: &Path) -> io::Result<Option<bool>> {
    let bytes = path.metadata()?.len();
    let is_wav = path.extension().is_some_and(|e| e == "wav");
    let is_parquet = path.extension().is_some_and(|e| e == "parquet");
    if bytes <= HASHED_BYTES || !(is_wav || is_parquet) {
        return Ok(None);
    }
    let mut file = File::open(path)?;
    let mut edge = [0; 8];
    if is_parquet {
        file.seek(SeekFrom::End(-8))?;
    }
    file.read_exact(&mut edge)?;
    Ok(Some(match is_wav {
        true => wav::is_begin(edge, bytes),
        false => parquet::is_end(edge, bytes),
    }))
}
