//! Faults of many rows: the first are told, the rest counted.

use crate::error::Fault;
use serde::Serialize;

/// Faults that are told; of a million rows nobody reads more.
pub const MOST_TOLD: usize = 20;

/// The first faults, and how many there are.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Told {
    /// Number of all faults.
    pub count: usize,
    /// The first of them, [`MOST_TOLD`] at most.
    pub first: Vec<Fault>,
}

impl Told {
    /// Adds a fault.
    pub fn push(&mut self, fault: Fault) {
        self.push_with(|| fault);
    }

    /// Adds a fault that is only made if it is told.
    pub fn push_with(&mut self, fault: impl FnOnce() -> Fault) {
        if self.first.len() < MOST_TOLD {
            self.first.push(fault());
        }
        self.count += 1;
    }

    /// The faults that are told, and if there are more, how many; `place` is where they stand.
    pub fn faults(&self, place: &str) -> Vec<Fault> {
        let mut faults = self.first.clone();
        let more = self.count - self.first.len();
        if more > 0 {
            let problem = match more {
                1 => "there is 1 more fault like these".to_string(),
                n => format!("there are {n} more faults like these"),
            };
            faults.push(Fault::new(
                place,
                problem,
                "mend these, and run the command again",
            ));
        }
        faults
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_told_is_counted() {
        let mut told = Told::default();
        for i in 0..MOST_TOLD {
            told.push(Fault::new(i, "x", "y"));
        }
        assert_eq!(told.faults("a.csv").len(), MOST_TOLD);
        told.push_with(|| panic!("it is not told"));
        told.push_with(|| panic!("it is not told"));
        let last = told.faults("a.csv").pop().unwrap().to_string();
        assert!(last.starts_with("a.csv: there are 2 more faults"), "{last}");
    }
}
