//! Promise: a capture is an ordinary WAV and an ordinary CSV, whose numbers are those that the
//! program itself reads. `interchange.py` asks further readers.

mod common;

use common::{Bench, SCENARIO};
use waterjacket::domain::Capture;
use waterjacket::render::render;
use waterjacket::scenario::Source;
use waterjacket::storage::open;

/// Captures of one, two and six channels; more than two are where readers differ.
fn captures() -> (Bench, Vec<String>) {
    let bench = Bench::new();
    let one = SCENARIO.replace("  - {sensor: coil_trigger, cylinder: 1}\n", "");
    let six = SCENARIO.to_string()
        + "  - {sensor: neck_pulse, coupling: ac, inverted: true}\n\
           \x20 - {sensor: starter_current}\n\
           \x20 - {sensor: battery_voltage, range: 20 V}\n\
           \x20 - {sensor: cylinder_pressure, cylinder: 2}\n";
    for (name, text) in [("one", one), ("two", SCENARIO.into()), ("six", six)] {
        bench.write(&format!("scenarios/{name}.yaml"), text);
    }
    bench.done(&["render", "scenarios", "--out", "out"]);
    (bench, ["one", "six", "two"].map(String::from).to_vec())
}

fn opened(bench: &Bench, name: &str) -> Capture {
    open(&bench.path("out").join(name)).unwrap()
}

#[test]
fn hound_reads_the_same_samples() {
    let (bench, names) = captures();
    for name in names {
        let own = opened(&bench, &name);
        let mut reader = hound::WavReader::open(bench.path(&format!("out/{name}.wav"))).unwrap();
        let spec = reader.spec();
        assert_eq!(spec.sample_rate, own.card.sample_rate_hz as u32);
        assert_eq!(spec.bits_per_sample, 16);
        assert_eq!(spec.sample_format, hound::SampleFormat::Int);
        assert_eq!(usize::from(spec.channels), own.samples.len());
        let samples: Vec<i16> = reader.samples().map(Result::unwrap).collect();
        let frames: Vec<&[i16]> = samples.chunks(own.samples.len()).collect();
        assert_eq!(frames.len(), 2000);
        for (i, channel) in own.samples.iter().enumerate() {
            let theirs: Vec<i16> = frames.iter().map(|frame| frame[i]).collect();
            assert_eq!(&theirs, channel, "{name}, channel {i}");
        }
    }
}

/// The header by hand, since the program itself reads by hound: RIFF and a plain PCM format of 16
/// bytes, then the frames, little-endian.
#[test]
fn the_bytes_are_those_of_a_plain_pcm_file() {
    let (bench, names) = captures();
    for name in names {
        let bytes = bench.read(&format!("out/{name}.wav"));
        let word = |at: usize| u16::from_le_bytes([bytes[at], bytes[at + 1]]);
        let long = |at: usize| u32::from(word(at)) | u32::from(word(at + 2)) << 16;
        let own = opened(&bench, &name);
        let n = own.samples.len();
        assert_eq!(&bytes[..4], b"RIFF");
        assert_eq!(long(4) as usize, bytes.len() - 8);
        assert_eq!(&bytes[8..16], b"WAVEfmt ");
        assert_eq!((long(16), word(20), word(22)), (16, 1, n as u16));
        assert_eq!((long(24), long(28)), (2000, 2000 * 2 * n as u32));
        assert_eq!((word(32), word(34)), (2 * n as u16, 16));
        assert_eq!(&bytes[36..40], b"data");
        assert_eq!(long(40) as usize, bytes.len() - 44);
        for frame in [0, 1, 999, 1999] {
            for (i, channel) in own.samples.iter().enumerate() {
                let at = 44 + 2 * (frame * n + i);
                assert_eq!(
                    word(at) as i16,
                    channel[frame],
                    "{name}, channel {i}, {frame}"
                );
            }
        }
    }
}

#[test]
fn the_library_renders_what_the_program_writes() {
    let (bench, names) = captures();
    for name in names {
        let text = bench.read(&format!("scenarios/{name}.yaml"));
        let drawn = Source::parse("", &text).unwrap().draw(None, 0).unwrap();
        let capture = render(&drawn, &name).capture;
        let opened = opened(&bench, &name);
        assert_eq!(capture.samples, opened.samples, "{name}");
        assert_eq!(capture.card, opened.card, "{name}");
    }
}

#[test]
fn the_csv_gives_every_value_and_every_count_again() {
    let (bench, names) = captures();
    for name in names {
        let opened = opened(&bench, &name);
        let text = bench.done(&["export", &format!("out/{name}")]);
        let mut csv = csv::Reader::from_reader(text.as_bytes());
        let heading = csv.headers().unwrap().clone();
        assert_eq!(&heading[0], "time_s");
        assert_eq!(heading.len(), 1 + opened.card.channels.len());
        let mut rows = 0;
        for (frame, row) in csv.records().enumerate() {
            let row = row.unwrap();
            let number = |i: usize| row[i].parse::<f64>().unwrap();
            assert!(
                (number(0) - opened.time_s(frame)).abs() < 1e-9,
                "{name}: {row:?}"
            );
            for (i, channel) in opened.card.channels.iter().enumerate() {
                let count = opened.samples[i][frame];
                let (read, value) = (number(1 + i), channel.value(count));
                let half_a_digit = channel.scale_per_count / 20.0;
                assert!(
                    (read - value).abs() <= half_a_digit * 1.001,
                    "{name}: {read} {value}"
                );
                let again = ((read - channel.offset) / channel.scale_per_count).round();
                assert_eq!(again, f64::from(count), "{name}, channel {i}, {frame}");
            }
            rows += 1;
        }
        assert_eq!(rows, 2000, "{name}");
    }
}
