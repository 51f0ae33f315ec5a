//! Faults: what is wrong, where, and what would be right.
//!
//! Every function of the library that can fail returns [`Faults`], so that a caller always gets all
//! faults that could be found at once, each with its place and its remedy.

use std::fmt;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Fault {
    /// File, then line or path of the field: `lesson.yaml: faults.leaks[0].area`.
    pub place: String,
    /// What is wrong, with the offending value.
    pub problem: String,
    /// What would be right, or what to do.
    pub remedy: String,
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
        }
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
        Fault::new(path.display(), format!("cannot {doing}: {error}"), remedy)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}", self.place, self.problem, self.remedy)
    }
}

/// One or more faults, in the order in which they stand in the input.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Faults(pub Vec<Fault>);

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
    fn a_long_value_is_cut() {
        assert_eq!(shown("ab\0"), "\"ab\\0\"");
        assert!(shown(&"ü".repeat(5000)).chars().count() < 50);
    }
}
