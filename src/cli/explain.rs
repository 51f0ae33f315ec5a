//! `waterjacket explain`: the debrief of a capture, with its truth.

use super::options::{Look, outputs};
use super::{Outcome, print, print_json};
use crate::debrief::{Words, call_picture, debrief_picture, words};
use crate::domain::{Call, Entry, Truth};
use crate::error::{Fault, Faults};
use crate::files::{directory, sha256_of};
use crate::grade::Graded;
use crate::grade::class::graded;
use crate::prose::wrap;
use crate::storage::{CaptureFiles, open};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Columns that the words fill.
const WIDTH: usize = 98;

/// Explain a capture with its truth: the story in words, and a picture with its marks
///
/// The picture shows the TDCs of each cylinder, the leak events and the lag. With a call that is wrong, it
/// shows why: the called cylinder is crossed beside the leaking one.
#[derive(clap::Args)]
#[command(
    after_help = "Examples:\n  waterjacket explain out/lessons/01-plain-staircase\n  \
    waterjacket explain out/lessons/06-long-lag --call 4 --from 1.5 --to 2.5"
)]
pub struct Arguments {
    /// The capture: its name or one of its files; its truth lies beside it
    #[arg(value_name = "CAPTURE")]
    capture: PathBuf,
    /// A call to judge: `3`, `2+5`, `2|5`, `none` or `unsure`
    #[arg(long, value_name = "CYLINDERS")]
    call: Option<String>,
    /// Picture begins here, seconds; without it, it shows one cycle around a leak event
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    from: Option<f64>,
    /// Picture ends here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    to: Option<f64>,
    /// Folder for the picture; without it, it goes beside the capture
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    #[command(flatten)]
    look: Look,
    /// Print as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct Explained {
    #[serde(flatten)]
    words: Words,
    verdict: Option<Graded>,
    picture: PathBuf,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let capture = open(&arguments.capture)?;
    let files = CaptureFiles::at(&arguments.capture)?;
    if !files.truth.is_file() {
        let remedy = "explain needs NAME.truth.json beside the card; ask whoever holds the key";
        return Err(Fault::new(
            capture.name(),
            "the truth of this capture is not here",
            remedy,
        )
        .into());
    }
    let truth = belonging(&files.truth, &files)?;
    let verdict = match &arguments.call {
        Some(text) => Some(judge(text, &truth)?),
        None => None,
    };
    let units = arguments.look.units.into();
    let words = words(&capture.card, &truth, units);
    let span = (arguments.from, arguments.to);
    let theme = arguments.look.theme();
    let wrong = verdict.as_ref().filter(|graded| !graded.is_right());
    let picture =
        match wrong.and_then(|graded| Some((graded, graded.call.as_ref()?.cylinders.named()))) {
            Some((graded, called)) => {
                let (call, verdict) = (graded.called(), &graded.verdict);
                let why = format!("Called {call}: {}. {}", verdict.kind, verdict.sentence);
                call_picture(&capture, &truth, called, &why, span, units, theme)?
            }
            None => debrief_picture(&capture, &truth, span, units, theme)?,
        };
    if let Some(out) = &arguments.out {
        directory::make(out)?;
    }
    let folder = arguments.out.clone().unwrap_or_else(|| {
        arguments
            .capture
            .parent()
            .map(Into::into)
            .unwrap_or_default()
    });
    let file = folder.join(format!(
        "{}.debrief.{}",
        capture.name(),
        arguments.look.format.ending()
    ));
    outputs([arguments.capture.clone()])
        .file(&file)?
        .write(arguments.look.format.bytes(&picture)?)?;
    if arguments.json {
        print_json(&Explained {
            words,
            verdict,
            picture: file,
        })?;
    } else {
        print(&text(&words, verdict.as_ref()))?;
        print(&format!("\nPicture: {}\n", file.display()))?;
    }
    Ok(Outcome::Done)
}

/// The truth at `path`, if it is that of the capture beside it.
pub(super) fn belonging(path: &Path, capture: &CaptureFiles) -> Result<Truth, Faults> {
    let truth = crate::storage::document::read::<Truth>(path)?;
    if truth.capture != capture.name || truth.wav_sha256 != sha256_of(&capture.wav)? {
        let problem = format!("it is not the truth of {}", capture.wav.display());
        let remedy = "bring the truth and the WAV of the same capture together";
        return Err(Fault::new(path.display(), problem, remedy).into());
    }
    Ok(truth)
}

fn judge(call: &str, truth: &Truth) -> Result<Graded, Faults> {
    let cylinders: Call = call.parse().map_err(|f: Fault| Fault {
        place: "--call".into(),
        ..f
    })?;
    let call = Entry::new(&truth.capture, cylinders);
    let (graded, faults) = graded("--call", &[call], [truth]);
    graded.into_iter().next().ok_or(Faults(faults))
}

fn text(words: &Words, verdict: Option<&Graded>) -> String {
    let mut text = format!("{}\n", words.title);
    if let Some(graded) = verdict {
        let call = graded.called();
        let verdict = &graded.verdict;
        text += &format!(
            "\nYour call: {call}. {}, {:.2} of 1 point.\n",
            verdict.kind, verdict.points
        );
        text += &wrap(&verdict.sentence, WIDTH, "  ", "  ");
    }
    for (heading, paragraph) in &words.paragraphs {
        text += &format!("\n{heading}\n{}", wrap(paragraph, WIDTH, "  ", "  "));
    }
    text
}
