//! The README and the guides tell the truth: their commands run and print what they show, and the picture is the tool's.
//!
//! `README_UPDATE=1 cargo test --release --test readme` writes what the commands print now into these pages, where they
//! show them whole; read the difference before it is committed.

use assert_cmd::Command;
use std::path::{Path, PathBuf};

/// The faulty scenario that the instructor's guide checks.
const MINE: &str = "\
vehicle:
  engine:
    cylinders: 4
    firing_order: [1, 3, 4]
  cooling:
    air_pocket: 180 ml
    coolnt: 5 L
channels:
  - sensor: neck_presure
";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Commands of the console blocks, each with the output shown below it.
fn shown(page: &str) -> Vec<(String, String)> {
    let text = std::fs::read_to_string(root().join(page)).unwrap();
    let mut commands: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        match line {
            "```console" => inside = true,
            "```" => inside = false,
            _ if inside => match line.strip_prefix("$ ") {
                Some(command) => commands.push((command.into(), String::new())),
                None => {
                    let output = &mut commands.last_mut().expect("output follows a command").1;
                    *output += line;
                    output.push('\n');
                }
            },
            _ => {}
        }
    }
    commands
}

fn copy_scenarios(to: &Path) {
    copy(&root().join("scenarios"), &to.join("scenarios"));
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let place = to.join(path.file_name().unwrap());
        match path.is_dir() {
            true => copy(&path, &place),
            false => drop(std::fs::copy(&path, place).unwrap()),
        }
    }
}

/// Whether what is printed is what is shown, in which a line of three points stands for any lines.
fn is_shown(printed: &str, expected: &str) -> bool {
    let shown = format!("\n{expected}");
    let mut parts = shown.split("\n...\n");
    let first = parts.next().unwrap_or_default();
    let whole = format!("\n{printed}");
    let Some(mut rest) = whole.strip_prefix(first) else {
        return false;
    };
    let mut open = false;
    for part in parts {
        open = part.is_empty();
        let Some(at) = rest.find(part) else {
            return false;
        };
        rest = &rest[at + part.len()..];
    }
    open || rest.is_empty()
}

#[test]
fn three_points_stand_for_any_lines_and_nothing_else_does() {
    let printed = "one\ntwo\nthree\nfour\n";
    for shown in [
        printed,
        "one\n...\n",
        "...\nthree\nfour\n",
        "one\n...\nfour\n",
    ] {
        assert!(is_shown(printed, shown), "{shown}");
    }
    for shown in ["one\n", "two\n...\n", "...\nthree\n", "one\n...\nfive\n"] {
        assert!(!is_shown(printed, shown), "{shown}");
    }
}

/// Runs the commands of a page, one after the other in a fresh folder.
fn shows_what_the_commands_print(page: &str, least: usize) {
    let folder = tempfile::tempdir().unwrap();
    copy_scenarios(folder.path());
    std::fs::write(folder.path().join("mine.yaml"), MINE).unwrap();
    let commands = shown(page);
    assert!(commands.len() >= least, "{commands:?}");
    let update = std::env::var_os("README_UPDATE").is_some();
    for (command, expected) in commands {
        let mut words = command.split_whitespace();
        assert_eq!(words.next(), Some("waterjacket"), "{command}");
        let run = Command::cargo_bin("waterjacket")
            .unwrap()
            .args(words)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let printed =
            String::from_utf8(run.stdout).unwrap() + &String::from_utf8(run.stderr).unwrap();
        let shown = is_shown(&printed, &expected);
        if !shown && update && !format!("\n{expected}").contains("\n...\n") {
            let [old, new] = [&expected, &printed].map(|text| format!("$ {command}\n{text}"));
            let path = root().join(page);
            let text = std::fs::read_to_string(&path).unwrap();
            std::fs::write(&path, text.replacen(&old, &new, 1)).unwrap();
            continue;
        }
        assert!(shown, "{command}\n{printed}\nis not\n{expected}");
    }
}

#[test]
fn the_readme_shows_what_the_commands_print() {
    shows_what_the_commands_print("README.md", 8);
    let lines = std::fs::read_to_string(root().join("README.md")).unwrap();
    assert!(
        lines.lines().count() <= 200,
        "the README is to be read in one go"
    );
}

#[test]
fn the_instructors_guide_shows_what_the_commands_print() {
    shows_what_the_commands_print("src/guide/instructor.md", 5);
}

#[test]
fn the_students_guide_shows_what_the_commands_print() {
    shows_what_the_commands_print("src/guide/student.md", 9);
}

#[test]
fn the_developers_guide_shows_what_the_commands_print() {
    shows_what_the_commands_print("src/guide/developer.md", 9);
}

#[test]
fn the_picture_is_the_tools_own() {
    let folder = tempfile::tempdir().unwrap();
    copy_scenarios(folder.path());
    for arguments in [
        &["render", "scenarios/06-long-lag.yaml", "--out", "out"][..],
        &["explain", "out/06-long-lag", "--call", "4"],
    ] {
        Command::cargo_bin("waterjacket")
            .unwrap()
            .args(arguments)
            .current_dir(folder.path())
            .assert()
            .success();
    }
    let drawn = std::fs::read(folder.path().join("out/06-long-lag.debrief.png")).unwrap();
    let shown = std::fs::read(root().join("tests/readme/long-lag.png")).unwrap();
    assert!(
        drawn == shown,
        "draw it again: explain lesson 6 with a call of 4 and copy its debrief to tests/readme/long-lag.png"
    );
}
