//! Truth probes of a capture that lies on a disk: what no sensor at the car can show.
//!
//! The truth holds the scenario, and the scenario renders the capture again. Here it does so with
//! probes behind its own channels; noise is drawn by a channel's place, so those stay as they were.

use crate::domain::{ChannelCard, Truth};
use crate::error::{Fault, Faults};
use crate::render::render;
use crate::scenario::{ChannelSpec, ProbeOf, ProbeSpec, SensorSpec, Source};
use std::collections::BTreeSet;

/// Renders the truth's scenario again and returns, for the leaking cylinders, their gas and their
/// pressure, then the pressures at both ends of the coolant column and the flow between them.
///
/// `samples` are those of the capture, which must come again to the last bit.
///
/// # Errors
/// A scenario that cannot be read, or that renders other samples.
pub fn probes(truth: &Truth, samples: &[Vec<i16>]) -> Result<Vec<(ChannelCard, Vec<i16>)>, Faults> {
    let own = samples.len();
    let leaking: BTreeSet<u32> = truth.leaks.iter().map(|l| l.cylinder).collect();
    let place = format!("{}.truth.json: scenario", truth.capture);
    let source = Source::from_tree(&place, truth.scenario.clone());
    let drawn = source.draw(Some(truth.seed), truth.number)?;
    let drawn = drawn.edit(|s, _| {
        let probe = |of, cylinder| ChannelSpec::of(SensorSpec::Probe(ProbeSpec { of, cylinder }));
        for of in [ProbeOf::LeakFlow, ProbeOf::CylinderPressure] {
            s.channels.extend(leaking.iter().map(|c| probe(of, *c)));
        }
        let ends = [
            ProbeOf::JacketPressure,
            ProbeOf::NeckPressure,
            ProbeOf::ColumnFlow,
        ];
        s.channels.extend(ends.map(|of| probe(of, 1)));
    })?;
    let capture = render(&drawn, &truth.capture).capture;
    if capture.samples.get(..own) != Some(samples) {
        let problem = format!("it renders other samples than {}.wav holds", truth.capture);
        let remedy = "use the version of the program that rendered the capture";
        return Err(Fault::new(place, problem, remedy).into());
    }
    let all = capture.card.channels.into_iter().zip(capture.samples);
    Ok(all.skip(own).collect())
}
