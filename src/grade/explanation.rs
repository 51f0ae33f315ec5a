//! Clauses about a capture, from its own numbers, out of which sentences are made.
//!
//! Lags and pulse heights are the means in the truth; angles between cylinders come from the plate.
//! A number that the truth lacks (no events, no sensor) is left out, not guessed.

use super::verdict::{Shown, companion};
use crate::domain::{CylinderSet, Mode, Sync};

/// Why compression and exhaust look alike.
pub(super) fn mark(shown: &Shown) -> &'static str {
    if shown.truth.engine.shared_coils {
        "a shared coil sparks both times"
    } else {
        "the sync marks every revolution alike"
    }
}

/// `the pulses of cylinder 3 rise 20 ms (21 crank degrees) after its compression TDC`.
pub(super) fn train(shown: &Shown, cylinder: u32) -> String {
    match lag(shown, cylinder) {
        Some(lag) => {
            format!("the pulses of cylinder {cylinder} rise {lag} after its compression TDC")
        }
        None => format!("the pulses follow the compressions of cylinder {cylinder}"),
    }
}

/// The trains of several cylinders: the first in full, `and those of cylinder 5 rise ...`.
pub(super) fn trains(shown: &Shown, set: CylinderSet) -> String {
    let others = set.iter().skip(1).map(|c| match lag(shown, c) {
        Some(lag) => format!("those of cylinder {c} rise {lag} after its own"),
        None => format!("others those of cylinder {c}"),
    });
    list(
        set.first()
            .map(|c| train(shown, c))
            .into_iter()
            .chain(others),
    )
}

/// `cylinder 3 does leak`, `cylinders 2 and 5 do leak`.
pub(super) fn leaks(set: CylinderSet) -> String {
    let verb = if set.len() == 1 { "does" } else { "do" };
    format!("{} {verb} leak", cylinders(set.iter()))
}

/// `20 ms (21 crank degrees)`.
pub(super) fn lag(shown: &Shown, cylinder: u32) -> Option<String> {
    let leak = shown.truth.leak_of(cylinder)?;
    let (ms, deg) = (leak.lag_ms?, leak.lag_deg?);
    Some(format!("{ms:.0} ms ({deg:.0} crank degrees)"))
}

pub(super) fn lag_deg(shown: &Shown, cylinder: u32) -> Option<f64> {
    shown.truth.leak_of(cylinder)?.lag_deg
}

/// Why the leak of a cylinder does not show, as a clause.
pub(super) fn why_hidden(shown: &Shown, cylinder: u32) -> String {
    let mode = match shown.truth.mode {
        Mode::Idle => "at idle",
        Mode::Cranking => "while cranking",
    };
    match shown.truth.leak_of(cylinder) {
        Some(leak) if leak.events == 0 && leak.plug_out => "its plug is out, so that no pressure \
             builds up to drive gas through the leak"
            .into(),
        Some(leak) if leak.events == 0 && leak.opens_at_bar >= 0.05 => format!(
            "the leak lifts at {:.1} bar above the jacket and passed no gas {mode}",
            leak.opens_at_bar
        ),
        Some(leak) if leak.events == 0 => format!("the leak passed no gas {mode}"),
        Some(leak) => match leak.pulse_over_noise {
            Some(ratio) => format!(
                "the leak passed {:.1} mg of gas, but its pulses, {ratio:.1} times the noise, cannot \
                 be told",
                leak.gas_in_mg
            ),
            None => format!(
                "the leak passed {:.1} mg of gas, but no sensor shows it",
                leak.gas_in_mg
            ),
        },
        None => format!("no pulse shows it {mode}"),
    }
}

/// Why visible pulses cannot be tied to a cylinder.
pub(super) fn no_mark(shown: &Shown) -> &'static str {
    match shown.truth.evidence.sync {
        Sync::None => "nothing in the capture marks a cylinder to count the firing order from",
        Sync::Pair | Sync::Full => "the pulses cannot be tied to one cylinder",
    }
}

/// `the 24 compressions in the capture`.
pub(super) fn compressions(shown: &Shown) -> String {
    match shown.truth.tdcs.len() {
        0 => "the compressions in the capture".into(),
        n => format!("the {n} compressions in the capture"),
    }
}

pub(super) fn is_pair(shown: &Shown, named: CylinderSet) -> bool {
    let first = named
        .first()
        .and_then(|c| companion(&shown.truth.engine, c));
    named.len() == 2 && first == named.iter().last()
}

/// `cylinder 3`, `cylinders 1, 2 and 5`.
pub(super) fn cylinders(set: impl IntoIterator<Item = u32>) -> String {
    let names: Vec<String> = set.into_iter().map(|c| c.to_string()).collect();
    let noun = if names.len() == 1 {
        "cylinder"
    } else {
        "cylinders"
    };
    format!("{noun} {}", list(names))
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn list(parts: impl IntoIterator<Item = String>) -> String {
    let mut parts: Vec<String> = parts.into_iter().collect();
    match (parts.pop(), parts.is_empty()) {
        (None, _) => String::new(),
        (Some(last), true) => last,
        (Some(last), false) => format!("{} and {last}", parts.join(", ")),
    }
}
