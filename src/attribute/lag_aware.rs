//! x
use super::clock::Clock;
use super::counting::neck_channels;
use super::cycle::Cycle;
use super::reading::Reading;
use super::shape::Shape;
use crate::capture::Opened;
const STEP_DEG: f64 = 3.0;
/// x
pub fn allow_for_lag(capture: &Opened) -> Reading {
    let Some(clock) = Clock::of(capture) else {
        return Reading::unsure("noclock");
    };
    let mut why = format!("{:?};{}", clock.sync, clock.source);
    for channel in neck_channels(capture) {
        if let Some(cycle) = Cycle::of(capture, channel, &clock, STEP_DEG)
            && let Some(s) = Shape::of(&cycle)
        {
            why += &format!(
                ";{:?} {} {} {} {} {} {} {} {} {} {}",
                capture.card.channels[channel].measures,
                cycle.standing_out(),
                cycle.ms_per_deg,
                s.angle_deg,
                s.before_ms[0],
                s.before_ms[1],
                s.before_ms[2],
                s.after_ms[0],
                s.after_ms[1],
                s.after_ms[2],
                s.undershoot
            );
        }
    }
    Reading::unsure(&why)
}
