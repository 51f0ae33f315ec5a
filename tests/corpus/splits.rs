//! Any split, any threads, any count: the same captures.

use super::{bench, captures, done, key, merged};
use proptest::prelude::*;
use std::path::Path;
use waterjacket::corpus::{self, Order, Plan, Shard, name};
use waterjacket::formats::{CorpusForm, wav};
use waterjacket::render::render;
use waterjacket::storage::KeyLines;

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
        let digest = wav::sha256(2000, &capture.capture.samples).unwrap();
        assert_eq!(truth.unwrap().wav_sha256, digest);
    }
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
        let [whole, split] = ["whole", "split"].map(|f| corpus::merge(&bench.path(f)).unwrap().unwrap());
        prop_assert_eq!(whole.captures_sha256, split.captures_sha256);
        prop_assert_eq!(key(&bench, "whole"), key(&bench, "split"));
    }
}
