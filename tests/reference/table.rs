//! Reading the committed tables, and comparing with them.

use std::path::Path;

/// A table with its head left out.
pub struct Table {
    name: String,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One row.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    cells: &'a [String],
}

impl Table {
    /// The table `NAME.csv`.
    pub fn read(name: &str) -> Table {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/reference/{name}.csv"));
        let text =
            std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let split = |line: &str| line.split(',').map(String::from).collect::<Vec<_>>();
        let mut lines = text.lines().filter(|l| !l.starts_with('#')).map(split);
        let columns = lines.next().expect("a line of column names");
        let rows: Vec<_> = lines.collect();
        assert!(!rows.is_empty(), "{name} has no rows");
        Table {
            name: name.into(),
            columns,
            rows,
        }
    }

    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { table: self, cells })
    }

    /// The rows whose first cell is this word.
    pub fn of(&self, word: &str) -> Vec<Row<'_>> {
        let rows: Vec<_> = self.rows().filter(|r| r.cells[0] == word).collect();
        assert!(!rows.is_empty(), "{} has no {word}", self.name);
        rows
    }
}

impl<'a> Row<'a> {
    pub fn word(&self, column: &str) -> &'a str {
        let place = self.table.columns.iter().position(|c| c == column);
        let place = place.unwrap_or_else(|| panic!("{} has no column {column}", self.table.name));
        &self.cells[place]
    }

    pub fn number(&self, column: &str) -> f64 {
        let word = self.word(column);
        word.parse()
            .unwrap_or_else(|_| panic!("{}: {column} is {word}", self.table.name))
    }

    pub fn numbers(&self, column: &str) -> Vec<f64> {
        let words = self.word(column).split(' ');
        words
            .map(|w| w.parse().expect("numbers with spaces between"))
            .collect()
    }
}

/// The largest difference met so far, held against a tolerance at the end.
#[derive(Default)]
pub struct Worst {
    pub error: f64,
    place: String,
}

impl Worst {
    pub fn absolute(&mut self, got: f64, expected: f64, place: impl std::fmt::Display) {
        let error = (got - expected).abs();
        // A NaN is the worst of all, and stays.
        if error > self.error || error.is_nan() {
            self.error = error;
            self.place = format!("{place}: {got}, not {expected}");
        }
    }

    pub fn relative(&mut self, got: f64, expected: f64, place: impl std::fmt::Display) {
        self.absolute(got / expected, 1.0, place);
    }

    pub fn within(&self, tolerance: f64, what: &str) {
        println!("{what}: {:.2e} of {tolerance:.0e}", self.error);
        assert!(
            self.error <= tolerance,
            "{what}: off by {:e}, allowed {tolerance:e}, at {}",
            self.error,
            self.place
        );
    }
}
