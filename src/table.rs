//! Tables: what a report tells in rows and columns, as text, CSV or ([`crate::html`]) HTML.

use crate::formats::csv_line::line;
use crate::prose::wrap;

/// Columns of text that a line may fill.
const WIDTH: usize = 100;

/// Indent of what stands below a row.
const INDENT: &str = "    ";

/// A table.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// What it shows; empty where the text around it says so.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Row>,
    /// What is said of all of it.
    pub notes: Vec<String>,
}

/// A column of a table.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name.
    pub head: &'static str,
    /// Unit of its values; empty if each says its own.
    pub unit: &'static str,
    /// Whether it holds numbers, which stand to the right.
    pub number: bool,
    /// Most letters in text, in which what is longer is cut; 0 for a column that text has no room for.
    pub width: usize,
    /// Whether a cell like that above it is left blank in text.
    pub grouped: bool,
}

/// A row of a table.
#[derive(Clone, Debug)]
pub struct Row {
    /// A cell for each column.
    pub cells: Vec<String>,
    /// A sentence below the cells; empty for none.
    pub below: String,
}

/// A column of words, of at most `width` letters in text.
pub const fn words(head: &'static str, width: usize) -> Column {
    Column {
        head,
        unit: "",
        number: false,
        width,
        grouped: false,
    }
}

/// A column of numbers, likewise.
pub const fn numbers(head: &'static str, width: usize) -> Column {
    Column {
        number: true,
        ..words(head, width)
    }
}

impl Column {
    /// Its head with its unit.
    pub fn heading(&self) -> String {
        format!("{} {}", self.head, self.unit).trim_end().into()
    }
}

impl Table {
    /// A table without rows.
    pub fn new(title: impl Into<String>, columns: impl Into<Vec<Column>>) -> Self {
        Table {
            title: title.into(),
            columns: columns.into(),
            ..Table::default()
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl Into<Vec<String>>) -> &mut Row {
        self.rows.push(Row {
            cells: cells.into(),
            below: String::new(),
        });
        let last = self.rows.len() - 1;
        &mut self.rows[last]
    }

    /// The same table with these rows.
    pub fn with<C: Into<Vec<String>>>(mut self, rows: impl IntoIterator<Item = C>) -> Self {
        for cells in rows {
            self.row(cells);
        }
        self
    }

    /// Whether there is nothing to tell.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty() && self.notes.is_empty()
    }

    /// The table as text: title, notes, and rows that are at most 100 columns wide if the widths add up to no more.
    pub fn text(&self) -> String {
        let mut parts = Vec::new();
        if !self.title.is_empty() {
            parts.push(format!("{}\n", self.title));
        }
        if !self.notes.is_empty() {
            parts.push(self.notes.join("\n") + "\n");
        }
        if !self.rows.is_empty() {
            parts.push(self.lines());
        }
        parts.join("\n")
    }

    /// A line for each row, two blanks between cells.
    fn lines(&self) -> String {
        let heads: Vec<String> = self.columns.iter().map(Column::heading).collect();
        let rows = || self.rows.iter().map(|row| &row.cells);
        let width = |(i, column): (usize, &Column)| {
            let cells = rows().chain([&heads]).map(|cells| cells[i].chars().count());
            cells.max().unwrap_or(0).min(column.width)
        };
        let widths: Vec<usize> = self.columns.iter().enumerate().map(width).collect();
        let line = |cells: &[String], above: Option<&Vec<String>>| {
            let shown = (0..cells.len()).filter(|i| self.columns[*i].width > 0);
            let cells: Vec<String> = shown
                .map(|i| {
                    let (column, width) = (&self.columns[i], widths[i]);
                    let again = column.grouped && above.is_some_and(|row| row[i] == cells[i]);
                    let cell = if again {
                        String::new()
                    } else {
                        cut(&cells[i], width)
                    };
                    if column.number {
                        format!("{cell:>width$}")
                    } else {
                        format!("{cell:<width$}")
                    }
                })
                .collect();
            format!("{}\n", cells.join("  ").trim_end())
        };
        let mut text = String::new();
        if heads.iter().any(|head| !head.is_empty()) {
            text += &line(&heads, None);
        }
        for (i, row) in self.rows.iter().enumerate() {
            text += &line(&row.cells, i.checked_sub(1).map(|i| &self.rows[i].cells));
            if !row.below.is_empty() {
                text += &wrap(&row.below, WIDTH, INDENT, INDENT);
            }
        }
        text
    }

    /// The table as CSV: a header, then a line for each row.
    pub fn csv(&self) -> String {
        let heads = line(self.columns.iter().map(|column| column.head));
        heads
            + &self
                .rows
                .iter()
                .map(|row| line(&row.cells))
                .collect::<String>()
    }
}

/// A cell, cut to a width with a mark of the cut.
fn cut(cell: &str, width: usize) -> String {
    if cell.chars().count() <= width {
        return cell.into();
    }
    let kept = cell.chars().take(width.saturating_sub(1));
    kept.chain(['…']).collect()
}

/// A share as `34.7 %`.
pub fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

/// An interval of shares as `34.7 to 73.1 %`.
pub fn interval([low, high]: [f64; 2]) -> String {
    format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
}

/// A value as `text` has it, and `-` for none.
pub fn option<T>(value: Option<T>, text: impl Fn(T) -> String) -> String {
    value.map_or("-".into(), text)
}

/// `1 call`, `2 calls`.
pub fn plural(n: usize, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_table_is_text_and_csv() {
        let columns = [
            Column {
                grouped: true,
                ..words("engine", 6)
            },
            words("cap, \"x\"", 6),
            Column {
                unit: "%",
                ..numbers("old", 9)
            },
            words("page", 0),
        ];
        let rows = [["inline", "a", "1", "p"], ["inline", "überlang", "22", "q"]];
        let mut table = Table::new("Title", columns).with(rows.map(|row| row.map(String::from)));
        table.rows[0].below = "A sentence.".into();
        table.notes.push("note".into());
        let text = "Title\n\nnote\n\nengine  cap, …  old %\ninline  a           1\n    A sentence.\n        \
                    überl…     22\n";
        assert_eq!(table.text(), text);
        let csv = "engine,\"cap, \"\"x\"\"\",old,page\ninline,a,1,p\ninline,überlang,22,q\n";
        assert_eq!(table.csv(), csv);
    }
}
