//! Filling a quiz: candidates are drawn number by number, and kept where they are wanted.

use super::file::{Entry, Quiz};
use crate::domain::{Call, Truth};
use crate::error::{Fault, Faults};
use crate::random::Stream;
use crate::render::{Rendered, render};
use crate::scenario::{Drawn, Source};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;

/// Candidates for each capture wanted, before a scenario is given up.
const TRIES: u64 = 40;
/// Numbers of one entry's candidates; the next entry's begin behind them, so that two entries of the same
/// scenario share no capture.
const NUMBERS: u64 = 1_000_000;
/// Draws that are looked at for plugs that are always out.
const PLUG_DRAWS: u64 = 16;

/// What a capture asks of its reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// To name the cylinder, or the pair.
    Leak,
    /// To find nothing wrong.
    Healthy,
    /// To see that this capture does not settle it.
    Untold,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Kind::Leak => "leak",
            Kind::Healthy => "healthy",
            Kind::Untold => "untold",
        })
    }
}

/// A capture that was kept.
#[derive(Clone, Debug)]
pub struct Item {
    /// What it asks.
    pub kind: Kind,
    /// Which entry of the quiz it was drawn for.
    pub entry: usize,
    /// The capture; it has no name of its own yet.
    pub rendered: Rendered,
}

/// A capture that is still wanted: its kind, and the cylinder that leaks (or, in a healthy car's twin,
/// would).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Need {
    kind: Kind,
    cylinder: u32,
}

/// Draws all captures of a quiz, in an order that the seed decides. `tick` hears how many are kept after
/// every candidate, and may stop the work.
///
/// # Errors
/// A quiz that cannot be filled: which captures remained, and what to change. Whatever `tick` returns.
pub fn draw(
    quiz: &Quiz,
    sources: &[Source],
    seed: u64,
    tick: &mut dyn FnMut(usize) -> Result<(), Faults>,
) -> Result<Vec<Item>, Faults> {
    let mut items = Vec::new();
    let mut faults = Vec::new();
    let kinds = kinds(&quiz.content.scenarios);
    for (i, source) in sources.iter().enumerate() {
        let filling = Filling {
            quiz,
            source,
            seed,
            entry: i,
        };
        match filling.fill(&kinds[i], items.len(), tick)? {
            Ok(kept) => items.extend(kept),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(Faults(faults));
    }
    shuffle(&mut items, &mut Stream::new(seed, 0, "quiz order"));
    Ok(items)
}

/// The kind of every capture of every entry. Shares are rounded over the pack as a whole, so that few
/// captures of each of many scenarios still come to the share.
fn kinds(entries: &[Entry]) -> Vec<Vec<Kind>> {
    let (mut healthy_due, mut untold_due) = (0.0, 0.0);
    let (mut healthy_given, mut untold_given) = (0, 0);
    entries
        .iter()
        .map(|entry| {
            let n = entry.captures;
            healthy_due += entry.healthy * n as f64;
            untold_due += entry.untold * n as f64;
            let due = |due: f64, given: usize| (due.round() as usize).saturating_sub(given);
            let part = |share: f64, wanted: usize, left: usize| match share {
                0.0 => 0,
                _ => wanted.min(left),
            };
            let healthy = part(entry.healthy, due(healthy_due, healthy_given), n);
            let untold = part(entry.untold, due(untold_due, untold_given), n - healthy);
            healthy_given += healthy;
            untold_given += untold;
            let mut kinds = vec![Kind::Healthy; healthy];
            kinds.resize(healthy + untold, Kind::Untold);
            kinds.resize(n, Kind::Leak);
            kinds
        })
        .collect()
}

/// Every order equally likely (Fisher and Yates).
fn shuffle<T>(items: &mut [T], stream: &mut Stream) {
    for i in (1..items.len()).rev() {
        items.swap(i, stream.below(i + 1));
    }
}

/// One entry on its way.
struct Filling<'a> {
    quiz: &'a Quiz,
    source: &'a Source,
    seed: u64,
    entry: usize,
}

/// Why candidates were passed over, and how often.
type Misses = BTreeMap<&'static str, usize>;

impl Filling<'_> {
    fn fill(
        &self,
        kinds: &[Kind],
        kept_before: usize,
        tick: &mut dyn FnMut(usize) -> Result<(), Faults>,
    ) -> Result<Result<Vec<Item>, Fault>, Faults> {
        let mut needs = match self.needs(kinds)? {
            Ok(needs) => needs,
            Err(fault) => return Ok(Err(fault)),
        };
        let twins = needs.iter().any(|n| n.kind == Kind::Leak);
        let mut items = Vec::new();
        let mut misses = Misses::new();
        let tries = TRIES * (kinds.len() as u64 + 1);
        for number in 0..tries {
            if needs.is_empty() {
                break;
            }
            tick(kept_before + items.len())?;
            let drawn = self.draw(number)?;
            let aim = needs[number as usize % needs.len()];
            let rendered = match self.candidate(&drawn, aim, twins)? {
                Ok(rendered) => rendered,
                Err(miss) => {
                    *misses.entry(miss).or_default() += 1;
                    continue;
                }
            };
            match needs
                .iter()
                .position(|n| self.miss(&rendered.truth, *n).is_none())
            {
                Some(place) => items.push(Item {
                    kind: needs.remove(place).kind,
                    entry: self.entry,
                    rendered,
                }),
                None => {
                    let why = self.miss(&rendered.truth, aim).unwrap_or_default();
                    *misses.entry(why).or_default() += 1;
                }
            }
        }
        Ok(if needs.is_empty() {
            Ok(items)
        } else {
            Err(self.unfilled(&needs, tries, &misses))
        })
    }

    fn draw(&self, number: u64) -> Result<Drawn, Faults> {
        self.source
            .draw(Some(self.seed), self.entry as u64 * NUMBERS + number)
    }

    /// The kinds with a cylinder each, every cylinder as often as every other to within one; which of them
    /// comes more often is left to the seed.
    fn needs(&self, kinds: &[Kind]) -> Result<Result<Vec<Need>, Fault>, Faults> {
        let draws: Vec<Drawn> = (0..PLUG_DRAWS)
            .map(|n| self.draw(n))
            .collect::<Result<_, _>>()?;
        let leakless = draws.iter().all(|d| d.scenario.faults.leaks.is_empty());
        if leakless && kinds.iter().any(|k| *k != Kind::Healthy) {
            return Ok(Err(Fault::new(
                self.place(),
                "this scenario has no leak to place, and captures with a leak are wanted of it",
                "give it a leak, or write `healthy: 100 %, untold: 0 %` beside it",
            )));
        }
        let order = &draws[0].scenario.vehicle.engine.firing_order;
        let all_out = |c: &u32| draws.iter().all(|d| d.scenario.test.plugs_out.contains(c));
        let able: Vec<u32> = order.iter().copied().filter(|c| !all_out(c)).collect();
        let mut stream = Stream::new(self.seed, self.entry as u64, "quiz cylinders");
        let mut needs = Vec::new();
        for kind in [Kind::Healthy, Kind::Untold, Kind::Leak] {
            // A plug that is out hides its cylinder's leak, which is one way not to show it.
            let mut turn = match kind {
                Kind::Untold => order.clone(),
                _ if able.is_empty() => order.clone(),
                _ => able.clone(),
            };
            shuffle(&mut turn, &mut stream);
            let n = kinds.iter().filter(|k| **k == kind).count();
            needs.extend((0..n).map(|i| Need {
                kind,
                cylinder: turn[i % turn.len()],
            }));
        }
        Ok(Ok(needs))
    }

    /// Renders a draw with the leak where it is wanted; a healthy car is rendered only where its leaking
    /// twin would have been kept.
    fn candidate(
        &self,
        drawn: &Drawn,
        aim: Need,
        twins: bool,
    ) -> Result<Result<Rendered, &'static str>, Faults> {
        if drawn.scenario.faults.leaks.is_empty() {
            return Ok(Ok(render(drawn, "item")));
        }
        // A second leak may already be there, and two in one cylinder are refused.
        let Ok(moved) = drawn.edit(|s, _| s.faults.leaks[0].cylinder = aim.cylinder) else {
            return Ok(Err("had another leak in the cylinder wanted"));
        };
        if aim.kind != Kind::Healthy {
            return Ok(Ok(render(&moved, "item")));
        }
        if twins {
            let twin = Need {
                kind: Kind::Leak,
                ..aim
            };
            if let Some(miss) = self.miss(&render(&moved, "item").truth, twin) {
                return Ok(Err(miss));
            }
        }
        let sound = drawn.edit(|s, _| s.faults.leaks.clear())?;
        Ok(Ok(render(&sound, "item")))
    }

    /// Why a capture is not what is needed; `None` if it is.
    fn miss(&self, truth: &Truth, need: Need) -> Option<&'static str> {
        let [least, most] = self.quiz.content.difficulty;
        let unsure = truth.evidence.supported.first() == Some(&Call::Unsure);
        let leaks = truth.leaks.iter().any(|l| l.cylinder == need.cylinder);
        let total = truth.difficulty.total;
        match need.kind {
            Kind::Healthy if !truth.leaks.is_empty() => Some("had a leak"),
            Kind::Healthy => unsure.then_some("had no sensor at the neck"),
            Kind::Untold if !unsure => Some("could be told"),
            Kind::Untold => (!leaks).then_some("leaked elsewhere"),
            Kind::Leak if unsure => Some("could not be told"),
            Kind::Leak if !truth.evidence.visible.contains(need.cylinder) => {
                Some("did not show the leak wanted")
            }
            Kind::Leak if total < least => Some("were too easy"),
            Kind::Leak if total > most => Some("were too hard"),
            Kind::Leak => None,
        }
    }

    fn place(&self) -> String {
        format!("{}: scenarios[{}]", self.quiz.file, self.entry)
    }

    fn unfilled(&self, needs: &[Need], tries: u64, misses: &Misses) -> Fault {
        let [least, most] = self.quiz.content.difficulty;
        let lacking = [Kind::Leak, Kind::Healthy, Kind::Untold].map(|kind| {
            let of: Vec<String> = needs
                .iter()
                .filter(|n| n.kind == kind)
                .map(|n| n.cylinder.to_string())
                .collect();
            let n = of.len();
            match kind {
                _ if n == 0 => String::new(),
                Kind::Leak => format!(
                    "{n} with a leak to name at a difficulty of {least} to {most} (cylinder {})",
                    of.join(", ")
                ),
                Kind::Healthy => format!("{n} of a healthy car"),
                Kind::Untold => format!("{n} that cannot be told"),
            }
        });
        let lacking: Vec<String> = lacking.into_iter().filter(|l| !l.is_empty()).collect();
        let reasons: Vec<String> = misses.iter().map(|(why, n)| format!("{n} {why}")).collect();
        let remedy = if needs.iter().any(|n| n.kind == Kind::Untold) {
            "let chance hide some leaks (an `opens_at` above cranking pressure, say), or write `untold: 0 %` beside the scenario"
        } else {
            "widen `difficulty`, or what the scenario leaves to chance"
        };
        Fault::new(
            self.place(),
            format!(
                "{} cannot be filled: after {tries} draws it still lacks {}; of the draws {}",
                self.quiz.content.scenarios[self.entry].scenario,
                lacking.join(", and "),
                reasons.join(", ")
            ),
            remedy,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(captures: usize, healthy: f64, untold: f64) -> Entry {
        Entry {
            scenario: "a".into(),
            captures,
            healthy,
            untold,
        }
    }

    fn counts(entries: &[Entry]) -> Vec<[usize; 3]> {
        let count = |kinds: &Vec<Kind>, kind| kinds.iter().filter(|k| **k == kind).count();
        kinds(entries)
            .iter()
            .map(|k| [Kind::Leak, Kind::Healthy, Kind::Untold].map(|kind| count(k, kind)))
            .collect()
    }

    #[test]
    fn shares_are_met_over_the_pack() {
        assert_eq!(counts(&[entry(20, 0.15, 0.1)]), [[15, 3, 2]]);
        assert_eq!(counts(&[entry(4, 1.0, 0.0)]), [[0, 4, 0]]);
        let small = counts(&[
            entry(4, 0.15, 0.1),
            entry(4, 0.15, 0.1),
            entry(4, 0.15, 0.1),
        ]);
        assert_eq!(small.iter().map(|c| c[1]).sum::<usize>(), 2);
        assert_eq!(small.iter().map(|c| c[2]).sum::<usize>(), 1);
        // A scenario of which none are wanted gets none, whatever is due.
        assert_eq!(
            counts(&[entry(3, 0.15, 0.0), entry(3, 0.0, 0.0)]),
            [[3, 0, 0], [3, 0, 0]]
        );
    }

    #[test]
    fn a_shuffle_keeps_everything_and_follows_the_seed() {
        let shuffled = |seed| {
            let mut items: Vec<u32> = (0..20).collect();
            shuffle(&mut items, &mut Stream::new(seed, 0, "t"));
            items
        };
        assert_eq!(shuffled(1), shuffled(1));
        assert_ne!(shuffled(1), shuffled(2));
        let mut sorted = shuffled(1);
        sorted.sort_unstable();
        assert_eq!(sorted, (0..20).collect::<Vec<u32>>());
    }
}
