//! Many small values in little memory, found by the name of their capture.
//!
//! A million rows are to fit anywhere, so that names stand one after the other in one text.

/// Values by the names of their captures.
#[derive(Debug)]
pub struct Named<T> {
    names: String,
    entries: Vec<Entry<T>>,
}

#[derive(Debug)]
struct Entry<T> {
    from: usize,
    length: u32,
    line: u32,
    value: T,
    taken: bool,
}

impl<T: Copy> Named<T> {
    /// Nothing yet.
    pub fn new() -> Self {
        Named {
            names: String::new(),
            entries: Vec::new(),
        }
    }

    /// Adds a value that stands on line `line` of its file.
    pub fn push(&mut self, name: &str, line: usize, value: T) {
        self.entries.push(Entry {
            from: self.names.len(),
            // A name is within a line of 64 KiB, and a file of 4 billion lines longer than any.
            length: name.len() as u32,
            line: line as u32,
            value,
            taken: false,
        });
        self.names.push_str(name);
    }

    /// Number of values.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Puts the values in the order in which they are found; of several of one name the first stays, and
    /// `repeated` is told the name and the lines of the other and of the first.
    pub fn sort(&mut self, mut repeated: impl FnMut(&str, usize, usize)) {
        let names = &self.names;
        let name = |entry: &Entry<T>| &names[entry.from..entry.from + entry.length as usize];
        self.entries
            .sort_by(|a, b| name(a).cmp(name(b)).then(a.line.cmp(&b.line)));
        self.entries.dedup_by(|next, first| {
            let same = name(next) == name(first);
            if same {
                repeated(name(next), next.line as usize, first.line as usize);
            }
            same
        });
    }

    /// The value of a name and its line, and from now on taken; `None` if there is none, `Err` with the line if
    /// it was taken before. The values must be sorted.
    pub fn take(&mut self, wanted: &str) -> Option<Result<(T, usize), usize>> {
        let names = &self.names;
        let name = |entry: &Entry<T>| &names[entry.from..entry.from + entry.length as usize];
        let found = self
            .entries
            .binary_search_by(|entry| name(entry).cmp(wanted));
        let entry = &mut self.entries[found.ok()?];
        if std::mem::replace(&mut entry.taken, true) {
            return Some(Err(entry.line as usize));
        }
        Some(Ok((entry.value, entry.line as usize)))
    }

    /// Lines and names of what was never taken, in the order of the lines.
    pub fn left(&self) -> Vec<(usize, &str)> {
        let left = self.entries.iter().filter(|entry| !entry.taken);
        let mut left: Vec<(usize, &str)> = left
            .map(|entry| {
                let name = &self.names[entry.from..entry.from + entry.length as usize];
                (entry.line as usize, name)
            })
            .collect();
        left.sort_unstable();
        left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_of_a_name_stays_and_each_is_taken_once() {
        let mut named = Named::new();
        for (line, (name, value)) in [("b", 1), ("a", 2), ("b", 3), ("ab", 4), ("b", 5)]
            .into_iter()
            .enumerate()
        {
            named.push(name, line, value);
        }
        let mut told = Vec::new();
        named.sort(|name, line, first| told.push((name.to_string(), line, first)));
        assert_eq!(told, [("b".into(), 2, 0), ("b".into(), 4, 0)]);
        assert_eq!(named.len(), 3);
        assert_eq!(named.take("b"), Some(Ok((1, 0))));
        assert_eq!(named.take("b"), Some(Err(0)));
        assert_eq!(named.take("c"), None);
        assert_eq!(named.left(), [(1, "a"), (3, "ab")]);
    }
}
