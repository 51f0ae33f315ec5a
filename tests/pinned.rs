//! Hashes of three lessons' WAVs: whoever changes the bytes of a capture must say so here.

use waterjacket::capture::{sha256_hex, wav};
use waterjacket::render::render;
use waterjacket::scenario::Source;

#[test]
fn the_bytes_of_three_lessons_are_pinned() {
    for (name, pinned) in [
        (
            "01-plain-staircase",
            "34b81af690e773f5e593622220a194ca6d55620cb9c20b2e9e69cf40a43fe98c",
        ),
        (
            "09-open-under-combustion",
            "8361f2868742b4d4185ce7d5003a2b9bbfb5a0e7df98e438a84f43509aa2f3c4",
        ),
        (
            "20-odd-firing",
            "7a31ab68e16e415ca4a7c7435b0e6eeba0c1234182f8c0437cd10383be97ab49",
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
