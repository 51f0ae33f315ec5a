//! One part of a corpus: `3/8` is the third of eight.

use crate::error::{Fault, Faults};
use crate::formats::corpus::SHARD_DIGITS;
use std::fmt;
use std::ops::Range;
use std::str::FromStr;

/// Most shards of one corpus.
pub const MAX_SHARDS: u64 = 10_u64.pow(SHARD_DIGITS as u32) - 1;

/// One part of a corpus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Its number, from 1.
    pub number: u64,
    /// How many there are.
    pub of: u64,
}

impl Shard {
    /// The corpus in one piece.
    pub const WHOLE: Shard = Shard { number: 1, of: 1 };

    /// Its part of `units` units of work: one behind the other, none longer than another by more than
    /// one.
    pub fn part(self, units: u64) -> Range<u64> {
        let edge = |n: u64| (u128::from(units) * u128::from(n) / u128::from(self.of)) as u64;
        edge(self.number - 1)..edge(self.number)
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

impl FromStr for Shard {
    type Err = Faults;

    fn from_str(text: &str) -> Result<Self, Faults> {
        let fault = |problem: &str| {
            let remedy = format!("write i/n, i from 1 to n and n at most {MAX_SHARDS}: 3/8");
            Faults::from(Fault::new(format!("shard `{text}`"), problem, remedy))
        };
        let numbers = text.split_once('/').and_then(|(number, of)| {
            Some(Shard {
                number: number.trim().parse().ok()?,
                of: of.trim().parse().ok()?,
            })
        });
        match numbers {
            None => Err(fault("it is not two whole numbers")),
            Some(Shard { of: 0, .. }) => Err(fault("a corpus has at least one shard")),
            Some(Shard { of, .. }) if of > MAX_SHARDS => Err(fault("these are too many shards")),
            Some(Shard { number: 0, .. }) => Err(fault("shards are counted from 1")),
            Some(s) if s.number > s.of => Err(fault("there is no such shard")),
            Some(shard) => Ok(shard),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn shards_are_read() {
        assert_eq!("3/8".parse(), Ok(Shard { number: 3, of: 8 }));
        for (text, part) in [
            ("0/0", "at least one shard"),
            ("0/3", "counted from 1"),
            ("5/3", "no such shard"),
            ("1/10000", "too many"),
            ("-1/3", "two whole numbers"),
            ("1", "two whole numbers"),
            ("1/99999999999999999999", "two whole numbers"),
        ] {
            let faults = text.parse::<Shard>().unwrap_err().to_string();
            assert!(faults.contains(part), "{faults}");
        }
    }

    proptest! {
        #[test]
        fn shards_make_up_the_whole(units in 0_u64..=10_000_000, of in 1_u64..=MAX_SHARDS) {
            let mut end = 0;
            for number in 1..=of {
                let part = Shard { number, of }.part(units);
                prop_assert_eq!(part.start, end);
                prop_assert!(part.end - part.start <= units / of + 1);
                end = part.end;
            }
            prop_assert_eq!(end, units);
        }
    }
}
