//! What a picture must be before it can be drawn.

use super::Picture;
use crate::error::{Fault, Faults};

/// Shortest span, s; no trace is sampled so fast that a shorter one shows anything.
const SHORTEST_SPAN_S: f64 = 1e-6;
/// Farthest time from zero, s, at which a double still resolves the shortest span.
const FARTHEST_S: f64 = 1e8;

/// All faults of the picture that do not depend on where its parts stand.
pub(super) fn check(picture: &Picture) -> Result<(), Faults> {
    let mut faults = Vec::new();
    let mut fault = |place: &str, problem: String, remedy: &str| {
        faults.push(Fault::new(format!("picture: {place}"), problem, remedy));
    };
    let is_time = |time_s: &f64| time_s.abs() <= FARTHEST_S;
    let [start, end] = picture.span_s;
    if !(is_time(&start) && is_time(&end) && end - start >= SHORTEST_SPAN_S) {
        let problem = format!("a span from {start} s to {end} s cannot be drawn");
        let remedy =
            "give the earlier time first, a microsecond or more apart, within 1e8 s of the start";
        fault("span_s", problem, remedy);
    }
    let tdcs = picture.tdcs.iter().map(|tdc| vec![tdc.time_s]);
    let events = picture.events.iter().map(|e| {
        let mut times = vec![e.gas_start_s, e.gas_end_s, e.tdc_s];
        times.extend(e.steepest_s);
        times
    });
    let tdcs = tdcs
        .enumerate()
        .map(|(i, times)| (format!("tdcs[{i}]"), times));
    let events = events
        .enumerate()
        .map(|(i, times)| (format!("events[{i}]"), times));
    for (place, times) in tdcs.chain(events) {
        if let Some(time_s) = times.iter().find(|time_s| !is_time(time_s)) {
            let problem = format!("{time_s} s is no time that can be drawn");
            fault(
                &place,
                problem,
                "give finite times within 1e8 s of the start",
            );
        }
    }
    if picture.traces.is_empty() {
        let problem = "there is no trace to draw".into();
        fault("traces", problem, "give at least one trace");
    }
    for (i, trace) in picture.traces.iter().enumerate() {
        if !(trace.sample_rate_hz > 0.0 && trace.sample_rate_hz.is_finite()) {
            let problem = format!("{} is not a sample rate", trace.sample_rate_hz);
            let place = format!("traces[{i}].sample_rate_hz");
            fault(&place, problem, "give samples per second, above 0");
        }
        if let Some(at) = trace.values.iter().position(|v| !v.is_finite()) {
            let problem = format!("value {at} of \"{}\" is {}", trace.name, trace.values[at]);
            fault(
                &format!("traces[{i}].values"),
                problem,
                "give finite numbers only",
            );
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}
