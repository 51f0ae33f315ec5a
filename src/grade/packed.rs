//! A call in 24 bytes: what of it is graded, without its name and its note.

use super::entry::Entry;
use super::rows::Row;
use crate::domain::Call;

/// A packed call.
#[derive(Clone, Copy, Debug)]
pub struct Packed {
    /// NaN if not stated.
    confidence: f64,
    /// NaN if not stated.
    lag_ms: f64,
    call: Call,
}

impl Packed {
    /// Packs a row.
    pub fn of(row: &Row) -> Packed {
        Packed {
            confidence: row.call.confidence.unwrap_or(f64::NAN),
            lag_ms: row.lag_ms.unwrap_or(f64::NAN),
            call: row.call.cylinders,
        }
    }

    /// The row again, of the capture named; its note is lost.
    pub fn row(&self, capture: &str) -> Row {
        let stated = |value: f64| Some(value).filter(|v| !v.is_nan());
        Row {
            call: Entry {
                capture: capture.into(),
                cylinders: self.call,
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
            call: Entry {
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
                assert_eq!(Packed::of(&row).row("a"), row);
            }
        }
        assert!(size_of::<Packed>() <= 24);
    }
}
