//! Promise: the example workflow passes an analyzer that is as good as before, and fails one that is worse. Its own
//! steps run here, in its own shell.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

#[derive(serde::Deserialize)]
struct Workflow {
    env: BTreeMap<String, serde_yaml::Value>,
    jobs: BTreeMap<String, Job>,
}

#[derive(serde::Deserialize)]
struct Job {
    steps: Vec<Step>,
}

#[derive(serde::Deserialize)]
struct Step {
    name: Option<String>,
    run: Option<String>,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn workflow() -> Workflow {
    let path = root().join("tests/ci-example/regression.yml");
    serde_yaml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The repository of an analyzer: a corpus whose pulses come late, at a low rate so that it renders quickly.
fn repository(folder: &Path) {
    let scenarios = folder.join("waterjacket/scenarios");
    std::fs::create_dir_all(&scenarios).unwrap();
    let text = std::fs::read_to_string(root().join("scenarios/quizzes/vee-eight.yaml")).unwrap();
    let text = text.replace("0.006 mm2", "0.05 mm2") + "acquisition: {sample_rate: 2 kHz}\n";
    std::fs::write(scenarios.join("late.yaml"), text).unwrap();
}

/// Runs the steps in `folder` as the workflow's shell does, until one fails; its name and exit code, and all
/// that was printed.
fn steps(folder: &Path, analyzer: &str, least: &str) -> (Option<(String, i32)>, String) {
    let workflow = workflow();
    let program = assert_cmd::cargo::cargo_bin("waterjacket");
    let path = format!(
        "{}:{}",
        program.parent().unwrap().display(),
        std::env::var("PATH").unwrap()
    );
    let mut printed = String::new();
    for step in &workflow.jobs["regression"].steps {
        let (Some(name), Some(run)) = (&step.name, &step.run) else {
            continue;
        };
        if name == "Install waterjacket" {
            continue;
        }
        let mut command = Command::new("bash");
        command.args(["--noprofile", "--norc", "-eo", "pipefail", "-c", run]);
        for (variable, value) in &workflow.env {
            let value = match value {
                serde_yaml::Value::Number(number) => number.to_string(),
                value => value.as_str().unwrap().to_string(),
            };
            command.env(variable, value);
        }
        command.envs([("ANALYZER", analyzer), ("LEAST", least), ("COUNT", "16")]);
        command.env("PATH", &path);
        let output = command.current_dir(folder).output().unwrap();
        printed += &String::from_utf8_lossy(&output.stdout);
        printed += &String::from_utf8_lossy(&output.stderr);
        match output.status.code() {
            Some(0) => {}
            code => return (Some((name.clone(), code.unwrap_or(-1))), printed),
        }
    }
    (None, printed)
}

#[test]
fn a_good_analyzer_passes_and_a_worse_one_fails() {
    let folder = tempfile::tempdir().unwrap();
    repository(folder.path());
    let good = "waterjacket attribute --json --method lag";
    let worse = "waterjacket attribute --json --method count";
    // The first version has no baseline yet, and makes it.
    let (failed, printed) = steps(folder.path(), good, "50%");
    let first = failed.expect("there is no baseline");
    assert_eq!(
        first,
        ("Compare with the version before".into(), 2),
        "{printed}"
    );
    let at = |name: &str| folder.path().join(name);
    std::fs::copy(at("out/results.csv"), at("waterjacket/baseline.csv")).unwrap();

    let (failed, printed) = steps(folder.path(), good, "50%");
    assert_eq!(failed, None, "{printed}");
    assert!(printed.contains("No regression."), "{printed}");

    let (failed, printed) = steps(folder.path(), "false", "50%");
    assert_eq!(failed, Some(("Analyze it".into(), 1)), "{printed}");

    for (least, step) in [
        ("0%", "Compare with the version before"),
        ("95%", "Grade the calls"),
    ] {
        let (failed, printed) = steps(folder.path(), worse, least);
        assert_eq!(failed, Some((step.into(), 1)), "{printed}");
    }
    let left = std::fs::read_dir(at("out/public")).unwrap();
    let truths = left.filter(|e| {
        e.as_ref()
            .unwrap()
            .file_name()
            .to_string_lossy()
            .contains("truth")
    });
    assert_eq!(truths.count(), 0);
}
