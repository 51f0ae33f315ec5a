//! What a capture lets a careful reader say, and how hard it is to read.

use super::call::Call;
use super::cylinders::CylinderSet;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What makes a capture hard to read: each part, and the whole, from 0 (easy) to 1 (hard).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Difficulty {
    /// The whole.
    pub total: f64,
    /// Lag, in firing intervals.
    pub lag: f64,
    /// Noise beside the pulse.
    pub noise: f64,
    /// A sync that leaves a pair, or nothing.
    pub sync: f64,
    /// A second leak, seen or hidden.
    pub second_leak: f64,
    /// Worn cylinders that draw suspicion.
    pub decoy: f64,
    /// Samples out of range.
    pub clipping: f64,
}

/// How well the capture ties a pulse to a cylinder.
///
/// The variants stand in the order of what they tell, so that the better of two is the greater.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sync {
    /// No mark: no cylinder can be named.
    None,
    /// One mark in 360 degrees: a pair of companions can be named, no more.
    Pair,
    /// One mark in 720 degrees: one cylinder can be named.
    Full,
}

/// The word of its JSON.
impl fmt::Display for Sync {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// What the capture lets a careful reader say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// How well a pulse can be tied to a cylinder.
    pub sync: Sync,
    /// Cylinders whose leak pulses can be told in the capture, ascending.
    pub visible: CylinderSet,
    /// Cylinders that leak but show nothing here, ascending.
    pub hidden: CylinderSet,
    /// Calls that score in full, best first.
    pub supported: Vec<Call>,
    /// Why, in one sentence each.
    pub reasons: Vec<String>,
}

impl Evidence {
    /// The calls that score in full, for a person: `3`, `unsure or none`.
    pub fn expected(&self) -> String {
        self.joined(" or ")
    }

    /// The calls that score in full, with `separator` between them.
    pub fn joined(&self, separator: &str) -> String {
        let calls: Vec<String> = self.supported.iter().map(Call::to_string).collect();
        calls.join(separator)
    }
}
