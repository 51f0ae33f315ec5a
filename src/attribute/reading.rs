//! What a reader of a capture says about it.

use crate::domain::Call;

/// A mean slope of this z-score is a pulse that repeats.
pub(super) const LEAST_Z_SCORE: f64 = 6.0;

/// What a reading came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The call.
    pub cylinders: Call,
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
            cylinders: Call::Unsure,
            confidence: 0.5,
            lag_ms: None,
            why: why.into(),
        }
    }
}

/// A reading of a capture whose steepest mean slope has too small a z-score.
pub(super) fn no_pulse(z_score: f64) -> Reading {
    Reading {
        cylinders: Call::NoLeak,
        confidence: 0.95 - 0.45 * (z_score / LEAST_Z_SCORE).max(0.0),
        lag_ms: None,
        why: "No pulse that repeats stands out of the noise.".into(),
    }
}
