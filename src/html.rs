//! HTML, written so that text stays text.

use crate::table::Table;

/// Text for HTML, in elements and in attributes between double quotation marks.
pub fn escaped(text: &str) -> String {
    let mut html = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => html.push_str("&amp;"),
            '<' => html.push_str("&lt;"),
            '>' => html.push_str("&gt;"),
            '"' => html.push_str("&quot;"),
            c if c.is_control() => html.push(' '),
            c => html.push(c),
        }
    }
    html
}

/// HTML that grows. What it is given is text and escaped, but for the names of elements and [`Writer::raw`].
#[derive(Default)]
pub struct Writer(String);

impl Writer {
    /// What was written; the writer is empty again.
    pub fn take(&mut self) -> String {
        std::mem::take(&mut self.0)
    }

    /// Text.
    pub fn text(&mut self, text: &str) -> &mut Self {
        self.0 += &escaped(text);
        self
    }

    /// HTML as it stands.
    pub fn raw(&mut self, html: &str) -> &mut Self {
        self.0 += html;
        self
    }

    /// Opens an element; attributes without a value are left out.
    pub fn open(&mut self, name: &str, attributes: &[(&str, &str)]) -> &mut Self {
        self.0 += &format!("<{name}");
        for (key, value) in attributes.iter().filter(|(_, value)| !value.is_empty()) {
            self.0 += &format!(" {key}=\"{}\"", escaped(value));
        }
        self.raw(">")
    }

    /// An element with its text, and the end of a line.
    pub fn element(&mut self, name: &str, attributes: &[(&str, &str)], text: &str) -> &mut Self {
        self.open(name, attributes)
            .text(text)
            .raw("</")
            .raw(name)
            .raw(">\n")
    }

    /// A paragraph of text.
    pub fn paragraph(&mut self, text: &str) -> &mut Self {
        self.element("p", &[], text)
    }

    /// A list of texts.
    pub fn list(&mut self, items: impl IntoIterator<Item = impl AsRef<str>>) -> &mut Self {
        self.raw("<ul>\n");
        for item in items {
            self.element("li", &[], item.as_ref());
        }
        self.raw("</ul>\n")
    }

    /// A table, in a box that scrolls by itself where the page is too narrow, its notes above. A grouped column is set as
    /// heads of groups of rows. The first cell of a row is its head, a link where `links` has one for the row.
    pub fn table(&mut self, table: &Table, links: &[String]) -> &mut Self {
        for note in &table.notes {
            self.paragraph(note);
        }
        if table.rows.is_empty() {
            return self;
        }
        let label = [
            ("class", "wide"),
            ("role", "region"),
            ("aria-label", &table.title),
        ];
        self.open("div", &[&label[..], &[("tabindex", "0")]].concat());
        self.raw("\n<table>\n")
            .element("caption", &[], &table.title)
            .raw("<thead><tr>");
        let first = table
            .columns
            .iter()
            .take_while(|column| column.grouped)
            .count();
        let class = |i: usize| {
            if table.columns[i].number {
                "number"
            } else {
                ""
            }
        };
        for (i, column) in table.columns.iter().enumerate().skip(first) {
            let head = [("scope", "col"), ("class", class(i))];
            self.element("th", &head, &capital(&column.heading()));
        }
        self.raw("</tr></thead>\n<tbody>\n");
        let all = (table.columns.len() - first).to_string();
        let mut group: &[String] = &[];
        for (number, row) in table.rows.iter().enumerate() {
            if row.cells[..first] != *group {
                group = &row.cells[..first];
                let head = [("scope", "rowgroup"), ("colspan", all.as_str())];
                self.raw("</tbody>\n<tbody>\n<tr>");
                self.element("th", &head, &group.join(", ")).raw("</tr>\n");
            }
            self.raw("<tr>").open("th", &[("scope", "row")]);
            match links.get(number) {
                Some(link) => self.element("a", &[("href", link)], &row.cells[first]),
                None => self.text(&row.cells[first]),
            };
            self.raw("</th>");
            for (i, cell) in row.cells.iter().enumerate().skip(first + 1) {
                // Numbers stay with their sign of per cent.
                self.element("td", &[("class", class(i))], &cell.replace(" %", "\u{a0}%"));
            }
            self.raw("</tr>\n");
            if !row.below.is_empty() {
                self.raw("<tr class=\"below\">")
                    .element("td", &[("colspan", &all)], &row.below);
                self.raw("</tr>\n");
            }
        }
        self.raw("</tbody>\n</table>\n</div>\n")
    }
}

/// A text that begins with a capital.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters.as_str().chars()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{numbers, words};

    #[test]
    fn text_stays_text() {
        let mut html = Writer::default();
        html.element("p", &[("title", "a\"b")], "a<b & \"c\">\n");
        let mut table = Table::new("<t>", [words("name", 0), numbers("share", 0)]);
        table.row(["<b>".to_string(), "50 %".into()]).below = "</table>".into();
        let text = html.table(&table, &["#\"".into()]).raw("<hr>").take();
        let plain = "<p title=\"a&quot;b\">a&lt;b &amp; &quot;c&quot;&gt; </p>\n";
        assert!(text.starts_with(plain), "{text}");
        for part in [
            "&lt;t&gt;",
            "#&quot;",
            "&lt;b&gt;",
            "&lt;/table&gt;",
            "50\u{a0}%",
            ">Share<",
        ] {
            assert!(text.contains(part), "{part}: {text}");
        }
        assert_eq!(text.matches("</table>").count(), 1);
        assert!(text.ends_with("<hr>"));
        table.columns[0].grouped = true;
        let text = html.table(&table, &[]).take();
        assert!(
            text.contains("rowgroup\" colspan=\"1\">&lt;b&gt;<"),
            "{text}"
        );
        assert!(text.contains("<th scope=\"row\">50"), "{text}");
    }
}
