//! An analyzer's calls, graded against a key one truth at a time.
//!
//! The calls stand packed in memory, the key does not: each truth is looked at once, its call found, and
//! what came of it counted. A capture of the key without a call is a call not made, at no points, so that an
//! analyzer gains nothing by passing over what is hard.

use super::answers::Answers;
use super::calibration::{Calibration, Tally};
use super::factor::{FACTORS, levels, true_lag_ms};
use super::matching::{lacking, unsound};
use super::named::Named;
use super::outcome::Outcome;
use super::packed::Packed;
use super::phrase::cylinders;
use super::place::{centred, places};
use super::rows::{Format, Read, Reader, Row};
use super::score::Summary;
use super::statistics::{surprise, wilson_95};
use super::told::Told;
use super::verdict::{Kind, judge};
use crate::domain::Call;
use crate::domain::Truth;
use crate::error::shown;
use crate::error::{Fault, Faults};
use crate::files::{Line, Lines};
use serde::Serialize;
use std::collections::BTreeMap;

/// What the format line of scores says.
pub const SCORES_FORMAT: &str = "waterjacket scores 1";

/// Bins of stated confidence.
const BINS: usize = 10;

/// What an analyzer's calls add up to; serialised, the `--json` of grading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scores {
    /// Name and version of this format, [`SCORES_FORMAT`].
    pub format: &'static str,
    /// The file of the calls.
    pub calls: String,
    /// What all captures of the key add up to.
    pub summary: Summary,
    /// Stated confidence against outcome, in ten bins.
    pub calibration: Calibration,
    /// Mean logarithmic score of stated confidences, 0 (perfect) to 6.9; `None` without any.
    pub log_score: Option<f64>,
    /// Expected calibration error over the ten bins, 0 (perfect) to 1; `None` likewise.
    pub calibration_error: Option<f64>,
    /// How far stated lags are off; `None` if no call that states one is of a capture with a pulse.
    pub lag: Option<LagError>,
    /// Scores by what captures are like.
    pub factors: Vec<Breakdown>,
    /// What captures support against what was called.
    pub answers: Answers,
    /// Where calls of one cylinder stand in the firing order, where one is supported.
    pub places: Offsets,
    /// What could not be read or graded.
    pub faults: Told,
}

/// Stated lags less true ones.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LagError {
    /// Number of calls with a lag, of captures with a pulse.
    pub n: usize,
    /// Mean error, ms: above 0, stated too long.
    pub bias_ms: f64,
    /// Root of the mean square error, ms.
    pub rms_ms: f64,
    /// Median of the error without its sign, ms.
    pub median_ms: f64,
    /// Nine in ten are off by no more, ms.
    pub ninetieth_ms: f64,
}

/// Scores by one factor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Breakdown {
    /// The factor's name.
    pub factor: &'static str,
    /// Its levels, in order, empty ones left out.
    pub levels: Vec<Level>,
}

/// Scores of the captures of one level of a factor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Level {
    /// The level.
    pub level: String,
    /// Number of captures.
    pub n: usize,
    /// Number of calls that scored in full.
    pub right: usize,
    /// Their share.
    pub accuracy: f64,
    /// Wilson's 95 % interval of the share.
    pub accuracy_95: Option<[f64; 2]>,
    /// Mean points, 0 to 1.
    pub mean: f64,
}

/// Calls of one cylinder by how many places after the leaking one they stand.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Offsets {
    /// Number of such calls.
    pub n: usize,
    /// How many stand so many places after the leaking cylinder (before it, if negative).
    pub offsets: BTreeMap<i64, usize>,
    /// For each number of cylinders, called places against leaking ones: a row for each place of the leaking
    /// cylinder in the firing order.
    pub by_cylinders: BTreeMap<usize, Vec<Vec<usize>>>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Counted {
    n: usize,
    right: usize,
    points: f64,
}

impl Counted {
    fn add(&mut self, points: f64) {
        self.n += 1;
        self.right += usize::from(points >= 1.0);
        self.points += points;
    }
}

/// A grading in progress.
pub struct Grading {
    file: String,
    calls: Named<Packed>,
    told: Told,
    all: Counted,
    kinds: BTreeMap<Kind, usize>,
    stated: Tally,
    squares: f64,
    surprise: f64,
    lags_ms: Vec<f64>,
    levels: [BTreeMap<String, Counted>; FACTORS.len()],
    answers: Answers,
    places: Offsets,
}

impl Grading {
    /// Reads the calls, CSV or JSON Lines by the file's name.
    ///
    /// # Errors
    /// If the file cannot be read, its header is not one, or there is no call in it; faults of rows are kept
    /// for the scores.
    pub fn begin(mut lines: Lines) -> Result<Grading, Faults> {
        let file = lines.path().display().to_string();
        let mut reader = Reader::new(&file, Format::of(&file));
        let mut calls = Named::new();
        let mut told = Told::default();
        let mut line = Vec::new();
        loop {
            let read = lines.next(&mut line)?;
            let number = lines.number();
            let place = |field: &str| format!("{file}: line {number}{field}");
            match read {
                Line::End => break,
                Line::TooLong => told.push_with(|| {
                    let remedy = "keep each call on one line, and look for a stray quotation mark";
                    Fault::new(place(""), "the line is too long", remedy)
                }),
                Line::Whole => match reader.read(number, &line) {
                    Read::Nothing => {}
                    Read::Refused(faults) => return Err(Faults(faults)),
                    Read::Faulty(faults) => faults.into_iter().for_each(|fault| told.push(fault)),
                    Read::Row(row, faults) => {
                        faults.into_iter().for_each(|fault| told.push(fault));
                        calls.push(&row.call.capture, number, Packed::of(&row));
                    }
                },
            }
        }
        calls.sort(|capture, again, first| {
            told.push_with(|| {
                let problem = format!("{} already stands on line {first}", shown(capture));
                let remedy = "keep one call for each capture; only the first is graded";
                Fault::new(format!("{file}: line {again}, capture"), problem, remedy)
            });
        });
        if calls.len() == 0 && told.count == 0 {
            let remedy = "write a row for each capture";
            return Err(Fault::new(file, "there is no call in it", remedy).into());
        }
        Ok(Grading {
            file,
            calls,
            told,
            all: Counted::default(),
            kinds: BTreeMap::new(),
            stated: Tally::new(BINS),
            squares: 0.0,
            surprise: 0.0,
            lags_ms: Vec::new(),
            levels: Default::default(),
            answers: Answers::default(),
            places: Offsets::default(),
        })
    }

    /// Grades the call of a capture, or counts that there is none; `None` if nothing can be graded.
    pub fn grade(&mut self, truth: &Truth) -> Option<Outcome> {
        let unsound = unsound(truth);
        if !unsound.is_empty() {
            // Its call finds no other truth, and the key is at fault, not the call.
            self.calls.take(&truth.capture);
            unsound.into_iter().for_each(|fault| self.told.push(fault));
            return None;
        }
        let row = match self.calls.take(&truth.capture) {
            None => None,
            Some(Ok((call, line))) => {
                let row = call.row(&truth.capture);
                let lacking = lacking(&row.call.cylinders, truth);
                if !lacking.is_empty() {
                    self.told.push_with(|| {
                        let mut has = truth.engine.firing_order.clone();
                        has.sort_unstable();
                        Fault::new(
                            format!("{}: line {line}, cylinders", self.file),
                            format!(
                                "the engine of {} has no {}",
                                truth.capture,
                                cylinders(lacking)
                            ),
                            format!("call among its {}", cylinders(has)),
                        )
                    });
                    return None;
                }
                Some(row)
            }
            Some(Err(_)) => {
                self.told.push_with(|| {
                    let remedy = "keep one truth for each capture; only the first is graded";
                    let place = format!("key: {}", truth.capture);
                    Fault::new(place, "there are two truths of this name", remedy)
                });
                return None;
            }
        };
        let outcome = outcome(row, truth);
        self.count(&outcome, truth);
        Some(outcome)
    }

    fn count(&mut self, outcome: &Outcome, truth: &Truth) {
        let right = outcome.is_right();
        self.all.add(outcome.points);
        *self.kinds.entry(outcome.kind).or_insert(0) += 1;
        for (counted, level) in self.levels.iter_mut().zip(&outcome.levels) {
            match counted.get_mut(level.as_ref()) {
                Some(counted) => counted.add(outcome.points),
                None => counted
                    .entry(level.to_string())
                    .or_default()
                    .add(outcome.points),
            }
        }
        let row = outcome.row.as_ref();
        self.answers.add(row.map(|row| &row.call.cylinders), truth);
        let Some(row) = row else {
            return;
        };
        let called = &row.call.cylinders;
        if let Some(said) = row.call.confidence.filter(|_| *called != Call::Unsure) {
            let miss = said - f64::from(u8::from(right));
            self.stated.add(said, right);
            self.squares += miss * miss;
            self.surprise += surprise(said, right);
        }
        if let (Some(said), Some(due)) = (row.lag_ms, outcome.true_lag_ms) {
            self.lags_ms.push(said - due);
        }
        if let Some([leaking, called]) = places(called, truth) {
            let n = truth.engine.firing_order.len();
            let offset = centred(leaking, called, &truth.engine);
            self.places.n += 1;
            *self.places.offsets.entry(offset).or_insert(0) += 1;
            let rows = self.places.by_cylinders.entry(n);
            rows.or_insert_with(|| vec![vec![0; n]; n])[leaking][called] += 1;
        }
    }

    /// What it all adds up to.
    pub fn finish(mut self) -> Scores {
        let left = self.calls.left();
        for (line, capture) in left {
            self.told.push_with(|| {
                let remedy = match capture.strip_suffix(".wav") {
                    Some(bare) => format!("write {bare} if that is meant"),
                    None => "write the name as the capture's card gives it".into(),
                };
                let problem = format!("there is no capture {} in the key", shown(capture));
                Fault::new(
                    format!("{}: line {line}, capture", self.file),
                    problem,
                    remedy,
                )
            });
        }
        let Counted { n, right, points } = self.all;
        let over_n = |sum: f64| (n > 0).then(|| sum / n as f64);
        let calibration = self.stated.calibration();
        let with_confidence = calibration.n;
        let over_stated = |sum: f64| (with_confidence > 0).then(|| sum / with_confidence as f64);
        Scores {
            format: SCORES_FORMAT,
            summary: Summary {
                n,
                points,
                mean: over_n(points),
                right,
                accuracy: over_n(right as f64),
                accuracy_95: wilson_95(right, n),
                with_confidence,
                brier: over_stated(self.squares),
                kinds: self.kinds,
            },
            log_score: over_stated(self.surprise),
            calibration_error: calibration.expected_error(),
            calibration,
            lag: lag_error(self.lags_ms),
            factors: breakdowns(self.levels),
            answers: self.answers,
            places: self.places,
            faults: self.told,
            calls: self.file,
        }
    }
}

fn outcome(row: Option<Row>, truth: &Truth) -> Outcome {
    let called = row.as_ref().map(|row| &row.call.cylinders);
    let (kind, points) = match called {
        Some(called) => judge(called, truth),
        None => (Kind::NoCall, 0.0),
    };
    let one = match called {
        Some(Call::All(set)) => set.only(),
        _ => None,
    };
    Outcome {
        capture: truth.capture.clone(),
        expected: truth.evidence.expected(),
        points,
        kind,
        true_lag_ms: true_lag_ms(truth, one),
        levels: levels(truth),
        row,
    }
}

fn lag_error(errors: Vec<f64>) -> Option<LagError> {
    let n = errors.len();
    let mean = |sum: f64| sum / n as f64;
    let mut sizes: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    Some(LagError {
        n,
        bias_ms: mean(errors.iter().sum()),
        rms_ms: mean(errors.iter().map(|e| e * e).sum()).sqrt(),
        median_ms: *sizes.get(n / 2)?,
        ninetieth_ms: *sizes.get((n * 9 / 10).min(n.saturating_sub(1)))?,
    })
}

fn breakdowns(levels: [BTreeMap<String, Counted>; FACTORS.len()]) -> Vec<Breakdown> {
    let factors = FACTORS.iter().zip(levels);
    let breakdown = |(factor, counted): (&super::factor::Factor, BTreeMap<String, Counted>)| {
        let mut levels: Vec<(String, Counted)> = counted.into_iter().collect();
        levels.sort_by(|(a, _), (b, _)| factor.rank(a).cmp(&factor.rank(b)));
        let levels = levels
            .into_iter()
            .map(|(level, Counted { n, right, points })| Level {
                level,
                n,
                right,
                accuracy: right as f64 / n as f64,
                accuracy_95: wilson_95(right, n),
                mean: points / n as f64,
            });
        Breakdown {
            factor: factor.name,
            levels: levels.collect(),
        }
    };
    factors.map(breakdown).collect()
}

#[cfg(test)]
mod tests;
