//! The plain counting attributor reads captures as a technician does who trusts the nearest TDC, and
//! difficulty means what it says: the harder a capture, the fewer points that attributor earns.

use std::path::PathBuf;
use waterjacket::attribute::count;
use waterjacket::capture::{Difficulty, Opened, Samples};
use waterjacket::grade::{Call, Graded, Kind};
use waterjacket::render::{Capture, render};
use waterjacket::scenario::Source;

fn source(name: &str) -> Source {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("scenarios")
        .join(format!("{name}.yaml"));
    Source::parse(name, &std::fs::read(&file).unwrap()).unwrap_or_else(|f| panic!("{f}"))
}

/// The attributor's call, graded.
fn graded(capture: Capture) -> (Graded, Difficulty, String) {
    let Capture {
        card,
        truth,
        samples,
    } = capture;
    let opened = Opened {
        name: card.capture.clone(),
        samples: Samples {
            sample_rate_hz: card.sample_rate_hz as u32,
            channels: samples,
        },
        card,
        truth: None,
    };
    let reading = count(&opened);
    assert!((0.0..=1.0).contains(&reading.confidence), "{reading:?}");
    let call = Call {
        capture: opened.name,
        cylinders: reading.cylinders,
        confidence: Some(reading.confidence),
        note: String::new(),
    };
    (Graded::new(call, &truth), truth.difficulty, reading.why)
}

#[test]
fn the_plain_count_reads_the_lessons_and_falls_for_lag() {
    for (lesson, kind) in [
        ("01-plain-staircase", Kind::Right),
        ("02-two-sensors", Kind::Right),
        ("03-wasted-spark", Kind::RightPair),
        ("04-missing-hump", Kind::Right),
        ("05-in-cylinder-sync", Kind::Right),
        ("06-long-lag", Kind::NeighbourAfter),
        ("07-big-air-pocket", Kind::Right),
        ("08-shut-while-cranking", Kind::Right),
        ("09-open-under-combustion", Kind::NeighbourAfter),
        ("10-worn-and-sound", Kind::Right),
        ("11-worn-and-leaking-elsewhere", Kind::Right),
        ("12-two-leaks", Kind::OneOfTwoLeaks),
        ("13-second-leak-hides", Kind::Right),
        ("14-cap-relief", Kind::Right),
        ("15-sensor-on-the-engine", Kind::NeighbourAfter),
        ("16-coolant-in-the-line", Kind::Right),
        ("17-healthy-and-suspicious", Kind::Right),
        ("18-before-the-plug", Kind::Right),
        ("19-after-the-plug", Kind::Right),
        ("20-odd-firing", Kind::Right),
        ("21-no-sync", Kind::RightToBeUnsure),
    ] {
        let drawn = source(lesson).draw(None, 0).unwrap();
        let (graded, difficulty, why) = graded(render(&drawn, lesson));
        assert_eq!(graded.verdict.kind, kind, "{lesson}: {why}");
        assert!(
            kind != Kind::NeighbourAfter || difficulty.lag > 0.5,
            "{lesson}: {difficulty:?}"
        );
    }
}

#[test]
fn harder_captures_earn_the_plain_count_fewer_points() {
    let mut all: Vec<(f64, f64)> = Vec::new();
    for (name, captures) in [
        ("22-drill", 60),
        ("quizzes/fleet-six", 80),
        ("quizzes/shared-coils", 60),
        ("quizzes/missing-hump", 60),
        ("quizzes/vee-eight", 60),
    ] {
        let source = source(name)
            .with("acquisition.sample_rate", "2 kHz".into())
            .unwrap()
            .with("test.duration", "3.5 s".into())
            .unwrap();
        for number in 0..captures {
            let capture = render(&source.draw(Some(9), number).unwrap(), "x");
            let (graded, difficulty, _) = graded(capture);
            all.push((difficulty.total, graded.verdict.points));
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let third = all.len() / 3;
    let mean = |part: &[(f64, f64)]| part.iter().map(|p| p.1).sum::<f64>() / part.len() as f64;
    let [easy, middle, hard] = [
        mean(&all[..third]),
        mean(&all[third..2 * third]),
        mean(&all[2 * third..]),
    ];
    // 1.00, 0.92 and 0.54 when this was written.
    assert!(
        easy > middle + 0.03 && middle > hard + 0.2,
        "{easy} {middle} {hard}"
    );
}
