//! How fast captures and pictures are made.
//!
//! The capture is lesson 1 at 5 s: six cylinders, four channels at 50 kS/s. `capture` times it from the
//! drawn scenario to the bytes of the WAV in memory, truth and card included, on one core; its items a
//! second are simulated seconds a wall second. `physics`, `channels` and `wav` are its stages: the traces;
//! sensors, noise, converter and truth on top of them (so, with the physics); the bytes. `two_threads`
//! renders two captures on two threads at once: its items a second over those of `capture` say what the
//! second core is worth. `picture` draws six traces of 500 000 samples as a PNG of the size that `plot`
//! gives them.
//!
//! `cargo bench` prints fastest, slowest, median and mean of each. On a machine with other work to do the
//! fastest is the nearest to what the program costs; compare only figures of one sitting. `valgrind
//! --tool=callgrind` on the bench's program, with `--bench capture --sample-count 1`, counts instructions,
//! which no neighbour disturbs.

use divan::Bencher;
use divan::counter::ItemsCount;
use waterjacket::domain::Measures;
use waterjacket::formats::wav;
use waterjacket::plot::{self, Picture, Theme, Trace};
use waterjacket::render::{Renderer, cycle_heats, render};
use waterjacket::scenario::{Drawn, Source};
use waterjacket::simulation::{Traces, run_into};
use waterjacket::vehicle::Vehicle;

const SECONDS: u32 = 5;
const RATE_HZ: u32 = 50_000;

fn main() {
    divan::main();
}

fn drawn() -> Drawn {
    let text = include_bytes!("../scenarios/01-plain-staircase.yaml");
    Source::parse("01-plain-staircase.yaml", text)
        .and_then(|source| source.draw(None, 0))
        .and_then(|drawn| drawn.edit(|s, _| s.test.duration_s = f64::from(SECONDS)))
        .expect("the lesson is in order")
}

/// Renders capture after capture to WAV, using its room again, as whoever makes many does.
#[derive(Default)]
struct Maker {
    renderer: Renderer,
    bytes: Vec<u8>,
}

impl Maker {
    fn make(&mut self, drawn: &Drawn) -> usize {
        let capture = self.renderer.render(drawn, "bench");
        self.bytes.clear();
        wav::write(&mut self.bytes, RATE_HZ, &capture.capture.samples)
            .expect("memory takes all bytes");
        self.bytes.len()
    }
}

#[divan::bench(sample_count = 100)]
fn capture(bencher: Bencher) {
    let drawn = drawn();
    let mut maker = Maker::default();
    bencher
        .counter(ItemsCount::new(SECONDS))
        .bench_local(|| maker.make(&drawn));
}

#[divan::bench(sample_count = 100)]
fn physics(bencher: Bencher) {
    let drawn = drawn();
    let vehicle = Vehicle::resolve(&drawn.scenario);
    let heats = cycle_heats(&drawn);
    let mut traces = Traces::default();
    bencher
        .counter(ItemsCount::new(SECONDS))
        .bench_local(|| run_into(&mut traces, &vehicle, &drawn.scenario.test, &heats));
}

#[divan::bench(sample_count = 100)]
fn channels(bencher: Bencher) {
    let drawn = drawn();
    let mut renderer = Renderer::default();
    bencher
        .counter(ItemsCount::new(SECONDS))
        .bench_local(|| renderer.render(&drawn, "bench"));
}

#[divan::bench(name = "wav", sample_count = 100)]
fn wav_bytes(bencher: Bencher) {
    let capture = render(&drawn(), "bench");
    let mut bytes = Vec::new();
    bencher.counter(ItemsCount::new(SECONDS)).bench_local(|| {
        bytes.clear();
        wav::write(&mut bytes, RATE_HZ, &capture.capture.samples).expect("memory takes all bytes");
    });
}

#[divan::bench(sample_count = 50)]
fn two_threads(bencher: Bencher) {
    const EACH: u32 = 10;
    let drawn = drawn();
    let some = || {
        let mut maker = Maker::default();
        (0..EACH).for_each(|_| _ = divan::black_box(maker.make(&drawn)));
    };
    bencher
        .counter(ItemsCount::new(2 * EACH * SECONDS))
        .bench(|| {
            std::thread::scope(|scope| {
                scope.spawn(some);
                some();
            });
        });
}

#[divan::bench(sample_count = 30)]
fn picture(bencher: Bencher) {
    let traces: Vec<Trace> = [
        Measures::NeckPressure,
        Measures::NeckPulse,
        Measures::CoilTrigger,
        Measures::CylinderPressure,
        Measures::StarterCurrent,
        Measures::BatteryVoltage,
    ]
    .into_iter()
    .enumerate()
    .map(|(i, measures)| Trace {
        name: format!("Trace {i} (V)"),
        measures,
        sample_rate_hz: f64::from(RATE_HZ),
        least_height: 0.0,
        // A staircase with a hum and with noise, which fills every column of the picture.
        values: (0..500_000_u32)
            .map(|k| {
                let noise = (k.wrapping_mul(2_654_435_761) >> 20) as f32 / 4096.0;
                (k / 40_000) as f32 + (k % 1000) as f32 / 500.0 + noise
            })
            .collect(),
    })
    .collect();
    let picture = Picture {
        title: "Six traces".into(),
        subtitle: String::new(),
        tdcs: Vec::new(),
        events: Vec::new(),
        span_s: [0.0, 10.0],
        traces,
        theme: Theme::Light,
        footnote: String::new(),
    };
    bencher.bench(|| plot::png(&picture).expect("the picture is in order"));
}
