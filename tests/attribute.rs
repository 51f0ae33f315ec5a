//! The plain counting attributor reads captures as a technician does who trusts the nearest TDC, and
//! difficulty means what it says: the harder a capture, the fewer points that attributor earns. The one that
//! allows for lag reads what the count falls for, and knows how sure to be.

use std::path::PathBuf;
use waterjacket::attribute::Method;
use waterjacket::domain::{Capture, Entry, Truth};
use waterjacket::grade::calibration::Bins;
use waterjacket::grade::{Graded, Kind};
use waterjacket::render::{Rendered, render};
use waterjacket::scenario::{Drawn, Source};

/// A draw of a scenario, shorter and at a lower rate.
fn brief(source: &Source, number: u64) -> Drawn {
    let drawn = source.draw(Some(9), number);
    let brief = drawn.and_then(|drawn| {
        drawn.edit(|s, _| {
            s.acquisition.sample_rate_hz = 2e3;
            s.test.duration_s = 3.5;
        })
    });
    brief.unwrap_or_else(|f| panic!("{f}"))
}

fn source(name: &str) -> Source {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("scenarios")
        .join(format!("{name}.yaml"));
    Source::parse(name, &std::fs::read(&file).unwrap()).unwrap_or_else(|f| panic!("{f}"))
}

/// An attributor's call, graded, the lag that it tells, and how it was found.
fn graded(method: Method, opened: &Capture, truth: &Truth) -> (Graded, Option<f64>, String) {
    let reading = method.read(opened);
    assert!((0.0..=1.0).contains(&reading.confidence), "{reading:?}");
    let call = Entry {
        confidence: Some(reading.confidence),
        ..Entry::new(opened.name(), reading.cylinders)
    };
    (Graded::new(call, truth), reading.lag_ms, reading.why)
}

#[test]
fn the_plain_count_falls_for_lag_in_the_lessons_and_the_other_does_not() {
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
        let Rendered { capture, truth } = render(&drawn, lesson);
        let (plain, _, why) = graded(Method::Count, &capture, &truth);
        assert_eq!(plain.verdict.kind, kind, "{lesson}: {why}");
        assert!(
            kind != Kind::NeighbourAfter || truth.difficulty.lag > 0.5,
            "{lesson}: {:?}",
            truth.difficulty
        );
        // Where the count falls for lag, the other does not; it too looks for one leak alone.
        let (aware, _, why) = graded(Method::Lag, &capture, &truth);
        let right = kind != Kind::OneOfTwoLeaks;
        assert_eq!(aware.is_right(), right, "{lesson}: {:?}, {why}", aware.call);
    }
}

#[test]
fn harder_captures_earn_the_plain_count_fewer_points_and_lag_is_told() {
    let mut all: Vec<(f64, f64)> = Vec::new();
    let mut late = Vec::new();
    let mut lag_errors_ms = Vec::new();
    let mut stated = Bins::new(10);
    for (name, captures) in [
        ("22-drill", 60),
        ("quizzes/fleet-six", 80),
        ("quizzes/shared-coils", 60),
        ("quizzes/missing-hump", 60),
        ("quizzes/vee-eight", 60),
    ] {
        let source = source(name);
        for number in 0..captures {
            let Rendered { capture, truth } = render(&brief(&source, number), "x");
            let (plain, ..) = graded(Method::Count, &capture, &truth);
            all.push((truth.difficulty.total, plain.verdict.points));
            let (aware, lag_ms, _) = graded(Method::Lag, &capture, &truth);
            let visible = truth.visible_leaks().next();
            // At this low rate the slow pulses of a small leak drown, which is another matter.
            let clear = visible.and_then(|leak| leak.pulse_over_noise) > Some(15.0);
            if truth.difficulty.lag > 0.7 && clear {
                late.push([plain.is_right(), aware.is_right()]);
            }
            if let Some((said, right)) = aware.stated() {
                stated.add(said, right);
            }
            if let (true, Some(told), Some(due)) = (
                aware.is_right(),
                lag_ms,
                visible.and_then(|leak| leak.lag_ms),
            ) {
                lag_errors_ms.push((told - due).abs());
            }
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

    let share = |i: usize| late.iter().filter(|both| both[i]).count() as f64 / late.len() as f64;
    // 30 captures, 0.53 and 1.00 when this was written.
    assert!(late.len() > 20, "{}", late.len());
    assert!(
        share(0) < 0.7 && share(1) > 0.85,
        "{} {}",
        share(0),
        share(1)
    );
    lag_errors_ms.sort_by(f64::total_cmp);
    // 10 ms when this was written.
    let median = lag_errors_ms[lag_errors_ms.len() / 2];
    assert!(median < 20.0, "{median}");
    let calibration = stated.calibration();
    // 0.04 when this was written.
    let error = calibration.expected_error().unwrap();
    assert!(
        calibration.n > 200 && error < 0.08,
        "{error} of {}",
        calibration.n
    );
}
