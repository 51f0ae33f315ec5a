//! Runs that are stopped, killed, repeated, and folders that lost something.

use super::common::{Bench, Run};
use super::{arguments, bench, captures, done, key, merged, told};
use serde_json::Value;
use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use waterjacket::digest::sha256_hex;

const MANIFEST: &str = "out/manifest/shard-0001-of-0001.sha256";

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

#[test]
fn a_killed_run_goes_on_where_it_ended() {
    for (form, least) in [("", 3), ("--format parquet --captures-per-file 3", 3)] {
        let bench = bench();
        let more = format!("--count 150 {form} --out out");
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
        assert_eq!((all, now + there), (150, 150));
        assert!(there >= least && now > 0, "{now} now, {there} there");
        assert_eq!(before, finished.iter().map(time).collect::<Vec<_>>());
        done(&bench, &format!("--count 150 {form} --out calm"));
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
fn verify_holds_the_merged_manifest_against_those_of_the_shards() {
    let bench = bench();
    for shard in ["1/2", "2/2"] {
        done(&bench, &format!("--count 4 --shard {shard} --out out"));
    }
    let verify = ["corpus", "--verify", "--out", "out"];
    bench.done(&verify);
    bench.done(&["corpus", "--merge", "--out", "out"]);
    bench.done(&verify);
    bench.write("out/manifest.sha256", "not a manifest\n");
    let run = bench.run(&verify);
    assert_eq!(run.code, Some(1));
    let told = "changed     manifest.sha256\n10 files as the manifest says, 1 changed\n";
    assert_eq!(run.out, told);
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
    run.says(&["out: 1 missing; run the corpus's command again"]);
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
fn an_emptied_or_cut_file_is_not_there() {
    let bench = bench();
    // Long enough that its WAVs are known by their lengths.
    bench.change("plan.yaml", "sample_rate: 2 kHz", "sample_rate: 40 kHz");
    for (form, file, merge_says) in [
        (
            "",
            "captures/0000/c0000002.wav",
            "c0000002.wav: it is not what the manifest says; run the command of shard 1/1",
        ),
        (
            "--truths",
            "captures/0000/c0000003.card.json",
            "c0000003.card.json",
        ),
        (
            "--truths",
            "key/truths/0000/c0000003.truth.json",
            "c0000003.truth.json",
        ),
        (
            "--format parquet --captures-per-file 2",
            "captures/c0000002.parquet",
            "c0000002.parquet",
        ),
        (
            "--format parquet --captures-per-file 2",
            "key/parquet/c0000002.parquet",
            "c0000002.parquet",
        ),
    ] {
        let _ = fs::remove_dir_all(bench.path("out"));
        let run = format!("--count 4 {form} --out out");
        done(&bench, &run);
        let whole = bench.read(&format!("out/{file}"));
        let path = bench.path(&format!("out/{file}"));
        let per_file = if form.contains("parquet") { 2 } else { 1 };
        for length in [0, 44, whole.len() - 1] {
            fs::write(&path, &whole[..length.min(whole.len() - 1)]).unwrap();
            bench
                .run(&["corpus", "--merge", "--out", "out"])
                .refused(1, &[merge_says]);
            assert_eq!(
                told(&done(&bench, &run)),
                [4, per_file, 4 - per_file],
                "{file}"
            );
            assert!(fs::read(&path).unwrap() == whole, "{file}");
        }
        fs::write(&path, [&whole[..], b"x"].concat()).unwrap();
        bench
            .run(&["corpus", "--merge", "--out", "out"])
            .refused(1, &[merge_says]);
        assert_eq!(
            told(&done(&bench, &run)),
            [4, per_file, 4 - per_file],
            "{file}"
        );
        assert!(fs::read(&path).unwrap() == whole, "{file}");
        bench.done(&["corpus", "--verify", "--out", "out"]);
    }
}

#[test]
fn a_damaged_head_key_or_manifest_is_named_and_mended() {
    let bench = bench();
    done(&bench, "--count 4 --out out");
    let key = "out/key/shard-0001-of-0001.key.jsonl";
    let before: Vec<Vec<u8>> = bench
        .files("out")
        .iter()
        .map(|f| bench.read(&format!("out/{f}")))
        .collect();
    let mended = |what: &str| {
        assert_eq!(told(&done(&bench, "--count 4 --out out"))[0], 4, "{what}");
        let now: Vec<Vec<u8>> = bench
            .files("out")
            .iter()
            .map(|f| bench.read(&format!("out/{f}")))
            .collect();
        assert!(now == before, "{what}");
        bench.done(&["corpus", "--verify", "--out", "out"]);
    };
    let verify = || bench.run(&["corpus", "--verify", "--out", "out"]);
    for (part, by) in [
        ("first_wav_sha256\": \"", "first_wav_sha256\": \"0"),
        ("seed\": 7", "seed\": 6"),
    ] {
        bench.change("out/corpus.json", part, by);
        let run = verify();
        assert_eq!(run.code, Some(1));
        assert!(run.out.contains("changed     corpus.json\n"), "{}", run.out);
        fs::remove_file(bench.path("out/corpus.json")).unwrap();
        mended("the head");
    }
    // A lost head is not made up for another corpus.
    fs::remove_file(bench.path("out/corpus.json")).unwrap();
    bench
        .run(&arguments("--count 4 --seed 8 --out out"))
        .refused(2, &["the folder is no corpus, and not empty"]);
    mended("the head again");

    bench.change(key, "Pellworth", "Pellwurth");
    let run = verify();
    assert!(
        run.out
            .contains("changed     key/shard-0001-of-0001.key.jsonl\n"),
        "{}",
        run.out
    );
    bench
        .run(&["corpus", "--merge", "--out", "out"])
        .refused(1, &["key.jsonl: it is not what the manifest says"]);
    bench.run(&arguments("--count 4 --out out")).refused(
        2,
        &["key.jsonl: it is not what the manifest says; remove it"],
    );
    fs::remove_file(bench.path(key)).unwrap();
    mended("the key");

    let text = String::from_utf8(bench.read(MANIFEST)).unwrap();
    let flipped = if text.starts_with('0') { "1" } else { "0" };
    bench.write(MANIFEST, flipped.to_string() + &text[1..]);
    bench.run(&arguments("--count 4 --out out")).refused(
        2,
        &[
            "c0000000.wav: it was lost",
            "the manifest was changed: remove out/manifest",
        ],
    );
    fs::remove_file(bench.path(MANIFEST)).unwrap();
    mended("the manifest");
}

#[test]
fn what_cannot_be_merged_or_believed_exits_with_2() {
    let bench = bench();
    done(&bench, "--count 2 --out out");
    fs::remove_file(bench.path("out/manifest.sha256")).unwrap();
    fs::create_dir(bench.path("out/manifest.sha256")).unwrap();
    bench
        .run(&["corpus", "--merge", "--out", "out"])
        .refused(2, &["manifest.sha256: cannot write it"]);
    for (field, by) in [
        ("count\": 2", "count\": 18446744073709551615"),
        (
            "captures_per_file\": 1",
            "captures_per_file\": 18446744073709551615",
        ),
    ] {
        let head = bench.read("out/corpus.json");
        bench.change("out/corpus.json", field, by);
        for check in ["--merge", "--verify"] {
            bench
                .run(&["corpus", check, "--out", "out"])
                .refused(2, &["out/corpus.json: ", "it is 18446744073709551615"]);
        }
        bench.write("out/corpus.json", head);
    }
}
