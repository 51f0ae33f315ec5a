//! Bringing the shards of a corpus together: all of them there and whole, one manifest, one digest.

use super::layout::{Layout, name};
use super::manifest::Follower;
use super::shard::Shard;
use crate::digest::Hashed;
use crate::domain::{Call, Truth};
use crate::error::{Fault, Faults};
use crate::files::journal;
use crate::storage::KeyLines;
use serde::Serialize;
use std::io::{self, Write};
use std::path::Path;

/// The merged manifest.
pub(super) const MANIFEST: &str = "manifest.sha256";
/// Faults that are told; more of them would say the same.
const MAX_FAULTS: usize = 20;

/// What a whole corpus holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Captures.
    pub captures: u64,
    /// Shards they were rendered in.
    pub shards: u64,
    /// Captures with a leak to name.
    pub leak: u64,
    /// Captures in which nothing is wrong to see.
    pub healthy: u64,
    /// Captures that do not settle it.
    pub untold: u64,
    /// SHA-256 of the manifest's lines of captures: the same for the same captures, however they were
    /// split.
    pub captures_sha256: String,
}

/// Checks that every shard of the corpus in `folder` is finished, its files there and its key in order,
/// and writes the merged manifest. Captures are not hashed again; see [`super::verify()`].
///
/// # Errors
/// Whatever is missing, twenty faults at most. Nothing is written then.
pub fn merge(folder: &Path) -> Result<Summary, Faults> {
    let layout = Layout::of(folder)?;
    let mut summary = Summary {
        captures: layout.head.count,
        shards: layout.head.shards,
        leak: 0,
        healthy: 0,
        untold: 0,
        captures_sha256: String::new(),
    };
    crate::files::atomic::write_with(&folder.join(MANIFEST), |out| {
        let mut captures = Hashed::new(io::sink());
        let mut faults = Vec::new();
        for shard in layout.shards() {
            let before = faults.len();
            follow(&layout, shard, &mut faults, &mut |line, of_capture| {
                out.write_all(line.as_bytes())?;
                match of_capture {
                    true => captures.write_all(line.as_bytes()),
                    false => Ok(()),
                }
            })?;
            if faults.len() == before {
                let counted = count(&layout, shard, &mut summary);
                faults.extend(counted.err().into_iter().flat_map(|f| f.0));
            }
            if faults.len() >= MAX_FAULTS {
                break;
            }
        }
        summary.captures_sha256 = captures.hex();
        match faults.is_empty() {
            true => Ok(()),
            false => Err(io::Error::other(Faults(faults))),
        }
    })?;
    Ok(summary)
}

/// Gives every line of a shard's manifest to `each`, and whether it is one of a capture's file; notes what
/// the shard lacks.
fn follow(
    layout: &Layout,
    shard: Shard,
    faults: &mut Vec<Fault>,
    each: &mut dyn FnMut(&str, bool) -> io::Result<()>,
) -> io::Result<()> {
    let path = layout.place(&layout.manifest(shard));
    let remedy = format!("run the command of shard {shard} again; it renders what is missing");
    let mut follower = Follower::new(layout, shard);
    let read = journal::read_lines(&path, &mut |line| {
        let Some(entry) = follower.take(line) else {
            return Ok(false);
        };
        let file = layout.place(&entry.file);
        if faults.len() < MAX_FAULTS && !file.is_file() {
            faults.push(Fault::new(file.display(), "it is missing", &remedy));
        }
        let of_capture = !entry.file.starts_with("key/");
        each(&entry.to_text(), of_capture).map_err(|e| Fault::io(&path, "merge it", &e))?;
        Ok(true)
    });
    if !path.exists() {
        let problem = format!("shard {shard} has not begun");
        faults.push(Fault::new(path.display(), problem, remedy));
    } else if let Err(Faults(more)) = read {
        faults.extend(more);
    } else if !follower.complete {
        let captures = layout.captures_of(&shard.part(layout.units()));
        let whole = layout.captures_of(&(0..follower.unit())).end;
        let problem = format!(
            "shard {shard} is not finished: it names {} of {} captures",
            whole.saturating_sub(captures.start),
            captures.end - captures.start
        );
        faults.push(Fault::new(path.display(), problem, remedy));
    }
    Ok(())
}

/// Reads a shard's key from end to end and counts what its captures ask.
fn count(layout: &Layout, shard: Shard, summary: &mut Summary) -> Result<(), Faults> {
    let path = layout.place(&layout.key(shard));
    let remedy = format!("remove it and run the command of shard {shard} again");
    let mut expected = layout.captures_of(&shard.part(layout.units()));
    for truth in KeyLines::open(&path)? {
        let Truth {
            capture, evidence, ..
        } = truth?;
        let due = expected.next().map(name);
        if due.as_ref() != Some(&capture) {
            let due = due.unwrap_or_else(|| "no more".into());
            let problem = format!("it tells of {capture} where {due} should stand");
            return Err(Fault::new(path.display(), problem, remedy).into());
        }
        match evidence.supported.first() {
            Some(Call::NoLeak) => summary.healthy += 1,
            Some(Call::Unsure) | None => summary.untold += 1,
            Some(_) => summary.leak += 1,
        }
    }
    match expected.next() {
        None => Ok(()),
        Some(index) => {
            let problem = format!("it ends before {}", name(index));
            Err(Fault::new(path.display(), problem, remedy).into())
        }
    }
}
