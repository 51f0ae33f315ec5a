//! Promise: the bytes of every lesson's WAV are known, and the same however many threads render them.
//! Whoever changes the bytes of a capture must say so here.

use std::sync::atomic::{AtomicUsize, Ordering};
use waterjacket::digest::sha256_hex;
use waterjacket::formats::wav;
use waterjacket::render::render;
use waterjacket::scenario::Source;

/// Lesson and SHA-256 of its WAV.
const PINNED: &[(&str, &str)] = &[
    (
        "01-plain-staircase",
        "9699e375594c2ac3babf4ca14b9c396af4e5bcfab1ab5fe8ffb7e72b5062138d",
    ),
    (
        "02-two-sensors",
        "558543a414fc346d3edb937e19d61c52fd71764c3d0f2b2ba0ce656a8f3cd293",
    ),
    (
        "03-wasted-spark",
        "b2942ee72382d6b1a39990cf451edb95e72db2ca780872cf604cb12d51ce6e04",
    ),
    (
        "04-missing-hump",
        "f3c65ea425f5ebb8a5adce6d15eaec7d197eb95c1f6c179852103e75c5f00e8a",
    ),
    (
        "05-in-cylinder-sync",
        "ca55714f824b34e3e80a26b14306e3c2cd6b83f7be0970dd41624da8a864db42",
    ),
    (
        "06-long-lag",
        "e00025167ea0ee9fcf83a8c36238543fae91104ce74771d6971e33a58d838bba",
    ),
    (
        "07-big-air-pocket",
        "789dce7b0fd91b437e599bb53be77a1e8296fc5eb5eb978f523026fde42d334b",
    ),
    (
        "08-shut-while-cranking",
        "0332627289ddd655c65840920b6dc525e1e702474c8933f95d235c4436259e45",
    ),
    (
        "09-open-under-combustion",
        "36697362ddb2b22b007a286d03758c8bb5c32a0d6170bfcc45d5d7b048383b7b",
    ),
    (
        "10-worn-and-sound",
        "7850dc63fbfe484fee9cc815008e04eab2146642d9f6d6ec619ba36fc3a28856",
    ),
    (
        "11-worn-and-leaking-elsewhere",
        "750344a7d71efef867571102bfb19acd9f971cfb7e2c5fea153f42be7a2bd2a9",
    ),
    (
        "12-two-leaks",
        "6e4e5335b241c08369bc162acf57320502816ccf7b2309a4c87a3d34db31f3dc",
    ),
    (
        "13-second-leak-hides",
        "24878a9194d8496d59127b9310a0c68dfb2761fca8a4afb27783eb7f034b8cc8",
    ),
    (
        "14-cap-relief",
        "c90626cfcc3be8a8678884b5470b7855a99d0c4859860bf8aca7e90c5674701a",
    ),
    (
        "15-sensor-on-the-engine",
        "ab2172beff56898581c7b83a50d7e714d306fe9818ba9545794d66278c371872",
    ),
    (
        "16-coolant-in-the-line",
        "e82c96238da61c73d1ac9f40b78720720befa6968bf068abd9540e33b8684db9",
    ),
    (
        "17-healthy-and-suspicious",
        "13fcc2f708343458b76c3be028963fb9e119909beb7f1752e9ecf30f64077867",
    ),
    (
        "18-before-the-plug",
        "c6399826835824eb009910dbeba9712c8f9de5ec6cc2ce84f6ba03c758db54e4",
    ),
    (
        "19-after-the-plug",
        "2a260c81b400bf77b78f8877e640450efef95e1d3fe7641b240ac05a854404b5",
    ),
    (
        "20-odd-firing",
        "60e83d55214221af1ea406a691cf44e2401b882fd497cb34fa69fd038effba68",
    ),
    (
        "21-no-sync",
        "669739c23489cd8d097a5d603b11344c1c80cae5ce868aac5b0563b97de288d2",
    ),
    (
        "22-drill",
        "1145035c2ae25bd1017889cb388d366e78b5a52eddf7b0b930db082d7641c71f",
    ),
];

fn rendered(name: &str) -> String {
    let file = format!("{}/scenarios/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let source = Source::parse(&file, &std::fs::read(&file).unwrap()).unwrap();
    let capture = render(&source.draw(None, 0).unwrap(), name).capture;
    let mut bytes = Vec::new();
    let rate = capture.card.sample_rate_hz as u32;
    wav::write(&mut bytes, rate, &capture.samples).unwrap();
    sha256_hex(&bytes[..]).unwrap()
}

/// Every lesson, each rendered by whichever of so many threads is free.
fn all_match(threads: usize) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((name, pinned)) = PINNED.get(next.fetch_add(1, Ordering::Relaxed)) {
                    assert_eq!(rendered(name), *pinned, "{name}");
                }
            });
        }
    });
}

#[test]
fn every_lesson_is_pinned() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
    let files = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let lessons = files
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .count();
    assert_eq!(lessons, PINNED.len());
}

#[test]
fn one_thread_gives_the_pinned_bytes() {
    all_match(1);
}

#[test]
fn two_threads_give_the_pinned_bytes() {
    all_match(2);
}

#[test]
fn seven_threads_give_the_pinned_bytes() {
    all_match(7);
}
