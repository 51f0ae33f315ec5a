//! Automatic readers of captures: what they see is what a student sees, samples and card.
//!
//! Two of them ship, the floor that any analyzer must beat: [`count`] does what a technician does who trusts
//! the nearest TDC, and [`allow_for_lag`] reads the lag off the pulse's shape first.

mod clock;
mod counting;
mod cycle;
mod lag_aware;
mod reading;
mod shape;
mod tidy;

pub use counting::count;
pub use lag_aware::allow_for_lag;
pub use reading::Reading;

use crate::domain::Capture;

/// A way to read a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// The plain count, [`count`].
    Count,
    /// The count that allows for the lag, [`allow_for_lag`].
    Lag,
}

impl Method {
    /// Reads a capture in this way.
    pub fn read(self, capture: &Capture) -> Reading {
        match self {
            Method::Count => count(capture),
            Method::Lag => allow_for_lag(capture),
        }
    }
}
