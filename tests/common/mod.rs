//! What the whole-program tests share: a small scenario, a folder to work in, and the program.
#![allow(dead_code)]

use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A short capture at a low rate: it renders in milliseconds. Vehicle and fault are invented.
pub const SCENARIO: &str = "\
title: A short lesson
teaches: Count from the coil to the step.
brief: It boils over on the hill.
seed: 5
vehicle:
  name: Pellworth Four (invented)
  engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}
faults:
  leaks:
    - {cylinder: 3, area: 0.2 mm2, opens_at: 2 bar}
test:
  duration: 1 s
acquisition:
  sample_rate: 2 kHz
channels:
  - {sensor: neck_pressure, span: [0 kPa, 100 kPa]}
  - {sensor: coil_trigger, cylinder: 1}
";

/// [`SCENARIO`] with one part replaced; the part must stand in it once.
#[track_caller]
pub fn scenario(part: &str, by: &str) -> String {
    assert_eq!(SCENARIO.matches(part).count(), 1, "{part:?}");
    SCENARIO.replace(part, by)
}

/// A folder of its own for one test.
pub struct Bench {
    folder: TempDir,
}

/// What a run of the program gave.
#[derive(Debug)]
pub struct Run {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Bench {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Bench { folder }
    }

    /// A folder in which the capture `lesson` of [`SCENARIO`] lies under `out`.
    pub fn rendered() -> Self {
        let bench = Bench::new();
        bench.write("lesson.yaml", SCENARIO);
        bench.done(&["render", "lesson.yaml", "--out", "out"]);
        bench
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file, and its folder if need be.
    pub fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        fs::read(self.path(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    pub fn json(&self, name: &str) -> serde_json::Value {
        serde_json::from_slice(&self.read(name)).unwrap()
    }

    /// Changes a text file in place; `part` must stand in it.
    #[track_caller]
    pub fn change(&self, name: &str, part: &str, by: &str) {
        let text = String::from_utf8(self.read(name)).unwrap();
        assert!(text.contains(part), "{part:?}");
        self.write(name, text.replacen(part, by, 1));
    }

    /// Runs the program here.
    pub fn run(&self, arguments: &[&str]) -> Run {
        self.run_typed(arguments, "")
    }

    /// Runs the program here with `input` on its standard input.
    pub fn run_typed(&self, arguments: &[&str], input: &str) -> Run {
        let mut command = assert_cmd::Command::cargo_bin("waterjacket").unwrap();
        let output = command
            .current_dir(self.folder.path())
            .args(arguments)
            .env_remove("COLUMNS")
            .env_remove("CLICOLOR_FORCE")
            .write_stdin(input)
            .timeout(std::time::Duration::from_secs(120))
            .output()
            .unwrap();
        Run {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Runs the program here and expects it to be done without a word of complaint.
    #[track_caller]
    pub fn done(&self, arguments: &[&str]) -> String {
        let run = self.run(arguments);
        assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{arguments:?}");
        run.out
    }

    /// Runs the program here with `input`, and expects it to be done without a word of complaint.
    #[track_caller]
    pub fn typed(&self, arguments: &[&str], input: &str) -> String {
        let run = self.run_typed(arguments, input);
        assert_eq!((run.code, run.err.as_str()), (Some(0), ""), "{arguments:?}");
        run.out
    }

    /// Names of all files below the folder `name`, hidden ones too, in order; none if it is missing.
    pub fn files(&self, name: &str) -> Vec<String> {
        fn walk(folder: &Path, root: &Path, all: &mut Vec<String>) {
            for entry in fs::read_dir(folder).into_iter().flatten() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    walk(&path, root, all);
                } else {
                    let name = path.strip_prefix(root).unwrap();
                    all.push(name.to_string_lossy().into_owned());
                }
            }
        }
        let root = self.path(name);
        let mut all = Vec::new();
        walk(&root, &root, &mut all);
        all.sort();
        all
    }
}

impl Run {
    /// Expects a refusal: the exit code, nothing on standard output, no panic, and all of `parts` in
    /// the message.
    #[track_caller]
    pub fn refused(&self, code: i32, parts: &[&str]) {
        assert_eq!(self.code, Some(code), "{self:?}");
        assert_eq!(self.out, "", "{self:?}");
        self.says(parts);
    }

    /// Expects all of `parts` on standard error, and nothing that a panic prints.
    #[track_caller]
    pub fn says(&self, parts: &[&str]) {
        for word in ["panicked", "RUST_BACKTRACE", "unwrap", "src/"] {
            assert!(!self.err.contains(word), "{word:?} in {}", self.err);
        }
        for part in parts {
            assert!(self.err.contains(part), "no {part:?} in {}", self.err);
        }
    }
}

/// A capture page taken apart.
pub struct PageParts {
    /// Its data.
    pub data: serde_json::Value,
    /// The same as it stands there.
    pub told: String,
    /// The packed samples of each capture.
    pub samples: Vec<String>,
    /// All the rest: the words, the style and the script that every page has.
    pub rest: String,
}

impl PageParts {
    pub fn of(page: &[u8]) -> PageParts {
        let text = std::str::from_utf8(page).unwrap();
        let (mut rest, mut told, mut samples) = (String::new(), String::new(), Vec::new());
        let mut left = text;
        while let Some(start) = left.find("<script type=\"") {
            let inner = start + left[start..].find('>').unwrap() + 1;
            let end = inner + left[inner..].find("</script>").unwrap();
            rest += &left[..inner];
            match &left[start..inner] {
                head if head.contains("application/json") => told = left[inner..end].into(),
                head if head.contains("text/plain") => samples.push(left[inner..end].into()),
                _ => rest += &left[inner..end],
            }
            left = &left[end..];
        }
        rest += left;
        PageParts {
            data: serde_json::from_str(&told).unwrap(),
            told,
            samples,
            rest,
        }
    }
}
