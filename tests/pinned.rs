//! Promise: the bytes of every lesson's WAV are known, and the same however many threads render them.
//! Whoever changes the bytes of a capture must say so here.

use std::sync::atomic::{AtomicUsize, Ordering};
use waterjacket::capture::{sha256_hex, wav};
use waterjacket::render::render;
use waterjacket::scenario::Source;

/// Lesson and SHA-256 of its WAV.
const PINNED: &[(&str, &str)] = &[
    (
        "01-plain-staircase",
        "25a8b8855ace8f09cadc773e557d39e306d591225c61d6e167438d46925b07ff",
    ),
    (
        "02-two-sensors",
        "2ac77cd325bda4f09da53cf20c407fffb8d710c79c40aad52d4cb8ffc657d1f2",
    ),
    (
        "03-wasted-spark",
        "28133b1d53250d90255d3cf51f6856c5821a14da6a8cfbe3035281042434726c",
    ),
    (
        "04-missing-hump",
        "54ff80afdb762c6c8c474461e1eba50c10633a22962cb8cfa8553068f2b24aba",
    ),
    (
        "05-in-cylinder-sync",
        "ef3ee66b2fdf7f6a7c1d4d2ac62e99d162749b3be7f0300f4d554cc62e94615c",
    ),
    (
        "06-long-lag",
        "0ffcd3c31494db86446011b948e3098811a758e208174341d950759ca22dec4a",
    ),
    (
        "07-big-air-pocket",
        "3585903cc768d56cd12e71ffd50c3caef43436e4882f8924b14e35a871afc1bc",
    ),
    (
        "08-shut-while-cranking",
        "de201c305ca036ac91a086bd42899585b79fe4c5d7fad8cb7e33178c9055c02d",
    ),
    (
        "09-open-under-combustion",
        "37bccd785f060ff25ee15c804c84c429a4dcd67d75169eb99a94606bef6df40b",
    ),
    (
        "10-worn-and-sound",
        "1ac4dab19ae8d1a03fe48ca29b3e69b5c4997a26bb885e88a1b9b98bc93c1bc9",
    ),
    (
        "11-worn-and-leaking-elsewhere",
        "df0c85094d8026318331ef89df061d819645bb3035a98c0d8e5946aab78c182c",
    ),
    (
        "12-two-leaks",
        "5af4bbc1501fee3d96244ccd20439a47ee72d6a9249dc07d1afce49904f755f1",
    ),
    (
        "13-second-leak-hides",
        "2a8cfa43265231e82fb19d9a1f7d3a6dd803b5dc6eddd32c721a3fdb7253382f",
    ),
    (
        "14-cap-relief",
        "05cf06fb4312a6bd200b5aed1b700f9055738265310d0c523f64de6b6b8d3f5e",
    ),
    (
        "15-sensor-on-the-engine",
        "090dfffe0077b1de86ae907dab3e4a313d1b826076e859dcd64fea52964af468",
    ),
    (
        "16-coolant-in-the-line",
        "a2dba2273a096ab2795c3f437c7c52f599eef631ce8f2ab094e4685aaa743451",
    ),
    (
        "17-healthy-and-suspicious",
        "d8afa50d275798b045d069b104f3133d697e58d6627998b2403635c439bab605",
    ),
    (
        "18-before-the-plug",
        "b9e641ed0413388a98b4f02e698945df0191253a6aeb08819017349ea9ebc2d0",
    ),
    (
        "19-after-the-plug",
        "9bde5519d66e2c38ff0746c26369f7e0750cc1db548fa10d50ce9d0aa322cd45",
    ),
    (
        "20-odd-firing",
        "beee6e6b79a023cb61629f018cc9c48e2e883c11734e5630df51c77574f6972b",
    ),
    (
        "21-no-sync",
        "7ec73893fd704728c592ac879cb02ba1b4cc3c133c59c9823ac48dd26ab8af6c",
    ),
    (
        "22-drill",
        "90e8285a4c92dd3861c202dd36d378451ffcc53cf9247c0d92b8e40488c90c61",
    ),
];

fn rendered(name: &str) -> String {
    let file = format!("{}/scenarios/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    let source = Source::parse(&file, &std::fs::read(&file).unwrap()).unwrap();
    let capture = render(&source.draw(None, 0).unwrap(), name);
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
