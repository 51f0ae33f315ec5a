//! A folder that appears whole under its name, or not at all.
//!
//! It is filled as `.NAME.part` beside its place, which a rename then puts there. An error, an interrupt
//! or a panic on the way removes it; a killed process may leave it behind, where no reader looks and the
//! next attempt replaces it. A lock keeps out a second process that would fill the same folder.

use super::{Lock, directory};
use crate::error::{Fault, Faults};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{Duration, UNIX_EPOCH};

/// The time of files whose time shall say nothing: the first second of the year 2000, UTC.
const FILE_TIME: Duration = Duration::from_secs(946_684_800);

/// A folder on its way; it goes away again unless it is finished.
pub struct NewFolder {
    path: PathBuf,
    place: PathBuf,
    finished: bool,
    _lock: Lock,
}

impl NewFolder {
    /// Begins a folder that shall stand at `place`.
    ///
    /// # Errors
    /// A place that is taken ([`free`]), that another process is filling, or that cannot be written.
    pub fn begin(place: &Path) -> Result<NewFolder, Faults> {
        let Some(name) = place.file_name() else {
            let remedy = "give the path of a new folder, with its name at the end";
            return Err(Fault::new(place.display(), "it does not name a folder", remedy).into());
        };
        free(place)?;
        let parent = place.parent().filter(|p| !p.as_os_str().is_empty());
        let parent = parent.unwrap_or(Path::new("."));
        directory::make(parent)?;
        let lock = Lock::take(place)?;
        let mut hidden = std::ffi::OsString::from(".");
        hidden.push(name);
        hidden.push(".part");
        let path = parent.join(hidden);
        if path.is_dir() {
            fs::remove_dir_all(&path).map_err(|e| Fault::io(&path, "remove it", &e))?;
        }
        fs::create_dir(&path).map_err(|e| Fault::io(&path, "make the folder", &e))?;
        Ok(NewFolder {
            path,
            place: place.into(),
            finished: false,
            _lock: lock,
        })
    }

    /// Makes a folder inside and returns where it is for now.
    pub fn inner(&self, name: &str) -> Result<PathBuf, Faults> {
        let path = self.path.join(name);
        fs::create_dir(&path).map_err(|e| Fault::io(&path, "make the folder", &e))?;
        Ok(path)
    }

    /// Gives every file one and the same time, and puts the folder in its place.
    pub fn finish(mut self) -> Result<(), Faults> {
        level_times(&self.path)?;
        free(&self.place)?;
        let fault = |e| Fault::io(&self.place, "put the folder there", &e);
        if self.place.is_dir() {
            fs::remove_dir(&self.place).map_err(fault)?;
        }
        fs::rename(&self.path, &self.place).map_err(fault)?;
        self.finished = true;
        Ok(())
    }
}

impl Drop for NewFolder {
    fn drop(&mut self) {
        if !self.finished {
            // Nothing can be done about a folder that will not go.
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}

/// Whether a new folder may stand at `place`: nothing is there, or an empty folder.
///
/// # Errors
/// A file, or a folder with something in it.
pub fn free(place: &Path) -> Result<(), Faults> {
    let taken = |problem: &str| {
        let remedy = "name a new folder, or empty this one";
        Err(Fault::new(place.display(), problem, remedy).into())
    };
    if !place.exists() {
        return Ok(());
    }
    if !place.is_dir() {
        return taken("a file of this name is there");
    }
    let mut entries = fs::read_dir(place).map_err(|e| Fault::io(place, "list it", &e))?;
    match entries.next() {
        None => Ok(()),
        Some(_) => taken("the folder is not empty"),
    }
}

fn level_times(folder: &Path) -> Result<(), Faults> {
    let fault = |path: &Path, e: &std::io::Error| Faults::from(Fault::io(path, "set its time", e));
    for entry in fs::read_dir(folder).map_err(|e| fault(folder, &e))? {
        let path = entry.map_err(|e| fault(folder, &e))?.path();
        if path.is_dir() {
            level_times(&path)?;
        } else {
            File::options()
                .write(true)
                .open(&path)
                .and_then(|file| file.set_modified(UNIX_EPOCH + FILE_TIME))
                .map_err(|e| fault(&path, &e))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_folder_appears_whole() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("a/pack");
        let folder = NewFolder::begin(&place).unwrap();
        let inner = folder.inner("key").unwrap();
        fs::write(inner.join("x"), "1").unwrap();
        assert_eq!(
            listed(&around.path().join("a")),
            [".pack.lock", ".pack.part"]
        );
        assert!(NewFolder::begin(&place).is_err(), "while another is at it");
        folder.finish().unwrap();
        assert_eq!(listed(&around.path().join("a")), ["pack"]);
        let about = fs::metadata(place.join("key/x")).unwrap();
        assert_eq!(about.modified().unwrap(), UNIX_EPOCH + FILE_TIME);
    }

    #[test]
    fn what_is_not_finished_leaves_nothing() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("pack");
        let folder = NewFolder::begin(&place).unwrap();
        fs::write(folder.inner("key").unwrap().join("x"), "1").unwrap();
        drop(folder);
        assert_eq!(listed(around.path()), [""; 0]);
        fs::create_dir(around.path().join(".pack.part")).unwrap();
        fs::write(
            around.path().join(".pack.part/old"),
            "left by a killed process",
        )
        .unwrap();
        NewFolder::begin(&place).unwrap().finish().unwrap();
        assert_eq!(listed(around.path()), ["pack"]);
        assert_eq!(listed(&place), [""; 0]);
    }

    #[test]
    fn a_taken_place_is_refused() {
        let around = tempfile::tempdir().unwrap();
        let place = around.path().join("pack");
        fs::create_dir(&place).unwrap();
        NewFolder::begin(&place).unwrap().finish().unwrap();
        fs::write(place.join("mine"), "").unwrap();
        for taken in [&place, &place.join("mine"), Path::new("/")] {
            assert!(NewFolder::begin(taken).is_err(), "{}", taken.display());
        }
        assert_eq!(listed(around.path()), ["pack"]);
        assert_eq!(listed(&place), ["mine"]);
    }
}
