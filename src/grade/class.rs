//! A class: the call sheets of many students against one key, summed up.

use super::calibration::Calibration;
use super::firing_offset::Offsets;
use super::graded::Graded;
use super::grader::{Grader, unsound};
use super::kind::Kind;
use super::strata::{BY_DIFFICULTY, Strata};
use super::tally::{Counts, Shares, Summary, Tally, slip};
use crate::domain::{Difficulty, Entry, Truth};
use crate::error::{Fault, nearest};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Bins of stated confidence.
const BINS: usize = 5;

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

/// A class against its key; serialised, the `--json` of grading.
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
    #[serde(rename = "places", serialize_with = "one_matrix")]
    pub offsets: Offsets,
    /// Scores by the parts of difficulty; empty if the key does not tell difficulty.
    #[serde(rename = "factors", serialize_with = "thirds")]
    pub strata: Vec<Strata<Shares>>,
    /// Captures that were called, the one most got wrong first.
    pub items: Vec<Item>,
    /// Truths that contradict themselves, so that nothing is graded against them.
    pub key_faults: Vec<Fault>,
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

/// A class whose sheets are being graded.
#[derive(Default)]
pub struct ClassGrading {
    students: Vec<Grading>,
    captures: BTreeMap<String, Capture>,
}

/// A student who is being graded.
struct Grading {
    name: String,
    grader: Grader,
    /// What was graded, each with the row of its call.
    graded: Vec<(usize, Graded)>,
}

/// What is kept of a truth.
struct Capture {
    title: String,
    expected: String,
    difficulty: Difficulty,
    cylinders: usize,
    faults: Vec<Fault>,
}

impl ClassGrading {
    /// Adds a student: the calls of the sheet `file`, and what of it could not be read. With `all`, captures that
    /// were not called are listed, at no points.
    pub fn add(&mut self, name: &str, file: &str, calls: &[Entry], faults: Vec<Fault>, all: bool) {
        let grader = Grader::student(file, calls, faults, all);
        self.students.push(Grading {
            name: name.into(),
            grader,
            graded: Vec::new(),
        });
    }

    /// Grades all calls of a capture; of several truths for one the first counts.
    pub fn grade(&mut self, truth: &Truth) {
        if self.captures.contains_key(&truth.capture) {
            return;
        }
        for student in &mut self.students {
            student.graded.extend(student.grader.grade(truth));
        }
        let capture = Capture {
            title: truth.title.clone(),
            expected: truth.evidence.expected(),
            difficulty: truth.difficulty,
            cylinders: truth.engine.firing_order.len(),
            faults: unsound(truth),
        };
        self.captures.insert(truth.capture.clone(), capture);
    }

    /// Sums up the class, of the pack of this id.
    pub fn finish(self, pack: Option<String>) -> Class {
        let captures = self.captures;
        let near = |name: &str| {
            let bare = name.trim_end_matches(".wav");
            nearest(bare, captures.keys().map(String::as_str)).map(String::from)
        };
        let mut whole = Tally::new(BINS, &BY_DIFFICULTY);
        let students = self.students.into_iter().map(|student| {
            let Grading {
                name,
                grader,
                mut graded,
            } = student;
            graded.sort_by_key(|(row, _)| *row);
            let mut own = Tally::new(BINS, &[]);
            for (_, one) in &graded {
                own.add(one);
                whole.add(one);
            }
            Student {
                name,
                sheet: grader.file().into(),
                graded: graded.into_iter().map(|(_, graded)| graded).collect(),
                summary: own.summary(),
                calibration: own.calibration(),
                faults: grader.finish(near).first,
            }
        });
        let students: Vec<Student> = students.collect();
        for capture in captures.values() {
            whole.offsets.matrix(capture.cylinders);
        }
        let tells = captures
            .values()
            .any(|c| c.difficulty != Difficulty::default());
        Class {
            pack,
            captures: captures.len(),
            summary: whole.summary(),
            calibration: whole.calibration(),
            strata: if tells { whole.strata() } else { Vec::new() },
            items: items(&students, &captures),
            offsets: whole.offsets,
            key_faults: captures.into_values().flat_map(|c| c.faults).collect(),
            students,
        }
    }
}

/// Calls of one reader, graded against some truths, and what could not be graded.
pub fn graded<'t>(
    file: &str,
    calls: &[Entry],
    truths: impl IntoIterator<Item = &'t Truth>,
) -> (Vec<Graded>, Vec<Fault>) {
    let mut grading = ClassGrading::default();
    grading.add("", file, calls, Vec::new(), false);
    truths.into_iter().for_each(|truth| grading.grade(truth));
    let class = grading.finish(None);
    let faults = class.faults();
    (
        class.students.into_iter().flat_map(|s| s.graded).collect(),
        faults,
    )
}

impl Student {
    /// Whether nothing of the sheet could be graded.
    pub fn is_refused(&self) -> bool {
        self.graded.is_empty()
    }

    /// The verdict most often given to calls that did not score in full, and how often.
    pub fn slip(&self) -> Option<(Kind, usize)> {
        slip(&self.summary.kinds)
    }
}

impl Class {
    /// The students of whose sheets something could be graded.
    pub fn readable(&self) -> impl Iterator<Item = &Student> {
        self.students.iter().filter(|student| !student.is_refused())
    }

    /// All that could not be read or graded, the key's faults first.
    pub fn faults(&self) -> Vec<Fault> {
        let sheets = self.students.iter().flat_map(|student| &student.faults);
        self.key_faults.iter().chain(sheets).cloned().collect()
    }

    /// What could not be read, a sentence each for sheets and for cells; empty if all could.
    pub fn unread(&self) -> Vec<String> {
        let cells = self.readable().map(|s| s.faults.len()).sum();
        let refused = self.students.len() - self.readable().count();
        let say = |n: usize, one: &str, many: &str| match n {
            0 => None,
            1 => Some(format!("1 {one} could not be read; the rest is graded.")),
            n => Some(format!("{n} {many} could not be read; the rest is graded.")),
        };
        [
            say(
                self.key_faults.len(),
                "field of the key",
                "fields of the key",
            ),
            say(refused, "call sheet", "call sheets"),
            say(cells, "cell", "cells"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

fn items(students: &[Student], captures: &BTreeMap<String, Capture>) -> Vec<Item> {
    let mut counted: BTreeMap<&str, (Counts, BTreeMap<Kind, usize>)> = BTreeMap::new();
    for one in students.iter().flat_map(|student| &student.graded) {
        let (counts, kinds) = counted.entry(&one.capture).or_default();
        counts.add(one.verdict.points);
        *kinds.entry(one.verdict.kind).or_insert(0) += 1;
    }
    let item = |(name, (counts, kinds)): (&str, (Counts, BTreeMap<Kind, usize>))| {
        let (capture, shares) = (captures.get(name)?, counts.shares());
        Some(Item {
            capture: name.into(),
            title: capture.title.clone(),
            expected: capture.expected.clone(),
            difficulty: capture.difficulty.total,
            n: shares.n,
            right: shares.right,
            mean: shares.mean?,
            slip: slip(&kinds),
        })
    };
    let mut items: Vec<Item> = counted.into_iter().filter_map(item).collect();
    // Equal shares go by points, and then by name, in which order they stand already.
    let share = |item: &Item| item.right as f64 / item.n as f64;
    items.sort_by(|a, b| {
        let by_share = share(a).total_cmp(&share(b));
        by_share.then(a.mean.total_cmp(&b.mean))
    });
    items
}

/// Offsets as a class's JSON has them: with a matrix if all engines have one number of cylinders.
fn one_matrix<S: Serializer>(offsets: &Offsets, to: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Matrix<'o> {
        rows: &'o [Vec<usize>],
    }
    #[derive(Serialize)]
    struct Places<'o> {
        n: usize,
        offsets: &'o BTreeMap<i64, usize>,
        matrix: Option<Matrix<'o>>,
    }
    let only = offsets.by_cylinders.values().next();
    let only = only.filter(|_| offsets.by_cylinders.len() == 1);
    let places = Places {
        n: offsets.n,
        offsets: &offsets.offsets,
        matrix: only.map(|rows| Matrix { rows }),
    };
    places.serialize(to)
}

/// Strata of difficulty as a class's JSON has them: each third, whether or not a capture is in it.
fn thirds<S: Serializer>(strata: &[Strata<Shares>], to: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Level<'s> {
        name: &'s str,
        n: usize,
        right: usize,
        mean: Option<f64>,
        right_95: Option<[f64; 2]>,
    }
    #[derive(Serialize)]
    struct Factor<'s> {
        name: &'s str,
        levels: Vec<Level<'s>>,
    }
    to.collect_seq(strata.iter().map(|part| {
        Factor {
            name: part.by,
            levels: super::strata::THIRDS
                .map(|name| {
                    let found = part.strata.iter().find(|s| s.name == name);
                    let shares = found.map_or(Shares::default(), |s| s.of.clone());
                    Level {
                        name,
                        n: shares.n,
                        right: shares.right,
                        mean: shares.mean,
                        right_95: shares.accuracy_95,
                    }
                })
                .into(),
        }
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::formats::call_sheet;
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

    fn class(key: &[Truth], sheets: &[(&str, &str)], all: bool) -> Class {
        let mut grading = ClassGrading::default();
        for (name, rows) in sheets {
            let sheet = format!("capture,cylinders,confidence\n{rows}");
            let (calls, faults) = call_sheet::read(name, sheet.as_bytes(), None);
            grading.add(name, &format!("{name}.csv"), &calls, faults, all);
        }
        key.iter().for_each(|truth| grading.grade(truth));
        grading.finish(Some("p1".into()))
    }

    #[test]
    fn a_class_is_the_sum_of_its_students() {
        let sheets = [
            ("ann", "q1,3,0.9\nq2,3,0.8\nq3,2|3,0.7\n"),
            ("bo", "q3,3,0.9\nq1,3,0.9\nq2,4,0.9\n"),
        ];
        let class = class(&key(), &sheets, false);
        assert_eq!((class.summary.n, class.summary.right), (6, 4));
        let right: Vec<_> = class.students.iter().map(|s| s.summary.right).collect();
        assert_eq!(right, [3, 1]);
        assert_eq!(class.students[0].slip(), None);
        assert_eq!(class.students[1].slip(), Some((Kind::MoreThanShown, 1)));
        let order: Vec<_> = class.students[1]
            .graded
            .iter()
            .map(|g| &*g.capture)
            .collect();
        assert_eq!(order, ["q3", "q1", "q2"]);
        assert_eq!(class.offsets.offsets, BTreeMap::from([(0, 3), (1, 1)]));
        let items: Vec<_> = class.items.iter().map(|i| (&*i.capture, i.right)).collect();
        assert_eq!(items, [("q2", 1), ("q3", 1), ("q1", 2)]);
        assert_eq!(class.items[0].slip, Some((Kind::NeighbourAfter, 1)));
        assert_eq!(class.strata[1].by, "lag");
        let strata = class.strata[1].strata.iter();
        let counts: Vec<_> = strata.map(|s| (&*s.name, s.of.n, s.of.right)).collect();
        assert_eq!(counts, [("low", 2, 2), ("middle", 2, 1), ("high", 2, 1)]);
        assert_eq!(class.unread(), Vec::<String>::new());
        let json = serde_json::to_value(&class).unwrap();
        assert_eq!(json["factors"][6]["levels"][2]["n"], 0);
        assert_eq!(
            json["places"]["matrix"]["rows"][1],
            serde_json::json!([0, 3, 1, 0])
        );
    }

    #[test]
    fn what_cannot_be_read_is_told_and_the_rest_is_graded() {
        let sheets = [
            (
                "ann",
                "q9,3,0.7\nq2.wav,3,0.1\nq1,three,0.9\nq2,3,0.8\nq3,7,0.7\n",
            ),
            ("bo", "q1;3\n"),
        ];
        let class = class(&key(), &sheets, false);
        assert_eq!(class.summary.n, 1);
        assert_eq!(
            class.unread(),
            [
                "1 call sheet could not be read; the rest is graded.",
                "4 cells could not be read; the rest is graded."
            ]
        );
        let told: Vec<String> = class.students[0]
            .faults
            .iter()
            .map(Fault::to_string)
            .collect();
        let told = told.join("\n");
        insta::assert_snapshot!(told, @r#"
        ann: line 4, column cylinders: "three" is not a call; write a cylinder such as 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure
        ann.csv: row of "q9", column capture: there is no capture "q9" in the key; write q1 if that is meant
        ann.csv: row of "q2.wav", column capture: there is no capture "q2.wav" in the key; write q2 if that is meant
        ann.csv: row of "q3", column cylinders: the engine has no cylinder 7; call among its cylinders 1, 2, 3 and 4
        "#);
        assert_eq!(class.faults().len(), 4 + class.students[1].faults.len());
    }

    #[test]
    fn captures_without_a_call_are_listed_on_demand() {
        let class = class(&key(), &[("ann", "q2,3,\nq3,9,\n"), ("bo", "")], true);
        let rows = class.students[0].graded.iter();
        let rows: Vec<_> = rows.map(|g| (&*g.capture, g.verdict.kind)).collect();
        let none = Kind::NoCall;
        assert_eq!(rows, [("q2", Kind::Right), ("q1", none), ("q3", none)]);
        assert!(class.students[1].is_refused());
    }

    #[test]
    fn engines_of_different_sizes_share_no_matrix() {
        let mut key = key();
        key[1].engine = crate::grade::testing::six();
        let json = serde_json::to_value(class(&key, &[("ann", "q1,4,\n")], false)).unwrap();
        assert!(json["places"]["matrix"].is_null());
        assert_eq!(json["places"]["offsets"]["1"], 1);
    }

    #[test]
    fn a_key_that_tells_no_difficulty_has_no_strata() {
        let key = [truth(four(), Sync::Full, &[3], &[], &["3"])];
        assert!(class(&key, &[], false).strata.is_empty());
    }

    #[test]
    fn a_truth_that_contradicts_itself_is_told_once() {
        let mut key = key();
        key[0].evidence.supported.clear();
        key[2].engine.firing_intervals_deg.pop();
        let sheet = "q1,3,\nq2,3,\n";
        let class = class(&key, &[("ann", sheet), ("bo", sheet)], false);
        let told: Vec<String> = class.faults().iter().map(Fault::to_string).collect();
        insta::assert_snapshot!(told.join("\n"), @r"
        q1.truth.json: evidence.supported: no call is supported; name at least one; a capture that settles nothing supports unsure
        q3.truth.json: engine.firing_intervals_deg: 4 cylinders fire at 3 intervals; give one interval for each cylinder of the firing order
        ");
        assert_eq!(class.summary.n, 2);
    }
}
