//! What a picture must be before it can be drawn.

use super::{Mark, Picture};
use crate::error::{Fault, Faults};

/// Sides within which a picture makes sense, pixels.
const SIDE_PX: std::ops::RangeInclusive<u32> = 320..=12_000;
/// Most pixels; the painter needs twelve bytes for each.
const MOST_PX: u64 = 32_000_000;
/// Shortest span, s; no trace is sampled so fast that a shorter one shows anything.
const SHORTEST_SPAN_S: f64 = 1e-6;
/// Farthest time from zero, s, at which a double still resolves the shortest span.
const FARTHEST_S: f64 = 1e8;

/// All faults of the picture that do not depend on its layout.
pub(super) fn check(picture: &Picture) -> Result<(), Faults> {
    let mut faults = Vec::new();
    check_size(picture.size, &mut faults);
    check_span(picture.span_s, &mut faults);
    if picture.traces.is_empty() {
        faults.push(Fault::new(
            "picture: traces",
            "there is no trace to draw",
            "give at least one trace",
        ));
    }
    for (i, trace) in picture.traces.iter().enumerate() {
        let place = |field| format!("picture: traces[{i}].{field}");
        if !(trace.sample_rate_hz > 0.0 && trace.sample_rate_hz.is_finite()) {
            faults.push(Fault::new(
                place("sample_rate_hz"),
                format!("{} is not a sample rate", trace.sample_rate_hz),
                "give samples per second, above 0",
            ));
        }
        if !is_time(trace.start_s) {
            faults.push(not_a_time(place("start_s"), trace.start_s));
        }
        if let Some(at) = trace.values.iter().position(|v| !v.is_finite()) {
            faults.push(Fault::new(
                place("values"),
                format!("value {at} of \"{}\" is {}", trace.name, trace.values[at]),
                "give finite numbers only",
            ));
        }
    }
    for (i, mark) in picture.marks.iter().enumerate() {
        for (field, time) in times(mark) {
            if !is_time(time) {
                faults.push(not_a_time(format!("picture: marks[{i}].{field}"), time));
            }
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}

fn check_size([width, height]: [u32; 2], faults: &mut Vec<Fault>) {
    if !SIDE_PX.contains(&width) || !SIDE_PX.contains(&height) {
        faults.push(Fault::new(
            "picture: size",
            format!("{width} x {height} pixels cannot hold a readable picture"),
            format!(
                "keep each side from {} to {}",
                SIDE_PX.start(),
                SIDE_PX.end()
            ),
        ));
    } else if u64::from(width) * u64::from(height) > MOST_PX {
        faults.push(Fault::new(
            "picture: size",
            format!("{width} x {height} pixels are too many"),
            format!("keep width times height below {MOST_PX}"),
        ));
    }
}

fn check_span([start, end]: [f64; 2], faults: &mut Vec<Fault>) {
    for (field, time) in [("span_s[0]", start), ("span_s[1]", end)] {
        if !is_time(time) {
            faults.push(not_a_time(format!("picture: {field}"), time));
        }
    }
    if is_time(start) && is_time(end) && end - start < SHORTEST_SPAN_S {
        let (problem, remedy) = if end < start {
            (
                format!("the span runs backwards, from {start} s to {end} s"),
                "give the earlier time first".to_string(),
            )
        } else {
            (
                format!("the span from {start} s to {end} s is too short to draw"),
                format!("let it last at least {SHORTEST_SPAN_S} s"),
            )
        };
        faults.push(Fault::new("picture: span_s", problem, remedy));
    }
}

fn is_time(time_s: f64) -> bool {
    time_s.abs() <= FARTHEST_S
}

fn not_a_time(place: String, time_s: f64) -> Fault {
    Fault::new(
        place,
        format!("{time_s} s is no time that can be drawn"),
        format!("give a finite time within {FARTHEST_S} s of the start"),
    )
}

fn times(mark: &Mark) -> Vec<(&'static str, f64)> {
    match mark {
        Mark::Tdc { time_s, .. } | Mark::Sync { time_s, .. } => vec![("time_s", *time_s)],
        Mark::LeakEvent {
            gas_start_s,
            gas_end_s,
            tdc_s,
            steepest_s,
            ..
        } => {
            let mut times = vec![
                ("gas_start_s", *gas_start_s),
                ("gas_end_s", *gas_end_s),
                ("tdc_s", *tdc_s),
            ];
            times.extend(steepest_s.map(|t| ("steepest_s", t)));
            times
        }
    }
}
