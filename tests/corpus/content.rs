//! What lies in the folder of the analyzer, and that Parquet holds what the WAVs do.

use super::{bench, done, key};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field, Row, RowAccessor};
use std::fs;
use std::path::Path;
use waterjacket::corpus::name;
use waterjacket::domain::Truth;
use waterjacket::formats::columns::{self, Cells, Column};
use waterjacket::formats::json;
use waterjacket::storage::open;

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
    let fields = file.metadata().file_metadata().schema().get_fields();
    let names: Vec<&str> = fields.iter().map(|c| c.name()).collect();
    let public = columns::capture_columns();
    assert!(names.len() == 20 && names.iter().eq(public.iter().map(|c| &c.name)));
    for column in columns::truth_columns::<Truth>() {
        assert!(!names.contains(&column.name), "{}", column.name);
    }
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
            assert_eq!(row.get_string(0).unwrap(), opened.name());
            assert_eq!(samples(row), opened.samples);
            let card = row.get_string(column(row, "card")).unwrap();
            assert_eq!(*card, json::text(&opened.card));
        }
        for row in [&truths[i], &labelled[i]] {
            let text = row.get_string(column(row, "truth")).unwrap();
            let truth = json::parse::<Truth>("row", text.as_bytes()).unwrap();
            assert_eq!(truth.capture, opened.name());
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
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.parquet");
    let counts = [Column {
        name: "samples",
        meaning: "counts",
        cells: Cells::Counts(|row: &Vec<Vec<i16>>| row),
    }];
    let mut left = 9;
    let file = std::fs::File::create(&path).unwrap();
    waterjacket::formats::parquet::write(file, "test", &counts, &mut || {
        left -= 1;
        let row = vec![vec![7; 1 << 20], Vec::new(), vec![-7; 1 << 20]];
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
