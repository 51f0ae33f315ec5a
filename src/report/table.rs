//! Tables of the page: a caption, heads with their scope, and cells that are escaped.

/// A table; the first cell of a row is its head.
pub struct Table<const N: usize> {
    /// What the table shows.
    pub caption: String,
    /// Heads of the columns.
    pub head: [&'static str; N],
    /// Which columns hold numbers, that stand to the right.
    pub numbers: &'static [usize],
    /// The rows.
    pub rows: Vec<Row<N>>,
}

/// A row of a table.
pub struct Row<const N: usize> {
    /// The cells; HTML.
    pub cells: [String; N],
    /// A sentence below the cells; empty for none.
    pub below: String,
}

impl<const N: usize> Row<N> {
    /// A row of words, which are escaped.
    pub fn of(cells: [String; N]) -> Self {
        Row {
            cells: cells.map(|cell| escape(&cell)),
            below: String::new(),
        }
    }
}

impl<const N: usize> Table<N> {
    /// The table as HTML, in a box that scrolls by itself where the page is too narrow.
    pub fn html(&self) -> String {
        let caption = escape(&self.caption);
        let class = |i: usize| match self.numbers.contains(&i) {
            true => " class=\"number\"",
            false => "",
        };
        let head: String = (0..N)
            .map(|i| format!("<th scope=\"col\"{}>{}</th>", class(i), self.head[i]))
            .collect();
        let rows: String = self
            .rows
            .iter()
            .map(|row| {
                let cells: String = (1..N)
                    .map(|i| format!("<td{}>{}</td>", class(i), unbroken(&row.cells[i])))
                    .collect();
                let below = match row.below.as_str() {
                    "" => String::new(),
                    text => format!(
                        "<tr class=\"below\"><td colspan=\"{N}\">{}</td></tr>\n",
                        escape(text)
                    ),
                };
                format!(
                    "<tr><th scope=\"row\">{}</th>{cells}</tr>\n{below}",
                    row.cells[0]
                )
            })
            .collect();
        format!(
            "<div class=\"wide\" role=\"region\" aria-label=\"{caption}\" tabindex=\"0\">\n\
             <table>\n<caption>{caption}</caption>\n<thead><tr>{head}</tr></thead>\n\
             <tbody>\n{rows}</tbody>\n</table>\n</div>\n"
        )
    }
}

/// A cell whose numbers stay with their sign of per cent.
fn unbroken(cell: &str) -> String {
    cell.replace(" %", "\u{a0}%")
}

/// Text for HTML, in elements and in attributes.
pub fn escape(text: &str) -> String {
    let mut html = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => html.push_str("&amp;"),
            '<' => html.push_str("&lt;"),
            '>' => html.push_str("&gt;"),
            '"' => html.push_str("&quot;"),
            '\'' => html.push_str("&#39;"),
            c if c.is_control() => html.push(' '),
            c => html.push(c),
        }
    }
    html
}
