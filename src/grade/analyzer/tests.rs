use super::*;
use crate::domain::Entry;
use crate::domain::Sync;
use crate::formats::call_lines::Form;
use crate::grade::Kind;
use crate::grade::testing::{four, six, truth};
use std::collections::BTreeMap;

fn key() -> Vec<Truth> {
    let mut key = vec![
        truth(four(), Sync::Full, &[3], &[], &["3"]),
        truth(four(), Sync::Pair, &[3], &[], &["2|3"]),
        truth(six(), Sync::Full, &[2], &[], &["2"]),
        truth(six(), Sync::Full, &[], &[], &["none"]),
        truth(six(), Sync::Full, &[], &[4], &["unsure", "none"]),
    ];
    for (i, truth) in key.iter_mut().enumerate() {
        truth.capture = format!("c{i}");
    }
    key
}

fn begin(name: &str, text: &str) -> Result<Grading, Faults> {
    Grading::begin(Lines::of(name, text.as_bytes(), 1 << 16))
}

fn scores(name: &str, text: &str) -> Scores {
    let mut grading = begin(name, text).unwrap_or_else(|f| panic!("{f}"));
    for truth in key() {
        grading.grade(&truth);
    }
    grading.finish()
}

const CSV: &str = "cylinders,capture,lag_ms,confidence,score\n\
                   3,c0,23,0.9,x\n\
                   2|3,c1,18.5,80%,x\n\
                   4,c2,-5,0.6,x\n\
                   unsure,c4,,0.5,x\n";

#[test]
fn calls_are_graded_and_what_was_not_called_counts() {
    let scores = scores("a.csv", CSV);
    let summary = &scores.summary;
    assert_eq!((summary.n, summary.right, summary.points), (5, 3, 3.0));
    assert_eq!(summary.kinds[&Kind::NoCall], 1);
    assert_eq!(summary.kinds[&Kind::NeighbourAfter], 1);
    // 0.1, 0.2 and 0.6 off; unsure is left out.
    assert!((summary.brier.unwrap() - (0.01 + 0.04 + 0.36) / 3.0).abs() < 1e-15);
    let log = -(crate::math::ln(0.9) + crate::math::ln(0.8) + crate::math::ln(0.4)) / 3.0;
    assert!((scores.log_loss.unwrap() - log).abs() < 1e-15);
    assert!((scores.calibration_error.unwrap() - (0.1 + 0.2 + 0.6) / 3.0).abs() < 1e-15);
    // The true lag is 20 ms; a capture without a pulse has none.
    let lag = scores.lag.as_ref().unwrap();
    assert_eq!((lag.n, lag.median_ms, lag.ninetieth_ms), (3, 3.0, 25.0));
    assert!((lag.bias_ms - (3.0 - 1.5 - 25.0) / 3.0).abs() < 1e-12);
    assert_eq!(scores.answers.rows[3], [0, 0, 0, 0, 0, 1]);
    assert_eq!(scores.offsets.offsets, BTreeMap::from([(0, 1), (1, 1)]));
    assert_eq!(scores.offsets.by_cylinders[&6][4][5], 1);
    let modes = scores.strata.iter().find(|s| s.by == "engine").unwrap();
    let counts: Vec<_> = modes
        .strata
        .iter()
        .map(|l| (l.name.as_str(), l.of.n, l.of.right))
        .collect();
    assert_eq!(counts, [("inline 4", 2, 2), ("inline 6", 3, 1)]);
    assert_eq!(scores.faults, FaultSample::default());
}

#[test]
fn json_lines_say_the_same() {
    let lines = "{\"capture\": \"c0\", \"cylinders\": 3, \"lag_ms\": 23, \"confidence\": 0.9, \"score\": [1]}\n\n\
                 {\"capture\":\"c1\",\"cylinders\":\"3|2\",\"lag_ms\":18.5,\"confidence\":0.8}\n\
                 {\"capture\":\"c2\",\"cylinders\":\"4\",\"lag_ms\":-5,\"confidence\":0.6,\"note\":null}\n\
                 {\"capture\":\"c4\",\"cylinders\":\"unsure\",\"lag_ms\":null,\"confidence\":0.5}\n";
    let mut of_lines = scores("a.jsonl", lines);
    of_lines.calls = "a.csv".into();
    assert_eq!(of_lines, scores("a.csv", CSV));
}

#[test]
fn what_is_written_reads_back() {
    for (form, name) in [(Form::Csv, "a.csv"), (Form::JsonLines, "a.jsonl")] {
        let call = Entry {
            confidence: Some(0.1 + 0.2),
            lag_ms: Some(-3.25),
            note: "two, \"three\"\nfour".into(),
            ..Entry::new("c0", "3".parse().unwrap())
        };
        let mut grading = begin(name, &(form.head() + &form.line(&call))).unwrap();
        let graded = grading.grade(&key()[0]).unwrap();
        // Of calls by the million no note is kept.
        let note = String::new();
        assert_eq!(graded.call, Some(Entry { note, ..call }));
        assert_eq!(grading.finish().faults, FaultSample::default());
    }
}

#[test]
fn faults_are_named_by_line_and_the_rest_is_graded() {
    let text = "capture,cylinders,confidence,lag_ms\n\
                c0,3,1.5,soon\n\
                c1,\"2|3,0.8,1\n\
                c2,2,0.7,20\n\
                ,3,,\n\
                c2,4,,\n\
                c9,1,,\n\
                c3,7,,\n\
                c4,two,,\n";
    let scores = scores("a.csv", text);
    assert_eq!((scores.summary.n, scores.summary.right), (4, 2));
    let told: Vec<String> = scores.faults.first.iter().map(|f| f.to_string()).collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    a.csv: line 2, confidence: "1.5" is more than 1; write 1.5% or 0.015 if that is meant
    a.csv: line 2, lag_ms: "soon" is not a number; write milliseconds, such as 23.5
    a.csv: line 3: a quotation mark opened in this line is never closed; close it, and keep each call on one line
    a.csv: line 5, capture: it is empty; write the name of the capture that is called
    a.csv: line 9, cylinders: "two" is not a call; write a cylinder such as 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure
    a.csv: line 6, capture: "c2" already stands on line 4; keep one call for each capture; only the first is graded
    a.csv: line 8, cylinders: the engine of c3 has no cylinder 7; call among its cylinders 1, 2, 3, 4, 5 and 6
    a.csv: line 7, capture: there is no capture "c9" in the key; write the name as the capture's card gives it
    "#);
}

#[test]
fn files_that_hold_no_calls_are_refused() {
    for (name, text, part) in [
        ("a.csv", "", "there is no call in it"),
        ("a.csv", "capture,cylinders\n", "there is no call in it"),
        (
            "a.csv",
            "capture,cilinders\nc0,3\n",
            "rename the column \"cilinders\" to cylinders",
        ),
        (
            "a.csv",
            "c0,3\n",
            "begin the file with the line capture,cylinders",
        ),
        ("a.csv", "{\"capture\": \"c0\"}\n", "NAME.jsonl"),
        (
            "a.csv",
            "capture,capture,cylinders\n",
            "two columns called capture",
        ),
    ] {
        let faults = begin(name, text).err().unwrap();
        assert!(faults.to_string().contains(part), "{faults}");
    }
    let grading = begin("a.jsonl", "c0,3\n{\"capture\": \"c0\"}\n");
    let scores = grading.unwrap().finish();
    assert_eq!(scores.faults.count, 2);
    assert!(
        scores.faults.first[1]
            .to_string()
            .contains("missing field `cylinders`")
    );
}

#[test]
fn a_truth_that_comes_twice_is_graded_once() {
    let mut grading = begin("a.csv", CSV).unwrap();
    let key = key();
    assert!(grading.grade(&key[0]).is_some());
    assert!(grading.grade(&key[0]).is_none());
    let scores = grading.finish();
    assert_eq!(scores.summary.n, 1);
    assert!(
        scores.faults.first[0]
            .to_string()
            .contains("two truths of this name")
    );
}

#[test]
fn scores_read_as_tables() {
    insta::assert_snapshot!(scores("calls.csv", CSV).to_text(), @r#"
    calls.csv

    captures              5
    points                3.00, mean 0.60
    right                 3, accuracy 60.0 % (95 % interval 23.1 % to 88.2 %)
    Brier score           0.137 over 3 calls (0 is perfect, 0.25 is always saying 50 %)
      right               1
      right pair          1
      right to be unsure  1
      neighbour after     1
      no call             1

    Confidence against outcome (calls of unsure left out)

    expected calibration error 30.0 %
    log loss 0.415 (0 is perfect, 0.69 is always saying 50 %)

    confidence   calls    said    right    95 % interval
    60 to 70 %       1  60.0 %    0.0 %    0.0 to 79.3 %
    80 to 90 %       1  80.0 %  100.0 %  20.7 to 100.0 %
    90 to 100 %      1  90.0 %  100.0 %  20.7 to 100.0 %

    Stated lag against the true one

    3 calls: -7.8 ms on the mean, root mean square 14.6 ms, half within 3.0 ms, nine in ten within 25.0 ms

    Right, by what the capture is like

                                         captures  right  accuracy    95 % interval
    lag, firing intervals  under 0.25           3      2    66.7 %   20.8 to 93.9 %
                           no pulse             2      1    50.0 %    9.5 to 90.5 %
    pulse over noise       10 to 30             3      2    66.7 %   20.8 to 93.9 %
                           no pulse             2      1    50.0 %    9.5 to 90.5 %
    engine                 inline 4             2      2   100.0 %  34.2 to 100.0 %
                           inline 6             3      1    33.3 %    6.1 to 79.2 %
    what the sync marks    one cylinder         4      2    50.0 %   15.0 to 85.0 %
                           a pair               1      1   100.0 %  20.7 to 100.0 %
    mode                   cranking             5      3    60.0 %   23.1 to 88.2 %
    difficulty             low                  5      3    60.0 %   23.1 to 88.2 %
    leaks that show        none                 2      1    50.0 %    9.5 to 90.5 %
                           one                  3      2    66.7 %   20.8 to 93.9 %

    What captures support, and how they were called

    supports        one cylinder  several  one of a group  none  unsure  no call
    one cylinder               2        0               0     0       0        0
    one of a group             0        0               1     0       0        0
    none                       0        0               0     0       0        1
    unsure                     0        0               0     0       1        0

    Calls of one cylinder where one shows, by place in the firing order

    called cylinder fires  calls   share
    the leaking one            1  50.0 %
    1 after                    1  50.0 %
    "#);
}

#[test]
fn faults_that_are_not_told_are_counted() {
    let rows: String = (0..23).map(|i| format!("x{i},?\n")).collect();
    let scores = scores("a.csv", &format!("capture,cylinders\nc0,3\n{rows}"));
    assert_eq!((scores.faults.count, scores.faults.first.len()), (23, 20));
    let last = scores.faults.faults("a.csv").pop().unwrap().to_string();
    assert!(last.starts_with("a.csv: there are 3 more faults"), "{last}");
}
