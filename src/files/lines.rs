//! Lines of a long text file, one at a time, in memory of one line.

use super::regular::open_regular;
use crate::error::{Fault, Faults};
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

/// A longer line is passed over unread, and told.
pub const MAX_LINE_BYTES: usize = 1 << 16;

/// The lines of a file.
#[derive(Debug)]
pub struct Lines {
    path: PathBuf,
    from: BufReader<File>,
    number: usize,
}

/// One line of a file.
#[derive(Debug, PartialEq)]
pub enum Line {
    /// Its bytes stand in the buffer that was given, without the line's end.
    Whole,
    /// It was longer than [`MAX_LINE_BYTES`] and was passed over.
    TooLong,
    /// There is none left.
    End,
}

impl Lines {
    /// Opens the regular file at `path`.
    ///
    /// # Errors
    /// If it cannot be opened, or is no regular file.
    pub fn open(path: &Path) -> Result<Lines, Faults> {
        let (file, _) = open_regular(path)?;
        Ok(Lines {
            path: path.into(),
            from: BufReader::with_capacity(1 << 16, file),
            number: 0,
        })
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Number of the line that was read last, from 1.
    pub fn number(&self) -> usize {
        self.number
    }

    /// Reads the next line into `line`, in place of what was there; a byte order mark before the first line
    /// and a carriage return at a line's end are left out.
    ///
    /// # Errors
    /// If the file cannot be read any further.
    pub fn next(&mut self, line: &mut Vec<u8>) -> Result<Line, Faults> {
        line.clear();
        let mut long = false;
        let mut any = false;
        loop {
            let buffer = match self.from.fill_buf() {
                Ok(buffer) => buffer,
                Err(error) => return Err(Fault::io(&self.path, "read it", &error).into()),
            };
            let end = buffer.iter().position(|b| *b == b'\n');
            let part = &buffer[..end.unwrap_or(buffer.len())];
            any |= !buffer.is_empty();
            long |= line.len() + part.len() > MAX_LINE_BYTES;
            if !long {
                line.extend_from_slice(part);
            }
            let last = end.is_some() || buffer.is_empty();
            let used = part.len() + usize::from(end.is_some());
            self.from.consume(used);
            if last {
                break;
            }
        }
        if !any {
            return Ok(Line::End);
        }
        self.number += 1;
        if self.number == 1 && line.starts_with(b"\xef\xbb\xbf") {
            line.drain(..3);
        }
        if line.last() == Some(&b'\r') {
            line.pop();
        }
        Ok(if long { Line::TooLong } else { Line::Whole })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_come_one_by_one_and_long_ones_are_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        let long = "x".repeat(MAX_LINE_BYTES + 1);
        let just = "y".repeat(MAX_LINE_BYTES);
        let text = format!("\u{feff}one\r\n\n{long}\n{just}\nlast");
        std::fs::write(&path, text).unwrap();
        let mut lines = Lines::open(&path).unwrap();
        let mut read = Vec::new();
        let mut line = Vec::new();
        loop {
            match lines.next(&mut line).unwrap() {
                Line::End => break,
                Line::TooLong => read.push((lines.number(), "too long".to_string())),
                Line::Whole => {
                    read.push((lines.number(), String::from_utf8(line.clone()).unwrap()))
                }
            }
        }
        let expected = ["one", "", "too long", just.as_str(), "last"];
        assert_eq!(read.len(), expected.len());
        for (i, ((number, text), due)) in read.iter().zip(expected).enumerate() {
            assert_eq!((*number, text.as_str()), (i + 1, due));
        }
        assert!(line.capacity() <= 4 * MAX_LINE_BYTES);
        assert_eq!(lines.next(&mut line).unwrap(), Line::End);
    }

    #[test]
    fn a_folder_has_no_lines() {
        let folder = tempfile::tempdir().unwrap();
        assert!(Lines::open(folder.path()).is_err());
    }
}
