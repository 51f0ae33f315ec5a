//! What a reader of a capture says about it.

use crate::grade::Cylinders;

/// What a reading came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The call.
    pub cylinders: Cylinders,
    /// How sure the reader is of it, 0 to 1.
    pub confidence: f64,
    /// From compression TDC of the called cylinder to the steepest rise, ms; `None` if no cylinder is called.
    pub lag_ms: Option<f64>,
    /// How it was found, in one sentence.
    pub why: String,
}

impl Reading {
    /// A reading that settles nothing.
    pub(super) fn unsure(why: &str) -> Reading {
        Reading {
            cylinders: Cylinders::Unsure,
            confidence: 0.5,
            lag_ms: None,
            why: why.into(),
        }
    }
}
