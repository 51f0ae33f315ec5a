//! A key: the truths by which calls are graded, one at a time.

use super::capture::{CaptureFiles, truths};
use super::document;
use super::key_lines::KeyLines;
use crate::domain::Truth;
use crate::error::{Fault, Faults};
use crate::files::directory::names;
use crate::formats::key::KEY_SUFFIX;
use std::path::{Path, PathBuf};

/// The truths of a key: first those of its `*.key.jsonl`, then those of its `*.truth.json`, each in the order
/// of the files' names.
///
/// A key of many captures never stands in memory whole.
#[derive(Debug)]
pub struct Key {
    sources: std::vec::IntoIter<Source>,
    lines: Option<KeyLines>,
}

#[derive(Debug)]
enum Source {
    Lines(PathBuf),
    Truth(PathBuf),
}

impl Key {
    /// The key that lies in the folder `path`, or that one `*.key.jsonl`.
    ///
    /// # Errors
    /// If it cannot be listed, or holds no truths.
    pub fn open(path: &Path) -> Result<Key, Faults> {
        let is_lines = |name: &str| name.ends_with(KEY_SUFFIX) && !name.starts_with('.');
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
        let mut sources = Vec::new();
        if path.is_file() && name.is_some_and(|name| is_lines(&name)) {
            sources.push(Source::Lines(path.into()));
        } else {
            let lines = names(path)?.into_iter().filter(|name| is_lines(name));
            sources.extend(lines.map(|name| Source::Lines(path.join(name))));
            let truths = truths(path)?.into_iter();
            sources.extend(truths.map(|name| Source::Truth(CaptureFiles::of(path, &name).truth)));
        }
        if sources.is_empty() {
            let remedy = "name the folder that `waterjacket render` filled, or the key of a corpus";
            return Err(Fault::new(path.display(), "the folder holds no truths", remedy).into());
        }
        Ok(Key {
            sources: sources.into_iter(),
            lines: None,
        })
    }
}

impl Iterator for Key {
    type Item = Result<Truth, Faults>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if let Some(truth) = self.lines.as_mut().and_then(Iterator::next) {
                return Some(truth);
            }
            match self.sources.next()? {
                Source::Truth(path) => return Some(document::read(&path)),
                Source::Lines(path) => match KeyLines::open(&path) {
                    Ok(lines) => self.lines = Some(lines),
                    Err(faults) => return Some(Err(faults)),
                },
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::example;
    use crate::formats::key;
    use std::fs;

    #[test]
    fn lines_and_truths_are_one_key() {
        let folder = tempfile::tempdir().unwrap();
        let named = |name: &str| Truth {
            capture: name.into(),
            ..example::truth()
        };
        for name in ["z", "a"] {
            let path = folder.path().join(format!("{name}.truth.json"));
            document::write(&path, &named(name)).unwrap();
        }
        let lines =
            [["d", "c"], ["f", "e"]].map(|pair| pair.map(|n| key::line(&named(n))).concat());
        fs::write(folder.path().join("2.key.jsonl"), &lines[0]).unwrap();
        fs::write(folder.path().join("1.key.jsonl"), &lines[1]).unwrap();
        fs::write(folder.path().join(".1.key.jsonl.part"), "half").unwrap();
        let read = |path: &Path| -> Vec<String> {
            let key = Key::open(path).unwrap();
            key.map(|truth| truth.unwrap().capture).collect()
        };
        assert_eq!(read(folder.path()), ["f", "e", "d", "c", "a", "z"]);
        assert_eq!(read(&folder.path().join("2.key.jsonl")), ["d", "c"]);
    }

    #[test]
    fn a_folder_without_truths_is_no_key() {
        let folder = tempfile::tempdir().unwrap();
        let words = Key::open(folder.path()).unwrap_err().to_string();
        assert!(words.contains("holds no truths"), "{words}");
        assert!(Key::open(&folder.path().join("missing")).is_err());
    }
}
