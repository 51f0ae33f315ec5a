//! The truths of a key of many captures, read a line at a time.

use super::lines::{FileLines, lines};
use crate::domain::Truth;
use crate::error::{Fault, Faults};
use crate::formats::json;
use std::path::Path;

/// A longer line is refused unread.
const MAX_LINE_BYTES: usize = 1 << 20;

/// The truths of a key of many captures, one at a time.
#[derive(Debug)]
pub struct KeyLines(FileLines);

impl KeyLines {
    /// Opens the key at `path`.
    ///
    /// # Errors
    /// If the file cannot be opened.
    pub fn open(path: &Path) -> Result<Self, Faults> {
        lines(path, MAX_LINE_BYTES).map(KeyLines)
    }
}

impl Iterator for KeyLines {
    type Item = Result<Truth, Faults>;

    /// The next truth, or what is wrong with its line.
    fn next(&mut self) -> Option<Self::Item> {
        let file = self.0.file().to_string();
        let line = match self.0.next().transpose()? {
            Ok(line) => line,
            Err(faults) => return Some(Err(faults)),
        };
        let place = format!("{file}:{}", line.number);
        Some(match line.bytes {
            Some(bytes) => json::parse(place, bytes.trim_ascii_end()),
            None => {
                let problem = format!("the line is longer than {MAX_LINE_BYTES} bytes");
                Err(Fault::new(place, problem, "give one truth a line").into())
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::example;
    use crate::formats::key::{line, outline};
    use std::path::PathBuf;

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
