//! Options and look-ups that several commands share.

use crate::debrief::Units;
use crate::domain::parse_confidence;
use crate::error::{Fault, Faults};
use crate::files::{Outputs, directory};
use crate::plot::{Drawing, Theme, png, svg};
use crate::storage::{CaptureFiles, KEPT, find};
use clap::ValueEnum;
use std::path::{Path, PathBuf};

/// Units of pictures and words.
#[derive(Clone, Copy, Default, ValueEnum)]
pub enum UnitsOption {
    /// kPa, bar, degrees Celsius.
    #[default]
    Metric,
    /// psi, degrees Fahrenheit.
    Us,
}

impl From<UnitsOption> for Units {
    fn from(option: UnitsOption) -> Units {
        match option {
            UnitsOption::Metric => Units::Metric,
            UnitsOption::Us => Units::Us,
        }
    }
}

/// Ground of a picture.
#[derive(Clone, Copy, Default, ValueEnum)]
pub enum ThemeOption {
    /// For paper.
    #[default]
    Light,
    /// For screens in dark rooms.
    Dark,
}

/// File format of a picture.
#[derive(Clone, Copy, Default, ValueEnum)]
pub enum Format {
    /// Pixels.
    #[default]
    Png,
    /// Lines, sharp at every size.
    Svg,
}

/// How pictures look.
#[derive(clap::Args)]
pub struct Look {
    /// Units of the picture and the words
    #[arg(long, value_enum, default_value_t)]
    pub units: UnitsOption,
    /// Ground of the picture
    #[arg(long, value_enum, default_value_t)]
    pub theme: ThemeOption,
    /// File format of the picture
    #[arg(long, value_enum, default_value_t)]
    pub format: Format,
}

impl Look {
    /// The picture's theme.
    pub fn theme(&self) -> Theme {
        match self.theme {
            ThemeOption::Light => Theme::Light,
            ThemeOption::Dark => Theme::Dark,
        }
    }
}

impl Format {
    /// The file name's ending.
    pub fn ending(self) -> &'static str {
        match self {
            Format::Png => "png",
            Format::Svg => "svg",
        }
    }

    /// The bytes of a picture.
    pub fn bytes(self, picture: &impl Drawing) -> Result<Vec<u8>, Faults> {
        match self {
            Format::Png => png(picture),
            Format::Svg => svg(picture).map(String::into_bytes),
        }
    }
}

/// Files with one of `endings`, from files and folders; a folder gives its own files in the order of
/// their names.
///
/// # Errors
/// A path that does not exist, or a folder without such files.
pub fn files_in(paths: &[PathBuf], endings: &[&str], what: &str) -> Result<Vec<PathBuf>, Faults> {
    let mut files = Vec::new();
    let mut faults = Vec::new();
    for path in paths {
        if !path.is_dir() {
            match path.metadata() {
                Ok(_) => files.push(path.clone()),
                Err(e) => faults.push(Fault::io(path, "read it", &e)),
            }
            continue;
        }
        match list(path, endings) {
            Ok(found) if found.is_empty() => {
                let problem = format!("the folder holds no {what} ({})", endings.join(", "));
                faults.push(Fault::new(
                    path.display(),
                    problem,
                    "name another folder, or a file",
                ));
            }
            Ok(found) => files.extend(found),
            Err(Faults(new)) => faults.extend(new),
        }
    }
    if faults.is_empty() {
        Ok(files)
    } else {
        Err(Faults(faults))
    }
}

fn list(folder: &Path, endings: &[&str]) -> Result<Vec<PathBuf>, Faults> {
    let names = directory::ending_in(folder, endings)?.into_iter();
    Ok(names
        .map(|name| folder.join(name))
        .filter(|path| path.is_file())
        .collect())
}

/// Captures from files, names and folders.
pub fn captures_in(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Faults> {
    let mut all = Vec::new();
    for path in paths {
        if path.is_dir() {
            let names = find(path)?;
            if names.is_empty() {
                return Err(no_captures(path).into());
            }
            all.extend(names.into_iter().map(|name| path.join(name)));
        } else {
            all.push(path.clone());
        }
    }
    Ok(all)
}

/// Captures from files, names and folders, and the folders below them: a corpus lays its captures out in several.
pub fn captures_below(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Faults> {
    let mut all = Vec::new();
    for path in paths {
        if !path.is_dir() {
            all.push(path.clone());
            continue;
        }
        let before = all.len();
        walk(path, &mut all)?;
        if all.len() == before {
            return Err(no_captures(path).into());
        }
    }
    Ok(all)
}

/// A folder without captures of its own: they may lie deeper, or in a form that only other programs read.
fn no_captures(folder: &Path) -> Fault {
    let mut below = Vec::new();
    let remedy = match (walk(folder, &mut below), below.first()) {
        (Ok(()), Some(capture)) => {
            let inner = capture.parent().unwrap_or(folder);
            format!("name a folder in it that does, such as {}", inner.display())
        }
        _ if list(folder, &[".parquet"]).is_ok_and(|files| !files.is_empty()) => {
            "its Parquet files are for other programs; render the corpus with `--format wav`".into()
        }
        _ => "render some, or name another folder".into(),
    };
    Fault::new(folder.display(), "the folder holds no captures", remedy)
}

/// A folder's own captures in their order, then those of the folders in it, in theirs.
fn walk(folder: &Path, all: &mut Vec<PathBuf>) -> Result<(), Faults> {
    let names = find(folder)?;
    all.extend(names.into_iter().map(|name| folder.join(name)));
    for name in directory::names(folder)? {
        let inner = folder.join(&name);
        // A link may lead round in a circle.
        if !name.starts_with('.') && inner.is_dir() && !inner.is_symlink() {
            walk(&inner, all)?;
        }
    }
    Ok(())
}

/// The outputs of a command that reads `inputs`: files, folders, and captures by any of their names.
pub fn outputs(inputs: impl IntoIterator<Item = PathBuf>) -> Outputs {
    let files = inputs.into_iter().flat_map(|path| {
        let capture = CaptureFiles::at(&path).map(|c| [c.wav, c.card, c.truth]);
        capture.into_iter().flatten().chain([path])
    });
    Outputs::beside(files, KEPT)
}

/// A share: `0.9` or `90%`.
pub fn share(text: &str) -> Result<f64, String> {
    match parse_confidence(text) {
        Ok(Some(share)) => Ok(share),
        Ok(None) => Err("write a share such as 0.9 or 90%".into()),
        Err(fault) => Err(format!("{}; {}", fault.problem, fault.remedy)),
    }
}
