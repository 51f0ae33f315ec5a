//! Bringing the shards of a corpus together: all of them there and whole, one manifest, one digest.

use super::layout::{Layout, name};
use super::manifest::{Depth, State, inspect};
use super::shard::Shard;
use crate::digest::Hashed;
use crate::domain::{Call, Truth};
use crate::error::{Fault, Faults};
use crate::files::{Part, WholeLines};
use crate::storage::KeyLines;
use serde::Serialize;
use std::io::{self, Write};
use std::path::Path;

/// The merged manifest.
pub(super) const MANIFEST: &str = "manifest.sha256";
/// Faults that are told; more of them would say the same.
const MAX_FAULTS: usize = 20;

/// What a whole corpus holds.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
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

/// Checks that every shard of the corpus in `folder` is finished, its files there and whole in length and its key in
/// order, and writes the merged manifest. Long captures are not hashed again; see [`super::verify()`].
///
/// # Errors
/// A folder without a corpus, or in which the manifest cannot be written. Inside: whatever is missing or changed, twenty
/// faults at most; nothing is written then.
pub fn merge(folder: &Path) -> Result<Result<Summary, Faults>, Faults> {
    let layout = Layout::of(folder)?;
    let mut summary = Summary {
        captures: layout.head.count,
        shards: layout.head.shards,
        ..Summary::default()
    };
    let mut faults = Vec::new();
    let mut captures = Hashed::new(io::sink());
    let merged = Part::write(&folder.join(MANIFEST), |out| {
        for shard in layout.shards() {
            let before = faults.len();
            follow(&layout, shard, &mut faults, &mut |text, of_capture| {
                out.write_all(text.as_bytes())?;
                match of_capture {
                    true => captures.write_all(text.as_bytes()),
                    false => Ok(()),
                }
            })
            .map_err(io::Error::other)?;
            if faults.len() == before {
                let counted = count(&layout, shard, &mut summary);
                faults.extend(counted.err().into_iter().flat_map(|f| f.0));
            }
            if faults.len() >= MAX_FAULTS {
                break;
            }
        }
        Ok(())
    })?;
    summary.captures_sha256 = captures.hex();
    if faults.is_empty() {
        merged.commit()?;
        Ok(Ok(summary))
    } else {
        Ok(Err(Faults(faults)))
    }
}

/// Gives every line of a shard's manifest to `each`, and whether it is one of a capture's file; notes what
/// the shard lacks.
fn follow(
    layout: &Layout,
    shard: Shard,
    faults: &mut Vec<Fault>,
    each: &mut dyn FnMut(&str, bool) -> io::Result<()>,
) -> Result<(), Faults> {
    let path = layout.place(&layout.manifest(shard));
    let remedy = format!("run the command of shard {shard} again; it renders what is missing");
    if !path.exists() {
        let problem = format!("shard {shard} has not begun");
        faults.push(Fault::new(path.display(), problem, remedy));
        return Ok(());
    }
    let units = shard.part(layout.units());
    let (mut finished, mut complete) = (units.start, false);
    let lines = WholeLines::open(&path)?;
    inspect(layout, shard, lines, Depth::Length, &mut |entry| {
        for (line, state) in &entry.files {
            let problem = match state {
                State::Whole => "",
                State::Missing => "it is missing",
                State::Changed => "it is not what the manifest says",
            };
            if !problem.is_empty() && faults.len() < MAX_FAULTS {
                let place = layout.place(&line.file);
                faults.push(Fault::new(place.display(), problem, &remedy));
            }
            let of_capture = !line.file.starts_with("key/");
            each(&line.to_text(), of_capture).map_err(|e| Fault::io(&path, "merge it", &e))?;
        }
        complete = entry.unit.is_none();
        finished = entry.unit.map_or(finished, |unit| unit + 1);
        Ok(())
    })?;
    if !complete {
        let [of, whole] = [units.end, finished].map(|end| layout.captures_of(&(units.start..end)));
        let problem = format!(
            "shard {shard} is not finished: it names {} of {} captures",
            whole.end - whole.start,
            of.end - of.start
        );
        faults.push(Fault::new(path.display(), problem, remedy));
    }
    Ok(())
}

/// Reads a shard's key from end to end and counts what its captures ask.
fn count(layout: &Layout, shard: Shard, summary: &mut Summary) -> Result<(), Faults> {
    let path = layout.place(&layout.key(shard));
    let wrong = |problem: String| {
        let remedy = format!("remove it and run the command of shard {shard} again");
        Err(Fault::new(path.display(), problem, remedy).into())
    };
    let mut expected = layout.captures_of(&shard.part(layout.units())).map(name);
    for truth in KeyLines::open(&path)? {
        let Truth {
            capture, evidence, ..
        } = truth?;
        let due = expected.next().unwrap_or_else(|| "no more".into());
        if due != capture {
            return wrong(format!("it tells of {capture} where {due} should stand"));
        }
        match evidence.supported.first() {
            Some(Call::NoLeak) => summary.healthy += 1,
            Some(Call::Unsure) | None => summary.untold += 1,
            Some(_) => summary.leak += 1,
        }
    }
    match expected.next() {
        None => Ok(()),
        Some(due) => wrong(format!("it ends before {due}")),
    }
}
