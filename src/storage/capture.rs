//! The files of a capture: where they are, and reading and writing them together.

use super::document;
use crate::domain::checks::Checks;
use crate::domain::name::ENDINGS;
use crate::domain::{Capture, Card, Truth};
use crate::error::{Fault, Faults};
use crate::files::{Lock, Part, directory, open_regular};
use crate::formats::{json, wav};
use std::io::{BufReader, Write};
use std::path::{Path, PathBuf};

/// Where the files of one capture are, whether or not they exist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaptureFiles {
    /// The capture's name.
    pub name: String,
    /// `NAME.wav`, the samples.
    pub wav: PathBuf,
    /// `NAME.card.json`, what a student may know.
    pub card: PathBuf,
    /// `NAME.truth.json`, on the instructor's side only.
    pub truth: PathBuf,
}

impl CaptureFiles {
    /// The files of the capture `name` in `folder`; [`crate::domain::check_name`] tells whether a name
    /// that was not made here is safe.
    pub fn of(folder: &Path, name: &str) -> Self {
        let path = |ending: &str| folder.join(format!("{name}{ending}"));
        CaptureFiles {
            name: name.to_owned(),
            wav: path(".wav"),
            card: path(".card.json"),
            truth: path(".truth.json"),
        }
    }

    /// The files of the capture that a person points at by its name or by any of its files.
    pub fn at(path: &Path) -> Result<Self, Faults> {
        let name = path.file_name().and_then(|name| name.to_str());
        let Some(name) = name else {
            let problem = "it names no capture";
            let remedy = "give the path of a capture's WAV or card";
            return Err(Fault::new(path.display(), problem, remedy).into());
        };
        let name = ENDINGS
            .iter()
            .find_map(|ending| name.strip_suffix(ending))
            .unwrap_or(name);
        Ok(CaptureFiles::of(
            path.parent().unwrap_or(Path::new("")),
            name,
        ))
    }

    /// Writes WAV and card and returns the SHA-256 of the WAV in hexadecimal.
    ///
    /// Card and channels must agree, and both are written in full before either appears under its
    /// name; the card comes last, since it is by the card that a capture is found.
    pub fn write(&self, card: &Card, channels: &[Vec<i16>]) -> Result<String, Faults> {
        self.write_parts(card, None, channels)
    }

    /// As [`CaptureFiles::write`], with the truth, whose `wav_sha256` is filled in: all three or none, and all three of one
    /// writer where several write at once.
    pub(super) fn write_parts(
        &self,
        card: &Card,
        truth: Option<&mut Truth>,
        channels: &[Vec<i16>],
    ) -> Result<String, Faults> {
        let rate = card.sample_rate_hz.round() as u32;
        let agree = agreement(self, card, rate, channels);
        let text = json::checked_text(self.card.display(), card)?;
        agree?;
        wav::check(&self.wav.display().to_string(), rate, channels)?;
        let (wav, digest) = Part::write_hashed(&self.wav, |out| wav::write(out, rate, channels))?;
        let mut parts = vec![wav];
        if let Some(truth) = truth {
            truth.wav_sha256 = digest.clone();
            parts.push(document::write_part(&self.truth, truth)?);
        }
        parts.push(Part::write(&self.card, |out| {
            out.write_all(text.as_bytes())
        })?);
        let _lock = Lock::wait(&self.wav)?;
        parts.into_iter().try_for_each(Part::commit)?;
        Ok(digest)
    }
}

/// Reads the capture at `path`, which is its name or any of its files.
///
/// Refused are a card without its WAV and a WAV without its card, and a pair that disagrees.
pub fn open(path: &Path) -> Result<Capture, Faults> {
    let files = CaptureFiles::at(path)?;
    let missing = |path: &Path, problem: String| {
        let remedy = "a capture is a WAV beside its card, both named after it: bring them together";
        Err(Faults::from(Fault::new(path.display(), problem, remedy)))
    };
    match (files.card.exists(), files.wav.exists()) {
        (true, true) => {}
        (true, false) => {
            let problem = format!(
                "it is missing, and its card {} is there",
                files.card.display()
            );
            return missing(&files.wav, problem);
        }
        (false, true) => {
            let problem = format!(
                "it is missing, and its WAV {} is there",
                files.wav.display()
            );
            return missing(&files.card, problem);
        }
        (false, false) => {
            let (wav, card) = (files.wav.display(), files.card.display());
            return missing(
                path,
                format!("there is no capture here: no {wav} and no {card}"),
            );
        }
    }
    let (card, samples) = match (document::read(&files.card), read_wav(&files.wav)) {
        (Ok(card), Ok(samples)) => (card, samples),
        (card, samples) => {
            let faults = [card.err(), samples.err()].into_iter().flatten();
            return Err(Faults(faults.flat_map(|faults| faults.0).collect()));
        }
    };
    agreement(&files, &card, samples.sample_rate_hz, &samples.channels)?;
    Ok(Capture {
        card,
        samples: samples.channels,
    })
}

fn read_wav(path: &Path) -> Result<wav::Samples, Faults> {
    let (file, _) = open_regular(path)?;
    wav::read(BufReader::new(file), path.display())
}

/// Whether a card tells the truth about its WAV and its name.
///
/// A WAV holds whole hertz only, so the card's exact rate need only round to the WAV's.
fn agreement(
    files: &CaptureFiles,
    card: &Card,
    wav_rate_hz: u32,
    channels: &[Vec<i16>],
) -> Result<(), Faults> {
    let remedy = "bring the card and the WAV of the same capture together";
    let mut checks = Checks::of(files.card.display());
    checks.need(
        card.capture == files.name,
        "capture",
        format!(
            "it says {:?}, and the file is called after {:?}",
            card.capture, files.name
        ),
        "give the files their name back",
    );
    let (own, wav) = (card.channels.len(), channels.len());
    let problem = format!("the card has {own}, and the WAV has {wav}");
    checks.need(own == wav, "channels", problem, remedy);
    let own = card.sample_rate_hz;
    let problem = format!("the card says {own} Hz, and the WAV {wav_rate_hz} Hz");
    checks.need(
        own.round() == f64::from(wav_rate_hz),
        "sample_rate_hz",
        problem,
        remedy,
    );
    let (own, wav) = (card.frames, channels.first().map_or(0, Vec::len));
    let problem = format!("the card says {own}, and the WAV has {wav}");
    checks.need(own == wav as u64, "frames", problem, remedy);
    checks.finish()
}

/// Names of all captures in `folder` (of all its cards), in their order.
pub fn find(folder: &Path) -> Result<Vec<String>, Faults> {
    names(folder, ".card.json")
}

/// Names of all captures in `folder` whose truth lies there, in their order.
pub fn truths(folder: &Path) -> Result<Vec<String>, Faults> {
    names(folder, ".truth.json")
}

fn names(folder: &Path, ending: &str) -> Result<Vec<String>, Faults> {
    let mut names = directory::ending_in(folder, &[ending])?;
    names
        .iter_mut()
        .for_each(|name| name.truncate(name.len() - ending.len()));
    names.sort();
    Ok(names)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::example;
    use crate::files::{atomic, sha256_of};
    use std::fs;

    /// A folder with the example's card and WAV.
    fn folder() -> (tempfile::TempDir, CaptureFiles) {
        let folder = tempfile::tempdir().unwrap();
        let files = CaptureFiles::of(folder.path(), "bay-2");
        let digest = files.write(&example::card(), &example::channels()).unwrap();
        assert_eq!(digest, sha256_of(&files.wav).unwrap());
        (folder, files)
    }

    /// Faults of opening a capture, as one text.
    #[track_caller]
    fn refusal(path: &Path) -> String {
        open(path).expect_err("it was accepted").to_string()
    }

    #[test]
    fn a_capture_opens_by_its_name_and_by_each_of_its_files() {
        let (folder, files) = folder();
        let by_name = open(&folder.path().join("bay-2")).unwrap();
        assert_eq!(by_name.card, example::card());
        assert_eq!(by_name.samples, example::channels());
        assert_eq!(open(&files.wav).as_ref(), Ok(&by_name));
        assert_eq!(open(&files.card).as_ref(), Ok(&by_name));
        assert_eq!(open(&files.truth).as_ref(), Ok(&by_name));
    }

    #[test]
    fn counts_scale_to_values() {
        let (_folder, files) = folder();
        let opened = open(&files.card).unwrap();
        let values: Vec<f64> = opened.scaled(0).collect();
        assert_eq!(values.len(), 1000);
        // Count 16 * 250 = 4000, by 0.005 kPa a count above 100 kPa.
        assert_eq!(values[250], 120.0);
        assert_eq!(opened.time_s(250), 0.0625);
    }

    #[test]
    fn a_missing_half_is_named() {
        let (folder, files) = folder();
        fs::rename(&files.wav, folder.path().join("away")).unwrap();
        let words = refusal(&files.card);
        assert!(
            words.starts_with(&format!("{}: it is missing", files.wav.display())),
            "{words}"
        );
        fs::rename(folder.path().join("away"), &files.wav).unwrap();
        fs::remove_file(&files.card).unwrap();
        let words = refusal(&files.wav);
        assert!(
            words.starts_with(&format!("{}: it is missing", files.card.display())),
            "{words}"
        );
        fs::remove_file(&files.wav).unwrap();
        assert!(refusal(&files.wav).contains("no capture here"));
        for path in ["", "/", ".."] {
            assert!(open(Path::new(path)).is_err());
        }
    }

    #[test]
    fn a_pair_that_disagrees_is_refused_with_all_that_differs() {
        let (_folder, files) = folder();
        atomic::write_with(&files.wav, |out| wav::write(out, 8000, &[vec![0; 10]])).unwrap();
        let faults = open(&files.card).unwrap_err();
        let places: Vec<_> = faults
            .0
            .iter()
            .map(|f| f.place.rsplit(' ').next().unwrap())
            .collect();
        assert_eq!(places, ["channels", "sample_rate_hz", "frames"], "{faults}");
    }

    #[test]
    fn both_broken_files_are_told() {
        let (_folder, files) = folder();
        fs::write(&files.wav, "no").unwrap();
        fs::write(&files.card, "no").unwrap();
        assert_eq!(open(&files.card).unwrap_err().0.len(), 2);
    }

    #[test]
    fn a_renamed_capture_is_refused() {
        let (folder, files) = folder();
        let other = CaptureFiles::of(folder.path(), "mine");
        fs::rename(&files.wav, &other.wav).unwrap();
        fs::rename(&files.card, &other.card).unwrap();
        assert!(refusal(&other.card).contains("give the files their name back"));
    }

    #[test]
    fn a_rate_between_whole_hertz_opens() {
        let folder = tempfile::tempdir().unwrap();
        let files = CaptureFiles::of(folder.path(), "bay-2");
        let mut card = example::card();
        card.sample_rate_hz = 4000.4;
        files.write(&card, &example::channels()).unwrap();
        assert_eq!(open(&files.card).unwrap().card.sample_rate_hz, 4000.4);
    }

    #[test]
    fn what_disagrees_or_cannot_be_finished_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let files = CaptureFiles::of(folder.path(), "bay-2");
        let mut short = example::channels();
        short[0].pop();
        short[1].pop();
        assert!(files.write(&example::card(), &short).is_err());
        let mut card = example::card();
        card.set_up.coolant_c = f64::NAN;
        assert!(files.write(&card, &example::channels()).is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
        // The card cannot be written where a folder stands; the WAV must not appear either.
        fs::create_dir(&files.card).unwrap();
        assert!(files.write(&example::card(), &example::channels()).is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_several_write_at_once_is_all_of_one() {
        let folder = tempfile::tempdir().unwrap();
        let files = CaptureFiles::of(folder.path(), "bay-2");
        std::thread::scope(|threads| {
            for writer in 0..4 {
                let files = files.clone();
                threads.spawn(move || {
                    for _ in 0..50 {
                        let (mut truth, mut channels) = (example::truth(), example::channels());
                        channels[0][0] = writer;
                        let truth = Some(&mut truth);
                        files
                            .write_parts(&example::card(), truth, &channels)
                            .unwrap();
                    }
                });
            }
        });
        let truth: Truth = document::read(&files.truth).unwrap();
        assert_eq!(truth.wav_sha256, sha256_of(&files.wav).unwrap());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
    }

    #[test]
    fn captures_are_found_in_order() {
        let (folder, files) = folder();
        for name in [".x.card.json", ".card.json", "c.json", "z.wav"] {
            fs::write(folder.path().join(name), "").unwrap();
        }
        // In steps of 7 of 20, so that neither the order of making nor its reverse is sorted.
        for number in (0..20).map(|i| i * 7 % 20) {
            fs::write(folder.path().join(format!("q{number:02}.card.json")), "").unwrap();
        }
        let mut expected = vec!["bay-2".to_owned()];
        expected.extend((0..20).map(|number| format!("q{number:02}")));
        assert_eq!(find(folder.path()).unwrap(), expected);
        assert!(truths(folder.path()).unwrap().is_empty());
        fs::write(&files.truth, "").unwrap();
        assert_eq!(truths(folder.path()).unwrap(), ["bay-2"]);
        assert!(find(&folder.path().join("missing")).is_err());
        assert!(find(&files.card).is_err());
    }
}
