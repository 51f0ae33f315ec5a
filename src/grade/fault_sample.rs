//! Faults of many calls: the first are told, the rest counted.

use crate::error::Fault;
use serde::Serialize;

/// Faults of an analyzer's calls that are told; of a million nobody reads more.
pub const MOST_TOLD: usize = 20;

/// The first faults, and how many there are.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FaultSample {
    /// Number of all faults.
    pub count: usize,
    /// The first of them.
    pub first: Vec<Fault>,
}

impl FaultSample {
    /// The faults that are told, and if there are more, how many; `place` is where they stand.
    pub fn faults(&self, place: &str) -> Vec<Fault> {
        let mut faults = self.first.clone();
        let problem = match self.count - self.first.len() {
            0 => return faults,
            1 => "there is 1 more fault like these".to_string(),
            n => format!("there are {n} more faults like these"),
        };
        let remedy = "mend these, and run the command again";
        faults.push(Fault::new(place, problem, remedy));
        faults
    }
}
