//! Samples on their way into a page: each channel as differences of neighbours, all packed by zlib
//! (RFC 1950) and written in base 64 (RFC 4648). `web/samples.js` undoes it.
//!
//! A trace moves little from one sample to the next, so the differences pack to about a quarter of the
//! WAV, and base 64 adds a third to that.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use std::io::{self, Read, Write};

/// Most samples in one page, all channels of all captures together: 128 MiB once a browser has
/// unpacked them.
pub const MOST_SAMPLES: u64 = 1 << 26;

/// Packs channels, one after another.
pub fn pack<'a>(channels: impl IntoIterator<Item = &'a [i16]>) -> String {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    for channel in channels {
        let mut before = 0i16;
        let bytes: Vec<u8> = channel
            .iter()
            .flat_map(|sample| {
                let step = sample.wrapping_sub(before);
                before = *sample;
                step.to_le_bytes()
            })
            .collect();
        encoder
            .write_all(&bytes)
            .expect("a Vec takes all that is written to it");
    }
    let packed = encoder
        .finish()
        .expect("a Vec takes all that is written to it");
    STANDARD.encode(packed)
}

/// The channels of a packed text, each of `frames` samples; what a page's reader gets.
///
/// # Errors
/// Text that was not packed here.
pub fn unpack(text: &str, frames: usize) -> io::Result<Vec<Vec<i16>>> {
    let packed = STANDARD.decode(text).map_err(io::Error::other)?;
    let mut bytes = Vec::new();
    ZlibDecoder::new(packed.as_slice()).read_to_end(&mut bytes)?;
    let steps: Vec<i16> = bytes
        .chunks_exact(2)
        .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
        .collect();
    let channels = steps.chunks(frames.max(1)).map(|channel| {
        let mut value = 0i16;
        let whole = channel.iter().map(|step| {
            value = value.wrapping_add(*step);
            value
        });
        whole.collect()
    });
    Ok(channels.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_packed_comes_back() {
        let channels = [vec![0, i16::MAX, i16::MIN, -1, 5], vec![7; 5]];
        let text = pack(channels.iter().map(Vec::as_slice));
        assert_eq!(unpack(&text, 5).unwrap(), channels);
        assert!(unpack("no base 64!", 5).is_err());
    }
}
