//! Promise: the capture page is one file that tells a student what WAV and card tell, and no more; the
//! debrief page tells the truth; whatever cannot be shown is refused, and nothing is half written.

mod common;

use common::{Bench, PageParts, SCENARIO};
use serde_json::Value;
use std::collections::BTreeSet;
use waterjacket::domain::Truth;
use waterjacket::page::unpack;
use waterjacket::storage::open;

/// A scenario that leaves much to chance, so that the truth is full of drawn values.
const DRAWN: &str = "\
title: The giveaway title
teaches: The giveaway lesson.
brief: It boils over on the hill.
seed: 90210447
vehicle:
  name: Pellworth Four (invented)
  engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}
  cooling: {air_pocket: {log_uniform: [100 mL, 500 mL]}}
faults:
  leaks:
    - {cylinder: {choose: [2, 3, 4]}, area: {uniform: [0.05 mm2, 0.2 mm2]}, opens_at: {uniform: [1 bar, 3 bar]}}
  worn:
    - {cylinder: 1, ring_area: {uniform: [2 mm2, 4 mm2]}}
test:
  duration: 1.5 s
  rest_angle: {uniform: [-360 deg, 360 deg]}
acquisition:
  sample_rate: 2 kHz
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa]}
  - {sensor: coil_trigger, cylinder: 1}
";

fn parts(bench: &Bench, page: &str) -> PageParts {
    PageParts::of(&bench.read(page))
}

fn drawn() -> Bench {
    let bench = Bench::new();
    bench.write("car.yaml", DRAWN);
    bench.done(&["render", "car.yaml", "--out", "out"]);
    bench
}

/// Every number of a tree as it is written, and every text.
fn leaves(value: &Value, all: &mut BTreeSet<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|v| leaves(v, all)),
        Value::Object(map) => map.values().for_each(|v| leaves(v, all)),
        Value::String(text) => drop(all.insert(text.clone())),
        Value::Number(number) => drop(all.insert(number.to_string())),
        _ => {}
    }
}

fn keys(value: &Value, all: &mut BTreeSet<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|v| keys(v, all)),
        Value::Object(map) => {
            all.extend(map.keys().cloned());
            map.values().for_each(|v| keys(v, all));
        }
        _ => {}
    }
}

#[test]
fn a_students_page_holds_no_truth() {
    let bench = drawn();
    bench.write("other.yaml", SCENARIO);
    bench.done(&["render", "other.yaml", "--out", "out"]);
    // The truth lies beside the capture, and still it stays out.
    bench.done(&["page", "out/car", "--out", "car.html"]);
    let page = parts(&bench, "car.html");

    let truth = bench.json("out/car.truth.json");
    let card = bench.json("out/car.card.json");
    let (mut secret, mut known) = (BTreeSet::new(), BTreeSet::new());
    leaves(&truth, &mut secret);
    leaves(&card, &mut known);
    // What is as short as 3 or cranking stands on any card, and says nothing by being there.
    let secret: Vec<&String> = secret
        .iter()
        .filter(|s| s.len() > 5 && !known.iter().any(|k| k.contains(s.as_str())))
        .collect();
    assert!(secret.len() > 60, "only {} secrets", secret.len());
    assert!(secret.iter().any(|s| s.ends_with("mm2")), "{secret:?}");
    assert!(secret.iter().any(|s| *s == "90210447"), "{secret:?}");
    for secret in secret {
        assert!(!page.told.contains(secret.as_str()), "it tells {secret}");
        assert!(!page.rest.contains(secret.as_str()), "it holds {secret}");
    }
    let (mut own, mut forbidden, mut public) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    keys(&page.data, &mut own);
    keys(&truth, &mut forbidden);
    keys(&card, &mut public);
    // Names that page and truth share without sharing what they stand for: a page's unit is a choice.
    let shared = [
        "title", "channels", "name", "offset", "unit", "start", "width",
    ];
    public.extend(shared.map(String::from));
    let told: Vec<_> = own
        .intersection(&forbidden)
        .filter(|k| !public.contains(*k))
        .collect();
    assert_eq!(told, [""; 0]);
    assert_eq!(page.data["captures"][0]["debrief"], Value::Null);
    for word in ["giveaway", "leaking", "tdcs", "events", "seed"] {
        assert!(!page.told.contains(word), "{word}");
    }

    // The samples are the WAV's, and nothing is packed beside them.
    let capture = open(&bench.path("out/car")).unwrap();
    let [text] = page.samples.as_slice() else {
        panic!("{} captures", page.samples.len())
    };
    assert_eq!(unpack(text, capture.frames()).unwrap(), capture.samples);

    // All the rest is the same in the page of another car.
    bench.done(&["page", "out/other", "--out", "other.html"]);
    let other = parts(&bench, "other.html");
    let rest = page.rest.replace(">car<", ">other<");
    assert!(
        rest == other.rest,
        "the program of a page hangs on its capture"
    );
}

#[test]
fn the_same_captures_make_the_same_bytes() {
    let bench = drawn();
    for out in ["a.html", "b.html"] {
        let printed = bench.done(&["page", "out", "--out", out]);
        assert_eq!(printed, format!("{out}\n"));
    }
    assert_eq!(bench.read("a.html"), bench.read("b.html"));
    assert_eq!(
        bench.files("."),
        [
            "a.html",
            "b.html",
            "car.yaml",
            "out/car.card.json",
            "out/car.truth.json",
            "out/car.wav"
        ]
    );
}

#[test]
fn a_page_loads_nothing_and_runs_only_its_own_script() {
    let bench = drawn();
    bench.done(&["page", "out/car", "--out", "car.html"]);
    let PageParts { rest, .. } = parts(&bench, "car.html");
    let policy = rest
        .split("Content-Security-Policy\" content=\"")
        .nth(1)
        .unwrap();
    let policy = policy.split('"').next().unwrap();
    assert!(
        policy.starts_with("default-src 'none'; script-src 'sha256-"),
        "{policy}"
    );
    assert!(!policy.contains("unsafe"), "{policy}");
    for loading in [
        "http:",
        "https:",
        " src=",
        "<link",
        "<img",
        "@import",
        "url(",
        "fetch(",
        "XMLHttpRequest",
        "WebSocket",
        "innerHTML",
        "localStorage",
        "eval(",
    ] {
        assert!(!rest.contains(loading), "{loading}");
    }
}

/// Words of a card are text, whatever they look like.
#[test]
fn a_hostile_card_stays_text() {
    let bench = drawn();
    let brief = "</script><script>alert(1)</script><!-- {{script}} {{samples}} \u{2028} & \" ' ";
    let mut card = bench.json("out/car.card.json");
    card["brief"] = brief.into();
    card["channels"][0]["name"] = "<img src=x onerror=alert(2)>".into();
    bench.write("out/car.card.json", card.to_string());
    bench.done(&["page", "out/car", "--out", "car.html"]);
    let text = String::from_utf8(bench.read("car.html")).unwrap();
    assert!(!text.contains("alert(1)</") && !text.contains("<img") && !text.contains('\u{2028}'));
    let page = parts(&bench, "car.html");
    assert_eq!(page.data["captures"][0]["work"][1][1], brief);
    assert_eq!(text.matches("<script").count(), 3, "data, samples, script");
}

#[test]
fn a_part_is_shown_on_the_runs_own_time() {
    let bench = drawn();
    let span = ["--from", "0.5", "--to", "1"];
    bench.done(&[&["page", "out/car", "--out", "car.html"][..], &span].concat());
    let page = parts(&bench, "car.html");
    let shown = &page.data["captures"][0];
    assert_eq!(
        (&shown["start"], &shown["frames"]),
        (&0.5.into(), &1000.into())
    );
    let capture = open(&bench.path("out/car")).unwrap();
    let samples = unpack(&page.samples[0], 1000).unwrap();
    assert_eq!(samples[0], capture.samples[0][1000..2000]);
    // Less than the time of one sample still shows one.
    let span = ["--from", "0.5001", "--to", "0.5002"];
    bench.done(&[&["page", "out/car", "--out", "car.html"][..], &span].concat());
    let page = parts(&bench, "car.html");
    assert_eq!(page.data["captures"][0]["frames"], 1);
}

#[test]
fn a_debrief_tells_the_truth_and_the_verdict() {
    let bench = drawn();
    let truth =
        waterjacket::storage::document::read::<Truth>(&bench.path("out/car.truth.json")).unwrap();
    let leaking = truth.leaks[0].cylinder;
    let wrong = if leaking == 2 { 3 } else { 2 };
    bench.write("calls.csv", format!("capture,cylinders\ncar,{wrong}\n"));
    bench.done(&[
        "page",
        "out",
        "--key",
        "out",
        "--calls",
        "calls.csv",
        "--out",
        "key.html",
    ]);
    let page = parts(&bench, "key.html");
    let capture = &page.data["captures"][0];
    let story = &capture["debrief"];
    assert_eq!(story["leaking"], serde_json::json!([leaking]));
    assert_eq!(story["tdcs"].as_array().unwrap().len(), truth.tdcs.len());
    assert_eq!(story["events"][0]["tdc"], truth.events[0].tdc_s);
    assert_eq!(
        story["events"][0]["steepest"].as_f64(),
        truth.events[0].steepest_s
    );
    assert_eq!(story["verdict"]["call"], wrong.to_string());
    assert!(story["verdict"]["sentence"].as_str().unwrap().len() > 20);
    assert_eq!(page.data["answer"], "nothing");
    let channels = capture["channels"].as_array().unwrap();
    let names: Vec<&str> = channels
        .iter()
        .map(|c| c["name"].as_str().unwrap())
        .collect();
    let flow = format!("Leak flow {leaking}");
    assert!(
        names.contains(&flow.as_str()) && names.contains(&"Column flow"),
        "{names:?}"
    );
    let frames = capture["frames"].as_u64().unwrap() as usize;
    let samples = unpack(&page.samples[0], frames).unwrap();
    assert_eq!(samples.len(), channels.len());
    // The probe of the leak passes gas during the first event, and none before it.
    let at = |time: f64| (time * 2000.0).round() as usize;
    let place = names.iter().position(|n| *n == flow).unwrap();
    let event = &truth.events[0];
    assert!(samples[place][at((event.gas_start_s + event.gas_end_s) / 2.0)] > 100);
    assert!(samples[place][at(event.gas_start_s) - 3].abs() < 100);
}

#[test]
fn what_cannot_be_shown_is_refused_with_a_remedy() {
    let bench = drawn();
    bench.write("empty/readme.txt", "no captures");
    bench.write("other.yaml", SCENARIO);
    bench.done(&["render", "other.yaml", "--out", "other"]);
    bench.done(&["render", "car.yaml", "other.yaml", "--out", "broken/deep"]);
    bench.write("broken/deep/car.wav", "");
    bench.write("broken/deep/other.card.json", "");
    let before = bench.files(".");
    let refuse = |arguments: &[&str], words: &[&str]| {
        let run = bench.run(&[&["page"], arguments].concat());
        run.refused(2, words);
        assert_eq!(bench.files("."), before, "{arguments:?}");
    };
    refuse(
        &["empty", "--out", "a.html"],
        &["empty: the folder holds no captures"],
    );
    refuse(
        &["broken", "--out", "a.html"],
        &[
            "broken: the folder holds no captures; name a folder in it that does, such as broken/deep",
        ],
    );
    refuse(
        &["broken/deep", "--out", "a.html"],
        &[
            "broken/deep/other.card.json: line 1",
            "broken/deep/car.wav: the file is empty",
        ],
    );
    refuse(
        &["gone", "--out", "a.html"],
        &["gone: there is no capture here"],
    );
    refuse(
        &["out/car", "--out", "out/car.wav"],
        &["--out: out/car.wav is no name of a page; end it in .html"],
    );
    refuse(
        &["out/car", "--out", "nowhere/a.html"],
        &["nowhere/a.html: cannot write it", "make the folder first"],
    );
    refuse(
        &["out", "out/car", "--out", "a.html"],
        &["out/car is called car too", "name each capture once"],
    );
    refuse(
        &["out", "--key", "empty", "--out", "a.html"],
        &["empty: it holds no truth of car", "leave out --key"],
    );
    refuse(&["out", "--calls", "x.csv", "--out", "a.html"], &["--key"]);
    refuse(
        &["out", "--from", "2", "--out", "a.html"],
        &["car: cannot show it from 2 s to 1.5 s", "0 to 1.5 s"],
    );
    refuse(
        &["out", "--from", "nan", "--out", "a.html"],
        &["car: cannot show it from NaN s"],
    );
    std::fs::remove_file(bench.path("other/other.card.json")).unwrap();
    let run = bench.run(&["page", "other/other", "--out", "a.html"]);
    run.refused(2, &["other.card.json: it is missing"]);
    // The truth of another run does not fit, and one that was changed renders something else.
    bench.done(&["render", "car.yaml", "--seed", "3", "--out", "again"]);
    let run = bench.run(&["page", "out", "--key", "again", "--out", "a.html"]);
    run.refused(
        2,
        &["again/car.truth.json: it is not the truth of out/car.wav"],
    );
    let mut truth = bench.json("out/car.truth.json");
    truth["scenario"]["faults"]["leaks"][0]["area"] = "0.01 mm2".into();
    bench.write("out/car.truth.json", truth.to_string());
    let run = bench.run(&["page", "out", "--key", "out", "--out", "a.html"]);
    run.refused(
        2,
        &["car.truth.json: scenario: it renders other samples than car.wav holds"],
    );
    assert!(!bench.path("a.html").exists());
}

/// The limit is told before anything large is read: here there is not even a WAV.
#[test]
fn a_huge_page_is_refused_with_its_limit() {
    let bench = drawn();
    let mut card = bench.json("out/car.card.json");
    card["frames"] = 40_000_000.into();
    bench.write("out/car.card.json", card.to_string());
    std::fs::remove_file(bench.path("out/car.wav")).unwrap();
    let words = [
        "page: 1 capture with 80.0 million samples in all, the largest (car) with 80.0 million",
        "a page holds 67.1 million",
        "give it fewer captures, a part of them (--from, --to)",
    ];
    let run = bench.run(&["page", "out", "--out", "a.html"]);
    run.refused(2, &words);
    // A part of it would do, if only the WAV were there.
    let run = bench.run(&["page", "out", "--to", "10", "--out", "a.html"]);
    run.refused(2, &["car.wav: it is missing"]);
}

#[test]
fn captures_of_a_pack_make_a_page_whose_sheet_names_it() {
    let bench = drawn();
    bench.write(
        "out/calls.csv",
        "capture,cylinders,confidence,note,pack\ncar,,,,k7\n",
    );
    bench.done(&["page", "out", "--out", "a.html"]);
    let page = parts(&bench, "a.html");
    assert_eq!(
        (&page.data["pack"], &page.data["title"]),
        (&"k7".into(), &"Pack k7".into())
    );
    bench.write("other.yaml", SCENARIO);
    bench.done(&["render", "other.yaml", "--out", "other"]);
    bench.write("other/calls.csv", "capture,pack\nother,m8\n");
    let run = bench.run(&["page", "out", "other", "--out", "b.html"]);
    run.refused(
        2,
        &["these captures are of the packs k7 and m8; make a page for each pack"],
    );
}

#[test]
fn a_job_has_a_page_from_its_first_test_and_a_debrief_after_its_call() {
    let bench = Bench::new();
    bench.done(&["practice", "start", "hill-road", "--in", "job"]);
    let order = [
        "practice", "order", "--in", "job", "--test", "crank", "--sync", "coil:1",
    ];
    let told = bench.done(&order);
    assert!(
        told.contains("Page to zoom and measure: job/page.html"),
        "{told}"
    );
    bench.done(&["practice", "order", "--in", "job", "--plugs-out", "3"]);
    let page = parts(&bench, "job/page.html");
    assert_eq!(page.samples.len(), 2, "both captures are in it");
    assert_eq!(page.data["answer"], "job");
    assert_eq!(page.data["captures"][1]["debrief"], Value::Null);
    // The command makes the same of the folder.
    bench.done(&["page", "job", "--out", "mine.html"]);
    assert_eq!(
        parts(&bench, "mine.html").data["captures"],
        page.data["captures"]
    );
    assert!(!bench.path("job/debrief.html").exists());
    bench.done(&["practice", "call", "--in", "job", "3"]);
    let told = bench.done(&["practice", "debrief", "--in", "job"]);
    assert!(told.contains("  job/debrief.html\n"), "{told}");
    let debrief = parts(&bench, "job/debrief.html");
    let story = &debrief.data["captures"][0]["debrief"];
    assert_eq!(story["verdict"]["call"], "3");
    assert!(!story["tdcs"].as_array().unwrap().is_empty());
}
