//! The debrief of a job: the truth in words and in the student's own captures, the score, and the path
//! that would have been enough.

use super::folder::Folder;
use super::job::{Job, warmth};
use super::order::{Order, Test, listed};
use super::page;
use super::path::{Path, shortest};
use super::proof::{Judge, Proof};
use super::score::{Score, certainty};
use crate::debrief::{Units, debrief_picture, words};
use crate::domain::Call;
use crate::domain::{Capture, CylinderSet, Evidence, Sync, Truth};
use crate::error::{Fault, Faults};
use crate::files::atomic;
use crate::grade::Verdict;
use crate::grade::verdict::verdict;
use crate::plot::{Theme, png};
use crate::storage::open;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// What the debrief says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Debrief {
    /// The job's title.
    pub title: String,
    /// The call.
    pub call: String,
    /// What it was worth against the vehicle, and why.
    pub verdict: Verdict,
    /// Points.
    pub score: Score,
    /// All points, of 100.
    pub total: u32,
    /// Minutes spent.
    pub minutes: u32,
    /// Minutes of the shortest safe path.
    pub shortest_minutes: u32,
    /// Heading and lines.
    pub paragraphs: Vec<(String, Vec<String>)>,
    /// The student's captures with the truth drawn in.
    pub pictures: Vec<PathBuf>,
    /// The same as a page to zoom and measure; `None` where they are too large for one.
    pub page: Option<PathBuf>,
}

/// Debriefs the job in a folder, and draws its pictures there.
///
/// # Errors
/// A job without a call, or a folder that cannot be written.
pub fn debrief(folder: &Folder, units: Units, theme: Theme) -> Result<Debrief, Faults> {
    let (job, log) = (&folder.job, &folder.log);
    let Some(called) = &log.call else {
        let remedy = "make it first: waterjacket practice call --in FOLDER CYLINDERS";
        return Err(Fault::new("debrief", "the call is still to come", remedy).into());
    };
    let orders: Vec<Order> = log.orders.iter().map(|e| e.order.clone()).collect();
    let mut judge = Judge::new(job);
    let mut proof = Proof::default();
    let mut own: Vec<(Capture, Truth)> = Vec::new();
    let mut silences: Vec<String> = Vec::new();
    for (number, (order, warm)) in (1..).zip(orders.iter().zip(warmth(&orders))) {
        let truth = job.render(order, warm, number)?.truth;
        let shown = judge.shown_in(order, warm, &truth)?;
        proof = proof.with(order.test, &shown);
        silences.push(silence(order, &shown.silenced));
        own.push((open(&folder.capture(&truth.capture))?, truth));
    }
    let path = shortest(job)?;
    let whole = vehicle_truth(job, own.iter().map(|o| &o.1), &path)?;
    let verdict = verdict(called.cylinders, &whole);
    let leaking = job.leaking();
    let certain = certainty(&called.cylinders, &leaking, &proof);
    let score = Score::of(
        verdict.points,
        certain,
        log.minutes,
        path.minutes,
        log.refusals.len(),
    );
    let mut paragraphs = Vec::new();
    let mut say = |heading: &str, lines: Vec<String>| {
        if !lines.is_empty() {
            paragraphs.push((heading.to_string(), lines));
        }
    };
    say("The truth", truth_lines(job, &own, &whole, units)?);
    say(
        "How certain it was",
        vec![certainty_line(&called.cylinders, &leaking, &proof)],
    );
    say(
        "How sure you were",
        confidence_line(called.confidence, verdict.points)
            .into_iter()
            .collect(),
    );
    let tests = log.orders.iter().zip(own.iter().zip(&silences));
    let tests = tests.map(|(entry, ((_, truth), silence))| {
        format!(
            "{}, {} min ({}): supports {}. {}{silence}",
            entry.capture,
            entry.minutes,
            entry.order,
            truth.evidence.expected(),
            truth.evidence.reasons.join(" ")
        )
    });
    say("What your tests showed", tests.collect());
    let refused = log.refusals.iter().flat_map(|r| &r.reasons);
    say(
        "What was refused",
        refused.map(|r| format!("Refused: {r}.")).collect(),
    );
    say("The shortest safe path", path_lines(job, &path));
    say("What it teaches", vec![job.spec.teaches.clone()]);
    let mut pictures = Vec::new();
    for (opened, truth) in &own {
        let picture = debrief_picture(opened, truth, (None, None), units, theme)?;
        let file = folder.capture(&format!("{}.debrief.png", truth.capture));
        atomic::write(&file, png(&picture)?)?;
        pictures.push(file);
    }
    let page = page::debrief(folder, &own, (&called.cylinders, &verdict), units)?;
    Ok(Debrief {
        page,
        title: job.spec.title.clone(),
        call: called.cylinders.to_string(),
        verdict,
        total: score.total(),
        score,
        minutes: log.minutes,
        shortest_minutes: path.minutes,
        paragraphs,
        pictures,
    })
}

/// The truth of the vehicle, as if one capture had shown all of it: by this a call is judged, for the
/// student could have ordered another test.
fn vehicle_truth<'t>(
    job: &Job,
    own: impl Iterator<Item = &'t Truth>,
    path: &Path,
) -> Result<Truth, Faults> {
    let mut truths: Vec<Truth> = own.cloned().collect();
    truths.sort_by_key(|t| std::cmp::Reverse(t.evidence.visible.len()));
    for (order, warm) in path.orders.iter().zip(warmth(&path.orders)) {
        truths.push(job.render(order, warm, 0)?.truth);
    }
    let best = (0..truths.len())
        .max_by_key(|i| (truths[*i].evidence.visible.len(), std::cmp::Reverse(*i)));
    let mut whole = truths[best.unwrap_or(0)].clone();
    for leak in &mut whole.leaks {
        let mut elsewhere = truths.iter().flat_map(|t| &t.leaks);
        let shown = elsewhere.find(|l| l.visible && l.cylinder == leak.cylinder);
        if let Some(shown) = shown.filter(|_| !leak.visible) {
            *leak = shown.clone();
        }
    }
    let leaking: CylinderSet = job.leaking().into_iter().collect();
    whole.evidence = Evidence {
        sync: Sync::Full,
        supported: vec![if leaking.is_empty() {
            Call::NoLeak
        } else {
            Call::All(leaking)
        }],
        visible: leaking,
        hidden: CylinderSet::default(),
        reasons: Vec::new(),
    };
    Ok(whole)
}

fn truth_lines(
    job: &Job,
    own: &[(Capture, Truth)],
    whole: &Truth,
    units: Units,
) -> Result<Vec<String>, Faults> {
    let best = own.iter().max_by_key(|(_, t)| t.evidence.visible.len());
    let Some((opened, _)) = best else {
        return Ok(Vec::new());
    };
    let told = words(&opened.card, whole, units);
    let part = |heading: &str| {
        told.paragraphs
            .iter()
            .find(|p| p.0 == heading)
            .map(|p| p.1.clone())
    };
    let mut lines: Vec<String> = ["The vehicle", "The truth"]
        .iter()
        .filter_map(|h| part(h))
        .collect();
    let shown = |c: &u32| own.iter().any(|(_, t)| t.evidence.visible.contains(*c));
    let unseen: BTreeSet<u32> = job.leaking().into_iter().filter(|c| !shown(c)).collect();
    if !unseen.is_empty() {
        lines.push(format!(
            "None of your tests showed the pulses of cylinder {}; what is said of them was measured on the \
             shortest safe path.",
            listed(&unseen)
        ));
    }
    let cooling = job
        .draw(&Order::default(), false, 1)?
        .scenario
        .vehicle
        .cooling;
    lines.push(format!(
        "It came in with {} of air under its neck.",
        units.text(cooling.air_pocket_m3 * 1e6, "mL", 2)
    ));
    Ok(lines)
}

/// What the silence of a test tells, once more than nothing.
fn silence(order: &Order, silenced: &BTreeSet<u32>) -> String {
    if silenced.is_empty() {
        return String::new();
    }
    let part = match order.test {
        Test::Crank => "plug",
        Test::Idle => "injector",
    };
    let whose = listed(silenced);
    format!(
        " The pulses of cylinder {whose} are gone, and with {part} {whose} in place they would show."
    )
}

fn certainty_line(call: &Call, leaking: &BTreeSet<u32>, proof: &Proof) -> String {
    if leaking.is_empty() {
        return match (proof.cleared().contains(&Test::Crank), proof.cleared().contains(&Test::Idle)) {
            (true, true) => "Your tests on the starter and at idle would both have shown a leak; their silence clears the engine.",
            (true, false) => "Your test on the starter would have shown a leak that opens there, but none at idle was fit to show one that opens only under combustion.",
            (false, true) => "Your test at idle would have shown a leak, but none on the starter was fit to.",
            (false, false) => "None of your tests was fit to show a small leak, so that their silence clears nothing.",
        }
        .into();
    }
    let each = leaking.iter().map(|c| match (proof.has_sync_for(*c), proof.is_confirmed(*c)) {
        (true, true) => format!("Your tests name cylinder {c}, and its pulses ended when it was out of play: confirmed."),
        (false, true) => format!("No sync of yours names cylinder {c}, but its pulses ended when it was out of play, which does: confirmed."),
        (true, false) => format!("Your tests name cylinder {c}, but nothing confirmed it: with it out of play, its pulses would have ended."),
        (false, false) => format!("Nothing in your tests names cylinder {c}."),
    });
    let mut text = each.collect::<Vec<_>>().join(" ");
    if *call == Call::Unsure {
        text += " You left the call open, so that certainty earns nothing.";
    }
    text
}

fn confidence_line(confidence: Option<f64>, points: f64) -> Option<String> {
    let stated = confidence?;
    let came = if points >= 1.0 { 1.0 } else { 0.0 };
    let off = (stated - came) * (stated - came);
    Some(format!(
        "You gave {:.0} %, and the call was {}: {off:.2} on Brier's scale, where 0 is perfect and 0.25 is always saying 50 %.",
        stated * 100.0,
        if came > 0.5 {
            "right"
        } else {
            "not right in full"
        }
    ))
}

fn path_lines(job: &Job, path: &Path) -> Vec<String> {
    let mut bench = super::bench::Bench::default();
    let mut lines: Vec<String> = Vec::new();
    for (i, order) in path.orders.iter().enumerate() {
        let minutes: u32 = bench
            .bill(order, &job.spec)
            .iter()
            .map(|item| item.minutes)
            .sum();
        let cool = if order.let_cool && bench.warm {
            "let it cool, then "
        } else {
            ""
        };
        lines.push(format!("{}. {cool}{order}: {minutes} min", i + 1));
        bench = bench.after(order);
    }
    lines.push(format!("Together {} min.", path.minutes));
    lines
}
