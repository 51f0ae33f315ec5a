//! Faults: what is wrong, where, and what would be right.
//!
//! Every function of the library that can fail returns [`Faults`], so that a caller always gets all
//! faults that could be found at once, each with its place and its remedy. A fault is data; how it is
//! told stands in `Display` alone.

use std::fmt;

/// What kind of thing is wrong.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Kind {
    /// Told in words alone.
    #[default]
    Other,
    /// A file that cannot be read or written.
    File,
    /// Text that is not what the file's form asks for.
    Syntax,
    /// A key that nothing is known of.
    Key,
    /// Something that must be given.
    Missing,
    /// A value that cannot be read: its unit, its word, its form.
    Value,
    /// A value beyond its range.
    Range,
    /// Values that do not fit each other.
    Conflict,
}

/// One thing that is wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Fault {
    /// What kind of thing it is.
    pub kind: Kind,
    /// The file, or the option, folder or channel.
    pub place: String,
    /// Where in the file, if that is known.
    #[serde(flatten)]
    pub at: Option<Box<Position>>,
    /// What is wrong, with the offending value.
    pub problem: String,
    /// What would be right, or what to do.
    pub remedy: String,
}

/// A place in a file.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Position {
    /// Line and column, from 1, the column in characters; the path alone is known of what no person wrote.
    #[serde(flatten)]
    pub mark: Option<Mark>,
    /// Path of the field: `faults.leaks[0].area`; empty where it is unknown.
    pub path: String,
    /// The value that stands there, as it is written.
    pub value: Option<String>,
    /// The line of the file, where a person wrote it.
    #[serde(skip)]
    pub written: Option<String>,
}

/// Line and column of a text, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[allow(missing_docs)]
pub struct Mark {
    pub line: usize,
    pub column: usize,
}

impl Fault {
    /// A fault at `place`; each part is a phrase without a full stop.
    pub fn new(
        place: impl fmt::Display,
        problem: impl fmt::Display,
        remedy: impl fmt::Display,
    ) -> Self {
        Fault {
            place: place.to_string(),
            problem: problem.to_string(),
            remedy: remedy.to_string(),
            ..Fault::default()
        }
    }

    /// What is wrong with a value, for a reader who adds the place.
    pub(crate) fn of(kind: Kind, problem: impl fmt::Display, remedy: impl fmt::Display) -> Self {
        Fault {
            kind,
            ..Fault::new("", problem, remedy)
        }
    }

    /// The fault at the field `path` of the file `place`.
    pub(crate) fn at_path(self, place: &str, path: &str) -> Self {
        let position = Position {
            path: path.into(),
            ..Position::default()
        };
        Fault {
            place: place.into(),
            at: (!path.is_empty()).then(|| position.into()),
            ..self
        }
    }

    /// The fault at a mark of `text`, which a person wrote.
    pub(crate) fn marked(mut self, text: &str, mark: Mark, value: Option<String>) -> Self {
        let at = self.at.get_or_insert_default();
        at.mark = Some(mark);
        at.value = value;
        // YAML ends lines at more characters than editors do; a line that lacks the column is another.
        let line = text.lines().nth(mark.line - 1);
        let holds = |line: &&str| mark.column <= line.chars().count() + 1;
        at.written = line.filter(holds).map(String::from);
        self
    }

    /// Path of the field; empty if it is unknown.
    pub fn path(&self) -> &str {
        self.at.as_ref().map_or("", |at| &at.path)
    }

    /// A file that could not be read or written.
    pub fn io(path: &std::path::Path, doing: &str, error: &std::io::Error) -> Self {
        use std::io::ErrorKind::*;
        let remedy = match error.kind() {
            NotFound => "check the name, or make the folder first",
            PermissionDenied if doing.starts_with("read") || doing.starts_with("list") => {
                "change its permissions, or run as a user who may read it"
            }
            PermissionDenied | ReadOnlyFilesystem => {
                "choose a folder you may write to, or change its permissions"
            }
            StorageFull | QuotaExceeded => "free some space and run the command again",
            NotADirectory | IsADirectory | AlreadyExists => "choose another path",
            _ => "check the path and try again",
        };
        Fault {
            kind: Kind::File,
            ..Fault::new(path.display(), format!("cannot {doing}: {error}"), remedy)
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", Shown(&self.place))?;
        let at = self.at.as_deref().cloned().unwrap_or_default();
        if let Some(Mark { line, column }) = at.mark {
            write!(f, ": line {line}, column {column}")?;
        }
        if !at.path.is_empty() {
            write!(f, ": {}", Shown(&at.path))?;
        }
        write!(f, ": {}; {}", Shown(&self.problem), Shown(&self.remedy))?;
        match (at.mark, at.written) {
            (Some(mark), Some(text)) => excerpt(f, mark, &text),
            _ => Ok(()),
        }
    }
}

/// Text without what a terminal obeys, which may stand in names and values.
struct Shown<'t>(&'t str);

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for part in self
            .0
            .split_inclusive(|c: char| c.is_control() && c != '\n')
        {
            let plain = part.trim_end_matches(|c: char| c.is_control() && c != '\n');
            f.write_str(plain)?;
            write!(f, "{}", part[plain.len()..].escape_default())?;
        }
        Ok(())
    }
}

/// Characters of a line that are shown before and behind the column.
const BEFORE: usize = 60;
const BEHIND: usize = 40;

/// The line of the file, and a caret under the column.
fn excerpt(f: &mut fmt::Formatter, Mark { line, column }: Mark, text: &str) -> fmt::Result {
    let from = column.saturating_sub(BEFORE + 1);
    let shown: String = text
        .chars()
        .skip(from)
        .take(BEFORE + BEHIND)
        // One cell each, and nothing that a terminal obeys.
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let number = line.to_string();
    let margin = " ".repeat(number.len());
    let indent = " ".repeat(column - 1 - from);
    write!(f, "\n  {number} | {}", shown.trim_end())?;
    write!(f, "\n  {margin} | {indent}^")
}

/// One or more faults, in the order in which they stand in the input.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Adds those of `others` that are not told yet.
    pub fn extend_once(&mut self, Faults(others): Faults) {
        for fault in others {
            if !self.0.contains(&fault) {
                self.0.push(fault);
            }
        }
    }

    /// `value`, if there is no fault.
    ///
    /// # Errors
    /// These faults.
    pub fn or<T>(self, value: T) -> Result<T, Faults> {
        if self.0.is_empty() {
            return Ok(value);
        }
        Err(self)
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Faults(vec![fault])
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// The word of `known` nearest to a misspelt `word`, if one is near enough to be meant.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|k| {
            (
                strsim::damerau_levenshtein(&word.to_lowercase(), &k.to_lowercase()),
                k,
            )
        })
        .filter(|(distance, k)| *distance <= (k.chars().count() / 3).max(1))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
}

/// A value for a fault: in quotation marks, escaped, and cut to a readable length.
pub fn shown(value: &str) -> String {
    const LONGEST: usize = 40;
    match value.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{:?}...", &value[..end]),
        None => format!("{value:?}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_without_the_column_is_not_shown() {
        let at = |column| Fault::new("a", "b", "c").marked("one\n", Mark { line: 1, column }, None);
        assert!(
            at(4).to_string().ends_with("| one\n    |    ^"),
            "{}",
            at(4)
        );
        assert!(!at(5).to_string().contains("one"), "{}", at(5));
    }

    #[test]
    fn a_long_value_is_cut() {
        assert_eq!(shown("ab\0"), "\"ab\\0\"");
        assert!(shown(&"ü".repeat(5000)).chars().count() < 50);
    }
}
