//! A file of lines that grows as work is done, and whose whole lines count after an interrupt.
//!
//! A journal is open in one process at a time: a lock on the file, which the system drops with the
//! process, keeps a second one out. What a killed process left half written at the end is cut off by
//! [`Journal::keep`].

use super::lock;
use crate::error::{Fault, Faults};
use std::fs::File;
use std::io::{self, BufRead, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// A longer line is none of ours.
const MAX_LINE_BYTES: usize = 1 << 20;

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

    /// Reads whole lines from the start, for as long as `each` wants the next one; gives their number.
    pub fn read(&mut self, each: &mut dyn FnMut(&str) -> bool) -> Result<u64, Faults> {
        self.scan(each).map(|(lines, _)| lines)
    }

    /// Cuts off all behind the first `lines` lines.
    pub fn keep(&mut self, lines: u64) -> Result<(), Faults> {
        let mut left = lines;
        let (_, bytes) = self.scan(&mut |_| {
            let wanted = left > 0;
            left = left.saturating_sub(1);
            wanted
        })?;
        let cut = self.file.set_len(bytes);
        Ok(cut.map_err(|e| Fault::io(&self.path, "cut it", &e))?)
    }

    /// Appends `text`, which ends with a line end.
    pub fn append(&mut self, text: &str) -> Result<(), Faults> {
        let written = self.file.write_all(text.as_bytes());
        Ok(written.map_err(|e| Fault::io(&self.path, "write it", &e))?)
    }

    /// The number of whole lines that `each` wanted, and of the bytes they take.
    fn scan(&mut self, each: &mut dyn FnMut(&str) -> bool) -> Result<(u64, u64), Faults> {
        let fault = |e: io::Error| Fault::io(&self.path, "read it", &e);
        self.file.seek(SeekFrom::Start(0)).map_err(fault)?;
        let mut reader = BufReader::with_capacity(1 << 16, &self.file);
        let (mut lines, mut bytes) = (0, 0);
        while let Some(line) = whole_line(&mut reader).map_err(fault)? {
            if !each(&line) {
                break;
            }
            lines += 1;
            bytes += line.len() as u64 + 1;
        }
        Ok((lines, bytes))
    }
}

/// Reads the whole lines of the journal at `path`, which may be growing, for as long as `each` wants the
/// next one.
///
/// # Errors
/// A file that cannot be read; whatever `each` returns.
pub fn read_lines(
    path: &Path,
    each: &mut dyn FnMut(&str) -> Result<bool, Faults>,
) -> Result<(), Faults> {
    let fault = |e: io::Error| Fault::io(path, "read it", &e);
    let (file, _) = super::regular::open_regular(path)?;
    let mut reader = BufReader::with_capacity(1 << 16, file);
    while let Some(line) = whole_line(&mut reader).map_err(fault)? {
        if !each(&line)? {
            break;
        }
    }
    Ok(())
}

/// The next whole line without its end; none at the end, or before a line that is cut short, too long
/// or no text.
fn whole_line(reader: &mut impl BufRead) -> io::Result<Option<String>> {
    let mut line = Vec::new();
    let mut limited = io::Read::take(reader, MAX_LINE_BYTES as u64);
    limited.read_until(b'\n', &mut line)?;
    if line.pop() != Some(b'\n') {
        return Ok(None);
    }
    Ok(String::from_utf8(line).ok())
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
        let mut seen = Vec::new();
        let lines = journal.read(&mut |line| {
            seen.push(line.to_string());
            true
        });
        assert_eq!(
            (lines.unwrap(), seen),
            (2, vec!["one".into(), "two".into()])
        );
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
