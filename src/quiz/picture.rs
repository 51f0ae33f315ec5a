//! Pictures of a pack: the whole capture and a closer look, all with the same number of bytes.
//!
//! A picture of a flat trace packs smaller than one of a staircase, so that a folder's listing would sort
//! the captures. Every PNG is filled up to the largest with an ancillary chunk, which programs pass over
//! (Portable Network Graphics, third edition, W3C 2025, section 5.4; cited from memory).

use crate::debrief::{Units, capture_picture};
use crate::domain::{Capture, Mode};
use crate::error::Faults;
use crate::plot::{Theme, png};

/// A closer look begins at this share of the capture, when cranking has settled.
const CLOSE_FROM: f64 = 0.55;
/// It lasts this long, s: two to three cycles.
const CLOSE_CRANKING_S: f64 = 1.5;
const CLOSE_IDLE_S: f64 = 0.5;
/// Length, type and checksum of a chunk, bytes.
const CHUNK_FRAME: usize = 12;
/// The chunk that ends a PNG: no data, and the checksum of its type.
const END: [u8; 12] = [0, 0, 0, 0, b'I', b'E', b'N', b'D', 0xae, 0x42, 0x60, 0x82];

/// The whole capture, and a closer look at the same place of every capture.
pub fn pictures(capture: &Capture, units: Units) -> Result<[Vec<u8>; 2], Faults> {
    let end = capture.card.frames as f64 / capture.card.sample_rate_hz;
    let length = match capture.card.set_up.mode {
        Mode::Idle => CLOSE_IDLE_S,
        Mode::Cranking => CLOSE_CRANKING_S,
    };
    let from = CLOSE_FROM * end;
    let close = [from, (from + length).min(end)];
    let draw = |span| png(&capture_picture(capture, span, units, Theme::Light));
    Ok([draw(None)?, draw(Some(close))?])
}

/// Fills every PNG up to the same number of bytes.
pub fn level(pictures: &mut [Vec<u8>]) {
    let Some(largest) = pictures.iter().map(Vec::len).max() else {
        return;
    };
    for picture in pictures {
        // One chunk for each, so that whether there is one says nothing either.
        let filling = largest - picture.len();
        if let Some(body) = picture.strip_suffix(&END) {
            let mut filled = body.to_vec();
            filled.extend((filling as u32).to_be_bytes());
            let mut chunk = b"fiLl".to_vec();
            chunk.resize(4 + filling, 0);
            filled.extend(&chunk);
            filled.extend(crc(&chunk).to_be_bytes());
            filled.extend(END);
            debug_assert_eq!(filled.len(), largest + CHUNK_FRAME);
            *picture = filled;
        }
    }
}

/// The checksum of PNG's chunks (CRC-32 of ISO 3309, reflected).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ (0xedb8_8320 & (crc & 1).wrapping_neg())
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "123456789" gives cbf43926: the usual check value of this CRC, cited from memory.
    #[test]
    fn the_checksum_has_its_check_value() {
        assert_eq!(crc(b"123456789"), 0xcbf4_3926);
        assert_eq!(crc(b"IEND").to_be_bytes(), END[8..]);
    }

    #[test]
    fn levelled_pictures_are_of_one_size_and_still_pictures() {
        let drawn = |width: u32| {
            let mut bytes = Vec::new();
            let mut encoder = png::Encoder::new(&mut bytes, width, 1);
            encoder.set_color(png::ColorType::Grayscale);
            let mut writer = encoder.write_header().unwrap();
            let pixels: Vec<u8> = (0..width).map(|i| (i * i % 251) as u8).collect();
            writer.write_image_data(&pixels).unwrap();
            drop(writer);
            bytes
        };
        let mut pictures = vec![drawn(3), drawn(900), drawn(40)];
        assert_ne!(pictures[0].len(), pictures[1].len());
        level(&mut pictures);
        assert!(pictures.iter().all(|p| p.len() == pictures[0].len()));
        for (picture, width) in pictures.iter().zip([3, 900, 40]) {
            let decoder = png::Decoder::new(std::io::Cursor::new(picture));
            let mut reader = decoder.read_info().unwrap();
            let mut pixels = vec![0; width];
            reader.next_frame(&mut pixels).unwrap();
            assert_eq!(reader.info().width as usize, width);
            reader.finish().unwrap();
        }
    }
}
