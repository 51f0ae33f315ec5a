//! One pass over one file: what it draws from, what it found wrong, and how changed values are written.

use super::units::Quantity;
use super::yaml::Document;
use crate::error::{Fault, Faults};
use std::cell::RefCell;

/// One pass over one file.
pub struct Reading {
    file: String,
    pub(super) seed: u64,
    pub(super) number: u64,
    /// Whether nothing is read, and only the questions count.
    pub(super) describing: bool,
    pub(super) texts: Texts,
    faults: RefCell<Vec<Fault>>,
}

/// How values that a change brings are written. A value is known by the place where it stands, so that it is to
/// be changed in the scenario itself, and not moved afterwards.
#[derive(Debug, Default)]
pub struct Texts(Vec<(*const f64, Quantity)>);

impl Texts {
    /// Gives a field the value of `quantity`, to be written like that.
    pub fn put(&mut self, field: &mut f64, quantity: Quantity) {
        *field = quantity.si();
        self.0.push((field, quantity));
    }

    /// How a value is written, if it was put.
    pub(super) fn of(&self, field: &f64) -> Option<Quantity> {
        let last = self.0.iter().rev().find(|(at, _)| std::ptr::eq(*at, field));
        last.map(|(_, q)| *q).filter(|q| q.si() == *field)
    }
}

impl Reading {
    /// A pass over `file` that draws for capture `number` of a run seeded with `seed`.
    pub fn new(file: &str, seed: u64, number: u64) -> Self {
        Reading {
            file: file.into(),
            seed,
            number,
            describing: false,
            texts: Texts::default(),
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
    pub fn fault(&self, path: &str, complaint: Fault) {
        let fault = complaint.at_path(&self.file, path);
        self.faults.borrow_mut().push(fault);
    }

    /// Whether no fault stands at or below `path`; what depends on faulty fields is not checked.
    pub fn sound(&self, path: &str) -> bool {
        let faults = self.faults.borrow();
        !faults.iter().any(|f| f.path().starts_with(path))
    }

    /// What was read of `document`, if nothing was wrong with it.
    ///
    /// # Errors
    /// All faults found, each with its place in the document.
    pub(super) fn end<T>(self, value: T, document: &Document) -> Result<T, Faults> {
        let mut faults = self.faults.into_inner();
        if faults.is_empty() {
            return Ok(value);
        }
        document.locate(&mut faults);
        Err(Faults(faults))
    }
}
