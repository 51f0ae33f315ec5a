//! What a picture must be before it can be drawn.

use super::Picture;
use crate::error::{Fault, Faults};

/// Sides within which a picture makes sense, pixels.
const SIDE_PX: std::ops::RangeInclusive<u32> = 320..=12_000;
/// Most pixels; the painter needs twelve bytes for each.
const MOST_PX: u64 = 32_000_000;
/// Shortest span, s; no trace is sampled so fast that a shorter one shows anything.
const SHORTEST_SPAN_S: f64 = 1e-6;
/// Farthest time from zero, s, at which a double still resolves the shortest span.
const FARTHEST_S: f64 = 1e8;

/// All faults of the picture that do not depend on where its parts stand.
pub(super) fn check(picture: &Picture) -> Result<(), Faults> {
    let mut faults = Vec::new();
    let mut fault = |place: &str, problem: String, remedy: String| {
        faults.push(Fault::new(format!("picture: {place}"), problem, remedy));
    };
    let [width, height] = picture.size;
    if !picture.size.iter().all(|side| SIDE_PX.contains(side)) {
        let problem = format!("{width} x {height} pixels cannot hold a readable picture");
        let [least, most] = [SIDE_PX.start(), SIDE_PX.end()];
        fault(
            "size",
            problem,
            format!("keep each side from {least} to {most}"),
        );
    } else if u64::from(width) * u64::from(height) > MOST_PX {
        let problem = format!("{width} x {height} pixels are too many");
        fault(
            "size",
            problem,
            format!("keep width times height below {MOST_PX}"),
        );
    }
    for (place, time_s) in times(picture) {
        if !is_time(time_s) {
            let problem = format!("{time_s} s is no time that can be drawn");
            let remedy = format!("give a finite time within {FARTHEST_S} s of the start");
            fault(&place, problem, remedy);
        }
    }
    let [start, end] = picture.span_s;
    if is_time(start) && is_time(end) && end < start {
        let problem = format!("the span runs backwards, from {start} s to {end} s");
        fault("span_s", problem, "give the earlier time first".into());
    } else if is_time(start) && is_time(end) && end - start < SHORTEST_SPAN_S {
        let problem = format!("the span from {start} s to {end} s is too short to draw");
        fault(
            "span_s",
            problem,
            format!("let it last at least {SHORTEST_SPAN_S} s"),
        );
    }
    if picture.traces.is_empty() {
        let problem = "there is no trace to draw".into();
        fault("traces", problem, "give at least one trace".into());
    }
    for (i, trace) in picture.traces.iter().enumerate() {
        if !(trace.sample_rate_hz > 0.0 && trace.sample_rate_hz.is_finite()) {
            let problem = format!("{} is not a sample rate", trace.sample_rate_hz);
            let remedy = "give samples per second, above 0".into();
            fault(&format!("traces[{i}].sample_rate_hz"), problem, remedy);
        }
        if let Some(at) = trace.values.iter().position(|v| !v.is_finite()) {
            let problem = format!("value {at} of \"{}\" is {}", trace.name, trace.values[at]);
            let remedy = "give finite numbers only".into();
            fault(&format!("traces[{i}].values"), problem, remedy);
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}

fn is_time(time_s: f64) -> bool {
    time_s.abs() <= FARTHEST_S
}

/// Every time of the picture, with its place.
fn times(picture: &Picture) -> impl Iterator<Item = (String, f64)> {
    let of = |list: &'static str, i: usize, field: &str, time_s: f64| {
        (format!("{list}[{i}].{field}"), time_s)
    };
    let ends = picture.span_s.iter().enumerate();
    let ends = ends.map(|(i, end)| (format!("span_s[{i}]"), *end));
    let traces = picture.traces.iter().enumerate();
    let starts = traces.map(move |(i, t)| of("traces", i, "start_s", t.start_s));
    let tdcs = picture.tdcs.iter().enumerate();
    let tdcs = tdcs.map(move |(i, t)| of("tdcs", i, "time_s", t.time_s));
    let events = picture.events.iter().enumerate();
    let events = events.flat_map(move |(i, e)| {
        [
            ("gas_start_s", e.gas_start_s),
            ("gas_end_s", e.gas_end_s),
            ("tdc_s", e.tdc_s),
            ("steepest_s", e.steepest_s.unwrap_or(e.tdc_s)),
        ]
        .map(|(field, time_s)| of("events", i, field, time_s))
    });
    ends.chain(starts).chain(tdcs).chain(events)
}
