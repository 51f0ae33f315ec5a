//! What a job was worth: 100 points in four parts.
//!
//! | part | points | for |
//! |---|---|---|
//! | correctness | 50 | the call against the vehicle, by the rules of [`crate::grade`] |
//! | certainty | 25 | 10 for leaks that the student's own tests name, 15 for leaks that they confirm; where none is, for tests on the starter (10) and at idle (15) that would have shown one |
//! | economy | 15 | minutes of the shortest safe path over minutes spent, as far as the call is right |
//! | care | 10 | 5 are lost for every order that was refused as dangerous |

use super::order::Test;
use super::proof::Proof;
use crate::domain::{Call, CylinderSet};
use serde::Serialize;
use std::collections::BTreeSet;

/// Points for each part, whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Score {
    /// Of [`Score::OF_CORRECTNESS`].
    pub correctness: u32,
    /// Of [`Score::OF_CERTAINTY`].
    pub certainty: u32,
    /// Of [`Score::OF_ECONOMY`].
    pub economy: u32,
    /// Of [`Score::OF_CARE`].
    pub care: u32,
}

const NAMED: f64 = 10.0;
const CONFIRMED: f64 = 15.0;
const A_REFUSAL: u32 = 5;

impl Score {
    /// Most points for correctness.
    pub const OF_CORRECTNESS: u32 = 50;
    /// Most points for certainty.
    pub const OF_CERTAINTY: u32 = 25;
    /// Most points for economy.
    pub const OF_ECONOMY: u32 = 15;
    /// Most points for care.
    pub const OF_CARE: u32 = 10;

    /// The score of a call worth `points` (0 to 1) against the vehicle, that cost `minutes`.
    pub fn of(points: f64, certainty: f64, minutes: u32, shortest: u32, refusals: usize) -> Score {
        let whole = |points: f64| points.round().max(0.0) as u32;
        let share = f64::from(shortest) / f64::from(minutes.max(1));
        let lost = u32::try_from(refusals)
            .unwrap_or(u32::MAX)
            .saturating_mul(A_REFUSAL);
        Score {
            correctness: whole(points * f64::from(Self::OF_CORRECTNESS)),
            certainty: whole(certainty),
            economy: whole(points * share.min(1.0) * f64::from(Self::OF_ECONOMY)),
            care: Self::OF_CARE.saturating_sub(lost),
        }
    }

    /// All points, of 100.
    pub fn total(&self) -> u32 {
        self.correctness + self.certainty + self.economy + self.care
    }
}

/// Points for certainty: how much of what was called, and of what leaks, the tests prove.
pub fn certainty(call: &Call, leaking: &BTreeSet<u32>, proof: &Proof) -> f64 {
    let called = match call {
        Call::Unsure => return 0.0,
        _ => call.named(),
    };
    let leaking: CylinderSet = leaking.iter().copied().collect();
    let cleared = |test| {
        if proof.cleared().contains(&test) {
            1.0
        } else {
            0.0
        }
    };
    if leaking.is_empty() && called.is_empty() {
        return NAMED * cleared(Test::Crank) + CONFIRMED * cleared(Test::Idle);
    }
    let all = (called | leaking).len().max(1) as f64;
    let true_ones = called & leaking;
    let share =
        |holds: &dyn Fn(u32) -> bool| true_ones.iter().filter(|c| holds(*c)).count() as f64 / all;
    NAMED * share(&|c| proof.is_named(c)) + CONFIRMED * share(&|c| proof.is_confirmed(c))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::proof::Shown;

    fn shown(seen: &[u32], named: &[u32], silenced: &[u32]) -> Shown {
        let set = |c: &[u32]| c.iter().copied().collect();
        Shown {
            seen: set(seen),
            named: set(named),
            silenced: set(silenced),
            clears: false,
        }
    }

    #[test]
    fn the_parts_make_a_hundred() {
        assert_eq!(Score::of(1.0, 25.0, 30, 30, 0).total(), 100);
        assert_eq!(Score::of(1.0, 25.0, 10, 30, 0).total(), 100);
        let slow = Score::of(1.0, 25.0, 60, 30, 1);
        assert_eq!((slow.economy, slow.care), (8, 5));
        assert_eq!(Score::of(0.0, 0.0, 30, 30, 9).total(), 0);
    }

    #[test]
    fn certainty_is_earned_by_the_tests() {
        let leaking = BTreeSet::from([3]);
        let call: Call = "3".parse().unwrap();
        let points = |proof: &Proof| certainty(&call, &leaking, proof);
        let nothing = Proof::default();
        assert_eq!(points(&nothing), 0.0);
        let named = nothing.with(Test::Crank, &shown(&[3], &[3], &[]));
        assert_eq!(points(&named), 10.0);
        let confirmed = named.with(Test::Crank, &shown(&[], &[], &[3]));
        assert_eq!(points(&confirmed), 25.0);
        // Silence at idle does not confirm pulses seen on the starter only.
        let elsewhere = named.with(Test::Idle, &shown(&[], &[], &[3]));
        assert_eq!(points(&elsewhere), 10.0);
        // A wrong call earns nothing by it, and one cylinder too many half.
        assert_eq!(certainty(&"2".parse().unwrap(), &leaking, &confirmed), 0.0);
        assert_eq!(
            certainty(&"2+3".parse().unwrap(), &leaking, &confirmed),
            12.5
        );
    }
}
