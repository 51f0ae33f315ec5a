//! A file of lines that grows as work is done, and whose whole lines count after an interrupt.
//!
//! A journal is open in one process at a time: a lock on the file, which the system drops with the
//! process, keeps a second one out. What a killed process left half written at the end is cut off by
//! [`Journal::keep`].

use super::{lock, open_regular};
use crate::error::{Fault, Faults};
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// A longer line is none of ours.
const MAX_LINE_BYTES: u64 = 1 << 20;

/// An open journal.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    file: File,
}

impl Journal {
    /// Opens the journal at `path`, or begins it.
    ///
    /// # Errors
    /// A file that cannot be opened, or that another process holds open as a journal.
    pub fn open(path: &Path) -> Result<Journal, Faults> {
        let fault = |e: &io::Error| Fault::io(path, "write it", e);
        let mut options = File::options();
        options.read(true).append(true).create(true);
        let file = options.open(path).map_err(|e| fault(&e))?;
        lock::held(&file, path)?;
        Ok(Journal {
            path: path.into(),
            file,
        })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Its whole lines from the start.
    ///
    /// # Errors
    /// A file that cannot be read from its start.
    pub fn lines(&mut self) -> Result<WholeLines<'_>, Faults> {
        let start = self.file.seek(SeekFrom::Start(0));
        start.map_err(|e| Fault::io(&self.path, "read it", &e))?;
        Ok(WholeLines::of(&self.path, &self.file))
    }

    /// Cuts off all behind the first `lines` lines.
    pub fn keep(&mut self, lines: u64) -> Result<(), Faults> {
        let mut bytes = 0;
        for line in self.lines()?.take(lines as usize) {
            bytes += line?.len() as u64 + 1;
        }
        let cut = self.file.set_len(bytes);
        Ok(cut.map_err(|e| Fault::io(&self.path, "cut it", &e))?)
    }

    /// Appends `text`, which ends with a line end.
    pub fn append(&mut self, text: &str) -> Result<(), Faults> {
        let written = self.file.write_all(text.as_bytes());
        Ok(written.map_err(|e| Fault::io(&self.path, "write it", &e))?)
    }
}

/// The whole lines of a journal, without their ends; none after a line that is cut short, too long or no text.
pub struct WholeLines<'a> {
    path: PathBuf,
    reader: Box<dyn BufRead + 'a>,
}

impl<'a> WholeLines<'a> {
    fn of(path: &Path, file: impl Read + 'a) -> Self {
        WholeLines {
            path: path.into(),
            reader: Box::new(BufReader::with_capacity(1 << 16, file)),
        }
    }

    /// The lines of the journal at `path`, which may be growing.
    ///
    /// # Errors
    /// A file that cannot be opened.
    pub fn open(path: &Path) -> Result<WholeLines<'static>, Faults> {
        let (file, _) = open_regular(path)?;
        Ok(WholeLines::of(path, file))
    }
}

impl Iterator for WholeLines<'_> {
    type Item = Result<String, Faults>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut line = Vec::new();
        let mut limited = Read::take(&mut self.reader, MAX_LINE_BYTES);
        if let Err(e) = limited.read_until(b'\n', &mut line) {
            return Some(Err(Fault::io(&self.path, "read it", &e).into()));
        }
        let whole = line.pop() == Some(b'\n');
        whole
            .then(|| String::from_utf8(line).ok())
            .flatten()
            .map(Ok)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_lines_count_and_the_rest_is_cut() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("j");
        std::fs::write(&path, "one\ntwo\nthr").unwrap();
        let mut journal = Journal::open(&path).unwrap();
        let seen: Vec<String> = journal.lines().unwrap().map(Result::unwrap).collect();
        assert_eq!(seen, ["one", "two"]);
        journal.keep(2).unwrap();
        journal.append("three\n").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "one\ntwo\nthree\n");
        journal.keep(1).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "one\n");
        journal.keep(5).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "one\n");
    }

    #[test]
    fn a_second_writer_is_kept_out() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("j");
        let first = Journal::open(&path).unwrap();
        let faults = Journal::open(&path).unwrap_err().to_string();
        assert!(faults.contains("another process is writing it"), "{faults}");
        drop(first);
        assert!(Journal::open(&path).is_ok());
    }
}
