//! Hashes of three lessons' WAVs: whoever changes the bytes of a capture must say so here.

use waterjacket::capture::{sha256_hex, wav};
use waterjacket::render::render;
use waterjacket::scenario::Source;

#[test]
fn the_bytes_of_three_lessons_are_pinned() {
    for (name, pinned) in [
        (
            "01-plain-staircase",
            "25a8b8855ace8f09cadc773e557d39e306d591225c61d6e167438d46925b07ff",
        ),
        (
            "09-open-under-combustion",
            "37bccd785f060ff25ee15c804c84c429a4dcd67d75169eb99a94606bef6df40b",
        ),
        (
            "20-odd-firing",
            "beee6e6b79a023cb61629f018cc9c48e2e883c11734e5630df51c77574f6972b",
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
