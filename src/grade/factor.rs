//! Factors: what a capture is like, in words by which scores are broken down.
//!
//! Each capture has one level of each factor. Lag and pulse height are those of the largest leak that shows;
//! the lag counts in firing intervals, from the leaking cylinder to the next, since what counts is whether
//! the pulse reaches the neighbour's TDC. Bounds are chosen by us.

use crate::domain::{LeakTruth, Sync, Truth};
use std::borrow::Cow;

/// A factor: its name, what its levels are of, and its levels in order, where they are known beforehand.
pub struct Factor {
    /// One word, the column of the results.
    pub name: &'static str,
    /// What its levels tell.
    pub meaning: &'static str,
    levels: &'static [&'static str],
}

const NO_PULSE: &str = "no pulse";

/// All factors, in the order of the results' columns.
pub const FACTORS: [Factor; 7] = [
    Factor {
        name: "lag_intervals",
        meaning: "lag, firing intervals",
        levels: &[
            "under 0.25",
            "0.25 to 0.5",
            "0.5 to 0.75",
            "0.75 to 1",
            "1 or more",
            NO_PULSE,
        ],
    },
    Factor {
        name: "pulse_over_noise",
        meaning: "pulse over noise",
        levels: &["under 10", "10 to 30", "30 to 100", "100 or more", NO_PULSE],
    },
    Factor {
        name: "engine",
        meaning: "engine",
        levels: &[],
    },
    Factor {
        name: "sync",
        meaning: "what the sync marks",
        levels: &["one cylinder", "a pair", "nothing"],
    },
    Factor {
        name: "mode",
        meaning: "mode",
        levels: &["cranking", "idle"],
    },
    Factor {
        name: "difficulty",
        meaning: "difficulty",
        levels: &["low", "middle", "high"],
    },
    Factor {
        name: "leaks",
        meaning: "leaks that show",
        levels: &["none", "one", "several"],
    },
];

impl Factor {
    /// By what levels are put in order: their known place first, then their name.
    pub fn rank<'l>(&self, level: &'l str) -> (usize, &'l str) {
        let known = self.levels.iter().position(|l| *l == level);
        (known.unwrap_or(self.levels.len()), level)
    }
}

/// The level of each of [`FACTORS`] of a capture.
pub fn levels(truth: &Truth) -> [Cow<'static, str>; FACTORS.len()] {
    let pulse = strongest(truth);
    let band = |factor: usize, value: Option<f64>, bounds: &[f64]| {
        let level = match value {
            Some(value) => FACTORS[factor].levels[bounds.partition_point(|b| *b <= value)],
            None => NO_PULSE,
        };
        Cow::Borrowed(level)
    };
    let lag = pulse.and_then(|leak| lag_intervals(leak, truth));
    let over_noise = pulse.and_then(|leak| leak.pulse_over_noise);
    let sync = match truth.evidence.sync {
        Sync::Full => 0,
        Sync::Pair => 1,
        Sync::None => 2,
    };
    let difficulty = truth.difficulty.total;
    [
        band(0, lag, &[0.25, 0.5, 0.75, 1.0]),
        band(1, over_noise, &[10.0, 30.0, 100.0]),
        engine(truth).into(),
        FACTORS[3].levels[sync].into(),
        truth.mode.to_string().into(),
        band(5, Some(difficulty), &[1.0 / 3.0, 2.0 / 3.0]),
        FACTORS[6].levels[truth.evidence.visible.len().min(2)].into(),
    ]
}

/// The largest leak that shows.
fn strongest(truth: &Truth) -> Option<&LeakTruth> {
    let height = |leak: &&LeakTruth| leak.pulse_height.unwrap_or(0.0);
    let showing = truth.leaks.iter().filter(|leak| leak.visible);
    showing.max_by(|a, b| height(a).total_cmp(&height(b)))
}

/// The lag of the leak that a call of one `cylinder` is about: its own leak's if it shows, else the largest
/// one's, ms.
pub fn true_lag_ms(truth: &Truth, cylinder: Option<u32>) -> Option<f64> {
    let showing = truth.leaks.iter().filter(|leak| leak.visible);
    let own = showing.clone().find(|leak| Some(leak.cylinder) == cylinder);
    own.or_else(|| strongest(truth))?.lag_ms
}

fn lag_intervals(leak: &LeakTruth, truth: &Truth) -> Option<f64> {
    let place = truth.engine.firing_place(leak.cylinder)?;
    let interval = truth.engine.firing_intervals_deg.get(place)?;
    Some(leak.lag_deg? / interval)
}

/// An engine as `vee 6, odd-firing`.
fn engine(truth: &Truth) -> String {
    let plate = &truth.engine;
    let intervals = &plate.firing_intervals_deg;
    let even = intervals.windows(2).all(|w| (w[0] - w[1]).abs() < 1e-6);
    let odd = if even { "" } else { ", odd-firing" };
    format!("{} {}{odd}", plate.layout, plate.cylinders)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grade::testing::{four, six, truth};

    #[test]
    fn every_capture_has_a_level_of_each() {
        let mut key = truth(four(), Sync::Pair, &[3], &[], &["2|3"]);
        key.difficulty.total = 0.5;
        // 21 degrees of 180; 15 times the noise.
        let words = [
            "under 0.25",
            "10 to 30",
            "inline 4",
            "a pair",
            "cranking",
            "middle",
            "one",
        ];
        assert_eq!(levels(&key), words);
        key.leaks[0].lag_deg = Some(90.0);
        key.leaks[0].pulse_over_noise = Some(100.0);
        key.engine.firing_intervals_deg = vec![150.0, 210.0, 150.0, 210.0];
        key.engine.layout = crate::domain::Layout::Vee;
        let now = levels(&key);
        assert_eq!(now[0], "0.25 to 0.5");
        assert_eq!((&*now[1], &*now[2]), ("100 or more", "vee 4, odd-firing"));
        let healthy = truth(six(), Sync::None, &[], &[2], &["unsure", "none"]);
        let words = [
            NO_PULSE, NO_PULSE, "inline 6", "nothing", "cranking", "low", "none",
        ];
        assert_eq!(levels(&healthy), words);
    }

    #[test]
    fn levels_stand_in_their_order() {
        for factor in &FACTORS {
            let mut sorted = factor.levels.to_vec();
            sorted.sort_by_key(|level| factor.rank(level));
            assert_eq!(sorted, factor.levels);
        }
        assert!(FACTORS[2].rank("flat 4") < FACTORS[2].rank("inline 4"));
    }

    #[test]
    fn the_lag_is_that_of_the_leak_called() {
        let mut key = truth(six(), Sync::Full, &[2, 5], &[], &["2+5"]);
        key.leaks[0].lag_ms = Some(30.0);
        key.leaks[1].pulse_height = Some(9.0);
        assert_eq!(true_lag_ms(&key, Some(2)), Some(30.0));
        assert_eq!(true_lag_ms(&key, Some(4)), Some(20.0));
        let healthy = truth(six(), Sync::Full, &[], &[], &["none"]);
        assert_eq!(true_lag_ms(&healthy, Some(4)), None);
    }
}
