//! One pass over one file: what it draws from, what it found wrong, and the fields it asked for.

use super::distribution::Complaint;
use super::section::{Section, read_document};
use super::units::Dimension;
use super::yaml;
use crate::error::{Fault, Faults};
use serde_json::Value;
use std::cell::RefCell;

/// One pass over one file.
pub struct Reading {
    file: String,
    pub(super) seed: u64,
    pub(super) number: u64,
    /// Whether nothing is read, and only the questions count.
    pub(super) describing: bool,
    faults: RefCell<Vec<Fault>>,
}

/// One field that was asked for.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its key.
    pub key: String,
    /// What it means.
    pub doc: String,
    /// Its default as it would be written; `None` if it must be given or may be absent.
    pub default: Option<String>,
    /// Whether it must be given.
    pub required: bool,
    /// What may stand there.
    pub kind: Kind,
}

/// What may stand in a field.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub enum Kind {
    Quantity {
        dimension: Dimension,
        range: [String; 2],
    },
    Integer {
        range: [u64; 2],
    },
    Choice(Vec<(String, String)>),
    Flag,
    Text,
    List(Box<Kind>),
    Section(Vec<Field>),
    /// A choice that decides which other fields stand beside it.
    Variant(Vec<(String, String, Vec<Field>)>),
}

impl Reading {
    /// A pass over `file` that draws for capture `number` of a run seeded with `seed`.
    pub fn new(file: &str, seed: u64, number: u64) -> Self {
        Reading {
            file: file.into(),
            seed,
            number,
            describing: false,
            faults: RefCell::default(),
        }
    }

    /// A pass over nothing, for the schema.
    pub fn describing() -> Self {
        Reading {
            describing: true,
            ..Reading::new("", 0, 0)
        }
    }

    /// Adds a fault of the field at `path`.
    pub fn fault(&self, path: &str, (problem, remedy): Complaint) {
        let place = if path.is_empty() {
            self.file.clone()
        } else {
            format!("{}: {path}", self.file)
        };
        self.faults
            .borrow_mut()
            .push(Fault::new(place, problem, remedy));
    }

    /// Whether no fault stands at or below `path`; what depends on faulty fields is not checked.
    pub fn sound(&self, path: &str) -> bool {
        let below = format!("{}: {path}", self.file);
        !self
            .faults
            .borrow()
            .iter()
            .any(|f| f.place.starts_with(&below))
    }

    /// All faults found.
    pub fn into_faults(self) -> Vec<Fault> {
        self.faults.into_inner()
    }
}

/// Reads a file with a `seed` of its own; `file` names it in messages.
///
/// # Errors
/// All faults, each with the path of its field.
pub fn read_seeded<T>(
    file: &str,
    text: &[u8],
    read: impl FnOnce(&mut Section) -> T,
) -> Result<T, Faults> {
    let tree = yaml::parse(file, text)?;
    let seed = tree.get("seed").and_then(Value::as_u64);
    let reading = Reading::new(file, seed.unwrap_or(1), 0);
    let (value, _, _) = read_document(&reading, tree, read);
    match reading.into_faults() {
        faults if faults.is_empty() => Ok(value),
        faults => Err(Faults(faults)),
    }
}
