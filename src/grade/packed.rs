//! A call in 24 bytes: what of it is graded, without its name and its note.

use super::call::{Call, Cylinders};
use super::rows::Row;
use crate::capture::card::MAX_CYLINDERS;
use crate::error::Fault;
use std::collections::BTreeSet;

/// A packed call.
#[derive(Clone, Copy, Debug)]
pub struct Packed {
    /// NaN if not stated.
    confidence: f64,
    /// NaN if not stated.
    lag_ms: f64,
    /// Bit `n` stands for cylinder `n`.
    set: u32,
    form: Form,
}

#[derive(Clone, Copy, Debug)]
enum Form {
    All,
    OneOf,
    NoLeak,
    Unsure,
}

impl Packed {
    /// Packs a row.
    ///
    /// # Errors
    /// A cylinder that no engine has; the fault's place is the field.
    pub fn of(row: &Row) -> Result<Packed, Fault> {
        let (form, set) = match &row.call.cylinders {
            Cylinders::All(set) => (Form::All, Some(set)),
            Cylinders::OneOf(set) => (Form::OneOf, Some(set)),
            Cylinders::NoLeak => (Form::NoLeak, None),
            Cylinders::Unsure => (Form::Unsure, None),
        };
        let mut bits = 0;
        for cylinder in set.into_iter().flatten() {
            if !(1..=MAX_CYLINDERS as u32).contains(cylinder) {
                let problem = format!("no engine has a cylinder {cylinder}");
                let remedy = "call among the cylinders of the card's firing order";
                return Err(Fault::new("cylinders", problem, remedy));
            }
            bits |= 1 << cylinder;
        }
        Ok(Packed {
            confidence: row.call.confidence.unwrap_or(f64::NAN),
            lag_ms: row.lag_ms.unwrap_or(f64::NAN),
            set: bits,
            form,
        })
    }

    /// The row again, of the capture named; its note is lost.
    pub fn row(&self, capture: &str) -> Row {
        let set = || -> BTreeSet<u32> { (1..32).filter(|c| self.set >> c & 1 == 1).collect() };
        let stated = |value: f64| Some(value).filter(|v| !v.is_nan());
        Row {
            call: Call {
                capture: capture.into(),
                cylinders: match self.form {
                    Form::All => Cylinders::All(set()),
                    Form::OneOf => Cylinders::OneOf(set()),
                    Form::NoLeak => Cylinders::NoLeak,
                    Form::Unsure => Cylinders::Unsure,
                },
                confidence: stated(self.confidence),
                note: String::new(),
            },
            lag_ms: stated(self.lag_ms),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(cylinders: &str, lag_ms: Option<f64>) -> Row {
        Row {
            call: Call {
                capture: "a".into(),
                cylinders: cylinders.parse().unwrap(),
                confidence: Some(0.1 + 0.2),
                note: String::new(),
            },
            lag_ms,
        }
    }

    #[test]
    fn a_row_comes_back_as_it_went_in() {
        for cylinders in ["3", "2+24", "2|5", "none", "unsure"] {
            for lag_ms in [None, Some(-3.25)] {
                let row = row(cylinders, lag_ms);
                assert_eq!(Packed::of(&row).unwrap().row("a"), row);
            }
        }
        assert!(size_of::<Packed>() <= 24);
    }

    #[test]
    fn a_cylinder_of_no_engine_is_refused() {
        for cylinders in ["25", "0", "3+4000000000"] {
            let fault = Packed::of(&row(cylinders, None)).unwrap_err();
            assert_eq!(fault.place, "cylinders");
        }
    }
}
