//! Tests of the WAV code, with the `hound` crate as its twin.

use super::*;
use proptest::prelude::*;
use std::io::Cursor;

fn written(rate: u32, channels: &[Vec<i16>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    write(&mut bytes, rate, channels).unwrap();
    bytes
}

fn read_bytes(bytes: &[u8]) -> Result<Samples, Faults> {
    read_from(Cursor::new(bytes), "x.wav")
}

fn by_hound(rate: u32, channels: &[Vec<i16>]) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: channels.len() as u16,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
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
    assert_eq!(bytes_needed(2, 3), expected.len() as u64);
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
    let most = (LIMIT_BYTES - 45) / 10;
    assert!(bytes_needed(most, 5) < LIMIT_BYTES && bytes_needed(most + 1, 5) >= LIMIT_BYTES);
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
    assert_eq!(bytes_needed(u64::MAX, 64), u64::MAX);
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

        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.wav");
        let faults = save(&path, rate, &channels).unwrap_err();
        assert_eq!(faults.0[0].place, path.display().to_string());
        assert_eq!(folder.path().read_dir().unwrap().count(), 0);
    }
    let two = check("x", 0, &[vec![0], vec![0, 0]]).unwrap_err();
    assert_eq!(two.0.len(), 2, "{two}");
}

#[test]
fn foreign_and_torn_files_are_refused() {
    refused(b"", "empty");
    refused(b"RI", "not a WAV");
    refused(b"RIFF", "cut short");
    refused(b"name,time,value\n1,2,3\n", "not a WAV");
    refused(&patched(8, b"AVI "), "not a WAV");
    refused(&small()[..12], "no format chunk");
    refused(
        &small()[..30],
        "its format chunk promises 16 bytes, 10 are there",
    );
    refused(&small()[..40], "no data chunk");
    refused(&small()[..44], "promises 2 frames, 0 are there");
    refused(&small()[..52], "promises 2 frames, 1 are there");
    refused(&patched(16, &[14]), "instead of 16");
    refused(&patched(12, b"data\x00\x00\x00\x00"), "before their format");
    let mut many = small()[..12].to_vec();
    many.extend(b"junk\0\0\0\0".repeat(MAX_CHUNKS + 1));
    refused(&many, "more than 1024 chunks");
}

#[test]
fn other_sample_formats_are_refused() {
    refused(&patched(20, &[3]), "floating-point");
    refused(&patched(20, &[0x11]), "format 0x0011, not PCM");
    for bits in [0, 8, 12, 24, 32] {
        refused(&patched(34, &[bits]), &format!("{bits} bits"));
    }
    refused(&patched(22, &[0]), "0 channels");
    refused(&patched(22, &[0xff, 0xff]), "65535 channels");
    refused(&patched(24, &[0, 0]), "0 Hz");
    refused(
        &patched(32, &[12]),
        "frames have 12 bytes, and 3 channels fill 6",
    );
    refused(&patched(40, &[11]), "no whole number of 6-byte frames");
    let mut extensible = by_hound(4000, &vec![vec![1]; 3]);
    extensible[44] = 3;
    refused(&extensible, "floating-point");
    extensible[59] ^= 1;
    refused(&extensible, "format 0xfffe");
}

#[test]
fn every_fault_of_a_header_is_told() {
    let mut file = patched(20, &[3]);
    file[34] = 32;
    file[24..28].fill(0);
    assert_eq!(read_bytes(&file).unwrap_err().0.len(), 3);
}

#[test]
fn a_promise_of_three_gigabytes_costs_no_memory() {
    let mut file = patched(40, &3_000_000_000_u32.to_le_bytes());
    file.resize(100, 0);
    refused(&file, "promises 500000000 frames, 9 are there");
    let mut file = patched(12, b"junk");
    file[16..20].copy_from_slice(&u32::MAX.to_le_bytes());
    refused(&file, "no format chunk");
}

#[test]
fn other_chunks_are_passed_over() {
    let plain = small();
    let mut file = plain[..36].to_vec();
    // Of odd length, so a pad byte follows; a reader that forgets it loses its way.
    file.extend(b"LIST\x05\0\0\0INFO!\0");
    file.extend(&plain[36..]);
    file.extend(b"tail\x02\0\0\0ab");
    assert_eq!(read_bytes(&file), read_bytes(&plain));
}

#[test]
fn the_file_limit_is_told_before_anything_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("big.wav");
    let file = std::fs::File::create(&path).unwrap();
    file.set_len(LIMIT_BYTES).unwrap();
    let faults = read(&path).unwrap_err();
    assert!(faults.to_string().contains("stays below"), "{faults}");
}

#[test]
fn a_missing_file_is_named() {
    let faults = read(Path::new("no/such.wav")).unwrap_err();
    assert!(faults.to_string().starts_with("no/such.wav: "), "{faults}");
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
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn hound_reads_what_is_written(channels in captures(), rate in 1_u32..1_000_000) {
        let bytes = written(rate, &channels);
        let reader = hound::WavReader::new(&bytes[..]).unwrap();
        prop_assert_eq!(reader.spec().sample_rate, rate);
        prop_assert_eq!(usize::from(reader.spec().channels), channels.len());
        let counts: Vec<i16> = reader.into_samples().map(Result::unwrap).collect();
        for (c, channel) in channels.iter().enumerate() {
            let own: Vec<i16> = counts.iter().copied().skip(c).step_by(channels.len()).collect();
            prop_assert_eq!(channel, &own);
        }
    }

    #[test]
    fn what_hound_writes_is_read(channels in captures(), rate in 1_u32..1_000_000) {
        let expected = Samples { sample_rate_hz: rate, channels };
        prop_assert_eq!(read_bytes(&by_hound(rate, &expected.channels)).unwrap(), expected.clone());
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
    fn a_damaged_file_does_no_harm(
        extensible: bool,
        damage in prop::collection::vec((0_usize..68, any::<u8>()), 1..6),
        length in 0_usize..110,
    ) {
        let channels = vec![vec![5, -5, 9]; 5];
        let mut bytes = if extensible { by_hound(8000, &channels) } else { written(8000, &channels) };
        for (at, byte) in damage {
            bytes[at] = byte;
        }
        survives(&bytes)?;
        bytes.truncate(length);
        survives(&bytes)?;
    }
}
