//! A line of CSV and its cells (RFC 4180, but that a line's end ends a row even inside of quotation marks).

/// A row with its line end; cells stand in quotation marks where they need them (RFC 4180, section 2).
pub fn line(cells: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    let mut text = String::new();
    for cell in cells {
        let cell = cell.as_ref();
        if cell.contains([',', '"', '\n', '\r']) {
            text.push('"');
            text += &cell.replace('"', "\"\"");
            text.push('"');
        } else {
            text += cell;
        }
        text.push(',');
    }
    text.pop();
    text + "\n"
}

/// A number as a cell; empty if there is none.
pub fn number(value: Option<f64>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

/// Splits lines, in buffers that are used again.
pub struct Splitter {
    reader: csv_core::Reader,
    cells: Vec<u8>,
    ends: Vec<usize>,
    count: usize,
}

impl Splitter {
    /// Cells are parted by `delimiter`.
    pub fn new(delimiter: u8) -> Self {
        Splitter {
            reader: csv_core::ReaderBuilder::new().delimiter(delimiter).build(),
            cells: Vec::new(),
            ends: Vec::new(),
            count: 0,
        }
    }

    /// Splits a line and returns the number of its cells; `None` if a quotation mark stays open.
    pub fn split(&mut self, line: &[u8]) -> Option<usize> {
        // No cell is longer than its line, and no line has more cells than bytes and one.
        self.cells.resize(self.cells.len().max(line.len() + 1), 0);
        self.ends.resize(self.ends.len().max(line.len() + 2), 0);
        self.reader.reset();
        let (cells, ends) = (&mut self.cells, &mut self.ends);
        let (_, read, written, count) = self.reader.read_record(line, cells, ends);
        // The end of the line is that of a record only outside of quotation marks.
        let (end, _, _, last) =
            self.reader
                .read_record(b"\n", &mut cells[written..], &mut ends[count..]);
        self.count = count + last;
        let whole = read == line.len() && end == csv_core::ReadRecordResult::Record;
        whole.then_some(self.count)
    }

    /// A cell of the line that was split last; empty beyond its last one.
    pub fn cell(&self, i: usize) -> &[u8] {
        if i >= self.count {
            return b"";
        }
        let from = if i == 0 { 0 } else { self.ends[i - 1] };
        &self.cells[from..self.ends[i]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_split_one_after_the_other() {
        let mut splitter = Splitter::new(b',');
        let split = |splitter: &mut Splitter, line: &str| -> Option<Vec<String>> {
            let count = splitter.split(line.as_bytes())?;
            let cells = (0..count).map(|i| String::from_utf8(splitter.cell(i).into()).unwrap());
            Some(cells.collect())
        };
        for (line, cells) in [
            ("a,b", Some(vec!["a", "b"])),
            ("\"a, \"\"b\"\"\",,c", Some(vec!["a, \"b\"", "", "c"])),
            ("a,\"b", None),
            ("x", Some(vec!["x"])),
            (",", Some(vec!["", ""])),
            ("a,\"b\"", Some(vec!["a", "b"])),
        ] {
            let cells = cells.map(|c| c.into_iter().map(String::from).collect());
            assert_eq!(split(&mut splitter, line), cells, "{line}");
        }
        assert_eq!(splitter.cell(2), b"");
        let long = "é".repeat(5000);
        assert_eq!(split(&mut splitter, &long), Some(vec![long.clone()]));
    }
}
