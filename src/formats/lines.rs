//! Bounded lines of a long text, one at a time, in memory of one line.

use crate::error::{Fault, Faults};
use std::io::BufRead;
use std::path::Path;

/// The lines of a text.
#[derive(Debug)]
pub struct Lines<R> {
    file: String,
    from: R,
    most: usize,
    line: Vec<u8>,
    number: usize,
}

/// One line of a text.
#[derive(Debug, PartialEq)]
pub struct Line<'b> {
    /// Its number, from 1.
    pub number: usize,
    /// Its bytes without the line's end; `None` if it has more than may be, and was passed over.
    pub bytes: Option<&'b [u8]>,
}

impl<R: BufRead> Lines<R> {
    /// The lines of what `file` names in faults; each may have `most` bytes.
    pub fn of(file: impl Into<String>, from: R, most: usize) -> Self {
        Lines {
            file: file.into(),
            from,
            most,
            line: Vec::new(),
            number: 0,
        }
    }

    /// The file's name, for places.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The next line; `None` at the end. A byte order mark before the first one and a carriage return at a line's end
    /// are left out.
    ///
    /// # Errors
    /// If it cannot be read any further.
    #[allow(clippy::should_implement_trait)]
    pub fn next(&mut self) -> Result<Option<Line<'_>>, Faults> {
        let line = &mut self.line;
        line.clear();
        let mut long = false;
        let mut any = false;
        loop {
            let buffer = match self.from.fill_buf() {
                Ok(buffer) => buffer,
                Err(error) => {
                    return Err(Fault::io(Path::new(&self.file), "read it", &error).into());
                }
            };
            let end = buffer.iter().position(|b| *b == b'\n');
            let part = &buffer[..end.unwrap_or(buffer.len())];
            any |= !buffer.is_empty();
            long |= line.len() + part.len() > self.most;
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
            return Ok(None);
        }
        self.number += 1;
        let mut bytes = line.as_slice();
        if self.number == 1 {
            bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        }
        bytes = bytes.strip_suffix(b"\r").unwrap_or(bytes);
        Ok(Some(Line {
            number: self.number,
            bytes: (!long).then_some(bytes),
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_come_one_by_one_and_long_ones_are_passed_over() {
        let long = "x".repeat(101);
        let just = "y".repeat(100);
        let text = format!("\u{feff}one\r\n\n{long}\n{just}\nlast");
        let mut lines = Lines::of("a", text.as_bytes(), 100);
        let expected = [
            Some("one"),
            Some(""),
            None,
            Some(just.as_str()),
            Some("last"),
        ];
        for (i, due) in expected.into_iter().enumerate() {
            let line = lines.next().unwrap().unwrap();
            assert_eq!((line.number, line.bytes), (i + 1, due.map(str::as_bytes)));
        }
        assert_eq!(lines.next(), Ok(None));
        assert!(lines.line.capacity() <= 400);
    }
}
