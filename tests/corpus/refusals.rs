//! What is refused, and leaves everything as it was.

use super::{CAR, arguments, bench, done};

#[test]
fn options_of_another_kind_of_work_are_refused() {
    let bench = bench();
    for (work, option) in [
        ("--index 1", "--shard 2/3"),
        ("--index 1", "--format parquet"),
        ("--index 1", "--captures-per-file 8"),
        ("--index 1", "--truths"),
    ] {
        let flag = option.split(' ').next().unwrap_or_default();
        bench
            .run(&arguments(&format!("{work} {option} --out out")))
            .refused(2, &[flag, "cannot be used with"]);
    }
    for work in ["--merge", "--verify"] {
        for option in [&["--seed", "4"][..], &["--truths"]] {
            bench
                .run(&[&["corpus", work, "--out", "out"], option].concat())
                .refused(2, &[option[0], "cannot be used with"]);
        }
    }
    bench
        .run(&arguments("--count 4 --captures-per-file 8 --out out"))
        .refused(2, &["--captures-per-file: a WAV holds one capture"]);
    assert!(!bench.path("out").exists());
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
    run.refused(
        2,
        &["cars/four.yaml: line 14, column 18: faults.leaks[1].cylinder"],
    );
    assert!(!bench.path("out").exists());
}
