//! Bad input: whatever bytes a reader of ours is given, it reads them or tells faults; it neither panics nor
//! hangs nor keeps more than the input holds.
//!
//! `PROPTEST_CASES` sets the number of cases of each property; without it all together have more than 20 000.

mod common;
mod lab;

use lab::mutation::{Edits, bytes_edits, soup, text_edits, tree_edits};
use lab::random::cases;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::io::Cursor;
use std::sync::LazyLock;
use std::time::{Duration, Instant};
use waterjacket::debrief::{self, Units};
use waterjacket::domain::{Card, Truth};
use waterjacket::error::Faults;
use waterjacket::formats::{call_sheet, json, wav};
use waterjacket::grade::verdict;
use waterjacket::quiz::Quiz;
use waterjacket::render::{Rendered, render};
use waterjacket::scenario::{Drawn, JobSource, Source};

/// No single input takes longer; a loaded machine needs a fraction.
const PATIENCE: Duration = Duration::from_secs(10);

/// The shipped scenarios.
static SCENARIOS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let folder = format!("{}/scenarios", env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    files.sort();
    let read = |path| std::fs::read_to_string(path).unwrap();
    files.into_iter().map(read).collect()
});

/// Shipped quizzes and jobs.
const ORDERS: [&str; 3] = [
    include_str!("../scenarios/quizzes/first-quiz.yaml"),
    include_str!("../scenarios/jobs/hill-road.yaml"),
    include_str!("../scenarios/jobs/uneven-six.yaml"),
];

/// A short capture.
static CAPTURE: LazyLock<Rendered> = LazyLock::new(|| {
    let source = Source::parse("lesson", common::SCENARIO.as_bytes()).unwrap();
    let mut capture = render(&source.draw(None, 0).unwrap(), "lesson");
    capture.truth.wav_sha256 = "0".repeat(64);
    capture
});

static WAV: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let mut bytes = Vec::new();
    let short: Vec<Vec<i16>> = CAPTURE
        .capture
        .samples
        .iter()
        .map(|s| s[..60].to_vec())
        .collect();
    wav::write(&mut bytes, 2000, &short).unwrap();
    bytes
});

fn patiently<T>(read: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let result = read();
    let taken = start.elapsed();
    assert!(taken < PATIENCE, "it took {taken:?}");
    result
}

/// Tells faults; each stands where its text has a line and a character for it.
fn tell(faults: Faults) {
    let told = faults.to_string();
    for fault in &faults.0 {
        let at = fault
            .at
            .as_deref()
            .and_then(|at| at.mark.zip(at.written.as_ref()));
        if let Some((mark, written)) = at {
            assert!(mark.line > 0 && mark.column > 0, "{told}");
            assert!(mark.column <= written.chars().count() + 1, "{told}");
        }
    }
    assert!(
        !told.chars().any(|c| c.is_control() && c != '\n'),
        "{told:?}"
    );
}

/// Reads the other files that a person writes.
fn read_orders(bytes: &[u8]) {
    patiently(|| {
        let _ = Quiz::parse("fuzz", bytes).map_err(tell);
        let job = JobSource::parse("fuzz", bytes).and_then(|job| job.draw(Some(1)));
        let _ = job.map_err(tell);
    });
}

/// Reads a scenario and draws it twice; what resolves must resolve to itself.
fn read_scenario(bytes: &[u8]) -> Option<Drawn> {
    patiently(|| {
        let source = Source::parse("fuzz", bytes).map_err(tell).ok()?;
        let _ = source.check(2).map_err(tell);
        let drawn = source.draw(None, 0).ok()?;
        let again = Source::from_tree("fuzz", drawn.resolved.clone());
        let again = again
            .draw(Some(drawn.seed), 0)
            .unwrap_or_else(|f| panic!("{f}"));
        assert_eq!(again.scenario, drawn.scenario);
        Some(drawn)
    })
}

/// Renders a short capture of an accepted scenario: as it is, but for its length and rate.
fn render_briefly(drawn: &Drawn) {
    let mut tree = drawn.resolved.clone();
    tree["test"]["duration"] = json!("0.3 s");
    tree["test"]["key_on"] = json!("0.05 s");
    tree["acquisition"]["sample_rate"] = json!("2 kHz");
    let Ok(brief) = Source::from_tree("fuzz", tree).draw(Some(drawn.seed), 0) else {
        return;
    };
    let capture = patiently(|| render(&brief, "fuzz"));
    json::check("card", &capture.capture.card).unwrap_or_else(|f| panic!("{f}"));
    let mut truth = capture.truth;
    truth.wav_sha256 = "0".repeat(64);
    let text = json::text(&truth);
    assert_eq!(json::parse("truth", text.as_bytes()).as_ref(), Ok(&truth));
}

/// Reads a WAV; it never has more samples than bytes stand for.
fn read_wav(bytes: &[u8]) {
    if let Ok(samples) = patiently(|| wav::read(Cursor::new(bytes), "fuzz")) {
        assert!(samples.frames() * samples.channels.len() * 2 <= bytes.len());
    }
}

/// Reads a truth, and does with a valid one what the program does.
fn read_truth(bytes: &[u8]) {
    patiently(|| {
        let Ok(truth) = json::parse::<Truth>("fuzz", bytes) else {
            return;
        };
        debrief::words(&CAPTURE.capture.card, &truth, Units::Us);
        let (calls, _) = call_sheet::read(
            "calls",
            b"capture,cylinders\na,3\nb,1|4\nc,none\nd,unsure\n",
            None,
        );
        for call in &calls {
            let points = verdict::verdict(call.cylinders, &truth).points;
            assert!((0.0..=1.0).contains(&points), "{points}");
        }
        let _ = Source::from_tree("fuzz", truth.scenario).draw(Some(truth.seed), truth.number);
    });
}

fn read_sheet(bytes: &[u8]) {
    let (calls, faults) = patiently(|| call_sheet::read("fuzz", bytes, Some("pack")));
    assert!(calls.len() + faults.len() <= 4 * bytes.len() + 4);
}

proptest! {
    #![proptest_config(cases(7000))]

    #[test]
    fn mutated_scenarios_are_read_or_refused(
        at in any::<prop::sample::Index>(),
        edits in text_edits(),
        rendered in prop::bool::weighted(0.03),
    ) {
        let text = edits.apply(at.get(&SCENARIOS[..]).clone().into_bytes());
        if let Some(drawn) = read_scenario(&text) && rendered {
            render_briefly(&drawn);
        }
    }

    #[test]
    fn mutated_trees_are_read_or_refused(
        at in any::<prop::sample::Index>(),
        edits in tree_edits(),
        rendered in prop::bool::weighted(0.03),
    ) {
        let tree: Value = serde_yaml::from_str(at.get(&SCENARIOS[..]).as_str()).unwrap();
        let tree = edits.apply(tree);
        if let Some(drawn) = read_scenario(tree.to_string().as_bytes()) && rendered {
            render_briefly(&drawn);
        }
    }
}

proptest! {
    #![proptest_config(cases(2000))]

    #[test]
    fn mutated_quizzes_and_jobs_are_read_or_refused(
        at in 0..ORDERS.len(),
        edits in text_edits(),
    ) {
        read_orders(&edits.apply(ORDERS[at].as_bytes().to_vec()));
    }

    #[test]
    fn any_bytes_are_a_scenario_or_a_fault(bytes in any::<Vec<u8>>()) {
        read_scenario(&bytes);
    }

    #[test]
    fn any_yaml_is_a_scenario_or_a_fault(text in soup()) {
        read_scenario(text.as_bytes());
    }

    #[test]
    fn any_bytes_are_a_wav_or_a_fault(bytes in any::<Vec<u8>>(), headed: bool) {
        let mut wav = if headed { WAV[..44].to_vec() } else { Vec::new() };
        wav.extend(bytes);
        read_wav(&wav);
    }

    #[test]
    fn mutated_wavs_are_read_or_refused(edits in bytes_edits()) {
        read_wav(&edits.apply(WAV.clone()));
    }

    #[test]
    fn mutated_cards_are_read_or_refused(edits in tree_edits(), damage in bytes_edits(), whole: bool) {
        let tree = serde_json::to_value(&CAPTURE.capture.card).unwrap();
        let mut text = edits.apply(tree).to_string().into_bytes();
        if !whole {
            text = damage.apply(text);
        }
        if let Ok(card) = patiently(|| json::parse::<Card>("fuzz", &text)) {
            for channel in &card.channels {
                prop_assert!(channel.value(i16::MIN).is_finite());
            }
            for cylinder in &card.engine.firing_order {
                prop_assert!(card.engine.tdc_deg(*cylinder).is_some());
            }
        }
    }

    #[test]
    fn mutated_truths_are_read_or_refused(edits in tree_edits(), damage in bytes_edits(), whole: bool) {
        let tree = serde_json::to_value(&CAPTURE.truth).unwrap();
        let mut text = edits.apply(tree).to_string().into_bytes();
        if !whole {
            text = damage.apply(text);
        }
        read_truth(&text);
    }

    #[test]
    fn mutated_sheets_are_read_or_refused(edits in text_edits(), damage in bytes_edits(), both: bool) {
        let mut sheet = edits.apply(include_bytes!("../scenarios/sample-calls.csv").to_vec());
        if both {
            sheet = damage.apply(sheet);
        }
        read_sheet(&sheet);
    }

    #[test]
    fn any_bytes_are_calls_or_faults(bytes in any::<Vec<u8>>(), headed: bool) {
        let mut sheet = if headed { b"capture,cylinders,confidence,note\n".to_vec() } else { Vec::new() };
        sheet.extend(bytes);
        read_sheet(&sheet);
    }
}

/// One piece over and over, up to the largest scenario: nesting, anchors, quotes, openings without end.
#[test]
fn one_piece_without_end_is_refused_in_time() {
    const PIECES: &[&str] = &[
        "[", "{", "[[],", "{a: ", "- ", "? ", "? - ", "&a ", "*a ", "&a [*a,", "!t ", "\"", "'",
        "|\n", "> ", "%", "---\n", "...\n", "#", "[ #\n", "\t", "a: ", "a:\n ", ": ", "~,", "\\",
        "\u{feff}", "9", "a,",
    ];
    for piece in PIECES {
        let text = piece.repeat((1 << 20) / piece.len());
        assert!(read_scenario(text.as_bytes()).is_none(), "{piece:?}");
        read_orders(text.as_bytes());
    }
    for piece in ["\"", ",", "\n", "\r", "q,1\n", "\"\"", "\";", "\t"] {
        read_sheet(piece.repeat((1 << 20) / piece.len()).as_bytes());
    }
}

/// Inputs that once did harm; each stays a file of `tests/fixtures/fuzz`.
#[test]
fn what_did_harm_once_does_no_more() {
    let folder = format!("{}/tests/fixtures/fuzz", env!("CARGO_MANIFEST_DIR"));
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        if let Some(drawn) = read_scenario(&bytes) {
            render_briefly(&drawn);
        }
        read_wav(&bytes);
        let _ = json::parse::<Card>("fuzz", &bytes);
        read_truth(&bytes);
        read_sheet(&bytes);
        seen += 1;
    }
    assert!(seen > 0);
}
