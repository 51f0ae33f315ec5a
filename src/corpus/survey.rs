//! A look at all captures to come before the first is rendered: whether they can be drawn, and how much
//! space they take.

use super::build::{Progress, Stage, Watch};
use super::plan::Plan;
use crate::domain::capture::wav_bytes;
use crate::error::{Fault, Faults};
use crate::files::disk_space::{bytes_in_words, free_bytes};
use crate::formats::{CorpusForm, CorpusHead};
use rayon::prelude::*;
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

/// Space that a run leaves to others, bytes.
pub const RESERVE_BYTES: u64 = 256 << 20;
/// Captures between two reports, and those from which space is estimated.
const STRIDE: u64 = 256;
/// Faults of draws that are told; more of them would say the same.
const MAX_FAULTS: usize = 20;

/// Bytes of a card and a line of the key, with the rest of the last block of each file.
const CARD_BYTES: f64 = 12_000.0;
/// Bytes of a whole truth of a second of cranking or idling; an idling V8 has the most.
const TRUTH_BYTES_PER_S: f64 = 15_000.0;
/// Parquet takes this share of the bytes of a WAV, at most (see DEVELOPERS.md for what was measured).
const PARQUET_SHARE: f64 = 0.7;

/// What `captures` take on disk, estimated from a few hundred of them, bytes.
///
/// # Errors
/// A draw that a scenario does not allow.
pub fn estimate(plan: &Plan, head: &CorpusHead, captures: &Range<u64>) -> Result<u64, Faults> {
    let number = captures.end.saturating_sub(captures.start);
    let step = number.div_ceil(STRIDE).max(1);
    let (mut looked, mut bytes) = (0.0_f64, 0.0);
    for index in captures.clone().step_by(step as usize) {
        let scenario = plan.draw(head.seed, index)?.scenario;
        let duration_s = scenario.test.duration_s;
        let frames = duration_s * scenario.acquisition.sample_rate_hz;
        let wav = wav_bytes(frames as u64, scenario.channels.len()) as f64;
        bytes += match head.form {
            CorpusForm::Wav => wav,
            CorpusForm::Parquet | CorpusForm::Labelled => wav * PARQUET_SHARE,
        };
        bytes += CARD_BYTES;
        if head.truths {
            bytes += duration_s * TRUTH_BYTES_PER_S;
        }
        looked += 1.0;
    }
    Ok((bytes / looked.max(1.0) * number as f64) as u64)
}

/// Draws every capture of `captures`.
///
/// # Errors
/// Draws that a scenario does not allow, each fault once; whatever `watch` returns.
pub fn survey(plan: &Plan, seed: u64, captures: Range<u64>, watch: &Watch) -> Result<(), Faults> {
    let of = captures.end.saturating_sub(captures.start);
    let done = AtomicU64::new(0);
    let found = (0..of.div_ceil(STRIDE)).into_par_iter().map(|block| {
        let first = captures.start + block * STRIDE;
        let last = (first + STRIDE).min(captures.end);
        let mut faults = Vec::new();
        for index in first..last {
            if let Err(Faults(new)) = plan.draw(seed, index) {
                add(&mut faults, new);
            }
        }
        let done = done.fetch_add(last - first, Ordering::Relaxed) + last - first;
        let stage = Stage::Drawing;
        watch(Progress { stage, done, of }).map(|()| faults)
    });
    // A stop ends the work at once.
    let faults = found.try_reduce(Vec::new, |mut faults, new| {
        add(&mut faults, new);
        Ok(faults)
    })?;
    match faults.is_empty() {
        true => Ok(()),
        false => Err(Faults(faults)),
    }
}

fn add(faults: &mut Vec<Fault>, new: Vec<Fault>) {
    for fault in new {
        if faults.len() < MAX_FAULTS && !faults.contains(&fault) {
            faults.push(fault);
        }
    }
}

/// Refuses a run that needs more bytes than `folder`'s file system has to give.
pub fn refuse_without_space(folder: &Path, needed: u64, captures: u64) -> Result<(), Faults> {
    let mut there = folder;
    while !there.exists() {
        there = match there.parent() {
            Some(above) if !above.as_os_str().is_empty() => above,
            _ => Path::new("."),
        };
    }
    let free = free_bytes(there)?;
    if needed.saturating_add(RESERVE_BYTES) <= free {
        return Ok(());
    }
    let problem = format!(
        "{captures} captures need about {}, and {} are free, of which {} stay free",
        bytes_in_words(needed),
        bytes_in_words(free),
        bytes_in_words(RESERVE_BYTES)
    );
    let remedy = "free some space, name a folder on another disk, ask for fewer captures, or for \
                  `--format parquet`";
    Err(Fault::new(folder.display(), problem, remedy).into())
}
