//! The WAV of a capture: 16-bit PCM, one channel per trace, in the order of the card.
//!
//! Channels are not speakers. The format's own answer for more than two channels is
//! `WAVE_FORMAT_EXTENSIBLE`, whose mask ties channels to loudspeakers; a capture has none, and
//! some readers (Python's `wave` before 3.12) refuse that header. So a capture is written with the
//! plain 16-byte PCM format chunk, in 44 bytes of header, whatever the number of channels. Seen
//! with 1 to 24 channels: Python 3.11's `wave`, SciPy 1.17, libsndfile 1.2 and SoX 14.4 read the
//! same samples from it. Both forms are read here. The `hound` crate, which writes an extensible
//! header from three channels up and cannot be told otherwise, is the twin against which the tests
//! check this code.
//!
//! Source: Multimedia Programming Interface and Data Specifications 1.0 (IBM and Microsoft, 1991),
//! and Microsoft's page on `WAVEFORMATEXTENSIBLE`; both cited from memory.
//!
//! Limits: a file stays below 2 GiB, because readers that keep sizes in signed 32-bit numbers fail
//! beyond; a capture has at most [`MAX_CHANNELS`] channels.

use super::store::{self, Part};
use crate::error::{Fault, Faults};
use std::fmt::Display;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Most channels of a capture.
pub const MAX_CHANNELS: usize = 64;

/// A WAV of this many bytes (2 GiB) or more is refused.
pub const LIMIT_BYTES: u64 = 1 << 31;

const HEADER_BYTES: u64 = 44;
const BYTES_PER_SAMPLE: u64 = 2;
const PCM: u16 = 0x0001;
const FLOAT: u16 = 0x0003;
const EXTENSIBLE: u16 = 0xfffe;
/// Bytes of an extensible format chunk, as far as they are of interest.
const FMT_BYTES: u64 = 40;
/// The fixed tail of the identifiers by which an extensible header wraps a plain format tag.
const SUBFORMAT_TAIL: [u8; 14] = [
    0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71,
];
/// More chunks than any honest file has before its data.
const MAX_CHUNKS: usize = 1024;

const REMEDY_FORMAT: &str = "save it as 16-bit PCM, the only form of a capture";
const REMEDY_AGAIN: &str = "copy or render the capture again";

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

/// Size in bytes of the WAV of `frames` samples in each of `channels` channels; `u64::MAX` when it
/// is beyond counting.
pub fn bytes_needed(frames: u64, channels: usize) -> u64 {
    frames
        .saturating_mul(channels as u64)
        .saturating_mul(BYTES_PER_SAMPLE)
        .saturating_add(HEADER_BYTES)
}

/// Refuses a capture whose WAV would reach [`LIMIT_BYTES`], before any work is put into it.
pub fn refuse_oversize(place: impl Display, frames: u64, channels: usize) -> Result<(), Faults> {
    let bytes = bytes_needed(frames, channels);
    if bytes < LIMIT_BYTES {
        return Ok(());
    }
    let gib = bytes as f64 / (1_u64 << 30) as f64;
    let frame_bytes = (channels as u64).saturating_mul(BYTES_PER_SAMPLE);
    let most = (LIMIT_BYTES - 1 - HEADER_BYTES) / frame_bytes;
    Err(Fault::new(
        place,
        format!(
            "{frames} samples in each of {channels} channels make a WAV of {gib:.2} GiB \
             ({bytes} bytes); it must stay below 2 GiB ({LIMIT_BYTES} bytes)"
        ),
        format!(
            "shorten the capture, lower its sample rate or leave out channels: \
             {channels} channels have room for {most} samples each"
        ),
    )
    .into())
}

/// All that keeps `channels` from being written as a WAV.
fn check(place: &str, sample_rate_hz: u32, channels: &[Vec<i16>]) -> Result<(), Faults> {
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
    let file_bytes = bytes_needed(frames as u64, channels.len()) as u32;

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
    out.write_all(&(file_bytes - HEADER_BYTES as u32).to_le_bytes())?;

    const BLOCK: usize = 4096;
    let mut block = Vec::with_capacity(BLOCK * usize::from(frame_bytes));
    for start in (0..frames).step_by(BLOCK) {
        block.clear();
        for frame in start..frames.min(start + BLOCK) {
            for channel in channels {
                block.extend_from_slice(&channel[frame].to_le_bytes());
            }
        }
        out.write_all(&block)?;
    }
    Ok(())
}

/// Writes a WAV of `channels` to the file at `path`, whole or not at all; errors as in [`write()`]
/// and [`store::write_with`].
pub fn save(path: &Path, sample_rate_hz: u32, channels: &[Vec<i16>]) -> Result<(), Faults> {
    save_part(path, sample_rate_hz, channels)?.commit()
}

/// As [`save`], but leaves it to the caller to put the file in its place.
pub(super) fn save_part(
    path: &Path,
    sample_rate_hz: u32,
    channels: &[Vec<i16>],
) -> Result<Part, Faults> {
    check(&path.display().to_string(), sample_rate_hz, channels)?;
    Part::write(path, |out| write(out, sample_rate_hz, channels))
}

/// Reads the WAV at `path`: 16-bit PCM with a plain or an extensible header.
pub fn read(path: &Path) -> Result<Samples, Faults> {
    let (file, _) = store::open_regular(path)?;
    read_from(io::BufReader::new(file), path.display())
}

/// Reads a WAV from `source`, which `place` names in faults.
///
/// No size in the header is believed before it has been held against the length of the source.
pub fn read_from<R: Read + Seek>(mut source: R, place: impl Display) -> Result<Samples, Faults> {
    let place = place.to_string();
    read_chunks(&mut source, &place).map_err(|error| {
        error.downcast::<Faults>().unwrap_or_else(|error| {
            let problem = format!("cannot read it: {error}");
            Fault::new(place, problem, "check the file and try again").into()
        })
    })
}

/// A fault at `place`, wrapped so that it travels the same way as an I/O error.
fn refusal(place: &str, problem: impl Display, remedy: impl Display) -> io::Error {
    io::Error::other(Faults::from(Fault::new(place, problem, remedy)))
}

/// Walks the chunks up to the data, and reads those.
fn read_chunks<R: Read + Seek>(source: &mut R, place: &str) -> io::Result<Samples> {
    let length = source.seek(SeekFrom::End(0))?;
    if length == 0 {
        return Err(refusal(place, "the file is empty", REMEDY_AGAIN));
    }
    if length >= LIMIT_BYTES {
        let problem = format!("it has {length} bytes, and a capture stays below {LIMIT_BYTES}");
        return Err(refusal(place, problem, "cut it into shorter pieces"));
    }
    let mut riff = [0; 12];
    source.rewind()?;
    let head = length.min(12) as usize;
    source.read_exact(&mut riff[..head])?;
    if !riff.starts_with(b"RIFF") || (head == 12 && !riff.ends_with(b"WAVE")) {
        let problem = "it is not a WAV: it does not begin with `RIFF` and `WAVE`";
        return Err(refusal(place, problem, REMEDY_FORMAT));
    }
    let mut at = 12;
    let mut layout = None;
    for _ in 0..MAX_CHUNKS {
        if at + 8 > length {
            let wanted = if layout.is_none() { "format" } else { "data" };
            let problem = format!("the header is cut short: {length} bytes hold no {wanted} chunk");
            return Err(refusal(place, problem, REMEDY_AGAIN));
        }
        let mut head = [0; 8];
        source.seek(SeekFrom::Start(at))?;
        source.read_exact(&mut head)?;
        let promised = u64::from(u32::from_le_bytes([head[4], head[5], head[6], head[7]]));
        let there = length - at - 8;
        match &head[..4] {
            b"fmt " => {
                if promised > there {
                    let problem = format!(
                        "the header is cut short: its format chunk promises {promised} bytes, \
                         {there} are there"
                    );
                    return Err(refusal(place, problem, REMEDY_AGAIN));
                }
                let mut fmt = vec![0; promised.min(FMT_BYTES) as usize];
                source.read_exact(&mut fmt)?;
                layout = Some(Layout::parse(&fmt, place).map_err(io::Error::other)?);
            }
            b"data" => {
                let Some(layout) = layout else {
                    let problem = "its data come before their format";
                    return Err(refusal(place, problem, REMEDY_AGAIN));
                };
                return layout.read(source, promised, there, place);
            }
            _ => {}
        }
        // Chunks are padded to an even length.
        at += 8 + promised + promised % 2;
    }
    let problem = format!("it has more than {MAX_CHUNKS} chunks before its data");
    Err(refusal(place, problem, REMEDY_AGAIN))
}

/// How the samples lie in the data chunk.
struct Layout {
    channels: u16,
    sample_rate_hz: u32,
}

impl Layout {
    /// Takes a format chunk apart, with all that is wrong with it at once.
    fn parse(fmt: &[u8], place: &str) -> Result<Layout, Faults> {
        if fmt.len() < 16 {
            let problem = format!("its format chunk has {} bytes instead of 16", fmt.len());
            return Err(Fault::new(place, problem, REMEDY_AGAIN).into());
        }
        let word = |at: usize| u16::from_le_bytes([fmt[at], fmt[at + 1]]);
        let (tag, channels, frame_bytes, bits) = (word(0), word(2), word(12), word(14));
        let sample_rate_hz = u32::from_le_bytes([fmt[4], fmt[5], fmt[6], fmt[7]]);
        let tag = if tag == EXTENSIBLE && fmt.len() >= 40 && fmt[26..40] == SUBFORMAT_TAIL {
            word(24)
        } else {
            tag
        };
        let mut faults = Vec::new();
        let mut need = |holds: bool, problem: String, remedy: &str| {
            if !holds {
                faults.push(Fault::new(place, problem, remedy));
            }
        };
        let kind = match tag {
            FLOAT => "floating-point".into(),
            tag => format!("of format {tag:#06x}, not PCM"),
        };
        need(tag == PCM, format!("its samples are {kind}"), REMEDY_FORMAT);
        need(
            bits == 16,
            format!("its samples have {bits} bits"),
            REMEDY_FORMAT,
        );
        need(
            (1..=MAX_CHANNELS).contains(&usize::from(channels)),
            format!("it has {channels} channels"),
            "a capture has 1 to 64 channels",
        );
        need(
            sample_rate_hz > 0,
            "its sample rate is 0 Hz".into(),
            "a rate is at least 1 Hz",
        );
        let whole = u64::from(channels) * BYTES_PER_SAMPLE;
        need(
            bits != 16 || u64::from(frame_bytes) == whole,
            format!("its frames have {frame_bytes} bytes, and {channels} channels fill {whole}"),
            REMEDY_AGAIN,
        );
        if faults.is_empty() {
            Ok(Layout {
                channels,
                sample_rate_hz,
            })
        } else {
            Err(Faults(faults))
        }
    }

    /// Reads a data chunk that promises so many bytes, where so many are there.
    fn read(
        &self,
        source: &mut impl Read,
        promised: u64,
        there: u64,
        place: &str,
    ) -> io::Result<Samples> {
        let frame_bytes = u64::from(self.channels) * BYTES_PER_SAMPLE;
        if promised > there {
            let problem = format!(
                "the data are cut short: the header promises {} frames, {} are there",
                promised / frame_bytes,
                there / frame_bytes
            );
            return Err(refusal(place, problem, REMEDY_AGAIN));
        }
        if !promised.is_multiple_of(frame_bytes) {
            let problem = format!(
                "its {promised} bytes of data are no whole number of {frame_bytes}-byte frames"
            );
            return Err(refusal(place, problem, REMEDY_AGAIN));
        }
        let frames = (promised / frame_bytes) as usize;
        let mut channels = vec![Vec::new(); usize::from(self.channels)];
        for channel in &mut channels {
            channel.reserve_exact(frames);
        }
        let mut block = vec![0; frame_bytes as usize * frames.min(4096)];
        let mut left = promised as usize;
        while left > 0 {
            let part = left.min(block.len());
            source.read_exact(&mut block[..part])?;
            for frame in block[..part].chunks_exact(frame_bytes as usize) {
                for (channel, sample) in channels.iter_mut().zip(frame.chunks_exact(2)) {
                    channel.push(i16::from_le_bytes([sample[0], sample[1]]));
                }
            }
            left -= part;
        }
        Ok(Samples {
            sample_rate_hz: self.sample_rate_hz,
            channels,
        })
    }
}

#[cfg(test)]
mod tests;
