//! Matching calls with truths: every call needs a capture of the key and cylinders of its engine.

use super::entry::Entry;
use super::phrase::cylinders;
use crate::domain::Call;
use crate::domain::Truth;
use crate::error::shown;
use crate::error::{Fault, nearest};
use std::collections::BTreeMap;

/// The calls that can be graded, each with its truth, and a fault for every call that cannot.
///
/// `file` names the call sheet in the faults' places. Of several truths for one capture the first
/// counts. A truth that contradicts itself is a fault too, and its capture is not graded.
pub fn match_truths<'t>(
    file: &str,
    calls: Vec<Entry>,
    truths: &'t [Truth],
) -> (Vec<(Entry, &'t Truth)>, Vec<Fault>) {
    let mut key: BTreeMap<&str, &Truth> = BTreeMap::new();
    for truth in truths {
        key.entry(&truth.capture).or_insert(truth);
    }
    let mut matched = Vec::new();
    let mut faults = key_faults(truths);
    for call in calls {
        let place = |column| format!("{file}: row of {}, column {column}", shown(&call.capture));
        let Some(truth) = key.get(call.capture.as_str()) else {
            // A file's name is the commonest slip, and too far from the capture's to be nearest.
            let bare = call.capture.trim_end_matches(".wav");
            let remedy = match nearest(bare, key.keys().copied()) {
                Some(name) => format!("write {name} if that is meant"),
                None => "write the name as the capture's card gives it".into(),
            };
            let problem = format!("there is no capture {} in the key", shown(&call.capture));
            faults.push(Fault::new(place("capture"), problem, remedy));
            continue;
        };
        let lacking = lacking(&call.cylinders, truth);
        if !lacking.is_empty() {
            let mut has = truth.engine.firing_order.clone();
            has.sort_unstable();
            faults.push(Fault::new(
                place("cylinders"),
                format!("the engine has no {}", cylinders(lacking)),
                format!("call among its {}", cylinders(has)),
            ));
        } else if unsound(truth).is_empty() {
            matched.push((call, *truth));
        }
    }
    (matched, faults)
}

/// Why nothing can be graded against some truths of a key, by the names of their captures; of several
/// truths for one capture the first counts.
pub fn key_faults(truths: &[Truth]) -> Vec<Fault> {
    let key: BTreeMap<&str, &Truth> = truths.iter().rev().map(|t| (&*t.capture, t)).collect();
    key.values().flat_map(|truth| unsound(truth)).collect()
}

/// The cylinders of a call that its engine does not have.
pub(super) fn lacking(called: &Call, truth: &Truth) -> Vec<u32> {
    let lacks = |c: &u32| truth.engine.firing_place(*c).is_none();
    called.named().iter().filter(lacks).collect()
}

/// Why nothing can be graded against a truth.
pub(super) fn unsound(truth: &Truth) -> Vec<Fault> {
    let place = |field: &str| format!("{}.truth.json: {field}", truth.capture);
    let engine = &truth.engine;
    let mut faults = Vec::new();
    let (fire, intervals) = (engine.firing_order.len(), engine.firing_intervals_deg.len());
    if fire != intervals {
        faults.push(Fault::new(
            place("engine.firing_intervals_deg"),
            format!("{fire} cylinders fire at {intervals} intervals"),
            "give one interval for each cylinder of the firing order",
        ));
    }
    if truth.evidence.supported.is_empty() {
        faults.push(Fault::new(
            place("evidence.supported"),
            "no call is supported",
            "name at least one; a capture that settles nothing supports unsure",
        ));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::testing::{call, four, truth};

    fn named(capture: &str, cylinders: &str) -> Entry {
        Entry {
            capture: capture.into(),
            ..call(cylinders)
        }
    }

    #[test]
    fn a_call_finds_its_truth() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        let (matched, faults) = match_truths("a.csv", vec![named("quiz-1", "4")], &key);
        assert_eq!(faults, []);
        assert_eq!(matched, [(named("quiz-1", "4"), &key[0])]);
    }

    #[test]
    fn a_call_without_a_truth_or_a_cylinder_is_a_fault() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        for (capture, cylinders, fault) in [
            (
                "quis-1",
                "3",
                "a.csv: row of \"quis-1\", column capture: there is no capture \"quis-1\" in the key; \
                 write quiz-1 if that is meant",
            ),
            (
                "quiz-1.wav",
                "3",
                "a.csv: row of \"quiz-1.wav\", column capture: there is no capture \"quiz-1.wav\" \
                 in the key; write quiz-1 if that is meant",
            ),
            (
                "lesson",
                "3",
                "a.csv: row of \"lesson\", column capture: there is no capture \"lesson\" in the key; \
                 write the name as the capture's card gives it",
            ),
            (
                "quiz-1",
                "3|5|6",
                "a.csv: row of \"quiz-1\", column cylinders: the engine has no cylinders 5 and 6; \
                 call among its cylinders 1, 2, 3 and 4",
            ),
        ] {
            let (matched, faults) = match_truths("a.csv", vec![named(capture, cylinders)], &key);
            assert_eq!(matched, []);
            assert_eq!(
                faults.iter().map(Fault::to_string).collect::<Vec<_>>(),
                [fault]
            );
        }
    }

    #[test]
    fn a_truth_that_contradicts_itself_is_a_fault() {
        let mut bad = truth(four(), Sync::Full, &[3], &[], &["3"]);
        bad.engine.firing_intervals_deg.pop();
        let key = [bad];
        let (matched, faults) = match_truths("a.csv", vec![named("quiz-1", "3")], &key);
        assert_eq!(matched, []);
        let places: Vec<_> = faults.iter().map(|f| f.place.as_str()).collect();
        let file = "quiz-1.truth.json: ";
        assert_eq!(places, [format!("{file}engine.firing_intervals_deg")]);

        let empty = truth(four(), Sync::Full, &[3], &[], &[]);
        let (_, faults) = match_truths("a.csv", vec![], &[empty]);
        assert_eq!(faults[0].problem, "no call is supported");
    }
}
