//! `waterjacket page`: captures to zoom, measure and call in a browser.

use super::explain::belonging;
use super::options::{UnitsOption, captures_in, outputs};
use super::{Outcome, print};
use crate::debrief::probes;
use crate::domain::{Capture, Card, Entry, Truth};
use crate::error::{Fault, Faults};
use crate::formats::call_sheet;
use crate::grade::class::graded;
use crate::page::{Answer, Debrief, Judged, Page, Shown, check_size, html};
use crate::practice;
use crate::storage::{CaptureFiles, open, pack};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A call sheet larger than this is refused unread.
const MAX_SHEET_BYTES: u64 = 1 << 20;

/// Write captures as one HTML page: zoom, lay cursors, count the firing order, call the cylinder
///
/// The page needs nothing but a browser: its script and the samples are inside, and nothing is loaded
/// or sent. It shows what cards and WAVs hold, keeps the calls while it is open and saves them as a call
/// sheet for `grade`. With --key it is a debrief instead: TDCs, leak events, lag and truth probes are drawn in.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket page out/first-quiz/student --out quiz.html\n  \
    waterjacket page out/lessons/06-long-lag --out long-lag.html --from 1 --to 3\n  \
    waterjacket page out/lessons --key out/lessons --calls scenarios/sample-calls.csv --out debrief.html"
)]
pub struct Arguments {
    /// Captures (a name or one of its files), or folders of them: lessons, a quiz pack's student folder, a job
    #[arg(required = true, value_name = "CAPTURE")]
    captures: Vec<PathBuf>,
    /// The page's file, `NAME.html`
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Debrief the captures with the truths in this folder; never for a student who has yet to call
    #[arg(long, value_name = "FOLDER")]
    key: Option<PathBuf>,
    /// Judge the calls of this call sheet in the debrief
    #[arg(long, value_name = "SHEET", requires = "key")]
    calls: Option<PathBuf>,
    /// Begin here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    from: Option<f64>,
    /// End here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    to: Option<f64>,
    /// Units of the words, and of pressures at first
    #[arg(long, value_enum, default_value_t)]
    units: UnitsOption,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    check_out(&arguments.out)?;
    let inputs = arguments.captures.iter().chain(&arguments.key);
    let outputs = outputs(inputs.chain(&arguments.calls).cloned());
    let out = outputs.file(&arguments.out)?;
    let paths = captures_in(&arguments.captures)?;
    let cards = cards(&paths).map_err(|faults| with_others(faults, &paths))?;
    let spans = each(&cards, |card| span(card, &arguments))?;
    // Before anything large is read; a debrief's probes are counted when they are there.
    check_size(cards.iter().zip(&spans).map(|(card, [from, to])| {
        let frames = (to - from) as u64;
        (card.capture.as_str(), frames, card.channels.len())
    }))?;
    let opened = each(&paths, |path| open(path))?;
    let folders: BTreeSet<PathBuf> = paths.iter().map(|p| folder_of(p)).collect();
    let mut debriefs: BTreeMap<String, Debrief> = match &arguments.key {
        Some(key) => debriefs(key, &paths, &opened, arguments.calls.as_deref())?,
        None => BTreeMap::new(),
    };
    let pack = match &arguments.key {
        Some(key) => pack::head(key)?.map(|head| head.pack),
        None => pack_of(&folders)?,
    };
    let title = match (&pack, opened.as_slice()) {
        (Some(pack), _) => format!("Pack {pack}"),
        (None, [one]) => one.name().into(),
        (None, all) => format!("{} captures", all.len()),
    };
    let captures = opened.iter().zip(spans).map(|(capture, frames)| Shown {
        capture,
        frames,
        debrief: debriefs.remove(capture.name()),
    });
    let page = Page {
        title: match arguments.key {
            Some(_) => format!("Debrief: {title}"),
            None => title,
        },
        answer: match arguments.key {
            Some(_) => Answer::Nothing,
            None if folders.iter().all(|f| practice::is_job(f)) => Answer::Job,
            None => Answer::Sheet { pack },
        },
        units: arguments.units.into(),
        captures: captures.collect(),
    };
    out.write(html(&page)?)?;
    print(&format!("{}\n", arguments.out.display()))?;
    Ok(Outcome::Done)
}

/// Refuses a name that a browser would not open as a page, above all one of the captures' own.
fn check_out(out: &Path) -> Result<(), Faults> {
    let ending = out.extension().map(|e| e.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("html" | "htm") => Ok(()),
        _ => {
            let problem = format!("{} is no name of a page", out.display());
            Err(Fault::new("--out", problem, "end it in .html").into())
        }
    }
}

/// The cards, of which no two may share a name: by it a call sheet knows its capture.
fn cards(paths: &[PathBuf]) -> Result<Vec<Card>, Faults> {
    let mut names: BTreeMap<String, &Path> = BTreeMap::new();
    each(paths, |path| {
        let files = CaptureFiles::at(path)?;
        if let Some(other) = names.insert(files.name.clone(), path) {
            let problem = format!("{} is called {} too", other.display(), files.name);
            let remedy = "name each capture once; for captures of one name, make two pages";
            return Err(Fault::new(path.display(), problem, remedy).into());
        }
        match files.card.exists() {
            true => crate::storage::document::read::<Card>(&files.card),
            // It tells what is there and what is not.
            false => open(path).map(|opened| opened.card),
        }
    })
}

/// The cards' faults, and those of the captures whose cards are in order.
fn with_others(Faults(mut faults): Faults, paths: &[PathBuf]) -> Faults {
    if let Err(Faults(more)) = each(paths, |path| open(path).map(|_| ())) {
        let new = more.into_iter().filter(|fault| !faults.contains(fault));
        faults.extend(new.collect::<Vec<_>>());
    }
    Faults(faults)
}

/// The frames from `--from` to `--to`; at least one.
fn span(card: &Card, arguments: &Arguments) -> Result<[usize; 2], Faults> {
    let end = card.frames as f64 / card.sample_rate_hz;
    let [from, to] = [arguments.from.unwrap_or(0.0), arguments.to.unwrap_or(end)];
    // Not a number fails both comparisons.
    if !(from >= 0.0 && from < to && to <= end + 1e-9) {
        let problem = format!("cannot show it from {from} s to {to} s");
        let remedy = format!("choose a span within 0 to {end} s");
        return Err(Fault::new(&card.capture, problem, remedy).into());
    }
    let frames = card.frames as usize;
    let first = ((from * card.sample_rate_hz - 1e-6).ceil() as usize).min(frames - 1);
    let last = ((to * card.sample_rate_hz + 1e-6).floor() as usize).min(frames);
    Ok([first, last.max(first + 1)])
}

/// The pack that the blank call sheets beside the captures name.
fn pack_of(folders: &BTreeSet<PathBuf>) -> Result<Option<String>, Faults> {
    let named = each(folders, |folder| pack::named_in(folder))?;
    let packs: BTreeSet<String> = named.into_iter().flatten().collect();
    match packs.len() {
        0 | 1 => Ok(packs.into_iter().next()),
        _ => {
            let all = packs.into_iter().collect::<Vec<_>>().join(" and ");
            let problem = format!("these captures are of the packs {all}");
            Err(Fault::new("page", problem, "make a page for each pack").into())
        }
    }
}

/// The truth of every capture in the key's folder, with probes and the verdict of its call.
fn debriefs(
    key: &Path,
    paths: &[PathBuf],
    opened: &[Capture],
    sheet: Option<&Path>,
) -> Result<BTreeMap<String, Debrief>, Faults> {
    let truths = each(paths, |path| {
        let files = CaptureFiles::at(path)?;
        let truth = CaptureFiles::of(key, &files.name).truth;
        if !truth.is_file() {
            let problem = format!("it holds no truth of {}", files.name);
            let remedy = "name the key's folder, or leave out --key";
            return Err(Fault::new(key.display(), problem, remedy).into());
        }
        belonging(&truth, &files)
    })?;
    let mut judged = match sheet {
        Some(sheet) => judged(sheet, key, &truths)?,
        None => BTreeMap::new(),
    };
    let pairs: Vec<_> = truths.into_iter().zip(opened).collect();
    let all = each(&pairs, |(truth, capture)| {
        Ok(Debrief {
            probes: probes(truth, &capture.samples)?,
            verdict: judged.remove(&truth.capture),
            truth: truth.clone(),
        })
    })?;
    let named = all.into_iter().map(|d| (d.truth.capture.clone(), d));
    Ok(named.collect())
}

/// The calls of a sheet, each with what it was worth. Calls of captures that the page leaves out are
/// passed over.
fn judged(path: &Path, key: &Path, truths: &[Truth]) -> Result<BTreeMap<String, Judged>, Faults> {
    let bytes = crate::files::read_at_most(path, MAX_SHEET_BYTES)?;
    let pack = pack::head(key)?.map(|head| head.pack);
    let file = path.display().to_string();
    let (calls, faults) = call_sheet::read(&file, &bytes, pack.as_deref());
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    let shown = |call: &Entry| truths.iter().any(|t| t.capture == call.capture);
    let calls: Vec<Entry> = calls.into_iter().filter(shown).collect();
    let (graded, faults) = graded(&file, &calls, truths);
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    let judged = graded.into_iter().map(|one| {
        let named = one.call.as_ref().map(|call| call.cylinders.named());
        let judged = Judged {
            call: one.called(),
            cylinders: named.unwrap_or_default().into_iter().collect(),
            verdict: format!("{}, {:.2} of 1 point", one.verdict.kind, one.verdict.points),
            sentence: one.verdict.sentence,
        };
        (one.capture, judged)
    });
    Ok(judged.collect())
}

/// What `of` gives for each, or all faults together.
fn each<T, R>(
    all: impl IntoIterator<Item = T>,
    of: impl FnMut(T) -> Result<R, Faults>,
) -> Result<Vec<R>, Faults> {
    let mut done = Vec::new();
    let mut faults = Vec::new();
    for result in all.into_iter().map(of) {
        match result {
            Ok(one) => done.push(one),
            Err(Faults(new)) => faults.extend(new),
        }
    }
    match faults.is_empty() {
        true => Ok(done),
        false => Err(Faults(faults)),
    }
}

/// The folder that a capture lies in.
fn folder_of(path: &Path) -> PathBuf {
    path.parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
        .into()
}
