//! What `waterjacket practice` says.

use crate::error::Faults;
use crate::practice::bench::Danger;
use crate::practice::folder::Done;
use crate::practice::{Answer, Debrief, Folder, Order, Score, jobs};
use crate::prose;
use serde::Serialize;
use std::path::Path;

/// Columns that the words fill.
const WIDTH: usize = 96;

/// One line of the list of jobs.
#[derive(Serialize)]
pub struct Entry {
    job: &'static str,
    level: u64,
    title: String,
    vehicle: String,
}

/// The shipped jobs, from plain to nasty.
pub fn entries() -> Result<Vec<Entry>, Faults> {
    let entry = |job| {
        let drawn = jobs::draw(job, None)?;
        Ok(Entry {
            job,
            level: drawn.spec.level,
            vehicle: drawn.base.scenario.vehicle.name,
            title: drawn.spec.title,
        })
    };
    jobs::names().map(entry).collect()
}

pub fn list(entries: &[Entry]) -> String {
    let width = entries.iter().map(|e| e.job.len()).max().unwrap_or(0);
    let mut text = format!("{:width$}  level  on the lift\n", "job");
    for e in entries {
        text += &format!(
            "{:width$}  {:>5}  {}: {}\n",
            e.job, e.level, e.title, e.vehicle
        );
    }
    text
}

/// The complaint, the findings, the plate, and what is in reach.
pub fn work_order(folder: &Folder) -> Result<String, Faults> {
    let spec = &folder.job.spec;
    let scenario = folder.job.draw(&Order::default(), false, 1)?.scenario;
    let e = &scenario.vehicle.engine;
    let order: Vec<String> = e.firing_order.iter().map(u32::to_string).collect();
    let mut text = format!(
        "Harrowbeck Yard, work order: {} (level {} of 5)\n",
        spec.title, spec.level
    );
    text += &format!(
        "\nThe customer\n{}",
        wrap(&format!("\"{}\"", spec.complaint), "  ", "  ")
    );
    text += &format!(
        "\nWhat the yard found\n{}",
        wrap(&spec.findings, "  ", "  ")
    );
    let mut plate = format!(
        "{}, {}, firing order {}",
        scenario.vehicle.name,
        e.layout.engine_of(e.cylinders),
        order.join("-")
    );
    if !e.firing_intervals_rad.is_empty() {
        let degrees = e
            .firing_intervals_rad
            .iter()
            .map(|r| format!("{:.0}", r.to_degrees()));
        plate += &format!(
            " at intervals of {} degrees",
            degrees.collect::<Vec<_>>().join(", ")
        );
    }
    plate += if e.shared_coils {
        ", companions share a coil."
    } else {
        ", a coil for each cylinder."
    };
    text += &format!("\nThe plate\n{}", wrap(&plate, "  ", "  "));
    text += "\nWhat is in reach, in minutes\n  cylinder  plug  coil\n";
    let mut places: Vec<_> = spec.places.iter().collect();
    places.sort_by_key(|p| p.cylinder);
    for p in places {
        let coil = p.coil.map_or("-".into(), |m| m.to_string());
        let line = format!("  {:>8}  {:>4}  {coil:>4}  {}", p.cylinder, p.plug, p.note);
        text += &format!("{}\n", line.trim_end());
    }
    let m = &spec.minutes;
    text += &wrap(
        &format!(
            "Neck adapter {}, topping up and bleeding {}, a crank test {}, a test at idle {} and {} to warm up, \
             cooling down again {}. A plug goes back in half the time.",
            m.adapter, m.top_up, m.crank, m.idle, m.warm_up, m.cooling
        ),
        "  ",
        "  ",
    );
    Ok(text)
}

/// What to do after the start.
pub fn first_steps(folder: &Path) -> String {
    let folder = folder.display();
    format!(
        "\nOrder a test: waterjacket practice order --in {folder} --help\n\
         Or talk it through: waterjacket practice play --in {folder}\n"
    )
}

/// Minutes, captures, refusals, the call.
pub fn state(folder: &Folder) -> String {
    let log = &folder.log;
    let mut text = format!("\nSo far: {} min\n", log.minutes);
    for e in &log.orders {
        let line = format!("{}, {} min: {}", e.capture, e.minutes, e.order);
        text += &wrap(&line, "  ", "    ");
    }
    if log.orders.is_empty() {
        text += "  No test was made yet.\n";
    }
    if !log.refusals.is_empty() {
        text += &format!(
            "  {} refused as dangerous.\n",
            count(log.refusals.len(), "order")
        );
    }
    match &log.call {
        Some(call) => text += &format!("  Called: {}. The debrief is ready.\n", call.cylinders),
        None if folder.bench().warm => text += "  The engine is warm.\n",
        None => {}
    }
    text
}

/// What came of an order; an order given in words is not answered with options.
pub fn answer(folder: &Folder, answer: &Answer, options: bool) -> String {
    let dangers = match answer {
        Answer::Done(done) => return self::done(folder, done),
        Answer::Refused(dangers) => dangers,
    };
    let mut text = String::new();
    for Danger {
        reason,
        remedy,
        option,
    } in dangers
    {
        let option = if options {
            format!(" ({option})")
        } else {
            String::new()
        };
        text += &wrap(
            &format!("Refused: {reason}. Instead, {remedy}{option}."),
            "",
            "  ",
        );
    }
    let so_far = count(folder.log.refusals.len(), "refusal");
    text + &format!("It cost no time, but points for care ({so_far} so far).\n")
}

fn done(folder: &Folder, done: &Done) -> String {
    let mut text = wrap(&format!("{}: {}", done.capture, done.order), "", "  ");
    for item in &done.bill {
        text += &format!("  {:>3} min  {}\n", item.minutes, item.what);
    }
    let minutes: u32 = done.bill.iter().map(|i| i.minutes).sum();
    text += &format!("  {minutes:>3} min, {} min in all\n", folder.log.minutes);
    for (channel, share) in &done.clipped {
        let line = format!(
            "Mind: {channel} ran out of its range in {:.0} % of the capture.",
            (100.0 * share).max(1.0)
        );
        text += &wrap(&line, "", "  ");
    }
    text += "Before you do this on a car\n";
    for caution in &done.cautions {
        text += &wrap(caution, "  - ", "    ");
    }
    let path = folder.capture(&done.capture);
    let path = path.display();
    let [from, to] = done.closer_s;
    let page = folder.capture("page.html");
    if page.is_file() {
        text += &format!("Page to zoom and measure: {}\n", page.display());
    }
    text + &format!(
        "Picture: {path}.png\nCloser: waterjacket plot {path} --from {from} --to {to}\n"
    )
}

pub fn called(folder: &Folder) -> String {
    match &folder.log.call {
        Some(call) => format!(
            "Called {} after {} min. The call stands; the debrief is ready.\n",
            call.cylinders, folder.log.minutes
        ),
        None => String::new(),
    }
}

pub fn debrief(d: &Debrief) -> String {
    let s = &d.score;
    let mut text = format!(
        "{}\n\nYour call: {} ({}), {} of 100 points\n{}",
        d.title,
        d.call,
        d.verdict.kind,
        d.total,
        wrap(&d.verdict.sentence, "  ", "  ")
    );
    text += "\n";
    for (part, points, of, why) in [
        (
            "correctness",
            s.correctness,
            Score::OF_CORRECTNESS,
            "the call against the vehicle".to_string(),
        ),
        (
            "certainty",
            s.certainty,
            Score::OF_CERTAINTY,
            "what your own tests prove of it".into(),
        ),
        (
            "economy",
            s.economy,
            Score::OF_ECONOMY,
            format!(
                "{} min, where {} min were enough",
                d.minutes, d.shortest_minutes
            ),
        ),
        (
            "care",
            s.care,
            Score::OF_CARE,
            "nothing dangerous asked for".into(),
        ),
    ] {
        let why = if part == "care" && points < of {
            "dangerous orders cost 5 each"
        } else {
            &why
        };
        text += &format!("  {part:<12} {points:>3} of {of:>2}  {why}\n");
    }
    for (heading, lines) in &d.paragraphs {
        text += &format!("\n{heading}\n");
        for line in lines {
            text += &wrap(line, "  ", "    ");
        }
    }
    text += "\nYour captures, with the truth drawn in\n";
    if let Some(page) = &d.page {
        text += &format!("  {}\n", page.display());
    }
    for picture in &d.pictures {
        text += &format!("  {}\n", picture.display());
    }
    text
}

fn count(n: usize, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
    }
}

/// Text in lines, the first behind `first`, the others behind `rest`.
fn wrap(paragraph: &str, first: &str, rest: &str) -> String {
    prose::wrap(paragraph, WIDTH, first, rest)
}
