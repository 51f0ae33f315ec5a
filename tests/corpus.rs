//! Promise: a capture of a corpus depends on plan, seed and index alone, whatever the split, the threads
//! and the interrupts; a corpus knows its files again; and nothing an analyzer may read gives the key
//! away.

mod common;

use common::{Bench, Run};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field, Row, RowAccessor};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use waterjacket::capture::{CorpusForm, KeyLines, Truth, open, sha256_hex, wav};
use waterjacket::corpus::{self, Order, Plan, Shard, name};
use waterjacket::render::render;

/// A quick vehicle with most of it left to chance. All of it is invented.
const CAR: &str = "\
title: The giveaway title
teaches: The giveaway lesson.
brief: It boils over on the hill.
vehicle:
  name: Pellworth Four (invented)
  engine:
    cylinders: 4
    firing_order: [1, 3, 4, 2]
    compression_ratio: {uniform: [9.5, 10.5]}
  cooling: {air_pocket: {log_uniform: [100 mL, 500 mL]}}
faults:
  leaks:
    - {cylinder: {choose: [1, 2, 3, 4]}, area: {uniform: [0.05 mm2, 0.2 mm2]}, opens_at: {choose: [1 bar, 20 bar]}}
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa]}
  - {sensor: coil_trigger, cylinder: 1}
";

const PLAN: &str = "\
title: A quick corpus
seed: 7
healthy: 20 %
recording: {duration: 1 s, sample_rate: 2 kHz}
scenarios:
  - {scenario: cars/four.yaml, weight: 2}
  - {scenario: \"cars/*-three.yaml\"}
";

/// A bench with a plan of two cars.
fn bench() -> Bench {
    let bench = Bench::new();
    let three = CAR
        .replace("cylinders: 4", "cylinders: 3")
        .replace("[1, 3, 4, 2]", "[1, 2, 3]")
        .replace("[1, 2, 3, 4]", "[1, 2, 3]")
        + "  - {sensor: starter_current}\n";
    bench.write("cars/four.yaml", CAR);
    bench.write("cars/inline-three.yaml", three);
    bench.write("plan.yaml", PLAN);
    bench
}

/// `corpus plan.yaml` with more arguments, divided by blanks.
fn arguments(more: &str) -> Vec<&str> {
    let mut all = vec!["corpus", "plan.yaml"];
    all.extend(more.split_whitespace());
    all
}

fn done(bench: &Bench, more: &str) -> String {
    bench.done(&arguments(more))
}

/// All files of a corpus that do not depend on the split, by name.
fn captures(bench: &Bench, out: &str) -> BTreeMap<String, Vec<u8>> {
    let files = bench.files(out).into_iter();
    files
        .filter(|f| {
            let by_shard = f.contains("shard-") || f.starts_with("manifest");
            !by_shard && f != "corpus.json"
        })
        .map(|f| (f.clone(), bench.read(&format!("{out}/{f}"))))
        .collect()
}

/// The keys of all shards, one behind the other.
fn key(bench: &Bench, out: &str) -> String {
    let files = bench.files(out).into_iter();
    let keys = files.filter(|f| f.ends_with(".key.jsonl"));
    keys.map(|f| String::from_utf8(bench.read(&format!("{out}/{f}"))).unwrap())
        .collect()
}

fn merged(bench: &Bench, out: &str) -> Value {
    let text = bench.done(&["corpus", "--merge", "--json", "--out", out]);
    serde_json::from_str(&text).unwrap()
}

#[test]
fn any_split_and_any_threads_give_the_same_bytes() {
    for form in [
        "--truths",
        "--format parquet --captures-per-file 4 --truths",
        "--format labelled --captures-per-file 5",
    ] {
        let bench = bench();
        let shards = |out: &str, shards: &[&str], threads: &str| {
            for shard in shards {
                let more =
                    format!("--count 22 {form} --shard {shard} --threads {threads} --out {out}");
                done(&bench, &more);
            }
            merged(&bench, out)
        };
        let whole = shards("whole", &["1/1"], "1");
        for (out, split, threads) in [
            ("three", &["3/3", "1/3", "2/3"][..], "2"),
            ("seven", &["1/1"], "7"),
        ] {
            let summary = shards(out, split, threads);
            assert_eq!(
                summary["captures_sha256"], whole["captures_sha256"],
                "{form}"
            );
            let (own, other) = (captures(&bench, "whole"), captures(&bench, out));
            assert!(own.len() >= 5, "{:?}", own.keys());
            assert_eq!(
                own.keys().collect::<Vec<_>>(),
                other.keys().collect::<Vec<_>>()
            );
            for (file, bytes) in &own {
                assert!(*bytes == other[file], "{form}: {out}/{file} differs");
            }
            assert_eq!(key(&bench, "whole"), key(&bench, out), "{form}");
        }
        assert_ne!(whole["captures_sha256"], {
            done(&bench, &format!("--count 22 --seed 8 {form} --out other"));
            merged(&bench, "other")["captures_sha256"].clone()
        });
    }
}

#[test]
fn a_capture_depends_on_plan_seed_and_index_alone() {
    let bench = bench();
    done(&bench, "--count 9 --truths --out nine");
    done(&bench, "--count 4 --out four");
    for (file, bytes) in captures(&bench, "four") {
        assert!(bench.read(&format!("nine/{file}")) == bytes, "{file}");
    }
    let truths = "nine/key/truths/0000";
    for i in [0, 7] {
        let name = name(i);
        let printed = done(&bench, &format!("--index {i} --out one"));
        assert_eq!(printed, format!("one/{name}.wav\n"));
        for ending in ["wav", "card.json"] {
            let own = bench.read(&format!("nine/captures/0000/{name}.{ending}"));
            assert!(own == bench.read(&format!("one/{name}.{ending}")), "{name}");
        }
        let truth = format!("{name}.truth.json");
        let own = bench.read(&format!("{truths}/{truth}"));
        assert!(own == bench.read(&format!("one/{truth}")), "{truth}");
        bench.done(&["render", &format!("{truths}/{truth}"), "--out", "again"]);
        let wav = format!("{name}.wav");
        assert!(bench.read(&format!("again/{wav}")) == bench.read(&format!("one/{wav}")));
    }
}

#[test]
fn the_library_draws_the_same_capture() {
    let bench = bench();
    done(&bench, "--count 6 --out out");
    let plan = Plan::open(&bench.path("plan.yaml")).unwrap();
    for (i, truth) in KeyLines::open(&bench.path("out/key/shard-0001-of-0001.key.jsonl"))
        .unwrap()
        .enumerate()
    {
        let capture = render(&plan.draw(7, i as u64).unwrap(), &name(i as u64));
        let digest = wav::sha256(2000, &capture.samples).unwrap();
        assert_eq!(truth.unwrap().wav_sha256, digest);
    }
}

#[test]
fn nothing_that_an_analyzer_may_read_gives_the_key_away() {
    let bench = bench();
    done(&bench, "--count 12 --seed 90210447 --out out");
    let mut expected: Vec<String> = (0..12)
        .flat_map(|i| ["card.json", "wav"].map(|e| format!("0000/{}.{e}", name(i))))
        .collect();
    expected.sort();
    assert_eq!(bench.files("out/captures"), expected);
    for file in expected.iter().filter(|f| f.ends_with("json")) {
        let card = bench.json(&format!("out/captures/{file}"));
        let text = card.to_string();
        for word in [
            "giveaway",
            "90210447",
            "leak",
            "four.yaml",
            "seed",
            "supported",
        ] {
            assert!(!text.contains(word), "{word} in {text}");
        }
    }
    done(
        &bench,
        "--count 12 --seed 90210447 --format parquet --out parquet",
    );
    let path = bench.path("parquet/captures/c0000000.parquet");
    let file = SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap();
    let columns = file.metadata().file_metadata().schema().get_fields();
    let names: Vec<&str> = columns.iter().map(|c| c.name()).collect();
    assert_eq!(
        names,
        waterjacket::capture::columns::CAPTURE_COLUMNS.map(|c| c.name)
    );
}

/// The rows of a Parquet file by the name of the capture.
fn rows(path: &Path) -> Vec<Row> {
    let file = SerializedFileReader::new(fs::File::open(path).unwrap()).unwrap();
    file.get_row_iter(None)
        .unwrap()
        .map(Result::unwrap)
        .collect()
}

/// The place of a column in a row.
fn column(row: &Row, name: &str) -> usize {
    let mut names = row.get_column_iter().map(|(name, _)| name);
    names.position(|n| n == name).expect(name)
}

fn samples(row: &Row) -> Vec<Vec<i16>> {
    let list = row.get_list(column(row, "samples")).unwrap();
    let channels = list.elements().iter().map(|channel| match channel {
        Field::ListInternal(counts) => counts
            .elements()
            .iter()
            .map(|count| match count {
                Field::Short(n) => *n,
                other => panic!("{other:?}"),
            })
            .collect(),
        other => panic!("{other:?}"),
    });
    channels.collect()
}

#[test]
fn parquet_holds_the_samples_cards_and_truths_of_the_wavs() {
    let bench = bench();
    done(&bench, "--count 11 --out wav");
    done(
        &bench,
        "--count 11 --format parquet --captures-per-file 4 --out parquet",
    );
    done(
        &bench,
        "--count 11 --format labelled --captures-per-file 11 --out labelled",
    );
    assert_eq!(key(&bench, "wav"), key(&bench, "parquet"));
    assert_eq!(key(&bench, "wav"), key(&bench, "labelled"));
    let files = ["c0000000", "c0000004", "c0000008"];
    let of = |folder: &str| -> Vec<Row> {
        let paths = files.map(|f| bench.path(&format!("{folder}/{f}.parquet")));
        paths.iter().flat_map(|path| rows(path)).collect()
    };
    let labelled = rows(&bench.path("labelled/labelled/c0000000.parquet"));
    let (captures, truths) = (of("parquet/captures"), of("parquet/key/parquet"));
    assert_eq!((captures.len(), truths.len(), labelled.len()), (11, 11, 11));
    for i in 0..11 {
        let opened = open(&bench.path(&format!("wav/captures/0000/{}", name(i as u64)))).unwrap();
        for row in [&captures[i], &labelled[i]] {
            assert_eq!(row.get_string(0).unwrap(), &opened.name);
            assert_eq!(samples(row), opened.samples.channels);
            let card = row.get_string(column(row, "card")).unwrap();
            assert_eq!(*card, opened.card.to_json());
        }
        for row in [&truths[i], &labelled[i]] {
            let text = row.get_string(column(row, "truth")).unwrap();
            let truth = Truth::from_json("row", text.as_bytes()).unwrap();
            assert_eq!(truth.capture, opened.name);
            let leaking = row.get_list(column(row, "leaking")).unwrap();
            assert_eq!(leaking.len(), truth.leaks.len());
            let lag = truth.leaks.first().and_then(|l| l.lag_ms);
            assert_eq!(row.get_double(column(row, "lag_ms")).ok(), lag);
            assert_eq!(row.get_ulong(column(row, "number")).unwrap(), i as u64);
        }
    }
}

#[test]
fn row_groups_are_bounded() {
    use waterjacket::capture::columns::{Cell, Column, Kind};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.parquet");
    let counts = [Column {
        name: "samples",
        kind: Kind::Counts,
        meaning: "counts",
    }];
    let mut left = 9;
    waterjacket::capture::parquet::write(&path, "test", &counts, &mut || {
        left -= 1;
        let row = vec![Cell::Counts(vec![
            vec![7; 1 << 20],
            Vec::new(),
            vec![-7; 1 << 20],
        ])];
        Ok((left >= 0).then_some(row))
    })
    .unwrap();
    let file = SerializedFileReader::new(fs::File::open(&path).unwrap()).unwrap();
    let groups: Vec<i64> = file
        .metadata()
        .row_groups()
        .iter()
        .map(|g| g.num_rows())
        .collect();
    assert_eq!(groups, [4, 4, 1]);
    let read = rows(&path);
    let last = samples(&read[8]);
    assert_eq!((last[0].len(), last[1].len(), last[2][5]), (1 << 20, 0, -7));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn whatever_the_split(count in 1_u64..9, of in 1_u64..6, threads in 1_usize..5, seed: u64) {
        let bench = bench();
        let plan = Plan::open(&bench.path("plan.yaml")).unwrap();
        let build = |shard, threads, folder: &Path| {
            let form = CorpusForm::Wav;
            let order = Order {
                plan: &plan, seed, count, shard, form, captures_per_file: 1, truths: false,
                threads: Some(threads), folder,
            };
            corpus::build(&order, &|_| Ok(())).unwrap();
        };
        build(Shard::WHOLE, 1, &bench.path("whole"));
        for number in (1..=of).rev() {
            build(Shard { number, of }, threads, &bench.path("split"));
        }
        let [whole, split] = ["whole", "split"].map(|f| corpus::merge(&bench.path(f)).unwrap());
        prop_assert_eq!(whole.captures_sha256, split.captures_sha256);
        prop_assert_eq!(key(&bench, "whole"), key(&bench, "split"));
    }
}

/// Starts a run and waits until its manifest has some lines.
fn begun(bench: &Bench, more: &str, manifest: &str) -> Child {
    let child = Command::new(assert_cmd::cargo::cargo_bin("waterjacket"))
        .current_dir(bench.path(""))
        .args(arguments(more))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let begun = Instant::now();
    let lines = || fs::read_to_string(bench.path(manifest)).map_or(0, |t| t.lines().count());
    while lines() < 12 {
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "nothing is rendered"
        );
        std::thread::sleep(Duration::from_millis(2));
    }
    child
}

const MANIFEST: &str = "out/manifest/shard-0001-of-0001.sha256";

/// The captures that the second line of a run tells of: all, rendered now, there before.
fn told(printed: &str) -> [u64; 3] {
    let line = printed.lines().nth(1).unwrap();
    let words = line.split([' ', ',']).filter_map(|w| w.parse().ok());
    words.collect::<Vec<u64>>().try_into().expect(line)
}

#[test]
fn a_killed_run_goes_on_where_it_ended() {
    for (form, least) in [("", 3), ("--format parquet --captures-per-file 3", 3)] {
        let bench = bench();
        let more = format!("--count 60 {form} --out out");
        let mut child = begun(&bench, &more, MANIFEST);
        child.kill().unwrap();
        child.wait().unwrap();
        let finished: Vec<String> = fs::read_to_string(bench.path(MANIFEST))
            .unwrap()
            .lines()
            .map(|l| l[66..].to_string())
            .collect();
        let time = |f: &String| {
            let about = fs::metadata(bench.path(&format!("out/{f}"))).unwrap();
            about.modified().unwrap()
        };
        let before: Vec<_> = finished.iter().map(time).collect();
        let [all, now, there] = told(&done(&bench, &more));
        assert_eq!((all, now + there), (60, 60));
        assert!(there >= least && now > 0, "{now} now, {there} there");
        assert_eq!(before, finished.iter().map(time).collect::<Vec<_>>());
        done(&bench, &format!("--count 60 {form} --out calm"));
        assert_eq!(merged(&bench, "out"), merged(&bench, "calm"), "{form}");
        assert!(
            captures(&bench, "out") == captures(&bench, "calm"),
            "{form}"
        );
        assert_eq!(key(&bench, "out"), key(&bench, "calm"), "{form}");
        bench.done(&["corpus", "--verify", "--out", "out"]);
    }
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_a_run_between_captures() {
    let bench = bench();
    let child = begun(&bench, "--count 5000 --out out", MANIFEST);
    let pid = child.id().to_string();
    let kill = Command::new("kill").args(["-INT", &pid]).status();
    assert!(kill.unwrap().success());
    let output = child.wait_with_output().unwrap();
    let run = Run {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    };
    run.refused(
        2,
        &[
            "interrupted: ",
            "of 5000 captures are whole; run the command again",
        ],
    );
    let parts: Vec<String> = bench.files("out");
    assert!(!parts.iter().any(|f| f.ends_with(".part")), "{parts:?}");
}

#[test]
fn two_runs_of_one_shard_do_not_mix() {
    let bench = bench();
    let mut child = begun(&bench, "--count 5000 --out out", MANIFEST);
    let run = bench.run(&arguments("--count 5000 --out out"));
    child.kill().unwrap();
    child.wait().unwrap();
    run.refused(
        2,
        &[
            MANIFEST,
            "another process is writing it; let that one finish",
        ],
    );
}

#[test]
fn what_was_half_written_is_written_again() {
    let bench = bench();
    done(&bench, "--count 10 --out calm");
    done(&bench, "--count 10 --out out");
    let key_path = "out/key/shard-0001-of-0001.key.jsonl";
    let [manifest, keys] = [MANIFEST, key_path].map(|f| String::from_utf8(bench.read(f)).unwrap());
    let lines = |text: &str, n: usize| -> String { text.split_inclusive('\n').take(n).collect() };
    for (manifest, keys, there) in [
        (lines(&manifest, 7) + "0123", keys.clone(), 3),
        (lines(&manifest, 8), lines(&keys, 6) + "{\"for", 4),
        (lines(&manifest, 20), lines(&keys, 5), 5),
        (manifest.clone(), lines(&keys, 2), 2),
        (String::new(), keys.clone(), 0),
        ("not a manifest\n".into(), keys.clone(), 0),
        (manifest.clone(), keys.clone(), 10),
    ] {
        bench.write(MANIFEST, manifest);
        bench.write(key_path, keys);
        assert_eq!(
            told(&done(&bench, "--count 10 --out out")),
            [10, 10 - there, there]
        );
        assert_eq!(merged(&bench, "out"), merged(&bench, "calm"));
        assert_eq!(key(&bench, "out"), key(&bench, "calm"));
        bench.done(&["corpus", "--verify", "--out", "out"]);
    }
}

#[test]
fn verify_tells_what_is_missing_changed_and_extra() {
    let bench = bench();
    done(&bench, "--count 6 --out out");
    let verify = ["corpus", "--verify", "--out", "out"];
    assert_eq!(
        bench.done(&verify),
        "13 files as the manifest says, all is in order\n"
    );
    fs::remove_file(bench.path("out/captures/0000/c0000001.wav")).unwrap();
    let mut bytes = bench.read("out/captures/0000/c0000003.wav");
    bytes[2000] ^= 1;
    bench.write("out/captures/0000/c0000003.wav", &bytes);
    bench.write("out/captures/0000/c0000006.wav", &bytes);
    bench.write("out/key/notes.txt", "mine");
    bench.write("out/calls.csv", "an analyzer's own");
    let run = bench.run(&verify);
    assert_eq!(run.code, Some(1));
    assert_eq!(
        run.out,
        "missing     captures/0000/c0000001.wav\n\
         changed     captures/0000/c0000003.wav\n\
         extra       captures/0000/c0000006.wav\n\
         extra       key/notes.txt\n\
         11 files as the manifest says, 1 missing, 1 changed, 2 extra\n"
    );
    run.says(&["out: 1 files are missing; run the corpus's command again"]);
    let json = bench.run(&[&verify[..], &["--json"]].concat());
    let json: Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(json["changed"]["first"][0], "captures/0000/c0000003.wav");
    // The remedies are true.
    for file in [
        "captures/0000/c0000003.wav",
        "captures/0000/c0000006.wav",
        "key/notes.txt",
    ] {
        fs::remove_file(bench.path(&format!("out/{file}"))).unwrap();
    }
    assert_eq!(told(&done(&bench, "--count 6 --out out")), [6, 2, 4]);
    bench.done(&verify);
}

#[test]
fn the_manifest_is_one_that_sha256sum_reads() {
    let bench = bench();
    done(&bench, "--count 3 --out out");
    let text = String::from_utf8(bench.read("out/manifest.sha256")).unwrap();
    assert_eq!(text.lines().count(), 7);
    for line in text.lines() {
        let (digest, file) = line.split_once("  ").unwrap();
        let bytes = bench.read(&format!("out/{file}"));
        assert_eq!(digest, sha256_hex(&bytes[..]).unwrap(), "{file}");
    }
    assert_eq!(text.into_bytes(), bench.read(MANIFEST), "one shard is all");
}

#[test]
fn merge_names_the_shards_that_are_missing() {
    let bench = bench();
    for shard in ["1/4", "3/4"] {
        done(&bench, &format!("--count 8 --shard {shard} --out out"));
    }
    let merge = ["corpus", "--merge", "--out", "out"];
    bench.run(&merge).refused(
        1,
        &[
            "shard-0002-of-0004.sha256: shard 2/4 has not begun; run the command of shard 2/4",
            "shard-0004-of-0004.sha256: shard 4/4 has not begun",
        ],
    );
    assert!(!bench.path("out/manifest.sha256").exists());
    let third = "out/manifest/shard-0003-of-0004.sha256";
    let text = String::from_utf8(bench.read(third)).unwrap();
    bench.write(
        third,
        text.split_inclusive('\n').take(3).collect::<String>(),
    );
    fs::remove_file(bench.path("out/captures/0000/c0000000.wav")).unwrap();
    bench.run(&merge).refused(
        1,
        &[
            "shard 3/4 is not finished: it names 1 of 2 captures",
            "c0000000.wav: it is missing; run the command of shard 1/4 again",
        ],
    );
    let verify = bench.run(&["corpus", "--verify", "--out", "out"]);
    assert!(verify.out.contains("unfinished  2/4\n"), "{}", verify.out);
    for shard in ["1/4", "2/4", "3/4", "4/4"] {
        done(&bench, &format!("--count 8 --shard {shard} --out out"));
    }
    assert_eq!(merged(&bench, "out")["shards"], 4);
}

#[test]
fn more_shards_than_captures_leave_some_empty() {
    let bench = bench();
    for shard in 1..=5 {
        done(&bench, &format!("--count 3 --shard {shard}/5 --out out"));
    }
    done(&bench, "--count 3 --out whole");
    let digest = |out| merged(&bench, out)["captures_sha256"].clone();
    assert_eq!(digest("out"), digest("whole"));
}

#[test]
fn a_folder_of_something_else_is_refused_and_left_alone() {
    let bench = bench();
    done(&bench, "--count 4 --out out");
    let before = bench.files("out");
    for (more, part) in [
        (
            "--count 4 --seed 8",
            "out/corpus.json: seed: the corpus there has 7, and this run 8; ask for the same, or name another folder",
        ),
        (
            "--count 5",
            "out/corpus.json: count: the corpus there has 4",
        ),
        (
            "--count 4 --shard 1/2",
            "out/corpus.json: shards: the corpus there has 1",
        ),
        (
            "--count 4 --format parquet",
            "out/corpus.json: form: the corpus there has wav, and this run parquet",
        ),
        ("--count 4 --truths", "out/corpus.json: truths"),
    ] {
        bench
            .run(&arguments(&format!("{more} --out out")))
            .refused(2, &[part]);
    }
    bench.change("cars/four.yaml", "20 bar", "21 bar");
    let changed = bench.run(&arguments("--count 4 --out out"));
    changed.refused(
        2,
        &[
            "corpus.json: plan_sha256",
            "give the plan and its scenarios as they were",
        ],
    );
    bench.change("cars/four.yaml", "21 bar", "20 bar");
    bench.change(
        "out/corpus.json",
        "first_wav_sha256\": \"",
        "first_wav_sha256\": \"0",
    );
    let build = bench.run(&arguments("--count 4 --out out"));
    build.refused(
        2,
        &["first_wav_sha256", "use the very program that began it"],
    );
    bench.change("out/corpus.json", "corpus 1", "corpus 9");
    bench.run(&arguments("--count 4 --out out")).refused(
        2,
        &["corpus.json: format: it says \"waterjacket corpus 9\""],
    );
    assert_eq!(bench.files("out"), before);

    bench.write("mine/photo.jpg", "x");
    bench.run(&arguments("--count 4 --out mine")).refused(
        2,
        &["mine: the folder is no corpus, and not empty: it holds photo.jpg"],
    );
    assert_eq!(bench.files("mine"), ["photo.jpg"]);
    for check in ["--merge", "--verify"] {
        bench
            .run(&["corpus", check, "--out", "mine"])
            .refused(2, &["mine/corpus.json: cannot read it"]);
    }
    bench
        .run(&arguments("--count 4 --out plan.yaml/below"))
        .refused(2, &["plan.yaml/below: cannot make the folder"]);
}

#[test]
fn what_cannot_be_is_refused_before_anything_is_written() {
    let bench = bench();
    for (more, part) in [
        ("--count 0", "0 is not in 1..=10000000"),
        (
            "--count 1000000000000",
            "1000000000000 is not in 1..=10000000",
        ),
        (
            "--count 4 --shard 0/0",
            "shard `0/0`: a corpus has at least one shard; write i/n",
        ),
        (
            "--count 4 --shard 5/3",
            "shard `5/3`: there is no such shard",
        ),
        ("--count 4 --threads 0", "0 is not in 1..=4096"),
        ("--shard 1/2", "required"),
        ("--merge", "cannot be used with"),
    ] {
        bench
            .run(&arguments(&format!("{more} --out out")))
            .refused(2, &[part]);
    }
    bench
        .run(&["corpus", "--count", "3", "--out", "out"])
        .refused(2, &["<PLAN>"]);
    bench.change(
        "plan.yaml",
        "1 s, sample_rate: 2 kHz",
        "60 s, sample_rate: 200 kHz",
    );
    // Ten million captures of 60 s at 200 kHz: about 600 TB.
    bench.run(&arguments("--count 10000000 --out out")).refused(
        2,
        &[
            "out: 10000000 captures need about ",
            " TB, and ",
            " are free, of which 268 MB stay free; free some space",
        ],
    );
    bench.change("plan.yaml", "cars/four.yaml", "cars/gone.yaml");
    bench
        .run(&arguments("--count 4 --out out"))
        .refused(2, &["cars/gone.yaml: cannot read it"]);
    assert!(!bench.path("out").exists());
}

#[test]
fn a_draw_that_cannot_be_is_found_before_the_first_is_rendered() {
    let bench = bench();
    // Both leaks in one cylinder, once in two hundred draws: too seldom for the look at each scenario.
    let cylinders: Vec<String> = (0..200)
        .map(|i| if i == 57 { "3" } else { "1" }.into())
        .collect();
    let second = format!(
        "    - {{cylinder: {{choose: [{}]}}, area: 0.1 mm2}}\nchannels:",
        cylinders.join(", ")
    );
    let car = CAR
        .replace("cylinder: {choose: [1, 2, 3, 4]}", "cylinder: 3")
        .replace("channels:", &second);
    bench.write("cars/four.yaml", car);
    done(&bench, "--index 0 --out one");
    let run = bench.run(&arguments("--count 900 --out out"));
    run.refused(2, &["cars/four.yaml: faults.leaks"]);
    assert!(!bench.path("out").exists());
}
