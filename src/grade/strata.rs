//! Strata: captures that are alike, by which scores are broken down.
//!
//! Each capture is in one stratum of each grouping. Lag and pulse height are those of the leak that counts;
//! the lag counts in firing intervals, from the leaking cylinder to the next, since what counts is whether
//! the pulse reaches the neighbour's TDC. Bounds are chosen by us.

use crate::domain::{Difficulty, LeakTruth, Sync, Truth};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// What captures are grouped by.
pub struct Grouping {
    /// One word, the column of the results.
    pub name: &'static str,
    /// What its strata tell.
    pub meaning: &'static str,
    /// Its strata in order, where they are known beforehand.
    strata: &'static [&'static str],
    /// The stratum of a capture.
    of: fn(&Truth) -> Cow<'static, str>,
}

/// What an analyzer's captures are grouped by, in the order of the results' columns.
pub const BY_CAPTURE: [Grouping; 7] = [
    Grouping {
        name: "lag_intervals",
        meaning: "lag, firing intervals",
        strata: &LAGS,
        of: |truth| {
            let lag = truth
                .leak_that_counts()
                .and_then(|leak| lag_intervals(leak, truth));
            band(lag, &[0.25, 0.5, 0.75, 1.0], &LAGS)
        },
    },
    Grouping {
        name: "pulse_over_noise",
        meaning: "pulse over noise",
        strata: &RATIOS,
        of: |truth| {
            let ratio = truth
                .leak_that_counts()
                .and_then(|leak| leak.pulse_over_noise);
            band(ratio, &[10.0, 30.0, 100.0], &RATIOS)
        },
    },
    Grouping {
        name: "engine",
        meaning: "engine",
        strata: &[],
        of: |truth| engine(truth).into(),
    },
    Grouping {
        name: "sync",
        meaning: "what the sync marks",
        strata: &["one cylinder", "a pair", "nothing"],
        of: |truth| {
            Cow::Borrowed(match truth.evidence.sync {
                Sync::Full => "one cylinder",
                Sync::Pair => "a pair",
                Sync::None => "nothing",
            })
        },
    },
    Grouping {
        name: "mode",
        meaning: "mode",
        strata: &["cranking", "idle"],
        of: |truth| truth.mode.to_string().into(),
    },
    by_difficulty("difficulty", |truth| third(truth, |d| d.total)),
    Grouping {
        name: "leaks",
        meaning: "leaks that show",
        strata: &LEAKS,
        of: |truth| LEAKS[truth.evidence.visible.len().min(2)].into(),
    },
];

/// What a class's captures are grouped by: the parts of difficulty.
pub const BY_DIFFICULTY: [Grouping; 7] = [
    by_difficulty("difficulty as a whole", |truth| third(truth, |d| d.total)),
    by_difficulty("lag", |truth| third(truth, |d| d.lag)),
    by_difficulty("noise beside the pulse", |truth| third(truth, |d| d.noise)),
    by_difficulty("what the sync leaves open", |truth| {
        third(truth, |d| d.sync)
    }),
    by_difficulty("second leak", |truth| third(truth, |d| d.second_leak)),
    by_difficulty("worn cylinders", |truth| third(truth, |d| d.decoy)),
    by_difficulty("clipping", |truth| third(truth, |d| d.clipping)),
];

const NO_PULSE: &str = "no pulse";
const LAGS: [&str; 6] = [
    "under 0.25",
    "0.25 to 0.5",
    "0.5 to 0.75",
    "0.75 to 1",
    "1 or more",
    NO_PULSE,
];
const RATIOS: [&str; 5] = ["under 10", "10 to 30", "30 to 100", "100 or more", NO_PULSE];
const LEAKS: [&str; 3] = ["none", "one", "several"];
pub(super) const THIRDS: [&str; 3] = ["low", "middle", "high"];

const fn by_difficulty(name: &'static str, of: fn(&Truth) -> Cow<'static, str>) -> Grouping {
    Grouping {
        name,
        meaning: name,
        strata: &THIRDS,
        of,
    }
}

fn third(truth: &Truth, part: fn(&Difficulty) -> f64) -> Cow<'static, str> {
    let part = part(&truth.difficulty);
    band(Some(part), &[1.0 / 3.0, 2.0 / 3.0], &THIRDS)
}

/// The stratum of a value among those that begin at the bounds.
fn band(value: Option<f64>, bounds: &[f64], strata: &[&'static str]) -> Cow<'static, str> {
    let stratum = |value| strata[bounds.partition_point(|b| *b <= value)];
    Cow::Borrowed(value.map_or(NO_PULSE, stratum))
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

/// The stratum of a capture in each of some groupings.
pub fn strata(by: &[Grouping], truth: &Truth) -> Vec<Cow<'static, str>> {
    by.iter().map(|grouping| (grouping.of)(truth)).collect()
}

/// The strata of one grouping, in order, empty ones left out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Strata<T> {
    /// The grouping's name.
    #[serde(rename = "factor")]
    pub by: &'static str,
    /// What the strata tell.
    #[serde(skip)]
    pub meaning: &'static str,
    /// The strata.
    #[serde(rename = "levels")]
    pub strata: Vec<Stratum<T>>,
}

/// Captures that are alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stratum<T> {
    /// What they have in common.
    #[serde(rename = "level")]
    pub name: String,
    /// What came of them.
    #[serde(flatten)]
    pub of: T,
}

/// What is counted in the strata of some groupings.
#[derive(Clone)]
pub struct Counting<T>(&'static [Grouping], Vec<BTreeMap<String, T>>);

impl<T: Default> Counting<T> {
    /// Nothing counted yet.
    pub fn new(by: &'static [Grouping]) -> Self {
        Counting(by, by.iter().map(|_| BTreeMap::new()).collect())
    }

    /// Counts a capture, whose strata are given in the order of the groupings.
    pub fn add(
        &mut self,
        strata: impl IntoIterator<Item = impl AsRef<str>>,
        count: impl Fn(&mut T),
    ) {
        for (counted, name) in self.1.iter_mut().zip(strata) {
            let name = name.as_ref();
            match counted.get_mut(name) {
                Some(counted) => count(counted),
                None => count(counted.entry(name.into()).or_default()),
            }
        }
    }

    /// What came of each stratum, by what was counted in it.
    pub fn finish<R>(self, of: impl Fn(T) -> R) -> Vec<Strata<R>> {
        let all = self.0.iter().zip(self.1);
        all.map(|(by, counted)| {
            let strata = counted
                .into_iter()
                .map(|(name, t)| Stratum { name, of: of(t) });
            let mut strata: Vec<Stratum<R>> = strata.collect();
            // Their known place first, then their name, by which they are sorted already.
            let known = |s: &Stratum<R>| by.strata.iter().position(|name| *name == s.name);
            strata.sort_by_key(|s| known(s).unwrap_or(by.strata.len()));
            Strata {
                by: by.name,
                meaning: by.meaning,
                strata,
            }
        })
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grade::testing::{four, six, truth};

    #[test]
    fn every_capture_is_in_a_stratum_of_each() {
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
        assert_eq!(strata(&BY_CAPTURE, &key), words);
        key.leaks[0].lag_deg = Some(90.0);
        key.leaks[0].pulse_over_noise = Some(100.0);
        key.engine.firing_intervals_deg = vec![150.0, 210.0, 150.0, 210.0];
        key.engine.layout = crate::domain::Layout::Vee;
        let now = strata(&BY_CAPTURE, &key);
        assert_eq!(now[0], "0.25 to 0.5");
        assert_eq!((&*now[1], &*now[2]), ("100 or more", "vee 4, odd-firing"));
        let healthy = truth(six(), Sync::None, &[], &[2], &["unsure", "none"]);
        let words = [
            NO_PULSE, NO_PULSE, "inline 6", "nothing", "cranking", "low", "none",
        ];
        assert_eq!(strata(&BY_CAPTURE, &healthy), words);
    }

    #[test]
    fn strata_stand_in_their_order() {
        let mut counting: Counting<usize> = Counting::new(&BY_CAPTURE);
        let of = |lag, engine| [lag, NO_PULSE, engine, "a pair", "idle", "low", "one"];
        for (lag, engine) in [
            (NO_PULSE, "inline 4"),
            ("1 or more", "flat 4"),
            ("under 0.25", "inline 4"),
        ] {
            counting.add(of(lag, engine), |n| *n += 1);
        }
        let all = counting.finish(|n| n);
        let counts = |i: usize| -> Vec<(&str, usize)> {
            let strata = all[i].strata.iter();
            strata.map(|s| (s.name.as_str(), s.of)).collect()
        };
        assert_eq!(
            counts(0),
            [("under 0.25", 1), ("1 or more", 1), (NO_PULSE, 1)]
        );
        assert_eq!(counts(2), [("flat 4", 1), ("inline 4", 2)]);
        assert_eq!(counts(3), [("a pair", 3)]);
    }
}
