//! Promise: a class gets the verdicts, scores and calibration that it deserves, over the shipped
//! lessons, and its report says so in tables and pictures.
//!
//! The students are made from the truths: one who knows them, one who guesses, one who does not allow
//! for the lag, one who is surer than right. All are invented.

mod common;

use common::{Bench, Run};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;
use std::path::PathBuf;
use std::sync::OnceLock;
use waterjacket::domain::{EngineData, Sync, Truth};
use waterjacket::storage::truths;

/// A student: what is called of a capture, and how sure.
type Student<'a> = &'a mut dyn FnMut(usize, &Truth) -> (String, f64);

/// The lessons, rendered once, with the class's sheets beside them.
struct Room {
    bench: Bench,
    key: Vec<Truth>,
}

fn room() -> &'static Room {
    static ROOM: OnceLock<Room> = OnceLock::new();
    ROOM.get_or_init(|| {
        let bench = Bench::new();
        let scenarios = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios");
        bench.done(&["render", scenarios.to_str().unwrap(), "--out", "key"]);
        let names = truths(&bench.path("key")).unwrap();
        let key: Vec<Truth> = names
            .iter()
            .map(|name| {
                waterjacket::storage::document::read::<Truth>(
                    &bench.path(&format!("key/{name}.truth.json")),
                )
                .unwrap()
            })
            .collect();
        assert!(key.len() >= 16, "{}", key.len());
        let mut chance = ChaCha8Rng::seed_from_u64(4);
        let mut guess = |engine: &EngineData| {
            let place = chance.random_range(0..engine.firing_order.len());
            engine.firing_order[place].to_string()
        };
        sheet(&bench, &key, "perfect", &mut |_, t| (supported(t), 0.97));
        sheet(&bench, &key, "guessing", &mut |_, t| {
            (guess(&t.engine), 0.2)
        });
        sheet(&bench, &key, "lag-blind", &mut |_, t| (nearest(t), 0.8));
        sheet(&bench, &key, "over-confident", &mut |i, t| match i % 2 {
            0 => (supported(t), 0.99),
            _ => (beside(t), 0.99),
        });
        Room { bench, key }
    })
}

fn sheet(bench: &Bench, key: &[Truth], name: &str, student: Student) {
    let rows: String = key
        .iter()
        .enumerate()
        .map(|(i, truth)| {
            let (cylinders, confidence) = student(i, truth);
            format!("{},{cylinders},{confidence},\n", truth.capture)
        })
        .collect();
    let text = format!("capture,cylinders,confidence,note\n{rows}");
    bench.write(&format!("class/{name}.csv"), text);
}

/// The best call that the evidence supports.
fn supported(truth: &Truth) -> String {
    truth.evidence.supported[0].to_string()
}

/// The one cylinder that the evidence supports.
fn single(truth: &Truth) -> Option<u32> {
    supported(truth).parse().ok()
}

/// The cylinder whose TDC is nearest to the steepest rise, where one cylinder can be named at all.
fn nearest(truth: &Truth) -> String {
    let lag = single(truth).and_then(|cylinder| {
        let mut leaks = truth.leaks.iter();
        Some((cylinder, leaks.find(|l| l.cylinder == cylinder)?.lag_deg?))
    });
    let Some((leaking, lag)) = lag else {
        return supported(truth);
    };
    let engine = &truth.engine;
    let at = engine.tdc_deg(leaking).unwrap() + lag;
    let apart = |cylinder: u32| {
        let apart = (at - engine.tdc_deg(cylinder).unwrap()).rem_euclid(720.0);
        apart.min(720.0 - apart)
    };
    let order = engine.firing_order.iter().copied();
    let accused = order.min_by(|a, b| apart(*a).total_cmp(&apart(*b)));
    accused.unwrap().to_string()
}

/// A cylinder that does not leak.
fn beside(truth: &Truth) -> String {
    let leaks = |c: &u32| truth.leaks.iter().any(|l| l.cylinder == *c);
    let order = truth.engine.firing_order.iter();
    let sound = order.copied().find(|c| !leaks(c));
    sound.unwrap().to_string()
}

fn graded() -> Value {
    let json = room()
        .bench
        .done(&["grade", "class", "--key", "key", "--json"]);
    serde_json::from_str(&json).unwrap()
}

fn student<'a>(class: &'a Value, name: &str) -> &'a Value {
    let mut students = class["students"].as_array().unwrap().iter();
    students.find(|s| s["name"] == name).unwrap()
}

fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap()
}

#[test]
fn a_perfect_student_scores_in_full() {
    let class = graded();
    let (perfect, n) = (student(&class, "perfect"), room().key.len() as f64);
    assert_eq!(number(perfect, "/summary/points"), n);
    assert_eq!(number(perfect, "/summary/accuracy"), 1.0);
    assert!(number(perfect, "/summary/accuracy_95/0") < 1.0);
    // Saying 97 % of what comes true costs 0.03 squared a call.
    assert!((number(perfect, "/summary/brier") - 0.0009).abs() < 1e-12);
    for kind in perfect["summary"]["kinds"].as_object().unwrap().keys() {
        assert!(kind.starts_with("right"), "{kind}");
    }
}

/// One cylinder guessed among n is right once in n calls where one cylinder is supported, and never
/// where none or a pair is.
#[test]
fn a_guessing_student_earns_chance() {
    let class = graded();
    let guessing = student(&class, "guessing");
    let chances: Vec<f64> = room()
        .key
        .iter()
        .filter(|t| single(t).is_some())
        .map(|t| 1.0 / t.engine.cylinders as f64)
        .collect();
    let expected: f64 = chances.iter().sum();
    let spread = chances.iter().map(|p| p * (1.0 - p)).sum::<f64>().sqrt();
    let right = number(guessing, "/summary/right");
    // Three standard deviations; the guesses are seeded, so that this cannot fail by chance.
    assert!(
        (right - expected).abs() < 3.0 * spread,
        "{right} against {expected} ± {spread}"
    );
    let kinds = guessing["summary"]["kinds"].as_object().unwrap();
    assert!(kinds.len() >= 5, "{kinds:?}");
    // An honest 20 % is not far from the share that was right.
    let said = number(guessing, "/calibration/said") - number(guessing, "/calibration/right");
    assert!(said.abs() < 0.15, "{said}");
}

/// Who calls the TDC nearest to the pulse is wrong exactly where the lag reaches past half of the firing
/// interval, and there blames the neighbour after.
#[test]
fn a_lag_blind_student_blames_the_neighbour_after() {
    let class = graded();
    let blind = student(&class, "lag-blind");
    let expected: Vec<&str> = room()
        .key
        .iter()
        .filter(|t| nearest(t) != supported(t))
        .map(|t| t.capture.as_str())
        .collect();
    assert!(expected.contains(&"06-long-lag"), "{expected:?}");
    let wrong: Vec<&Value> = blind["graded"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|g| g["verdict"]["points"] != 1.0)
        .collect();
    let names: Vec<&str> = wrong
        .iter()
        .map(|g| g["capture"].as_str().unwrap())
        .collect();
    assert_eq!(names, expected);
    for one in &wrong {
        assert_eq!(one["verdict"]["kind"], "neighbour_after", "{one}");
    }
    assert_eq!(
        blind["summary"]["kinds"]["neighbour_after"],
        expected.len() as u64
    );
}

#[test]
fn an_over_confident_student_is_told_so() {
    let class = graded();
    let sure = student(&class, "over-confident");
    let (said, right) = (
        number(sure, "/calibration/said"),
        number(sure, "/calibration/right"),
    );
    assert!(said - right > 0.3, "said {said}, right {right}");
    // Worse than always saying 50 %, though half of the calls are right.
    assert!(number(sure, "/summary/brier") > 0.25);
    let top = &sure["calibration"]["bins"][4];
    assert_eq!(top["n"], sure["calibration"]["n"]);
    assert!(number(top, "/right_95/1") < said);
}

#[test]
fn the_class_adds_up_and_its_lag_errors_lie_one_beside_the_leak() {
    let class = graded();
    let students = class["students"].as_array().unwrap();
    for path in ["/summary/n", "/summary/right", "/summary/points"] {
        let sum: f64 = students.iter().map(|s| number(s, path)).sum();
        assert!((sum - number(&class, path)).abs() < 1e-9, "{path}");
    }
    let one = room().key.iter().filter(|t| single(t).is_some()).count();
    let offsets = class["places"]["offsets"].as_object().unwrap();
    let calls: u64 = offsets.values().map(|n| n.as_u64().unwrap()).sum();
    assert_eq!(calls, number(&class, "/places/n") as u64);
    // At least the perfect student's calls stand on the leak.
    assert!(offsets["0"].as_u64().unwrap() >= one as u64);
    let lag = student(&class, "lag-blind")["summary"]["kinds"]["neighbour_after"]
        .as_u64()
        .unwrap();
    assert!(offsets["1"].as_u64().unwrap() >= lag);
    assert_eq!(class["places"]["matrix"], Value::Null, "engines differ");
    let items = class["items"].as_array().unwrap();
    assert_eq!(items.len(), room().key.len());
    let shares: Vec<f64> = items
        .iter()
        .map(|i| number(i, "/right") / number(i, "/n"))
        .collect();
    assert!(shares.is_sorted(), "{shares:?}");
}

#[test]
fn engines_of_one_size_give_a_matrix_with_lag_errors_beside_its_diagonal() {
    let room = room();
    let bench = &room.bench;
    let sixes: Vec<&Truth> = room
        .key
        .iter()
        .filter(|t| t.engine.cylinders == 6 && t.evidence.sync == Sync::Full)
        .collect();
    assert!(sixes.len() >= 3);
    let mut rows = String::from("capture,cylinders\n");
    for truth in &sixes {
        let file = format!("{}.truth.json", truth.capture);
        bench.write(&format!("sixes/{file}"), bench.read(&format!("key/{file}")));
        let called = match single(truth) {
            Some(leaking) => truth.engine.neighbour(leaking, 1).unwrap().to_string(),
            None => supported(truth),
        };
        rows += &format!("{},{called}\n", truth.capture);
    }
    bench.write("after.csv", rows);
    let json = bench.done(&["grade", "after.csv", "--key", "sixes", "--json"]);
    let class: Value = serde_json::from_str(&json).unwrap();
    let named = sixes.iter().filter(|t| single(t).is_some()).count();
    assert_eq!(class["places"]["n"], named as u64);
    let matrix = class["places"]["matrix"]["rows"].as_array().unwrap();
    for (i, row) in matrix.iter().enumerate() {
        for (j, count) in row.as_array().unwrap().iter().enumerate() {
            assert!(*count == 0 || j == (i + 1) % 6, "{i} {j} {count}");
        }
    }
}

#[test]
fn a_pack_refuses_the_sheets_of_another_and_grades_the_rest() {
    let bench = Bench::rendered();
    let head = r#"{"format": "waterjacket pack 1", "pack": "heron-4", "captures": 1}"#;
    bench.write("out/pack.json", head);
    bench.write("ann.csv", "pack,capture,cylinders\nheron-4,lesson,3\n");
    bench.write("bo.csv", "pack,capture,cylinders\nheron-5,lesson,3\n");
    bench.write("cy.csv", "capture;cylinders;confidence\r\nlesson;4;0,8\r\n");
    let arguments = [
        "grade",
        "ann.csv",
        "bo.csv",
        "cy.csv",
        "gone.csv",
        "--key",
        "out",
        "--report",
        "class.html",
    ];
    let run = bench.run(&arguments);
    assert_eq!(run.code, Some(2), "{run:?}");
    run.says(&[
        "bo.csv: line 2, column pack: the sheet is of pack \"heron-5\", the key of heron-4; grade it",
        "gone.csv: cannot read it",
    ]);
    for part in [
        "The class: 2 students, 1 captures, pack heron-4",
        "2 call sheets could not be read; the rest is graded.",
    ] {
        assert!(run.out.contains(part), "{}", run.out);
    }
    let html = String::from_utf8(bench.read("class.html")).unwrap();
    assert!(html.contains("2 call sheets could not be read; the rest is graded."));
    bench.write(
        "out/pack.json",
        r#"{"format": "waterjacket pack 9", "pack": "x"}"#,
    );
    let run: Run = bench.run(&["grade", "ann.csv", "--key", "out"]);
    run.refused(2, &["pack.json: format: it says \"waterjacket pack 9\""]);
}

/// What is written of people and files cannot become part of the page.
#[test]
fn nothing_in_a_sheet_becomes_html() {
    let bench = Bench::rendered();
    bench.write(
        "<img src=x>.csv",
        "capture,cylinders,note\nlesson,3,<script>alert(1)</script>\n<b>q</b>,3,\n",
    );
    let run = bench.run(&[
        "grade",
        "<img src=x>.csv",
        "--key",
        "out",
        "--report",
        "class.html",
    ]);
    assert_eq!(run.code, Some(2));
    let html = String::from_utf8(bench.read("class.html")).unwrap();
    for part in ["<img", "<script", "<b>"] {
        assert!(!html.contains(part), "{part}");
    }
    assert!(html.contains("&lt;img src=x&gt;"));
}

#[test]
fn results_are_a_row_for_each_call() {
    let bench = &room().bench;
    bench.done(&["grade", "class", "--key", "key", "--csv", "results.csv"]);
    let bytes = bench.read("results.csv");
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 4 * room().key.len());
    let points: f64 = rows.iter().map(|r| r[5].parse::<f64>().unwrap()).sum();
    assert!((points - number(&graded(), "/summary/points")).abs() < 1e-9);
}
