//! Simulated seconds a wall second: a six-cylinder engine, four channels at 50 kS/s, from the
//! scenario to the bytes of the WAV, on one core.
//!
//! `cargo bench` prints the time of rendering a capture of 4 s; simulated seconds a wall second are 4
//! over the median, printed as the items a second.

use divan::counter::ItemsCount;
use waterjacket::capture::wav;
use waterjacket::render::render;
use waterjacket::scenario::Source;

fn main() {
    divan::main();
}

/// Items are simulated seconds.
#[divan::bench(sample_count = 20)]
fn six_cylinders_four_channels_50_khz(bencher: divan::Bencher) {
    let text = include_bytes!("../scenarios/01-plain-staircase.yaml");
    let source = Source::parse("01-plain-staircase.yaml", text).expect("the lesson is in order");
    let drawn = source.draw(None, 0).expect("the lesson is in order");
    bencher.counter(ItemsCount::new(4u32)).bench(|| {
        let capture = render(&drawn, "bench");
        let mut bytes = Vec::new();
        wav::write(&mut bytes, 50_000, &capture.samples).expect("memory takes all bytes");
        bytes
    });
}
