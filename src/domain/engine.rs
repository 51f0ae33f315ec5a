//! The data of an engine.

use super::checks::Checks;
use super::cylinders::MAX_CYLINDERS;
use serde::{Deserialize, Serialize};
use std::fmt;

/// How the cylinders stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum Layout {
    Inline,
    Vee,
    Flat,
}

impl Layout {
    /// An engine of this layout as the trade calls it: `inline four`, `V8`, `flat six`.
    pub fn engine_of(self, cylinders: usize) -> String {
        const NUMBERS: [&str; 12] = [
            "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve",
        ];
        let number = cylinders.checked_sub(1).and_then(|i| NUMBERS.get(i));
        match (self, number) {
            (Layout::Vee, _) => format!("V{cylinders}"),
            (_, Some(number)) => format!("{self} {number}"),
            (_, None) => format!("{self} {cylinders}"),
        }
    }
}

/// The word of its JSON.
impl fmt::Display for Layout {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// What stands on an engine's plate and in its manual.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EngineData {
    /// The (invented) vehicle.
    pub vehicle: String,
    /// How the cylinders stand.
    pub layout: Layout,
    /// Number of cylinders.
    pub cylinders: usize,
    /// Cylinder numbers in the order in which they fire.
    pub firing_order: Vec<u32>,
    /// Crank degrees from each cylinder of the firing order to the next; they add up to 720.
    pub firing_intervals_deg: Vec<f64>,
    /// Swept volume of all cylinders, litres.
    pub displacement_l: f64,
    /// Geometric compression ratio.
    pub compression_ratio: f64,
    /// Whether each cylinder has a coil of its own or shares one with its companion.
    pub shared_coils: bool,
}

impl EngineData {
    /// Notes a firing order and intervals that cannot be, by which the methods here would go wrong.
    pub(super) fn check(&self, c: &mut Checks) {
        let n = self.cylinders;
        c.need(
            (1..=MAX_CYLINDERS).contains(&n),
            "engine.cylinders",
            format!("there are {n}"),
            format!("give 1 to {MAX_CYLINDERS} cylinders"),
        );
        let mut sorted = self.firing_order.clone();
        sorted.sort_unstable();
        c.need(
            sorted.len() == n && sorted.iter().zip(1..).all(|(own, due)| *own == due),
            "engine.firing_order",
            format!(
                "{n} cylinders cannot fire in the order {:?}",
                self.firing_order
            ),
            format!("name each of the cylinders 1 to {n} once"),
        );
        let intervals = &self.firing_intervals_deg;
        let turn: f64 = intervals.iter().sum();
        c.need(
            intervals.len() == n
                && intervals.iter().all(|deg| *deg > 0.0)
                && (turn - 720.0).abs() < 0.01,
            "engine.firing_intervals_deg",
            format!("they are {intervals:?}"),
            format!("give {n} positive intervals that add up to 720"),
        );
        c.need(
            self.displacement_l > 0.0 && self.displacement_l.is_finite(),
            "engine.displacement_l",
            format!("it is {}", self.displacement_l),
            "give litres above 0",
        );
        c.need(
            self.compression_ratio > 1.0 && self.compression_ratio.is_finite(),
            "engine.compression_ratio",
            format!("it is {}", self.compression_ratio),
            "give a ratio above 1",
        );
    }

    /// Place of a cylinder in the firing order, from 0; `None` for a cylinder the engine lacks.
    pub fn firing_place(&self, cylinder: u32) -> Option<usize> {
        self.firing_order.iter().position(|c| *c == cylinder)
    }

    /// The cylinder `steps` places later in the firing order (earlier when negative).
    pub fn neighbour(&self, cylinder: u32, steps: isize) -> Option<u32> {
        let n = self.firing_order.len() as isize;
        let place = self.firing_place(cylinder)? as isize;
        Some(self.firing_order[(place + steps).rem_euclid(n) as usize])
    }

    /// Compression TDC of a cylinder, crank degrees after that of the first in the firing order.
    pub fn tdc_deg(&self, cylinder: u32) -> Option<f64> {
        let place = self.firing_place(cylinder)?;
        Some(self.firing_intervals_deg.get(..place)?.iter().sum())
    }

    /// The cylinder whose pistons move with this one's, a revolution apart (its wasted-spark
    /// companion); `None` where the crank has none, as in an engine of three or five.
    pub fn companion(&self, cylinder: u32) -> Option<u32> {
        let own = self.tdc_deg(cylinder)?;
        self.firing_order.iter().copied().find(|other| {
            let apart = (self.tdc_deg(*other).unwrap_or(own) - own).rem_euclid(720.0);
            (apart - 360.0).abs() < 1e-6
        })
    }
}
