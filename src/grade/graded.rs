//! A capture, its call, and what that was worth.

use super::firing_offset::Firing;
use super::kind::Kind;
use super::strata::{BY_CAPTURE, Grouping, strata};
use super::verdict::{Verdict, judge, verdict};
use crate::domain::{Call, Entry, Truth};
use crate::formats::csv_line::{line, number};
use serde::Serialize;
use std::borrow::Cow;

/// A capture with its call and what that was worth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Graded {
    /// The capture's name.
    pub capture: String,
    /// The call; `None` if the capture was not called.
    pub call: Option<Entry>,
    /// What it was worth, and why; of calls by the million it is not said why.
    pub verdict: Verdict,
    /// The calls that score in full, best first: `2|5`, `unsure or none`.
    pub expected: String,
    /// The best of them; `None` if there is none.
    #[serde(skip)]
    pub supported: Option<Call>,
    /// Where the call stands in the firing order.
    #[serde(skip)]
    pub firing: Option<Firing>,
    /// The lag by the truth, ms: of the called cylinder if its leak shows, else of the leak that counts.
    #[serde(skip)]
    pub true_lag_ms: Option<f64>,
    /// The capture's stratum in each grouping that is asked for.
    #[serde(skip)]
    pub strata: Vec<Cow<'static, str>>,
}

impl Graded {
    /// A call graded against its truth.
    pub fn new(call: Entry, truth: &Truth) -> Self {
        Graded::of(Some(call), truth, &[], true)
    }

    /// A call or none, graded; it is said why only if `explain`.
    pub(super) fn of(call: Option<Entry>, truth: &Truth, by: &[Grouping], explain: bool) -> Self {
        let called = call.as_ref().map(|call| call.cylinders);
        let one = match called {
            Some(Call::All(set)) => set.only(),
            _ => None,
        };
        let mut showing = truth.visible_leaks();
        let own = showing.find(|leak| Some(leak.cylinder) == one);
        Graded {
            capture: truth.capture.clone(),
            verdict: match called {
                None => Verdict {
                    kind: Kind::NoCall,
                    points: 0.0,
                    sentence: "The capture was not called.".into(),
                },
                Some(called) if explain => verdict(called, truth),
                Some(called) => judge(called, truth),
            },
            expected: truth.evidence.expected(),
            supported: truth.evidence.supported.first().copied(),
            firing: called.and_then(|called| Firing::of(called, truth)),
            true_lag_ms: own
                .or_else(|| truth.leak_that_counts())
                .and_then(|leak| leak.lag_ms),
            strata: strata(by, truth),
            call,
        }
    }

    /// Whether the call scored in full.
    pub fn is_right(&self) -> bool {
        self.verdict.points >= 1.0
    }

    /// The call as it is written; empty for none.
    pub fn called(&self) -> String {
        let call = self.call.as_ref();
        call.map_or(String::new(), |call| call.cylinders.to_string())
    }

    /// The stated confidence, and whether the call scored in full; `None` without a confidence, and
    /// for `unsure`.
    pub fn stated(&self) -> Option<(f64, bool)> {
        let call = self.call.as_ref();
        let call = call.filter(|c| c.cylinders != Call::Unsure)?;
        Some((call.confidence?, self.is_right()))
    }

    /// The row of an analyzer's results ([`super::results`]), with its line end.
    pub fn line(&self) -> String {
        let call = self.call.as_ref();
        let cells = [
            self.capture.as_str(),
            &self.called(),
            &number(call.and_then(|call| call.confidence)),
            &number(call.and_then(|call| call.lag_ms)),
            &self.expected,
            &self.verdict.points.to_string(),
            self.verdict.kind.label(),
            &self
                .true_lag_ms
                .map_or(String::new(), |ms| format!("{ms:.2}")),
        ];
        debug_assert!(self.strata.len() == BY_CAPTURE.len());
        line(
            cells
                .into_iter()
                .chain(self.strata.iter().map(|stratum| &**stratum)),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::testing::{call, six, truth};

    #[test]
    fn the_lag_is_that_of_the_leak_called() {
        let mut key = truth(six(), Sync::Full, &[2, 5], &[], &["2+5"]);
        key.leaks[0].lag_ms = Some(30.0);
        key.leaks[1].pulse_height = Some(9.0);
        let lag = |key: &Truth, cylinder| Graded::new(call(cylinder), key).true_lag_ms;
        assert_eq!(lag(&key, "2"), Some(30.0));
        assert_eq!(lag(&key, "4"), Some(20.0));
        let healthy = truth(six(), Sync::Full, &[], &[], &["none"]);
        assert_eq!(lag(&healthy, "4"), None);
    }
}
