//! Promise: a call that cannot be graded is refused with its sheet, line and column and a remedy.

mod common;

use common::Bench;
use std::fs;

#[test]
fn a_call_for_a_cylinder_that_does_not_exist() {
    let bench = Bench::rendered();
    let parts = ["the engine has no cylinder 9; call among its cylinders 1, 2, 3 and 4"];
    for arguments in [
        &["explain", "out/lesson", "--call", "9"][..],
        &[
            "grade",
            "--capture",
            "lesson",
            "--call",
            "9",
            "--key",
            "out",
        ],
        &[
            "grade",
            "--capture",
            "lesson",
            "--call",
            "2+9",
            "--key",
            "out",
        ],
    ] {
        bench.run(arguments).refused(2, &parts);
    }
    bench.write("calls.csv", "capture,cylinders\nlesson,9\n");
    let run = bench.run(&["grade", "calls.csv", "--key", "out"]);
    run.refused(
        2,
        &["calls.csv: row of \"lesson\", column cylinders: ", parts[0]],
    );
}

#[test]
fn a_call_that_is_none() {
    let bench = Bench::rendered();
    for arguments in [
        &["explain", "out/lesson", "--call", "three"][..],
        &[
            "grade",
            "--capture",
            "lesson",
            "--call",
            "three",
            "--key",
            "out",
        ],
    ] {
        bench.run(arguments).refused(
            2,
            &["--call: \"three\" is not a call; write a cylinder such as 3"],
        );
    }
    let sure = [
        "grade",
        "--capture",
        "lesson",
        "--call",
        "3",
        "--confidence",
        "80",
        "--key",
        "out",
    ];
    bench.run(&sure).refused(
        2,
        &["--confidence: \"80\" is more than 1; write 80% or 0.8"],
    );
}

#[test]
fn an_unknown_capture_in_a_call_sheet() {
    let bench = Bench::rendered();
    bench.write("calls.csv", "capture,cylinders\nlessom,3\n");
    bench.run(&["grade", "calls.csv", "--key", "out"]).refused(
        2,
        &["calls.csv: row of \"lessom\", column capture: there is no capture \"lessom\" in the key; write lesson if that is meant"],
    );
}

#[test]
fn unreadable_cells_are_told_and_the_rest_is_graded() {
    let bench = Bench::rendered();
    bench.done(&["render", "lesson.yaml", "--count", "3", "--out", "out"]);
    bench.write(
        "calls.csv",
        "capture,cylinders,confidence,note\n\
         lesson,3,0.8,sure\n\
         lesson-00,3 or 4,0.5,\n\
         lesson-01,3,120,\n\
         ,2,,\n",
    );
    let run = bench.run(&["grade", "calls.csv", "--key", "out"]);
    assert_eq!(run.code, Some(2), "{run:?}");
    run.says(&[
        "calls.csv: line 3, column cylinders: \"3 or 4\" is not a call; write a cylinder such as 3",
        "calls.csv: line 4, column confidence: \"120\" is",
        "calls.csv: line 5, column capture: the cell is empty; write the name",
    ]);
    let graded: Vec<&str> = run
        .out
        .lines()
        .filter(|l| l.starts_with("lesson"))
        .collect();
    assert_eq!(graded.len(), 2, "{}", run.out);
}

#[test]
fn call_sheets_that_are_none() {
    let bench = Bench::rendered();
    bench.write("empty.csv", "");
    bench.write("book.csv", b"PK\x03\x04\0\0");
    bench.write("huge.csv", "x".repeat((16 << 20) + 1));
    for (sheet, part) in [
        (
            "empty.csv",
            "empty.csv: the call sheet is empty; begin it with the line capture,cylinders",
        ),
        (
            "book.csv",
            "book.csv: the file is a spreadsheet workbook or another archive, not CSV; save",
        ),
        (
            "huge.csv",
            "huge.csv: it has 16777217 bytes; a file of this kind has at most 16777216 bytes",
        ),
        ("none.csv", "none.csv: cannot read it: No such file"),
    ] {
        bench
            .run(&["grade", sheet, "--key", "out"])
            .refused(2, &[part]);
    }
}

#[test]
fn an_empty_key_folder() {
    let bench = Bench::rendered();
    fs::create_dir(bench.path("key")).unwrap();
    let grade = |key| bench.run(&["grade", "--capture", "lesson", "--call", "3", "--key", key]);
    grade("key").refused(
        2,
        &["key: the folder holds no truths; name the folder that `waterjacket render` filled"],
    );
    grade("nowhere").refused(2, &["nowhere: cannot list the folder: ", "check the name"]);
}

#[test]
fn a_result_is_not_written_over_a_sheet_or_another_result() {
    let bench = Bench::rendered();
    bench.write("calls.csv", "capture,cylinders\nlesson,2\n");
    let before = bench.files(".");
    for (more, flag) in [
        (
            &["--csv", "calls.csv"][..],
            "calls.csv: cannot write it: this command reads it",
        ),
        (
            &["--analyzer", "--csv", "calls.csv"],
            "calls.csv: cannot write it: this command reads it",
        ),
        (
            &["--report", "./calls.csv"],
            "./calls.csv: cannot write it: this command reads it",
        ),
        (
            &["--csv", "a", "--report", "a"],
            "a: cannot write it: another output goes there",
        ),
    ] {
        let run = bench.run(&[&["grade", "calls.csv", "--key", "out"], more].concat());
        run.refused(2, &[flag]);
        assert_eq!(bench.files("."), before);
    }
    let sheet = bench.read("calls.csv");
    assert_eq!(sheet, b"capture,cylinders\nlesson,2\n");
}
