//! The guard of all outputs: none may be an input, or have the name of what no output replaces.

use super::atomic;
use super::directory;
use super::identity::{Identity, identity};
use crate::error::{Fault, Faults};
use std::cell::{OnceCell, RefCell};
use std::collections::HashSet;
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::{Path, PathBuf};

/// What a command may write: the command line writes files through it alone.
pub struct Outputs {
    inputs: Vec<PathBuf>,
    kept: &'static [&'static str],
    /// Looked up once an output is there before.
    read: OnceCell<HashSet<Identity>>,
    given: RefCell<Vec<PathBuf>>,
}

/// A place that an output may have.
pub struct Output<'a>(&'a Path);

impl Outputs {
    /// For a command that reads `inputs`: files, and folders of which it reads those that end in one of `kept`, however
    /// deep. No output may have such an ending either, whether or not a command reads it.
    pub fn beside(
        inputs: impl IntoIterator<Item = PathBuf>,
        kept: &'static [&'static str],
    ) -> Self {
        Outputs {
            inputs: inputs.into_iter().collect(),
            kept,
            read: OnceCell::new(),
            given: RefCell::default(),
        }
    }

    /// A place for an output, each given once.
    ///
    /// # Errors
    /// An input, by whatever name, link or hard link; another output; a name that ends as what is kept.
    pub fn file<'a>(&self, path: &'a Path) -> Result<Output<'a>, Faults> {
        let place = real(path);
        let name = place.file_name().unwrap_or_default().to_string_lossy();
        if let Some(kept) = self.kept.iter().find(|kept| name.ends_with(**kept)) {
            let problem = format!("files that end in `{kept}` are captures, keys or their marks");
            return Err(refusal(path, &problem));
        }
        self.free(path)?;
        let mut given = self.given.borrow_mut();
        if given.contains(&place) {
            return Err(refusal(path, "another output goes there"));
        }
        given.push(place);
        Ok(Output(path))
    }

    /// Whether `path` is no input, by whatever name, link or hard link.
    ///
    /// # Errors
    /// An input.
    pub fn free(&self, path: &Path) -> Result<(), Faults> {
        // What is not there is no input; a pipe or device is refused by whoever writes.
        if !path.is_file() {
            return Ok(());
        }
        let output = identity(path).map_err(|e| Fault::io(path, "look at it", &e))?;
        let read = self.read.get_or_init(|| {
            let mut read = HashSet::new();
            self.inputs
                .iter()
                .for_each(|input| self.look(input, &mut read));
            read
        });
        if read.contains(&output) {
            return Err(refusal(path, "this command reads it"));
        }
        Ok(())
    }

    /// Adds the file at `input`, or those below it; what cannot be listed cannot be read by the command either.
    fn look(&self, input: &Path, read: &mut HashSet<Identity>) {
        if !input.is_dir() {
            read.extend(identity(input));
            return;
        }
        for name in directory::names(input).unwrap_or_default() {
            let inner = input.join(&name);
            // A link may lead round in a circle.
            let deeper = inner.is_dir() && !inner.is_symlink();
            if deeper || self.kept.iter().any(|kept| name.ends_with(kept)) {
                self.look(&inner, read);
            }
        }
    }

    /// [`Outputs::file`] for an output that may not be wanted.
    pub fn optional<'a>(&self, path: &'a Option<PathBuf>) -> Result<Option<Output<'a>>, Faults> {
        path.as_deref().map(|path| self.file(path)).transpose()
    }
}

impl Output<'_> {
    /// Writes it whole or not at all, from `bytes`.
    pub fn write(&self, bytes: impl AsRef<[u8]>) -> Result<(), Faults> {
        atomic::write(self.0, bytes)
    }

    /// As [`atomic::write_with`].
    pub fn write_with(
        &self,
        fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<()>,
    ) -> Result<(), Faults> {
        atomic::write_with(self.0, fill)
    }
}

/// The path without links, as far as it is there.
pub fn real(path: &Path) -> PathBuf {
    match (path.canonicalize(), path.parent(), path.file_name()) {
        (Ok(real), ..) => real,
        (_, Some(above), Some(name)) if above.as_os_str().is_empty() => {
            real(Path::new(".")).join(name)
        }
        (_, Some(above), Some(name)) => real(above).join(name),
        _ => path.into(),
    }
}

fn refusal(path: &Path, problem: &str) -> Faults {
    Fault::new(
        path.display(),
        format!("cannot write it: {problem}"),
        "choose another path",
    )
    .into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    const KEPT: &[&str] = &[".truth.json"];

    #[test]
    fn an_input_is_no_output_by_any_name() {
        let folder = tempfile::tempdir().unwrap();
        let [sheet, key, hard, own] =
            ["sheet.csv", "key", "hard.csv", "own.csv"].map(|name| folder.path().join(name));
        fs::create_dir_all(key.join("deep")).unwrap();
        for file in [
            &sheet,
            &key.join("deep/a.truth.json"),
            &key.join("notes.csv"),
            &own,
        ] {
            fs::write(file, "x").unwrap();
        }
        fs::hard_link(key.join("deep/a.truth.json"), &hard).unwrap();
        let outputs = Outputs::beside([sheet.clone(), key.clone()], KEPT);
        let refused = |path: &Path| outputs.file(path).err().map(|faults| faults.to_string());
        for path in [&sheet, &folder.path().join("key/../sheet.csv"), &hard] {
            assert!(refused(path).unwrap().contains("this command reads it"));
        }
        for name in ["key/deep/a.truth.json", "elsewhere.truth.json"] {
            let words = refused(&folder.path().join(name)).unwrap();
            assert!(words.contains("files that end in `.truth.json`"), "{words}");
        }
        // Beside the inputs there is room for what a command wrote before.
        for path in [&key.join("notes.csv"), &own, &folder.path().join("new.csv")] {
            assert_eq!(refused(path), None);
        }
        for again in ["own.csv", "key/../new.csv"] {
            let words = refused(&folder.path().join(again)).unwrap();
            assert!(words.contains("another output goes there"), "{words}");
        }
        assert!(outputs.free(&own).is_ok() && outputs.free(&hard).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_what_it_leads_to() {
        let folder = tempfile::tempdir().unwrap();
        let [truth, link] = ["a.truth.json", "link.csv"].map(|name| folder.path().join(name));
        fs::write(&truth, "x").unwrap();
        std::os::unix::fs::symlink(&truth, &link).unwrap();
        assert!(Outputs::beside([], KEPT).file(&link).is_err());
        assert!(Outputs::beside([truth], &[]).file(&link).is_err());
    }
}
