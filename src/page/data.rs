//! What a page tells its script, as JSON.

use super::{Answer, Debrief, Page, Shown};
use crate::debrief::{Units, sync_cylinder, test, vehicle, words};
use crate::domain::{Card, ChannelCard, Measures, Sync};
use crate::plot::{trace_colour, trace_width};
use serde::Serialize;

/// A panel shows at least this many steps of the channel's converter, as a picture does.
const LEAST_STEPS: f64 = 40.0;

#[derive(Serialize)]
struct Told<'a> {
    title: &'a str,
    answer: &'static str,
    pack: Option<&'a str>,
    units: &'static str,
    captures: Vec<Capture<'a>>,
}

#[derive(Serialize)]
struct Capture<'a> {
    name: &'a str,
    rate: f64,
    frames: usize,
    start: f64,
    order: &'a [u32],
    intervals: &'a [f64],
    paired: bool,
    work: Vec<(&'static str, String)>,
    cautions: &'a [String],
    channels: Vec<Channel<'a>>,
    debrief: Option<Story<'a>>,
}

#[derive(Serialize)]
struct Channel<'a> {
    name: &'a str,
    unit: &'a str,
    scale: f64,
    offset: f64,
    least: f64,
    colour: String,
    width: f64,
    measures: Measures,
    cylinder: Option<u32>,
    ac: bool,
}

#[derive(Serialize)]
struct Story<'a> {
    title: String,
    words: Vec<(String, String)>,
    verdict: Option<Verdict<'a>>,
    leaking: Vec<u32>,
    syncs: Vec<u32>,
    tdcs: Vec<(u32, f64)>,
    events: Vec<Event>,
}

#[derive(Serialize)]
struct Verdict<'a> {
    call: &'a str,
    cylinders: &'a [u32],
    verdict: &'a str,
    sentence: &'a str,
}

#[derive(Serialize)]
struct Event {
    cylinder: u32,
    tdc: f64,
    gas: [f64; 2],
    steepest: Option<f64>,
    label: String,
}

/// The page's data.
pub fn json(page: &Page) -> String {
    let (answer, pack) = match &page.answer {
        Answer::Sheet { pack } => ("sheet", pack.as_deref()),
        Answer::Job => ("job", None),
        Answer::Nothing => ("nothing", None),
    };
    let told = Told {
        title: &page.title,
        answer,
        pack,
        units: match page.units {
            Units::Metric => "metric",
            Units::Us => "us",
        },
        captures: page
            .captures
            .iter()
            .map(|shown| capture(shown, page.units))
            .collect(),
    };
    serde_json::to_string(&told).expect("its keys are strings, and it goes to memory")
}

fn capture<'a>(shown: &'a Shown, units: Units) -> Capture<'a> {
    let card = &shown.capture.card;
    let [from, to] = shown.frames;
    let probes = shown.debrief.iter().flat_map(|d| &d.probes).map(|p| &p.0);
    let channels = card.channels.iter().map(channel);
    Capture {
        name: shown.capture.name(),
        rate: card.sample_rate_hz,
        frames: to - from,
        start: shown.capture.time_s(from),
        order: &card.engine.firing_order,
        intervals: &card.engine.firing_intervals_deg,
        paired: card.engine.shared_coils,
        work: work(card, units),
        cautions: &card.cautions,
        channels: channels.chain(probes.map(channel)).collect(),
        debrief: shown.debrief.as_ref().map(|d| story(card, d, units)),
    }
}

fn work(card: &Card, units: Units) -> Vec<(&'static str, String)> {
    vec![
        ("Vehicle", vehicle(&card.engine)),
        ("Complaint", card.brief.clone()),
        ("Done", test(card, units)),
    ]
}

fn channel(card: &ChannelCard) -> Channel<'_> {
    let [r, g, b] = trace_colour(card.measures);
    let step = card.scale_per_count * f64::from(1u32 << (16 - card.bits));
    Channel {
        name: &card.name,
        unit: &card.unit,
        scale: card.scale_per_count,
        offset: card.offset,
        least: LEAST_STEPS * step.abs(),
        colour: format!("#{r:02x}{g:02x}{b:02x}"),
        width: trace_width(card.measures),
        measures: card.measures,
        cylinder: card.cylinder,
        ac: card.ac_coupled,
    }
}

fn story<'a>(card: &Card, debrief: &'a Debrief, units: Units) -> Story<'a> {
    let truth = &debrief.truth;
    let told = words(card, truth, units);
    let sync = sync_cylinder(card);
    // A shared coil marks its two cylinders alike.
    let other = sync
        .filter(|_| truth.evidence.sync == Sync::Pair)
        .and_then(|c| truth.engine.companion(c));
    Story {
        title: told.title,
        words: told.paragraphs,
        verdict: debrief.verdict.as_ref().map(|judged| Verdict {
            call: &judged.call,
            cylinders: &judged.cylinders,
            verdict: &judged.verdict,
            sentence: &judged.sentence,
        }),
        leaking: truth.leaks.iter().map(|l| l.cylinder).collect(),
        syncs: sync.into_iter().chain(other).collect(),
        tdcs: truth.tdcs.iter().map(|t| (t.cylinder, t.time_s)).collect(),
        events: truth
            .events
            .iter()
            .map(|e| Event {
                cylinder: e.cylinder,
                tdc: e.tdc_s,
                gas: [e.gas_start_s, e.gas_end_s],
                steepest: e.steepest_s,
                label: match (e.lag_ms, e.lag_deg) {
                    (Some(ms), Some(deg)) => format!("{ms:.0} ms · {deg:.0}°"),
                    _ => String::new(),
                },
            })
            .collect(),
    }
}
