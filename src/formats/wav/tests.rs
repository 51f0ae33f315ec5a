//! Tests of the WAV code: what it writes, byte by byte, and what it makes of foreign and torn files.

use super::*;
use proptest::prelude::*;
use std::io::Cursor;

fn written(rate: u32, channels: &[Vec<i16>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    write(&mut bytes, rate, channels).unwrap();
    bytes
}

fn read_bytes(bytes: &[u8]) -> Result<Samples, Faults> {
    read(Cursor::new(bytes), "x.wav")
}

/// The bytes of a WAV that `hound` writes, with an extensible header from three channels up.
fn by_hound<S: hound::Sample + Copy>(
    rate: u32,
    channels: &[Vec<S>],
    form: (u16, SampleFormat),
) -> Vec<u8> {
    let spec = WavSpec {
        channels: channels.len() as u16,
        sample_rate: rate,
        bits_per_sample: form.0,
        sample_format: form.1,
    };
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for frame in 0..channels[0].len() {
        for channel in channels {
            writer.write_sample(channel[frame]).unwrap();
        }
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

const INT_16: (u16, SampleFormat) = (16, SampleFormat::Int);
const FLOAT_32: (u16, SampleFormat) = (32, SampleFormat::Float);

/// Three channels of two frames, the smallest file with every field of interest.
fn small() -> Vec<u8> {
    written(4000, &[vec![1, -1], vec![i16::MAX, i16::MIN], vec![256, 0]])
}

/// The valid file with some of its bytes replaced from an offset on.
fn patched(at: usize, bytes: &[u8]) -> Vec<u8> {
    let mut file = small();
    file[at..at + bytes.len()].copy_from_slice(bytes);
    file
}

/// Asserts that a file is refused with these words.
#[track_caller]
fn refused(bytes: &[u8], words: &str) {
    let faults = read_bytes(bytes).expect_err("it was accepted");
    assert!(faults.to_string().contains(words), "{faults}");
    assert!(faults.0.iter().all(|f| f.place == "x.wav"), "{faults}");
}

#[test]
fn the_bytes_of_a_small_file_are_these() {
    #[rustfmt::skip]
    let expected = [
        b'R', b'I', b'F', b'F', 48, 0, 0, 0, b'W', b'A', b'V', b'E',
        b'f', b'm', b't', b' ', 16, 0, 0, 0,
        1, 0, 3, 0, 0xa0, 0x0f, 0, 0, 0xc0, 0x5d, 0, 0, 6, 0, 16, 0,
        b'd', b'a', b't', b'a', 12, 0, 0, 0,
        1, 0, 0xff, 0x7f, 0, 1,
        0xff, 0xff, 0, 0x80, 0, 0,
    ];
    assert_eq!(small(), expected);
    assert_eq!(wav_bytes(2, 3), expected.len() as u64);
}

#[test]
fn a_file_longer_than_a_block_comes_back() {
    let channels: Vec<Vec<i16>> = (0..5)
        .map(|c| (0..10_001).map(|i| (i * 7 + c) as i16).collect())
        .collect();
    let samples = read_bytes(&written(44_100, &channels)).unwrap();
    assert_eq!(samples.sample_rate_hz, 44_100);
    assert_eq!(samples.frames(), 10_001);
    assert_eq!(samples.channels, channels);
}

#[test]
fn no_frames_are_a_valid_wav() {
    let samples = read_bytes(&written(1000, &[vec![], vec![]])).unwrap();
    assert_eq!(samples.channels, vec![Vec::<i16>::new(); 2]);
}

#[test]
fn the_two_gib_limit_is_exact() {
    let most = (WAV_LIMIT_BYTES - 45) / 10;
    assert!(wav_bytes(most, 5) < WAV_LIMIT_BYTES && wav_bytes(most + 1, 5) >= WAV_LIMIT_BYTES);
    assert_eq!(refuse_oversize("x", most, 5), Ok(()));
    let faults = refuse_oversize("lesson.yaml: channels", most + 1, 5).unwrap_err();
    let words = faults.to_string();
    for part in [
        "lesson.yaml: channels",
        "2.00 GiB",
        "2147483654",
        "sample rate",
        &most.to_string(),
    ] {
        assert!(words.contains(part), "{part} is not in: {words}");
    }
    assert_eq!(wav_bytes(u64::MAX, 64), u64::MAX);
    assert!(refuse_oversize("x", u64::MAX, usize::MAX).is_err());
}

#[test]
fn what_cannot_be_a_wav_is_not_begun() {
    for (rate, channels) in [
        (1000, vec![]),
        (1000, vec![vec![0]; MAX_CHANNELS + 1]),
        (1000, vec![vec![0], vec![0, 0]]),
        (0, vec![vec![0]]),
        (u32::MAX, vec![vec![0]]),
    ] {
        let mut bytes = Vec::new();
        let error = write(&mut bytes, rate, &channels).unwrap_err();
        assert!(error.downcast::<Faults>().is_ok());
        assert!(bytes.is_empty());
    }
    let two = check("x", 0, &[vec![0], vec![0, 0]]).unwrap_err();
    assert_eq!(two.0.len(), 2, "{two}");
}

#[test]
fn foreign_and_torn_files_are_refused() {
    refused(b"", "the file is empty; copy or render");
    refused(b"RI", "2 bytes end before any samples; copy or render");
    refused(b"RIFF", "cut short");
    refused(
        b"name,time,value\n1,2,3\n",
        "not a valid WAV: no RIFF tag found; save it as a WAV of 16-bit PCM",
    );
    refused(&patched(8, b"AVI "), "no WAVE tag");
    for length in [12, 30, 40, 43] {
        refused(
            &small()[..length],
            &format!("the header is cut short: {length} bytes end"),
        );
    }
    refused(
        &small()[..44],
        "promises 2 frames, 0 are there; copy or render the capture again",
    );
    for length in 50..56 {
        refused(&small()[..length], "promises 2 frames, 1 are there");
    }
    refused(&patched(16, &[14]), "invalid fmt chunk size");
    refused(&patched(12, b"data\x00\x00\x00\x00"), "missing fmt chunk");
    let mut many = small()[..12].to_vec();
    many.extend(b"junk\0\0\0\0".repeat(10_000));
    refused(&many, "cut short");
}

#[test]
fn other_sample_formats_are_refused() {
    let floats = [vec![0.5_f32], vec![-0.5]];
    refused(&by_hound(4000, &floats, FLOAT_32), "floating-point; save");
    refused(&patched(20, &[3]), "bits per sample is not 32; save");
    refused(&patched(20, &[0x11]), "not PCM of 2 bytes each; save");
    for bits in [8, 24, 32] {
        let form = (bits, SampleFormat::Int);
        let bytes = by_hound(4000, &[vec![1_i32, 2]], form);
        refused(&bytes, &format!("{bits} bits; save"));
    }
    refused(&patched(34, &[0]), "bits per sample is 0");
    refused(&patched(34, &[12]), "not a multiple of 8");
    refused(&patched(34, &[24]), "exceeds size of sample");
    refused(&patched(22, &[0]), "zero channels");
    let many = vec![vec![1_i16]; MAX_CHANNELS + 1];
    refused(
        &by_hound(4000, &many, INT_16),
        "it has 65 channels; a capture has 1 to 64 channels",
    );
    refused(&patched(22, &[0xff, 0xff]), "exceeds size of sample");
    refused(&patched(24, &[0, 0, 0, 0, 0, 0, 0, 0]), "0 Hz; a rate is");
    refused(&patched(24, &[0, 0]), "inconsistent fmt chunk");
    refused(&patched(40, &[11]), "not a multiple of sample size");
    refused(&patched(40, &[10]), "invalid data chunk length");
    // Samples of 16 bits in 4 bytes each, with the byte rate that belongs to them.
    refused(
        &patched(28, &[0x80, 0xbb, 0, 0, 12, 0]),
        "not PCM of 2 bytes each",
    );
    let mut extensible = by_hound(4000, &vec![vec![1_i16]; 3], INT_16);
    extensible[44] = 3;
    refused(&extensible, "floating-point");
    extensible[59] ^= 1;
    refused(&extensible, "not PCM");
}

#[test]
fn every_fault_of_a_form_is_told() {
    let floats = vec![vec![0.5_f32]; MAX_CHANNELS + 1];
    let mut file = by_hound(4000, &floats, FLOAT_32);
    // The sample rate, and the byte rate that follows from it.
    file[24..32].fill(0);
    let faults = read_bytes(&file).unwrap_err();
    assert_eq!(faults.0.len(), 4, "{faults}");
}

/// A source that breaks down after so many bytes.
struct Failing(Cursor<Vec<u8>>, u64);

impl Read for Failing {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let left = self.1.saturating_sub(self.0.position());
        if left == 0 {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        Read::by_ref(&mut self.0).take(left).read(bytes)
    }
}

impl Seek for Failing {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.0.seek(to)
    }
}

#[test]
fn a_source_that_fails_is_not_called_cut_short() {
    for after in [0, 20, 44, 51] {
        let source = Failing(Cursor::new(small()), after);
        let faults = read(source, "x.wav").unwrap_err().to_string();
        assert!(
            faults.starts_with("x.wav: cannot read it: permission denied"),
            "{faults}"
        );
    }
}

#[test]
fn a_promise_of_gigabytes_is_not_believed() {
    let mut file = patched(40, &3_000_000_000_u32.to_le_bytes());
    file.resize(100, 0);
    refused(&file, "promises 500000000 frames, 9 are there");
    let mut file = patched(12, b"junk");
    file[16..20].copy_from_slice(&u32::MAX.to_le_bytes());
    refused(&file, "the header is cut short: 56 bytes end");
}

/// The small file with another chunk before its data and one after.
fn with_chunk(chunk: &[u8]) -> Vec<u8> {
    let plain = small();
    [&plain[..36], chunk, &plain[36..], b"tail\x02\0\0\0ab"].concat()
}

#[test]
fn other_chunks_are_passed_over() {
    let expected = read_bytes(&small());
    assert!(expected.is_ok());
    assert_eq!(read_bytes(&with_chunk(b"LIST\x06\0\0\0INFO!!")), expected);
    // The limit named in the module's head: of odd length, so a pad byte follows.
    refused(
        &with_chunk(b"LIST\x05\0\0\0INFO!\0"),
        "save it there without tags",
    );
}

/// Up to 20 channels of one length.
fn captures() -> impl Strategy<Value = Vec<Vec<i16>>> {
    (1_usize..20, 0_usize..50).prop_flat_map(|(channels, frames)| {
        prop::collection::vec(prop::collection::vec(any::<i16>(), frames), channels)
    })
}

/// Whatever the bytes, the answer is samples that fit into them or faults.
fn survives(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(samples) = read_bytes(bytes) {
        let counts: usize = samples.channels.iter().map(Vec::len).sum();
        prop_assert!(counts * 2 <= bytes.len());
    }
    Ok(())
}

proptest! {
    #[test]
    fn both_headers_are_read(channels in captures(), rate in 1_u32..1_000_000) {
        let expected = Samples { sample_rate_hz: rate, channels };
        let foreign = by_hound(rate, &expected.channels, INT_16);
        prop_assert_eq!(read_bytes(&foreign).unwrap(), expected.clone());
        prop_assert_eq!(read_bytes(&written(rate, &expected.channels)).unwrap(), expected);
    }

    #[test]
    fn arbitrary_bytes_do_no_harm(mut bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        survives(&bytes)?;
        for (byte, riff) in bytes.iter_mut().zip(b"RIFF\xff\0\0\0WAVEfmt ") {
            *byte = *riff;
        }
        survives(&bytes)?;
    }

    #[test]
    fn a_header_that_agrees_with_itself_does_no_harm(
        tag in prop::sample::select(vec![1_u16, 3, 0xfffe]),
        fmt_bytes in prop::sample::select(vec![16_u32, 18, 40]),
        channels in prop_oneof![0_u16..70, any::<u16>()],
        frame_bytes in prop_oneof![0_u16..300, any::<u16>()],
        bits in prop_oneof![0_u16..70, Just(16)],
        valid_bits in 0_u16..70,
        rate in prop_oneof![0_u32..100_000, any::<u32>()],
        data_bytes in prop_oneof![0_u32..300, any::<u32>()],
        data in prop::collection::vec(any::<u8>(), 0..300),
    ) {
        let mut bytes = b"RIFF\xff\0\0\0WAVEfmt ".to_vec();
        bytes.extend(fmt_bytes.to_le_bytes());
        bytes.extend(tag.to_le_bytes());
        bytes.extend(channels.to_le_bytes());
        bytes.extend(rate.to_le_bytes());
        bytes.extend(rate.wrapping_mul(frame_bytes.into()).to_le_bytes());
        bytes.extend(frame_bytes.to_le_bytes());
        bytes.extend(bits.to_le_bytes());
        let mut extension = vec![22, 0];
        extension.extend(valid_bits.to_le_bytes());
        extension.extend([0; 4]);
        extension.extend(b"\x01\0\0\0\0\0\x10\0\x80\0\0\xaa\0\x38\x9b\x71");
        bytes.extend(&extension[..fmt_bytes as usize - 16]);
        bytes.extend(b"data");
        bytes.extend(data_bytes.to_le_bytes());
        bytes.extend(data);
        survives(&bytes)?;
    }

    #[test]
    fn a_damaged_file_does_no_harm(
        extensible: bool,
        damage in prop::collection::vec((0_usize..68, any::<u8>()), 1..6),
        length in 0_usize..110,
    ) {
        let channels = vec![vec![5, -5, 9]; 5];
        let mut bytes = if extensible { by_hound(8000, &channels, INT_16) } else { written(8000, &channels) };
        for (at, byte) in damage {
            bytes[at] = byte;
        }
        survives(&bytes)?;
        bytes.truncate(length);
        survives(&bytes)?;
    }
}
