//! Pictures of a capture: as the student sees it, and with the truth drawn in.

use super::Units;
use super::words::{sync_cylinder, uneven_intervals};
use crate::domain::{Capture, Card, CylinderSet, LeakEvent, Sync, Truth};
use crate::error::{Fault, Faults};
use crate::plot::{Emphasis, Mark, Picture, Theme, Trace, good_size};

/// A debrief shows this many cycles around an event, so that the firing order is seen once whole.
const CYCLES_SHOWN: f64 = 1.5;
/// Where no pulse is felt, a call is shown beside so many cycles.
const CYCLES_WITHOUT_PULSE: f64 = 4.0;
/// A panel shows at least this many steps of the channel's converter, so that noise looks like noise.
const LEAST_STEPS: f64 = 40.0;

/// The capture as card and WAV hold it; `span_s` is the whole of it if not given.
pub fn capture_picture(
    capture: &Capture,
    span_s: Option<[f64; 2]>,
    units: Units,
    theme: Theme,
) -> Picture {
    let card = &capture.card;
    let whole = [0.0, card.frames as f64 / card.sample_rate_hz];
    let traces: Vec<Trace> = (0..card.channels.len())
        .map(|i| trace(capture, i, units))
        .collect();
    Picture {
        title: capture.name().into(),
        subtitle: subtitle(card),
        size: good_size(traces.len()),
        traces,
        marks: Vec::new(),
        span_s: span_s.unwrap_or(whole),
        theme,
        footnote: format!(
            "Synthetic training capture of an invented vehicle: {}.",
            card.engine.vehicle
        ),
    }
}

/// The capture with the TDC of every cylinder, the leak events and their lag. Where the span is not
/// given, it shows a cycle and a half around an event in the middle of the capture.
///
/// # Errors
/// A span that lies outside of the capture.
pub fn debrief_picture(
    capture: &Capture,
    truth: &Truth,
    (from_s, to_s): (Option<f64>, Option<f64>),
    units: Units,
    theme: Theme,
) -> Result<Picture, Faults> {
    let end = capture.card.frames as f64 / capture.card.sample_rate_hz;
    let usual = around_an_event(&capture.card, truth, end);
    let span = match (from_s, to_s) {
        (None, None) => usual,
        (from, to) => [from.unwrap_or(0.0), to.unwrap_or(end)],
    };
    if !(span[0] >= 0.0 && span[0] < span[1] && span[1] <= end + 1e-9) {
        let problem = format!("cannot draw from {} s to {} s", span[0], span[1]);
        return Err(Fault::new(
            capture.name(),
            problem,
            format!("choose a span within 0 to {end} s"),
        )
        .into());
    }
    let mut picture = capture_picture(capture, Some(span), units, theme);
    picture.title = format!("{}: {}", capture.name(), truth.title);
    picture.marks = marks(&capture.card, truth);
    picture.size[1] += 80;
    Ok(picture)
}

/// The debrief of a call that did not score in full: the cylinders that were `called` are crossed where they
/// do not leak, and `why` stands below the title. Where the span is not given, it shows the pulse with the
/// leaking cylinder's TDC and the called one's nearest to the pulse; without pulses, it shows several
/// cycles, in which nothing keeps step with the called cylinder.
///
/// # Errors
/// A span that lies outside of the capture.
pub fn call_picture(
    capture: &Capture,
    truth: &Truth,
    called: CylinderSet,
    why: &str,
    span: (Option<f64>, Option<f64>),
    units: Units,
    theme: Theme,
) -> Result<Picture, Faults> {
    let span = match span {
        (None, None) => {
            let end = capture.card.frames as f64 / capture.card.sample_rate_hz;
            let [from, to] = around_a_call(&capture.card, truth, called, end);
            (Some(from), Some(to))
        }
        given => given,
    };
    let mut picture = debrief_picture(capture, truth, span, units, theme)?;
    picture.subtitle = format!("{why}\n{}", picture.subtitle);
    picture.size[1] += 80;
    let leaks = |cylinder: &u32| truth.leaks.iter().any(|l| l.cylinder == *cylinder);
    for mark in &mut picture.marks {
        if let Mark::Tdc {
            cylinder, emphasis, ..
        } = mark
            && called.contains(*cylinder)
            && !leaks(cylinder)
        {
            *emphasis = Emphasis::Called;
        }
    }
    Ok(picture)
}

fn trace(capture: &Capture, channel: usize, units: Units) -> Trace {
    let card = &capture.card.channels[channel];
    let step = card.scale_per_count * f64::from(1u32 << (16 - card.bits));
    let floor = LEAST_STEPS * step.abs();
    Trace {
        name: card.name.clone(),
        unit: units.convert(0.0, &card.unit).1,
        measures: card.measures,
        start_s: 0.0,
        sample_rate_hz: capture.card.sample_rate_hz,
        least_height: units.convert(floor, &card.unit).0,
        values: capture
            .scaled(channel)
            .map(|v| units.convert(v, &card.unit).0 as f32)
            .collect(),
    }
}

fn subtitle(card: &Card) -> String {
    let order: Vec<String> = card
        .engine
        .firing_order
        .iter()
        .map(u32::to_string)
        .collect();
    let mut text = format!(
        "Firing order {} · {} · neck {}",
        order.join("-"),
        card.set_up.mode,
        card.set_up.cap
    );
    let list = |cylinders: &[u32]| {
        cylinders
            .iter()
            .map(u32::to_string)
            .collect::<Vec<_>>()
            .join(" and ")
    };
    if !card.set_up.plugs_out.is_empty() {
        text += &format!(" · plug {} out", list(&card.set_up.plugs_out));
    }
    if let Some(intervals) = uneven_intervals(&card.engine) {
        text += &format!(" · fires at {intervals} degrees");
    }
    if card.engine.shared_coils {
        text += " · coils shared by companions";
    }
    text
}

/// The leak event in the middle of those that a sensor felt.
fn middle_event(truth: &Truth) -> Option<&LeakEvent> {
    let felt: Vec<_> = truth
        .events
        .iter()
        .filter(|e| e.steepest_s.is_some())
        .collect();
    felt.get(felt.len() / 2).copied()
}

/// The usual span, widened to hold the called TDC that is nearest to the pulse; without a pulse,
/// [`CYCLES_WITHOUT_PULSE`] around the middle.
fn around_a_call(card: &Card, truth: &Truth, called: CylinderSet, end: f64) -> [f64; 2] {
    let [from, to] = around_an_event(card, truth, end);
    let cycle = (to - from) / CYCLES_SHOWN;
    let Some(pulse_s) = middle_event(truth).and_then(|e| e.steepest_s) else {
        let (middle, half) = ((from + to) / 2.0, CYCLES_WITHOUT_PULSE * cycle / 2.0);
        return [(middle - half).max(0.0), (middle + half).min(end)];
    };
    let beside = |t: &f64| (t - pulse_s).abs();
    let tdcs = truth.tdcs.iter().filter(|t| called.contains(t.cylinder));
    let nearest = tdcs
        .map(|t| t.time_s)
        .min_by(|a, b| beside(a).total_cmp(&beside(b)));
    match nearest {
        Some(tdc) => [
            from.min(tdc - 0.1 * cycle).max(0.0),
            to.max(tdc + 0.1 * cycle).min(end),
        ],
        None => [from, to],
    }
}

fn around_an_event(card: &Card, truth: &Truth, end: f64) -> [f64; 2] {
    let event_s = match middle_event(truth) {
        Some(event) => event.tdc_s,
        None => match truth.tdcs.get(truth.tdcs.len() / 2) {
            Some(tdc) => tdc.time_s,
            None => return [0.0, end],
        },
    };
    let first = sync_cylinder(card).or(truth.engine.firing_order.first().copied());
    let syncs: Vec<f64> = truth
        .tdcs
        .iter()
        .filter(|t| Some(t.cylinder) == first)
        .map(|t| t.time_s)
        .collect();
    let Some(start) = syncs.iter().rposition(|t| *t <= event_s) else {
        return [0.0, end];
    };
    let cycle = match (syncs.get(start + 1), start.checked_sub(1)) {
        (Some(next), _) => next - syncs[start],
        (None, Some(before)) => syncs[start] - syncs[before],
        (None, None) => return [0.0, end],
    };
    let from = (syncs[start] - 0.2 * cycle).max(0.0);
    [from, (from + CYCLES_SHOWN * cycle).min(end)]
}

fn marks(card: &Card, truth: &Truth) -> Vec<Mark> {
    let sync = sync_cylinder(card);
    // A shared coil marks its two cylinders alike.
    let other = sync
        .filter(|_| truth.evidence.sync == Sync::Pair)
        .and_then(|c| truth.engine.companion(c));
    let tdcs = truth.tdcs.iter().map(|tdc| Mark::Tdc {
        time_s: tdc.time_s,
        cylinder: tdc.cylinder,
        emphasis: if truth.leaks.iter().any(|l| l.cylinder == tdc.cylinder) {
            Emphasis::Leaking
        } else if [sync, other].contains(&Some(tdc.cylinder)) {
            Emphasis::Sync
        } else {
            Emphasis::Plain
        },
    });
    let events = truth.events.iter().map(|e| Mark::LeakEvent {
        gas_start_s: e.gas_start_s,
        gas_end_s: e.gas_end_s,
        tdc_s: e.tdc_s,
        steepest_s: e.steepest_s,
        cylinder: e.cylinder,
        label: match (e.lag_ms, e.lag_deg) {
            (Some(ms), Some(deg)) => format!("{ms:.0} ms · {deg:.0}°"),
            _ => String::new(),
        },
    });
    tdcs.chain(events).collect()
}
