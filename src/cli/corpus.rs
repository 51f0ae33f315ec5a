//! `waterjacket corpus`: thousands of captures, in shards.

use super::options::outputs;
use super::{Outcome, interrupt, print, print_json, tell};
use crate::corpus::{
    self, Findings, MAX_CAPTURES, MAX_CAPTURES_PER_FILE, Plan, Shard, Stage, Summary,
};
use crate::error::{Fault, Faults};
use crate::formats::CorpusForm;
use crate::render::{Rendered, render};
use crate::storage::Destination;
use clap::{ArgGroup, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::Duration;

/// Captures of a Parquet file, if the user does not say.
const CAPTURES_PER_FILE: u64 = 64;

/// Render a corpus: thousands of captures with known truth, in shards
///
/// The plan names scenarios and their weights. A capture depends on plan, seed and index alone, so that
/// any split into shards gives the bytes of one run. A run that was interrupted goes on where it ended.
/// FOLDER/captures is for the analyzer, FOLDER/key stays with you. A plan and its seed give the key away.
#[derive(clap::Args)]
#[command(
    group = ArgGroup::new("work").args(["count", "index", "merge", "verify"]).required(true),
    after_help = "Examples:\n  waterjacket corpus scenarios/corpora/mixed.yaml --count 1000 --seed 7 --out out/mixed\n  \
    waterjacket corpus scenarios/corpora/mixed.yaml --count 1000 --seed 7 --shard 3/8 --out out/mixed\n  \
    waterjacket corpus --merge --out out/mixed\n  \
    waterjacket corpus --verify --out out/mixed\n  \
    waterjacket corpus scenarios/corpora/mixed.yaml --seed 7 --index 123 --out out/one"
)]
pub struct Arguments {
    /// Plan file
    #[arg(value_name = "PLAN", required_unless_present_any = ["merge", "verify"], conflicts_with_all = ["merge", "verify"])]
    plan: Option<PathBuf>,
    /// Folder of the corpus; new, empty, or where a run of the same corpus ended
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Captures of the whole corpus
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MAX_CAPTURES))]
    count: Option<u64>,
    /// Seed in place of the plan's own
    #[arg(long, value_name = "SEED", conflicts_with_all = ["merge", "verify"])]
    seed: Option<u64>,
    /// Part of the corpus to render: the i-th of n
    #[arg(long, value_name = "i/n", default_value_t = Shard::WHOLE, conflicts_with_all = ["index", "merge", "verify"])]
    shard: Shard,
    /// Form of the captures
    #[arg(long, value_enum, default_value_t, conflicts_with_all = ["index", "merge", "verify"])]
    format: Format,
    /// Captures in each Parquet file; 64 if not given
    #[arg(long, value_name = "N", conflicts_with_all = ["index", "merge", "verify"], value_parser = clap::value_parser!(u64).range(1..=MAX_CAPTURES_PER_FILE))]
    captures_per_file: Option<u64>,
    /// Write the whole truths as well, every event and draw
    #[arg(long, conflicts_with_all = ["index", "merge", "verify"])]
    truths: bool,
    /// Threads; all cores if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=4096))]
    threads: Option<u64>,
    /// Render one capture again, with its truth, into FOLDER
    #[arg(long, value_name = "INDEX", value_parser = clap::value_parser!(u64).range(0..MAX_CAPTURES))]
    index: Option<u64>,
    /// Check that all shards are there, and merge their manifests
    #[arg(long)]
    merge: bool,
    /// Hash every file again, and tell what is missing, changed or extra
    #[arg(long)]
    verify: bool,
    /// Print as JSON
    #[arg(long)]
    json: bool,
}

/// Form of a corpus's captures.
#[derive(Clone, Copy, Default, ValueEnum)]
enum Format {
    /// A WAV and a card a capture.
    #[default]
    Wav,
    /// Parquet files of cards and samples in captures/, of truths in key/parquet/.
    Parquet,
    /// Parquet files of cards, samples and truths in labelled/: to train on, not to be graded on.
    Labelled,
}

/// What one run did.
#[derive(Serialize)]
struct Run {
    shard: String,
    captures: u64,
    rendered: u64,
    key: PathBuf,
    manifest: PathBuf,
    /// Of a corpus in one shard.
    corpus: Option<Summary>,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    interrupt::listen()?;
    if arguments.merge {
        return merge(&arguments);
    }
    if arguments.verify {
        return verify(&arguments);
    }
    let Some(plan) = &arguments.plan else {
        return Ok(Outcome::Done);
    };
    let plan = Plan::open(plan)?;
    let seed = arguments.seed.unwrap_or(plan.content.seed);
    match (arguments.index, arguments.count) {
        (Some(index), _) => again(&arguments, &plan, seed, index),
        (None, count) => build(&arguments, &plan, seed, count.unwrap_or_default()),
    }
}

fn build(a: &Arguments, plan: &Plan, seed: u64, count: u64) -> Result<Outcome, Faults> {
    if let (Format::Wav, Some(_)) = (a.format, a.captures_per_file) {
        let remedy = "leave it out, or give `--format parquet`";
        return Err(Fault::new("--captures-per-file", "a WAV holds one capture", remedy).into());
    }
    let order = corpus::Order {
        plan,
        seed,
        count,
        shard: a.shard,
        form: match a.format {
            Format::Wav => CorpusForm::Wav,
            Format::Parquet => CorpusForm::Parquet,
            Format::Labelled => CorpusForm::Labelled,
        },
        captures_per_file: a.captures_per_file.unwrap_or(CAPTURES_PER_FILE),
        truths: a.truths,
        threads: threads(a),
        folder: &a.out,
    };
    let bar = bar("captures");
    let stage = Mutex::new(None);
    let built = corpus::build(&order, &|at: corpus::Progress| {
        let doing = match at.stage {
            Stage::Drawing => "draws are looked at",
            Stage::Rendering => "captures are whole",
        };
        if let Ok(mut last) = stage.lock()
            && last.replace(at.stage) != Some(at.stage)
        {
            bar.set_length(at.of);
            bar.set_position(at.done);
            bar.reset_eta();
            bar.set_message(doing);
        }
        if at.done > bar.position() {
            bar.set_position(at.done);
        }
        interrupt::check(&format!("{} of {} {doing}", at.done, at.of))
    });
    bar.finish_and_clear();
    let built = built?;
    let corpus = match a.shard.of {
        1 => Some(corpus::merge(&a.out)??),
        _ => None,
    };
    let captures = built.captures.end - built.captures.start;
    let layout = &built.layout;
    let rendered = Run {
        shard: a.shard.to_string(),
        captures,
        rendered: built.rendered,
        key: layout.place(&layout.key(a.shard)),
        manifest: layout.place(&layout.manifest(a.shard)),
        corpus,
    };
    if a.json {
        print_json(&rendered)?;
        return Ok(Outcome::Done);
    }
    print(&format!(
        "{}\nshard {}: {captures} captures, {} rendered now, {} there before\n",
        rendered.key.display(),
        rendered.shard,
        rendered.rendered,
        captures - rendered.rendered
    ))?;
    if let Some(summary) = &rendered.corpus {
        print(&in_words(summary))?;
    }
    Ok(Outcome::Done)
}

fn threads(a: &Arguments) -> Option<usize> {
    a.threads.map(|n| n as usize)
}

/// Shown once work takes longer than a moment, if standard error is a terminal.
fn bar(what: &'static str) -> ProgressBar {
    let template = "{bar:30} {pos}/{len} {msg}, {per_sec}, {eta} left";
    let bar = ProgressBar::new(0).with_style(
        ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar()),
    );
    bar.set_message(what);
    bar.enable_steady_tick(Duration::from_millis(500));
    bar
}

/// One capture as the corpus has it, with its truth.
fn again(a: &Arguments, plan: &Plan, seed: u64, index: u64) -> Result<Outcome, Faults> {
    #[derive(Serialize)]
    struct Again<'a> {
        wav: &'a Path,
        card: &'a Path,
        truth: &'a Path,
        wav_sha256: String,
    }
    let name = corpus::name(index);
    let drawn = plan.draw(seed, index)?;
    let outputs = outputs(a.plan.clone());
    let to = Destination::make(&a.out, &a.out, &outputs)?;
    let Rendered { capture, mut truth } = render(&drawn, &name);
    let files = to.write(&capture, &mut truth)?;
    if a.json {
        print_json(&Again {
            wav: &files.wav,
            card: &files.card,
            truth: &files.truth,
            wav_sha256: truth.wav_sha256,
        })?;
    } else {
        print(&format!("{}\n", files.wav.display()))?;
    }
    Ok(Outcome::Done)
}

fn merge(a: &Arguments) -> Result<Outcome, Faults> {
    let summary = match corpus::merge(&a.out)? {
        Ok(summary) => summary,
        Err(faults) => {
            tell(&faults);
            return Ok(Outcome::Failed);
        }
    };
    if a.json {
        print_json(&summary)?;
    } else {
        print(&in_words(&summary))?;
    }
    Ok(Outcome::Done)
}

fn in_words(s: &Summary) -> String {
    let Summary {
        captures,
        leak,
        healthy,
        untold,
        captures_sha256,
        ..
    } = s;
    format!(
        "{captures} captures: {leak} with a leak to name, {healthy} healthy, {untold} that cannot be told\n\
         captures sha256 {captures_sha256}\n"
    )
}

fn verify(a: &Arguments) -> Result<Outcome, Faults> {
    let bar = ProgressBar::new_spinner().with_style(
        ProgressStyle::with_template("{pos} files hashed, {per_sec}")
            .unwrap_or_else(|_| ProgressStyle::default_spinner()),
    );
    let findings = corpus::verify(&a.out, threads(a), &mut |hashed| {
        bar.set_position(hashed);
        interrupt::check(&format!("{hashed} files were hashed"))
    })?;
    bar.finish_and_clear();
    if a.json {
        print_json(&findings)?;
    } else {
        print(&found(&findings))?;
    }
    match findings.in_order() {
        true => Ok(Outcome::Done),
        false => {
            tell(&remedies(&a.out, &findings));
            Ok(Outcome::Failed)
        }
    }
}

/// A line a finding, and the numbers.
fn found(f: &Findings) -> String {
    let mut text = String::new();
    let kinds = [
        ("unfinished", &f.unfinished),
        ("missing", &f.missing),
        ("changed", &f.changed),
        ("extra", &f.extra),
    ];
    for (kind, names) in kinds {
        for name in &names.first {
            text += &format!("{kind:<10}  {name}\n");
        }
    }
    let numbers: Vec<String> = kinds
        .iter()
        .filter(|(_, names)| names.number > 0)
        .map(|(kind, names)| format!("{} {kind}", names.number))
        .collect();
    let rest = match numbers.is_empty() {
        true => "all is in order".into(),
        false => numbers.join(", "),
    };
    format!("{text}{} files as the manifest says, {rest}\n", f.whole)
}

/// What to do about each kind of finding.
fn remedies(folder: &Path, f: &Findings) -> Faults {
    let all = [
        (
            &f.unfinished,
            "unfinished",
            "run the commands of these shards again",
        ),
        (
            &f.missing,
            "missing",
            "run the corpus's command again, which renders them",
        ),
        (
            &f.changed,
            "changed",
            "remove them and run the corpus's command again",
        ),
        (&f.extra, "extra", "move them elsewhere"),
    ];
    let faults = all.iter().filter(|(names, ..)| names.number > 0);
    let faults = faults.map(|(names, kind, remedy)| {
        let problem = format!("{} {kind}", names.number);
        Fault::new(folder.display(), problem, remedy)
    });
    Faults(faults.collect())
}
