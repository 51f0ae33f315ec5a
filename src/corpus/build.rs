//! Rendering one shard of a corpus, from where the last run of it ended.

use super::head;
use super::layout::Layout;
use super::manifest::{Follower, Line};
use super::plan::Plan;
use super::shard::Shard;
use super::survey::{RESERVE_BYTES, Sizes, estimate, refuse_without_space, survey};
use super::unit::{Made, first_wav_sha256, make};
use crate::error::{Fault, Faults};
use crate::files::disk_space::{bytes_in_words, free_bytes};
use crate::files::{Journal, directory, sha256_of};
use crate::formats::corpus::CORPUS_FORMAT;
use crate::formats::{CorpusForm, CorpusHead};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

/// Finished units between two looks at the free space.
const UNITS_BETWEEN_LOOKS: u64 = 16;

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
    let layout = Layout {
        folder: order.folder.into(),
        head: new_head(order)?,
    };
    let units = order.shard.part(layout.units());
    let look_ahead = |units: &Range<u64>| {
        let Order { form, truths, .. } = *order;
        let captures = layout.captures_of(units);
        let bytes = estimate(order.plan, order.seed, &captures, Sizes { form, truths })?;
        refuse_without_space(order.folder, bytes, captures.end - captures.start)?;
        survey(order.plan, order.seed, captures, watch)
    };
    // A folder that is not there yet is made only for captures that can be drawn and kept.
    let fresh = !head::path(order.folder).exists();
    if fresh {
        look_ahead(&units)?;
    }
    head::settle(&layout.head, order.folder, order.shard.number)?;
    let mut books = Books::open(&layout, order.shard)?;
    let mut remaining = units.clone();
    let lost = books.resume(&layout, order.shard, &mut remaining)?;
    if !fresh {
        look_ahead(&remaining)?;
    }
    let size = |units: &Range<u64>| {
        let captures = layout.captures_of(units);
        captures.end - captures.start
    };
    let of = size(&units);
    let there = of - size(&remaining) - lost.iter().map(|l| size(&(l.0..l.0 + 1))).sum::<u64>();
    let done = AtomicU64::new(there);
    let tell = |more: u64| {
        let done = done.fetch_add(more, Ordering::Relaxed) + more;
        let stage = Stage::Rendering;
        watch(Progress { stage, done, of })
    };
    let render = |unit: u64| make(order.plan, &layout, unit, &|| tell(0));
    tell(0)?;
    lost.par_iter().try_for_each(|(unit, lines)| {
        let made = render(*unit)?;
        if made.manifest != *lines {
            return Err(came_out_otherwise(&layout, *unit));
        }
        tell(size(&(*unit..*unit + 1)))
    })?;
    let ledger = Mutex::new(Ledger {
        books: &mut books,
        next: remaining.start,
        waiting: BTreeMap::new(),
    });
    // A bridge hands out the units one by one, so that few of them wait for an earlier one.
    remaining.par_bridge().try_for_each(|unit| {
        let made = render(unit)?;
        let mut ledger = match ledger.lock() {
            Ok(ledger) => ledger,
            Err(poisoned) => poisoned.into_inner(),
        };
        ledger.enter(&layout, unit, made)?;
        drop(ledger);
        tell(size(&(unit..unit + 1)))
    })?;
    books.finish(&layout, order.shard)?;
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

fn came_out_otherwise(layout: &Layout, unit: u64) -> Faults {
    Fault::new(
        layout.place(&layout.files(unit)[0]).display(),
        "it was lost, and rendered again it is not what the manifest says",
        "use the very program that began the corpus, or begin another in a new folder",
    )
    .into()
}

/// A shard's key and manifest.
struct Books {
    key: Journal,
    manifest: Journal,
    complete: bool,
}

/// A unit whose files are gone, with its lines of the manifest.
type Lost = (u64, String);

impl Books {
    fn open(layout: &Layout, shard: Shard) -> Result<Books, Faults> {
        directory::make(&layout.folder.join("key"))?;
        directory::make(&layout.folder.join("manifest"))?;
        Ok(Books {
            manifest: Journal::open(&layout.place(&layout.manifest(shard)))?,
            key: Journal::open(&layout.place(&layout.key(shard)))?,
            complete: false,
        })
    }

    /// Brings both books to the last unit that stands in both, takes the finished units off `units`, and
    /// gives those among them of which a file is gone.
    fn resume(
        &mut self,
        layout: &Layout,
        shard: Shard,
        units: &mut Range<u64>,
    ) -> Result<Vec<Lost>, Faults> {
        let keyed = self.key.read(&mut |_| true)?;
        let first = layout.captures_of(units).start;
        let in_key = |unit: u64| layout.captures(unit).end - first <= keyed;
        let mut follower = Follower::new(layout, shard);
        let mut lost: Vec<Lost> = Vec::new();
        let (mut text, mut whole) = (String::new(), true);
        self.manifest.read(&mut |line| {
            let unit = follower.unit();
            if unit < units.end && !in_key(unit) {
                return false;
            }
            let Some(Line { file, .. }) = follower.take(line) else {
                return false;
            };
            text += line;
            text.push('\n');
            whole &= layout.place(&file).is_file();
            if follower.unit() > unit {
                if !whole {
                    lost.push((unit, std::mem::take(&mut text)));
                }
                text.clear();
                whole = true;
            }
            true
        })?;
        let (lines, unit) = (follower.lines, follower.unit());
        self.complete = follower.complete;
        units.start = unit;
        self.manifest.keep(lines)?;
        self.key
            .keep(layout.captures_of(&(0..unit)).end.saturating_sub(first))?;
        Ok(lost)
    }

    /// Closes the manifest with the key's line.
    fn finish(&mut self, layout: &Layout, shard: Shard) -> Result<(), Faults> {
        if !self.complete {
            let sha256 = sha256_of(self.key.path())?;
            let file = layout.key(shard);
            self.manifest.append(&Line { sha256, file }.to_text())?;
            self.complete = true;
        }
        Ok(())
    }
}

/// The books while units come in from all threads.
struct Ledger<'a> {
    books: &'a mut Books,
    next: u64,
    waiting: BTreeMap<u64, Made>,
}

impl Ledger<'_> {
    /// Enters a unit once all before it are entered: first in the key, then in the manifest, so that
    /// what the manifest names is in the key.
    fn enter(&mut self, layout: &Layout, unit: u64, made: Made) -> Result<(), Faults> {
        self.waiting.insert(unit, made);
        while let Some(made) = self.waiting.remove(&self.next) {
            self.books.key.append(&made.key)?;
            self.books.manifest.append(&made.manifest)?;
            self.next += 1;
            if self.next.is_multiple_of(UNITS_BETWEEN_LOOKS) {
                keep_space(&layout.folder)?;
            }
        }
        Ok(())
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
