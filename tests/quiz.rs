//! Promise: a quiz pack is whole, fair and silent. Its two folders never mix, its answers are balanced,
//! and nothing in the student's folder but the traces themselves tells an answer.

mod common;

use common::{Bench, PageParts};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use waterjacket::domain::Truth;
use waterjacket::random::Stream;
use waterjacket::storage::open;

/// A quick vehicle with something on its card left to chance.
const CAR: &str = "\
title: The giveaway title
teaches: The giveaway lesson.
brief: {choose: [It boils over on the hill., The heater blows cold.]}
vehicle:
  name: Pellworth Four (invented)
  engine:
    cylinders: 4
    firing_order: [1, 3, 4, 2]
    compression_ratio: {uniform: [9.5, 10.5]}
  cooling: {air_pocket: {log_uniform: [100 mL, 500 mL]}}
faults:
  leaks:
    - {cylinder: 1, area: {uniform: [0.05 mm2, 0.2 mm2]}, opens_at: {choose: [1 bar, 2 bar, 20 bar]}}
  worn:
    - {cylinder: {choose: [1, 2, 3, 4]}, ring_area: {uniform: [0.5 mm2, 4 mm2]}}
test:
  coolant_temperature: {uniform: [12 C, 30 C]}
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa]}
  - {sensor: coil_trigger, cylinder: 1}
";

/// A bench with the car and a quiz of it.
fn bench(captures: usize, more: &str) -> Bench {
    let bench = Bench::new();
    bench.write("cars/car.yaml", CAR);
    let quiz = format!(
        "title: A quick quiz\nseed: 7\nrecording: {{duration: 1.5 s, sample_rate: 2 kHz}}\n{more}\n\
         scenarios: [{{scenario: cars/car.yaml, captures: {captures}}}]\n"
    );
    bench.write("quiz.yaml", quiz);
    bench
}

fn build(bench: &Bench, out: &str) -> String {
    bench.done(&["quiz", "quiz.yaml", "--out", out])
}

/// Rows of the key's answers, each by column.
fn answers(bench: &Bench, out: &str) -> Vec<BTreeMap<String, String>> {
    let bytes = bench.read(&format!("{out}/key/answers.csv"));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    reader.deserialize().map(Result::unwrap).collect()
}

fn truth(bench: &Bench, out: &str, name: &str) -> Truth {
    waterjacket::storage::document::read::<Truth>(
        &bench.path(&format!("{out}/key/{name}.truth.json")),
    )
    .unwrap()
}

#[test]
fn a_pack_is_a_student_folder_and_a_key_that_grades_it() {
    let bench = bench(6, "healthy: 20 %\nuntold: 20 %");
    let printed = build(&bench, "out/pack");
    let record = bench.json("out/pack/key/pack.json");
    let id = record["pack"].as_str().unwrap();
    assert_eq!(record["format"], "waterjacket pack 1");
    assert_eq!(id.len(), 12);
    assert_eq!(
        printed,
        format!(
            "out/pack/student\nout/pack/key\n6 captures: 4 with a leak to name, 1 healthy, 1 that cannot be told\npack {id}\n"
        )
    );
    let mut expected: Vec<String> = ["calls.csv", "how-to-answer.txt", "page.html", "sheet.html"]
        .map(String::from)
        .to_vec();
    for i in 1..=6 {
        for ending in ["card.json", "close.png", "order.txt", "png", "wav"] {
            expected.push(format!("item-{i:02}.{ending}"));
        }
    }
    expected.sort();
    assert_eq!(bench.files("out/pack/student"), expected);
    assert_eq!(bench.files("out").len(), expected.len() + 3 + 6 * 3);

    // The blank sheet, filled in from the answers, is a perfect one.
    let blank = String::from_utf8(bench.read("out/pack/student/calls.csv")).unwrap();
    let mut lines = blank.lines();
    let mut sheet = format!("{}\n", lines.next().unwrap());
    assert_eq!(sheet, "capture,cylinders,confidence,note,pack\n");
    for (line, answer) in lines.zip(answers(&bench, "out/pack")) {
        assert_eq!(line, format!("{},,,,{id}", answer["capture"]));
        let call = answer["supported"].split(" or ").next().unwrap();
        sheet += &line.replacen(",,,,", &format!(",{call},,,"), 1);
        sheet.push('\n');
    }
    bench.write("mine.csv", sheet);
    let graded = bench.done(&["grade", "mine.csv", "--key", "out/pack/key", "--json"]);
    let graded: Value = serde_json::from_str(&graded).unwrap();
    let points: Vec<&Value> = graded["students"][0]["graded"]
        .as_array()
        .unwrap_or_else(|| panic!("{graded}"))
        .iter()
        .map(|g| &g["verdict"]["points"])
        .collect();
    assert_eq!(points, [&Value::from(1.0); 6]);
}

#[test]
fn the_student_folder_is_silent_about_what_only_the_key_may_know() {
    let bench = bench(4, "");
    build(&bench, "pack");
    for file in bench.files("pack/student") {
        let bytes = bench.read(&format!("pack/student/{file}"));
        // The page's own program is the same in every page (tests/page.rs).
        let text = match file.as_str() {
            "page.html" => PageParts::of(&bytes).told.into(),
            _ => String::from_utf8_lossy(&bytes),
        };
        for word in ["giveaway", "truth", "\"seed\"", "opens_at", "worn", "cars/"] {
            assert!(!text.contains(word), "{file} says {word:?}");
        }
    }
    let page = PageParts::of(&bench.read("pack/student/page.html"));
    assert_eq!(page.samples.len(), 4);
    assert_eq!(page.data["title"], "A quick quiz");
    assert_eq!(page.data["pack"], bench.json("pack/key/pack.json")["pack"]);
    let captures = page.data["captures"].as_array().unwrap();
    assert!(captures.iter().all(|c| c["debrief"].is_null()));
    let key = PageParts::of(&bench.read("pack/key/page.html"));
    let captures = key.data["captures"].as_array().unwrap();
    assert!(
        captures
            .iter()
            .all(|c| !c["debrief"]["tdcs"].as_array().unwrap().is_empty())
    );
    let sheet = String::from_utf8(bench.read("pack/student/sheet.html")).unwrap();
    assert_eq!(sheet.matches("data:image/png;base64,").count(), 8);
    for loaded in ["http:", "https:", "<script", "<link", "url("] {
        assert!(!sheet.contains(loaded), "the sheet has {loaded}");
    }
    for answer in answers(&bench, "pack") {
        let name = &answer["capture"];
        let order = bench.read(&format!("pack/student/{name}.order.txt"));
        let order = String::from_utf8(order).unwrap();
        let card = bench.json(&format!("pack/student/{name}.card.json"));
        assert!(order.contains(card["brief"].as_str().unwrap()), "{order}");
        assert!(order.contains("Never open a hot cooling system"), "{order}");
    }
}

#[test]
fn the_same_quiz_and_seed_give_the_same_bytes_and_truths_render_them_again() {
    let bench = bench(4, "healthy: 25 %\nuntold: 25 %");
    build(&bench, "a");
    build(&bench, "b");
    bench.done(&["quiz", "quiz.yaml", "--seed", "8", "--out", "c"]);
    let files = bench.files("a");
    assert_eq!(files, bench.files("b"));
    for file in &files {
        let [a, b] = ["a", "b"].map(|pack| bench.read(&format!("{pack}/{file}")));
        assert!(a == b, "{file}");
    }
    let wav = |pack: &str| bench.read(&format!("{pack}/student/item-01.wav"));
    assert_ne!(wav("a"), wav("c"));
    let mut seen = BTreeSet::new();
    for i in 1..=4 {
        let name = format!("item-{i:02}");
        bench.done(&[
            "render",
            &format!("a/key/{name}.truth.json"),
            "--out",
            "again",
        ]);
        let student = bench.read(&format!("a/student/{name}.wav"));
        assert!(
            student == bench.read(&format!("again/{name}.wav")),
            "{name}"
        );
        assert!(seen.insert(student), "{name} is there twice");
        let opened = open(&bench.path(&format!("a/student/{name}"))).unwrap();
        assert_eq!(opened.card.capture, truth(&bench, "a", &name).capture);
    }
}

#[test]
fn shares_cylinders_and_difficulty_are_as_ordered() {
    let bench = bench(20, "healthy: 20 %\nuntold: 20 %\ndifficulty: [0.1, 0.25]");
    build(&bench, "pack");
    let rows = answers(&bench, "pack");
    let mut leaking: BTreeMap<(String, String), usize> = BTreeMap::new();
    for row in &rows {
        let truth = truth(&bench, "pack", &row["capture"]);
        let cylinders = truth.leaks.iter().map(|l| l.cylinder);
        assert_eq!(
            row["leaking"],
            cylinders.map(|c| c.to_string()).collect::<String>()
        );
        assert_eq!(row["supported"], truth.evidence.expected());
        assert_eq!(row["difficulty"], format!("{:.2}", truth.difficulty.total));
        match row["kind"].as_str() {
            "leak" => {
                assert_eq!(row["supported"], row["leaking"]);
                assert!((0.1..=0.25).contains(&truth.difficulty.total), "{row:?}");
            }
            "healthy" => assert_eq!(row["supported"], "none"),
            "untold" => assert_eq!(row["supported"], "unsure or none"),
            other => panic!("{other}"),
        }
        *leaking
            .entry((row["kind"].clone(), row["leaking"].clone()))
            .or_default() += 1;
    }
    let each = |kind: &str, n: usize| {
        for cylinder in 1..=4 {
            let key = (kind.to_string(), cylinder.to_string());
            assert_eq!(leaking.get(&key), Some(&n), "{leaking:?}");
        }
    };
    each("leak", 3);
    each("untold", 1);
    assert_eq!(leaking[&("healthy".to_string(), String::new())], 4);
}

/// What can be known of an item without looking at its traces: name, sizes, times, and every field of its
/// card and line of its work order.
fn knowable(bench: &Bench, pack: &str, name: &str, at: usize) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    all.insert("place".into(), at.to_string());
    for ending in ["wav", "png", "close.png", "card.json", "order.txt"] {
        let path = bench.path(&format!("{pack}/student/{name}.{ending}"));
        let about = std::fs::metadata(&path).unwrap();
        all.insert(format!("size of {ending}"), about.len().to_string());
        let time = about.modified().unwrap();
        all.insert(format!("time of {ending}"), format!("{time:?}"));
    }
    fn leaves(path: &str, value: &Value, all: &mut BTreeMap<String, String>) {
        match value {
            Value::Object(map) => map
                .iter()
                .for_each(|(k, v)| leaves(&format!("{path}.{k}"), v, all)),
            Value::Array(list) => list
                .iter()
                .enumerate()
                .for_each(|(i, v)| leaves(&format!("{path}[{i}]"), v, all)),
            leaf => {
                all.insert(path.to_string(), leaf.to_string());
            }
        }
    }
    let mut card = bench.json(&format!("{pack}/student/{name}.card.json"));
    // The name is the place, which is here already.
    card.as_object_mut().unwrap().remove("capture");
    leaves("card", &card, &mut all);
    let order = bench.read(&format!("{pack}/student/{name}.order.txt"));
    let order = String::from_utf8(order).unwrap().replace(name, "");
    all.insert("work order".into(), order);
    all
}

/// Numbers in four groups of a like size, so that what grows with the answer shows; other texts as they
/// are.
fn grouped(values: &[String]) -> Vec<String> {
    let numbers: Result<Vec<f64>, _> = values.iter().map(|v| v.parse::<f64>()).collect();
    let Ok(numbers) = numbers else {
        return values.to_vec();
    };
    let group = |own: &f64| numbers.iter().filter(|n| *n < own).count() * 4 / numbers.len();
    numbers.iter().map(|n| group(n).to_string()).collect()
}

/// Mutual information of two lists, bits.
fn information(a: &[String], b: &[String]) -> f64 {
    let n = a.len() as f64;
    let count = |test: &dyn Fn(usize) -> bool| (0..a.len()).filter(|i| test(*i)).count() as f64;
    (0..a.len())
        .map(|i| {
            let both = count(&|j| a[j] == a[i] && b[j] == b[i]);
            let (own, other) = (count(&|j| a[j] == a[i]), count(&|j| b[j] == b[i]));
            #[allow(clippy::disallowed_methods)] // A test's own sums need not be portable.
            let bits = (both * n / (own * other)).log2();
            bits / n
        })
        .sum()
}

/// How often answers in any other order would tell as much: 1 where nothing is told, near 0 where a
/// guesser gains.
fn chance(clue: &[String], answers: &[String]) -> f64 {
    const ORDERS: usize = 400;
    let told = information(clue, answers);
    let mut stream = Stream::new(1, 0, "a guesser's shuffles");
    let mut shuffled = answers.to_vec();
    let as_much = (0..ORDERS)
        .filter(|_| {
            for i in (1..shuffled.len()).rev() {
                shuffled.swap(i, stream.below(i + 1));
            }
            information(clue, &shuffled) >= told - 1e-12
        })
        .count();
    (as_much + 1) as f64 / (ORDERS + 1) as f64
}

#[test]
fn nothing_but_the_traces_tells_an_answer() {
    let bench = bench(60, "healthy: 20 %\nuntold: 20 %");
    build(&bench, "pack");
    let rows = answers(&bench, "pack");
    assert_eq!(rows.len(), 60);
    let column = |of: &dyn Fn(usize) -> String| (0..60).map(of).collect::<Vec<String>>();
    let supported = column(&|i| rows[i]["supported"].clone());
    let kinds = column(&|i| rows[i]["kind"].clone());
    let known: Vec<BTreeMap<String, String>> = (0..60)
        .map(|i| knowable(&bench, "pack", &rows[i]["capture"], i))
        .collect();
    let clues: BTreeSet<&String> = known.iter().flat_map(|k| k.keys()).collect();
    assert!(clues.len() > 40, "{clues:?}");
    // What is alike for all tells nothing of any.
    let mut varying = 0;
    for clue in clues {
        let values = column(&|i| known[i].get(clue).cloned().unwrap_or_default());
        if values.iter().all(|v| *v == values[0]) {
            continue;
        }
        varying += 1;
        for (what, answers) in [("answer", &supported), ("kind", &kinds)] {
            let told = chance(&grouped(&values), answers);
            assert!(told > 0.005, "{clue} tells the {what}: {told}");
            let told = chance(&values, answers);
            assert!(
                told > 0.005,
                "{clue}, as it stands, tells the {what}: {told}"
            );
        }
    }
    // Place, brief, compression ratio and temperature differ; there was something to guess from.
    assert!(varying >= 4, "{varying}");
    for same in ["wav", "png", "close.png"] {
        let size = &known[0][&format!("size of {same}")];
        assert!(known.iter().all(|k| k[&format!("size of {same}")] == *size));
    }
    let before = column(&|i| supported[(i + 59) % 60].clone());
    assert!(chance(&before, &supported) > 0.005, "the item before tells");

    // The guesser is not blind: it sees a leak's answer in what would give it away.
    let truths: Vec<Truth> = (0..60)
        .map(|i| truth(&bench, "pack", &rows[i]["capture"]))
        .collect();
    let gas = column(&|i| truths[i].gas.passed_mg.to_string());
    assert!(chance(&grouped(&gas), &kinds) < 0.005);
    let cylinders = column(&|i| rows[i]["leaking"].clone());
    assert!(chance(&cylinders, &supported) < 0.005);
    let mut sorted: Vec<usize> = (0..60).collect();
    sorted.sort_by_key(|i| &supported[*i]);
    let unshuffled: Vec<String> = sorted.iter().map(|i| supported[*i].clone()).collect();
    assert!(chance(&grouped(&column(&|i| i.to_string())), &unshuffled) < 0.005);
}

#[test]
fn faults_of_quiz_and_scenario_come_together_and_nothing_is_built() {
    let bench = Bench::new();
    bench.write("bad.yaml", "channels: [{sensor: neck}]");
    bench.write(
        "quiz.yaml",
        "scenarios: [{scenario: bad.yaml, captures: 2}, {scenario: gone.yaml, captures: 2}]",
    );
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "pack"]);
    run.refused(
        2,
        &[
            "bad.yaml: line 1, column 21: channels[0].sensor",
            "gone.yaml: cannot read",
        ],
    );
    bench.write("quiz.yaml", "helthy: 10 %\nscenarios: [{scenario: a.yaml}]");
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "pack"]);
    run.refused(
        2,
        &[
            "quiz.yaml: line 1, column 1: helthy: unknown key `helthy`; did you mean `healthy`?",
            "quiz.yaml: line 2, column 13: scenarios[0].captures: `captures` is missing",
        ],
    );
    assert_eq!(bench.files("."), ["bad.yaml", "quiz.yaml"]);
}

#[test]
fn a_quiz_that_cannot_be_filled_says_what_is_lacking() {
    let bench = bench(3, "untold: 0 %\nhealthy: 0 %\ndifficulty: [0.98, 1]");
    let before = bench.files(".");
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "out/pack"]);
    run.refused(
        2,
        &[
            "quiz.yaml: scenarios[0]: cars/car.yaml cannot be filled: after 160 draws it still lacks 3 with a leak to name at a difficulty of 0.98 to 1",
            "were too easy",
            "widen `difficulty`",
        ],
    );
    bench.change("cars/car.yaml", ", 20 bar", "");
    bench.change("quiz.yaml", "[0.98, 1]", "any");
    bench.change("quiz.yaml", "untold: 0 %", "untold: 100 %");
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "out/pack"]);
    run.refused(
        2,
        &[
            "3 that cannot be told",
            "could be told",
            "write `untold: 0 %`",
        ],
    );
    bench.change(
        "cars/car.yaml",
        "  leaks:\n",
        "  misfires: []\n  leaks: []\n  worn: []\n#",
    );
    let text = String::from_utf8(bench.read("cars/car.yaml")).unwrap();
    let end = text.find("#").unwrap();
    let test = text.find("test:").unwrap();
    bench.write(
        "cars/car.yaml",
        format!("{}{}", &text[..end], &text[test..]),
    );
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "out/pack"]);
    run.refused(
        2,
        &[
            "quiz.yaml: scenarios[0]: this scenario has no leak to place",
            "healthy: 100 %",
        ],
    );
    assert_eq!(bench.files("."), before);
}

#[test]
fn a_folder_with_something_in_it_is_left_alone() {
    let bench = bench(1, "healthy: 0 %\nuntold: 0 %");
    bench.write("pack/mine.txt", "keep");
    let run = bench.run(&["quiz", "quiz.yaml", "--out", "pack"]);
    run.refused(2, &["pack: the folder is not empty; name a new folder"]);
    assert_eq!(bench.files("pack"), ["mine.txt"]);
    std::fs::remove_file(bench.path("pack/mine.txt")).unwrap();
    build(&bench, "pack");
    assert!(!bench.files("pack/key").is_empty());
    build(&bench, "deep/er/pack");
}

#[cfg(unix)]
#[test]
fn an_interrupt_leaves_nothing() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};
    let bench = bench(200, "");
    // Interrupted while it draws, and while it writes.
    for writing in [false, true] {
        let child = Command::new(assert_cmd::cargo::cargo_bin("waterjacket"))
            .current_dir(bench.path(""))
            .args(["quiz", "quiz.yaml", "--out", "out/pack"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let begun = Instant::now();
        std::thread::sleep(Duration::from_millis(300));
        while writing && bench.files("out/.pack.part").len() < 5 {
            assert!(
                begun.elapsed() < Duration::from_secs(60),
                "nothing is written"
            );
            std::thread::sleep(Duration::from_millis(5));
        }
        let pid = child.id().to_string();
        let killed = Command::new("kill").args(["-INT", &pid]).status().unwrap();
        assert!(killed.success());
        let output = child.wait_with_output().unwrap();
        let run = common::Run {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        };
        run.refused(
            2,
            &["interrupted: no pack was built; run the command again"],
        );
        assert_eq!(bench.files("out"), [""; 0]);
    }
}
