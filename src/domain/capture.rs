//! A capture in memory: its card and its samples.

use super::card::Card;

/// Most channels of a capture.
pub const MAX_CHANNELS: usize = 64;

/// A capture whose WAV would have this many bytes (2 GiB) or more is refused, because readers that keep sizes in
/// signed 32-bit numbers fail beyond.
pub const WAV_LIMIT_BYTES: u64 = 1 << 31;

/// Bytes of the header of a plain PCM WAV.
pub const WAV_HEADER_BYTES: u64 = 44;

/// Size in bytes of the WAV of `frames` samples in each of `channels` channels; `u64::MAX` when it is beyond
/// counting.
pub fn wav_bytes(frames: u64, channels: usize) -> u64 {
    frames
        .saturating_mul(channels as u64)
        .saturating_mul(2)
        .saturating_add(WAV_HEADER_BYTES)
}

/// What is public of a capture: its card, and the samples that the card describes.
#[derive(Clone, Debug, PartialEq)]
pub struct Capture {
    /// The card.
    pub card: Card,
    /// The counts of each of the card's channels.
    pub samples: Vec<Vec<i16>>,
}

impl Capture {
    /// The capture's name.
    pub fn name(&self) -> &str {
        &self.card.capture
    }

    /// Samples in each channel.
    pub fn frames(&self) -> usize {
        self.samples.first().map_or(0, Vec::len)
    }

    /// The values of one channel in its unit: offset + scale * count.
    ///
    /// # Panics
    /// If the card has no such channel, as indexing does.
    pub fn scaled(&self, channel: usize) -> impl ExactSizeIterator<Item = f64> + '_ {
        let card = &self.card.channels[channel];
        self.samples[channel].iter().map(|count| card.value(*count))
    }

    /// Time of a sample, s from the start of the capture.
    pub fn time_s(&self, frame: usize) -> f64 {
        frame as f64 / self.card.sample_rate_hz
    }
}
