//! Where captures and their truths go: never a truth into a folder that others are to see.

use super::{CaptureFiles, pack};
use crate::domain::{Capture, Truth};
use crate::error::{Fault, Faults};
use crate::files::{Outputs, directory, real};
use crate::formats::corpus::CORPUS_FILE;
use std::path::Path;

/// A folder for captures and one for their truths, often the same.
pub struct Destination<'a> {
    captures: &'a Path,
    truths: &'a Path,
    outputs: &'a Outputs,
}

impl<'a> Destination<'a> {
    /// Makes the folders, for a command with these outputs.
    ///
    /// # Errors
    /// A folder of truths that is a student's or an analyzer's; one that cannot be made.
    pub fn make(
        captures: &'a Path,
        truths: &'a Path,
        outputs: &'a Outputs,
    ) -> Result<Self, Faults> {
        refuse_public(truths)?;
        for folder in [captures, truths] {
            directory::make(folder)?;
            directory::remove_parts(folder)?;
        }
        Ok(Destination {
            captures,
            truths,
            outputs,
        })
    }

    /// The files that the capture `name` has here.
    pub fn files(&self, name: &str) -> CaptureFiles {
        CaptureFiles {
            truth: CaptureFiles::of(self.truths, name).truth,
            ..CaptureFiles::of(self.captures, name)
        }
    }

    /// Writes a capture and its truth, whose `wav_sha256` is filled in: all or nothing.
    ///
    /// # Errors
    /// A file that the command reads, or that cannot be written.
    pub fn write(&self, capture: &Capture, truth: &mut Truth) -> Result<CaptureFiles, Faults> {
        let files = self.files(capture.name());
        for path in [&files.wav, &files.card, &files.truth] {
            self.outputs.free(path)?;
        }
        files.write_parts(&capture.card, Some(truth), &capture.samples)?;
        Ok(files)
    }
}

/// Refuses a folder for truths that a mark there, or in a folder above, says is a student's or an analyzer's.
fn refuse_public(folder: &Path) -> Result<(), Faults> {
    let named = |folder: &Path, name| {
        folder
            .file_name()
            .is_some_and(|n| n.eq_ignore_ascii_case(name))
    };
    for here in real(folder).ancestors() {
        let above = here.parent().unwrap_or(here);
        let whose = if here.join("job.json").is_file() {
            "the folder of a job is its student's"
        } else if named(here, "captures") && above.join(CORPUS_FILE).is_file() {
            "the captures of a corpus are for the analyzer"
        } else if named(here, "student") && above.join("key/pack.json").is_file()
            || matches!(pack::named_in(here), Ok(Some(_)))
        {
            "it is the students' folder of a pack"
        } else {
            continue;
        };
        let problem = format!("no truth goes there: {whose}");
        return Err(Fault::new(
            folder.display(),
            problem,
            "name another folder for the truths",
        )
        .into());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn marks_tell_which_folders_are_public() {
        let around = tempfile::tempdir().unwrap();
        let path = |name: &str| around.path().join(name);
        for (file, text) in [
            ("pack/key/pack.json", "{}"),
            ("pack/student/item.wav", ""),
            ("alone/calls.csv", "capture,pack\na,k7\n"),
            ("corpus/corpus.json", "{}"),
            ("corpus/captures/0000/c.wav", ""),
            ("job/job.json", "{}"),
            ("lessons/calls.csv", "capture,cylinders\na,3\n"),
            ("lessons/a.truth.json", "{}"),
            ("student/a.wav", ""),
            ("captures/a.wav", ""),
        ] {
            fs::create_dir_all(path(file).parent().unwrap()).unwrap();
            fs::write(path(file), text).unwrap();
        }
        for (folder, part) in [
            ("pack/student", Some("students' folder of a pack")),
            ("pack/student/new/deep", Some("students' folder of a pack")),
            ("pack/key/../student", Some("students' folder of a pack")),
            ("alone/new", Some("students' folder of a pack")),
            ("corpus/captures", Some("for the analyzer")),
            ("corpus/captures/0000", Some("for the analyzer")),
            ("job", Some("is its student's")),
            ("pack/key", None),
            ("corpus/key/truths", None),
            ("corpus/labelled", None),
            ("lessons", None),
            ("student", None),
            ("captures/new", None),
        ] {
            let refused = refuse_public(&path(folder)).err().map(|f| f.to_string());
            match (part, &refused) {
                (Some(part), Some(words)) => assert!(words.contains(part), "{words}"),
                _ => assert_eq!((part, &refused), (None, &None), "{folder}"),
            }
        }
    }
}
