//! A class: the call sheets of many students against one key, summed up.

use super::calibration::Calibration;
use super::matching::{key_faults, match_truths};
use super::place::Places;
use super::score::{Graded, Summary, uncalled};
use super::sheet;
use super::statistics::wilson_95;
use super::verdict::Kind;
use crate::domain::{Difficulty, Truth};
use crate::error::Fault;
use serde::Serialize;
use std::collections::BTreeMap;

/// One student's call sheet, graded.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Student {
    /// What the student is called: the sheet's name.
    pub name: String,
    /// The sheet's file.
    pub sheet: String,
    /// Every graded capture, in the sheet's order.
    pub graded: Vec<Graded>,
    /// What they add up to.
    pub summary: Summary,
    /// Stated confidence against outcome.
    pub calibration: Calibration,
    /// All in the sheet that could not be read or graded.
    pub faults: Vec<Fault>,
}

/// A class against its key.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Class {
    /// Id of the pack whose key this is; `None` for a key without one.
    pub pack: Option<String>,
    /// Number of captures in the key.
    pub captures: usize,
    /// Students in the order of their sheets.
    pub students: Vec<Student>,
    /// What all calls of all students add up to.
    pub summary: Summary,
    /// Stated confidence against outcome, of all calls.
    pub calibration: Calibration,
    /// Where the calls stand in the firing order.
    pub places: Places,
    /// How difficulty told; empty if the key does not tell difficulty.
    pub factors: Vec<Factor>,
    /// Captures that were called, the one most got wrong first.
    pub items: Vec<Item>,
    /// Truths that contradict themselves, so that nothing is graded against them.
    pub key_faults: Vec<Fault>,
}

/// Scores by one part of difficulty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Factor {
    /// What makes a capture hard.
    pub name: String,
    /// Captures in which it is below a third, below two thirds, and above.
    pub levels: [Level; 3],
}

/// Scores of the captures of one level of difficulty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Level {
    /// `low`, `middle` or `high`.
    pub name: String,
    /// Number of captures graded.
    pub n: usize,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Mean points; `None` if nothing was graded.
    pub mean: Option<f64>,
    /// Wilson's 95 % interval of the share that was right; `None` likewise.
    pub right_95: Option<[f64; 2]>,
}

/// One capture and what the class made of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// The capture's name.
    pub capture: String,
    /// The scenario's title.
    pub title: String,
    /// The calls that score in full, best first.
    pub expected: String,
    /// How hard the capture is as a whole, 0 to 1.
    pub difficulty: f64,
    /// Number of students graded on it.
    pub n: usize,
    /// How many of them scored in full.
    pub right: usize,
    /// Mean points, 0 to 1.
    pub mean: f64,
    /// The verdict most often given to those who did not score in full, and how often.
    pub slip: Option<(Kind, usize)>,
}

impl Student {
    /// Grades one sheet. `pack` is the key's pack, which a sheet that names another is refused for;
    /// `all` lists captures that were not called, at no points.
    pub fn grade(
        name: &str,
        sheet: &str,
        bytes: &[u8],
        key: &[Truth],
        pack: Option<&str>,
        all: bool,
    ) -> Self {
        let (calls, mut faults) = sheet::read(sheet, bytes, pack);
        let refused = calls.is_empty();
        let (matched, unmatched) = match_truths(sheet, calls, key);
        let of_key = key_faults(key);
        faults.extend(
            unmatched
                .into_iter()
                .filter(|fault| !of_key.contains(fault)),
        );
        let mut graded: Vec<Graded> = matched
            .into_iter()
            .map(|(call, truth)| Graded::new(call, truth))
            .collect();
        if all && !refused {
            let rest = uncalled(&graded, key);
            graded.extend(rest);
        }
        Student::new(name, sheet, graded, faults)
    }

    /// A student whose sheet could not be read.
    pub fn unread(name: &str, sheet: &str, faults: Vec<Fault>) -> Self {
        Student::new(name, sheet, Vec::new(), faults)
    }

    fn new(name: &str, sheet: &str, graded: Vec<Graded>, faults: Vec<Fault>) -> Self {
        Student {
            name: name.into(),
            sheet: sheet.into(),
            summary: Summary::of(&graded),
            calibration: Calibration::of(&graded),
            graded,
            faults,
        }
    }

    /// Whether nothing of the sheet could be graded.
    pub fn is_refused(&self) -> bool {
        self.graded.is_empty()
    }

    /// The verdict most often given to calls that did not score in full, and how often.
    pub fn slip(&self) -> Option<(Kind, usize)> {
        slip(self.graded.iter())
    }
}

impl Class {
    /// Sums up a class.
    pub fn new(students: Vec<Student>, key: &[Truth], pack: Option<String>) -> Self {
        let truths: BTreeMap<&str, &Truth> =
            key.iter().rev().map(|t| (t.capture.as_str(), t)).collect();
        let all: Vec<(&Graded, &Truth)> = students
            .iter()
            .flat_map(|student| &student.graded)
            .filter_map(|one| Some((one, *truths.get(one.capture.as_str())?)))
            .collect();
        let graded: Vec<Graded> = all.iter().map(|(one, _)| (*one).clone()).collect();
        Class {
            pack,
            captures: truths.len(),
            summary: Summary::of(&graded),
            calibration: Calibration::of(&graded),
            places: Places::of(all.iter().copied(), key),
            factors: factors(&all, key),
            items: items(&all),
            key_faults: key_faults(key),
            students,
        }
    }

    /// All that could not be read or graded, the key's faults first.
    pub fn faults(&self) -> Vec<Fault> {
        let sheets = self.students.iter().flat_map(|student| &student.faults);
        self.key_faults.iter().chain(sheets).cloned().collect()
    }

    /// What could not be read, a sentence each for sheets and for cells; empty if all could.
    pub fn unread(&self) -> Vec<String> {
        let (refused, graded): (Vec<&Student>, Vec<&Student>) =
            self.students.iter().partition(|s| s.is_refused());
        let cells = graded.iter().map(|s| s.faults.len()).sum();
        let truths = self.key_faults.len();
        let say = |n: usize, one: &str, many: &str| match n {
            0 => None,
            1 => Some(format!("1 {one} could not be read; the rest is graded.")),
            n => Some(format!("{n} {many} could not be read; the rest is graded.")),
        };
        [
            say(truths, "field of the key", "fields of the key"),
            say(refused.len(), "call sheet", "call sheets"),
            say(cells, "cell", "cells"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// A part of difficulty: what a table calls it, and where it stands.
type Part = (&'static str, fn(&Difficulty) -> f64);

const PARTS: [Part; 7] = [
    ("difficulty as a whole", |d| d.total),
    ("lag", |d| d.lag),
    ("noise beside the pulse", |d| d.noise),
    ("what the sync leaves open", |d| d.sync),
    ("second leak", |d| d.second_leak),
    ("worn cylinders", |d| d.decoy),
    ("clipping", |d| d.clipping),
];

fn factors(all: &[(&Graded, &Truth)], key: &[Truth]) -> Vec<Factor> {
    if key.iter().all(|t| t.difficulty == Difficulty::default()) {
        return Vec::new();
    }
    let factor = |(name, part): Part| {
        let level = |name: &str, from: f64, below: f64| {
            let within = |t: &Truth| part(&t.difficulty) >= from && part(&t.difficulty) < below;
            let these = all.iter().filter(|(_, truth)| within(truth));
            let points: Vec<f64> = these.clone().map(|(one, _)| one.verdict.points).collect();
            let (n, right) = (points.len(), these.filter(|(g, _)| g.is_right()).count());
            Level {
                name: name.into(),
                n,
                right,
                mean: (n > 0).then(|| points.iter().sum::<f64>() / n as f64),
                right_95: wilson_95(right, n),
            }
        };
        let third = 1.0 / 3.0;
        Factor {
            name: name.into(),
            levels: [
                level("low", f64::NEG_INFINITY, third),
                level("middle", third, 2.0 * third),
                level("high", 2.0 * third, f64::INFINITY),
            ],
        }
    };
    PARTS.map(factor).into()
}

fn items(all: &[(&Graded, &Truth)]) -> Vec<Item> {
    let mut by_capture: BTreeMap<&str, (&Truth, Vec<&Graded>)> = BTreeMap::new();
    for (one, truth) in all {
        let (_, calls) = by_capture
            .entry(&one.capture)
            .or_insert((*truth, Vec::new()));
        calls.push(*one);
    }
    let mut items: Vec<Item> = by_capture
        .into_values()
        .map(|(truth, calls)| Item {
            capture: truth.capture.clone(),
            title: truth.title.clone(),
            expected: truth.evidence.expected(),
            difficulty: truth.difficulty.total,
            n: calls.len(),
            right: calls.iter().filter(|g| g.is_right()).count(),
            mean: calls.iter().map(|g| g.verdict.points).sum::<f64>() / calls.len() as f64,
            slip: slip(calls.iter().copied()),
        })
        .collect();
    // Equal shares go by points, and then by name, in which order they stand already.
    let share = |item: &Item| item.right as f64 / item.n as f64;
    items.sort_by(|a, b| {
        let by_share = share(a).total_cmp(&share(b));
        by_share.then(a.mean.total_cmp(&b.mean))
    });
    items
}

fn slip<'g>(graded: impl Iterator<Item = &'g Graded>) -> Option<(Kind, usize)> {
    let mut kinds: BTreeMap<Kind, usize> = BTreeMap::new();
    for one in graded.filter(|g| !g.is_right()) {
        *kinds.entry(one.verdict.kind).or_insert(0) += 1;
    }
    // Of several that are equally frequent, the first of the kinds.
    kinds.into_iter().rev().max_by_key(|(_, n)| *n)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::testing::{four, truth, with_lag};

    fn key() -> Vec<Truth> {
        let named = |name: &str, hard: f64, truth: Truth| Truth {
            capture: name.into(),
            difficulty: Difficulty {
                total: hard,
                lag: hard,
                ..Difficulty::default()
            },
            ..truth
        };
        let one = || truth(four(), Sync::Full, &[3], &[], &["3"]);
        vec![
            named("q1", 0.1, one()),
            named("q2", 0.9, with_lag(one(), 120.0)),
            named("q3", 0.4, truth(four(), Sync::Pair, &[3], &[], &["2|3"])),
        ]
    }

    fn class(sheets: &[(&str, &str)]) -> Class {
        let key = key();
        let students = sheets
            .iter()
            .map(|(name, rows)| {
                let sheet = format!("capture,cylinders,confidence\n{rows}");
                let file = format!("{name}.csv");
                Student::grade(name, &file, sheet.as_bytes(), &key, Some("p1"), false)
            })
            .collect();
        Class::new(students, &key, Some("p1".into()))
    }

    #[test]
    fn a_class_is_the_sum_of_its_students() {
        let class = class(&[
            ("ann", "q1,3,0.9\nq2,3,0.8\nq3,2|3,0.7\n"),
            ("bo", "q1,3,0.9\nq2,4,0.9\nq3,3,0.9\n"),
        ]);
        assert_eq!((class.summary.n, class.summary.right), (6, 4));
        let right: Vec<_> = class.students.iter().map(|s| s.summary.right).collect();
        assert_eq!(right, [3, 1]);
        assert_eq!(class.students[0].slip(), None);
        assert_eq!(class.students[1].slip(), Some((Kind::MoreThanShown, 1)));
        assert_eq!(class.places.offsets, BTreeMap::from([(0, 3), (1, 1)]));
        let items: Vec<_> = class.items.iter().map(|i| (&*i.capture, i.right)).collect();
        assert_eq!(items, [("q2", 1), ("q3", 1), ("q1", 2)]);
        assert_eq!(class.items[0].slip, Some((Kind::NeighbourAfter, 1)));
        let [low, middle, high] = &class.factors[1].levels;
        assert_eq!(class.factors[1].name, "lag");
        assert_eq!([low.n, middle.n, high.n], [2, 2, 2]);
        assert_eq!([low.right, middle.right, high.right], [2, 1, 1]);
        assert_eq!(class.unread(), Vec::<String>::new());
    }

    #[test]
    fn what_cannot_be_read_is_told_and_the_rest_is_graded() {
        let class = class(&[
            ("ann", "q1,three,0.9\nq2,3,0.8\nq9,3,0.7\n"),
            ("bo", "q1;3\n"),
        ]);
        assert_eq!(class.summary.n, 1);
        assert_eq!(
            class.unread(),
            [
                "1 call sheet could not be read; the rest is graded.",
                "2 cells could not be read; the rest is graded."
            ]
        );
        assert_eq!(class.faults().len(), 3 + class.students[1].faults.len() - 1);
    }

    #[test]
    fn a_key_that_tells_no_difficulty_has_no_factors() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        assert!(Class::new(vec![], &key, None).factors.is_empty());
    }

    #[test]
    fn a_truth_that_contradicts_itself_is_told_once() {
        let mut key = key();
        key[0].evidence.supported.clear();
        let sheet = b"capture,cylinders\nq1,3\nq2,3\n";
        let students = ["ann", "bo"].map(|n| Student::grade(n, n, sheet, &key, None, false));
        let class = Class::new(students.into(), &key, None);
        assert_eq!((class.faults().len(), class.summary.n), (1, 2));
    }
}
