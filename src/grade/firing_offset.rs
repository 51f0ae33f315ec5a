//! Firing offsets: how far beside the leak a call stands in the firing order.
//!
//! Counted are the calls that name one cylinder where the evidence supports one. The offset of a call
//! is the place of the called cylinder less that of the leaking one, modulo the number of cylinders
//! n, from -(n-1)/2 to n/2: 0 is right, 1 the cylinder that fires next, as it is accused when the lag
//! is not allowed for, and n/2 in an even-firing engine the companion a revolution apart.

use crate::domain::{Call, Truth};
use serde::Serialize;
use std::collections::BTreeMap;

/// Where a call of one cylinder stands; places in the firing order count from 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Firing {
    /// Number of cylinders.
    pub cylinders: usize,
    /// Place of the leaking cylinder.
    pub leaking: usize,
    /// Place of the called one.
    pub called: usize,
}

impl Firing {
    /// Where a call stands; `None` unless it and the evidence each name one cylinder.
    pub fn of(called: Call, truth: &Truth) -> Option<Firing> {
        let single = |call: &Call| match call {
            Call::All(set) => set.only(),
            _ => None,
        };
        let leaking = truth.evidence.supported.iter().find_map(single)?;
        Some(Firing {
            cylinders: truth.engine.firing_order.len(),
            leaking: truth.engine.firing_place(leaking)?,
            called: truth.engine.firing_place(single(&called)?)?,
        })
    }

    /// How many places the called one stands after the leaking one, from -(n-1)/2 to n/2.
    pub fn offset(self) -> i64 {
        let n = self.cylinders as i64;
        let after = (self.called as i64 - self.leaking as i64).rem_euclid(n);
        if after > n / 2 { after - n } else { after }
    }
}

/// Calls of one cylinder by how many places after the leaking one they stand.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Offsets {
    /// Number of such calls.
    pub n: usize,
    /// How many stand so many places after the leaking cylinder (before it, if negative).
    pub offsets: BTreeMap<i64, usize>,
    /// For each number of cylinders, called places against leaking ones: a row for each place of the leaking
    /// cylinder in the firing order.
    pub by_cylinders: BTreeMap<usize, Vec<Vec<usize>>>,
}

impl Offsets {
    /// The matrix of engines of so many cylinders, empty at first.
    pub fn matrix(&mut self, cylinders: usize) -> &mut Vec<Vec<usize>> {
        let rows = self.by_cylinders.entry(cylinders);
        rows.or_insert_with(|| vec![vec![0; cylinders]; cylinders])
    }

    /// Counts a call.
    pub fn add(&mut self, firing: Firing) {
        self.n += 1;
        *self.offsets.entry(firing.offset()).or_insert(0) += 1;
        self.matrix(firing.cylinders)[firing.leaking][firing.called] += 1;
    }
}

/// An offset in words: `1 before`, `the leaking one`, `2 after`.
pub fn offset_label(offset: i64) -> String {
    match offset {
        0 => "the leaking one".into(),
        1.. => format!("{offset} after"),
        _ => format!("{} before", -offset),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::testing::{four, six, truth};

    fn offsets(truth: &Truth, calls: &[&str]) -> Offsets {
        let mut offsets = Offsets::default();
        let firing = calls
            .iter()
            .filter_map(|call| Firing::of(call.parse().unwrap(), truth));
        firing.for_each(|firing| offsets.add(firing));
        offsets
    }

    #[test]
    fn offsets_are_centred_on_the_leaking_cylinder() {
        // 1-5-3-6-2-4, cylinder 2 leaks: 4 fires next, 1 after that, 5 a revolution apart.
        let key = truth(six(), Sync::Full, &[2], &[], &["2"]);
        let offsets = offsets(&key, &["2", "4", "4", "1", "5", "3", "6"]);
        let expected = [(-2, 1), (-1, 1), (0, 1), (1, 2), (2, 1), (3, 1)];
        assert_eq!(offsets.offsets, BTreeMap::from(expected));
        let matrix = &offsets.by_cylinders[&6];
        assert_eq!(matrix[4], [1, 1, 1, 1, 1, 2]);
        assert_eq!(matrix.iter().flatten().sum::<usize>(), offsets.n);
    }

    #[test]
    fn only_one_cylinder_against_one_has_a_place() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        assert_eq!(offsets(&key, &["2+3", "3|4", "none", "unsure"]).n, 0);
        let pair = truth(four(), Sync::Pair, &[3], &[], &["2|3"]);
        assert_eq!(offsets(&pair, &["3"]).n, 0);
        let none = truth(four(), Sync::Full, &[], &[], &["none"]);
        assert_eq!(offsets(&none, &["3"]).n, 0);
    }
}
