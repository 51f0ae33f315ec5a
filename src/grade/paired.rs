//! Two runs over the same captures: whether the new one is better or worse than the old.
//!
//! Captures are paired by their names, since a capture that both read alike says nothing of the difference:
//! what tells are those that one alone got right. The exact McNemar test asks whether they fall to both sides as
//! by chance, and Newcombe's interval says how large the difference may be ([`super::statistics`]). The same
//! is asked of every stratum of every grouping, for a gain over all can hide a loss where the lag is long; with so
//! many questions some answer by chance, so that their p-values are adjusted by Holm's method.

use super::by_capture::ByCapture;
use super::results::{Past, Reader};
use super::statistics::{holm, mcnemar_exact, paired_difference_95};
use super::strata::{BY_CAPTURE, Counting, Strata, Stratum};
use crate::error::{Fault, Faults};
use crate::formats::Lines;
use serde::Serialize;
use std::io::BufRead;

/// What the format line of a comparison says.
pub const COMPARISON_FORMAT: &str = "waterjacket comparison 1";

/// Captures that are named among those newly wrong.
const MOST_NAMED: usize = 20;

/// What counts as a regression.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// A loss is one if chance alone would give as much with a smaller probability than this.
    pub significance: f64,
    /// And, whether or not it may be chance, if the accuracy over all falls by more than this share.
    pub most_drop: Option<f64>,
}

/// Old and new results of the same captures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// Name and version of this format, [`COMPARISON_FORMAT`].
    pub format: &'static str,
    /// The file of the old results.
    pub old: String,
    /// The file of the new results.
    pub new: String,
    /// What counts as a regression.
    pub rule: Rule,
    /// All captures that stand in both.
    pub all: Paired,
    /// The same by what captures are like, as the new results tell it.
    #[serde(rename = "factors")]
    pub strata: Vec<Strata<Compared>>,
    /// The first captures that were right and are wrong now, in the order of the new results.
    pub newly_wrong: Vec<String>,
    /// Captures that stand in the old results alone; they are left out.
    pub only_in_old: usize,
    /// Captures that stand in the new results alone; they are left out.
    pub only_in_new: usize,
    /// Every regression, in words; empty if there is none.
    pub regressions: Vec<String>,
}

/// Pairs of outcomes.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Paired {
    /// Number of captures.
    pub n: usize,
    /// Both runs right.
    pub both_right: usize,
    /// The old run alone right: newly wrong.
    pub only_old_right: usize,
    /// The new run alone right: newly right.
    pub only_new_right: usize,
    /// Both wrong.
    pub both_wrong: usize,
    /// New accuracy less old one; `None` without captures.
    pub difference: Option<f64>,
    /// Newcombe's 95 % interval of it.
    pub difference_95: Option<[f64; 2]>,
    /// Two-sided p-value of the exact McNemar test.
    pub p_value: f64,
}

/// Pairs of one stratum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// Its pairs.
    #[serde(flatten)]
    pub paired: Paired,
    /// The p-value, adjusted for the number of strata asked.
    pub p_adjusted: f64,
    /// Whether it is a regression.
    pub regression: bool,
}

impl Paired {
    fn add(&mut self, old: bool, new: bool) {
        self.n += 1;
        *match (old, new) {
            (true, true) => &mut self.both_right,
            (true, false) => &mut self.only_old_right,
            (false, true) => &mut self.only_new_right,
            (false, false) => &mut self.both_wrong,
        } += 1;
    }

    fn tested(self) -> Paired {
        let [a, b, c, d] = [
            self.both_right,
            self.only_old_right,
            self.only_new_right,
            self.both_wrong,
        ];
        Paired {
            difference: (self.n > 0).then(|| (c as f64 - b as f64) / self.n as f64),
            difference_95: paired_difference_95(a, b, c, d),
            p_value: mcnemar_exact(b, c),
            ..self
        }
    }

    /// Accuracy of the old run and of the new one; `None` without captures.
    pub fn accuracies(&self) -> Option<[f64; 2]> {
        let share = |right: usize| right as f64 / self.n as f64;
        let both = self.both_right;
        (self.n > 0).then(|| [self.only_old_right, self.only_new_right].map(|o| share(both + o)))
    }

    fn is_worse(&self) -> bool {
        self.only_old_right > self.only_new_right
    }
}

impl Comparison {
    /// Compares two results that [`super::Graded::line`] wrote.
    ///
    /// # Errors
    /// Files that cannot be read as such, a capture that stands twice in one, or no capture in both.
    pub fn of(
        old: Lines<impl BufRead>,
        new: Lines<impl BufRead>,
        rule: Rule,
    ) -> Result<Comparison, Faults> {
        let [old_file, new_file] = [old.file().to_string(), new.file().to_string()];
        let mut before = ByCapture::new();
        each(old, |past, line| {
            before.push(past.capture, "", line, past.right);
            Ok(())
        })?;
        let mut first_fault = None;
        before.sort(|capture, line, first| {
            let place = format!("{old_file}: line {line}");
            first_fault.get_or_insert(twice(place, capture, &format!("on line {first}")));
        });
        if let Some(fault) = first_fault {
            return Err(fault.into());
        }

        let mut all = Paired::default();
        let mut strata: Counting<Paired> = Counting::new(&BY_CAPTURE);
        let mut newly_wrong = Vec::new();
        let mut only_in_new = 0;
        each(new, |past, line| {
            let was = match before.take(past.capture) {
                None => {
                    only_in_new += 1;
                    return Ok(());
                }
                Some(Err(())) => {
                    let place = format!("{new_file}: line {line}");
                    return Err(twice(place, past.capture, "on an earlier line"));
                }
                Some(Ok(found)) => found.value,
            };
            all.add(was, past.right);
            strata.add(past.strata, |paired| paired.add(was, past.right));
            if was && !past.right && newly_wrong.len() < MOST_NAMED {
                newly_wrong.push(past.capture.to_string());
            }
            Ok(())
        })?;
        if all.n == 0 {
            let problem = format!("no capture stands both here and in {old_file}");
            let remedy = "compare two runs over the same captures";
            return Err(Fault::new(new_file, problem, remedy).into());
        }
        let all = all.tested();
        let strata = compared(strata, rule);
        Ok(Comparison {
            format: COMPARISON_FORMAT,
            old: old_file,
            new: new_file,
            regressions: regressions(&all, &strata, rule),
            only_in_old: before.left().len(),
            rule,
            all,
            strata,
            newly_wrong,
            only_in_new,
        })
    }

    /// Number of strata that were asked.
    pub fn asked(&self) -> usize {
        self.strata.iter().map(|by| by.strata.len()).sum()
    }
}

fn twice(place: String, capture: &str, first: &str) -> Fault {
    let problem = format!("{capture} already stands {first}");
    Fault::new(place, problem, "compare results as `grade` wrote them")
}

/// Gives every row of results to `take`, with its line.
fn each(
    mut lines: Lines<impl BufRead>,
    mut take: impl FnMut(Past, usize) -> Result<(), Fault>,
) -> Result<(), Faults> {
    let file = lines.file().to_string();
    let mut reader = Reader::new(&file);
    while let Some(line) = lines.next()? {
        let Some(bytes) = line.bytes else {
            let place = format!("{file}: line {}", line.number);
            let remedy = "compare results as `grade` wrote them";
            return Err(Fault::new(place, "the line is too long", remedy).into());
        };
        if let Some(past) = reader.read(line.number, bytes)? {
            take(past, line.number)?;
        }
    }
    Ok(())
}

fn compared(strata: Counting<Paired>, rule: Rule) -> Vec<Strata<Compared>> {
    let mut strata = strata.finish(|paired| Compared {
        paired: paired.tested(),
        p_adjusted: 1.0,
        regression: false,
    });
    let mut all: Vec<&mut Stratum<Compared>> =
        strata.iter_mut().flat_map(|by| &mut by.strata).collect();
    let p_values: Vec<f64> = all.iter().map(|one| one.of.paired.p_value).collect();
    for (one, p_adjusted) in all.iter_mut().zip(holm(&p_values)) {
        one.of.p_adjusted = p_adjusted;
        one.of.regression = p_adjusted < rule.significance && one.of.paired.is_worse();
    }
    strata
}

fn regressions(all: &Paired, strata: &[Strata<Compared>], rule: Rule) -> Vec<String> {
    let lost = |paired: &Paired| {
        format!(
            "{} newly wrong, {} newly right of {}",
            paired.only_old_right, paired.only_new_right, paired.n
        )
    };
    let mut told = Vec::new();
    if all.is_worse() && all.p_value < rule.significance {
        told.push(format!(
            "over all captures: {}, p = {:.2e}",
            lost(all),
            all.p_value
        ));
    }
    if let (Some(most), Some(difference)) = (rule.most_drop, all.difference)
        && -difference > most
    {
        told.push(format!(
            "over all captures: accuracy fell by {:.1} points, more than {:.1}",
            -100.0 * difference,
            100.0 * most
        ));
    }
    for by in strata {
        let worse = by.strata.iter().filter(|one| one.of.regression);
        told.extend(worse.map(|one| {
            let (paired, p) = (lost(&one.of.paired), one.of.p_adjusted);
            format!("{}, {}: {paired}, adjusted p = {p:.2e}", by.by, one.name)
        }));
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Sync;
    use crate::grade::Graded;
    use crate::grade::results::header;
    use crate::grade::testing::{four, truth};
    use std::io::Cursor;

    const RULE: Rule = Rule {
        significance: 0.05,
        most_drop: None,
    };

    fn lines(name: &str, rows: String) -> Lines<Cursor<String>> {
        Lines::of(name, Cursor::new(header() + &rows), 1000)
    }

    fn line(capture: &str, right: bool, mode: &'static str) -> String {
        let key = truth(four(), Sync::Full, &[3], &[], &["3"]);
        let mut graded = Graded::of(None, &key, &BY_CAPTURE, false);
        graded.capture = capture.into();
        graded.verdict.points = f64::from(u8::from(right));
        graded.strata[4] = mode.into();
        graded.line()
    }

    /// Results of `n` captures, of which every fifth idles, right as `right` says.
    fn written(name: &str, n: usize, right: impl Fn(usize) -> bool) -> Lines<Cursor<String>> {
        let mode = |i: usize| {
            if i.is_multiple_of(5) {
                "idle"
            } else {
                "cranking"
            }
        };
        let rows: String = (0..n)
            .map(|i| line(&format!("c{i}"), right(i), mode(i)))
            .collect();
        lines(name, rows)
    }

    #[test]
    fn a_run_against_itself_is_no_regression() {
        let run = |name| written(name, 100, |i| i % 4 > 0);
        let comparison = Comparison::of(run("a.csv"), run("b.csv"), RULE).unwrap();
        assert_eq!(comparison.all.accuracies(), Some([0.75, 0.75]));
        assert_eq!(
            (comparison.all.difference, comparison.all.p_value),
            (Some(0.0), 1.0)
        );
        assert_eq!(comparison.regressions, [""; 0]);
    }

    #[test]
    fn a_loss_at_idle_is_found_behind_a_gain_over_all() {
        let old = written("a.csv", 400, |i| i.is_multiple_of(5) || i > 150);
        let new = written("b.csv", 400, |i| !i.is_multiple_of(5));
        let comparison = Comparison::of(old, new, RULE).unwrap();
        assert!(comparison.all.difference > Some(0.0));
        assert_eq!(
            comparison.regressions.len(),
            1,
            "{:?}",
            comparison.regressions
        );
        assert!(comparison.regressions[0].starts_with("mode, idle: 80 newly wrong, 0 newly right"));
        assert_eq!(comparison.newly_wrong.len(), MOST_NAMED);
        assert_eq!(comparison.newly_wrong[1], "c5");
    }

    #[test]
    fn a_drop_may_be_too_large_though_it_may_be_chance() {
        let runs = || {
            let old = written("a.csv", 100, |_| true);
            (old, written("b.csv", 97, |i| i > 2))
        };
        let (old, new) = runs();
        let comparison = Comparison::of(old, new, RULE).unwrap();
        assert_eq!((comparison.only_in_old, comparison.only_in_new), (3, 0));
        assert!(comparison.regressions.is_empty());
        let (old, new) = runs();
        let strict = Rule {
            most_drop: Some(0.02),
            ..RULE
        };
        let comparison = Comparison::of(old, new, strict).unwrap();
        assert!(comparison.regressions[0].contains("fell by 3.1 points"));
    }

    #[test]
    fn what_cannot_be_paired_is_refused() {
        let run = |name| written(name, 3, |_| true);
        let other = lines("c.csv", line("other", true, "idle"));
        let words = Comparison::of(run("a.csv"), other, RULE)
            .unwrap_err()
            .to_string();
        assert!(words.contains("no capture stands both"), "{words}");
        let double = line("c0", true, "idle") + &line("c0", false, "idle");
        for swap in [false, true] {
            let double = lines("d.csv", double.clone());
            let (old, new) = if swap {
                (double, run("a.csv"))
            } else {
                (run("a.csv"), double)
            };
            let words = Comparison::of(old, new, RULE).unwrap_err().to_string();
            let first = ["on line 2", "on an earlier line"][usize::from(!swap)];
            assert!(
                words.contains(&format!("d.csv: line 3: c0 already stands {first};")),
                "{words}"
            );
        }
    }
}
