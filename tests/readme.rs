//! The README tells the truth: its commands run and print what it shows, and its picture is the tool's.

use assert_cmd::Command;
use std::path::{Path, PathBuf};

/// The faulty scenario that the README checks.
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
fn shown() -> Vec<(String, String)> {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let mut commands: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for line in readme.lines() {
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
    std::fs::create_dir(to.join("scenarios")).unwrap();
    for entry in std::fs::read_dir(root().join("scenarios")).unwrap() {
        let path = entry.unwrap().path();
        // The jobs are in the program; no command reads their files.
        if path.is_dir() {
            continue;
        }
        std::fs::copy(&path, to.join("scenarios").join(path.file_name().unwrap())).unwrap();
    }
}

#[test]
fn the_readme_shows_what_the_commands_print() {
    let folder = tempfile::tempdir().unwrap();
    copy_scenarios(folder.path());
    std::fs::write(folder.path().join("mine.yaml"), MINE).unwrap();
    let commands = shown();
    assert!(commands.len() >= 8, "{commands:?}");
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
        match expected.strip_suffix("...\n") {
            Some(start) => assert!(printed.starts_with(start), "{command}\n{printed}"),
            None => assert_eq!(printed, expected, "{command}"),
        }
    }
}

#[test]
fn the_picture_is_the_tools_own() {
    let folder = tempfile::tempdir().unwrap();
    copy_scenarios(folder.path());
    for arguments in [
        &["render", "scenarios/06-long-lag.yaml", "--out", "out"][..],
        &["explain", "out/06-long-lag"],
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
        "draw it again: explain lesson 6 and copy its debrief to tests/readme/long-lag.png"
    );
}
