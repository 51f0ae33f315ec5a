//! `waterjacket plot`: pictures of captures.

use super::options::{Look, captures_in, outputs};
use super::{Outcome, print};
use crate::debrief::{capture_picture, span};
use crate::error::Faults;
use crate::files::directory;
use crate::storage::open;
use std::path::PathBuf;

/// Draw captures: traces stacked on one time axis, in their units
///
/// The picture shows only what the card and the WAV hold; it gives nothing away.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  waterjacket plot out/lessons\n  \
    waterjacket plot out/lessons/01-plain-staircase --from 1 --to 2.5 --format svg --units us")]
pub struct Arguments {
    /// Captures (a name or one of its files), or folders of them
    #[arg(required = true, value_name = "CAPTURE")]
    captures: Vec<PathBuf>,
    /// Begin here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    from: Option<f64>,
    /// End here, seconds
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    to: Option<f64>,
    /// Folder for the pictures; without it they go beside the captures
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    #[command(flatten)]
    look: Look,
}

pub fn run(arguments: Arguments) -> Result<Outcome, Faults> {
    let outputs = outputs(arguments.captures.clone());
    for path in captures_in(&arguments.captures)? {
        let capture = open(&path)?;
        let span = span(&capture, arguments.from, arguments.to)?;
        let picture = capture_picture(
            &capture,
            Some(span),
            arguments.look.units.into(),
            arguments.look.theme(),
        );
        let folder = arguments
            .out
            .clone()
            .unwrap_or_else(|| path.parent().map(Into::into).unwrap_or_default());
        let file = folder.join(format!(
            "{}.{}",
            capture.name(),
            arguments.look.format.ending()
        ));
        if let Some(out) = &arguments.out {
            directory::make(out)?;
        }
        outputs
            .file(&file)?
            .write(arguments.look.format.bytes(&picture)?)?;
        print(&format!("{}\n", file.display()))?;
    }
    Ok(Outcome::Done)
}
