//! Sets of cylinders.

use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;
use std::ops::{BitAnd, BitOr, Sub};

/// Most cylinders of an engine.
pub const MAX_CYLINDERS: usize = 24;

/// A set of cylinders, which are numbered from 1 to [`MAX_CYLINDERS`].
///
/// In JSON it is the list of its cylinders, ascending.
#[derive(Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(into = "Vec<u32>", try_from = "Vec<u32>")]
pub struct CylinderSet(u32);

impl CylinderSet {
    /// Whether an engine can have a cylinder of this number.
    pub fn holds_number(cylinder: u32) -> bool {
        (1..=MAX_CYLINDERS as u32).contains(&cylinder)
    }

    /// Adds a cylinder; tells whether it was not in the set before.
    ///
    /// # Panics
    /// If no engine has a cylinder of this number.
    pub fn insert(&mut self, cylinder: u32) -> bool {
        assert!(
            Self::holds_number(cylinder),
            "no engine has a cylinder {cylinder}"
        );
        let before = self.0;
        self.0 |= 1 << cylinder;
        self.0 != before
    }

    /// Whether a cylinder is in the set.
    pub fn contains(self, cylinder: u32) -> bool {
        Self::holds_number(cylinder) && self.0 >> cylinder & 1 == 1
    }

    /// Number of cylinders.
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether no cylinder is in the set.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The cylinders, ascending.
    pub fn iter(self) -> impl Iterator<Item = u32> {
        (1..=MAX_CYLINDERS as u32).filter(move |c| self.contains(*c))
    }

    /// The first cylinder.
    pub fn first(self) -> Option<u32> {
        self.iter().next()
    }

    /// The cylinder of a set of one.
    pub fn only(self) -> Option<u32> {
        self.first().filter(|_| self.len() == 1)
    }

    /// Whether the other set has all cylinders of this one.
    pub fn is_subset(self, other: Self) -> bool {
        (self - other).is_empty()
    }

    /// The cylinders, ascending, with `separator` between them.
    pub fn join(self, separator: &str) -> String {
        self.iter()
            .map(|c| c.to_string())
            .collect::<Vec<_>>()
            .join(separator)
    }
}

/// As lists of their cylinders.
impl Ord for CylinderSet {
    fn cmp(&self, other: &Self) -> Ordering {
        self.iter().cmp(other.iter())
    }
}

impl PartialOrd for CylinderSet {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl BitOr for CylinderSet {
    type Output = Self;

    fn bitor(self, other: Self) -> Self {
        CylinderSet(self.0 | other.0)
    }
}

impl BitAnd for CylinderSet {
    type Output = Self;

    fn bitand(self, other: Self) -> Self {
        CylinderSet(self.0 & other.0)
    }
}

impl Sub for CylinderSet {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        CylinderSet(self.0 & !other.0)
    }
}

impl IntoIterator for CylinderSet {
    type Item = u32;
    type IntoIter = std::vec::IntoIter<u32>;

    fn into_iter(self) -> Self::IntoIter {
        Vec::from(self).into_iter()
    }
}

impl FromIterator<u32> for CylinderSet {
    /// # Panics
    /// If no engine has a cylinder of one of these numbers.
    fn from_iter<I: IntoIterator<Item = u32>>(cylinders: I) -> Self {
        let mut set = CylinderSet::default();
        for cylinder in cylinders {
            set.insert(cylinder);
        }
        set
    }
}

impl<const N: usize> From<[u32; N]> for CylinderSet {
    /// # Panics
    /// If no engine has a cylinder of one of these numbers.
    fn from(cylinders: [u32; N]) -> Self {
        cylinders.into_iter().collect()
    }
}

impl From<CylinderSet> for Vec<u32> {
    fn from(set: CylinderSet) -> Self {
        set.iter().collect()
    }
}

impl TryFrom<Vec<u32>> for CylinderSet {
    type Error = String;

    fn try_from(cylinders: Vec<u32>) -> Result<Self, String> {
        match cylinders.iter().find(|c| !Self::holds_number(**c)) {
            Some(cylinder) => Err(format!("no engine has a cylinder {cylinder}")),
            None => Ok(cylinders.into_iter().collect()),
        }
    }
}

impl fmt::Debug for CylinderSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn any_set() -> impl Strategy<Value = BTreeSet<u32>> {
        proptest::collection::btree_set(1..=MAX_CYLINDERS as u32, 0..9)
    }

    proptest! {
        /// The standard library's sets are the twin.
        #[test]
        fn it_does_what_sets_do(a in any_set(), b in any_set(), cylinder in 0..40_u32) {
            let set = |s: &BTreeSet<u32>| s.iter().copied().collect::<CylinderSet>();
            let back = |s: CylinderSet| s.iter().collect::<BTreeSet<u32>>();
            prop_assert_eq!(back(set(&a)), a.clone());
            prop_assert_eq!(back(set(&a) | set(&b)), &a | &b);
            prop_assert_eq!(back(set(&a) & set(&b)), &a & &b);
            prop_assert_eq!(back(set(&a) - set(&b)), &a - &b);
            prop_assert_eq!(set(&a).is_subset(set(&b)), a.is_subset(&b));
            prop_assert_eq!(set(&a).cmp(&set(&b)), a.cmp(&b));
            prop_assert_eq!(set(&a).contains(cylinder), a.contains(&cylinder));
            prop_assert_eq!(set(&a).len(), a.len());
            let json = serde_json::to_string(&set(&a)).unwrap();
            prop_assert_eq!(&json, &serde_json::to_string(&a).unwrap());
            prop_assert_eq!(serde_json::from_str::<CylinderSet>(&json).unwrap(), set(&a));
        }
    }

    #[test]
    fn what_no_engine_has_is_refused() {
        for text in ["[0]", "[25]", "[1, 4000000000]"] {
            let error = serde_json::from_str::<CylinderSet>(text)
                .unwrap_err()
                .to_string();
            assert!(error.contains("no engine has a cylinder"), "{error}");
        }
    }
}
