//! Tests of the card.

use super::*;
use crate::domain::example;

use proptest::prelude::*;

/// Asserts that a card changed by `change` is refused at `field`, and there alone.
#[track_caller]
fn refused(field: &str, change: impl FnOnce(&mut Card)) {
    let mut card = example::card();
    change(&mut card);
    let faults = card.check("x.card.json").expect_err("it was accepted");
    let places: Vec<_> = faults.0.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, [format!("x.card.json: {field}")], "{faults}");
}

/// Reads the example's JSON with a part of it replaced.
fn replaced(from: &str, to: &str) -> Result<Card, Faults> {
    let text = example::card().to_json();
    assert!(text.contains(from), "{text}");
    Card::from_json("x.card.json", text.replacen(from, to, 1).as_bytes())
}

#[test]
fn a_card_comes_back_from_its_text_and_its_file() {
    let card = example::card();
    let text = card.to_json();
    assert!(text.ends_with("}\n"), "{text}");
    assert_eq!(Card::from_json("x", text.as_bytes()), Ok(card.clone()));
    let marked = format!("\u{feff}{text}");
    assert_eq!(Card::from_json("x", marked.as_bytes()), Ok(card.clone()));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.card.json");
    card.write(&path).unwrap();
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    assert_eq!(Card::read(&path), Ok(card));
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
    let text = example::card().to_json();
    let words = Card::from_json("x", &text.as_bytes()[..200])
        .unwrap_err()
        .to_string();
    assert!(words.contains("ends too early"), "{words}");
    assert!(Card::from_json("x", b"").is_err());
    assert!(Card::from_json("x", "[".repeat(100_000).as_bytes()).is_err());
    assert!(Card::from_json("x", b"{\"format\": \"\xff\"}").is_err());
}

#[test]
fn another_version_is_refused_before_its_fields_are_looked_at() {
    let faults = Card::from_json("x", br#"{"format": "waterjacket card 2", "new": 1}"#);
    let words = faults.unwrap_err().to_string();
    assert!(
        words.contains("waterjacket card 2") && words.contains(CARD_FORMAT),
        "{words}"
    );
    let truth = example::truth().to_json();
    assert!(Card::from_json("x", truth.as_bytes()).is_err());
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
    assert!(none.check("x").is_err());
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
    refused("engine.layout", |card| card.engine.layout = "square".into());
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
    refused("set_up.mode", |card| card.set_up.mode = "driving".into());
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

#[test]
fn what_would_be_refused_is_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.card.json");
    let mut card = example::card();
    card.channels[0].offset = f64::INFINITY;
    assert!(card.write(&path).is_err());
    assert!(!path.exists());
}

#[test]
fn a_file_beyond_the_limit_is_refused_unread() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.card.json");
    let file = std::fs::File::create(&path).unwrap();
    file.set_len(json::LIMIT_BYTES + 1).unwrap();
    let words = Card::read(&path).unwrap_err().to_string();
    assert!(words.contains("it has 67108865 bytes"), "{words}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn damaged_json_does_no_harm(
        damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..4),
        length in any::<prop::sample::Index>(),
        cut: bool,
    ) {
        let mut bytes = example::card().to_json().into_bytes();
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            // Digits and quotes keep more of the damaged files readable.
            bytes[at] = if byte < 128 { b"0123456789\"-. {"[usize::from(byte) % 15] } else { byte };
        }
        if cut {
            bytes.truncate(length.index(bytes.len()));
        }
        if let Ok(card) = Card::from_json("x", &bytes) {
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
        prop_assert!(Card::from_json("x", &bytes).is_err());
    }
}
