//! Many small values in little memory, by the names of their captures.
//!
//! A million calls are to fit anywhere, so that names stand one after the other in one text.

/// Values by the names of their captures.
#[derive(Debug)]
pub struct ByCapture<T> {
    /// Names and notes, each name before its note.
    text: String,
    slots: Vec<Slot<T>>,
}

#[derive(Clone, Copy, Debug)]
struct Slot<T> {
    from: usize,
    // A name and a note are within a line of 64 KiB, and a file of 4 billion lines longer than any.
    name: u32,
    note: u32,
    line: u32,
    taken: bool,
    value: T,
}

impl<T> Slot<T> {
    fn name<'t>(&self, text: &'t str) -> &'t str {
        &text[self.from..self.from + self.name as usize]
    }
}

/// A value that was found.
#[derive(Debug, PartialEq)]
pub struct Found<'t, T> {
    /// The value.
    pub value: T,
    /// Its note.
    pub note: &'t str,
    /// Its line.
    pub line: usize,
}

impl<T: Copy> ByCapture<T> {
    /// Nothing yet.
    pub fn new() -> Self {
        ByCapture {
            text: String::new(),
            slots: Vec::new(),
        }
    }

    /// Adds a value and a note that stand on line `line` of their file.
    pub fn push(&mut self, capture: &str, note: &str, line: usize, value: T) {
        self.slots.push(Slot {
            from: self.text.len(),
            name: capture.len() as u32,
            note: note.len() as u32,
            line: line as u32,
            taken: false,
            value,
        });
        self.text.push_str(capture);
        self.text.push_str(note);
    }

    /// Whether there is no value.
    pub fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// Puts the values in the order in which they are found; of several of one name the first stays, and
    /// `repeated` is told the name and the lines of the other and of the first.
    pub fn sort(&mut self, mut repeated: impl FnMut(&str, usize, usize)) {
        let text = &self.text;
        self.slots
            .sort_by(|a, b| a.name(text).cmp(b.name(text)).then(a.line.cmp(&b.line)));
        self.slots.dedup_by(|next, first| {
            let same = next.name(text) == first.name(text);
            if same {
                repeated(next.name(text), next.line as usize, first.line as usize);
            }
            same
        });
    }

    /// The value of a name, from now on taken; `None` if there is none, `Err` if it was taken before. The
    /// values must be sorted.
    pub fn take(&mut self, wanted: &str) -> Option<Result<Found<'_, T>, ()>> {
        let text = &self.text;
        let found = self
            .slots
            .binary_search_by(|slot| slot.name(text).cmp(wanted));
        let slot = &mut self.slots[found.ok()?];
        if std::mem::replace(&mut slot.taken, true) {
            return Some(Err(()));
        }
        let note = slot.from + slot.name as usize;
        Some(Ok(Found {
            value: slot.value,
            note: &text[note..note + slot.note as usize],
            line: slot.line as usize,
        }))
    }

    /// Lines and names of what was never taken, in the order of the lines.
    pub fn left(&self) -> Vec<(usize, &str)> {
        let left = self.slots.iter().filter(|slot| !slot.taken);
        let named = left.map(|slot| (slot.line as usize, slot.name(&self.text)));
        let mut left: Vec<(usize, &str)> = named.collect();
        left.sort_unstable();
        left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_of_a_name_stays_and_each_is_taken_once() {
        let mut named = ByCapture::new();
        for (line, (name, value)) in [("b", 1), ("a", 2), ("b", 3), ("ab", 4), ("b", 5)]
            .into_iter()
            .enumerate()
        {
            named.push(name, "", line, value);
        }
        let mut told = Vec::new();
        named.sort(|name, line, first| told.push((name.to_string(), line, first)));
        assert_eq!(told, [("b".into(), 2, 0), ("b".into(), 4, 0)]);
        named.push("c", "late", 5, 6);
        assert!(!named.is_empty());
        let found = |value, note, line| Some(Ok(Found { value, note, line }));
        assert_eq!(named.take("b"), found(1, "", 0));
        assert_eq!(named.take("b"), Some(Err(())));
        assert_eq!(named.take("c"), found(6, "late", 5));
        assert_eq!(named.take("d"), None);
        assert_eq!(named.left(), [(1, "a"), (3, "ab")]);
    }
}
