//! The WAV of a capture: 16-bit PCM, one channel per trace, in the order of the card.
//!
//! The `hound` crate reads. It does not write, because channels are not speakers: from three
//! channels up hound ties them to loudspeakers in a `WAVE_FORMAT_EXTENSIBLE` header, which some
//! readers (Python's `wave` before 3.12) refuse. So every capture gets the plain PCM header of 44
//! bytes. Seen with 1 to 24 channels: Python 3.11's `wave`, SciPy 1.17, libsndfile 1.2 and SoX 14.4
//! read the same samples from it.
//!
//! Source: Multimedia Programming Interface and Data Specifications 1.0 (IBM and Microsoft, 1991),
//! and Microsoft's page on `WAVEFORMATEXTENSIBLE`; both cited from memory.
//!
//! Limits: a file stays below 2 GiB, because readers that keep sizes in signed 32-bit numbers fail
//! beyond; a capture has at most [`MAX_CHANNELS`] channels. Hound 3.5 does not skip the pad byte
//! after a chunk of odd length, so a file with one before its data is refused.

use crate::digest::Hashed;
use crate::domain::capture::{MAX_CHANNELS, WAV_HEADER_BYTES, WAV_LIMIT_BYTES, wav_bytes};
use crate::error::{Fault, Faults};
use hound::{SampleFormat, WavReader, WavSpec};
use std::fmt::Display;
use std::io::{self, Read, Seek, SeekFrom, Write};

const BYTES_PER_SAMPLE: u64 = 2;
/// The format tag of plain PCM.
const PCM: u16 = 1;

const REMEDY_FORMAT: &str = "save it as a WAV of 16-bit PCM, the only form of a capture";
const REMEDY_AGAIN: &str = "copy or render the capture again";
const REMEDY_TAGS: &str =
    "copy or render the capture again; if another program saved it, save it there without tags";

/// The samples of a WAV, in counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Samples {
    /// Samples per second, as the header has it: a whole number.
    pub sample_rate_hz: u32,
    /// One vector for each channel, all of one length.
    pub channels: Vec<Vec<i16>>,
}

impl Samples {
    /// Samples in each channel.
    pub fn frames(&self) -> usize {
        self.channels.first().map_or(0, Vec::len)
    }
}

/// Refuses a capture whose WAV would reach [`WAV_LIMIT_BYTES`], before any work is put into it.
pub fn refuse_oversize(place: impl Display, frames: u64, channels: usize) -> Result<(), Faults> {
    let bytes = wav_bytes(frames, channels);
    if bytes < WAV_LIMIT_BYTES {
        return Ok(());
    }
    let gib = bytes as f64 / (1_u64 << 30) as f64;
    let frame_bytes = (channels as u64).saturating_mul(BYTES_PER_SAMPLE);
    let most = (WAV_LIMIT_BYTES - 1 - WAV_HEADER_BYTES) / frame_bytes;
    Err(Fault::new(
        place,
        format!(
            "{frames} samples in each of {channels} channels make a WAV of {gib:.2} GiB \
             ({bytes} bytes); it must stay below 2 GiB ({WAV_LIMIT_BYTES} bytes)"
        ),
        format!(
            "shorten the capture, lower its sample rate or leave out channels: \
             {channels} channels have room for {most} samples each"
        ),
    )
    .into())
}

/// All that keeps `channels` from being written as a WAV.
pub fn check(place: &str, sample_rate_hz: u32, channels: &[Vec<i16>]) -> Result<(), Faults> {
    let count = channels.len();
    if count == 0 || count > MAX_CHANNELS {
        let remedy = format!("record 1 to {MAX_CHANNELS} channels");
        return Err(Fault::new(place, format!("there are {count} channels"), remedy).into());
    }
    let mut faults = Vec::new();
    let frames = channels[0].len();
    for (number, channel) in channels.iter().enumerate() {
        if channel.len() != frames {
            faults.push(Fault::new(
                place,
                format!(
                    "channel {number} has {} samples and channel 0 has {frames}",
                    channel.len()
                ),
                "give every channel the same number of samples",
            ));
        }
    }
    let most_hz = u32::MAX / (count as u32 * BYTES_PER_SAMPLE as u32);
    if sample_rate_hz == 0 || sample_rate_hz > most_hz {
        faults.push(Fault::new(
            place,
            format!("the sample rate is {sample_rate_hz} Hz"),
            format!("with {count} channels choose a rate from 1 to {most_hz} Hz"),
        ));
    }
    let frames = channels.iter().map(Vec::len).max().unwrap_or(0);
    if let Err(oversize) = refuse_oversize(place, frames as u64, count) {
        faults.extend(oversize.0);
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}

/// Writes a WAV of `channels`, all of one length, a block at a time.
///
/// What cannot be a WAV (no or ragged channels, a rate of zero, 2 GiB or more) is refused before
/// the first byte, by an [`io::Error`] that wraps [`Faults`].
pub fn write<W: Write>(mut out: W, sample_rate_hz: u32, channels: &[Vec<i16>]) -> io::Result<()> {
    check("WAV", sample_rate_hz, channels).map_err(io::Error::other)?;
    let frames = channels[0].len();
    // Fits by the check above.
    let frame_bytes = channels.len() as u16 * BYTES_PER_SAMPLE as u16;
    let file_bytes = wav_bytes(frames as u64, channels.len()) as u32;

    out.write_all(b"RIFF")?;
    out.write_all(&(file_bytes - 8).to_le_bytes())?;
    out.write_all(b"WAVEfmt ")?;
    out.write_all(&16_u32.to_le_bytes())?;
    out.write_all(&PCM.to_le_bytes())?;
    out.write_all(&(channels.len() as u16).to_le_bytes())?;
    out.write_all(&sample_rate_hz.to_le_bytes())?;
    out.write_all(&(sample_rate_hz * u32::from(frame_bytes)).to_le_bytes())?;
    out.write_all(&frame_bytes.to_le_bytes())?;
    out.write_all(&16_u16.to_le_bytes())?;
    out.write_all(b"data")?;
    out.write_all(&(file_bytes - WAV_HEADER_BYTES as u32).to_le_bytes())?;

    const BLOCK: usize = 4096;
    let mut block = vec![0; BLOCK * usize::from(frame_bytes)];
    for start in (0..frames).step_by(BLOCK) {
        let end = frames.min(start + BLOCK);
        let block = &mut block[..(end - start) * usize::from(frame_bytes)];
        for (place, channel) in (0..).step_by(BYTES_PER_SAMPLE as usize).zip(channels) {
            let frames = block.chunks_exact_mut(usize::from(frame_bytes));
            for (frame, sample) in frames.zip(&channel[start..end]) {
                frame[place..place + 2].copy_from_slice(&sample.to_le_bytes());
            }
        }
        out.write_all(block)?;
    }
    Ok(())
}

/// Whether a file of `bytes` bytes that begins with `first` can be a whole WAV: the magic number, then the bytes to come.
pub fn is_begin(first: [u8; 8], bytes: u64) -> bool {
    let [magic @ .., a, b, c, d] = first;
    magic == *b"RIFF" && u64::from(u32::from_le_bytes([a, b, c, d])) + 8 == bytes
}

/// SHA-256 of the WAV of `channels`, which is written nowhere; errors as in [`write()`].
pub fn sha256(sample_rate_hz: u32, channels: &[Vec<i16>]) -> Result<String, Faults> {
    check("WAV", sample_rate_hz, channels)?;
    let mut hashed = Hashed::new(io::sink());
    write(&mut hashed, sample_rate_hz, channels).map_err(|e| Fault::new("WAV", e, REMEDY_AGAIN))?;
    Ok(hashed.hex())
}

/// Reads a WAV from `source`, which `place` names in faults.
///
/// No size in the header is believed: memory grows with the samples that are really there.
pub fn read<R: Read + Seek>(mut source: R, place: impl Display) -> Result<Samples, Faults> {
    let refuse =
        |(problem, remedy): (String, &str)| Faults::from(Fault::new(&place, problem, remedy));
    let length = source
        .seek(SeekFrom::End(0))
        .and_then(|length| source.rewind().map(|()| length))
        .map_err(|error| refuse(unreadable(&error)))?;
    if length == 0 {
        return Err(refuse(("the file is empty".into(), REMEDY_AGAIN)));
    }
    if length >= WAV_LIMIT_BYTES {
        let problem = format!("it has {length} bytes, and a capture stays below {WAV_LIMIT_BYTES}");
        return Err(refuse((problem, "cut it into shorter pieces")));
    }
    let mut reader = WavReader::new(source).map_err(|error| {
        let cut = format!("the header is cut short: {length} bytes end before any samples");
        refuse(explain(error, (cut, REMEDY_TAGS)))
    })?;
    let spec = reader.spec();
    check_spec(&place, spec)?;

    let promised = reader.duration();
    let count = usize::from(spec.channels);
    let mut channels = vec![Vec::new(); count];
    for (sample, channel) in reader.samples().zip((0..count).cycle()) {
        match sample {
            Ok(sample) => channels[channel].push(sample),
            Err(error) => {
                let there = channels[count - 1].len();
                let cut = format!(
                    "the data are cut short: the header promises {promised} frames, {there} are \
                     there"
                );
                return Err(refuse(explain(error, (cut, REMEDY_AGAIN))));
            }
        }
    }
    Ok(Samples {
        sample_rate_hz: spec.sample_rate,
        channels,
    })
}

/// All that keeps a WAV of this form from being a capture.
fn check_spec(place: impl Display, spec: WavSpec) -> Result<(), Faults> {
    let mut faults = Vec::new();
    let mut need = |holds: bool, problem: String, remedy: &str| {
        if !holds {
            faults.push(Fault::new(&place, problem, remedy));
        }
    };
    need(
        spec.sample_format == SampleFormat::Int,
        "its samples are floating-point".into(),
        REMEDY_FORMAT,
    );
    need(
        spec.bits_per_sample == 16,
        format!("its samples have {} bits", spec.bits_per_sample),
        REMEDY_FORMAT,
    );
    need(
        usize::from(spec.channels) <= MAX_CHANNELS,
        format!("it has {} channels", spec.channels),
        &format!("a capture has 1 to {MAX_CHANNELS} channels"),
    );
    need(
        spec.sample_rate > 0,
        "its sample rate is 0 Hz".into(),
        "a rate is at least 1 Hz",
    );
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}

/// The problem and the remedy of a source that fails.
fn unreadable(error: &io::Error) -> (String, &'static str) {
    let problem = format!("cannot read it: {error}");
    (problem, "check the file and try again")
}

/// The problem and the remedy of what stopped `hound`: `cut`, if that was the end of the file.
fn explain(error: hound::Error, cut: (String, &'static str)) -> (String, &'static str) {
    use hound::Error::*;
    match error {
        // What `hound` returns at the end of the file; the system's own errors are never `Other`.
        IoError(error) if error.kind() == io::ErrorKind::Other => cut,
        IoError(error) => unreadable(&error),
        FormatError(reason) => (format!("it is not a valid WAV: {reason}"), REMEDY_FORMAT),
        TooWide | Unsupported | InvalidSampleFormat | UnfinishedSample => (
            "its samples are not PCM of 2 bytes each".into(),
            REMEDY_FORMAT,
        ),
    }
}

#[cfg(test)]
mod tests;
