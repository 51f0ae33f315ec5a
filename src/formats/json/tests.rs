//! Tests of documents, on cards and truths.

use super::*;
use crate::domain::{MAX_CYLINDERS, example};

use proptest::prelude::*;

/// Asserts that a card changed by `change` is refused at `field`, and there alone.
#[track_caller]
fn refused(field: &str, change: impl FnOnce(&mut Card)) {
    let mut card = example::card();
    change(&mut card);
    let faults = check("x.card.json", &card).expect_err("it was accepted");
    let places: Vec<_> = faults.0.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, [format!("x.card.json: {field}")], "{faults}");
}

/// Reads the example's JSON with a part of it replaced.
fn replaced(from: &str, to: &str) -> Result<Card, Faults> {
    let text = super::text(&example::card());
    assert!(text.contains(from), "{text}");
    parse::<Card>("x.card.json", text.replacen(from, to, 1).as_bytes())
}

#[test]
fn a_card_comes_back_from_its_text() {
    let card = example::card();
    let text = super::text(&card);
    assert!(text.ends_with("}\n"), "{text}");
    assert_eq!(parse::<Card>("x", text.as_bytes()), Ok(card.clone()));
    let marked = format!("\u{feff}{text}");
    assert_eq!(parse::<Card>("x", marked.as_bytes()), Ok(card.clone()));
}

#[test]
fn a_fault_in_the_json_tells_its_line_and_column() {
    let faults = replaced("\"frames\": 1000", "\"frames\": many").unwrap_err();
    let fault = &faults.0[0];
    assert_eq!(fault.place, "x.card.json: line 6, column 13");
    assert_eq!(fault.problem, "expected value");
    let words = replaced("\"frames\": 1000", "\"frames\": -1")
        .unwrap_err()
        .to_string();
    assert!(
        words.contains("line 6") && words.contains("`-1`"),
        "{words}"
    );
    let words = replaced("\"frames\": 1000,", "").unwrap_err().to_string();
    assert!(words.contains("missing field `frames`"), "{words}");
    let text = super::text(&example::card());
    let words = parse::<Card>("x", &text.as_bytes()[..200])
        .unwrap_err()
        .to_string();
    assert!(words.contains("ends too early"), "{words}");
    assert!(parse::<Card>("x", b"").is_err());
    assert!(parse::<Card>("x", "[".repeat(100_000).as_bytes()).is_err());
    assert!(parse::<Card>("x", b"{\"format\": \"\xff\"}").is_err());
}

#[test]
fn another_version_is_refused_before_its_fields_are_looked_at() {
    let faults = parse::<Card>("x", br#"{"format": "waterjacket card 2", "new": 1}"#);
    let words = faults.unwrap_err().to_string();
    assert!(
        words.contains("waterjacket card 2") && words.contains(CARD_FORMAT),
        "{words}"
    );
    let truth = text(&example::truth());
    assert!(parse::<Card>("x", truth.as_bytes()).is_err());
}

#[test]
fn fields_of_later_programs_do_not_disturb() {
    let read = replaced("\"frames\": 1000", "\"extra\": [1, {}], \"frames\": 1000");
    assert_eq!(read, Ok(example::card()));
}

#[test]
fn an_engine_that_cannot_be_is_refused() {
    refused("engine.cylinders", |card| {
        card.engine.cylinders = MAX_CYLINDERS + 1;
        card.engine.firing_order = (1..=25).collect();
        card.engine.firing_intervals_deg = vec![28.8; 25];
    });
    let mut none = example::card();
    none.engine.cylinders = 0;
    none.engine.firing_order.clear();
    none.engine.firing_intervals_deg.clear();
    assert!(check("x", &none).is_err());
    refused("engine.firing_order", |card| {
        card.engine.firing_order[5] = 5
    });
    refused("engine.firing_order", |card| {
        card.engine.firing_order.push(7)
    });
    let field = "engine.firing_intervals_deg";
    refused(field, |card| card.engine.firing_intervals_deg[0] = 121.0);
    refused(field, |card| card.engine.firing_intervals_deg[0] = f64::NAN);
    refused(field, |card| {
        card.engine.firing_intervals_deg = vec![720.0];
    });
    refused("engine.displacement_l", |card| {
        card.engine.displacement_l = 0.0
    });
    refused("engine.compression_ratio", |card| {
        card.engine.compression_ratio = 1.0
    });
}

#[test]
fn a_capture_that_cannot_be_is_refused() {
    refused("format", |card| card.format = "waterjacket card 0".into());
    refused("capture", |card| card.capture = "../up".into());
    refused("sample_rate_hz", |card| card.sample_rate_hz = f64::NAN);
    refused("sample_rate_hz", |card| card.sample_rate_hz = 0.0);
    refused("sample_rate_hz", |card| card.sample_rate_hz = f64::INFINITY);
    refused("frames", |card| card.frames = 0);
    refused("frames", |card| card.frames = u64::MAX);
    refused("channels", |card| card.channels.clear());
    refused("set_up.plugs_out", |card| card.set_up.plugs_out = vec![7]);
    let field = "set_up.in_cylinder_transducer";
    refused(field, |card| card.set_up.in_cylinder_transducer = Some(0));
    refused("set_up.coolant_c", |card| card.set_up.coolant_c = f64::NAN);
}

#[test]
fn a_channel_that_cannot_be_is_refused() {
    refused("channels[1].name", |card| {
        card.channels[1].name = card.channels[0].name.clone();
    });
    refused("channels[0].name", |card| {
        card.channels[0].name = " ".into()
    });
    refused("channels[0].unit", |card| {
        card.channels[0].unit = "\u{1b}[2J".into()
    });
    let field = "channels[0].scale_per_count";
    refused(field, |card| card.channels[0].scale_per_count = f64::MAX);
    refused(field, |card| card.channels[0].offset = f64::NAN);
    refused("channels[0].bits", |card| card.channels[0].bits = 17);
    refused("channels[0].range_v", |card| {
        card.channels[0].range_v = [5.0, 0.0]
    });
    refused("channels[0].cylinder", |card| {
        card.channels[0].cylinder = Some(9)
    });
}

/// Asserts that a truth changed by `change` is refused at `field`, and there alone.
#[track_caller]
fn truth_refused(field: &str, change: impl FnOnce(&mut Truth)) {
    let mut truth = example::truth();
    change(&mut truth);
    let faults = check("x.truth.json", &truth).expect_err("it was accepted");
    let places: Vec<_> = faults.0.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, [format!("x.truth.json: {field}")], "{faults}");
}

#[test]
fn a_truth_that_cannot_be_is_refused() {
    truth_refused("format", |truth| truth.format = "waterjacket card 1".into());
    truth_refused("capture", |truth| truth.capture.clear());
    truth_refused("wav_sha256", |truth| truth.wav_sha256 = "AB".repeat(32));
    truth_refused("wav_sha256", |truth| truth.wav_sha256.truncate(63));
    truth_refused("engine.firing_order", |truth| {
        truth.engine.firing_order[5] = 5
    });
    truth_refused("leaks[1].cylinder", |truth| {
        let mut leak = truth.leaks[0].clone();
        leak.cylinder = 7;
        truth.leaks.push(leak);
    });
    truth_refused("weak_cylinders", |truth| truth.weak_cylinders.push(0));
    truth_refused("events[0]", |truth| truth.events[0].leak = 1);
    truth_refused("events[0]", |truth| truth.events[0].cylinder = 1);
    truth_refused("tdcs[0].cylinder", |truth| truth.tdcs[0].cylinder = 0);
    truth_refused("evidence.visible", |truth| {
        truth.evidence.visible = [1].into()
    });
    truth_refused("evidence.hidden", |truth| {
        truth.evidence.hidden = [2].into()
    });
}

#[test]
fn a_truth_comes_back_to_the_last_bit() {
    let mut truth = example::truth();
    truth.seed = u64::MAX;
    truth.events[0].mass_mg = 0.1 + 0.2;
    truth.gas.in_neck_mg = f64::MIN_POSITIVE / 3.0;
    assert_eq!(parse("x", text(&truth).as_bytes()), Ok(truth));
}

#[test]
fn a_number_that_is_not_finite_has_no_text() {
    let changes: [fn(&mut Truth); 3] = [
        |truth| truth.gas.passed_mg = f64::NAN,
        |truth| truth.leaks[0].lag_ms = Some(f64::NAN),
        |truth| truth.events[0].height = Some(f64::INFINITY),
    ];
    for change in changes {
        let mut truth = example::truth();
        change(&mut truth);
        let words = checked_text("x", &truth).unwrap_err().to_string();
        assert!(words.contains("not finite"), "{words}");
    }
}

#[test]
fn words_that_no_engine_knows_are_refused() {
    for (from, to) in [
        ("\"inline\"", "\"square\""),
        ("\"cranking\"", "\"driving\""),
    ] {
        let words = replaced(from, to).unwrap_err().to_string();
        assert!(words.contains("unknown variant"), "{words}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn damaged_json_does_no_harm(
        damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
        length in any::<prop::sample::Index>(),
        cut: bool,
    ) {
        let mut bytes = text(&example::card()).into_bytes();
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            // Digits and quotes keep more of the damaged files readable.
            bytes[at] = if byte < 128 { b"0123456789\"-. {"[usize::from(byte) % 15] } else { byte };
        }
        if cut {
            bytes.truncate(length.index(bytes.len()));
        }
        if let Ok(card) = parse::<Card>("x", &bytes) {
            for cylinder in 0..10 {
                let engine = &card.engine;
                prop_assert_eq!(engine.tdc_deg(cylinder).is_some(), engine.firing_place(cylinder).is_some());
                prop_assert_eq!(engine.neighbour(cylinder, -7).is_some(), engine.firing_place(cylinder).is_some());
                let _ = engine.companion(cylinder);
            }
            prop_assert!(card.channels.iter().all(|channel| channel.value(i16::MIN).is_finite()));
        }
    }

    #[test]
    fn arbitrary_bytes_do_no_harm(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(parse::<Card>("x", &bytes).is_err());
    }

    #[test]
    fn a_damaged_truth_does_no_harm(
        damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
        length in any::<prop::sample::Index>(),
        cut: bool,
    ) {
        let mut bytes = text(&example::truth()).into_bytes();
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if cut {
            bytes.truncate(length.index(bytes.len()));
        }
        if let Ok(truth) = parse::<Truth>("x", &bytes) {
            for event in &truth.events {
                prop_assert!(truth.engine.tdc_deg(truth.leaks[event.leak].cylinder).is_some());
            }
        }
    }
}
