//! Columns of text: cells one below another, and what is too wide cut.

/// One column: its widest, and whether it holds numbers, which stand to the right.
#[derive(Clone, Copy)]
pub(super) struct Column {
    most: usize,
    number: bool,
}

/// A column of words, of at most so many letters.
pub(super) const fn words(most: usize) -> Column {
    Column {
        most,
        number: false,
    }
}

/// A column of numbers, of at most so many letters.
pub(super) const fn numbers(most: usize) -> Column {
    Column { most, number: true }
}

/// A line for each row, two blanks between cells, ending in a line feed.
pub(super) fn lines<const N: usize>(columns: [Column; N], rows: &[[String; N]]) -> Vec<String> {
    let mut widths = [0; N];
    for row in rows {
        for (i, cell) in row.iter().enumerate() {
            widths[i] = widths[i].max(cell.chars().count()).min(columns[i].most);
        }
    }
    let line = |row: &[String; N]| {
        let cells: Vec<String> = (0..N)
            .map(|i| {
                let (cell, width) = (cut(&row[i], widths[i]), widths[i]);
                match columns[i].number {
                    true => format!("{cell:>width$}"),
                    false => format!("{cell:<width$}"),
                }
            })
            .collect();
        format!("{}\n", cells.join("  ").trim_end())
    };
    rows.iter().map(line).collect()
}

/// A cell, cut to a width with a mark of the cut.
fn cut(cell: &str, width: usize) -> String {
    match cell.chars().count() > width {
        true => cell
            .chars()
            .take(width.saturating_sub(1))
            .chain(['…'])
            .collect(),
        false => cell.into(),
    }
}
