//! The manifest of a shard: a line a finished file, in the form that `sha256sum -c` reads, and after the
//! last unit's files that of the key.

use super::layout::Layout;
use super::shard::Shard;
use std::collections::VecDeque;
use std::ops::Range;

/// One line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// SHA-256 of the file, hexadecimal.
    pub sha256: String,
    /// The file, from the corpus's folder.
    pub file: String,
}

impl Line {
    /// Reads a line of a manifest.
    pub fn parse(line: &str) -> Option<Line> {
        let (sha256, file) = line.split_once("  ")?;
        let hex = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
        let whole = sha256.len() == 64 && sha256.bytes().all(hex);
        whole.then(|| Line {
            sha256: sha256.into(),
            file: file.into(),
        })
    }

    /// The line with its end.
    pub fn to_text(&self) -> String {
        format!("{}  {}\n", self.sha256, self.file)
    }
}

/// Follows the lines of a shard's manifest, in the only order in which they can stand.
pub struct Follower<'a> {
    layout: &'a Layout,
    shard: Shard,
    units: Range<u64>,
    /// Files of the unit at hand that are still to come.
    due: VecDeque<String>,
    /// Lines of that unit so far.
    begun: u64,
    /// Lines of finished units.
    pub lines: u64,
    /// Whether the key's line stands at the end: the shard is finished.
    pub complete: bool,
}

impl<'a> Follower<'a> {
    /// Before the first line.
    pub fn new(layout: &'a Layout, shard: Shard) -> Self {
        let mut follower = Follower {
            layout,
            shard,
            units: shard.part(layout.units()),
            due: VecDeque::new(),
            begun: 0,
            lines: 0,
            complete: false,
        };
        follower.look_ahead();
        follower
    }

    /// The first unit that is not finished.
    pub fn unit(&self) -> u64 {
        self.units.start
    }

    /// Takes the next line; none if it cannot stand here.
    pub fn take(&mut self, line: &str) -> Option<Line> {
        let line = Line::parse(line)?;
        if self.complete || self.due.front() != Some(&line.file) {
            return None;
        }
        self.due.pop_front();
        self.begun += 1;
        if self.due.is_empty() {
            self.lines += self.begun;
            self.begun = 0;
            self.complete = self.units.is_empty();
            self.units.start += u64::from(!self.complete);
            self.look_ahead();
        }
        Some(line)
    }

    fn look_ahead(&mut self) {
        if !self.complete {
            self.due = match self.units.is_empty() {
                true => [self.layout.key(self.shard)].into(),
                false => self.layout.files(self.units.start).into(),
            };
        }
    }
}
