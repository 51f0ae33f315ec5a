//! Hashes of three lessons' WAVs: whoever changes the bytes of a capture must say so here.

use waterjacket::capture::{sha256_hex, wav};
use waterjacket::render::render;
use waterjacket::scenario::Source;

#[test]
fn the_bytes_of_three_lessons_are_pinned() {
    for (name, pinned) in [
        (
            "01-plain-staircase",
            "8cd80286c8d11762f759bfc28f54d9792a8141ff1663084a112572c48bb124fa",
        ),
        (
            "09-open-under-combustion",
            "32929aec40b6d4a0f85ddf7c273e3a30016ee2d7cbc55cf0a044c5f022b26006",
        ),
        (
            "20-odd-firing",
            "4be835d57e9b373adace9a80224ab6f49be867bbfda406db062b08d5e57eeb6b",
        ),
    ] {
        let file = format!("{}/scenarios/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
        let source = Source::parse(&file, &std::fs::read(&file).unwrap()).unwrap();
        let capture = render(&source.draw(None, 0).unwrap(), name);
        let mut bytes = Vec::new();
        let rate = capture.card.sample_rate_hz as u32;
        wav::write(&mut bytes, rate, &capture.samples).unwrap();
        assert_eq!(sha256_hex(&bytes[..]).unwrap(), pinned, "{name}");
    }
}
