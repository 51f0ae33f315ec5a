//! Rendering one shard of a corpus, from where the last run of it ended.

use super::head;
use super::layout::Layout;
use super::manifest::{Depth, Line, inspect};
use super::plan::Plan;
use super::shard::Shard;
use super::survey::{RESERVE_BYTES, estimate, refuse_without_space, survey};
use super::unit::{Made, first_wav_sha256, make};
use crate::error::{Fault, Faults};
use crate::files::disk_space::{bytes_in_words, free_bytes};
use crate::files::{Journal, directory, make_durable, sha256_of};
use crate::formats::corpus::CORPUS_FORMAT;
use crate::formats::{CorpusForm, CorpusHead};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};

/// Captures that go to the disk together, and that a kill may cost: they are rendered again.
const BATCH_CAPTURES: u64 = 32;

/// What is to be rendered, and where to.
#[derive(Clone, Debug)]
pub struct Order<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Seed of all draws.
    pub seed: u64,
    /// Captures of the whole corpus.
    pub count: u64,
    /// The part that this run renders.
    pub shard: Shard,
    /// How the captures shall lie there.
    pub form: CorpusForm,
    /// Captures in each Parquet file; a WAV holds one.
    pub captures_per_file: u64,
    /// Whether the whole truths shall lie there as well.
    pub truths: bool,
    /// Threads to use; all cores if none is said.
    pub threads: Option<usize>,
    /// The corpus's folder.
    pub folder: &'a Path,
}

/// What a run is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Looking at all draws to come.
    Drawing,
    /// Rendering.
    Rendering,
}

/// How far a run is, in captures of its shard.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// What it is doing.
    pub stage: Stage,
    /// Captures done.
    pub done: u64,
    /// Captures in all.
    pub of: u64,
}

/// Hears of the progress, and may stop the work.
pub type Watch<'a> = dyn Fn(Progress) -> Result<(), Faults> + Sync + 'a;

/// What a run did.
#[derive(Clone, Debug)]
pub struct Built {
    /// The layout, by which the files are found.
    pub layout: Layout,
    /// The shard's captures.
    pub captures: Range<u64>,
    /// How many of them this run rendered; the others were there.
    pub rendered: u64,
}

/// Renders what is missing of a shard.
///
/// # Errors
/// A folder that holds something else or cannot be written; a shard that another process renders; draws
/// that a scenario does not allow; too little space; whatever `watch` returns. What was finished before
/// stays, and the next run goes on behind it.
pub fn build(order: &Order, watch: &Watch) -> Result<Built, Faults> {
    pool(order.threads)?.install(|| build_here(order, watch))
}

/// The threads of a run: as many as are said, or all cores.
pub(super) fn pool(threads: Option<usize>) -> Result<rayon::ThreadPool, Faults> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0));
    Ok(pool
        .build()
        .map_err(|e| Fault::new("threads", e, "ask for fewer `--threads`"))?)
}

fn build_here(order: &Order, watch: &Watch) -> Result<Built, Faults> {
    let (plan, shard) = (order.plan, order.shard);
    let layout = Layout {
        folder: order.folder.into(),
        head: new_head(order)?,
    };
    let units = shard.part(layout.units());
    let size = |units: Range<u64>| {
        let captures = layout.captures_of(&units);
        captures.end - captures.start
    };
    let look_ahead = |units: &Range<u64>| {
        let captures = layout.captures_of(units);
        let bytes = estimate(plan, &layout.head, &captures)?;
        refuse_without_space(order.folder, bytes, size(units.clone()))?;
        survey(plan, order.seed, captures, watch)
    };
    // A folder that is not there yet is made only for captures that can be drawn and kept.
    let fresh = !head::path(order.folder).exists();
    if fresh {
        look_ahead(&units)?;
    }
    head::settle(&layout)?;
    let mut books = Books::open(&layout, shard)?;
    let lost = books.resume(&units)?;
    let remaining = books.next..units.end;
    if !fresh {
        look_ahead(&remaining)?;
    }
    let of = size(units.clone());
    let lost_captures: u64 = lost.iter().map(|(unit, _)| size(*unit..unit + 1)).sum();
    let there = of - size(remaining.clone()) - lost_captures;
    let done = AtomicU64::new(there);
    let tell = |more: u64| {
        let done = done.fetch_add(more, Ordering::Relaxed) + more;
        let stage = Stage::Rendering;
        watch(Progress { stage, done, of })
    };
    let render = |unit: u64| make(plan, &layout, unit, &|| tell(0));
    tell(0)?;
    lost.par_iter().try_for_each(|(unit, lines)| {
        if render(*unit)?.manifest != *lines {
            return Err(came_out_otherwise(&layout, shard, *unit));
        }
        tell(size(*unit..unit + 1))
    })?;
    let books = Mutex::new(books);
    // A bridge hands out the units one by one, so that few of them wait for an earlier one.
    let rendered = remaining.par_bridge().try_for_each(|unit| {
        let made = render(unit)?;
        let mut books = books.lock().unwrap_or_else(PoisonError::into_inner);
        books.enter(unit, made)?;
        drop(books);
        tell(size(unit..unit + 1))
    });
    let mut books = books.into_inner().unwrap_or_else(PoisonError::into_inner);
    // What is finished is kept, whatever ended the work.
    let kept = books.keep_batch();
    rendered.and(kept)?;
    books.finish(there < of)?;
    Ok(Built {
        captures: layout.captures_of(&units),
        rendered: of - there,
        layout,
    })
}

fn new_head(order: &Order) -> Result<CorpusHead, Faults> {
    let plan = Path::new(&order.plan.file).file_name();
    Ok(CorpusHead {
        format: CORPUS_FORMAT.into(),
        plan: plan.unwrap_or_default().to_string_lossy().into_owned(),
        plan_sha256: order.plan.sha256.clone(),
        seed: order.seed,
        count: order.count,
        shards: order.shard.of,
        form: order.form,
        captures_per_file: match order.form {
            CorpusForm::Wav => 1,
            CorpusForm::Parquet | CorpusForm::Labelled => order.captures_per_file,
        },
        truths: order.truths,
        version: env!("CARGO_PKG_VERSION").into(),
        first_wav_sha256: first_wav_sha256(order.plan, order.seed)?,
    })
}

fn came_out_otherwise(layout: &Layout, shard: Shard, unit: u64) -> Faults {
    let remedy = format!(
        "use the very program that began the corpus; if this is it, the manifest was changed: remove {} and run the \
         command again",
        layout.place(&layout.manifest(shard)).display()
    );
    let problem = "it was lost, and rendered again it is not what the manifest says";
    Fault::new(
        layout.place(&layout.files(unit)[0]).display(),
        problem,
        remedy,
    )
    .into()
}

/// A shard's key and manifest, while units come in from all threads.
struct Books<'a> {
    layout: &'a Layout,
    shard: Shard,
    key: Journal,
    manifest: Journal,
    /// The key's digest, if the manifest has it.
    closed: Option<String>,
    /// The first unit that has not come in.
    next: u64,
    /// Units that came in before an earlier one.
    waiting: BTreeMap<u64, Made>,
    /// Units that came in and are not entered.
    batch: Vec<Made>,
}

/// A unit of which a file is gone or changed, with its lines of the manifest.
type Lost = (u64, String);

impl<'a> Books<'a> {
    fn open(layout: &'a Layout, shard: Shard) -> Result<Self, Faults> {
        directory::make(&layout.folder.join("key"))?;
        directory::make(&layout.folder.join("manifest"))?;
        Ok(Books {
            layout,
            shard,
            manifest: Journal::open(&layout.place(&layout.manifest(shard)))?,
            key: Journal::open(&layout.place(&layout.key(shard)))?,
            closed: None,
            next: shard.part(layout.units()).start,
            waiting: BTreeMap::new(),
            batch: Vec::new(),
        })
    }

    /// Brings both books to the last of `units` that stands in both, and gives those up to there of which a file is gone or
    /// changed.
    fn resume(&mut self, units: &Range<u64>) -> Result<Vec<Lost>, Faults> {
        let layout = self.layout;
        let captures = |end: u64| {
            let captures = layout.captures_of(&(units.start..end));
            captures.end - captures.start
        };
        let mut keyed = 0;
        for line in self.key.lines()? {
            line?;
            keyed += 1;
        }
        let (mut lines, mut lost) = (0, Vec::new());
        let manifest = self.manifest.lines()?;
        inspect(layout, self.shard, manifest, Depth::Length, &mut |entry| {
            match entry.unit {
                Some(unit) if unit == self.next && captures(unit + 1) <= keyed => {
                    if !entry.is_whole() {
                        lost.push((unit, entry.text()));
                    }
                    self.next += 1;
                }
                None if self.next == units.end => {
                    self.closed = Some(entry.files[0].0.sha256.clone())
                }
                _ => return Ok(()),
            }
            lines += entry.files.len() as u64;
            Ok(())
        })?;
        self.manifest.keep(lines)?;
        self.key.keep(captures(self.next))?;
        // A killed run left files half written where the work goes on.
        if self.next < units.end {
            for file in layout.files(self.next) {
                if let Some(folder) = layout.place(&file).parent().filter(|f| f.is_dir()) {
                    directory::remove_parts(folder)?;
                }
            }
        }
        Ok(lost)
    }

    /// Takes a unit in; a batch of units is entered once all before them are.
    fn enter(&mut self, unit: u64, made: Made) -> Result<(), Faults> {
        self.waiting.insert(unit, made);
        while let Some(made) = self.waiting.remove(&self.next) {
            self.batch.push(made);
            self.next += 1;
            if self.batch.len() as u64 * self.layout.head.captures_per_file >= BATCH_CAPTURES {
                self.keep_batch()?;
            }
        }
        Ok(())
    }

    /// Enters the batch: first in the key, and once files and key are on the disk, in the manifest.
    fn keep_batch(&mut self) -> Result<(), Faults> {
        if self.batch.is_empty() {
            return Ok(());
        }
        let mut files = vec![self.key.path().to_path_buf()];
        for made in &self.batch {
            self.key.append(&made.key)?;
            files.extend_from_slice(&made.files);
        }
        make_durable(&self.layout.folder, &files)?;
        for made in std::mem::take(&mut self.batch) {
            self.manifest.append(&made.manifest)?;
        }
        keep_space(&self.layout.folder)
    }

    /// Closes the manifest with the key's line.
    fn finish(&mut self, worked: bool) -> Result<(), Faults> {
        let path = self.key.path();
        let sha256 = sha256_of(path)?;
        match &self.closed {
            Some(said) if *said != sha256 => {
                let problem = "it is not what the manifest says";
                let remedy = "remove it and run the command again, which renders the shard anew";
                return Err(Fault::new(path.display(), problem, remedy).into());
            }
            Some(_) if !worked => return Ok(()),
            Some(_) => {}
            None => {
                let file = self.layout.key(self.shard);
                self.manifest.append(&Line { sha256, file }.to_text())?;
            }
        }
        make_durable(&self.layout.folder, &[self.manifest.path().into()])
    }
}

/// Stops before others find the disk full.
fn keep_space(folder: &Path) -> Result<(), Faults> {
    let free = free_bytes(folder)?;
    if free >= RESERVE_BYTES / 2 {
        return Ok(());
    }
    let problem = format!("only {} are left on its disk", bytes_in_words(free));
    let remedy = "free some space and run the command again; what is finished stays";
    Err(Fault::new(folder.display(), problem, remedy).into())
}
