//! What a list of tests proves about the vehicle, and nothing by luck.
//!
//! A leak is *named* once its pulses show beside a sync that marks one cylinder. It is *confirmed* by a
//! test in which its cylinder is out of play (plug out on the starter, injector unplugged at idle) and
//! its pulses are gone, if the same test with the cylinder in play would have shown them, and if they
//! were seen before or after in a test of the same kind. A vehicle without a leak is *cleared* by a test
//! on the starter and one at idle, each of which would have shown a small leak.

use super::job::Job;
use super::order::{Order, Test};
use crate::domain::{Sync, Truth};
use crate::error::Faults;
use crate::scenario::{Dimension, LeakSpec, own_quantity};
use std::collections::BTreeMap;
use std::collections::BTreeSet;

/// The leak that a test must be able to show before its silence clears a vehicle: by kind of test, its
/// area and when it lifts (chosen by us; a gasket that lifts only under combustion is what idle adds).
const SMALL_LEAK: [(Test, &str, &str); 2] = [
    (Test::Crank, "0.03 mm2", "2 bar"),
    (Test::Idle, "0.2 mm2", "13 bar"),
];

/// What one test shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Cylinders whose pulses show.
    pub seen: BTreeSet<u32>,
    /// Those that its sync names.
    pub named: BTreeSet<u32>,
    /// Those out of play whose pulses would have shown otherwise.
    pub silenced: BTreeSet<u32>,
    /// Whether it shows nothing, and would have shown a small leak.
    pub clears: bool,
}

/// What tests prove together.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Proof {
    named: BTreeSet<u32>,
    seen: BTreeSet<(Test, u32)>,
    silenced: BTreeSet<(Test, u32)>,
    cleared: BTreeSet<Test>,
}

impl Proof {
    /// The proof with one more test.
    pub fn with(&self, test: Test, shown: &Shown) -> Proof {
        let mut proof = self.clone();
        proof.named.extend(&shown.named);
        proof.seen.extend(shown.seen.iter().map(|c| (test, *c)));
        proof
            .silenced
            .extend(shown.silenced.iter().map(|c| (test, *c)));
        if shown.clears {
            proof.cleared.insert(test);
        }
        proof
    }

    /// Whether a leak is confirmed.
    pub fn is_confirmed(&self, cylinder: u32) -> bool {
        let mut both = self.silenced.intersection(&self.seen);
        both.any(|(_, c)| *c == cylinder)
    }

    /// Whether a leak is named, by its sync or by its silence.
    pub fn is_named(&self, cylinder: u32) -> bool {
        self.named.contains(&cylinder) || self.is_confirmed(cylinder)
    }

    /// Whether a sync names a leak.
    pub fn has_sync_for(&self, cylinder: u32) -> bool {
        self.named.contains(&cylinder)
    }

    /// Kinds of test that clear a vehicle without a leak.
    pub fn cleared(&self) -> &BTreeSet<Test> {
        &self.cleared
    }

    /// Whether all that leaks is named and confirmed, or the vehicle cleared.
    pub fn is_whole(&self, leaking: &BTreeSet<u32>) -> bool {
        match leaking.is_empty() {
            true => self.cleared.len() == SMALL_LEAK.len(),
            false => leaking
                .iter()
                .all(|c| self.is_named(*c) && self.is_confirmed(*c)),
        }
    }
}

/// Judges tests on one vehicle; a test that comes again is rendered once.
pub struct Judge<'a> {
    job: &'a Job,
    leaking: BTreeSet<u32>,
    known: BTreeMap<(Order, bool), Shown>,
    twins: BTreeMap<(Order, bool), BTreeSet<u32>>,
}

impl<'a> Judge<'a> {
    /// A judge of tests on the vehicle of `job`.
    pub fn new(job: &'a Job) -> Self {
        Judge {
            job,
            leaking: job.leaking(),
            known: BTreeMap::new(),
            twins: BTreeMap::new(),
        }
    }

    /// What an order would show.
    pub fn shown(&mut self, order: &Order, warm: bool) -> Result<Shown, Faults> {
        let key = (plain(order), warm);
        if let Some(shown) = self.known.get(&key) {
            return Ok(shown.clone());
        }
        let truth = self.job.render(order, warm, 0)?.truth;
        let shown = self.shown_in(order, warm, &truth)?;
        self.known.insert(key, shown.clone());
        Ok(shown)
    }

    /// What a capture that was rendered shows.
    pub fn shown_in(&mut self, order: &Order, warm: bool, truth: &Truth) -> Result<Shown, Faults> {
        let seen: BTreeSet<u32> = truth.evidence.visible.iter().collect();
        let named = match truth.evidence.sync {
            Sync::Full => seen.clone(),
            Sync::Pair | Sync::None => BTreeSet::new(),
        };
        let mut silenced = BTreeSet::new();
        for c in &self.leaking.clone() {
            let out_of_play = match order.test {
                Test::Crank => order.plugs_out.contains(c),
                Test::Idle => order.cut.contains(c),
            };
            if out_of_play && !seen.contains(c) && self.in_play(order, warm, *c)?.contains(c) {
                silenced.insert(*c);
            }
        }
        Ok(Shown {
            clears: self.leaking.is_empty() && self.would_show_a_leak(order, warm)?,
            seen,
            named,
            silenced,
        })
    }

    /// What the same test shows with `cylinder` in play.
    fn in_play(
        &mut self,
        order: &Order,
        warm: bool,
        cylinder: u32,
    ) -> Result<BTreeSet<u32>, Faults> {
        let mut twin = order.clone();
        twin.plugs_out.remove(&cylinder);
        twin.cut.remove(&cylinder);
        let key = (plain(&twin), warm);
        if let Some(seen) = self.twins.get(&key) {
            return Ok(seen.clone());
        }
        let truth = self.job.render(&twin, warm, 0)?.truth;
        let seen: BTreeSet<u32> = truth.evidence.visible.into_iter().collect();
        self.twins.insert(key, seen.clone());
        Ok(seen)
    }

    fn would_show_a_leak(&self, order: &Order, warm: bool) -> Result<bool, Faults> {
        let Some((_, area, opens_at)) = SMALL_LEAK.iter().find(|l| l.0 == order.test) else {
            return Ok(false);
        };
        let in_play = |c: &u32| !order.plugs_out.contains(c) && !order.cut.contains(c);
        let Some(cylinder) = (1..=self.job.spec.places.len() as u32).find(in_play) else {
            return Ok(false);
        };
        let leak = LeakSpec {
            cylinder,
            area_m2: own_quantity(area, Dimension::Area).si(),
            opens_at_pa: own_quantity(opens_at, Dimension::Pressure).si(),
            pull_back: 0.02,
            ..LeakSpec::defaults()
        };
        let truth = self.job.render_with(order, warm, leak)?.truth;
        Ok(!truth.evidence.visible.is_empty())
    }
}

/// The order without what no capture shows.
fn plain(order: &Order) -> Order {
    Order {
        let_cool: false,
        ..order.clone()
    }
}
