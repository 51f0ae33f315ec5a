//! The story of a capture in words.

use super::Units;
use crate::domain::{Card, EngineData, LeakTruth, Mode, Sync, Truth};
use serde::Serialize;

/// Paragraphs of a debrief, each under its heading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Words {
    /// The capture's name and the lesson's title.
    pub title: String,
    /// Heading and text.
    pub paragraphs: Vec<(String, String)>,
}

impl Words {
    /// The story as plain text, a line a paragraph.
    pub fn to_text(&self) -> String {
        let paragraphs = self
            .paragraphs
            .iter()
            .map(|(heading, text)| format!("\n{heading}\n{text}\n"));
        format!("{}\n{}", self.title, paragraphs.collect::<String>())
    }
}

/// Tells what happened in a capture, how it can be read, and what it teaches.
pub fn words(card: &Card, truth: &Truth, units: Units) -> Words {
    let mut paragraphs = Vec::new();
    let mut say = |heading: &str, text: String| {
        if !text.is_empty() {
            paragraphs.push((heading.to_string(), text));
        }
    };
    say("The vehicle", vehicle(&truth.engine));
    say("The test", test(card, units));
    let leaks = truth.leaks.iter().map(|l| leak(l, units));
    let weak = truth.weak_cylinders.iter().map(|c| {
        format!("Cylinder {c} is worn: its hump is low, but wear passes no gas into the coolant.")
    });
    let mut truths: Vec<String> = leaks.chain(weak).collect();
    if truths.is_empty() {
        truths.push("No cylinder leaks into the coolant.".into());
    }
    say("The truth", truths.join(" "));
    say("The evidence", truth.evidence.reasons.join(" "));
    let counts: Vec<String> = truth
        .visible_leaks()
        .map(|l| count(card, truth, l))
        .collect();
    say("The count", counts.join(" "));
    say("What it supports", truth.evidence.joined(", or "));
    let clipped = truth.channels.iter().filter(|c| c.clipped_samples > 0);
    let clipped = clipped.map(|c| {
        let (name, clipped, all) = (&c.name, c.clipped_samples, card.frames);
        format!("{name} ran out of its range in {clipped} of {all} samples.")
    });
    say("Clipping", list(clipped, " "));
    say("What it teaches", truth.teaches.clone());
    say("Before you do this on a car", card.cautions.join(" "));
    Words {
        title: format!("{}: {}", truth.capture, truth.title),
        paragraphs,
    }
}

/// The engine in one sentence.
pub fn vehicle(plate: &EngineData) -> String {
    let order = list(&plate.firing_order, "-");
    let coils = if plate.shared_coils {
        "companions share a coil"
    } else {
        "a coil for each cylinder"
    };
    let intervals =
        uneven_intervals(plate).map_or(String::new(), |i| format!(" at intervals of {i} degrees"));
    format!(
        "{}, {} of {:.2} L, compression ratio {}, firing order {order}{intervals}, {coils}.",
        plate.vehicle,
        plate.layout.engine_of(plate.cylinders),
        plate.displacement_l,
        plate.compression_ratio,
    )
}

/// `150, 90, ...`: the firing intervals of an odd-firing engine; `None` for an even one.
pub(super) fn uneven_intervals(plate: &EngineData) -> Option<String> {
    let all = &plate.firing_intervals_deg;
    let even = all.iter().all(|i| (i - all[0]).abs() < 1e-6);
    (!even).then(|| list(all, ", "))
}

/// Some things one after another.
pub(super) fn list(things: impl IntoIterator<Item: ToString>, separator: &str) -> String {
    let texts: Vec<String> = things.into_iter().map(|t| t.to_string()).collect();
    texts.join(separator)
}

/// What was done, in one sentence.
pub fn test(card: &Card, units: Units) -> String {
    let s = &card.set_up;
    let mut text = format!(
        "{}, {:.1} s, neck {}, coolant at {}",
        if s.mode == Mode::Idle {
            "Idle"
        } else {
            "Cranking"
        },
        card.frames as f64 / card.sample_rate_hz,
        s.cap,
        units.text(s.coolant_c, "°C", 2),
    );
    if !s.plugs_out.is_empty() {
        text += &format!(", plug of cylinder {} out", list(&s.plugs_out, " and "));
    }
    if let Some(c) = s.in_cylinder_transducer {
        text += &format!(", pressure transducer in place of the plug of cylinder {c}");
    }
    if !s.ignition_enabled {
        text += ", ignition disabled";
    }
    text + "."
}

fn leak(leak: &LeakTruth, units: Units) -> String {
    let area = units.text(leak.area_mm2, "mm²", 2);
    let mut text = format!("Cylinder {} leaks through {area}", leak.cylinder);
    if leak.opens_at_bar < 0.05 {
        text += " that is always open.";
    } else {
        let lift = units.text(leak.opens_at_bar, "bar", 2);
        text += &format!(" that lifts {lift} above the jacket.");
    }
    let coolant = units.text(leak.coolant_drawn_ml, "mL", 2);
    if leak.events > 0 {
        let (gas, back, events) = (leak.gas_in_mg, leak.gas_back_mg, leak.events);
        let plural = if events == 1 { "" } else { "s" };
        text += &format!(
            " It passed {gas:.1} mg of gas in {events} event{plural}; {back:.1} mg came back, and {coolant} of coolant with it."
        );
    } else if leak.coolant_drawn_ml > 0.0 {
        text += &format!(" It passed no gas, but let {coolant} of coolant into the cylinder.");
    }
    text
}

/// How the firing order is counted from the sync to the pulse, and whom the lag accuses.
fn count(card: &Card, truth: &Truth, leak: &LeakTruth) -> String {
    let plate = &truth.engine;
    let (Some(lag_ms), Some(lag_deg), Some(own)) =
        (leak.lag_ms, leak.lag_deg, plate.tdc_deg(leak.cylinder))
    else {
        return String::new();
    };
    // A cap that opens can cut a rise short, so that it is steepest before TDC.
    let verb = if lag_ms < 0.0 { "precedes" } else { "follows" };
    let lag = format!("{:.0} ms or {:.0} degrees", lag_ms.abs(), lag_deg.abs());
    let cylinder = leak.cylinder;
    let sync = sync_cylinder(card).filter(|_| truth.evidence.sync != Sync::None);
    let mut text = match sync {
        None => format!("The steepest rise {verb} the TDC of cylinder {cylinder} by {lag}."),
        Some(sync) if sync == cylinder => format!(
            "The sync marks cylinder {sync} itself; the steepest rise {verb} its TDC by {lag}."
        ),
        Some(sync) => {
            let apart = (own - plate.tdc_deg(sync).unwrap_or(0.0)).rem_euclid(720.0);
            let turns = plate.firing_order.iter().cycle().copied();
            let mut counted: Vec<u32> = turns
                .take(2 * plate.cylinders)
                .skip_while(|c| *c != sync)
                .take_while(|c| *c != cylinder)
                .collect();
            counted.push(cylinder);
            format!(
                "Counted from cylinder {sync}, the firing order runs {} to cylinder {cylinder}, whose TDC stands {apart:.0} degrees later; the steepest rise {verb} that TDC by {lag}.",
                list(&counted, "-"),
            )
        }
    };
    let accused = accused(plate, own + lag_deg);
    if accused != cylinder {
        text += &format!(
            " The nearest TDC is that of cylinder {accused}, which looks guilty until the lag is allowed for."
        );
    }
    if truth.evidence.sync == Sync::Pair
        && let Some(companion) = plate.companion(cylinder)
    {
        text += &format!(
            " A mark every 360 degrees fits its companion, cylinder {companion}, just as well; a second sync or a plug taken out decides."
        );
    }
    text
}

/// The cylinder that the synchronising traces mark.
pub fn sync_cylinder(card: &Card) -> Option<u32> {
    let sensor = card.channels.iter().find_map(|c| c.cylinder);
    sensor.or_else(|| card.set_up.plugs_out.first().copied())
}

/// The cylinder whose TDC is nearest to a place in the cycle.
fn accused(plate: &EngineData, at_deg: f64) -> u32 {
    let distance = |c: u32| {
        let apart = (at_deg - plate.tdc_deg(c).unwrap_or(0.0)).rem_euclid(720.0);
        apart.min(720.0 - apart)
    };
    plate
        .firing_order
        .iter()
        .copied()
        .min_by(|a, b| distance(*a).total_cmp(&distance(*b)))
        .unwrap_or(0)
}
