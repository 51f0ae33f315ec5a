//! Traces made ready for reading.

use crate::domain::Capture;

/// Rate to which traces are averaged before they are read, Hz.
const RATE_HZ: f64 = 2000.0;

/// A trace averaged down to about [`RATE_HZ`], and the rate that came of it.
pub(super) fn tidy(capture: &Capture, channel: usize) -> (Vec<f64>, f64) {
    let rate = capture.card.sample_rate_hz;
    let block = ((rate / RATE_HZ).round() as usize).max(1);
    let values: Vec<f64> = capture.scaled(channel).collect();
    let means = values
        .chunks_exact(block)
        .map(|c| c.iter().sum::<f64>() / block as f64)
        .collect();
    (means, rate / block as f64)
}

/// From the tenth to the ninetieth hundredth of the values.
pub(super) fn spread(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    match sorted.len() {
        0 => 0.0,
        n => sorted[n * 9 / 10] - sorted[n / 10],
    }
}

/// The mean of `width` values around each, of fewer at the ends.
pub(super) fn running_mean(values: &[f64], width: usize) -> Vec<f64> {
    let half = width / 2;
    (0..values.len())
        .map(|i| {
            let around = &values[i.saturating_sub(half)..(i + half + 1).min(values.len())];
            around.iter().sum::<f64>() / around.len() as f64
        })
        .collect()
}
