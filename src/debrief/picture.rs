//! Pictures of a capture: as the student sees it, and with the truth drawn in.

use super::Units;
use super::words::{list, sync_cylinder, uneven_intervals};
use crate::domain::{Capture, Card, CylinderSet, LeakEvent, Sync, Truth};
use crate::error::{Fault, Faults};
use crate::plot::{Emphasis, NumberedTdc, Picture, Theme, Trace};

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
    let channels = 0..card.channels.len();
    Picture {
        title: capture.name().into(),
        subtitle: subtitle(card),
        traces: channels.map(|i| trace(capture, i, units)).collect(),
        tdcs: Vec::new(),
        events: Vec::new(),
        span_s: span_s.unwrap_or([0.0, duration_s(card)]),
        theme,
        footnote: format!(
            "Synthetic training capture of an invented vehicle: {}.",
            card.engine.vehicle
        ),
    }
}

/// From a time to another, s, or from the beginning or to the end of the capture where one is not given.
///
/// # Errors
/// A span that lies outside of the capture.
pub fn span(capture: &Capture, from_s: Option<f64>, to_s: Option<f64>) -> Result<[f64; 2], Faults> {
    let whole = duration_s(&capture.card);
    let (from, to) = (from_s.unwrap_or(0.0), to_s.unwrap_or(whole));
    // Not a number fails both comparisons.
    if from >= 0.0 && from < to && to <= whole + 1e-9 {
        return Ok([from, to]);
    }
    let problem = format!("cannot draw from {from} s to {to} s");
    let remedy = format!("choose a span within 0 to {whole} s");
    Err(Fault::new(capture.name(), problem, remedy).into())
}

fn duration_s(card: &Card) -> f64 {
    card.frames as f64 / card.sample_rate_hz
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
    let span_s = match (from_s, to_s) {
        (None, None) => around_an_event(&capture.card, truth),
        _ => span(capture, from_s, to_s)?,
    };
    let mut picture = capture_picture(capture, Some(span_s), units, theme);
    picture.title = format!("{}: {}", capture.name(), truth.title);
    picture.tdcs = tdcs(&capture.card, truth);
    picture.events = truth.events.clone();
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
    span_s: (Option<f64>, Option<f64>),
    units: Units,
    theme: Theme,
) -> Result<Picture, Faults> {
    let mut picture = debrief_picture(capture, truth, span_s, units, theme)?;
    if span_s == (None, None) {
        picture.span_s = around_a_call(&capture.card, truth, called);
    }
    picture.subtitle = format!("{why}\n{}", picture.subtitle);
    for tdc in &mut picture.tdcs {
        if called.contains(tdc.cylinder) && tdc.emphasis != Emphasis::Leaking {
            tdc.emphasis = Emphasis::Called;
        }
    }
    Ok(picture)
}

fn trace(capture: &Capture, channel: usize, units: Units) -> Trace {
    let card = &capture.card.channels[channel];
    let (factor, offset, unit) = units.of(&card.unit);
    let name = if unit.is_empty() {
        card.name.clone()
    } else {
        format!("{} ({unit})", card.name)
    };
    let step = card.scale_per_count * f64::from(1u32 << (16 - card.bits));
    Trace {
        name,
        measures: card.measures,
        sample_rate_hz: capture.card.sample_rate_hz,
        least_height: LEAST_STEPS * step.abs() * factor,
        values: capture
            .scaled(channel)
            .map(|value| (value * factor + offset) as f32)
            .collect(),
    }
}

fn subtitle(card: &Card) -> String {
    let order = list(&card.engine.firing_order, "-");
    let (mode, cap) = (card.set_up.mode, &card.set_up.cap);
    let mut text = format!("Firing order {order} · {mode} · neck {cap}");
    if !card.set_up.plugs_out.is_empty() {
        text += &format!(" · plug {} out", list(&card.set_up.plugs_out, " and "));
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
    let felt = || truth.events.iter().filter(|e| e.steepest_s.is_some());
    felt().nth(felt().count() / 2)
}

/// The usual span, widened to hold the called TDC that is nearest to the pulse; without a pulse,
/// [`CYCLES_WITHOUT_PULSE`] around the middle.
fn around_a_call(card: &Card, truth: &Truth, called: CylinderSet) -> [f64; 2] {
    let end = duration_s(card);
    let [from, to] = around_an_event(card, truth);
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
    let margin = 0.1 * cycle;
    nearest.map_or([from, to], |tdc| {
        let [from, to] = [from.min(tdc - margin), to.max(tdc + margin)];
        [from.max(0.0), to.min(end)]
    })
}

/// [`CYCLES_SHOWN`] with the middle event in the first of them; the whole capture where no cycle is seen.
fn around_an_event(card: &Card, truth: &Truth) -> [f64; 2] {
    let end = duration_s(card);
    cycle_of_event(card, truth).map_or([0.0, end], |[start, cycle]| {
        let from = (start - 0.2 * cycle).max(0.0);
        [from, (from + CYCLES_SHOWN * cycle).min(end)]
    })
}

/// Start and length, s, of the cycle, from sync to sync, with the middle event or, without one, the middle
/// TDC.
fn cycle_of_event(card: &Card, truth: &Truth) -> Option<[f64; 2]> {
    let event_s = match middle_event(truth) {
        Some(event) => event.tdc_s,
        None => truth.tdcs.get(truth.tdcs.len() / 2)?.time_s,
    };
    let first = sync_cylinder(card).or(truth.engine.firing_order.first().copied());
    let syncs = truth.tdcs.iter().filter(|t| Some(t.cylinder) == first);
    let syncs: Vec<f64> = syncs.map(|t| t.time_s).collect();
    let at = syncs.iter().rposition(|t| *t <= event_s)?;
    // Where the capture ends within the cycle, the one before is as long.
    let next = syncs.get(at + 1).map(|next| next - syncs[at]);
    let cycle = next.or_else(|| Some(syncs[at] - syncs[at.checked_sub(1)?]))?;
    Some([syncs[at], cycle])
}

fn tdcs(card: &Card, truth: &Truth) -> Vec<NumberedTdc> {
    let sync = sync_cylinder(card);
    // A shared coil marks its two cylinders alike.
    let other = sync
        .filter(|_| truth.evidence.sync == Sync::Pair)
        .and_then(|c| truth.engine.companion(c));
    let numbered = truth.tdcs.iter().map(|tdc| NumberedTdc {
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
    numbered.collect()
}
