//! `waterjacket render`: scenarios into captures.

use super::options::{Look, files_in, outputs};
use super::{Outcome, check, interrupt, print, print_json};
use crate::debrief::capture_picture;
use crate::domain::{Truth, check_name};
use crate::error::{Fault, Faults};
use crate::files::Outputs;
use crate::render::{Rendered, render};
use crate::scenario::{Drawn, Source};
use crate::storage::Destination;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Render scenarios into captures: WAV, card and truth
///
/// A truth file renders its capture again, bit for bit. All scenarios are checked before the first is
/// rendered. Existing captures of the same name are replaced.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket render scenarios --out out/lessons --plot\n  \
    waterjacket render scenarios/22-drill.yaml --count 20 --seed 5 --out out/drill\n  \
    waterjacket render out/lessons/01-plain-staircase.truth.json --out out/again"
)]
pub struct Arguments {
    /// Scenario files, folders of them, or truths
    #[arg(required = true, value_name = "SCENARIO")]
    scenarios: Vec<PathBuf>,
    /// Folder for the captures
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    out: PathBuf,
    /// Folder for the truths, if they shall not lie beside the captures
    #[arg(long, value_name = "FOLDER")]
    truths: Option<PathBuf>,
    /// Captures of each scenario; each draws its distributions and its noise anew
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=10_000))]
    count: u64,
    /// Seed in place of the scenarios' own
    #[arg(long, value_name = "SEED", allow_negative_numbers = true)]
    seed: Option<u64>,
    /// Draw a picture beside each capture
    #[arg(long)]
    plot: bool,
    #[command(flatten)]
    look: Look,
    /// List the captures as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Written {
    capture: String,
    wav: PathBuf,
    card: PathBuf,
    truth: PathBuf,
    picture: Option<PathBuf>,
    wav_sha256: String,
}

/// A capture to come: its name and where it is drawn from.
struct Job {
    file: PathBuf,
    name: String,
    source: Source,
    seed: Option<u64>,
    number: u64,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    interrupt::listen()?;
    let jobs = jobs(&arguments)?;
    let outputs = outputs(jobs.iter().map(|job| job.file.clone()));
    let truths = arguments.truths.as_ref().unwrap_or(&arguments.out);
    let to = Destination::make(&arguments.out, truths, &outputs)?;
    let bar = ProgressBar::new(jobs.len() as u64).with_style(
        ProgressStyle::with_template("{bar:30} {pos}/{len} captures, {eta} left")
            .unwrap_or_else(|_| ProgressStyle::default_bar()),
    );
    let mut rendered: Vec<Written> = Vec::new();
    for job in &jobs {
        let whole = format!("{} of {} captures are whole", rendered.len(), jobs.len());
        interrupt::check(&whole)?;
        let drawn = job.source.draw(job.seed, job.number)?;
        rendered.push(one(&arguments, &job.name, &drawn, &to, &outputs, &whole)?);
        bar.inc(1);
    }
    bar.finish_and_clear();
    if arguments.json {
        print_json(&rendered)?;
    } else {
        for r in &rendered {
            print(&format!("{}\n", r.wav.display()))?;
        }
    }
    Ok(Outcome::Done)
}

/// All captures to come; every one is drawn once, so that no fault shows up half-way.
fn jobs(arguments: &Arguments) -> Result<Vec<Job>, Faults> {
    let files = files_in(
        &arguments.scenarios,
        &[".yaml", ".yml", ".truth.json"],
        "scenarios or truths",
    )?;
    let mut jobs: Vec<Job> = Vec::new();
    let mut faults = Vec::new();
    for file in &files {
        match jobs_of(file, arguments) {
            Ok(new) => jobs.extend(new),
            Err(Faults(new)) => faults.extend(new),
        }
    }
    // By names in lower case, since some file systems do not tell `A` from `a`.
    let mut makers: BTreeMap<String, &Path> = BTreeMap::new();
    let mut clashes: BTreeSet<(&Path, &Path)> = BTreeSet::new();
    for job in &jobs {
        if let Some(other) = makers.insert(job.name.to_lowercase(), &job.file)
            && clashes.insert((other, &job.file))
        {
            let problem = format!(
                "it would make a capture `{}`, and so would {}",
                job.name,
                other.display()
            );
            let remedy = "rename one, or render them into two folders";
            faults.push(Fault::new(job.file.display(), problem, remedy));
        }
        // Faults common to all draws of a file are told once.
        if let Err(Faults(new)) = job.source.draw(job.seed, job.number) {
            faults.extend(
                new.into_iter()
                    .filter(|f| !faults.contains(f))
                    .collect::<Vec<_>>(),
            );
        }
    }
    if faults.is_empty() {
        Ok(jobs)
    } else {
        Err(Faults(faults))
    }
}

fn jobs_of(file: &Path, arguments: &Arguments) -> Result<Vec<Job>, Faults> {
    let name = file
        .file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default();
    if let Some(stem) = name.strip_suffix(".truth.json") {
        check_name(stem).map_err(|fault| at_file(file, fault))?;
        let truth = crate::storage::document::read::<Truth>(file)?;
        let place = format!("{}: scenario", file.display());
        return Ok(vec![Job {
            file: file.into(),
            name: stem.into(),
            source: Source::from_tree(&place, truth.scenario),
            seed: Some(truth.seed),
            number: truth.number,
        }]);
    }
    let stem = name
        .rsplit_once('.')
        .map_or(name.as_str(), |(stem, _)| stem);
    check_name(stem).map_err(|fault| at_file(file, fault))?;
    let source = check::load(file)?;
    let digits = (arguments.count - 1).to_string().len().max(2);
    Ok((0..arguments.count)
        .map(|number| Job {
            file: file.into(),
            name: if arguments.count == 1 {
                stem.into()
            } else {
                format!("{stem}-{number:0digits$}")
            },
            source: source.clone(),
            seed: arguments.seed,
            number,
        })
        .collect())
}

/// The fault of a file's name, at the file.
fn at_file(file: &Path, fault: Fault) -> Fault {
    Fault {
        place: format!("{}: {}", file.display(), fault.place),
        ..fault
    }
}

/// Renders and writes one capture; `whole` says what was finished before it.
fn one(
    arguments: &Arguments,
    name: &str,
    drawn: &Drawn,
    to: &Destination,
    outputs: &Outputs,
    whole: &str,
) -> Result<Written, Faults> {
    let Rendered { capture, mut truth } = render(drawn, name);
    interrupt::check(whole)?;
    let files = to.write(&capture, &mut truth)?;
    let picture = match arguments.plot {
        false => None,
        true => {
            let look = &arguments.look;
            let picture = capture_picture(&capture, None, look.units.into(), look.theme());
            let path = arguments
                .out
                .join(format!("{name}.{}", look.format.ending()));
            outputs.file(&path)?.write(look.format.bytes(&picture)?)?;
            Some(path)
        }
    };
    Ok(Written {
        capture: name.into(),
        wav_sha256: truth.wav_sha256,
        wav: files.wav,
        card: files.card,
        truth: files.truth,
        picture,
    })
}
