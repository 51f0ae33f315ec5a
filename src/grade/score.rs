//! Scores: many verdicts, summed up.
//!
//! Accuracy is the share of calls that score in full, with Wilson's interval. The Brier score holds the
//! stated confidence against what came of the call, 1 if it scored in full and 0 if not ([`statistics`]).
//! `unsure` claims nothing of the engine to be confident of, and readers differ on what a confidence
//! beside it means, so it is left out.
//!
//! [`statistics`]: super::statistics

use super::entry::Entry;
use super::statistics::{brier, wilson_95};
use super::verdict::{Kind, Verdict, verdict};
use crate::domain::Call;
use crate::domain::Truth;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// A capture with its call and what that was worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Graded {
    /// The capture's name.
    pub capture: String,
    /// The call; `None` if the capture was not called.
    pub call: Option<Entry>,
    /// What it was worth, and why.
    pub verdict: Verdict,
    /// The calls that score in full, best first: `2|5`, `unsure or none`.
    pub expected: String,
}

impl Graded {
    /// A call graded against its truth.
    pub fn new(call: Entry, truth: &Truth) -> Self {
        Graded {
            capture: truth.capture.clone(),
            verdict: verdict(&call, truth),
            expected: truth.evidence.expected(),
            call: Some(call),
        }
    }

    /// A capture without a call, worth nothing.
    pub fn uncalled(truth: &Truth) -> Self {
        Graded {
            capture: truth.capture.clone(),
            call: None,
            verdict: Verdict {
                kind: Kind::NoCall,
                points: 0.0,
                sentence: "The capture was not called.".into(),
            },
            expected: truth.evidence.expected(),
        }
    }

    /// Whether the call scored in full.
    pub fn is_right(&self) -> bool {
        self.verdict.points >= 1.0
    }

    /// The stated confidence, and whether the call scored in full; `None` without a confidence, and
    /// for `unsure`.
    pub fn stated(&self) -> Option<(f64, bool)> {
        let call = self.call.as_ref();
        let call = call.filter(|c| c.cylinders != Call::Unsure)?;
        Some((call.confidence?, self.is_right()))
    }
}

/// The truths that no call was matched with, in the key's order, as captures without a call.
pub fn uncalled(graded: &[Graded], truths: &[Truth]) -> Vec<Graded> {
    let called: BTreeSet<&str> = graded.iter().map(|g| g.capture.as_str()).collect();
    let missing = truths
        .iter()
        .filter(|t| !called.contains(t.capture.as_str()));
    missing.map(Graded::uncalled).collect()
}

/// Many verdicts, summed up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Number of captures graded.
    pub n: usize,
    /// Sum of points.
    pub points: f64,
    /// Mean points, 0 to 1; `None` if nothing was graded.
    pub mean: Option<f64>,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Share of calls that scored in full; `None` if nothing was graded.
    pub accuracy: Option<f64>,
    /// Wilson's 95 % interval of the accuracy, low and high.
    pub accuracy_95: Option<[f64; 2]>,
    /// Number of calls in the Brier score: those with a confidence, but for `unsure`.
    pub with_confidence: usize,
    /// Brier score in its binary form, 0 (perfect) to 1; `None` without such calls.
    pub brier: Option<f64>,
    /// How often each kind of verdict was given; kinds not given are left out.
    pub kinds: BTreeMap<Kind, usize>,
}

impl Summary {
    /// Sums up verdicts, of one student or of many.
    pub fn of(graded: &[Graded]) -> Self {
        let n = graded.len();
        let points: f64 = graded.iter().map(|g| g.verdict.points).sum();
        let right = graded.iter().filter(|g| g.is_right()).count();
        let stated: Vec<(f64, bool)> = graded.iter().filter_map(Graded::stated).collect();
        let mut kinds = BTreeMap::new();
        for one in graded {
            *kinds.entry(one.verdict.kind).or_insert(0) += 1;
        }
        let over_n = |sum: f64| (n > 0).then(|| sum / n as f64);
        Summary {
            n,
            points,
            mean: over_n(points),
            right,
            accuracy: over_n(right as f64),
            accuracy_95: wilson_95(right, n),
            with_confidence: stated.len(),
            brier: brier(&stated),
            kinds,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::testing::{call, four, truth};

    #[test]
    fn a_summary_adds_up() {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let sure = |cylinders: &str, p| Entry {
            confidence: Some(p),
            ..call(cylinders)
        };
        let mut graded: Vec<Graded> = [
            sure("3", 0.9),
            sure("4", 0.5),
            sure("unsure", 0.1),
            call("3|4"),
            call("3"),
        ]
        .map(|call| Graded::new(call, &key))
        .to_vec();
        graded.push(Graded::uncalled(&key));
        let summary = Summary::of(&graded);
        assert_eq!((summary.n, summary.right, summary.points), (6, 2, 2.75));
        assert_eq!(summary.mean, Some(2.75 / 6.0));
        assert_eq!(summary.accuracy, Some(2.0 / 6.0));
        assert_eq!(summary.accuracy_95, wilson_95(2, 6));
        // (0.1^2 + 0.5^2) / 2, by hand: unsure is left out.
        assert_eq!(summary.with_confidence, 2);
        assert!((summary.brier.unwrap() - 0.13).abs() < 1e-15);
        let kinds = [
            (Kind::Right, 2),
            (Kind::LessThanShown, 1),
            (Kind::UnsureThoughShown, 1),
            (Kind::NeighbourAfter, 1),
            (Kind::NoCall, 1),
        ];
        assert_eq!(summary.kinds, BTreeMap::from(kinds));
    }

    #[test]
    fn nothing_graded_is_no_number() {
        let summary = Summary::of(&[]);
        let none = (
            summary.mean,
            summary.accuracy,
            summary.accuracy_95,
            summary.brier,
        );
        assert_eq!(none, (None, None, None, None));
    }

    #[test]
    fn captures_without_a_call_are_found() {
        let key = ["a", "b", "c"].map(|name| Truth {
            capture: name.into(),
            ..truth(four(), Sync::Full, &[3], &[], &["3"])
        });
        let graded = [Graded::new(call("3"), &key[1])];
        let missing = uncalled(&graded, &key);
        assert_eq!(
            missing
                .iter()
                .map(|g| g.capture.as_str())
                .collect::<Vec<_>>(),
            ["a", "c"]
        );
        assert!(
            missing
                .iter()
                .all(|g| g.verdict.points == 0.0 && g.expected == "3")
        );
    }
}
