//! Truth probes of a capture that lies on a disk: what no sensor at the car can show.
//!
//! The truth holds the scenario, and the scenario renders the capture again. Here it does so with
//! probes behind its own channels; noise is drawn by a channel's place, so those stay as they were.

use crate::domain::{ChannelCard, Truth};
use crate::error::{Fault, Faults};
use crate::render::render;
use crate::scenario::Source;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Renders the truth's scenario again and returns, for the leaking cylinders, their gas and their
/// pressure, then the pressures at both ends of the coolant column and the flow between them.
///
/// `samples` are those of the capture, which must come again to the last bit.
///
/// # Errors
/// A scenario that cannot be read, or that renders other samples.
pub fn probes(truth: &Truth, samples: &[Vec<i16>]) -> Result<Vec<(ChannelCard, Vec<i16>)>, Faults> {
    let mut tree = truth.scenario.clone();
    let own = samples.len();
    if let Some(channels) = tree.get_mut("channels").and_then(Value::as_array_mut) {
        let leaking: BTreeSet<u32> = truth.leaks.iter().map(|l| l.cylinder).collect();
        for of in ["leak_flow", "cylinder_pressure"] {
            let probe = |c| json!({"sensor": "probe", "of": of, "cylinder": c});
            channels.extend(leaking.iter().map(probe));
        }
        let ends = ["jacket_pressure", "neck_pressure", "column_flow"];
        channels.extend(ends.map(|of| json!({"sensor": "probe", "of": of})));
    }
    let place = format!("{}.truth.json: scenario", truth.capture);
    let drawn = Source::from_tree(&place, tree).draw(Some(truth.seed), truth.number)?;
    let capture = render(&drawn, &truth.capture).capture;
    if capture.samples.get(..own) != Some(samples) {
        let problem = format!("it renders other samples than {}.wav holds", truth.capture);
        let remedy = "use the version of the program that rendered the capture";
        return Err(Fault::new(place, problem, remedy).into());
    }
    let all = capture.card.channels.into_iter().zip(capture.samples);
    Ok(all.skip(own).collect())
}
