//! Places in the firing order: how far beside the leak a call stands.
//!
//! Counted are the calls that name one cylinder where the evidence supports one. The offset of a call
//! is the place of the called cylinder less that of the leaking one, modulo the number of cylinders
//! n, from -(n-1)/2 to n/2: 0 is right, 1 the cylinder that fires next, as it is accused when the lag
//! is not allowed for, and n/2 in an even-firing engine the companion a revolution apart.

use super::score::Graded;
use crate::domain::Call;
use crate::domain::{EngineData, Truth};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Where calls stand in the firing order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Places {
    /// Number of calls that name one cylinder where one is supported.
    pub n: usize,
    /// How many of them stand so many places after the leaking cylinder (before it, if negative).
    pub offsets: BTreeMap<i64, usize>,
    /// The same, place by place; `None` if the engines of the key differ in their number of cylinders.
    pub matrix: Option<Matrix>,
}

/// True places against called ones, in engines of one number of cylinders.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Matrix {
    /// For each place of the leaking cylinder in the firing order, from the first, how often each place
    /// was called.
    pub rows: Vec<Vec<usize>>,
}

impl Places {
    /// The places of graded calls, each with the truth of its capture; `key` is all truths.
    pub fn of<'g>(
        graded: impl IntoIterator<Item = (&'g Graded, &'g Truth)>,
        key: &[Truth],
    ) -> Self {
        let sizes: BTreeSet<usize> = key.iter().map(|t| t.engine.firing_order.len()).collect();
        let mut matrix = match sizes.first() {
            Some(n) if sizes.len() == 1 => Some(Matrix {
                rows: vec![vec![0; *n]; *n],
            }),
            _ => None,
        };
        let mut offsets = BTreeMap::new();
        for (one, truth) in graded {
            let call = one.call.as_ref();
            let Some([leaking, called]) = call.and_then(|c| places(&c.cylinders, truth)) else {
                continue;
            };
            *offsets
                .entry(centred(leaking, called, &truth.engine))
                .or_insert(0) += 1;
            if let Some(matrix) = &mut matrix {
                matrix.rows[leaking][called] += 1;
            }
        }
        Places {
            n: offsets.values().sum(),
            offsets,
            matrix,
        }
    }
}

/// Places of the leaking and of the called cylinder, from 0, where the call and the evidence each
/// name one.
pub(super) fn places(called: &Call, truth: &Truth) -> Option<[usize; 2]> {
    let single = |call: &Call| match call {
        Call::All(set) => set.only(),
        _ => None,
    };
    let leaking = truth.evidence.supported.iter().find_map(single)?;
    let called = single(called)?;
    let place = |cylinder| truth.engine.firing_place(cylinder);
    Some([place(leaking)?, place(called)?])
}

/// How many places the called one stands after the leaking one, from -(n-1)/2 to n/2.
pub(super) fn centred(leaking: usize, called: usize, engine: &EngineData) -> i64 {
    let n = engine.firing_order.len() as i64;
    let after = (called as i64 - leaking as i64).rem_euclid(n);
    if after > n / 2 { after - n } else { after }
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
    use crate::grade::testing::{call, four, six, truth};

    fn places_of(key: &[Truth], calls: &[&str]) -> Places {
        let graded: Vec<Graded> = calls
            .iter()
            .map(|c| Graded::new(call(c), &key[0]))
            .collect();
        Places::of(graded.iter().map(|g| (g, &key[0])), key)
    }

    #[test]
    fn offsets_are_centred_on_the_leaking_cylinder() {
        // 1-5-3-6-2-4, cylinder 2 leaks: 4 fires next, 1 after that, 5 a revolution apart.
        let key = [truth(six(), Sync::Full, &[2], &[], &["2"])];
        let places = places_of(&key, &["2", "4", "4", "1", "5", "3", "6"]);
        let expected = [(-2, 1), (-1, 1), (0, 1), (1, 2), (2, 1), (3, 1)];
        assert_eq!(places.offsets, BTreeMap::from(expected));
        let matrix = places.matrix.unwrap();
        assert_eq!(matrix.rows[4], [1, 1, 1, 1, 1, 2]);
        assert_eq!(matrix.rows.iter().flatten().sum::<usize>(), places.n);
    }

    #[test]
    fn only_one_cylinder_against_one_has_a_place() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        assert_eq!(places_of(&key, &["2+3", "3|4", "none", "unsure"]).n, 0);
        let pair = [truth(four(), Sync::Pair, &[3], &[], &["2|3"])];
        assert_eq!(places_of(&pair, &["3"]).n, 0);
        let none = [truth(four(), Sync::Full, &[], &[], &["none"])];
        assert_eq!(places_of(&none, &["3"]).n, 0);
    }

    #[test]
    fn engines_of_different_sizes_share_no_matrix() {
        let key = [
            truth(four(), Sync::Full, &[3], &[], &["3"]),
            truth(six(), Sync::Full, &[3], &[], &["3"]),
        ];
        let places = places_of(&key, &["4"]);
        assert_eq!((places.matrix, places.offsets[&1]), (None, 1));
    }
}
