//! The shortest safe path to certainty: the cheapest list of tests after which the evidence names every
//! leak and its silence confirms it, found by a search in the order of cost (Dijkstra, Numerische
//! Mathematik 1, 1959, 269-271; cited from memory).
//!
//! The search orders only what a careful student would: tests that endanger nobody, and a suspect out of
//! play only once a sync has named it, so that no step is a lucky guess.

use super::bench::Bench;
use super::job::Job;
use super::order::{Cap, Level, Order, Sensor, Sync, Test};
use super::proof::{Judge, Proof};
use crate::error::{Fault, Faults};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// No job needs more tests.
const MOST_TESTS: usize = 6;
/// No path looks at more lists of tests than this.
const MOST_LISTS: usize = 200_000;
/// Transducers tried, the usual one first.
const RANGES: [&str; 2] = ["35 kPa", "8 kPa"];

/// A list of tests and what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// The tests, in order.
    pub orders: Vec<Order>,
    /// Minutes of all of them.
    pub minutes: u32,
}

/// A list of tests whose last has not been judged yet; the cheapest comes first.
type Waiting = Reverse<(u32, usize, Vec<Order>, Bench, Proof)>;

/// Finds the shortest safe path.
///
/// # Errors
/// A vehicle for which the search finds none: the job file asks for the impossible.
pub fn shortest(job: &Job) -> Result<Path, Faults> {
    let mut judge = Judge::new(job);
    let leaking = job.leaking();
    let mut done: BTreeSet<(Bench, Proof)> = BTreeSet::new();
    let mut waiting: BinaryHeap<Waiting> = BinaryHeap::new();
    let mut count = 0;
    let push = |waiting: &mut BinaryHeap<Waiting>,
                count: &mut usize,
                minutes: u32,
                orders: &[Order],
                bench: &Bench,
                proof: &Proof| {
        for order in candidates(job, bench, proof, &leaking) {
            let cost: u32 = bench
                .bill(&order, &job.spec)
                .iter()
                .map(|i| i.minutes)
                .sum();
            let mut list = orders.to_vec();
            list.push(order);
            *count += 1;
            waiting.push(Reverse((
                minutes + cost,
                *count,
                list,
                bench.clone(),
                proof.clone(),
            )));
        }
    };
    push(
        &mut waiting,
        &mut count,
        0,
        &[],
        &Bench::default(),
        &Proof::default(),
    );
    while let Some(Reverse((minutes, _, orders, bench, before))) = waiting.pop() {
        let Some(order) = orders.last() else { continue };
        let shown = judge.shown(order, bench.starts_warm(order))?;
        let proof = before.with(order.test, &shown);
        if proof.is_whole(&leaking) {
            return Ok(Path { orders, minutes });
        }
        let bench = bench.after(order);
        let news = proof != before;
        if news
            && orders.len() < MOST_TESTS
            && count < MOST_LISTS
            && done.insert((bench.clone(), proof.clone()))
        {
            push(&mut waiting, &mut count, minutes, &orders, &bench, &proof);
        }
    }
    let remedy = "make its leaks larger, or its places easier to reach";
    Err(Fault::new(
        &job.name,
        "no list of tests makes this vehicle certain",
        remedy,
    )
    .into())
}

/// Tests worth ordering next.
fn candidates(job: &Job, bench: &Bench, proof: &Proof, leaking: &BTreeSet<u32>) -> Vec<Order> {
    let spec = &job.spec;
    let cheapest = |cost: &dyn Fn(&crate::scenario::PlaceSpec) -> Option<u32>| {
        let places = spec
            .places
            .iter()
            .filter_map(|p| Some((cost(p)?, p.cylinder)));
        places.min().map(|p| p.1)
    };
    let coil = cheapest(&|p| p.coil);
    let plug = cheapest(&|p| Some(p.plug));
    let last = bench.order();
    let bled = last.coolant == Level::ToppedUp;
    let mut list = Vec::new();
    for range in RANGES {
        for coolant in [Level::AsFound, Level::ToppedUp] {
            if bled && coolant == Level::AsFound {
                continue;
            }
            let base = Order {
                coolant,
                range: range.into(),
                sensor: Sensor::Pressure,
                cap: Cap::Sealed,
                ..Order::default()
            };
            let crank = |plugs_out: BTreeSet<u32>, sync: Option<Sync>| Order {
                plugs_out,
                sync: sync.into_iter().collect(),
                ..base.clone()
            };
            let idle = |cut: BTreeSet<u32>, sync: Option<Sync>| Order {
                test: Test::Idle,
                fuel: true,
                cut,
                sync: sync.into_iter().collect(),
                ..base.clone()
            };
            let on_coil = coil.map(Sync::Coil);
            list.push(crank(BTreeSet::new(), on_coil));
            list.extend(plug.map(|c| crank([c].into(), Some(Sync::Starter))));
            list.extend(plug.map(|c| crank(BTreeSet::new(), Some(Sync::Cylinder(c)))));
            list.push(idle(BTreeSet::new(), on_coil));
            let coils = last.coils().first().map(|c| Sync::Coil(*c));
            for c in leaking.iter().filter(|c| proof.has_sync_for(**c)) {
                list.push(crank([*c].into(), coils));
                list.push(idle([*c].into(), coils));
                let mut one_more = Order {
                    coolant,
                    range: range.into(),
                    ..last.clone()
                };
                match last.test {
                    Test::Crank => one_more.plugs_out.insert(*c),
                    Test::Idle => one_more.cut.insert(*c),
                };
                list.push(one_more);
            }
        }
    }
    for order in &mut list {
        order.let_cool = bench.warm && bench.needs_cold(order);
    }
    list.retain(|order| {
        bench.dangers(order, 4.0).is_empty() && bench.check(order, spec, 4.0).is_ok()
    });
    list
}
