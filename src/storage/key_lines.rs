//! The truths of a key of many captures, read a line at a time.

use crate::domain::Truth;
use crate::error::{Fault, Faults};
use crate::formats::json;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// A longer line is refused unread.
const MAX_LINE_BYTES: u64 = 1 << 20;

/// The truths of a key of many captures, one at a time.
#[derive(Debug)]
pub struct KeyLines {
    path: PathBuf,
    lines: BufReader<File>,
    number: usize,
}

impl KeyLines {
    /// Opens the key at `path`.
    ///
    /// # Errors
    /// If the file cannot be opened.
    pub fn open(path: &Path) -> Result<Self, Faults> {
        let file = File::open(path).map_err(|error| Fault::io(path, "read it", &error))?;
        Ok(KeyLines {
            path: path.to_owned(),
            lines: BufReader::with_capacity(1 << 16, file),
            number: 0,
        })
    }

    fn next_line(&mut self) -> Result<Option<Truth>, Faults> {
        let mut text = Vec::new();
        let read = (&mut self.lines)
            .take(MAX_LINE_BYTES + 1)
            .read_until(b'\n', &mut text)
            .map_err(|error| Fault::io(&self.path, "read it", &error))?;
        if read == 0 {
            return Ok(None);
        }
        self.number += 1;
        let place = format!("{}:{}", self.path.display(), self.number);
        if read as u64 > MAX_LINE_BYTES {
            let problem = format!("the line is longer than {MAX_LINE_BYTES} bytes");
            return Err(Fault::new(place, problem, "give one truth a line").into());
        }
        json::parse(place, text.trim_ascii_end()).map(Some)
    }
}

impl Iterator for KeyLines {
    type Item = Result<Truth, Faults>;

    /// The next truth, or what is wrong with its line; after a line that is too long, reading cannot go on in
    /// step, so whoever meets a fault stops.
    fn next(&mut self) -> Option<Self::Item> {
        self.next_line().transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::example;
    use crate::formats::key::{line, outline};

    fn written(text: &str) -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.key.jsonl");
        std::fs::write(&path, text).unwrap();
        (folder, path)
    }

    #[test]
    fn outlines_come_back_in_their_order() {
        let first = example::truth();
        let mut second = first.clone();
        second.capture = "bay-3".into();
        let (_folder, path) = written(&(line(&first) + &line(&second)));
        let read: Vec<_> = KeyLines::open(&path).unwrap().collect();
        assert_eq!(read, [Ok(outline(&first)), Ok(outline(&second))]);
        assert!(!first.events.is_empty() && outline(&first).events.is_empty());
        assert_eq!(outline(&first).leaks, first.leaks);
    }

    #[test]
    fn a_faulty_line_is_named() {
        let (_folder, path) = written(&(line(&example::truth()) + "{\n"));
        let words = KeyLines::open(&path).unwrap().nth(1).unwrap();
        let words = words.unwrap_err().to_string();
        assert!(words.contains("a.key.jsonl:2: line 1"), "{words}");
    }

    #[test]
    fn an_endless_line_is_refused() {
        let (_folder, path) = written(&" ".repeat(2 << 20));
        let words = KeyLines::open(&path).unwrap().next().unwrap();
        let words = words.unwrap_err().to_string();
        assert!(words.contains("longer than 1048576 bytes"), "{words}");
    }
}
